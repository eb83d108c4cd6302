//! A round vessel as its outline tells it, and where on it a place of the picture lies.
//!
//! Lengths are in piece units. A circle about the axis has the radius `r` and its middle at the height `h` of the picture.
//! Seen by a camera that looks down with the sine `s`, cosine `c`, and from so near that what lies `z` nearer than the axis
//! is `1 + k z` times as large, its place at the azimuth `t` from the camera is seen at
//!
//! ```text
//! x = r sin t (1 + k z),  y = (h + s r cos t) (1 + k z),  z = c r cos t
//! ```
//!
//! Inside the mouth the far wall is seen: there the cosine is negative, and a turn moves the picture the other way.

use super::profile::Profile;

/// Circles along the axis, and rows of the outline that they are taken from, at most.
const CIRCLES: usize = 160;
const ROWS: usize = 160;

/// How a camera sees a vessel.
#[derive(Clone, Copy, Debug)]
pub(super) struct Looking {
    /// Sine and cosine of the angle at which it looks down.
    pub sine: f64,
    pub cosine: f64,
    /// How much larger what lies one piece unit nearer is.
    pub near: f64,
}

impl Looking {
    pub fn down(sine: f64, near: f64) -> Self {
        let sine = sine.clamp(LEAST_SINE, 0.95);
        Self { sine, cosine: (1.0 - sine * sine).sqrt(), near }
    }
}

/// A camera that looks down less than this sees no mouth.
const LEAST_SINE: f64 = 0.02;

/// One circle of the wall.
#[derive(Clone, Copy, Debug)]
struct Circle {
    height: f64,
    radius: f64,
    middle: f64,
}

/// A place on the wall.
#[derive(Clone, Copy, Debug)]
pub(super) struct OnWall {
    pub height: f64,
    pub radius: f64,
    /// From the camera about the axis, radians.
    pub azimuth: f64,
    /// Where the axis lies across the picture.
    pub middle: f64,
}

/// A place of a circle: sine and cosine of its azimuth, and the row in which it is seen.
#[derive(Clone, Copy)]
struct Seen {
    sine: f64,
    cosine: f64,
    row: f64,
}

/// The wall as one camera sees it.
pub(super) struct Vessel {
    looking: Looking,
    circles: Vec<Circle>,
}

impl Vessel {
    /// From the outline. The circles are those that just touch it from inside: a circle at the height `h` reaches the outline's
    /// half width `w` at the row `y` where its radius is `sqrt(w^2 + ((y - h) / s)^2)`, and the least of these is its own.
    /// `None` where there is no outline.
    pub fn of(profile: &Profile, looking: Looking) -> Option<Self> {
        let [top, bottom] = profile.ends()?;
        // The rim: its far side is the top of the outline.
        let mut rim = top;
        for _ in 0..12 {
            let [_, half] = profile.at(rim)?;
            rim = (top + looking.sine * half).clamp(top, (top + bottom) / 2.0);
        }
        let along = |k: usize, many: usize| rim + (bottom - rim) * k as f64 / (many - 1) as f64;
        let rows: Vec<(f64, [f64; 2])> =
            (0..ROWS).filter_map(|k| Some((along(k, ROWS), profile.at(along(k, ROWS))?))).collect();
        let circle = |k: usize| {
            let height = along(k, CIRCLES);
            let square = rows
                .iter()
                .map(|(y, [_, half])| half * half + ((y - height) / looking.sine).powi(2))
                .fold(f64::INFINITY, f64::min);
            Some(Circle { height, radius: square.sqrt(), middle: profile.at(height)?[0] })
        };
        let circles: Vec<Circle> = (0..CIRCLES).filter_map(circle).collect();
        (circles.len() == CIRCLES).then_some(Self { looking, circles })
    }

    /// The place of the wall that is seen at a place of the picture: the near wall where one lies there, else the far wall
    /// through the mouth, else the nearest to it.
    pub fn at(&self, place: [f64; 2]) -> OnWall {
        let near = self.crossing(place, 1.0);
        near.or_else(|| self.crossing(place, -1.0)).unwrap_or_else(|| self.nearest(place))
    }

    /// The first circle, from the camera, whose near (1) or far (-1) side is seen at a place.
    fn crossing(&self, place: [f64; 2], side: f64) -> Option<OnWall> {
        let mut last: Option<(f64, Circle)> = None;
        let mut found: Option<(f64, OnWall)> = None;
        for &circle in &self.circles {
            let Some(seen) = self.seen(circle, place[0], side) else {
                last = None;
                continue;
            };
            let off = seen.row - place[1];
            if let Some((before, from)) = last.filter(|(before, _)| before * off <= 0.0) {
                let share = if before == off { 0.0 } else { before / (before - off) };
                let between = |one: f64, other: f64| one + share * (other - one);
                let at = Circle {
                    height: between(from.height, circle.height),
                    radius: between(from.radius, circle.radius),
                    middle: between(from.middle, circle.middle),
                };
                let seen = self.seen(at, place[0], side).unwrap_or(seen);
                // How much nearer to the camera than the middle of the piece.
                let nearness = self.looking.cosine * at.radius * seen.cosine
                    - self.looking.sine / self.looking.cosine * at.height;
                if found.is_none_or(|(best, _)| nearness > best) {
                    found = Some((nearness, on_wall(at, seen.sine.atan2(seen.cosine))));
                }
            }
            last = Some((off, circle));
        }
        found.map(|(_, at)| at)
    }

    /// Where a circle's near or far side is seen in a column; `None` where it does not reach it.
    fn seen(&self, circle: Circle, x: f64, side: f64) -> Option<Seen> {
        let across = (x - circle.middle) / circle.radius.max(1e-9);
        if across.abs() > 1.0 {
            return None;
        }
        let (mut sin, mut cos) = (across, side * (1.0 - across * across).sqrt());
        let mut larger = 1.0;
        for _ in 0..2 {
            larger = 1.0 + self.looking.near * self.looking.cosine * circle.radius * cos;
            sin = (across / larger).clamp(-1.0, 1.0);
            cos = side * (1.0 - sin * sin).sqrt();
        }
        let row = (circle.height + self.looking.sine * circle.radius * cos) * larger;
        Some(Seen { sine: sin, cosine: cos, row })
    }

    /// The circle whose edge comes nearest to a place that no circle reaches.
    fn nearest(&self, [x, y]: [f64; 2]) -> OnWall {
        let off = |circle: &Circle| {
            let over = ((x - circle.middle).abs() - circle.radius).max(0.0);
            over.hypot(circle.height - y)
        };
        let best = self.circles.iter().min_by(|one, other| off(one).total_cmp(&off(other)));
        let circle = best.copied().unwrap_or(Circle { height: y, radius: 1e-6, middle: x });
        let sin = ((x - circle.middle) / circle.radius.max(1e-9)).clamp(-1.0, 1.0);
        on_wall(circle, sin.asin())
    }
}

fn on_wall(circle: Circle, azimuth: f64) -> OnWall {
    OnWall { height: circle.height, radius: circle.radius, azimuth, middle: circle.middle }
}

#[cfg(test)]
mod tests {
    use super::super::drawn::{Place, Solid};
    use super::*;
    use std::f64::consts::{PI, TAU};

    const CYLINDER: Solid = Solid { shape: [0.16, 0.0, 0.0], ends: [-0.5, 0.5] };

    /// Azimuths and heights of the outline's vessel against those of the solid, where the wall is not seen edge on and no
    /// rim is near: how many inside and outside, and the share of them that lies far off.
    fn compared(solid: &Solid, sine: f64) -> [(usize, f64); 2] {
        let looking = Looking::down(sine, 0.0);
        let vessel = Vessel::of(&Profile::of(&solid.picture(sine, 384.0)), looking).expect("an outline");
        let (mut many, mut far) = ([0usize; 2], [0usize; 2]);
        for (y, x) in (-60..60).flat_map(|y| (-60..60).map(move |x| (y, x))) {
            let place = [0.011 * f64::from(x), 0.011 * f64::from(y)];
            let near = |[x, y]: [f64; 2]| solid.seen(sine, [place[0] + x, place[1] + y]);
            let clear = |place: &Place| {
                let about = [[0.01, 0.0], [-0.01, 0.0], [0.0, 0.01], [0.0, -0.01]];
                place.azimuth.cos().abs() > 0.4
                    && about.into_iter().all(|by| near(by).is_some_and(|other| other.inside == place.inside))
            };
            let Some(want) = near([0.0; 2]).filter(clear) else { continue };
            let got = vessel.at(place);
            let turn = (got.azimuth - want.azimuth + PI).rem_euclid(TAU) - PI;
            let off = (got.height - looking.cosine * want.along).abs().max((got.radius - want.radius).abs());
            many[usize::from(want.inside)] += 1;
            far[usize::from(want.inside)] += usize::from(turn.abs() > 0.02 || off > 0.006);
            assert_eq!(got.azimuth.cos() < 0.0, want.azimuth.cos() < 0.0, "{solid:?} {sine} at {place:?}");
        }
        [0, 1].map(|side| (many[side], far[side] as f64 / many[side].max(1) as f64))
    }

    /// Each seen by parallel rays, the place on its wall by its equation. A pixel of the outline is 0.0026: azimuths lie within
    /// 0.02 radians (1.2 degrees), heights and radii within 0.006. Inside the mouth it is the far wall.
    #[test]
    fn places_on_analytic_solids() {
        let solids = [
            CYLINDER,
            // Cones that narrow and widen by a third of their length: radius 0.4 -+ h / 3.
            Solid { shape: [0.16, -0.8 / 3.0, 1.0 / 9.0], ends: [-0.4, 0.4] },
            Solid { shape: [0.16, 0.8 / 3.0, 1.0 / 9.0], ends: [-0.4, 0.4] },
            // A bowl, and an ellipsoid that is open above its widest.
            Solid { shape: [0.25, 0.0, -1.0], ends: [-0.05, 0.45] },
            Solid { shape: [0.16, 0.0, -0.5], ends: [-0.2, 0.5] },
        ];
        for solid in solids {
            for sine in [0.1, 0.3, 0.5] {
                let [(out, far_out), (inside, far_inside)] = compared(&solid, sine);
                assert!(out > 1500 && far_out < 0.01, "{solid:?} at {sine}: {far_out} of {out}");
                assert!(inside > 80 && far_inside < 0.02, "{solid:?} at {sine}: {far_inside} of {inside}");
            }
        }
    }

    /// From so near that sizes grow with nearness: places by the equation at the head of this file, on a cylinder whose circles
    /// the outline tells exactly.
    #[test]
    fn nearness_is_taken_off() {
        let (sine, near) = (0.3, 0.25);
        let looking = Looking::down(sine, near);
        let vessel = Vessel::of(&Profile::of(&CYLINDER.picture(sine, 384.0)), looking).expect("an outline");
        for (along, degrees) in [(-0.2, -50.0), (0.0, 0.0), (0.1, 30.0), (0.3, 60.0), (0.2, -20.0)] {
            let (azimuth, height) = (f64::to_radians(degrees), looking.cosine * along);
            let larger = 1.0 + near * looking.cosine * 0.4 * azimuth.cos();
            let place = [0.4 * azimuth.sin() * larger, (height + sine * 0.4 * azimuth.cos()) * larger];
            let got = vessel.at(place);
            assert!((got.azimuth - azimuth).abs() < 0.01, "{degrees}: {}", got.azimuth.to_degrees());
            assert!((got.height - height).abs() < 0.005, "{degrees}: {} {height}", got.height);
        }
    }

    /// Beside the wall the nearest edge is told: a quarter turn to that side, at that height.
    #[test]
    fn beside_the_wall_its_edge_is_told() {
        let looking = Looking::down(0.3, 0.0);
        let vessel = Vessel::of(&Profile::of(&CYLINDER.picture(0.3, 384.0)), looking).expect("an outline");
        for side in [-1.0, 1.0] {
            let got = vessel.at([side * 0.47, 0.1]);
            assert!((got.azimuth - side * PI / 2.0).abs() < 1e-6);
            assert!((got.height - 0.1).abs() < 0.005 && (got.radius - 0.4).abs() < 0.003, "{got:?}");
        }
    }

    /// No outline, no vessel; a camera that looks along the ground or straight down is held where a mouth is an ellipse.
    #[test]
    fn without_an_outline_there_is_no_vessel() {
        let nothing = Solid { shape: [-1.0, 0.0, 0.0], ends: [-0.5, 0.5] };
        assert!(Vessel::of(&Profile::of(&nothing.picture(0.3, 96.0)), Looking::down(0.3, 0.0)).is_none());
        for sine in [-0.4, 0.0, 0.6, 1.3] {
            let looking = Looking::down(sine, 0.0);
            assert!(looking.sine > 0.0 && looking.cosine > 0.3);
            assert!((looking.sine.powi(2) + looking.cosine.powi(2) - 1.0).abs() < 1e-12);
        }
    }
}
