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
//! Inside the mouth the far wall is seen, and on a flat shoulder its back: there the cosine is negative, and a turn moves the
//! picture the other way.

use super::profile::Profile;

/// Circles along the axis, and rows of the outline that they are taken from, at most.
const CIRCLES: usize = 160;
const ROWS: usize = 160;
/// The search for the rim: so many halvings; how much smaller the largest circle may be for a rough outline; and rows at its end
/// that are left out, pixels: there half a pixel of height is half the width.
const HALVINGS: usize = 14;
const ROUGH: f64 = 0.01;
const END: f64 = 3.0;

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

    /// How far towards the camera from the axis, on the plane of the circles at a height, a row of the picture lies: `r cos t`
    /// of the equation for y, a quadratic.
    fn towards(&self, height: f64, y: f64) -> f64 {
        let nearing = self.near * self.cosine;
        // The sine at which that plane is looked down on.
        let sine = (self.sine + nearing * height).max(LEAST_SINE);
        let off = y - height;
        2.0 * off / (sine + (sine * sine + 4.0 * self.sine * nearing * off).max(0.0).sqrt())
    }

    /// How much larger is what lies so far towards the camera.
    fn larger(&self, towards: f64) -> f64 {
        1.0 + self.near * self.cosine * towards.clamp(-1.0, 1.0)
    }

    /// Square of the radius of the circle at a height that reaches so far across in a row of the picture.
    fn square(&self, height: f64, across: f64, y: f64) -> f64 {
        let towards = self.towards(height, y);
        (across / self.larger(towards)).powi(2) + towards * towards
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

impl Circle {
    fn towards(self, other: Self, share: f64) -> Self {
        let between = |one: f64, other: f64| one + share * (other - one);
        Self {
            height: between(self.height, other.height),
            radius: between(self.radius, other.radius),
            middle: between(self.middle, other.middle),
        }
    }
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

/// The wall as one camera sees it.
pub(super) struct Vessel {
    looking: Looking,
    circles: Vec<Circle>,
}

impl Vessel {
    /// From the outline. The circles are the largest that stay inside it: each reaches its edge where it just touches.
    /// `None` where there is no outline.
    pub fn of(profile: &Profile, looking: Looking) -> Option<Self> {
        let [top, bottom] = profile.ends()?;
        let along = |from: f64, k: usize, many: usize| from + (bottom - from) * k as f64 / (many - 1) as f64;
        let rows: Vec<(f64, f64)> = (0..ROWS)
            .filter_map(|k| {
                let y = along(top, k, ROWS);
                profile.at(y).map(|[_, half]| (y, half))
            })
            .collect();
        let largest = |rows: &[(f64, f64)], height: f64| {
            let squares = rows.iter().map(|&(y, half)| looking.square(height, half, y));
            squares.fold(f64::INFINITY, f64::min).max(0.0).sqrt()
        };
        // The far side of the rim is the top of the outline.
        let rim_of = |radius: f64| {
            let larger = 1.0 - looking.near * looking.cosine * radius;
            top / larger.max(0.3) + looking.sine * radius
        };
        let below_end = &rows[rows.iter().position(|&(y, _)| y > top + END * profile.pixel())?..];
        let fits = |radius: f64| largest(below_end, rim_of(radius)) >= radius * (1.0 - ROUGH);
        // As wide as the outline is there, unless that is a shoulder.
        let widest = rows.iter().map(|&(_, half)| half).fold(0.0, f64::max);
        let wide = (0..12).try_fold(widest, |radius, _| profile.at(rim_of(radius)).map(|[_, half]| half))?;
        let narrower = |[low, high]: [f64; 2]| {
            let radius = (low + high) / 2.0;
            if fits(radius) { [radius, high] } else { [low, radius] }
        };
        let radius = match fits(wide) {
            true => wide,
            false => (0..HALVINGS).fold([0.0, wide], |span, _| narrower(span))[0],
        };
        let rim = rim_of(radius).min((top + bottom) / 2.0);
        let circle = |k: usize| {
            let height = along(rim, k, CIRCLES);
            Some(Circle { height, radius: largest(&rows, height), middle: profile.at(height)?[0] })
        };
        let circles: Vec<Circle> = (0..CIRCLES).filter_map(circle).collect();
        (circles.len() == CIRCLES).then_some(Self { looking, circles })
    }

    /// The place of the wall that is seen at a place of the picture: where its ray first meets the wall, be that the near wall,
    /// the back of a shoulder that is looked down on, or the inside through the mouth; beside the wall, the nearest edge.
    pub fn at(&self, place: [f64; 2]) -> OnWall {
        let mut last: Option<(Circle, f64)> = None;
        let mut first: Option<(f64, OnWall)> = None;
        let mut nearest: Option<(f64, Circle)> = None;
        for &circle in &self.circles {
            let off = self.met(circle, place).off;
            if let Some((above, before)) = last.filter(|(_, before)| (*before > 0.0) != (off > 0.0)) {
                let at = above.towards(circle, before / (before - off));
                let met = self.met(at, place);
                // How much nearer to the camera than the middle of the piece.
                let nearness =
                    self.looking.cosine * met.towards - self.looking.sine / self.looking.cosine * at.height;
                if first.is_none_or(|(best, _)| nearness > best) {
                    first = Some((nearness, on_wall(at, met)));
                }
            }
            if nearest.is_none_or(|(least, _)| off.abs() < least) {
                nearest = Some((off.abs(), circle));
            }
            last = Some((circle, off));
        }
        let beside = nearest.map_or(Circle { height: place[1], radius: 1e-6, middle: place[0] }, |n| n.1);
        first.map_or_else(|| on_wall(beside, self.met(beside, place)), |(_, at)| at)
    }

    /// Where the ray of a place meets the plane of a circle.
    fn met(&self, circle: Circle, [x, y]: [f64; 2]) -> Met {
        let towards = self.looking.towards(circle.height, y);
        let across = (x - circle.middle) / self.looking.larger(towards);
        Met { across, towards, off: across * across + towards * towards - circle.radius * circle.radius }
    }
}

/// Where a ray meets the plane of a circle, from its middle.
#[derive(Clone, Copy)]
struct Met {
    across: f64,
    towards: f64,
    /// Square of the distance from the middle above that of the radius.
    off: f64,
}

fn on_wall(circle: Circle, met: Met) -> OnWall {
    let azimuth = met.across.atan2(met.towards);
    OnWall { height: circle.height, radius: circle.radius, azimuth, middle: circle.middle }
}

#[cfg(test)]
mod tests;
