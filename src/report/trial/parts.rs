//! Where the spread of a trial lies, as words for a terminal.

use super::lines::{NO_SCATTER, aligned, decimals, degrees, left_out, one_line, range, signed, wrapped};
use crate::report::words::fixed;
use crate::trial::{Answer, Factor, Parts};

/// Each source with the standard deviation between its levels, and the difference of firings raw and against the
/// control.
pub fn parts_table(parts: &Parts) -> String {
    let digits = decimals(parts.rest);
    let mut text =
        format!("{}: where the spread of {} swatches lies\n\n", one_line(&parts.value), parts.swatches);
    let head = ["", "part", "levels", "sd between", "farthest apart", "by", "95 % for all pairs"];
    let mut rows = vec![head.map(str::to_owned).to_vec()];
    for source in &parts.sources {
        let spread = match (source.spread, source.factor) {
            (Some(spread), _) => fixed(spread, digits),
            (None, Factor::Tile) => "-".into(),
            (None, _) => "cannot be separated".into(),
        };
        let [pair, by, interval] = match &source.widest {
            Some(widest) => [
                format!("{} - {}", one_line(&widest.first), one_line(&widest.second)),
                fixed(widest.difference, digits),
                range(widest.interval, digits),
            ],
            None => ["-"; 3].map(str::to_owned),
        };
        let name = source.factor.name().to_owned();
        rows.push(vec![String::new(), name, source.levels.to_string(), spread, pair, by, interval]);
    }
    let rest = parts.rest.map_or_else(|| "-".into(), |rest| fixed(rest, digits));
    rows.push(["", "rest", "", &rest, "-", "-", "-"].map(str::to_owned).to_vec());
    text += &aligned(&rows, &[2, 3, 5]);
    text.push('\n');
    for pair in &parts.firings {
        let name = format!("{} - {}", one_line(&pair.first), one_line(&pair.second));
        let less = match &pair.less_control {
            Some(answer) => said(answer, digits),
            None => "not told, for no tile has a control with a value".into(),
        };
        let raw = said(&pair.raw, digits);
        text += &wrapped(&format!("Firing {name}: raw {raw}; less the control of each tile {less}."));
    }
    if !parts.without_control.is_empty() {
        let tiles: Vec<String> = parts.without_control.iter().map(|tile| one_line(tile)).collect();
        text += &wrapped(&format!(
            "No control was read on tile {}: left out of what is less the control.",
            tiles.join(", ")
        ));
    }
    if let (Some(rest), Some(interval)) = (parts.rest, parts.rest_interval) {
        let (rest, interval, freedom) =
            (fixed(rest, digits), range(interval, digits), degrees(parts.freedom));
        text += &wrapped(&format!(
            "Rest: swatches that are alike in all of these scatter by {rest} (95 % {interval}, {freedom})."
        ));
    }
    if parts.rest == Some(0.0) {
        text += &wrapped(NO_SCATTER);
    }
    text += &left_out(&parts.left_out);
    text += &wrapped(
        "'sd between' is the standard deviation between levels with the share of mere error off; 0 where nothing more is \
         seen. It belongs to the levels of this trial: other slips or fires would give others. A difference of firings \
         that goes when the control is taken off is the fire's on all alike; what stays the materials take otherwise than \
         the control.",
    );
    text
}

/// A difference of firings with its interval, or why there is none.
pub(super) fn said(answer: &Answer, digits: usize) -> String {
    match answer {
        Answer::Estimated(told) => {
            format!("{} (95 % {})", signed(told.difference, digits), range(told.interval, digits))
        }
        Answer::NoScatter { difference } => format!("{} (scatter not known)", signed(*difference, digits)),
        Answer::CannotBeSeparated { reason } => format!("cannot be separated, {}", one_line(reason)),
    }
}
