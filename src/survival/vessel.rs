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
