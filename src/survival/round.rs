//! The field of a vessel turned about its axis and set down again: nine numbers, fitted to what patches say.
//!
//! A place of the fired vessel lies somewhere on its wall ([`Vessel`]). The unfired one shows it turned further about the axis,
//! by a camera of its own, then turned in the picture, of another size and moved.

use super::field::{Field, Pull, Told};
use super::profile::Profile;
use super::vessel::{Looking, OnWall, Vessel};
use nalgebra::{SMatrix, SVector};

/// How many numbers: turn; looking down after the fire and before it, sines; nearness after and before; lean; size; shift.
const MANY: usize = 9;
type Numbers = SVector<f64, MANY>;

/// What is expected, and its standard deviation: pieces are photographed from a little above and from four to ten times their
/// size off, upright and about as large as they are.
const EXPECTED: [(f64, f64); MANY] = [
    (0.0, 0.3),
    (0.3, 0.25),
    (0.3, 0.25),
    (0.15, 0.08),
    (0.15, 0.08),
    (0.0, 0.1),
    (1.0, 0.1),
    (0.0, 0.2),
    (0.0, 0.2),
];
/// Numbers that bear on where a place lies on the fired vessel; the others only on where it is seen on the unfired one.
const OF_THE_WALL: [usize; 2] = [1, 3];
/// Standard deviation of a pull, piece units: what is expected counts as so many pulls.
const PULL: f64 = 0.003;
/// Turns from which the fit sets out, degrees; steps of the first look and of the fit.
const TURNS: [f64; 9] = [-24.0, -18.0, -12.0, -6.0, 0.0, 6.0, 12.0, 18.0, 24.0];
const STEPS: [usize; 2] = [4, 8];
/// Nodes for the first look and for the fit: about so many.
const NODES: [usize; 2] = [60, 250];
/// Fewest pulls.
const LEAST: usize = 24;

/// The field of a turned vessel that follows the pulls best: least squares of what they hold, re-weighted (Cauchy), `loose`
/// being the residual that halves a pull's weight, pixels of `scale` to a piece unit; the numbers by damped steps
/// (Marquardt 1963). `None` where too few pulls tell.
pub(super) fn turned(
    profile: &Profile,
    field: &Field,
    pulls: &[Option<Pull>],
    scale: f64,
    loose: f64,
) -> Option<Field> {
    let told: Vec<Told> = field.told(pulls, scale).into_iter().map(|told| upright(profile, told)).collect();
    if told.len() < LEAST {
        return None;
    }
    let [few, more] =
        NODES.map(|many| -> Vec<Told> { told.iter().step_by((told.len() / many).max(1)).copied().collect() });
    let loose = loose / scale;
    let (few, more) = (Fit { profile, told: &few, loose: 8.0 * loose }, Fit { profile, told: &more, loose });
    let first = TURNS.iter().filter_map(|turn| {
        let mut numbers = Numbers::from(EXPECTED.map(|(value, _)| value));
        numbers[0] = turn.to_radians();
        let numbers = few.settled(few.set_down(numbers)?, STEPS[0]);
        Some((few.cost(&numbers)?, numbers))
    });
    let (_, start) = first.min_by(|one, other| one.0.total_cmp(&other.0))?;
    let near = Fit { loose: 3.0 * more.loose, ..more }.settled(start, STEPS[1]);
    let numbers = more.settled(near, STEPS[1]);
    let wall = vessel(profile, &numbers)?;
    let is_sound = numbers.iter().all(|number| number.is_finite());
    is_sound.then(|| {
        field.of_form(|place| {
            let wall = wall.at(profile.upright(place));
            profile.leant(seen_before(&numbers, &wall, &numbers))
        })
    })
}

/// What is told of a node, both pictures turned so that the axis is upright in the one after the fire.
fn upright(profile: &Profile, (node, to, [xx, xy, yy]): Told) -> Told {
    let (sin, cos) = profile.lean.sin_cos();
    // The matrix of the hold between the rotation and its inverse.
    let hold = [
        cos * cos * xx + 2.0 * sin * cos * xy + sin * sin * yy,
        sin * cos * (yy - xx) + (cos * cos - sin * sin) * xy,
        sin * sin * xx - 2.0 * sin * cos * xy + cos * cos * yy,
    ];
    (profile.upright(node), profile.upright(to), hold)
}

fn vessel(profile: &Profile, numbers: &Numbers) -> Option<Vessel> {
    Vessel::of(profile, Looking::down(numbers[1], numbers[3]))
}

/// Where the unfired vessel shows a place of the fired one's wall. `own`: the numbers by which the wall was found.
fn seen_before(numbers: &Numbers, wall: &OnWall, own: &Numbers) -> [f64; 2] {
    let fired = Looking::down(own[1], own[3]);
    let unfired = Looking::down(numbers[2], numbers[4]);
    let azimuth = wall.azimuth + numbers[0];
    let z = unfired.cosine * wall.radius * azimuth.cos();
    let larger = 1.0 + unfired.near * z;
    let x = wall.middle + wall.radius * azimuth.sin() * larger;
    let upright = wall.height * unfired.cosine / fired.cosine;
    let y = (upright + unfired.sine * wall.radius * azimuth.cos()) * larger;
    let (sin, cos) = numbers[5].sin_cos();
    let size = numbers[6];
    [size * (cos * x - sin * y) + numbers[7], size * (sin * x + cos * y) + numbers[8]]
}

/// Pulls to be followed.
#[derive(Clone, Copy)]
struct Fit<'a> {
    profile: &'a Profile,
    told: &'a [Told],
    /// Residual that halves a pull's weight, piece units.
    loose: f64,
}

impl Fit<'_> {
    /// What is left: of the pulls (Cauchy) and of what is expected.
    fn cost(&self, numbers: &Numbers) -> Option<f64> {
        let vessel = vessel(self.profile, numbers)?;
        let square = self.loose * self.loose;
        let one = |&(node, to, [xx, _, yy]): &Told| {
            let got = seen_before(numbers, &vessel.at(node), numbers);
            let off = (got[0] - to[0]).powi(2) + (got[1] - to[1]).powi(2);
            (xx + yy) / 2.0 * square * (off / square).ln_1p()
        };
        let pulls: f64 = self.told.iter().map(one).sum();
        let expected: f64 = (0..MANY).map(|i| self.hold(i) * (numbers[i] - EXPECTED[i].0).powi(2)).sum();
        Some(pulls + expected)
    }

    /// Moved so that as many pulls point to one side as to the other: where the fit sets out far from all of them, none counts.
    fn set_down(&self, mut numbers: Numbers) -> Option<Numbers> {
        let vessel = vessel(self.profile, &numbers)?;
        let got = |node| seen_before(&numbers, &vessel.at(node), &numbers);
        let off: Vec<[f64; 2]> =
            self.told.iter().map(|&(node, to, _)| [0, 1].map(|c| to[c] - got(node)[c])).collect();
        for c in 0..2 {
            let mut along: Vec<f64> = off.iter().map(|off| off[c]).collect();
            let middle = along.len() / 2;
            numbers[7 + c] += *along.select_nth_unstable_by(middle, f64::total_cmp).1;
        }
        Some(numbers)
    }

    /// How firmly a number is held by what is expected of it; a pull holds by about a tenth.
    fn hold(&self, number: usize) -> f64 {
        0.1 * (PULL / EXPECTED[number].1).powi(2)
    }

    fn settled(&self, mut numbers: Numbers, steps: usize) -> Numbers {
        let mut damping = 1e-3;
        let Some(mut now) = self.cost(&numbers) else { return numbers };
        for _ in 0..steps {
            let Some((left, right)) = self.slopes(&numbers) else { return numbers };
            let mut damped = left;
            (0..MANY).for_each(|i| damped[(i, i)] *= 1.0 + damping);
            let Some(solved) = damped.cholesky() else { return numbers };
            let next = numbers + solved.solve(&right);
            match self.cost(&next) {
                Some(then) if then < now => {
                    (numbers, now) = (next, then);
                    damping *= 0.2;
                }
                _ => damping *= 10.0,
            }
        }
        numbers
    }

    /// The normal equations at these numbers.
    fn slopes(&self, numbers: &Numbers) -> Option<(SMatrix<f64, MANY, MANY>, Numbers)> {
        /// Step of a difference quotient.
        const STEP: f64 = 1e-4;
        let moved = std::array::from_fn::<Numbers, MANY, _>(|i| {
            let mut moved = *numbers;
            moved[i] += STEP;
            moved
        });
        let own = vessel(self.profile, numbers)?;
        let other = OF_THE_WALL.map(|i| vessel(self.profile, &moved[i]));
        let (mut left, mut right) = (SMatrix::<f64, MANY, MANY>::zeros(), Numbers::zeros());
        for &(node, to, hold) in self.told {
            let wall = own.at(node);
            let got = seen_before(numbers, &wall, numbers);
            let off = [0, 1].map(|c| to[c] - got[c]);
            let weight = 1.0 / (1.0 + (off[0].hypot(off[1]) / self.loose).powi(2));
            let mut rows = [Numbers::zeros(); 2];
            for i in 0..MANY {
                let there = match OF_THE_WALL.iter().position(|&number| number == i) {
                    Some(k) => seen_before(&moved[i], &other[k].as_ref()?.at(node), &moved[i]),
                    None => seen_before(&moved[i], &wall, numbers),
                };
                (0..2).for_each(|c| rows[c][i] = (there[c] - got[c]) / STEP);
            }
            let [xx, xy, yy] = hold.map(|h| h * weight);
            for (one, other, hold) in [(0, 0, xx), (0, 1, xy), (1, 0, xy), (1, 1, yy)] {
                left += hold * rows[one] * rows[other].transpose();
                right += hold * off[other] * rows[one];
            }
        }
        for i in 0..MANY {
            left[(i, i)] += self.hold(i);
            right[i] += self.hold(i) * (EXPECTED[i].0 - numbers[i]);
        }
        Some((left, right))
    }
}

#[cfg(test)]
mod tests;
