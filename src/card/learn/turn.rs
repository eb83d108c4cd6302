//! Which way round the new card lies. Nothing on it says so before its colours are known.

use super::view::{LearnView, SeenPatch};
use super::{LearnError, LearnSettings};
use crate::card::geometry::Grid;
use crate::colour::{LabD50, ciede2000};

/// What the turn of a view was taken from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TurnFrom {
    /// Corners told by hand.
    Told,
    /// About right colours in the layout's file.
    Layout,
    /// The corner nearest to the top left of the upright picture was taken for the first patch.
    TopLeft,
    /// The colours of the first photograph.
    FirstView,
}

/// Least lead of the best turn over the next, in mean CIEDE2000: colours of one patch in two photographs
/// agree better than this.
const LEAST_LEAD: f64 = 2.0;
/// Two directions of a patch that are as unlike as this tell rows from columns.
const UNLIKE: f64 = 1.25;

/// The turns a grid as found may have: for each, the place in the grid of every patch of the card.
pub(super) fn turns(grid: &Grid, told: bool) -> Vec<Vec<usize>> {
    let (rows, columns) = (grid.rows, grid.columns);
    let n = rows * columns;
    let upright: Vec<usize> = (0..n).collect();
    if told {
        return vec![upright];
    }
    let mut out = vec![upright, (0..n).rev().collect()];
    let shape = (grid.tall * grid.pitch[0] / grid.pitch[1]).max(grid.tall);
    if rows == columns && (1.0 / UNLIKE..UNLIKE).contains(&shape) {
        let quarter: Vec<usize> = (0..n).map(|i| (rows - 1 - i % columns) * columns + i / columns).collect();
        out.push(quarter.iter().rev().copied().collect());
        out.push(quarter);
    }
    out
}

/// Settles the turn of every view: the place in its grid of every patch of the card.
pub(super) fn settle(
    views: &[LearnView],
    settings: &LearnSettings,
) -> Result<Vec<(Vec<usize>, TurnFrom)>, LearnError> {
    let about: Vec<Option<LabD50>> = settings.layout.patches.iter().map(|p| p.lab).collect();
    let by_layout = about.iter().flatten().count() * 2 > settings.layout.layout.patches();
    let mut out: Vec<(Vec<usize>, TurnFrom)> = Vec::with_capacity(views.len());
    for (index, view) in views.iter().enumerate() {
        let chosen = match (&view.turns[..], out.first()) {
            ([only], _) => (only.clone(), TurnFrom::Told),
            (turns, _) if by_layout => {
                (nearest(index, view, turns, |i| about.get(i).copied().flatten())?, TurnFrom::Layout)
            }
            (turns, None) => (top_left(view, turns), TurnFrom::TopLeft),
            (turns, Some((first, _))) => {
                let known = |i: usize| usable(&views[0].patches[first[i]]);
                (nearest(index, view, turns, known)?, TurnFrom::FirstView)
            }
        };
        out.push(chosen);
    }
    Ok(out)
}

fn usable(patch: &SeenPatch) -> Option<LabD50> {
    patch.good.then_some(patch.lab)
}

/// The turn whose first patch lies nearest to the top left corner of the picture.
fn top_left(view: &LearnView, turns: &[Vec<usize>]) -> Vec<usize> {
    let away = |turn: &Vec<usize>| {
        let [x, y] = view.patches[turn[0]].centre_px;
        x.hypot(y)
    };
    let best = turns.iter().min_by(|a, b| away(a).total_cmp(&away(b)));
    best.cloned().unwrap_or_default()
}

/// The turn whose patches lie nearest to known colours.
fn nearest(
    view_index: usize,
    view: &LearnView,
    turns: &[Vec<usize>],
    known: impl Fn(usize) -> Option<LabD50>,
) -> Result<Vec<usize>, LearnError> {
    let away = |turn: &Vec<usize>| {
        let pairs =
            turn.iter().enumerate().filter_map(|(i, &at)| Some((known(i)?, usable(&view.patches[at])?)));
        let distances: Vec<f64> = pairs.map(|(one, other)| ciede2000(one, other)).collect();
        distances.iter().sum::<f64>() / (distances.len() as f64).max(1.0)
    };
    let mut ranked: Vec<(f64, &Vec<usize>)> = turns.iter().map(|t| (away(t), t)).collect();
    ranked.sort_by(|a, b| a.0.total_cmp(&b.0));
    match ranked[..] {
        [(best, turn), (second, _), ..] if second - best >= LEAST_LEAD => Ok(turn.clone()),
        [(best, _), (second, _), ..] => Err(LearnError::Turn { view: view_index, best, second }),
        [(_, only)] => Ok(only.clone()),
        [] => Ok(Vec::new()),
    }
}
