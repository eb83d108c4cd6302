//! Where things stand: view, card, light, ground.

use super::noise::{cloudy, smooth, step};
use super::shapes::{Shape, V3};
use nalgebra::Rotation3;

/// How a piece lies: turned about its own origin, the middle of its base, and set down there.
#[derive(Clone, Copy)]
pub struct Pose {
    pub at: V3,
    pub turn: Rotation3<f64>,
}

impl Pose {
    /// Upright, its base on that point.
    pub fn upright(at: V3) -> Self {
        Self { at, turn: Rotation3::identity() }
    }
    /// A place of the scene in the piece's own coordinates.
    pub fn inward(&self, p: V3) -> V3 {
        self.turn.inverse_transform_vector(&(p - self.at))
    }
    /// A direction likewise.
    pub fn inward_direction(&self, d: V3) -> V3 {
        self.turn.inverse_transform_vector(&d)
    }
    /// A place of the piece in the scene.
    pub fn outward(&self, p: V3) -> V3 {
        self.turn * p + self.at
    }
    /// A direction likewise.
    pub fn outward_direction(&self, d: V3) -> V3 {
        self.turn * d
    }
}

/// A pinhole view.
pub struct View {
    eye: V3,
    right: V3,
    up: V3,
    forward: V3,
    focal: f64,
    centre: [f64; 2],
}

impl View {
    /// From an eye to a target (mm), focal length in pixels, for a picture of that size.
    pub fn new(eye: [f64; 3], target: [f64; 3], focal: f64, [width, height]: [usize; 2]) -> Self {
        let eye = V3::from(eye);
        let forward = (V3::from(target) - eye).normalize();
        let hint = if forward.z.abs() > 0.98 { V3::y() } else { V3::z() };
        let right = forward.cross(&hint).normalize();
        let up = right.cross(&forward);
        Self { eye, right, up, forward, focal, centre: [width as f64 / 2.0, height as f64 / 2.0] }
    }
    /// Origin and unit direction of the ray through a point of the picture.
    pub fn ray(&self, x: f64, y: f64) -> (V3, V3) {
        let [cx, cy] = self.centre;
        let dir = self.forward * self.focal + self.right * (x - cx) - self.up * (y - cy);
        (self.eye, dir.normalize())
    }
    /// Where a point appears.
    pub fn project(&self, p: V3) -> [f64; 2] {
        let d = p - self.eye;
        let scale = self.focal / d.dot(&self.forward);
        [self.centre[0] + scale * d.dot(&self.right), self.centre[1] - scale * d.dot(&self.up)]
    }
    /// Angle between the line of sight to a point and a direction, degrees.
    pub fn tilt(&self, p: V3, normal: V3) -> f64 {
        (self.eye - p).normalize().dot(&normal).clamp(-1.0, 1.0).acos().to_degrees()
    }
}

/// The card: a plane with 6 by 4 patches of 40 mm, 7 mm apart, in a frame, all times `scale`.
pub struct Card {
    pub centre: V3,
    pub right: V3,
    pub down: V3,
    pub normal: V3,
    pub scale: f64,
}

/// What a point of the card is.
pub enum CardSpot {
    Patch(usize),
    Frame,
    Ink,
}

impl Card {
    const PATCH: f64 = 40.0;
    const PITCH: f64 = 47.0;
    /// Half the grid.
    const HALF: [f64; 2] = [137.5, 90.5];
    /// Half the card: the frame is 9 mm wide at the sides and 13 mm above and below.
    const OUTER: [f64; 2] = [146.5, 103.5];

    /// `normal` is where it faces, `spin` turns it in its plane (degrees, anticlockwise as seen).
    pub fn placed(centre: [f64; 3], normal: [f64; 3], spin: f64, scale: f64) -> Self {
        let normal = V3::from(normal).normalize();
        let level = V3::z().cross(&normal);
        let level = if level.norm() < 1e-6 { V3::x() } else { level.normalize() };
        let (s, c) = spin.to_radians().sin_cos();
        let right = level * c + normal.cross(&level) * s;
        Self { centre: V3::from(centre), right, down: right.cross(&normal), normal, scale }
    }
    /// Turned in its plane, degrees.
    #[allow(dead_code, reason = "for the random shots of `examples/intervals`")]
    pub fn turn(&mut self, degrees: f64) {
        let (s, c) = degrees.to_radians().sin_cos();
        (self.right, self.down) = (self.right * c + self.down * s, self.down * c - self.right * s);
    }
    /// A point of the card from grid coordinates in card mm (origin at the grid's middle).
    fn point(&self, x: f64, y: f64) -> V3 {
        self.centre + (self.right * x + self.down * y) * self.scale
    }
    /// Corner `k` (top left, top right, bottom right, bottom left) of patch `n` (0..24).
    pub fn patch_corner(&self, n: usize, k: usize) -> V3 {
        let dx = if k == 1 || k == 2 { Self::PATCH } else { 0.0 };
        let dy = if k >= 2 { Self::PATCH } else { 0.0 };
        let (x, y) = ((n % 6) as f64 * Self::PITCH, (n / 6) as f64 * Self::PITCH);
        self.point(x + dx - Self::HALF[0], y + dy - Self::HALF[1])
    }
    /// Middle of patch `n`.
    pub fn patch_centre(&self, n: usize) -> V3 {
        (self.patch_corner(n, 0) + self.patch_corner(n, 2)) / 2.0
    }
    /// Corner `k` of the frame.
    pub fn frame_corner(&self, k: usize) -> V3 {
        let [x, y] = Self::OUTER;
        self.point(if k == 1 || k == 2 { x } else { -x }, if k >= 2 { y } else { -y })
    }
    /// Way along a ray to the card's plane and card coordinates there.
    fn meet(&self, from: V3, dir: V3) -> (f64, f64, f64) {
        let t = (self.centre - from).dot(&self.normal) / dir.dot(&self.normal);
        let p = (from + dir * t - self.centre) / self.scale;
        (t, p.dot(&self.right), p.dot(&self.down))
    }
    /// The hit of a ray: way along it and what is there.
    pub fn trace(&self, from: V3, dir: V3) -> Option<(f64, CardSpot)> {
        let (t, x, y) = self.meet(from, dir);
        if t.is_nan() || t <= 0.0 || x.abs() > Self::OUTER[0] || y.abs() > Self::OUTER[1] {
            return None;
        }
        let (u, v) = (x + Self::HALF[0], y + Self::HALF[1]);
        let inside = x.abs() < Self::HALF[0] && y.abs() < Self::HALF[1];
        let spot = if inside && u % Self::PITCH < Self::PATCH && v % Self::PITCH < Self::PATCH {
            CardSpot::Patch((v / Self::PITCH) as usize * 6 + (u / Self::PITCH) as usize)
        } else if (y - 97.5).abs() < 1.6 && x.abs() < 60.0 && x.rem_euclid(10.0) < 5.0 {
            CardSpot::Ink // a scale in centimetres along the lower edge
        } else {
            CardSpot::Frame
        };
        Some((t, spot))
    }
    /// How much of a wide light gets past the card, 0..1.
    fn lets_past(&self, p: V3, to_light: V3, width: f64) -> f64 {
        let (t, x, y) = self.meet(p, to_light);
        if t.is_nan() || t < 0.5 {
            return 1.0;
        }
        let d = (x.abs() - Self::OUTER[0]).max(y.abs() - Self::OUTER[1]) * self.scale;
        step(-(t * width).max(0.8), (t * width).max(0.8), d)
    }
    /// Its shadow from the sky on the ground nearby, 0..1 light left.
    fn nearness(&self, p: V3) -> f64 {
        let d = p - self.centre;
        let (x, y) = (d.dot(&self.right) / self.scale, d.dot(&self.down) / self.scale);
        let out =
            ((x.abs() - Self::OUTER[0]).max(0.0)).hypot((y.abs() - Self::OUTER[1]).max(0.0)) * self.scale;
        let away = out.hypot(d.dot(&self.normal));
        0.72 + 0.28 * step(0.0, 14.0, away)
    }
}

/// One wide lamp or the veiled sun, and the sky.
pub struct Light {
    pub kelvin: f64,
    pub to_key: V3,
    /// Share of the lamp on a surface that faces it; the sky gives the rest to one that faces up.
    pub share: f64,
    /// Tangent of the lamp's half angle.
    pub width: f64,
}

/// The surface everything lies on.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Ground {
    Cloth,
    Board,
    Sand,
    Wood,
}

impl Ground {
    /// Name of its material.
    pub fn material(self) -> &'static str {
        match self {
            Ground::Cloth => "cloth",
            Ground::Board => "board",
            Ground::Sand => "sand",
            Ground::Wood => "wood",
        }
    }
    /// Brightness of the texture at a place.
    pub fn texture(self, x: f64, y: f64, seed: u64) -> f64 {
        let at = |dx: f64, dy: f64, k: u64| cloudy(V3::new(x / dx, y / dy, 0.0), seed + k) - 0.5;
        match self {
            Ground::Cloth => {
                let thread = (x * 3.3).sin() * (y * 3.3).sin();
                1.0 + 0.09 * thread
                    + 0.2 * at(110.0, 80.0, 1)
                    + 0.1 * at(30.0, 1.6, 2)
                    + 0.1 * at(1.6, 30.0, 3)
            }
            Ground::Board => 1.0 + 0.12 * at(70.0, 70.0, 1) + 0.1 * at(2.5, 2.5, 2),
            Ground::Sand => 1.0 + 0.25 * at(60.0, 40.0, 1) + 0.3 * at(2.2, 2.2, 2) + 0.16 * at(9.0, 7.0, 3),
            Ground::Wood => {
                let bend = 14.0 * smooth(V3::new(x / 240.0, y / 60.0, 0.0), seed) + 2.0 * at(90.0, 8.0, 1);
                let ring = ((y / 9.0 + bend) * 2.0).sin();
                let plank = (y / 130.0).rem_euclid(1.0);
                let gap = 1.0 - 0.6 * (1.0 - step(0.0, 0.012, plank.min(1.0 - plank)));
                (1.0 + 0.14 * ring + 0.22 * at(60.0, 2.4, 2) + 0.2 * at(300.0, 130.0, 3)) * gap
            }
        }
    }
}

/// A whole set-up.
pub struct Set<'a> {
    pub shape: &'a Shape,
    /// How the piece stands on the ground.
    pub pose: Pose,
    pub card: &'a Card,
    pub light: &'a Light,
}

impl Set<'_> {
    /// Light on a place, 1.0 = an unshaded surface facing as the card does, and the lamp's part in it.
    pub fn irradiance(&self, p: V3, normal: V3) -> (f64, f64) {
        let (key, sky) = self.raw(p, normal);
        let (n, l) = (self.card.normal, self.light);
        let card = l.share * n.dot(&l.to_key).max(0.0) + (1.0 - l.share) * Self::sky(n);
        ((key + sky) / card, key / card)
    }

    fn sky(normal: V3) -> f64 {
        // Half a dome above; the ground sends a quarter of it back.
        (0.5 + 0.5 * normal.z) + 0.25 * (0.5 - 0.5 * normal.z)
    }

    fn raw(&self, p: V3, normal: V3) -> (f64, f64) {
        let l = self.light;
        let facing = normal.dot(&l.to_key).max(0.0);
        let start = p + normal * 0.6;
        let mut key = l.share * facing;
        if key > 0.0 {
            key *= self.past_piece(self.pose.inward(start), self.pose.inward_direction(l.to_key))
                * self.card.lets_past(start, l.to_key, l.width);
        }
        (key, (1.0 - l.share) * Self::sky(normal) * self.open(p, normal))
    }

    /// Share of the lamp that gets past the piece: the narrowest gap on the way, against the lamp's width.
    fn past_piece(&self, from: V3, dir: V3) -> f64 {
        let (r, h) = self.shape.can();
        // Away from the widened can of the piece nothing is in the way.
        let reach = h.hypot(r) + 30.0;
        let middle = V3::new(0.0, 0.0, h / 2.0);
        let along = (middle - from).dot(&dir);
        if (from + dir * along.max(0.0) - middle).norm() > reach + along.max(0.0) * self.light.width {
            return 1.0;
        }
        let (mut open, mut t) = (1.0f64, 0.8);
        for _ in 0..60 {
            let p = from + dir * t;
            if p.z > h + t * self.light.width {
                break;
            }
            let d = self.shape.distance(p);
            open = open.min(d / (self.light.width * t));
            if open <= 0.01 {
                return 0.0;
            }
            t += (0.7 * d).max(0.8);
        }
        step(0.0, 1.0, open)
    }

    /// Share of the sky that is open: free space met at four distances along the normal.
    fn open(&self, p: V3, normal: V3) -> f64 {
        let mut shut = 0.0;
        for (away, weight) in [(6.0, 0.2), (18.0, 0.25), (45.0, 0.3), (100.0, 0.25)] {
            let q = p + normal * away;
            let free = self.shape.distance(self.pose.inward(q)).min(q.z.max(0.0) + 0.3 * away);
            shut += weight * (1.0 - (free / away).clamp(0.0, 1.0));
        }
        let near_card = if p.z < 0.5 && normal.z > 0.9 { self.card.nearness(p) } else { 1.0 };
        (1.0 - 0.85 * shut) * near_card
    }
}
