//! What a trial comes to, in two sentences: what is told apart; what is not, and what to do next.
//!
//! Nothing is called different that the comparison does not (Holm's way within each factor), and nothing is called alike.

use super::Order;
use super::names::{ValueName, and, plural};
use crate::ledger::trend::t_quantile;
use crate::report::trial::lines::{one_line, range};
use crate::report::words::{capital, fixed};
use crate::trial::{Answer, Comparison, Difference, Factor, Findings, Pair, Scatter, in_words};

/// Chance of a false answer, at most.
const RISK: f64 = 0.05;

/// The two sentences.
pub(super) fn conclusion(findings: &Findings, name: &ValueName, order: Order) -> [String; 2] {
    let all: Vec<Sorted> = findings.factors.iter().map(Sorted::of).collect();
    let told: Vec<String> = all.iter().filter_map(|sorted| sorted.told_apart(name, order)).collect();
    let first = match &told[..] {
        [] => nothing(&all, name),
        told => {
            format!("In {} this trial tells apart, with 95 % intervals: {}.", name.short, told.join("; "))
        }
    };
    let left: Vec<String> = all.iter().filter_map(|sorted| sorted.not_told(name)).collect();
    let mut second = Vec::new();
    second.extend(confounded(&all, &first));
    if !left.is_empty() {
        second.push(format!(
            "left open, with the difference that four in five such trials would see: {}",
            and(&left)
        ));
    }
    second.extend(changes(findings));
    second.push(next(&all));
    [first, format!("{}.", capital(&second.join("; ")))]
}

/// The pairs of one factor by what can be said of them.
struct Sorted<'a> {
    comparison: &'a Comparison,
    told: Vec<(&'a Pair, &'a Difference)>,
    open: Vec<(&'a Pair, &'a Difference)>,
    /// No scatter is known.
    unrepeated: usize,
    /// Cannot be separated, with the reason.
    confounded: Vec<&'a str>,
}

impl<'a> Sorted<'a> {
    fn of(comparison: &'a Comparison) -> Self {
        let mut sorted =
            Self { comparison, told: Vec::new(), open: Vec::new(), unrepeated: 0, confounded: Vec::new() };
        for pair in &comparison.pairs {
            match &pair.answer {
                Answer::Estimated(difference) if difference.told_apart => {
                    sorted.told.push((pair, difference))
                }
                Answer::Estimated(difference) => sorted.open.push((pair, difference)),
                Answer::NoScatter { .. } => sorted.unrepeated += 1,
                Answer::CannotBeSeparated { reason } => sorted.confounded.push(reason),
            }
        }
        sorted
    }

    /// The widest of the pairs that differ, with an interval that holds for all pairs of the factor at once (Bonferroni's way),
    /// as the pair was picked. Of pairs that only Holm's way tells apart that interval may hold 0: the pair with the smallest p
    /// is never one of them.
    fn told_apart(&self, name: &ValueName, order: Order) -> Option<String> {
        let pairs = (self.told.len() + self.open.len()) as f64;
        let sure = self.told.iter().filter(|(_, difference)| difference.p * pairs <= RISK);
        let (pair, difference) = sure.max_by(|a, b| a.1.difference.abs().total_cmp(&b.1.difference.abs()))?;
        let size = difference.difference.abs();
        let share = 1.0 - RISK / (2.0 * pairs);
        let half = t_quantile(share, self.comparison.freedom as f64) * difference.standard_error;
        let (mut one, mut other, mut way) = (&pair.first, &pair.second, "above");
        if difference.difference < 0.0 {
            std::mem::swap(&mut one, &mut other);
        }
        if order == Order::LowerIsBetter {
            std::mem::swap(&mut one, &mut other);
            way = "below";
        }
        let count = match self.told.len() {
            1 => String::new(),
            count => format!(", the widest of {count} pairs that differ"),
        };
        let by = self.comparison.by;
        Some(format!(
            "{} {} {} {way} {} ({}{count})",
            level(by, one),
            if one_of_several(by, one) { "lie" } else { "lies" },
            fixed(size, name.digits),
            level(by, other),
            interval([size - half, size + half], name.digits)
        ))
    }

    /// What was asked and is not told apart, with the difference that would have been seen.
    fn not_told(&self, name: &ValueName) -> Option<String> {
        let seen = self.open.iter().map(|(_, difference)| difference.detectable).reduce(f64::max)?;
        let (by, seen) = (plural(self.comparison.by), fixed(seen, name.digits));
        Some(match (self.open.len(), self.comparison.pairs.len()) {
            (1, 1) => format!("the {by} ({seen})"),
            (open, all) if open == all => format!("all {all} pairs of {by} ({seen})"),
            (open, all) => format!("{open} of {all} pairs of {by} ({seen})"),
        })
    }

    /// How many more of each it takes to tell apart what was seen and is not told apart.
    fn more(&self) -> Option<(usize, &'a Comparison)> {
        let more = self.open.iter().filter_map(|(_, difference)| difference.more_of_each).max()?;
        Some((more, self.comparison))
    }

    /// The pairs that cannot be separated: all of a factor, or how many.
    fn which(&self) -> String {
        let (some, all, by) =
            (self.confounded.len(), self.comparison.pairs.len(), plural(self.comparison.by));
        if some == all { by.to_owned() } else { format!("{some} of {all} pairs of {by}") }
    }

    fn confounded(&self) -> Option<String> {
        self.confounded.first().map(|reason| said(reason))
    }
}

/// An interval that does not hold 0, with so many decimals that neither end reads as 0.
fn interval(ends: [f64; 2], digits: usize) -> String {
    let reads_as_zero = |digits: usize| {
        let shown = ends.map(|end| fixed(end, digits).parse::<f64>());
        ends.iter().zip(shown).any(|(end, shown)| *end > 0.0 && shown == Ok(0.0))
    };
    range(ends, (digits..digits + 4).find(|digits| !reads_as_zero(*digits)).unwrap_or(digits))
}

/// A level within a sentence.
fn level(by: Factor, name: &str) -> String {
    match one_line(&in_words(by, name)) {
        counted if by == Factor::Coats && counted != one_line(name) => counted,
        plain => format!("{by} '{plain}'"),
    }
}

/// Whether a level takes the verb of several: coats that are counted.
fn one_of_several(by: Factor, name: &str) -> bool {
    in_words(by, name).ends_with(" coats") && by == Factor::Coats
}

/// The first sentence where nothing is told apart.
fn nothing(all: &[Sorted], name: &ValueName) -> String {
    let asked: Vec<String> = all
        .iter()
        .filter(|sorted| !sorted.open.is_empty())
        .map(|sorted| plural(sorted.comparison.by).to_owned())
        .collect();
    if !asked.is_empty() {
        return format!(
            "No difference in {} between {} is larger than luck explains.",
            name.short,
            and(&asked)
        );
    }
    match all.iter().find_map(Sorted::confounded) {
        Some(reason) => format!("In {} this trial tells nothing apart, for {reason}.", name.short),
        None => format!("In {} nothing can be told from luck, for no swatch is repeated.", name.short),
    }
}

/// What cannot be separated: the reason of the first, unless the first sentence has it, and what else is so, for two that are
/// confounded with each other have one reason.
fn confounded(all: &[Sorted], first: &str) -> Option<String> {
    let mut found = all.iter().filter_map(|sorted| Some((sorted.which(), sorted.confounded()?)));
    let (which, reason) = found.next()?;
    let others: Vec<String> = found.map(|(which, _)| which).collect();
    match (first.contains(&reason), others.is_empty()) {
        (true, true) => None,
        (true, false) => Some(format!("{} cannot be separated either", and(&others))),
        (false, _) => {
            let which = and(&[vec![which], others].concat());
            Some(format!("{which} cannot be compared, for {reason}"))
        }
    }
}

/// Why levels cannot be separated, with what they are told by.
fn said(reason: &str) -> String {
    let reason = one_line(reason);
    match reason.strip_prefix("confounded with ").and_then(|rest| rest.split_once(": ")) {
        Some((with, why)) => format!("{why} (cannot be separated from the {with})"),
        None => reason,
    }
}

/// Factors of which one is seen to change what the other does, each by its own p over their number (Bonferroni's way), as in
/// the table of a comparison.
fn changes(findings: &Findings) -> Option<String> {
    let mut seen: Vec<[Factor; 2]> = Vec::new();
    for comparison in &findings.factors {
        let count = comparison.interactions.len() as f64;
        let others = comparison.interactions.iter().filter(|interaction| interaction.p * count <= 0.05);
        seen.extend(others.map(|other| [comparison.by.min(other.with), comparison.by.max(other.with)]));
    }
    seen.sort_unstable();
    seen.dedup();
    let pairs: Vec<String> = seen.iter().map(|[one, other]| format!("{one} with {other}")).collect();
    (!pairs.is_empty()).then(|| {
        format!("beware, what one does changes with the other ({}), so look at the combinations", and(&pairs))
    })
}

fn next(all: &[Sorted]) -> String {
    let reasons = || all.iter().flat_map(|sorted| &sorted.confounded);
    if reasons().any(|reason| reason.starts_with("confounded with tile: each firing")) {
        return "next, fire two tiles or more in each firing".into();
    }
    if reasons().next().is_some() {
        return "next, cross what is confounded, as 'sherdlight trial plan' lays it out".into();
    }
    if all.iter().any(|sorted| sorted.unrepeated > 0) {
        return "next, lay each combination twice or more".into();
    }
    if let Some((more, comparison)) = all.iter().filter_map(Sorted::more).min_by_key(|(more, _)| *more) {
        let unit = match (comparison.scatter, more) {
            (Scatter::Swatches, 1) => "swatch",
            (Scatter::Swatches, _) => "swatches",
            (Scatter::Tiles, 1) => "tile",
            (Scatter::Tiles, _) => "tiles",
        };
        let of = match comparison.by {
            Factor::Coats => "number of coats",
            by => by.name(),
        };
        return format!(
            "next, lay {more} more {unit} of each {of}, if a difference as large as the one seen there matters"
        );
    }
    match all.iter().any(|sorted| !sorted.open.is_empty()) {
        true => "differences as small as those seen there would take more than 1000 of each".into(),
        false => "next, lay the ones you want again beside the control in another fire, for a trial speaks of its own batches".into(),
    }
}

#[cfg(test)]
mod tests {
    use super::interval;

    #[test]
    fn an_end_that_is_not_zero_does_not_read_as_zero() {
        assert_eq!(interval([0.007, 1.1], 1), "0.01 to 1.10");
        assert_eq!(interval([0.4, 1.1], 1), "0.4 to 1.1");
        // Pairs that Holm's way alone tells apart may have 0 inside.
        assert_eq!(interval([-0.02, 1.1], 1), "0.0 to 1.1");
    }
}
