//! From the places of swatches to their colours.
//!
//! Comes in: [`Sources`] and a [`SwatchGrid`]. Goes out: a [`Swatch`] a place. Each pixel of a swatch is put in the light
//! of the piece's brightest part by the slip's field at that pixel, so that neither shading nor a tint of the light from
//! place to place tells swatches apart, and by what the slip in a ring about the swatch is off that field: each is set
//! against the slip that it lies on.

use super::colours::{scaled, uncertainty_parts};
use super::inner::Depth;
use super::measure::{Sources, piece_light};
use super::record::{ContrastU95, Surface, Swatch, SwatchContrast};
use super::statistics::sum_piece;
use super::tally::Tally;
use super::uncertainty::{self, quadrature};
use crate::colour::{LabD50, XyzD50, ciede2000};
use crate::surface::{Label, SwatchGrid, SwatchPlace};
use std::collections::BTreeMap;

/// Of a swatch's half size: what is read, and the middle of it that tells its colour. Brushed edges are ragged, and the
/// middle of a swatch in its place on the grid is sure to a few pixels only.
const READ: f64 = 0.8;
const MIDDLE: f64 = 0.62;
/// The ring about a swatch, of its half size, in which the slip shows how well its field holds there.
const RING: [f64; 2] = [1.15, 1.45];
/// Parts of a swatch along each side whose scatter tells how even it is.
const PARTS: usize = 3;
/// Fewest map pixels of a swatch.
const LEAST: usize = 40;
/// Paint that has at least this share of the soundest contrast counts as kept.
const KEPT: f64 = 0.5;
/// Student's t, 95 % two-sided, for the scatter of nine parts (8 degrees of freedom; handbook table 1.3.6.7.2).
const T_OF_PARTS: f64 = 2.306;

/// What is seen of one swatch.
struct Seen {
    tally: Tally,
    parts: Vec<[f64; 4]>,
    labels: [usize; Label::ALL.len()],
    /// Relative luminance of each pixel of the middle, in even light.
    luminance: Vec<f32>,
}

/// Reads all swatches of the piece `index` (0 the largest). `told`: the surface that was laid in a row and column, where it is
/// known; thin paint and greyed slip look the same. Ranks, grades and likeness are still empty.
pub fn measure_swatches(
    sources: Sources,
    index: usize,
    grid: &SwatchGrid,
    told: impl Fn(usize, usize) -> Option<Label>,
) -> Vec<Swatch> {
    let Some(piece) = sources.map.pieces.get(index) else { return Vec::new() };
    let number = u8::try_from(index + 1).unwrap_or(u8::MAX);
    let sums = sum_piece(sources.image, sources.map, piece, number);
    let (light, _, other) = piece_light(sources, index, sums.light_range);
    let [x, y, z] = grid.ground.mean;
    let slip = scaled(XyzD50 { x, y, z }, 1.0 / light.brightest);
    let rings = rings(sources, number, grid);
    let misfit = misfit(&rings);
    let mut darkest_paint: Option<f64> = None;
    let mut all: Vec<(Swatch, Option<Seen>)> = Vec::new();
    for (i, place) in grid.swatches.iter().enumerate() {
        let ring = 1.0 + rings.get(&i).copied().unwrap_or(0.0);
        let mut swatch = Swatch {
            id: format!("r{}c{}", place.row, place.column),
            row: place.row,
            column: place.column,
            quad_px: place.quad_px,
            stands_out: place.stands_out,
            left_out: place.unreadable.map(|why| why.name().to_owned()),
            ..Swatch::default()
        };
        let seen = place.unreadable.is_none().then(|| look(sources, number, grid, (place, ring)));
        let seen = seen.filter(|seen| seen.luminance.len() >= LEAST);
        let mean = seen.as_ref().and_then(|seen| seen.tally.mean());
        if let (Some(seen), Some(mean)) = (&seen, mean) {
            let mean = scaled(mean, 1.0 / light.brightest);
            let label = told(place.row, place.column).unwrap_or_else(|| commonest(&seen.labels));
            let mut parts = uncertainty_parts((&seen.tally, label), mean, sources.card, (&light, other));
            let apart = apart(&seen.parts, mean, misfit);
            parts.insert("noise".into(), apart);
            let lab = mean.to_lab();
            swatch.label = Some(label as u8);
            swatch.lab = Some(lab.into());
            swatch.u95 = Some(quadrature(parts.values()));
            swatch.u95_parts = parts;
            swatch.apart_u95 = Some(apart);
            swatch.contrast = Some(contrast(&swatch, slip, mean, misfit));
            if matches!(label, Label::Black | Label::LostPaint) {
                darkest_paint = Some(darkest_paint.unwrap_or(f64::INFINITY).min(lab.l));
            }
        } else if swatch.left_out.is_none() {
            swatch.left_out = Some("clipped".into());
        }
        all.push((swatch, seen));
    }
    let slip_l = slip.to_lab().l;
    for (swatch, seen) in &mut all {
        let is_paint = [Label::Black, Label::LostPaint].iter().any(|&l| swatch.label == Some(l as u8));
        if let (true, Some(lab), Some(seen), Some(darkest)) = (is_paint, swatch.lab, seen, darkest_paint) {
            let full = (slip_l - darkest).max(1e-6);
            let left = ((slip_l - lab[0]) / full).clamp(0.0, 1.0);
            swatch.contrast_left = Some(left);
            swatch.label = Some(if left >= KEPT { Label::Black } else { Label::LostPaint } as u8);
            let l = |y: f32| XyzD50 { x: 0.0, y: f64::from(y) / light.brightest, z: 0.0 }.to_lab().l;
            let kept = seen.luminance.iter().filter(|y| slip_l - l(**y) >= KEPT * full).count();
            swatch.retained_fraction = Some(kept as f64 / seen.luminance.len().max(1) as f64);
        }
    }
    all.into_iter().map(|(swatch, _)| swatch).collect()
}

/// The surface that most of a swatch was taken for, of those that have a colour.
fn commonest(labels: &[usize; Label::ALL.len()]) -> Label {
    let coloured = [Label::White, Label::Red, Label::Black, Label::Body, Label::LostPaint, Label::Smudged];
    let most = coloured.into_iter().max_by_key(|&l| labels[l as usize]);
    most.filter(|&l| labels[l as usize] > 0).unwrap_or(Label::Unclear)
}

/// Half-widths of what differs from swatch to swatch: the scatter of its parts, and how far the slip's field is off.
fn apart(parts: &[[f64; 4]], mean: XyzD50, misfit: f64) -> [f64; 3] {
    let labs: Vec<LabD50> = parts
        .iter()
        .filter(|p| p[3] > 0.0)
        .map(|p| XyzD50 { x: p[0] / p[3], y: p[1] / p[3], z: p[2] / p[3] }.to_lab())
        .collect();
    let n = labs.len() as f64;
    let scatter = |get: fn(&LabD50) -> f64| {
        let middle = labs.iter().map(get).sum::<f64>() / n;
        let variance = labs.iter().map(|lab| (get(lab) - middle).powi(2)).sum::<f64>() / (n - 1.0);
        T_OF_PARTS * (variance / n).sqrt()
    };
    let by_light = uncertainty::of_scale(mean, uncertainty::COVERAGE * misfit);
    if labs.len() < PARTS * PARTS {
        return by_light.map(|v| v.hypot(1.0));
    }
    let own = [scatter(|l| l.l), scatter(|l| l.a), scatter(|l| l.b)];
    [0, 1, 2].map(|c| own[c].hypot(by_light[c]))
}

/// Against the slip. Card, edition and light move both alike; what is left is the part that differs from place to place.
fn contrast(swatch: &Swatch, slip: XyzD50, mean: XyzD50, misfit: f64) -> SwatchContrast {
    let (lab, apart) = (mean.to_lab(), swatch.apart_u95.unwrap_or([0.0; 3]));
    let of_slip = slip.to_lab();
    let slip_apart = uncertainty::of_scale(slip, uncertainty::COVERAGE * misfit);
    // The light moves L* of the slip by more than that of the swatch: the difference keeps that share of it.
    let shared: f64 = ["light", "exposure", "card", "edition"]
        .iter()
        .filter_map(|name| swatch.u95_parts.get(*name))
        .map(|part| (part[0] * (of_slip.l - lab.l) / (lab.l + 16.0).max(16.0)).powi(2))
        .sum();
    let u_delta = (apart[0].powi(2) + slip_apart[0].powi(2) + shared).sqrt();
    let surface = |lab: LabD50, u95: [f64; 3]| Surface { lab: lab.into(), u95, ..Surface::default() };
    let ratio = slip.y / mean.y.max(1e-6);
    // L* + 16 goes with the cube root of Y: a third of the relative error of Y.
    let relative = 3.0 * u_delta / (lab.l + 16.0);
    SwatchContrast {
        delta_l: of_slip.l - lab.l,
        de00: ciede2000(of_slip, lab),
        reflectance_ratio: ratio,
        u95: ContrastU95 {
            delta_l: u_delta,
            de00: uncertainty::of_difference(&surface(of_slip, slip_apart), &surface(lab, apart), u_delta),
            reflectance_ratio: ratio * relative,
        },
    }
}

/// Calls with each map pixel within `reach` of the half size of a swatch: place, and how far it lies from the middle along
/// both sides, -1 to 1 at the swatch's own edge.
fn each_pixel(sources: Sources, place: &SwatchPlace, reach: f64, mut call: impl FnMut(usize, [f64; 2])) {
    let map = sources.map;
    let scale = 1.0 / map.factor as f64;
    let quad = place.quad_px.map(|p| p.map(|v| v * scale));
    let square = [[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]];
    let Some(back) = crate::card::Homography::fit(&quad, &square) else { return };
    let middle = [0, 1].map(|k| quad.iter().map(|p| p[k]).sum::<f64>() / 4.0);
    let far = |k: usize| quad.iter().map(|p| (p[k] - middle[k]).abs()).fold(0.0, f64::max) * reach * 1.1;
    let range = |k: usize, end: usize| {
        let at = |v: f64| v.clamp(0.0, end as f64) as usize;
        at((middle[k] - far(k)).floor())..at((middle[k] + far(k)).ceil())
    };
    for y in range(1, map.height) {
        for x in range(0, map.width) {
            let p = back.apply([x as f64 + 0.5, y as f64 + 0.5]);
            if p[0].abs() <= reach && p[1].abs() <= reach {
                call(y * map.width + x, p);
            }
        }
    }
}

/// Looks at a swatch whose slip is `ring` times what its field tells.
fn look(sources: Sources, number: u8, grid: &SwatchGrid, (place, ring): (&SwatchPlace, f64)) -> Seen {
    let Sources { image, map, .. } = sources;
    let mut seen = Seen {
        tally: Tally::new(),
        parts: vec![[0.0; 4]; PARTS * PARTS],
        labels: [0; Label::ALL.len()],
        luminance: Vec::new(),
    };
    each_pixel(sources, place, READ, |at, p| {
        if map.piece_of[at] != number || image.clipped[at] {
            return;
        }
        seen.tally.area += 1;
        if matches!(map.labels[at], Label::Glare) {
            return;
        }
        let ground = grid.ground.at(at, map.width);
        let relative = [0, 1, 2].map(|c| ground[c] / grid.ground.mean[c].max(1e-9));
        let shade = f64::from(map.light[at].max(0.02)) * relative[1] * ring;
        // The tint of the light goes with the slip about the place.
        let xyz = [0, 1, 2].map(|c| f64::from(image.xyz[at][c]) * relative[1] / relative[c]);
        let is_middle = p[0].abs() <= MIDDLE && p[1].abs() <= MIDDLE;
        let depth = if is_middle { Depth::Inner } else { Depth::Edge };
        seen.tally.take(xyz, image.light[at], shade, depth);
        if is_middle {
            seen.labels[map.labels[at] as usize] += 1;
            let cell = |v: f64| (((v / MIDDLE + 1.0) / 2.0 * PARTS as f64) as usize).min(PARTS - 1);
            let part = &mut seen.parts[cell(p[1]) * PARTS + cell(p[0])];
            (0..3).for_each(|c| part[c] += xyz[c]);
            part[3] += shade;
            seen.luminance.push((xyz[1] / shade) as f32);
        }
    });
    seen
}

/// How far the slip about each swatch lies off its field: Y that is seen over Y that is told, less 1. By the place of the
/// swatch in the grid's list; those with too little slip about them are left out.
fn rings(sources: Sources, number: u8, grid: &SwatchGrid) -> BTreeMap<usize, f64> {
    let Sources { image, map, .. } = sources;
    let mut off = BTreeMap::new();
    for (i, place) in grid.swatches.iter().enumerate() {
        let (mut seen, mut told, mut count) = (0.0, 0.0, 0usize);
        each_pixel(sources, place, RING[1], |at, p| {
            if p[0].abs().max(p[1].abs()) < RING[0] || map.piece_of[at] != number || image.clipped[at] {
                return;
            }
            let ground = grid.ground.at(at, map.width)[1] * f64::from(map.light[at].max(0.02));
            let y = f64::from(image.xyz[at][1]);
            // Other swatches and bare clay are no slip.
            if (y / ground - 1.0).abs() < 0.15 {
                (seen, told, count) = (seen + y, told + ground, count + 1);
            }
        });
        if count >= LEAST {
            off.insert(i, seen / told - 1.0);
        }
    }
    off
}

/// Relative standard deviation of the slip about the swatches from its field.
fn misfit(rings: &BTreeMap<usize, f64>) -> f64 {
    let n = rings.len().max(1) as f64;
    (rings.values().map(|v| v * v).sum::<f64>() / n).sqrt()
}
