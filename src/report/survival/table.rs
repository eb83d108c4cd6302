//! What the fire left of the paint, in lines.

use crate::reading::{StrokePart, SurvivalPart};
use crate::report::file_name_of;
use crate::report::words::{percent, percent_pm};

/// One sentence on all paint.
pub fn survival_words(survival: &SurvivalPart) -> String {
    format!(
        "{} of the paint laid still reads: kept {}, thinned {}, lost {} (against {}).",
        percent_pm(survival.retained_fraction, survival.u95),
        percent(survival.kept),
        percent(survival.thinned),
        percent(survival.lost),
        file_name_of(&survival.before.path)
    )
}

/// The strokes, the one of which the largest area was lost first.
pub(super) fn lost_most(survival: &SurvivalPart) -> Vec<&StrokePart> {
    let mut strokes: Vec<&StrokePart> = survival.strokes.iter().collect();
    let lost = |stroke: &StrokePart| stroke.lost * stroke.area_px as f64;
    strokes.sort_by(|one, other| lost(other).total_cmp(&lost(one)).then(one.number.cmp(&other.number)));
    strokes
}

/// Strokes as rows, the one of which the largest area was lost first: its number on the picture, its part of the paint, what became of it. The
/// first row holds titles
pub fn survival_table(survival: &SurvivalPart, most: usize) -> Vec<Vec<String>> {
    let mut rows = vec![["stroke", "of the paint", "kept", "thinned", "lost"].map(str::to_owned).to_vec()];
    rows.extend(lost_most(survival).iter().take(most).map(|stroke| {
        vec![
            stroke.number.to_string(),
            percent(stroke.area_px as f64 / survival.laid_px.max(1) as f64),
            percent(stroke.kept),
            percent(stroke.thinned),
            percent(stroke.lost),
        ]
    }));
    rows
}
