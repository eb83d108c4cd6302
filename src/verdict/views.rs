//! Several photographs of one piece, joined by the name that the sheet gives it.
//!
//! Comes in: readings of a load. Goes out: for each piece seen more than once, its views in each firing with one grade,
//! and what changed from firing to firing. Views: the worst decided grade counts, areas are pooled, and views that
//! disagree by more than their intervals are said.

use crate::colour::{LabD50, XyzD50};
use crate::reading::{Grade, PooledSurface, Reading, Views};
use std::collections::BTreeMap;

/// Joins readings whose sheet names the same piece and the same firing. Only the largest piece of a photograph counts,
/// since the sheet names one. Goes out: a [`Views`] for each reading that is one of several of its piece, by the
/// reading's place in `readings`.
pub fn join(readings: &[&Reading]) -> BTreeMap<usize, Views> {
    let mut pieces: BTreeMap<&str, Vec<Stay>> = BTreeMap::new();
    for (index, reading) in readings.iter().enumerate() {
        let Some(sheet) = reading.sheet.as_ref().filter(|_| reading.piece.number == 1) else { continue };
        let Some(piece) = sheet.piece.as_deref() else { continue };
        let stays = pieces.entry(piece).or_default();
        let firing = sheet.firing.as_deref();
        match stays.iter_mut().find(|stay| stay.firing == firing) {
            Some(stay) => stay.views.push(index),
            None => stays.push(Stay { firing, views: vec![index] }),
        }
    }
    let mut joined = BTreeMap::new();
    for (piece, mut stays) in pieces {
        // In the order the photographs were taken, where they tell; else as they were named.
        stays.sort_by_key(|stay| stay.views.iter().filter_map(|&at| readings[at].photo.taken.clone()).min());
        let mut before: Option<Views> = None;
        let several = stays.len() > 1;
        for stay in stays {
            let seen: Vec<&Reading> = stay.views.iter().map(|&at| readings[at]).collect();
            let mut views = views(piece, stay.firing, &seen);
            views.since_last_firing = before.as_ref().map_or_else(Vec::new, |last| changes(last, &views));
            if several || seen.len() > 1 {
                joined.extend(stay.views.iter().map(|&at| (at, views.clone())));
            }
            before = Some(views);
        }
    }
    joined
}

/// A piece in one firing: the readings that show it.
struct Stay<'a> {
    firing: Option<&'a str>,
    views: Vec<usize>,
}

fn views(piece: &str, firing: Option<&str>, seen: &[&Reading]) -> Views {
    // The worst decided grade: a view that cannot tell takes nothing from one that can.
    let decided = seen.iter().filter(|r| r.grade != Grade::CannotTell).min_by_key(|r| r.grade);
    let grade = decided.map_or(Grade::CannotTell, |r| r.grade);
    let decisive = seen.iter().filter(|r| r.grade == grade);
    let name = |reading: &Reading| {
        reading.photo.path.rsplit(['/', '\\']).next().map_or_else(String::new, str::to_owned)
    };
    let because =
        decisive.flat_map(|r| r.grade_because.iter().map(move |why| format!("{}: {why}", name(r)))).collect();
    let mut surfaces = BTreeMap::new();
    let mut disagreements = Vec::new();
    for surface in ["white", "red", "black", "body", "smudged"] {
        let shown: Vec<Shown> = seen
            .iter()
            .filter_map(|r| r.surfaces.get(surface).map(|s| (name(r), s)))
            .map(|(photo, s)| Shown { photo, area_px: s.area_px, lab: s.lab, u95: s.u95 })
            .collect();
        if let Some(pooled) = pooled(&shown) {
            disagreements.extend(disagreements_of(surface, &shown));
            surfaces.insert(surface.to_owned(), pooled);
        }
    }
    let painted: f64 = seen.iter().filter_map(|r| r.paint.as_ref()).map(|p| p.applied_px as f64).sum();
    let share = |pick: fn(&crate::reading::Paint) -> f64| {
        let sum: f64 =
            seen.iter().filter_map(|r| r.paint.as_ref()).map(|p| pick(p) * p.applied_px as f64).sum();
        (painted > 0.0).then(|| sum / painted)
    };
    Views {
        piece: piece.into(),
        firing: firing.map(str::to_owned),
        photos: seen.iter().map(|r| name(r)).collect(),
        grade,
        grade_because: because,
        surfaces,
        retained_fraction: share(|p| p.retained_fraction),
        retained_u95: share(|p| p.u95),
        disagreements,
        since_last_firing: Vec::new(),
    }
}

/// A surface in one view.
struct Shown {
    photo: String,
    area_px: usize,
    lab: [f64; 3],
    u95: [f64; 3],
}

/// The mean reflectance over all views, by area. Views share their card, so their intervals are averaged, not shrunk.
fn pooled(shown: &[Shown]) -> Option<PooledSurface> {
    let area: usize = shown.iter().map(|s| s.area_px).sum();
    if area == 0 {
        return None;
    }
    let mut sum = [0.0; 3];
    let mut u95 = [0.0; 3];
    for s in shown {
        let part = s.area_px as f64 / area as f64;
        let XyzD50 { x, y, z } = LabD50::from(s.lab).to_xyz();
        for (total, channel) in sum.iter_mut().zip([x, y, z]) {
            *total += part * channel;
        }
        for (total, channel) in u95.iter_mut().zip(s.u95) {
            *total += part * channel;
        }
    }
    let lab = XyzD50 { x: sum[0], y: sum[1], z: sum[2] }.to_lab();
    Some(PooledSurface { area_px: area, lab: [lab.l, lab.a, lab.b], u95 })
}

const CHANNELS: [&str; 3] = ["L*", "a*", "b*"];

fn disagreements_of(surface: &str, shown: &[Shown]) -> Vec<String> {
    let mut said = Vec::new();
    for (at, one) in shown.iter().enumerate() {
        for other in &shown[at + 1..] {
            for (channel, name) in CHANNELS.iter().enumerate() {
                let [(v, u), (w, x)] = [one, other].map(|s| (s.lab[channel], s.u95[channel]));
                if (v - w).abs() > u.hypot(x) {
                    said.push(format!(
                        "{} and {} disagree on {surface} {name}: {v:.1} ± {u:.1} and {w:.1} ± {x:.1}. Look at the light \
                         and the map of both.",
                        one.photo, other.photo
                    ));
                }
            }
        }
    }
    said
}

/// What changed since the firing before, each with its interval.
fn changes(last: &Views, now: &Views) -> Vec<String> {
    let from = last.firing.as_deref().unwrap_or("before");
    let mut said = Vec::new();
    let mut change = |what: &str, [was, u]: [f64; 2], [is, x]: [f64; 2], digits: usize| {
        let (by, half) = (is - was, u.hypot(x));
        let told = if by.abs() > half { "a real change" } else { "no change that can be told" };
        said.push(format!(
            "{what}: {was:.digits$} after {from}, now {is:.digits$}: {by:+.digits$} ± {half:.digits$}, {told}."
        ));
    };
    for (surface, is) in &now.surfaces {
        if let Some(was) = last.surfaces.get(surface) {
            for (channel, name) in CHANNELS.iter().enumerate() {
                let pair = |s: &PooledSurface| [s.lab[channel], s.u95[channel]];
                change(&format!("{surface} {name}"), pair(was), pair(is), 1);
            }
        }
    }
    let kept = |views: &Views| views.retained_fraction.zip(views.retained_u95).map(|(v, u)| [v, u]);
    if let (Some(was), Some(is)) = (kept(last), kept(now)) {
        change("share of the paint that reads black", was, is, 2);
    }
    said
}
