//! A first guess how the piece lies: every turn is tried on a small picture.
//!
//! Two ways a piece may have moved between the photographs are tried. Lying: turned in the picture by any angle, as a
//! sherd on a table. Standing: turned about the vertical by a little, as a vessel set down again: a round wall whose half
//! width at each height is that of the outline. Perspective and all else is left to what follows.

use super::field::Field;
use super::picture::Picture;
use super::profile::Profile;
use super::view::Frame;
use rayon::prelude::*;

/// Pixels to a piece unit on which turns are tried.
pub(super) const SCALE: f64 = 56.0;
/// Guesses that are handed on.
const BEST: usize = 16;
/// Steps of a turn in the picture, degrees.
const LYING_STEP: usize = 3;
/// How much larger or smaller a lying piece may be taken than its area says.
const SIZES: [f64; 3] = [0.96, 1.0, 1.04];
/// Largest turn about the vertical, degrees: a vessel that is set down again with the same side to the camera.
const MOST_STANDING: i32 = 24;
/// How far the camera looks down on a standing vessel, degrees.
const LOOKING_DOWN: [f64; 3] = [0.0, 18.0, 36.0];
/// Leaning of a standing vessel in the picture, degrees.
const LEANING: [f64; 3] = [-3.0, 0.0, 3.0];
/// Shifts tried, pixels each way.
const SHIFT: i32 = 4;

/// How a piece may have moved, from the fired piece to the unfired one.
#[derive(Clone, Copy, Debug)]
pub(super) struct Guess {
    way: Way,
    /// Piece units.
    shift: [f64; 2],
    /// Correlation of the signals.
    pub score: f64,
}

#[derive(Clone, Copy, Debug)]
enum Way {
    /// Turn, radians, and size.
    Lying { turn: f64, size: f64 },
    /// Turn about the vertical, tilt of the camera, leaning: radians.
    Standing { turn: f64, tilt: f64, leaning: f64 },
}

impl Way {
    fn apply(&self, [x, y]: [f64; 2], profile: &Profile) -> [f64; 2] {
        let turned = |[x, y]: [f64; 2], turn: f64, size: f64| {
            let (sin, cos) = turn.sin_cos();
            [size * (cos * x - sin * y), size * (sin * x + cos * y)]
        };
        match *self {
            Way::Lying { turn, size } => turned([x, y], turn, size),
            Way::Standing { turn, tilt, leaning } => {
                let Some([middle, half]) = profile.at(y) else { return turned([x, y], leaning, 1.0) };
                let angle = ((x - middle) / half.max(1e-6)).clamp(-1.0, 1.0).asin();
                let to = angle + turn;
                let [nearer, sideways] = [to.cos() - angle.cos(), to.sin() - angle.sin()];
                turned([x + half * sideways, y + tilt.sin() * half * nearer], leaning, 1.0)
            }
        }
    }
}

impl Guess {
    /// The guess as a field over the fired piece.
    fn field(&self, frame: &Frame, profile: &Profile) -> Field {
        Field::new(frame, |place| {
            let to = self.way.apply(place, profile);
            [to[0] + self.shift[0], to[1] + self.shift[1]]
        })
    }
}

/// The likeliest guesses, the best first, as fields.
pub(super) fn guesses(after: &Picture, before: &Picture, frame: &Frame) -> Vec<Field> {
    let profile = Profile::leaning(after, 0.0);
    let lying = (0..360 / LYING_STEP).flat_map(|k| {
        let turn = ((k * LYING_STEP) as f64).to_radians();
        SIZES.map(|size| Way::Lying { turn, size })
    });
    let standing = (-MOST_STANDING..=MOST_STANDING).flat_map(|degrees| {
        let turn = f64::from(degrees).to_radians();
        LOOKING_DOWN.into_iter().flat_map(move |tilt| {
            LEANING.map(|leaning| Way::Standing {
                turn,
                tilt: tilt.to_radians(),
                leaning: leaning.to_radians(),
            })
        })
    });
    let ways: Vec<Way> = lying.chain(standing).collect();
    let tried = ways.par_iter().map(|&way| best_shift(after, before, way, &profile));
    let mut guesses: Vec<Guess> = tried.collect();
    guesses.sort_by(|one, other| other.score.total_cmp(&one.score));
    let mut chosen: Vec<Field> = Vec::new();
    for guess in guesses {
        let field = guess.field(frame, &profile);
        // What says nearly the same as a better guess is left out.
        if chosen.iter().all(|known| apart(known, &field, after) > 0.02) {
            chosen.push(field);
        }
        if chosen.len() == BEST {
            break;
        }
    }
    chosen
}

/// Mean distance of where two fields send the places of a piece, piece units.
pub(super) fn apart(one: &Field, other: &Field, after: &Picture) -> f64 {
    let known = (0..after.known.len()).step_by(13).filter(|&i| after.known[i] > 0.0);
    let (sum, many) = known.fold((0.0, 0.0), |(sum, many), i| {
        let place = after.place(i);
        let (a, b) = (one.at(place), other.at(place));
        (sum + (a[0] - b[0]).hypot(a[1] - b[1]), many + 1.0)
    });
    sum / f64::max(many, 1.0)
}

/// The shift at which the signals agree best. What falls off the other piece counts as no agreement.
fn best_shift(after: &Picture, before: &Picture, way: Way, profile: &Profile) -> Guess {
    let known: Vec<usize> = (0..after.known.len()).filter(|&i| after.known[i] > 0.0).step_by(2).collect();
    let places: Vec<[i32; 2]> = known
        .iter()
        .map(|&i| before.raster(way.apply(after.place(i), profile)).map(|v| v.round() as i32))
        .collect();
    let (width, height) = (before.width as i32, before.height as i32);
    let energy: f32 = known.iter().map(|&i| after.signal[i].powi(2)).sum();
    let mut best = Guess { way, shift: [0.0; 2], score: f64::NEG_INFINITY };
    for (dy, dx) in (-SHIFT..=SHIFT).flat_map(|dy| (-SHIFT..=SHIFT).map(move |dx| (dy, dx))) {
        let (mut both, mut own, mut covered) = (0f32, 0f32, 0f32);
        for (&i, &[x, y]) in known.iter().zip(&places) {
            let (x, y) = (x + dx, y + dy);
            if x >= 0 && y >= 0 && x < width && y < height {
                let j = (y * width + x) as usize;
                both += after.signal[i] * before.signal[j];
                own += before.signal[j].powi(2);
                covered += before.known[j];
            }
        }
        let score = f64::from(both / (energy * own).max(1e-6).sqrt())
            * f64::from(covered / known.len().max(1) as f32);
        if score > best.score {
            best.score = score;
            best.shift = [f64::from(dx), f64::from(dy)].map(|v| v / before.scale);
        }
    }
    best
}
