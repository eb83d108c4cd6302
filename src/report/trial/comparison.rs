//! What a trial told, as a table for a terminal.

use super::lines::{NO_SCATTER, aligned, decimals, degrees, left_out, one_line, range, signed, wrapped};
use crate::report::words::fixed;
use crate::trial::{Answer, Comparison, Difference, Factor, Scatter};

/// The levels with their adjusted means, all pairs with their differences, and what the numbers rest on. Cells never
/// hold line ends.
pub fn comparison_table(comparison: &Comparison) -> String {
    let Comparison { by, value, swatches, .. } = comparison;
    let value = one_line(value);
    let digits = decimals(comparison.sigma);
    let adjusted = match &comparison.adjusted_for[..] {
        [] => String::new(),
        factors => format!(", adjusted for {}", joined(factors)),
    };
    let mut text = format!("{value} by {by}: {swatches} swatches{adjusted}\n\n");
    let mut rows = vec![["", by.name(), "swatches", "mean", "95 % interval"].map(str::to_owned).to_vec()];
    for level in &comparison.levels {
        let mean = level.mean.map_or_else(|| "-".into(), |mean| fixed(mean, digits));
        let interval = level.interval.map_or_else(|| "-".into(), |interval| range(interval, digits));
        rows.push(vec![String::new(), one_line(&level.level), level.swatches.to_string(), mean, interval]);
    }
    text += &aligned(&rows, &[2, 3]);
    text.push('\n');
    let head = ["", "pair", "difference", "95 % of it alone", "p (Holm)", "sees", ""];
    let mut rows = vec![head.map(str::to_owned).to_vec()];
    let mut reasons = String::new();
    for pair in &comparison.pairs {
        let name = format!("{} - {}", one_line(&pair.first), one_line(&pair.second));
        let [difference, interval, p, sees, said] = match &pair.answer {
            Answer::Estimated(told) => [
                signed(told.difference, digits),
                range(told.interval, digits),
                probability(told.p_holm),
                fixed(told.detectable, digits),
                verdict(told, comparison),
            ],
            Answer::NoScatter { difference } => [
                signed(*difference, digits),
                "-".into(),
                "-".into(),
                "-".into(),
                "no scatter known: repeat swatches".into(),
            ],
            Answer::CannotBeSeparated { reason } => {
                reasons += &wrapped(&format!("{name} cannot be separated, {}.", one_line(reason)));
                ["-".into(), "-".into(), "-".into(), "-".into(), "cannot be separated".into()]
            }
        };
        rows.push(vec![String::new(), name, difference, interval, p, sees, said]);
    }
    text += &aligned(&rows, &[2, 4, 5]);
    text.push('\n');
    text += &reasons;
    text += &footing(comparison);
    text
}

/// What the numbers rest on.
fn footing(comparison: &Comparison) -> String {
    let mut text = String::new();
    if let Some(sigma) = comparison.sigma {
        let unit = match comparison.scatter {
            Scatter::Swatches => "swatches",
            Scatter::Tiles => "tiles, on the scale of one swatch,",
        };
        text += &format!(
            "Standard deviation of {unit} about the model: {}, {}.\n",
            fixed(sigma, decimals(Some(sigma))),
            degrees(comparison.freedom)
        );
    }
    if comparison.sigma == Some(0.0) {
        text += &wrapped(NO_SCATTER);
    }
    if let Some([fewest, most]) = comparison.unequal_tiles {
        text += &wrapped(&format!(
            "Tiles hold from {fewest} to {most} readings: the intervals are somewhat too narrow, for they take tiles as equally \
             well known."
        ));
    }
    text += &adding_up(comparison);
    text += &left_out(&comparison.left_out);
    if comparison.by == Factor::Firing && comparison.scatter == Scatter::Swatches {
        text += "No tiles are told: firings are judged by swatches as if tiles were all alike.\n";
    }
    text += &wrapped(
        "Means and differences are those of a model that adds slip, paint, coats and tile or firing up; where one changes \
         what another does, they are averages. A pair differs where its p, adjusted for all pairs by Holm's way, is 0.05 \
         or less. 'Sees' is the smallest true difference that such a trial tells apart in 80 of 100 cases, for one pair \
         alone; 'more' is what it would take for a true difference as large as this one.",
    );
    text
}

/// What stands against a model that adds up: each interaction by its own p over their number (Bonferroni's way).
fn adding_up(comparison: &Comparison) -> String {
    let (by, count) = (comparison.by, comparison.interactions.len());
    let seen = |p: f64| p * count as f64 <= 0.05;
    let changed: Vec<String> = comparison
        .interactions
        .iter()
        .filter(|interaction| seen(interaction.p))
        .map(|interaction| format!("{} (p {})", interaction.with, probability(interaction.p)))
        .collect();
    match (count, &changed[..]) {
        (0, _) => String::new(),
        (_, []) => format!("No sign that another factor changes what the {by} does.\n"),
        (_, with) => wrapped(&format!(
            "Beware: what the {by} does changes with {}. The differences above are averages over it; look at its levels \
             one by one.",
            with.join(", ")
        )),
    }
}

fn verdict(told: &Difference, comparison: &Comparison) -> String {
    if told.told_apart {
        return "differ".into();
    }
    let unit = match comparison.scatter {
        Scatter::Swatches => "swatches",
        Scatter::Tiles => "tiles",
    };
    match told.more_of_each {
        _ if told.difference == 0.0 => "not told apart".into(),
        Some(more) => format!("not told apart; {more} more {unit} each would"),
        None => format!("not told apart; not with 1000 {unit} each"),
    }
}

fn joined(factors: &[Factor]) -> String {
    factors.iter().map(|factor| factor.name()).collect::<Vec<_>>().join(", ")
}

fn probability(p: f64) -> String {
    if p < 0.0005 { "< 0.001".into() } else { format!("{p:.3}") }
}
