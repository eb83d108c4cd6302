//! The profile of a surface of revolution from its outline, seen by parallel rays.
//!
//! Lengths are in cells; `v` runs along the picture of the axis, from the mouth to the base; the mouth faces the camera.

/// Half widths along the axis.
pub(super) struct Outline {
    pub half_widths: Vec<f64>,
}

/// The round mouth and how the axis leans.
#[derive(Debug, Clone, Copy)]
pub(super) struct Mouth {
    /// Radius of the rim.
    pub radius: f64,
    /// Sine of the angle between the axis and the picture's plane: small axis over large axis of the rim's ellipse.
    pub lean: f64,
    /// Where the rim's plane meets the axis, along `v`.
    pub at: f64,
}

impl Mouth {
    /// Whether it is a bowl that is seen into.
    pub fn is_seen_into(&self) -> bool {
        self.lean > SEEN_INTO
    }
}

/// One ring of the outer wall.
#[derive(Debug, Clone, Copy)]
pub(super) struct Ring {
    /// Along the axis from the rim's plane towards the base.
    pub height: f64,
    /// Its radius.
    pub radius: f64,
}

/// Widths that grow by less than this over the next stretch have reached their largest.
const STILL: f64 = 0.015;
/// That stretch, as a share of the outline's length.
const STRETCH: f64 = 0.06;
/// An ellipse has this share of its largest width at this share of its half height from its end:
/// sqrt(1 - (1 - 0.757)^2) = 0.97.
const NEARLY: (f64, f64) = (0.97, 0.757);
/// From this lean on the base hides behind the mouth and the outline says nothing of the wall: it is a bowl seen into.
const SEEN_INTO: f64 = 0.72;
/// Cells that the edge cuts may be left out of a half width: half of one in the mean of both sides, half of that at an end.
const EDGE: f64 = 0.25;
/// Fewest rings of a wall.
const LEAST_RINGS: usize = 4;

impl Outline {
    /// Smoothed by a normal distribution of this standard deviation, in cells.
    fn smooth(&self, sd: f64) -> Vec<f64> {
        let n = self.half_widths.len() as i64;
        let reach = (3.0 * sd).ceil() as i64;
        let weight = |k: i64| (-0.5 * (k as f64 / sd).powi(2)).exp();
        let total: f64 = (-reach..=reach).map(weight).sum();
        let at = |i: i64| self.half_widths[i.clamp(0, n - 1) as usize];
        (0..n).map(|i| (-reach..=reach).map(|k| weight(k) * at(i + k)).sum::<f64>() / total).collect()
    }

    /// The rim: the outline widens from its end as an ellipse does, up to the rim's own diameter.
    pub fn mouth(&self) -> Option<Mouth> {
        let widths = self.smooth(1.0);
        let n = widths.len();
        let stretch = ((STRETCH * n as f64) as usize).max(2);
        let next = |k: usize| widths[k..n.min(k + stretch + 1)].iter().copied().fold(0.0, f64::max);
        let top = (2..n).find(|&k| next(k) <= widths[k] * (1.0 + STILL))?;
        let radius = next(top);
        let k = (0..=top).find(|&k| widths[k] >= NEARLY.0 * radius)?;
        let before = if k > 0 { widths[k - 1] } else { 0.0 };
        let share = ((NEARLY.0 * radius - before) / (widths[k] - before).max(1e-9)).clamp(0.0, 1.0);
        let half = (k as f64 - 0.5 + share).max(0.5) / NEARLY.1;
        (radius > 1.0).then(|| Mouth { radius, lean: (half / radius).min(1.0), at: half })
    }

    /// The largest disc across the axis that the end towards the camera can be at this lean (above 0): its ellipse touches
    /// the outline's end and lies inside.
    pub fn end(&self, lean: f64) -> Option<Mouth> {
        // Half width of an ellipse of radius r at v from its end: h^2 = 2 v r / lean - (v / lean)^2, which grows with r.
        let fitting = |(v, half): (f64, f64)| (half * half + (v / lean).powi(2)) * lean / (2.0 * v);
        let rows = self.half_widths.iter().enumerate().map(|(i, half)| (i as f64 + 0.5, half + EDGE));
        let radius = rows.map(fitting).fold(f64::INFINITY, f64::min);
        (radius.is_finite() && radius > 1.0).then_some(Mouth { radius, lean, at: lean * radius })
    }

    /// The wall from the rim to the base, exact where it is smooth: along the outline the wall's normal lies in the
    /// picture's plane, and with the axis that fixes the ring that touches there.
    pub fn wall(&self, mouth: &Mouth) -> Option<Vec<Ring>> {
        let widths = self.smooth(1.5);
        let n = widths.len();
        let cosine = (1.0 - mouth.lean * mouth.lean).sqrt();
        let mut rings: Vec<Ring> = Vec::new();
        for i in (mouth.at as usize)..n {
            let slope = (widths[(i + 1).min(n - 1)] - widths[i.saturating_sub(1)])
                / ((i + 1).min(n - 1) - i.saturating_sub(1)).max(1) as f64;
            let across = 1.0 / slope.hypot(1.0);
            let along = -slope * across;
            // Share of the normal along the axis, and of its picture across to it.
            let axial = along * cosine;
            let radial = (1.0 - axial * axial).max(1e-6).sqrt();
            let radius = widths[i] * radial / across.max(0.05);
            let sunk = radius * (along - axial * cosine) / radial;
            let height = (i as f64 + 0.5 - mouth.at - sunk) / cosine;
            if rings.last().is_none_or(|last| height > last.height + 1e-3) {
                rings.push(Ring { height, radius });
            }
        }
        (rings.len() >= LEAST_RINGS).then_some(rings)
    }
}

/// Steps of a cap's depth.
const CAP_RINGS: usize = 120;

/// A bowl as the cap of a sphere, `depth` radii of its rim deep (0 to 1).
pub(super) fn cap(mouth: &Mouth, depth: f64) -> Vec<Ring> {
    let deep = depth * mouth.radius;
    let sphere = (mouth.radius * mouth.radius + deep * deep) / (2.0 * deep);
    (0..CAP_RINGS)
        .map(|k| deep * k as f64 / CAP_RINGS as f64)
        .map(|height| Ring {
            height,
            radius: (sphere.powi(2) - (sphere - deep + height).powi(2)).max(0.0).sqrt(),
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Outline of an upright cylinder seen from above at `lean`: half an ellipse, straight sides, half an ellipse.
    #[test]
    fn a_cylinder_has_its_rim_and_its_lean() {
        for lean in [0.2, 0.35, 0.5f64] {
            let (radius, tall) = (30.0f64, 80.0f64);
            let (half, straight) = (radius * lean, tall * f64::sqrt(1.0 - lean * lean));
            let half_width = |v: f64| {
                // How far above the rim's level or below that of the base.
                let beyond = (half - v).max(v - half - straight).max(0.0);
                radius * (1.0 - (beyond / half).powi(2)).max(0.0).sqrt()
            };
            let rows = (straight + 2.0 * half) as usize;
            let half_widths = (0..rows).map(|i| half_width(i as f64 + 0.5)).collect();
            let outline = Outline { half_widths };
            let mouth = outline.mouth().expect("a rim");
            assert!((mouth.radius / radius - 1.0).abs() < 0.02, "{mouth:?}");
            assert!((mouth.lean - lean).abs() < 0.04, "{mouth:?} for {lean}");
            let wall = outline.wall(&mouth).expect("a wall");
            let middle = wall.iter().filter(|r| r.height > 0.2 * tall && r.height < 0.8 * tall);
            assert!(middle.clone().count() > 20);
            middle.for_each(|ring| assert!((ring.radius / radius - 1.0).abs() < 0.02, "{ring:?}"));
        }
    }

    /// The largest disc at an end is the end itself where it is flat: for a truncated cone that flares from it, whose
    /// outline there is the ellipse of the disc, r and r times the lean, and then the tangents to both ends.
    #[test]
    fn a_flat_end_is_the_largest_disc() {
        let (radius, flare) = (25.0f64, 0.5);
        for lean in [0.2, 0.4, 0.6f64] {
            let cosine = (1.0 - lean * lean).sqrt();
            // Rings of radius r + flare h at height h: ellipses whose middles move on by h cosine.
            let half_width = |v: f64| {
                let heights = (0..=600).map(|k| f64::from(k) / 10.0);
                let at = |h: f64| {
                    let wide = radius + flare * h;
                    let off = (v - lean * radius - h * cosine) / (lean * wide);
                    wide * (1.0 - off * off).max(0.0).sqrt()
                };
                heights.map(at).fold(0.0, f64::max)
            };
            let half_widths = (0..50).map(|i| half_width(f64::from(i) + 0.5)).collect();
            let end = Outline { half_widths }.end(lean).expect("an end");
            assert!((end.radius / radius - 1.0).abs() < 0.03, "{end:?} at {lean}");
            assert!((end.at - lean * end.radius).abs() < 1e-9);
        }
    }

    /// A sphere looks the same from every side: whatever the lean, its rings are those of a sphere.
    #[test]
    fn the_wall_of_a_sphere_is_a_sphere_at_every_lean() {
        let radius = 40.0f64;
        let half_widths =
            (0..80).map(|i| (radius.powi(2) - (f64::from(i) + 0.5 - radius).powi(2)).sqrt()).collect();
        let outline = Outline { half_widths };
        for lean in [0.1, 0.3, 0.6] {
            // A mouth cut at 0.6 radii above the centre.
            let cosine = f64::sqrt(1.0 - lean * lean);
            let above = 0.6 * radius;
            let mouth = Mouth { radius: 0.8 * radius, lean, at: radius - above * cosine };
            let wall = outline.wall(&mouth).expect("a wall");
            let inner: Vec<&Ring> = wall.iter().filter(|r| r.radius > 0.5 * radius).collect();
            assert!(inner.len() > 30);
            for ring in inner {
                let exact = (radius.powi(2) - (ring.height - above).powi(2)).max(0.0).sqrt();
                assert!((ring.radius - exact).abs() < 0.04 * radius, "{ring:?} for {exact} at {lean}");
            }
        }
    }
}
