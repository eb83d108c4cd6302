//! One time as a logger writes it, read without deciding yet what day comes first.

/// A date.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Date {
    /// Year, month, day.
    Told { year: i64, month: u32, day: u32 },
    /// `5/3/2026`: day and month in an order that only the whole file can tell.
    Open { one: u32, other: u32, year: i64 },
}

/// Figures between colons.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Clock {
    /// The figures: hours, minutes, seconds; of two figures the last is 0.
    pub(super) figures: [f64; 3],
    /// Whether there were only two.
    pub(super) two: bool,
    /// Whether it had AM or PM.
    pub(super) half_day: bool,
}

/// What was written.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Stamp {
    pub(super) date: Option<Date>,
    pub(super) clock: Option<Clock>,
    /// Seconds that its zone is ahead of universal time.
    pub(super) zone: Option<i32>,
}

impl Stamp {
    /// Reads ISO 8601 (extended format, also with a space), `03.05.2026 14:02:10`, `5/3/2026 2:02 PM`,
    /// `03-May-2026 14:02`, a date alone, a time alone.
    pub(super) fn read(text: &str) -> Option<Self> {
        let mut stamp = Self { date: None, clock: None, zone: None };
        let spaced = spaced(text);
        for word in spaced.split_whitespace() {
            let word = word.trim_end_matches(',');
            let lower = word.to_lowercase().replace('.', "");
            if let (Some(clock), true) = (stamp.clock.as_mut(), matches!(lower.as_str(), "am" | "pm")) {
                clock.half(lower == "pm")?;
            } else if let (Some(_), None, Some(zone)) = (stamp.clock, stamp.zone, zone(word)) {
                stamp.zone = Some(zone);
            } else if stamp.clock.is_none() && word.contains(':') {
                stamp.read_clock(word)?;
            } else if stamp.date.is_none() && stamp.clock.is_none() {
                stamp.date = Some(date(word)?);
            } else {
                return None;
            }
        }
        (stamp.date.is_some() || stamp.clock.is_some()).then_some(stamp)
    }

    /// `14:02`, `14:02:10.5`, `2:02PM`, `14:02:10Z`, `14:02:10+02:00`.
    fn read_clock(&mut self, word: &str) -> Option<()> {
        let lower = word.to_lowercase();
        let (figures, rest) =
            match lower.find(|c: char| c.is_alphabetic() || matches!(c, '+' | '-' | '\u{2212}')) {
                Some(at) => lower.split_at(at),
                None => (lower.as_str(), ""),
            };
        let parts: Vec<&str> = figures.split(':').collect();
        let whole = |part: &str, most: u32| {
            let figure = part.parse::<u32>().ok().filter(|f| *f <= most);
            figure.filter(|_| part.bytes().all(|b| b.is_ascii_digit()) && part.len() <= 5).map(f64::from)
        };
        let clock = match parts.as_slice() {
            [one, two] => {
                Clock { figures: [whole(one, 99_999)?, whole(two, 59)?, 0.0], two: true, half_day: false }
            }
            [hours, minutes, seconds] => Clock {
                figures: [whole(hours, 99_999)?, whole(minutes, 59)?, second(seconds)?],
                two: false,
                half_day: false,
            },
            _ => return None,
        };
        self.clock = Some(clock);
        match rest {
            "" => {}
            "am" | "pm" => self.clock.as_mut()?.half(rest == "pm")?,
            other => self.zone = Some(zone(other)?),
        }
        Some(())
    }
}

impl Clock {
    /// Turns hours of half a day into hours of the day.
    fn half(&mut self, after_noon: bool) -> Option<()> {
        if self.half_day || !(1.0..=12.0).contains(&self.figures[0]) {
            return None;
        }
        self.half_day = true;
        self.figures[0] = self.figures[0] % 12.0 + if after_noon { 12.0 } else { 0.0 };
        Some(())
    }

    /// Seconds, its figures being hours, minutes and seconds.
    pub(super) fn seconds(&self) -> f64 {
        self.figures[0] * 3600.0 + self.figures[1] * 60.0 + self.figures[2]
    }
}

/// With a space for the letter between date and time.
fn spaced(text: &str) -> String {
    let bytes = text.as_bytes();
    let parts = |at: &usize| {
        matches!(bytes[*at], b'T' | b't' | b'_')
            && *at > 0
            && bytes[at - 1].is_ascii_digit()
            && bytes.get(at + 1).is_some_and(u8::is_ascii_digit)
    };
    match (0..bytes.len()).find(parts) {
        Some(at) => format!("{} {}", &text[..at], &text[at + 1..]),
        None => text.to_owned(),
    }
}

/// Seconds with a fraction, below 60, or 60 in a leap second.
fn second(text: &str) -> Option<f64> {
    let plain = text.bytes().all(|b| b.is_ascii_digit() || matches!(b, b'.' | b','));
    let value = text.replace(',', ".").parse::<f64>().ok().filter(|_| plain)?;
    (value < 61.0).then_some(value)
}

/// `Z`, `UTC`, `GMT`, `+02:00`, `-0500`, `+02`.
fn zone(word: &str) -> Option<i32> {
    let word = word.to_lowercase().replace('\u{2212}', "-");
    if matches!(word.as_str(), "z" | "utc" | "gmt") {
        return Some(0);
    }
    let (sign, digits) = match word.split_at_checked(1)? {
        ("+", digits) => (1, digits.replace(':', "")),
        ("-", digits) => (-1, digits.replace(':', "")),
        _ => return None,
    };
    if !matches!(digits.len(), 2 | 4) || !digits.bytes().all(|b| b.is_ascii_digit()) {
        return None;
    }
    let hours: i32 = digits[..2].parse().ok()?;
    let minutes: i32 = if digits.len() == 4 { digits[2..].parse().ok()? } else { 0 };
    (hours <= 14 && minutes < 60).then_some(sign * (hours * 3600 + minutes * 60))
}

fn date(word: &str) -> Option<Date> {
    let sign = word.chars().find(|c| matches!(c, '-' | '/' | '.'))?;
    let parts: Vec<&str> = word.split(sign).collect();
    let [one, two, three] = parts.as_slice() else { return None };
    let figure = |part: &str, longest: usize| {
        let right = part.len() <= longest && part.bytes().all(|b| b.is_ascii_digit());
        part.parse::<u32>().ok().filter(|_| right)
    };
    if one.len() == 4 {
        return told(i64::from(figure(one, 4)?), figure(two, 2)?, figure(three, 2)?);
    }
    let year = match three.len() {
        4 => i64::from(figure(three, 4)?),
        2 => 2000 + i64::from(figure(three, 2)?),
        _ => return None,
    };
    let day = figure(one, 2)?;
    if let Some(month) = month_called(two) {
        return told(year, month, day);
    }
    let other = figure(two, 2)?;
    match sign {
        '.' => told(year, other, day),
        _ => Some(Date::Open { one: day, other, year }),
    }
}

fn month_called(word: &str) -> Option<u32> {
    const MONTHS: [&str; 12] =
        ["jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"];
    let short: String = word.to_lowercase().chars().take(3).collect();
    MONTHS.iter().position(|month| *month == short).map(|at| at as u32 + 1)
}

fn told(year: i64, month: u32, day: u32) -> Option<Date> {
    days(year, month, day).map(|_| Date::Told { year, month, day })
}

/// Days since 1970-01-01 in the Gregorian calendar; none where there is no such day. After H. Hinnant,
/// "chrono-compatible low-level date algorithms" (2013): years begin in March, so that the leap day ends them.
pub(super) fn days(year: i64, month: u32, day: u32) -> Option<i64> {
    let leap = year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
    let longest = match month {
        2 => 28 + u32::from(leap),
        4 | 6 | 9 | 11 => 30,
        1..=12 => 31,
        _ => return None,
    };
    if !(1..=longest).contains(&day) {
        return None;
    }
    let (year, month) = if month > 2 { (year, month - 3) } else { (year - 1, month + 9) };
    let era = year.div_euclid(400);
    let of_era = year.rem_euclid(400);
    let of_year = i64::from((153 * month + 2) / 5 + day - 1);
    Some(era * 146_097 + of_era * 365 + of_era / 4 - of_era / 100 + of_year - 719_468)
}
