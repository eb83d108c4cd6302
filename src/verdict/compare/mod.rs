//! Replica against reference: what differs, by how much, how surely.
//!
//! Comes in: the replica's [`Reading`] and those of the reference shots. Goes out: a [`Comparison`]. What two shots share
//! is not counted twice (`pair`), the light that all surfaces of a shot share is taken out (`shot`, `gaussian`), and all is
//! judged as one family (`verdict/family`).

mod distance;
mod findings;
mod gaussian;
mod pair;
mod shot;
mod spread;
mod tones;

use super::family::{LEVEL, against_zero, holm};
use crate::reading::*;
use distance::colour_difference;
use gaussian::Differences;
use pair::Pair;
use shot::Shot;

/// Compares what both show. Several reference shots are averaged; one that is given twice counts once, and one that is the
/// replica's own photograph only where there is no other. Empty without reference shots.
pub fn compare(replica: &Reading, references: &[&Reading]) -> Comparison {
    let references = told_apart(replica, references);
    let is_itself = references.first().is_some_and(|r| is_same(replica, r));
    let (with_card, without): (Vec<&Reading>, Vec<&Reading>) =
        references.iter().partition(|r| r.card.status != "none");
    let paths = |shots: &[&Reading]| shots.iter().map(|r| r.photo.path.clone()).collect();
    let mut found = Comparison {
        references: paths(&references),
        without_card: paths(&without),
        white_unevenness: white_unevenness(replica, &references),
        shares: shares(replica, &references, is_itself),
        only_in: only_in(replica, &references),
        spread: spread::spread(replica, &with_card),
        assumed: findings::assumed(with_card.len(), without.len()),
        ..Comparison::default()
    };
    colours(&mut found, replica, &with_card, is_itself);
    if !without.is_empty() {
        found.tones = tones(replica, &without);
    }
    judge(&mut found);
    found.findings = findings::findings(&found);
    found
}

/// Whether two readings are of one piece in one photograph.
fn is_same(one: &Reading, other: &Reading) -> bool {
    one.photo.sha256.is_some()
        && one.photo.sha256 == other.photo.sha256
        && one.piece.number == other.piece.number
}

/// The reference shots, each once, without the replica's own photograph unless there is no other.
fn told_apart<'a>(replica: &Reading, references: &[&'a Reading]) -> Vec<&'a Reading> {
    let mut kept: Vec<&Reading> = Vec::new();
    for reference in references {
        if !kept.iter().any(|known| is_same(known, reference)) {
            kept.push(reference);
        }
    }
    if kept.iter().any(|r| !is_same(replica, r)) {
        kept.retain(|r| !is_same(replica, r));
    }
    kept
}

/// The surfaces' colours and the contrast, against the mean of the shots with a card.
fn colours(found: &mut Comparison, replica: &Reading, references: &[&Reading], is_itself: bool) {
    let seen = |r: &Reading, name: &str| r.surfaces.get(name).is_some();
    let names: Vec<&str> = replica
        .surfaces
        .iter()
        .map(|(name, _)| name)
        .filter(|name| !references.is_empty() && references.iter().all(|r| seen(r, name)))
        .collect();
    let theirs: Option<Vec<Shot>> = references.iter().map(|r| Shot::of(r, &names)).collect();
    let (Some(mine), Some(theirs)) = (Shot::of(replica, &names), theirs.and_then(|t| Shot::mean(&t))) else {
        return;
    };
    let pair = Pair { replica: &mine, reference: &theirs };
    let (mut plain, mut in_one_light) = (pair.plain(), pair.in_one_light());
    if is_itself {
        // One photograph shares all there is.
        plain.covariance.fill(0.0);
        in_one_light.covariance.fill(0.0);
    }
    let (same, own) = in_one_light.snooped();
    for (k, name) in names.iter().enumerate() {
        let (as_read, aligned) = (theirs.surfaces[k].lab, theirs.surfaces[k].aligned);
        let in_one_light = colour_difference(&own[k], aligned);
        found.differences.push(Difference {
            surface: (*name).into(),
            plain: colour_difference(&plain.plain(k), as_read),
            words: findings::words(&in_one_light),
            in_one_light,
            ..Difference::default()
        });
    }
    let place = |name: &str| names.iter().position(|known| *known == name);
    if let (Some(white), Some(black)) = (place("white"), place("black")) {
        found.contrast = contrast(replica, references, &pair, &in_one_light, [white, black]);
    }
    if names.len() > 1 && !is_itself {
        found.common_light = common_light(&pair, &in_one_light, &same, &names);
    }
}

/// White over black in each shot's own light; the light of the piece as a whole drops out of it.
fn contrast(
    replica: &Reading,
    references: &[&Reading],
    pair: &Pair,
    differences: &Differences,
    [white, black]: [usize; 2],
) -> Option<ContrastDifference> {
    let log = |r: &Reading| r.contrast.as_ref().map(|c| c.reflectance_ratio.ln()).filter(|v| v.is_finite());
    let theirs: Option<Vec<f64>> = references.iter().map(|r| log(r)).collect();
    let theirs = theirs?;
    let reference = theirs.iter().sum::<f64>() / theirs.len() as f64;
    let replica = log(replica)?;
    let (w, b) = (3 * white, 3 * black);
    let (mine, others) = (&pair.replica.surfaces, &pair.reference.surfaces);
    let to_log =
        |k: usize| 1.0 / shot::slope([(mine[k].aligned[0] + others[k].aligned[0]) / 2.0, 0.0, 0.0])[0];
    let sd = |of: f64, to: f64| {
        let c = &differences.covariance;
        (of * of * c[(w, w)] + to * to * c[(b, b)] - 2.0 * of * to * c[(w, b)]).max(0.0).sqrt()
    };
    let log_sd = sd(to_log(white), to_log(black));
    let delta_l = |surfaces: &[shot::Seen]| surfaces[white].lab[0] - surfaces[black].lab[0];
    Some(ContrastDifference {
        replica: replica.exp(),
        reference: reference.exp(),
        log_ratio: replica - reference,
        u95: 1.96 * log_sd,
        delta_l: delta_l(mine) - delta_l(others),
        delta_l_u95: 1.96 * sd(1.0, 1.0),
        p: against_zero(replica - reference, log_sd),
        ..ContrastDifference::default()
    })
}

/// What the surfaces taken for the same say of the light: the mean of the shared level given them.
fn common_light(
    pair: &Pair,
    differences: &Differences,
    same: &[usize],
    names: &[&str],
) -> Option<CommonLight> {
    let rows: Vec<usize> = same.iter().flat_map(|k| 3 * k..3 * k + 3).collect();
    let among = differences.covariance.select_rows(&rows).select_columns(&rows).cholesky()?;
    let level = pair.replica.level.powi(2) + pair.reference.level.powi(2);
    let way = |k: usize| {
        let (one, other) = (pair.replica.surfaces[k].aligned, pair.reference.surfaces[k].aligned);
        shot::slope([0, 1, 2].map(|c| (one[c] + other[c]) / 2.0))
    };
    let across = nalgebra::DVector::from_iterator(rows.len(), same.iter().flat_map(|k| way(*k))) * level;
    let solved = among.solve(&across);
    let variance = level - across.dot(&solved);
    Some(CommonLight {
        log_ratio: solved.dot(&differences.values.select_rows(&rows)),
        u95: 1.96 * variance.max(0.0).sqrt(),
        surfaces: same.iter().map(|k| names[*k].to_owned()).collect(),
    })
}

fn tones(replica: &Reading, references: &[&Reading]) -> Vec<ToneDifference> {
    let names: Vec<&str> = tones::told(replica)
        .into_iter()
        .filter(|name| references.iter().all(|r| tones::told(r).contains(name)))
        .collect();
    if names.len() < 2 {
        return Vec::new();
    }
    let (_, own) = tones::tones(replica, references, &names).snooped();
    let tone = |(name, own): (&&str, gaussian::Own)| ToneDifference {
        surface: (*name).into(),
        log_ratio: own.value[0],
        u95: own.u95(0),
        p: own.p,
        ..ToneDifference::default()
    };
    names.iter().zip(own).map(tone).collect()
}

fn shares(replica: &Reading, references: &[&Reading], is_itself: bool) -> Vec<ShareDifference> {
    let share = |r: &Reading, name: &str| {
        r.one_light.shares.iter().find(|s| s.surface == name).map(|s| (s.share, s.u95))
    };
    let n = references.len() as f64;
    let difference = |mine: &SharePart| {
        let theirs: Option<Vec<(f64, f64)>> = references.iter().map(|r| share(r, &mine.surface)).collect();
        let theirs = theirs.filter(|t| !t.is_empty())?;
        let reference = theirs.iter().map(|t| t.0).sum::<f64>() / n;
        let doubt = (theirs.iter().map(|t| t.1 * t.1).sum::<f64>() / n).sqrt();
        let u95 = if is_itself { 0.0 } else { mine.u95.hypot(doubt) };
        Some(ShareDifference {
            surface: mine.surface.clone(),
            replica: mine.share,
            reference,
            u95,
            p: against_zero(mine.share - reference, u95 / 1.96),
            ..ShareDifference::default()
        })
    };
    replica.one_light.shares.iter().filter_map(difference).collect()
}

fn white_unevenness(replica: &Reading, references: &[&Reading]) -> Option<ValueDifference> {
    let mine = replica.one_light.white_unevenness?;
    let theirs: Option<Vec<Measure>> = references.iter().map(|r| r.one_light.white_unevenness).collect();
    let theirs = theirs.filter(|t| !t.is_empty())?;
    let n = theirs.len() as f64;
    let doubt = (theirs.iter().map(|m| m.u95 * m.u95).sum::<f64>() / n).sqrt();
    Some(ValueDifference {
        replica: mine.value,
        reference: theirs.iter().map(|m| m.value).sum::<f64>() / n,
        u95: mine.u95.hypot(doubt),
    })
}

/// Surfaces that the replica shows and not every reference shot, or some shot and not the replica.
fn only_in(replica: &Reading, references: &[&Reading]) -> OnlyIn {
    let shows = |r: &Reading, name: &str| {
        r.surfaces.get(name).is_some() || r.one_light.shares.iter().any(|s| s.surface == name)
    };
    let every = |name: &str| references.iter().all(|r| shows(r, name));
    let some = |name: &str| references.iter().any(|r| shows(r, name));
    let pick = |wanted: &dyn Fn(&str) -> bool| {
        let names = ["white", "red", "black", "body", "smudged"];
        names.into_iter().filter(|name| wanted(name)).map(str::to_owned).collect()
    };
    if references.is_empty() {
        return OnlyIn::default();
    }
    OnlyIn {
        replica: pick(&|name| shows(replica, name) && !every(name)),
        reference: pick(&|name| !shows(replica, name) && some(name)),
    }
}

/// Adjusts all p-values as one family and says which differences are real.
fn judge(found: &mut Comparison) {
    // Shares sum to one: together they weigh as one comparison.
    let of_shares = 1.0 / found.shares.len().max(1) as f64;
    let mut all: Vec<(f64, f64, &mut f64, &mut bool)> = Vec::new();
    let colours = found.differences.iter_mut();
    all.extend(colours.map(|d| (d.in_one_light.p, 1.0, &mut d.p_adjusted, &mut d.differs)));
    all.extend(found.contrast.iter_mut().map(|d| (d.p, 1.0, &mut d.p_adjusted, &mut d.differs)));
    all.extend(found.tones.iter_mut().map(|d| (d.p, 1.0, &mut d.p_adjusted, &mut d.differs)));
    all.extend(found.shares.iter_mut().map(|d| (d.p, of_shares, &mut d.p_adjusted, &mut d.differs)));
    let weighed: Vec<(f64, f64)> = all.iter().map(|(p, weight, ..)| (*p, *weight)).collect();
    found.family = Family { procedure: "Holm 1979".into(), level: LEVEL, comparisons: weighed.len() };
    for ((_, _, adjusted, differs), p) in all.into_iter().zip(holm(&weighed)) {
        (*adjusted, *differs) = (p, p <= LEVEL);
    }
    found.differences.iter_mut().filter(|d| !d.differs).for_each(|d| d.words = "not told apart".into());
}
