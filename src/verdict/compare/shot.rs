//! One shot, or the mean of several, as a comparison needs it: colours, and which part of their doubt is whose.
//!
//! Standard deviations, not half-widths, from here on. The light is a scale of X, Y, Z: along it L*, a*, b* move together
//! (the derivatives of CIELAB by ln Y in its cube-root part, CIE 15:2018), so it has one number a surface.

use crate::colour::{LabD50, XyzD50};
use crate::reading::{RatioPart, Reading, Surface};
use nalgebra::{DMatrix, DVector};

/// From the half-width of a 95 % interval to a standard deviation.
const COVERAGE: f64 = 1.96;
/// Share of the fall-off of light over a piece by which the light on one surface may be misjudged against another, 95 %
/// half-width of its logarithm. The same judgement as in `light::anchor`; on rendered round pieces red against white was
/// off by 0.2 (root mean square) where the light falls off by three quarters.
const FALL_SHARE: f64 = 1.0 / 3.0;

/// What is known of the surfaces of one shot.
#[derive(Clone)]
pub(super) struct Shot {
    pub surfaces: Vec<Seen>,
    /// Covariance of the logarithms of the light on the surfaces, after [`Shot::aligned`].
    pub light: DMatrix<f64>,
    /// Standard deviation of the light on the piece as a whole, logarithm.
    pub level: f64,
    /// Which card definition its colours hang on; none where it is not known.
    pub definition: Option<String>,
    /// SHA-256 of the photograph that holds the card.
    pub card_photo: Option<String>,
}

/// One surface of a shot.
#[derive(Clone, Default)]
pub(super) struct Seen {
    /// As in the record.
    pub lab: [f64; 3],
    /// In one light with the other surfaces, by the places where they lie close together.
    pub aligned: [f64; 3],
    /// The light of `lab`, as the record has it: logarithm.
    pub light: f64,
    pub card: [f64; 3],
    pub edition: [f64; 3],
    /// Noise, and colour of neighbours in a surface without an inner part.
    pub own: [f64; 3],
    /// Signed: what neighbours may still do to the mean, how far it lies from the surface's deep part.
    pub edges: [f64; 3],
}

impl Shot {
    /// The surfaces `names` of a reading; `None` where it lacks one of them.
    pub fn of(reading: &Reading, names: &[&str]) -> Option<Self> {
        let surfaces: Option<Vec<Seen>> =
            names.iter().map(|name| reading.surfaces.get(name).map(Seen::of)).collect();
        let surfaces = surfaces?;
        let exposure = names.iter().filter_map(|name| reading.surfaces.get(name)).map(exposure);
        let common = exposure.fold(0.0, f64::max);
        let least = surfaces.iter().map(|s| s.light).fold(f64::INFINITY, f64::min);
        let level = reading.light.level_u95.map_or(least, |u| u / COVERAGE).hypot(common);
        let fall = FALL_SHARE * (1.0 - reading.light.darkest.unwrap_or(1.0)) / COVERAGE;
        // What a surface's light is less sure than the piece's is its own.
        let apart = |s: &Seen| (s.light.powi(2) - level.powi(2)).max(0.0).sqrt().max(fall);
        let n = surfaces.len();
        let light = DMatrix::from_fn(n, n, |i, j| {
            level * level + if i == j { apart(&surfaces[i]).powi(2) } else { 0.0 }
        });
        let card = &reading.card;
        let card_photo = card.borrowed_from.as_ref().map(|b| b.sha256.clone());
        let shot = Self {
            surfaces,
            light,
            level,
            definition: card.definition.clone(),
            card_photo: card_photo.or_else(|| reading.photo.sha256.clone()),
        };
        Some(shot.aligned(&reading.one_light.ratios, names))
    }

    /// Puts the surfaces into one light: the ratio of two where they lie close together says what the light field gets
    /// wrong between them (a Gaussian prior and one linear observation a pair: Kalman 1960).
    fn aligned(mut self, ratios: &[RatioPart], names: &[&str]) -> Self {
        let n = self.surfaces.len();
        let mut off: DVector<f64> = DVector::zeros(n);
        for ratio in ratios {
            let place = |name: &str| names.iter().position(|known| *known == name);
            let (Some(of), Some(to)) = (place(&ratio.of), place(&ratio.to)) else { continue };
            let y = |k: usize| LabD50::from(self.surfaces[k].lab).to_xyz().y;
            let seen: f64 = (y(of) / y(to)).ln() - ratio.log_xyz[1] - (off[of] - off[to]);
            let noise = |k: usize| self.surfaces[k].own[0] / slope(self.surfaces[k].lab)[0];
            let error = ratio.u95[1] / COVERAGE;
            let across = self.light.column(of) - self.light.column(to);
            let variance = across[of] - across[to] + error.powi(2) + noise(of).powi(2) + noise(to).powi(2);
            if !(seen.is_finite() && variance > 0.0) {
                continue;
            }
            off += &across * (seen / variance);
            self.light -= &across * across.transpose() / variance;
        }
        for (surface, off) in self.surfaces.iter_mut().zip(off.iter()) {
            surface.aligned = in_light(surface.lab, off.exp());
        }
        self
    }

    /// Several shots of what is taken for one thing, as one. Their cards and lights may have been one, so that their doubt
    /// is averaged and does not shrink; only what is scatter of the surface itself does.
    pub fn mean(shots: &[Self]) -> Option<Self> {
        let (first, n) = (shots.first()?, shots.len() as f64);
        let surface = |k: usize| {
            let mean = |pick: fn(&Seen) -> [f64; 3]| {
                [0, 1, 2].map(|c| shots.iter().map(|s| pick(&s.surfaces[k])[c]).sum::<f64>() / n)
            };
            let root = |pick: fn(&Seen) -> [f64; 3]| {
                [0, 1, 2]
                    .map(|c| (shots.iter().map(|s| pick(&s.surfaces[k])[c].powi(2)).sum::<f64>() / n).sqrt())
            };
            Seen {
                lab: mean(|s| s.lab),
                aligned: mean(|s| s.aligned),
                light: (shots.iter().map(|s| s.surfaces[k].light.powi(2)).sum::<f64>() / n).sqrt(),
                card: root(|s| s.card),
                edition: mean(|s| s.edition),
                own: root(|s| s.own).map(|sd| sd / n.sqrt()),
                edges: mean(|s| s.edges),
            }
        };
        let one = |pick: fn(&Self) -> &Option<String>| {
            pick(first).clone().filter(|_| shots.iter().all(|s| pick(s) == pick(first)))
        };
        Some(Self {
            surfaces: (0..first.surfaces.len()).map(surface).collect(),
            light: shots.iter().skip(1).fold(first.light.clone(), |sum, s| sum + &s.light) / n,
            level: (shots.iter().map(|s| s.level.powi(2)).sum::<f64>() / n).sqrt(),
            definition: one(|s| &s.definition),
            card_photo: one(|s| &s.card_photo),
        })
    }
}

impl Seen {
    fn of(surface: &Surface) -> Self {
        let sd = |name: &str| surface.u95_parts.get(name).map(|u| u.map(|v| v / COVERAGE));
        let lab = surface.lab;
        let edges = match (surface.lab_deep, surface.lab_with_edges) {
            (Some(deep), _) => [0, 1, 2].map(|c| (lab[c] - deep[c]) / COVERAGE),
            (None, Some(all)) => [0, 1, 2].map(|c| (all[c] - lab[c]) / 2.0 / COVERAGE),
            (None, None) => [0.0; 3],
        };
        let thin = sd("edges")
            .map_or([0.0; 3], |all| [0, 1, 2].map(|c| (all[c].powi(2) - edges[c].powi(2)).max(0.0).sqrt()));
        let noise = sd("noise").unwrap_or_default();
        // A record that names no parts: all of its doubt is its own.
        let unnamed = if surface.u95_parts.is_empty() { surface.u95.map(|u| u / COVERAGE) } else { [0.0; 3] };
        Self {
            lab,
            aligned: lab,
            light: sd("light").map_or(0.0, |u| u[0] / slope(lab)[0]).hypot(exposure(surface)),
            card: sd("card").unwrap_or_default(),
            edition: sd("edition").unwrap_or_default(),
            own: [0, 1, 2].map(|c| (noise[c].powi(2) + thin[c].powi(2) + unnamed[c].powi(2)).sqrt()),
            edges,
        }
    }
}

/// Standard deviation of a borrowed exposure, logarithm.
fn exposure(surface: &Surface) -> f64 {
    surface.u95_parts.get("exposure").map_or(0.0, |u| u[0] / slope(surface.lab)[0] / COVERAGE)
}

/// Change of L*, a*, b* with the logarithm of the light they are relative to, one light brighter by e.
pub(super) fn slope([l, a, b]: [f64; 3]) -> [f64; 3] {
    [(l.max(0.0) + 16.0) / 3.0, a / 3.0, b / 3.0]
}

/// A colour whose light is `ratio` times what it was taken for.
pub(super) fn in_light(lab: [f64; 3], ratio: f64) -> [f64; 3] {
    let XyzD50 { x, y, z } = LabD50::from(lab).to_xyz();
    XyzD50 { x: x / ratio, y: y / ratio, z: z / ratio }.to_lab().into()
}
