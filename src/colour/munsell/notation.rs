//! A Munsell notation taken apart.

use std::fmt;

/// Hue families in the order of the circle; each spans ten.
pub(super) const FAMILIES: [&str; 10] = ["R", "YR", "Y", "GY", "G", "BG", "B", "PB", "P", "RP"];

/// A Munsell notation (ASTM D1535): `10YR 8/2`, `7.5YR 7.5/1.5` or `N 3/`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MunsellNotation {
    /// Place on the hue circle of 100, above 0 to 100: 10 for 10R, 12.5 for 2.5YR, 100 for 10RP. `None`: neutral.
    pub hue: Option<f64>,
    /// 0 black to 10 white.
    pub value: f64,
    /// 0 and more; 0 for a neutral.
    pub chroma: f64,
}

impl MunsellNotation {
    /// Reads a notation; small letters, missing and extra spaces do no harm. `None` for any other text. Whether there
    /// is such a colour is not asked.
    pub fn parse(text: &str) -> Option<Self> {
        let text: String =
            text.chars().filter(|c| !c.is_whitespace()).collect::<String>().to_ascii_uppercase();
        let number = |text: &str| -> Option<f64> {
            let plain = text.chars().all(|c| c.is_ascii_digit() || c == '.');
            text.parse().ok().filter(|v: &f64| plain && v.is_finite())
        };
        if let Some(rest) = text.strip_prefix('N') {
            let value = match rest.split_once('/') {
                None | Some((_, "" | "0")) => rest.split('/').next()?,
                Some(_) => return None,
            };
            let value = number(value).filter(|v| *v <= 10.0)?;
            return Some(Self { hue: None, value, chroma: 0.0 });
        }
        let (step, rest) = text.split_at_checked(text.find(|c: char| c.is_ascii_alphabetic())?)?;
        let (family, rest) = rest.split_at_checked(rest.find(|c: char| !c.is_ascii_alphabetic())?)?;
        let (value, chroma) = rest.split_once('/')?;
        let step = number(step).filter(|v| *v > 0.0 && *v <= 10.0)?;
        let family = FAMILIES.iter().position(|f| *f == family)?;
        let value = number(value).filter(|v| *v <= 10.0)?;
        Some(Self { hue: Some(10.0 * family as f64 + step), value, chroma: number(chroma)? })
    }

    /// The notation with its hue turned by `by` on the circle of 100.
    pub fn turned(self, by: f64) -> Self {
        let turn = |hue: f64| match (hue + by).rem_euclid(100.0) {
            0.0 => 100.0,
            hue => hue,
        };
        Self { hue: self.hue.map(turn), ..self }
    }
}

impl fmt::Display for MunsellNotation {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Some(hue) = self.hue else { return write!(f, "N {}/", self.value) };
        // 10R belongs to R, so that a family ends at 10 and none begins at 0.
        let family = ((hue / 10.0).ceil() as usize).clamp(1, FAMILIES.len()) - 1;
        // What the subtraction leaves of the binary fraction is no part of the notation.
        let step = ((hue - 10.0 * family as f64) * 1e9).round() / 1e9;
        write!(f, "{step}{} {}/{}", FAMILIES[family], self.value, self.chroma)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn notations_are_read_and_written() {
        for (typed, written) in [
            ("10YR 8/2", "10YR 8/2"),
            ("10yr8/2", "10YR 8/2"),
            (" 7.5YR  7.5 / 1.5 ", "7.5YR 7.5/1.5"),
            ("N 3/", "N 3/"),
            ("n3", "N 3/"),
            ("N 9.5/0", "N 9.5/"),
            ("10RP 4/6", "10RP 4/6"),
            ("2.5R 4/6", "2.5R 4/6"),
        ] {
            assert_eq!(MunsellNotation::parse(typed).unwrap().to_string(), written);
        }
        for text in
            ["", "N", "10YR", "10YR 8", "YR 8/2", "0YR 8/2", "11YR 8/2", "10XY 8/2", "10YR 8/-1", "10YR 11/2"]
        {
            assert_eq!(MunsellNotation::parse(text), None, "{text}");
        }
        for text in ["N 3/2", "N 11/", "10YR NaN/2", "é 8/2", "10YR 8/2/3", "10YR 1e1/2", "/", "N/", "N -1/"]
        {
            assert_eq!(MunsellNotation::parse(text), None, "{text}");
        }
    }

    #[test]
    fn the_hue_circle_closes() {
        let red = MunsellNotation::parse("2.5R 4/6").unwrap();
        assert_eq!(red.turned(-2.5).to_string(), "10RP 4/6");
        assert_eq!(red.turned(-2.5).turned(2.5), red);
    }
}
