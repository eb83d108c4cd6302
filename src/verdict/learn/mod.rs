//! Target ranges from pieces that a person trusts.
//!
//! Comes in: readings of the reference pieces. Goes out: for each value that enough of them show two nested normal
//! tolerance intervals (ISO 16269-6:2014): with the stated confidence *aim* and *accept* hold their shares of all such
//! pieces. One-sided where more, or less, is only better; two-sided else. Each value stands by itself.

mod range;

use range::{Factors, Side, learned_range};

use super::estimate::estimate;
use super::targets::{Quantity, Target, TargetError, Targets};
use crate::reading::{NO_GRADE, Reading};
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

/// Fewest pieces that a range is made from: the spread of two says next to nothing.
const LEAST: usize = 3;
/// Set whose distances from the accept limit to 'fully off' are taken over.
pub(super) const STARTER: &str = "three-colour-low-fired";

/// What is learned, and which side of it is bad: as in the starter set where that has the value.
const LEARNED: [(&str, Quantity, Side); 20] = [
    ("white", Quantity::Lightness, Side::Low),
    ("white", Quantity::Chroma, Side::High),
    ("white", Quantity::Evenness, Side::High),
    ("red", Quantity::Lightness, Side::Both),
    ("red", Quantity::Chroma, Side::Low),
    ("red", Quantity::Hue, Side::Both),
    ("red", Quantity::Evenness, Side::High),
    ("black", Quantity::Lightness, Side::High),
    ("black", Quantity::Chroma, Side::High),
    ("black", Quantity::Evenness, Side::High),
    ("body", Quantity::Lightness, Side::Both),
    ("body", Quantity::Chroma, Side::Both),
    ("body", Quantity::Hue, Side::Both),
    ("smudged", Quantity::Lightness, Side::High),
    ("smudged", Quantity::Chroma, Side::High),
    ("contrast", Quantity::DeltaLightness, Side::Low),
    ("contrast", Quantity::Ciede2000, Side::Low),
    ("contrast", Quantity::ReflectanceRatio, Side::Low),
    ("paint", Quantity::RetainedFraction, Side::Low),
    ("clouds", Quantity::AreaFraction, Side::High),
];

/// How ranges are learned. Shares are 0.5 to 1, ends not counted.
#[derive(Debug, Clone, PartialEq)]
pub struct LearnSettings {
    /// Id of the new set.
    pub id: String,
    /// Share of all such pieces that the aim range holds; less than `accept_coverage`.
    pub aim_coverage: f64,
    /// Share of all such pieces that the accept range holds.
    pub accept_coverage: f64,
    /// How sure that is: in this share of all samples of such pieces, 0 to 1.
    pub confidence: f64,
}

/// Where a learned range comes from.
#[derive(Debug, Clone, PartialEq)]
pub struct LearnedValue {
    /// The range.
    pub target: Target,
    /// Pieces that show the value.
    pub pieces: usize,
    /// Their mean, in the unit of the value; of a ratio the geometric mean.
    pub mean: f64,
    /// Standard deviation from piece to piece as measured, in the same unit.
    pub scatter: f64,
    /// Standard uncertainty of one measurement (u95 / 1.96, root mean square), in the same unit. The range is built on
    /// the larger of this and the scatter.
    pub measuring: f64,
}

impl LearnedValue {
    /// Share of the measured variance that measuring alone explains, 0 to 1.
    pub fn measuring_share(&self) -> f64 {
        let (scatter, measuring) = (self.scatter.powi(2), self.measuring.powi(2));
        if measuring >= scatter { 1.0 } else { measuring / scatter }
    }
}

/// What was learned.
#[derive(Debug, Clone, PartialEq)]
pub struct LearnedTargets {
    /// The ranges.
    pub targets: Targets,
    /// Where each comes from, in the same order.
    pub values: Vec<LearnedValue>,
    /// What was left out and why, a sentence each.
    pub left_out: Vec<String>,
}

/// Learns ranges from one reading a piece. A reading that allows no grade, and a photograph given twice, are left out.
///
/// # Errors
/// [`TargetError::TooFew`], where no value is seen on three pieces.
pub fn learn_targets(readings: &[&Reading], settings: &LearnSettings) -> Result<LearnedTargets, TargetError> {
    let mut left_out = Vec::new();
    let used = usable(readings, &mut left_out);
    let starter = Targets::load(STARTER).ok();
    let mut values = Vec::new();
    let mut short = Vec::new();
    let mut factors = Factors::default();
    for (surface, quantity, side) in LEARNED {
        let seen: Vec<(f64, f64)> = used
            .iter()
            .filter_map(|r| estimate(r, surface, quantity))
            .map(|e| (e.value, e.u95 / 1.96))
            .filter(|(value, u)| value.is_finite() && u.is_finite())
            .collect();
        if seen.len() < LEAST {
            short.push((surface, quantity, seen.len()));
            continue;
        }
        let mut factor = |coverage: f64| factors.get(seen.len(), side, coverage, settings.confidence);
        let factors = factor(settings.aim_coverage).zip(factor(settings.accept_coverage));
        match factors.and_then(|factors| learned_range(surface, quantity, side, &seen, factors)) {
            Some(mut value) => {
                value.target.fully_off = starter.as_ref().and_then(|s| fully_off(s, &value.target));
                values.push(value);
            }
            None => left_out.push(format!(
                "{surface} {}: the {} pieces differ so much, or lie so near a natural limit, that no limit can be drawn",
                quantity.name(),
                seen.len()
            )),
        }
    }
    left_out.extend(too_few(&short, &values, used.len()));
    if values.is_empty() {
        return Err(TargetError::TooFew { pieces: used.len(), least: LEAST });
    }
    let targets = Targets {
        id: settings.id.clone(),
        name: format!("Learned from {} reference pieces", used.len()),
        note: note(&used, settings),
        illuminant: "D50".into(),
        observer: "CIE 1931 2 degree".into(),
        values: values.iter().map(|v| v.target.clone()).collect(),
        aim_colours: mean_colours(&used),
        sha256: String::new(),
    };
    Ok(LearnedTargets { targets, values, left_out })
}

/// One sentence for a surface that has no range at all, else one for each value.
fn too_few(short: &[(&'static str, Quantity, usize)], values: &[LearnedValue], pieces: usize) -> Vec<String> {
    let mut said: Vec<String> = Vec::new();
    for &(surface, quantity, seen) in short {
        let has_ranges = values.iter().any(|v| v.target.surface == surface);
        let what = if has_ranges { format!("{surface} {}", quantity.name()) } else { surface.to_owned() };
        let of_surface = short.iter().filter(|(other, ..)| *other == surface).map(|(.., seen)| *seen).max();
        let seen = if has_ranges { seen } else { of_surface.unwrap_or(seen) };
        let sentence = match seen {
            0 => format!("{what}: on none of the {pieces} pieces; no range"),
            _ => format!("{what}: seen on {seen} of {pieces} pieces; {LEAST} are needed, no range"),
        };
        if !said.contains(&sentence) {
            said.push(sentence);
        }
    }
    said
}

fn usable<'a>(readings: &[&'a Reading], left_out: &mut Vec<String>) -> Vec<&'a Reading> {
    let mut hashes = BTreeSet::new();
    let mut used = Vec::new();
    for &reading in readings {
        let name = file_name(reading);
        if let Some(warning) = reading.warnings.iter().find(|w| NO_GRADE.contains(&w.code.as_str())) {
            left_out.push(format!("{name}: not used ({}): {}", warning.code, warning.text));
        } else if reading.photo.sha256.as_ref().is_some_and(|hash| !hashes.insert(hash.clone())) {
            left_out.push(format!("{name}: not used: the same photograph is given twice"));
        } else {
            used.push(reading);
        }
    }
    used
}

/// As far beyond the accept limit as in the starter set, on the same side; `None` where that has no such value.
/// A ratio is fully off where the starter says, since 1 is no contrast for any ware.
pub(super) fn fully_off(starter: &Targets, target: &Target) -> Option<f64> {
    let model = starter.get(&target.surface, target.value)?;
    let off = model.fully_off?;
    let [least, most] = target.value.bounds();
    let beyond = |limit: f64, from: f64| match target.value {
        Quantity::ReflectanceRatio => off,
        _ => (((limit + off - from) * 1000.0).round() / 1000.0).clamp(least, most),
    };
    match (model.accept, target.accept) {
        ([Some(from), _], [Some(limit), _]) if off < from => Some(beyond(limit, from)).filter(|v| *v < limit),
        ([_, Some(from)], [_, Some(limit)]) if off > from => Some(beyond(limit, from)).filter(|v| *v > limit),
        _ => None,
    }
}

/// Mean L*, a*, b* of each surface that enough pieces show.
fn mean_colours(used: &[&Reading]) -> BTreeMap<String, [f64; 3]> {
    let mut colours = BTreeMap::new();
    for surface in ["white", "red", "black", "body", "smudged"] {
        let labs: Vec<[f64; 3]> =
            used.iter().filter_map(|r| r.surfaces.get(surface)).map(|s| s.lab).collect();
        if labs.len() >= LEAST {
            let mean = |c: usize| labs.iter().map(|lab| lab[c]).sum::<f64>() / labs.len() as f64;
            colours.insert(surface.to_owned(), [0, 1, 2].map(|c| (mean(c) * 10.0).round() / 10.0));
        }
    }
    colours
}

fn note(used: &[&Reading], settings: &LearnSettings) -> String {
    let percent = |share: f64| format!("{} %", (share * 1e4).round() / 100.0);
    let photographs: Vec<String> = used
        .iter()
        .map(|r| {
            let hash = r.photo.sha256.as_deref().unwrap_or("unknown");
            format!("{} (SHA-256 {})", file_name(r), hash.get(..16).unwrap_or(hash))
        })
        .collect();
    format!(
        "Learned from {} pieces, each value by itself, as normal tolerance intervals (ISO 16269-6). With {} confidence the \
         aim holds {} and accept {} of all such pieces. A value seen on fewer than {LEAST} of them has no range. A \
         learned fully_off lies as far beyond accept as in {STARTER}. Photographs, with the first 16 digits of their \
         hash: {}.",
        used.len(),
        percent(settings.confidence),
        percent(settings.aim_coverage),
        percent(settings.accept_coverage),
        photographs.join(", ")
    )
}

fn file_name(reading: &Reading) -> String {
    let path = &reading.photo.path;
    Path::new(path).file_name().map_or_else(|| path.clone(), |n| n.to_string_lossy().into_owned())
}
