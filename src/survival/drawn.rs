//! Solids by their equations, drawn lots and pulls: what tests measure the modules against.

use super::field::{Field, Pull};
use super::picture::Picture;
use super::view::Frame;

/// Numbers that look drawn, the same each time (the generator of Knuth 1997, vol. 2, 3.3.4, 64 bits).
pub(super) struct Lots(pub u64);

impl Lots {
    /// Between -1 and 1.
    pub fn draw(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as f64 / f64::from(1u32 << 30) - 1.0
    }
}

/// A field over a box that leaves each place where it is.
pub(super) fn at_rest(bounds: [f64; 4]) -> Field {
    Field::new(&Frame { middle: [0.0; 2], unit: 500.0, bounds }, |place| place)
}

/// What the nodes of a field at rest are told where each shall go; every `wild`th told goes astray by 8 to 16 pixels.
pub(super) fn pulls(
    field: &Field,
    scale: f64,
    wild: Option<usize>,
    to: impl Fn([f64; 2]) -> Option<[f64; 2]>,
) -> Vec<Option<Pull>> {
    let mut lots = Lots(7);
    let mut told = 0;
    let one = |i: usize| {
        let node = field.node(i);
        let to = to(node)?;
        let mut shift = [0, 1].map(|c| (to[c] - node[c]) * scale);
        told += 1;
        if wild.is_some_and(|wild| told % wild == 0) {
            let (far, way) = (12.0 + 4.0 * lots.draw(), std::f64::consts::PI * lots.draw());
            shift = [shift[0] + far * way.cos(), shift[1] + far * way.sin()];
        }
        Some(Pull { shift, hold: [0.1, 0.02, 0.1] })
    };
    (0..field.to.len()).map(one).collect()
}

/// A hollow solid of revolution without a lid, x^2 + n^2 = a + b h + c h^2 about its axis: h along it from above, n across
/// it towards the camera.
#[derive(Clone, Copy, Debug)]
pub(super) struct Solid {
    /// a, b and c.
    pub shape: [f64; 3],
    /// h of the mouth and of the foot.
    pub ends: [f64; 2],
}

/// A place of its wall.
#[derive(Clone, Copy, Debug)]
pub(super) struct Place {
    pub along: f64,
    pub radius: f64,
    pub azimuth: f64,
    /// Whether the wall is seen from inside, through the mouth.
    pub inside: bool,
}

impl Solid {
    pub fn radius(&self, along: f64) -> f64 {
        let [a, b, c] = self.shape;
        (a + b * along + c * along * along).max(0.0).sqrt()
    }

    /// Where parallel rays that come down with this sine meet the quadric: (h, n) nearer to the camera and further. With z
    /// towards the camera h = y cos - z sin and n = y sin + z cos: a quadratic in z.
    fn meets(&self, sine: f64, [x, y]: [f64; 2]) -> Option<[[f64; 2]; 2]> {
        let [a, b, c] = self.shape;
        let cos = f64::sqrt(1.0 - sine * sine);
        let square = cos * cos - c * sine * sine;
        let linear = 2.0 * sine * cos * y * (1.0 + c) + b * sine;
        let rest = x * x + sine * sine * y * y - a - b * cos * y - c * cos * cos * y * y;
        let root = linear * linear - 4.0 * square * rest;
        // On a flat cone the square is below 0, and the roots change places.
        (root > 0.0).then(|| {
            [1.0, -1.0].map(|sign| {
                let z = (-linear + sign * square.signum() * root.sqrt()) / (2.0 * square);
                [cos * y - sine * z, sine * y + cos * z]
            })
        })
    }

    fn has(&self, along: f64) -> bool {
        (self.ends[0]..=self.ends[1]).contains(&along)
    }

    /// Whether the ray of a place comes in through the mouth.
    fn through_mouth(&self, sine: f64, [x, y]: [f64; 2]) -> bool {
        let cos = f64::sqrt(1.0 - sine * sine);
        x.hypot((y - cos * self.ends[0]) / sine) < self.radius(self.ends[0])
    }

    /// The place of the wall that is seen; `None` beside the solid and where its floor is seen.
    pub fn seen(&self, sine: f64, [x, y]: [f64; 2]) -> Option<Place> {
        let inside = self.through_mouth(sine, [x, y]);
        let [along, across] = self.meets(sine, [x, y])?.into_iter().find(|meet| self.has(meet[0]))?;
        Some(Place { along, radius: self.radius(along), azimuth: x.atan2(across), inside })
    }

    /// Whether the solid is seen there, its wall or its mouth.
    fn covers(&self, sine: f64, place: [f64; 2]) -> bool {
        self.through_mouth(sine, place)
            || self.meets(sine, place).is_some_and(|meets| meets.iter().any(|meet| self.has(meet[0])))
    }

    /// Its outline, so many pixels to the unit, in the box from -0.8 to 0.8 both ways.
    pub fn picture(&self, sine: f64, scale: f64) -> Picture {
        let side = (1.6 * scale) as usize;
        Picture::outlined([-0.8; 2], scale, [side, side], |place| self.covers(sine, place))
    }

    /// The same with an axis that leans to the right at its top, radians.
    pub fn leaning(&self, sine: f64, scale: f64, lean: f64) -> Picture {
        let side = (1.6 * scale) as usize;
        let (sin, cos) = lean.sin_cos();
        Picture::outlined([-0.8; 2], scale, [side, side], |[x, y]| {
            self.covers(sine, [cos * x + sin * y, cos * y - sin * x])
        })
    }
}
