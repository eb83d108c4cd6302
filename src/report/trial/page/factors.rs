//! Levels of the factors and combinations on the page: a chart in order, and what it shows as tables.

use super::Order;
use super::names::{ValueName, plural};
use crate::report::charts::{LevelMark, LevelsTold, levels_chart};
use crate::report::trial::lines::{one_line, range, signed};
use crate::report::words::{capital, fixed};
use crate::trial::{Answer, Comparison, Factor, Findings, LevelMean, Pair};
use serde::Serialize;

/// Rows of a chart, so that it fits a printed page; the table beside it has all.
const MOST_DRAWN: usize = 40;

/// One question of the trial with its answer.
#[derive(Debug, Serialize)]
pub(super) struct FactorView {
    id: String,
    heading: String,
    plural: String,
    /// Over the column of levels.
    what: &'static str,
    chart: String,
    levels: Vec<LevelRow>,
    pairs: Vec<PairRow>,
    /// What stands over the table of pairs.
    caption: String,
    notes: Vec<String>,
}

#[derive(Debug, Serialize)]
struct LevelRow {
    name: String,
    control: bool,
    swatches: usize,
    mean: String,
    interval: String,
}

#[derive(Debug, Serialize)]
struct PairRow {
    name: String,
    difference: String,
    interval: String,
    said: String,
}

/// In which order levels stand, for a heading.
pub(super) fn ordered(order: Order) -> &'static str {
    match order {
        Order::HighestFirst => "highest first",
        Order::HigherIsBetter => "best first, higher is better",
        Order::LowerIsBetter => "best first, lower is better",
    }
}

/// A section a factor.
pub(super) fn factors(findings: &Findings, name: &ValueName, order: Order) -> Vec<FactorView> {
    let one = |(comparison, control): (&Comparison, &Option<String>)| {
        let by = comparison.by;
        let heading = format!("{}, {}", capital(plural(by)), ordered(order));
        let caption = format!("Pairs of {}: first less second, all else alike", plural(by));
        let pairs = comparison.pairs.iter().map(|pair| pair_row(pair, name, false)).collect();
        let notes = notes(comparison);
        let view = Section { id: by.name(), heading, caption, what: by.name(), pairs, notes };
        view.shown(&comparison.levels, control.as_deref(), name, order)
    };
    findings.factors.iter().zip(&findings.controls).map(one).collect()
}

/// The section of all combinations; what they are set against is the control where there is one.
pub(super) fn combinations(findings: &Findings, name: &ValueName, order: Order) -> Option<FactorView> {
    let comparison = findings.combinations.as_ref()?;
    let control = findings.control.as_deref();
    let against =
        |pair: &&Pair| control.is_some_and(|control| pair.first == control || pair.second == control);
    let turned = |pair: &Pair| {
        let turn = Some(pair.first.as_str()) == control;
        let other = one_line(if turn { &pair.second } else { &pair.first });
        PairRow { name: other, ..pair_row(pair, name, turn) }
    };
    let mut pairs: Vec<PairRow> = comparison.pairs.iter().filter(against).map(turned).collect();
    let levels = in_order(&comparison.levels, order);
    pairs.sort_by_key(|pair| levels.iter().position(|level| one_line(&level.level) == pair.name));
    let section = Section {
        id: "combinations",
        heading: format!("Combinations, {}", ordered(order)),
        caption: format!(
            "Each less the control, {}; judged over all pairs of combinations at once",
            control.map(one_line).unwrap_or_default()
        ),
        what: "combination",
        pairs,
        notes: notes(comparison),
    };
    Some(section.shown(&comparison.levels, control, name, order))
}

/// What a section says besides its levels.
struct Section {
    id: &'static str,
    heading: String,
    caption: String,
    what: &'static str,
    pairs: Vec<PairRow>,
    notes: Vec<String>,
}

impl Section {
    fn shown(
        self,
        levels: &[LevelMean],
        control: Option<&str>,
        name: &ValueName,
        order: Order,
    ) -> FactorView {
        let levels = in_order(levels, order);
        let is_control = |level: &LevelMean| Some(level.level.as_str()) == control;
        let mut marks: Vec<LevelMark> = levels
            .iter()
            .map(|level| LevelMark {
                name: one_line(&level.level),
                value: level.mean,
                interval: level.interval,
                control: is_control(level),
            })
            .collect();
        let mut more = String::new();
        if marks.len() > MOST_DRAWN {
            more = format!(" The first {MOST_DRAWN} of {}: the table has all.", marks.len());
            let control = marks.drain(MOST_DRAWN..).find(|mark| mark.control);
            marks.extend(control);
        }
        let dashed =
            if marks.iter().any(|mark| mark.control) { " Ring and dashed line: the control." } else { "" };
        let told = LevelsTold {
            title: &format!("{}: means with 95 % intervals", capital(self.id)),
            remark: &format!(
                "Dots: means with all else alike; bars: their 95 % intervals. Whether two differ is in the table: bars may \
                 overlap where they do.{dashed}{more}"
            ),
            unit: &name.long,
            digits: name.digits,
            about_zero: false,
        };
        let chart = levels_chart(&format!("chart-{}", self.id), told, &marks);
        let row = |level: &&LevelMean| LevelRow {
            name: one_line(&level.level),
            control: is_control(level),
            swatches: level.swatches,
            mean: level.mean.map_or_else(|| "cannot be separated".into(), |mean| fixed(mean, name.digits)),
            interval: level
                .interval
                .map_or_else(|| "not known".into(), |interval| range(interval, name.digits)),
        };
        FactorView {
            id: self.id.into(),
            plural: self.heading.split(',').next().unwrap_or_default().into(),
            what: self.what,
            levels: levels.iter().map(row).collect(),
            chart,
            pairs: self.pairs,
            caption: self.caption,
            notes: self.notes,
            heading: self.heading,
        }
    }
}

/// Best first; those without a mean last, in their own order.
fn in_order(levels: &[LevelMean], order: Order) -> Vec<&LevelMean> {
    let mut ordered: Vec<&LevelMean> = levels.iter().collect();
    let rank = |level: &LevelMean| match (level.mean, order) {
        (None, _) => f64::INFINITY,
        (Some(mean), Order::LowerIsBetter) => mean,
        (Some(mean), _) => -mean,
    };
    ordered.sort_by(|a, b| rank(a).total_cmp(&rank(b)));
    ordered
}

fn pair_row(pair: &Pair, name: &ValueName, turn: bool) -> PairRow {
    let (first, second, sign) =
        if turn { (&pair.second, &pair.first, -1.0) } else { (&pair.first, &pair.second, 1.0) };
    let digits = name.digits;
    let (difference, interval, said) = match &pair.answer {
        Answer::Estimated(told) => {
            let [low, high] = told.interval.map(|end| sign * end);
            let said = match told.told_apart {
                true => "differ".into(),
                false => format!("not told apart; sees {}", fixed(told.detectable, digits)),
            };
            (signed(sign * told.difference, digits), range([low.min(high), low.max(high)], digits), said)
        }
        Answer::NoScatter { difference } => (
            signed(sign * difference, digits),
            "not known".into(),
            "no scatter known: repeat swatches".into(),
        ),
        Answer::CannotBeSeparated { reason } => {
            (String::new(), String::new(), format!("cannot be separated, {}", one_line(reason)))
        }
    };
    PairRow { name: format!("{} − {}", one_line(first), one_line(second)), difference, interval, said }
}

fn notes(comparison: &Comparison) -> Vec<String> {
    let mut notes = Vec::new();
    if let Some([fewest, most]) = comparison.unequal_tiles {
        notes.push(format!(
            "Tiles hold from {fewest} to {most} readings: these intervals are somewhat too narrow, for they take tiles as equally \
             well known."
        ));
    }
    if comparison.by == Factor::Firing && comparison.scatter == crate::trial::Scatter::Swatches {
        notes.push("No tiles are told: firings are judged by swatches as if tiles were all alike.".into());
    }
    notes
}
