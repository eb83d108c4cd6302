//! Several views of the new card become one definition.

use super::turn::{TurnFrom, settle};
use super::view::{LearnView, SeenPatch, difference};
use super::{LearnError, LearnSettings};
use crate::card::choose::median;
use crate::card::definition::{CardDefinition, PatchDefinition};
use crate::card::uncertainty::coverage_factor;
use crate::colour::constants::WHITE_D50;
use crate::colour::{LabD50, ciede2000};

/// A definition with how it came about.
#[derive(Debug, Clone)]
pub struct Learned {
    /// The definition; it has passed its self-test.
    pub definition: CardDefinition,
    /// Every patch, in the order of the definition.
    pub patches: Vec<LearnedPatch>,
    /// Every view, in the order given.
    pub views: Vec<ViewUsed>,
    /// What the user should know, in sentences.
    pub remarks: Vec<String>,
}

/// On what a patch's colour rests.
#[derive(Debug, Clone)]
pub struct LearnedPatch {
    /// Views used, as numbers counted from 0.
    pub used: Vec<usize>,
    /// Views whose colour lies far from the others': left out.
    pub outliers: Vec<usize>,
    /// Largest CIEDE2000 of a used view from the mean.
    pub spread: f64,
}

/// What became of a view.
#[derive(Debug, Clone)]
pub struct ViewUsed {
    /// What the turn was taken from.
    pub turn: TurnFrom,
    /// Outer corners of the grid from the first patch, in full-size pixels.
    pub corners_px: [[f64; 2]; 4],
    /// Median CIEDE2000 of its patches from the middle of all views.
    pub away: f64,
    /// Whether it was used; else it disagrees with the others.
    pub used: bool,
    /// Mean CIEDE2000 of the known card's patches predicted from each other.
    pub known_held_out: f64,
}

/// A value is an outlier when it lies this many times the median distance off, and at least
/// [`OUTLIER_DE`]. Needs three views: of two, nobody knows which is wrong.
const OUTLIER_TIMES: f64 = 4.0;
const OUTLIER_DE: f64 = 2.0;
/// Views from which outliers are sought.
const ENOUGH: usize = 3;
/// Degrees of freedom behind a correction's uncertainty: about the patches of the known card less the
/// unknowns of its model.
const CORRECTION_FREEDOM: f64 = 15.0;

/// Pools the views.
///
/// Each patch gets the mean over the views without outliers. Its uncertainty (JCGM 100:2008, 5.1.2) has a
/// part that shrinks with the number of views, the spread between them (4.2.3; never less than that pooled
/// over all patches, 4.2.4), and parts common to all views, which do not: the correction by the one known
/// card, that card's own uncertainty where its definition has one, and a change of light from one card to
/// the other. The coverage factor is that of the effective degrees of freedom (G.4).
///
/// # Errors
/// [`LearnError`].
pub fn learn(views: &[LearnView], settings: &LearnSettings) -> Result<Learned, LearnError> {
    if views.is_empty() {
        return Err(LearnError::NoViews);
    }
    let n = settings.layout.layout.patches();
    let turns = settle(views, settings)?;
    let seen = |view: usize, i: usize| -> &SeenPatch { &views[view].patches[turns[view].0[i]] };
    let (away, used) = agreeing(views.len(), n, &seen);

    let id = |i: usize| settings.layout.patches.get(i).map_or_else(|| (i + 1).to_string(), |p| p.id.clone());
    let pools: Vec<Option<Pool>> = (0..n).map(|i| pool(i, &used, &seen)).collect();
    let unseen: Vec<String> = (0..n).filter(|&i| pools[i].is_none()).map(id).collect();
    if !unseen.is_empty() {
        return Err(LearnError::Unseen { ids: unseen });
    }
    let pools: Vec<Pool> = pools.into_iter().flatten().collect();
    let pooled = pooled_variance(&pools);
    let known = known_uncertainty(&settings.beside);
    let round = |v: f64| (v * 1000.0).round() / 1000.0 + 0.0;
    let patches = pools
        .iter()
        .enumerate()
        .map(|(i, pool)| PatchDefinition {
            id: id(i),
            name: settings.layout.patches.get(i).map_or_else(String::new, |p| p.name.clone()),
            lab: LabD50 { l: round(pool.lab.l), a: round(pool.lab.a), b: round(pool.lab.b) },
            u95: Some([0, 1, 2].map(|k| (pool.u95(k, pooled[k], known[k]) * 100.0).ceil() / 100.0)),
        })
        .collect();
    let count = used.iter().filter(|u| **u).count();
    let held_out = views.iter().map(|v| v.known.held_out.mean).sum::<f64>() / views.len() as f64;
    let definition = CardDefinition {
        id: settings.id.clone(),
        name: settings.layout.name.clone().unwrap_or_else(|| "home-made card".into()),
        source: format!(
            "Learned from {} beside the card {}, which was predicted from itself to CIEDE2000 {held_out:.1} in the mean.",
            if count == 1 { "1 photograph".into() } else { format!("{count} photographs") },
            settings.beside.id
        ),
        observer: settings.beside.observer.clone(),
        illuminant: settings.beside.illuminant.clone(),
        white: WHITE_D50,
        layout: settings.layout.layout.clone(),
        patches,
    };
    let mut remarks = remarks(views.len(), &turns, &away, &used, settings);
    remarks.extend(definition.check()?);
    let views = (0..views.len())
        .map(|j| ViewUsed {
            turn: turns[j].1,
            corners_px: turned_corners(&views[j], &turns[j].0, settings),
            away: away[j],
            used: used[j],
            known_held_out: views[j].known.held_out.mean,
        })
        .collect();
    let patches = pools
        .into_iter()
        .map(|p| LearnedPatch { used: p.used, outliers: p.outliers, spread: p.spread })
        .collect();
    Ok(Learned { definition, patches, views, remarks })
}

/// How far each view lies from the middle of all, and whether it agrees with the others.
fn agreeing<'a>(
    views: usize,
    patches: usize,
    seen: &impl Fn(usize, usize) -> &'a SeenPatch,
) -> (Vec<f64>, Vec<bool>) {
    let middle: Vec<Option<LabD50>> = (0..patches)
        .map(|i| {
            middle(&(0..views).map(|j| seen(j, i)).filter(|p| p.good).map(|p| p.lab).collect::<Vec<_>>())
        })
        .collect();
    let away: Vec<f64> = (0..views)
        .map(|j| {
            let distances: Vec<f64> = (0..patches)
                .filter(|&i| seen(j, i).good)
                .filter_map(|i| Some(ciede2000(seen(j, i).lab, middle[i]?)))
                .collect();
            median(&distances)
        })
        .collect();
    let limit = (OUTLIER_TIMES * median(&away)).max(OUTLIER_DE);
    let used = away.iter().map(|a| views < ENOUGH || *a <= limit).collect();
    (away, used)
}

/// Median of each coordinate.
fn middle(colours: &[LabD50]) -> Option<LabD50> {
    let of = |k: usize| median(&colours.iter().map(|c| <[f64; 3]>::from(*c)[k]).collect::<Vec<_>>());
    (!colours.is_empty()).then(|| LabD50 { l: of(0), a: of(1), b: of(2) })
}

/// One patch over its views.
struct Pool {
    lab: LabD50,
    used: Vec<usize>,
    outliers: Vec<usize>,
    spread: f64,
    /// Variance between the views used; 0 of one.
    variance: [f64; 3],
    /// Standard uncertainties common to the views: correction, change of light; and by noise.
    correction: [f64; 3],
    light: [f64; 3],
    noise: [f64; 3],
}

fn pool<'a>(i: usize, views: &[bool], seen: &impl Fn(usize, usize) -> &'a SeenPatch) -> Option<Pool> {
    let good: Vec<usize> = (0..views.len()).filter(|&j| views[j] && seen(j, i).good).collect();
    let colours: Vec<LabD50> = good.iter().map(|&j| seen(j, i).lab).collect();
    let middle = middle(&colours)?;
    let distances: Vec<f64> = colours.iter().map(|c| ciede2000(*c, middle)).collect();
    let limit = (OUTLIER_TIMES * median(&distances)).max(OUTLIER_DE);
    let (mut used, mut outliers) = (Vec::new(), Vec::new());
    for (&j, distance) in good.iter().zip(distances) {
        let list = if good.len() >= ENOUGH && distance > limit { &mut outliers } else { &mut used };
        list.push(j);
    }
    let m = used.len() as f64;
    let mean_of = |of: &dyn Fn(&SeenPatch) -> [f64; 3]| {
        [0, 1, 2].map(|k| used.iter().map(|&j| of(seen(j, i))[k]).sum::<f64>() / m)
    };
    let lab = LabD50::from(mean_of(&|p| p.lab.into()));
    let squares = mean_of(&|p| difference(p.lab, lab).map(|d| d * d));
    let variance = squares.map(|s| if m > 1.0 { s * m / (m - 1.0) } else { 0.0 });
    let spread = used.iter().map(|&j| ciede2000(seen(j, i).lab, lab)).fold(0.0, f64::max);
    let factor = coverage_factor(CORRECTION_FREEDOM);
    Some(Pool {
        lab,
        spread,
        variance,
        correction: mean_of(&|p| p.u95.map(|u| u / factor)),
        light: mean_of(&|p| p.light),
        noise: mean_of(&|p| p.noise),
        used,
        outliers,
    })
}

impl Pool {
    /// Half-width of the 95 % interval of a coordinate. `pooled`: variance between views over all
    /// patches; `known`: standard uncertainty of the known card's own colours.
    fn u95(&self, k: usize, pooled: f64, known: f64) -> f64 {
        let m = self.used.len() as f64;
        let between = self.variance[k].max(pooled) / m;
        let correction = self.correction[k].powi(2);
        let rest = self.light[k].powi(2) + known.powi(2) + self.noise[k].powi(2) / m;
        let variance = between + correction + rest;
        // Welch and Satterthwaite, JCGM 100:2008 eq. G.2b.
        let lost = between.powi(2) / (m - 1.0).max(1.0) + correction.powi(2) / CORRECTION_FREEDOM;
        let freedom = if lost > 0.0 { variance.powi(2) / lost } else { 1e6 };
        coverage_factor(freedom) * variance.sqrt()
    }
}

/// Variance between views pooled over all patches (JCGM 100:2008, 4.2.4).
fn pooled_variance(pools: &[Pool]) -> [f64; 3] {
    let freedom: f64 = pools.iter().map(|p| (p.used.len() - 1) as f64).sum();
    [0, 1, 2].map(|k| {
        let sum: f64 = pools.iter().map(|p| p.variance[k] * (p.used.len() - 1) as f64).sum();
        if freedom > 0.0 { sum / freedom } else { 0.0 }
    })
}

/// Standard uncertainty of the known card's colours, where its definition tells any: root mean square.
fn known_uncertainty(known: &CardDefinition) -> [f64; 3] {
    let told: Vec<[f64; 3]> = known.patches.iter().filter_map(|p| p.u95).collect();
    let n = (told.len() as f64).max(1.0);
    [0, 1, 2].map(|k| (told.iter().map(|u| (u[k] / 1.96).powi(2)).sum::<f64>() / n).sqrt())
}

/// Corners of the grid from the card's first patch on.
fn turned_corners(view: &LearnView, turn: &[usize], settings: &LearnSettings) -> [[f64; 2]; 4] {
    let columns = settings.layout.layout.columns;
    let n = turn.len();
    // Which corner of the grid as found the first patch is at.
    let corner = [0, columns - 1, n - 1, n - columns].iter().position(|&c| c == turn[0]).unwrap_or(0);
    std::array::from_fn(|k| view.corners_px[(k + corner) % 4])
}

fn remarks(
    views: usize,
    turns: &[(Vec<usize>, TurnFrom)],
    away: &[f64],
    used: &[bool],
    settings: &LearnSettings,
) -> Vec<String> {
    let mut remarks = Vec::new();
    if turns.iter().any(|t| t.1 == TurnFrom::TopLeft) {
        remarks.push(
            "in the first photograph the corner nearest to the top left was taken for the first patch; if that \
             is wrong, give the corners with --corners or about right colours in the layout file"
                .into(),
        );
    }
    if views == 1 {
        remarks
            .push("one photograph only: how far photographs differ is not known; take three or more".into());
    }
    if let [one, _] = away
        && 2.0 * one > OUTLIER_DE
    {
        remarks.push(format!(
            "the two photographs differ by CIEDE2000 {:.1} in the middle; take a third to see which is right",
            2.0 * one
        ));
    }
    for (j, _) in used.iter().enumerate().filter(|(_, used)| !**used) {
        remarks.push(format!(
            "photograph {} disagrees with the others by CIEDE2000 {:.1} and is left out",
            j + 1,
            away[j]
        ));
    }
    if settings.beside.patches.iter().all(|p| p.u95.is_none()) {
        remarks.push(format!(
            "how far the card {} in hand differs from its table is not known and not in the plus-or-minus",
            settings.beside.id
        ));
    }
    remarks
}
