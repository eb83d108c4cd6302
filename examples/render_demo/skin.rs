//! What covers the clay: zones of slip, painted motifs, faults, and the label of each place.

use super::camera::{Camera, Tint};
use super::motifs::Motif;
use super::noise::{cloudy, smooth, step};
use super::shapes::{Place, Side, V3};
use super::spectra::{lab, material};

/// What a zone is coated with.
#[derive(Clone, Copy, PartialEq)]
pub enum Coat {
    White,
    Red,
}

/// A coated zone of one side of the wall, from and to in mm along the wall. Elsewhere the body is bare.
#[derive(Clone, Copy)]
pub struct Zone(pub Side, pub Coat, pub f64, pub f64);

/// A row of a motif: side, motif, from and to in mm along the wall, count around, strength of the paint.
#[derive(Clone, Copy)]
pub struct Row(pub Side, pub Motif, pub f64, pub f64, pub f64, pub f64);

/// Severities from 0 to 1, for the whole piece.
#[derive(Clone, Copy, Default)]
pub struct Faults {
    pub burn_out: f64,
    pub greying: f64,
    pub buffing: f64,
    pub weak_black: f64,
    pub dull_red: f64,
    /// Clouds: middle (piece coordinates) and radius, mm.
    pub clouds: &'static [([f64; 3], f64)],
}

/// A decorated surface.
pub struct Skin {
    pub zones: Vec<Zone>,
    pub rows: Vec<Row>,
    pub faults: Faults,
    pub seed: u64,
    pub tints: Tints,
}

/// The materials of a piece as one camera sees them in one light.
pub struct Tints {
    pub white: Tint,
    pub red: Tint,
    pub black: Tint,
    pub body: Tint,
    dull: Tint,
    buff: Tint,
    ghost: Tint,
    soot: Tint,
}

impl Tints {
    /// `white`, `red` and `paint` are names of materials.
    pub fn new(camera: &Camera, white: &str, red: &str, paint: &str) -> Self {
        let tint = |name: &str| camera.tint(&material(name));
        Self {
            white: tint(white),
            red: tint(red),
            black: tint(paint),
            body: tint("body"),
            dull: tint("dull red"),
            buff: tint("buff"),
            ghost: tint("ghost"),
            soot: tint("soot"),
        }
    }
}

/// One place of the piece.
pub struct Spot {
    pub tint: Tint,
    pub label: u8,
    /// Severity here of greying, buffing, dull red.
    pub severity: [f64; 3],
    /// Strength of gloss, 1 = well polished.
    pub polish: f64,
    /// Share of the L* contrast of new paint that is left, where there was paint.
    pub left: f64,
}

impl Skin {
    /// What lies at a place. `p` is in the piece's own coordinates, mm.
    pub fn at(&self, p: V3, place: Place) -> Spot {
        let (f, s) = (&self.faults, self.seed);
        // Edges drawn by hand: the borders of zones waver by about a millimetre.
        let along = place.along + 2.2 * (smooth(p / 24.0, s + 10) - 0.5);
        let zone = self.zones.iter().find(|z| z.0 == place.side && along >= z.2 && along <= z.3);
        let grit = cloudy(p / 1.7, s + 20);
        let mottle = 1.0 + 0.07 * (cloudy(p / 30.0, s + 30) - 0.5) + 0.05 * (grit - 0.5);
        let local = |severity: f64, k: u64| match severity {
            0.0 => 0.0,
            _ => (severity * (0.75 + 0.5 * cloudy(p / 45.0, s + 40 + k))).clamp(0.0, 1.0),
        };
        let mut severity = [0.0; 3];
        let (mut slip, mut label, mut polish) = match zone.map(|z| z.1) {
            Some(Coat::White) => {
                severity = [local(f.greying, 0), local(f.buffing, 1), 0.0];
                // Strokes of the brush show as faint streaks along the wheel.
                let streak = smooth(V3::new(p.z / 1.3, place.along / 1.3, place.turn * 30.0), s + 50);
                let thin = 0.1 * step(0.75, 1.0, streak);
                let white = self.tints.white.mixed(self.tints.body, thin);
                let white =
                    white.mixed(self.tints.buff, severity[1]).mixed(self.tints.soot, 0.38 * severity[0]);
                (white, 1, 0.0)
            }
            Some(Coat::Red) => {
                severity = [0.0, 0.0, local(f.dull_red, 2)];
                (self.tints.red.mixed(self.tints.dull, severity[2]), 2, 1.0 - 0.8 * severity[2])
            }
            None => {
                let speck = step(0.86, 0.93, cloudy(p / 1.3, s + 60));
                (self.tints.body.scaled(1.0 - 0.25 * speck), 4, 0.0)
            }
        };
        slip = slip.scaled(mottle);
        let (mut tint, mut left) = (slip, 0.0);
        if label == 1
            && let Some((cover, strength)) = self.paint(p, place)
        {
            // Share of the paint's contrast that burning has left here.
            let holes = cloudy(p / 9.0, s + 70) * 0.65 + cloudy(p / 28.0, s + 71) * 0.35;
            let kept = if f.burn_out > 0.0 {
                let level = 0.16 + 0.62 * f.burn_out;
                (1.0 - 0.2 * f.burn_out) * step(level - 0.11, level + 0.11, holes)
            } else {
                1.0
            };
            let thin = 1.0 - 0.26 * f.weak_black;
            let brush = 1.0 - 0.04 * smooth(V3::new(p.x / 5.0, p.y / 5.0, p.z / 1.5), s + 80);
            let bare = slip.mixed(self.tints.ghost, if f.burn_out > 0.0 { 0.12 } else { 0.0 });
            let at = |share: f64| bare.mixed(self.tints.black, (thin * share * brush).clamp(0.0, 1.0));
            let painted = at(strength * kept);
            tint = slip.mixed(painted, cover);
            if cover >= 0.5 {
                let l = |t: Tint| lab(t.xyz).l;
                left = (l(slip) - l(painted)) / (l(slip) - l(at(1.0))).max(1.0);
                label = if left >= 0.5 { 3 } else { 6 };
            }
        }
        let soot = f.clouds.iter().map(|(at, radius)| {
            let d = (p - V3::from(*at)).norm() / radius + 0.5 * (cloudy(p / 22.0, s + 90) - 0.5);
            1.0 - step(0.45, 1.1, d)
        });
        let soot = soot.fold(0.0, f64::max);
        if soot > 0.0 {
            tint = tint.mixed(self.tints.soot, 0.92 * soot);
            polish *= 1.0 - 0.7 * soot;
            if soot >= 0.35 {
                label = 8;
            }
        }
        Spot { tint, label, severity, polish, left }
    }

    /// Cover (0..1) and strength of the paint at a place, if any.
    fn paint(&self, p: V3, place: Place) -> Option<(f64, f64)> {
        let wobble = |k: u64| {
            1.4 * (smooth(p / 9.0, self.seed + k) - 0.5) + 0.5 * (smooth(p / 2.2, self.seed + k + 1) - 0.5)
        };
        let (dx, dv) = (wobble(100), wobble(110));
        let mut best: Option<(f64, f64)> = None;
        for row in self.rows.iter().filter(|r| r.0 == place.side) {
            let Row(_, motif, from, to, count, strength) = *row;
            let v = place.along + dv - from;
            if v < -3.0 || v > to - from + 3.0 {
                continue;
            }
            if matches!(motif, Motif::Block(cell) if (place.turn * count) as u8 != cell) {
                continue;
            }
            let w = place.girth / count;
            let x = ((place.turn * count).rem_euclid(1.0) - 0.5) * w + dx;
            let cover = 1.0 - step(-0.35, 0.35, motif.distance(x, v, w, to - from));
            if cover > best.map_or(0.0, |b| b.0) {
                best = Some((cover, strength));
            }
        }
        best
    }
}
