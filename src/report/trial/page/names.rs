//! What values, factors and reasons are called on the page.

use crate::ledger::table::plain_name;
use crate::report::trial::lines::{decimals, one_line};
use crate::trial::{Factor, Findings};

/// A column of readings, for people.
#[derive(Debug, Clone)]
pub(super) struct ValueName {
    /// Within a sentence: `L*`.
    pub(super) short: String,
    /// With what it is: `lightness L*`.
    pub(super) long: String,
    /// Decimals to show.
    pub(super) digits: usize,
}

impl ValueName {
    /// The columns that `trial read` writes have names; any other keeps its own.
    pub(super) fn of(findings: &Findings) -> Self {
        let (short, long, digits) = match plain_name(&findings.value).as_str() {
            "l" => ("L*", "lightness L* (0 black, 100 white)", 1),
            "a" => ("a*", "a* (red against green)", 1),
            "b" => ("b*", "b* (yellow against blue)", 1),
            "contrast delta l" => ("ΔL* to the slip", "contrast to the slip about it, ΔL*", 1),
            "contrast left" => {
                ("contrast left", "share of the contrast of the soundest paint on its tile", 2)
            }
            "retained" => ("paint kept", "share of the paint that is kept", 2),
            _ => {
                let own = one_line(&findings.value);
                return Self { short: own.clone(), long: own, digits: decimals(findings.parts.rest) };
            }
        };
        Self { short: short.into(), long: long.into(), digits }
    }
}

/// The levels of a factor, together.
pub(super) fn plural(factor: Factor) -> &'static str {
    match factor {
        Factor::Slip => "slips",
        Factor::Paint => "paints",
        Factor::Coats => "coats",
        Factor::Firing => "firings",
        Factor::Tile => "tiles",
    }
}

/// `a, b and c`.
pub(super) fn and(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

/// Why a swatch was not read, from the code of the table.
pub(super) fn reason(code: Option<&str>) -> String {
    match code {
        Some("edge") => "at the edge of sight".into(),
        Some("cloud") => "under a fire cloud".into(),
        Some("shade") => "in shade".into(),
        Some("glare") => "in shine".into(),
        Some("clipped") => "over-exposed".into(),
        Some(other) => one_line(other),
        None => "no value".into(),
    }
}
