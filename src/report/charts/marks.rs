//! Pieces as marks: a form of its own for each grade, so that they are told apart in grey.

use super::svg::{ACCENT, Look, PAPER, QUIET, Svg};
use crate::reading::Grade;
use crate::report::words::grade_words;

/// Green of what is sound.
const SOUND: &str = "#1f6b3a";
/// Ochre of what is marginal.
const MARGINAL: &str = "#7a5200";

/// The grades in the order of keys and counts.
pub(super) const GRADES: [Grade; 4] = [Grade::Sound, Grade::Marginal, Grade::Faulty, Grade::CannotTell];

/// One piece of a load, as charts show it. Values are `[value, half-width of its 95 % interval]`; `None`: the piece
/// does not show it. What is no number counts as not shown; a half-width that is none draws no interval.
#[derive(Debug, Clone, Default)]
pub struct LoadMark {
    /// Its number in the report, from 1.
    pub number: usize,
    /// Its name, as a person gave it.
    pub name: String,
    /// Its grade.
    pub grade: Grade,
    /// L* of white (CIELAB, D50, 2 degree observer).
    pub white: Option<[f64; 2]>,
    /// L* of black.
    pub black: Option<[f64; 2]>,
    /// Share of the paint that still reads black, 0 to 1.
    pub kept: Option<[f64; 2]>,
    /// L* of white less L* of black.
    pub contrast: Option<[f64; 2]>,
}

/// A value that can be drawn.
pub(super) fn shown(value: Option<[f64; 2]>) -> Option<[f64; 2]> {
    value.filter(|[value, _]| value.is_finite())
}

/// Ends of the interval of a value, if it has one.
pub(super) fn interval([value, half]: [f64; 2]) -> Option<[f64; 2]> {
    (half.is_finite() && half > 0.0).then_some([value - half, value + half])
}

/// The mark of a grade: a full disc, a half-filled one, a diamond, a dashed ring.
pub(super) fn grade_mark(svg: &mut Svg, [x, y]: [f64; 2], radius: f64, grade: Grade) {
    match grade {
        Grade::Sound => svg.circle([x, y], radius, Look::edged(SOUND, PAPER, 0.8)),
        Grade::Marginal => {
            svg.circle([x, y], radius, Look::edged(PAPER, MARGINAL, 1.6));
            svg.half_disc([x, y], radius, MARGINAL);
        }
        Grade::Faulty => {
            let side = radius * 1.3;
            let corners = [[x, y - side], [x + side, y], [x, y + side], [x - side, y]];
            svg.polygon(&corners, Look::edged(ACCENT, PAPER, 0.8));
        }
        Grade::CannotTell => {
            let look = Look { fill: PAPER, edge: QUIET, width: 1.6, dashes: "2.4 1.6" };
            svg.circle([x, y], radius, look);
        }
    }
}

/// `Sound (5)` for each grade that occurs, in the order of [`GRADES`].
pub(super) fn counted(grades: impl Iterator<Item = Grade> + Clone) -> Vec<(Grade, String)> {
    let count = |wanted| grades.clone().filter(|grade| *grade == wanted).count();
    GRADES
        .into_iter()
        .filter(|grade| count(*grade) > 0)
        .map(|grade| (grade, format!("{} ({})", grade_words(grade), count(grade))))
        .collect()
}
