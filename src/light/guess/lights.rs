//! The plain lights that are tried, and what each gives to a place of a form.

use super::super::ball::{Room, directions};
use super::super::form::{Form, Place};
use super::super::level::LEAST_LIGHT;
use crate::surface::SurfaceMap;
use nalgebra::Vector3;

/// Shares of the key light.
const KEYS: [f64; 3] = [0.2, 0.45, 0.7];
/// Directions of the key light over the whole sphere; those that light card and table count.
const KEY_DIRECTIONS: usize = 120;
/// Least cosine of the key light with the card's normal and with the zenith.
const LEAST_KEY: f64 = 0.2;
/// Least cosine between the picture of the axis and the upright of the photograph where a vessel may stand: 15 degrees.
const UPRIGHT: f64 = 0.966;
/// From this cosine between axis and line of sight on the picture of the axis says nothing of how the vessel lies.
const SEEN_FROM_ABOVE: f64 = 0.85;
/// How likely a vessel stands whose axis is upright in the photograph, and lies if it is not. A judgement.
const STANDS: f64 = 0.9;

/// A sky with a key light.
pub struct Light {
    zenith: Vector3<f64>,
    key: Vector3<f64>,
    /// The key's share.
    share: f64,
    /// How likely it is before anything is seen, unnormed: by its zenith, then every share of the key alike, and then every
    /// direction.
    pub prior: f64,
}

impl Light {
    /// Sky and key on a normal in the open, against a surface that faces both.
    fn on(&self, normal: &Vector3<f64>) -> f64 {
        (1.0 - self.share) * 0.5 * (1.0 + normal.dot(&self.zenith)) + self.key_on(normal)
    }

    fn key_on(&self, normal: &Vector3<f64>) -> f64 {
        self.share * normal.dot(&self.key).max(0.0)
    }

    /// All that are tried. The sky is brightest above the card, which lies on the table, or above the vessel, which stands
    /// on it: upright or upside down, but its zenith is towards the top of the photograph or towards the camera. A vessel
    /// that stands does so along the photograph; one whose axis lies across it lies on the table.
    pub fn all(card_normal: &Vector3<f64>, axis: &Vector3<f64>) -> Vec<Self> {
        let axis = if axis.dot(&(card_normal - Vector3::y())) < 0.0 { -axis } else { *axis };
        let is_upright = -axis.y > UPRIGHT * axis.x.hypot(axis.y);
        let odds = if -axis.z > SEEN_FROM_ABOVE {
            0.5
        } else if is_upright {
            STANDS
        } else {
            1.0 - STANDS
        };
        let mut all = Vec::new();
        for (zenith, odds) in [(*card_normal, 1.0 - odds), (axis, odds)] {
            all.push(Self { zenith, key: zenith, share: 0.0, prior: odds });
            let can_be = |key: &Vector3<f64>| key.dot(card_normal).min(key.dot(&zenith)) > LEAST_KEY;
            let keys: Vec<Vector3<f64>> = directions(KEY_DIRECTIONS).filter(can_be).collect();
            let prior = odds / keys.len().max(1) as f64;
            all.extend(keys.iter().flat_map(|&key| KEYS.map(|share| Self { zenith, key, share, prior })));
        }
        all
    }
}

/// A place under the lights that are tried.
pub struct Lit {
    normal: Vector3<f64>,
    /// Where it lies, if it is an inside, and the share of an even sky that comes in through the mouth.
    inside: Option<(Vector3<f64>, f64)>,
    /// Logarithm of what it gets back from its own wall, over the field there.
    base: f64,
}

impl Lit {
    pub fn of(map: &SurfaceMap, form: &Form, place: &Place, room: &Room, reflectance: f64) -> Self {
        let inside = place.inside.map(|inside| {
            let [open, _] = room.shares(&place.normal, |from| form.lets_in(&inside, from));
            (inside, open)
        });
        let own = inside.map_or(1.0, |(_, open)| 1.0 - reflectance * (1.0 - open));
        let field = f64::from(map.light[place.pixel]).max(LEAST_LIGHT);
        Self { normal: place.normal, inside, base: -(own * field).ln() }
    }
}

/// What all lights are compared on.
pub struct Scene<'a> {
    pub card_normal: &'a Vector3<f64>,
    /// Luminance of the ground in its own light: what it sends back, 1 = a white card in the card's light.
    pub ground: f64,
}

impl Scene<'_> {
    /// Logarithm of the light on a place relative to the card's, over the field there. To a wall in the open the ground
    /// gives its share of the half space (Lambert's view factor), as far as the wall leaves it light; into a mouth comes
    /// what passes its rim. The card is small and shades nothing.
    pub fn log_light(&self, light: &Light, form: &Form, place: &Lit) -> f64 {
        let bounce = |normal: &Vector3<f64>| 0.5 * self.ground * (1.0 - normal.dot(&light.zenith));
        let per_card = (1.0 - bounce(self.card_normal)) / light.on(self.card_normal);
        let free = match &place.inside {
            None => {
                let lit = ground_before(place.normal.dot(&light.zenith));
                light.on(&place.normal) * per_card + lit * bounce(&place.normal)
            }
            Some((inside, open)) => {
                let key = if form.lets_in(inside, &light.key) { light.key_on(&place.normal) } else { 0.0 };
                ((1.0 - light.share) * open + key) * per_card
            }
        };
        free.max(LEAST_LIGHT).ln() + place.base
    }
}

/// Light on the ground that a wall faces, as a share of that in the open, the normal of the wall at this cosine with the
/// zenith. The wall takes sky from the ground before it: at its foot (1 + cosine) / 2 of an even sky is left (the view
/// factor of a wedge), far away all of it. A long wall sees about the mean of the two.
fn ground_before(cosine: f64) -> f64 {
    (0.5 * (1.0 + cosine) + 1.0) / 2.0
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lit(normal: Vector3<f64>, inside: Option<(Vector3<f64>, f64)>) -> Lit {
        Lit { normal, inside, base: 0.0 }
    }

    fn up_mouth() -> Form {
        Form { out: -Vector3::y(), places: Vec::new(), cover: 1.0, overlap: 1.0, log_odds: 0.0 }
    }

    /// View factors: an even sky above a plane gives (1 + cos t) / 2 of its light to a plane that leans by t, and the
    /// ground before it, as it is lit, its luminance times (1 - cos t) / 2.
    #[test]
    fn sky_and_ground_give_their_view_factors() {
        let zenith = -Vector3::y();
        let sky = Light { zenith, key: zenith, share: 0.0, prior: 1.0 };
        let scene = Scene { card_normal: &zenith, ground: 0.3 };
        for lean in [0.0f64, 0.4, 1.0, 2.0, 3.1] {
            let normal = Vector3::new(lean.sin(), -lean.cos(), 0.0);
            let ground = 0.3 * ground_before(lean.cos());
            let exact = (1.0 + lean.cos()) / 2.0 + ground * (1.0 - lean.cos()) / 2.0;
            let found = scene.log_light(&sky, &up_mouth(), &lit(normal, None)).exp();
            assert!((found - exact.max(LEAST_LIGHT)).abs() < 1e-9, "{lean}: {found} for {exact}");
        }
        let key = Light { key: Vector3::new(0.6, -0.8, 0.0), share: 1.0, ..sky };
        assert!((key.on(&zenith) - 0.8).abs() < 1e-12 && key.on(&-zenith) == 0.0);
    }

    /// A long wall on level ground under an even sky, summed strip by strip: a strip of ground at angle a from the
    /// horizon of the wall's place gives (d sin a) / 2 about the wall's normal (crossed strings: Hottel & Sarofim 1967,
    /// Radiative Transfer, chapter 2, from memory), and has (1 - cos b) / 2 of the sky, b the angle from the ground up to the top of
    /// the wall on the open side. In the mean over the height of the wall the rule holds to 0.07, unless it leans out
    /// over the ground by more than 40 degrees.
    #[test]
    fn ground_before_a_wall_is_lit_as_the_sum_over_its_strips() {
        for opening in [50.0f64, 60.0, 75.0, 90.0, 110.0, 130.0, 150.0].map(f64::to_radians) {
            let (sin, cos) = opening.sin_cos();
            let (mut given, mut all) = (0.0, 0.0);
            for height in (0..20).map(|k| (f64::from(k) + 0.5) / 20.0) {
                let (x, y) = (height * cos, height * sin);
                // Strips of equal angle as the place sees them, downwards from the horizon to the foot of the wall.
                let steps = 2000;
                for k in 0..steps {
                    let down = (std::f64::consts::PI - opening) * (f64::from(k) + 0.5) / f64::from(steps);
                    let at = x + y / down.tan();
                    let facing = (sin * down.cos() + cos * down.sin()).max(0.0);
                    let sky = (1.0 - sin.atan2(cos - at).cos()) / 2.0;
                    given += facing * sky;
                    all += facing;
                }
            }
            let (exact, found) = (given / all, ground_before(-cos));
            assert!((found - exact).abs() < 0.07, "{}: {found} for {exact}", opening.to_degrees());
        }
    }

    /// The middle of a pit of depth h and radius 1 sees the sky through a disc: view factor 1 / (1 + h^2) (Howell, A Catalog
    /// of Radiation Heat Transfer Configuration Factors, B-12 with equal radii). A key light from the side does not come in.
    #[test]
    fn a_pit_is_lit_through_its_mouth() {
        let (zenith, form, room) = (-Vector3::y(), up_mouth(), Room::even());
        let scene = Scene { card_normal: &zenith, ground: 0.0 };
        let low = Vector3::new(0.95, -0.3, 0.0).normalize();
        for depth in [0.3, 0.6, 1.0] {
            let place = Vector3::new(0.0, depth, 0.0);
            let [open, _] = room.shares(&zenith, |from| form.lets_in(&place, from));
            let exact = 1.0 / (1.0 + depth * depth);
            assert!((open - exact).abs() < 0.05, "{depth}: {open} for {exact}");
            let lit = lit(zenith, Some((place, open)));
            let even = Light { zenith, key: low, share: 0.0, prior: 1.0 };
            assert!((scene.log_light(&even, &form, &lit).exp() - open).abs() < 1e-9);
            let side = Light { share: 0.5, ..even };
            let sky_alone = 0.5 * open / (0.5 + 0.5 * low.dot(&zenith));
            let found = scene.log_light(&side, &form, &lit).exp();
            let shaded = depth * low.x / low.dot(&zenith) > 1.0;
            assert_eq!((found - sky_alone).abs() < 1e-9, shaded, "{depth}: {found} for {sky_alone}");
        }
    }

    /// A vessel upright in the photograph stands, nine to one, and the sky is above it; one across it lies, and the sky is
    /// above the card. Seen from above the picture tells nothing.
    #[test]
    fn the_sky_is_above_what_stands() {
        let card = Vector3::new(0.6, 0.0, -0.8);
        let above = |axis: Vector3<f64>| {
            let all = Light::all(&card, &axis);
            let sum =
                |lights: &dyn Fn(&&Light) -> bool| all.iter().filter(lights).map(|l| l.prior).sum::<f64>();
            sum(&|light| (light.zenith - card).norm() > 1e-9) / sum(&|_| true)
        };
        for (axis, expected) in [
            (Vector3::new(0.05, -0.95, -0.3), STANDS),
            (Vector3::new(0.9, -0.3, -0.3), 1.0 - STANDS),
            (Vector3::new(0.1, -0.3, -0.95), 0.5),
        ] {
            let found = above(axis.normalize());
            assert!((found - expected).abs() < 1e-9, "{found} for {expected}, {axis}");
        }
    }
}
