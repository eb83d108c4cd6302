//! Draws the field tight: small patches of the signal are compared, and the field follows where they agree.

use super::few::{Form, fitted};
use super::field::{Field, Pull, smoothed};
use super::picture::Picture;
use super::round::turned;
use rayon::prelude::*;

/// Half the side of a patch, piece units, and never fewer pixels than the second.
const PATCH: f64 = 0.045;
const LEAST_PATCH: i32 = 5;
/// Patches whose signals agree less than this (correlation) pull nothing.
const LEAST_CORRELATION: f64 = 0.25;
/// Share of a patch that must be known in both pictures.
const LEAST_KNOWN: f32 = 0.4;
/// Mean square of a signal added to both before the correlation: what is even agrees with nothing.
const EVEN: f32 = 0.05;
/// Residual that halves the weight of a pull, pixels.
const LOOSE: f64 = 0.7;

/// How patches about a node agree.
#[derive(Clone, Copy, Debug)]
pub(super) struct Match {
    /// Where they agree best, pixels of the fired piece's picture; `None` at the end of the search.
    pub shift: Option<[f64; 2]>,
    /// How sharply, symmetric matrix [xx, xy, yy].
    pub curve: [f64; 3],
    /// Correlation there.
    pub best: f64,
    /// Correlation without a shift.
    pub here: f64,
}

/// The signal of the unfired piece laid over the picture of the fired one.
struct Laid {
    /// Times how far it is known.
    signal: Vec<f32>,
    known: Vec<f32>,
}

fn laid_over(field: &Field, after: &Picture, before: &Picture) -> Laid {
    let place = |i: usize| {
        if after.known[i] == 0.0 {
            return [0.0; 2];
        }
        let [signal, known] = before.sample(field.at(after.place(i)));
        [signal * known, known]
    };
    let both: Vec<[f32; 2]> = (0..after.known.len()).into_par_iter().with_min_len(4096).map(place).collect();
    Laid { signal: both.iter().map(|b| b[0]).collect(), known: both.iter().map(|b| b[1]).collect() }
}

/// How the field is drawn tight.
#[derive(Clone, Copy, Debug)]
pub(super) struct Pace {
    /// How far about each node is looked, pixels.
    pub reach: i32,
    /// How often.
    pub rounds: usize,
    /// How it gives way.
    pub give: Give,
}

/// How a field gives way to pulls.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Give {
    /// It bends; so much bending against pulling: a patch's pull is its correlation squared times the curvature of the
    /// peak, about 0.1.
    Bending(f64),
    /// It has few numbers.
    Few(Form),
    /// It is that of a vessel turned about its axis.
    Turned,
}

/// The field drawn tight.
pub(super) fn refined(field: &Field, after: &Picture, before: &Picture, pace: Pace) -> Field {
    let mut field = field.clone();
    for _ in 0..pace.rounds {
        let matches = matches(&field, after, before, pace.reach);
        let pulls: Vec<Option<Pull>> = matches
            .iter()
            .map(|found| {
                let found = found.filter(|m| m.best > LEAST_CORRELATION)?;
                let weight = found.best * found.best;
                Some(Pull { shift: found.shift?, hold: found.curve.map(|c| c * weight) })
            })
            .collect();
        field = match pace.give {
            // Once is enough: it is fitted to the end each time.
            Give::Turned => {
                let found = turned(after.profile(), &field, &pulls, after.scale, LOOSE);
                return found.unwrap_or(field);
            }
            Give::Bending(stiffness) => {
                let shifts = smoothed([field.columns, field.rows], &pulls, stiffness, LOOSE);
                let by: Vec<[f64; 2]> = shifts.iter().map(|s| s.map(|v| v / after.scale)).collect();
                field.moved(&by)
            }
            Give::Few(form) => match fitted(form, &field, &pulls, after.scale, LOOSE) {
                Some(fitted) => fitted,
                None => return field,
            },
        };
    }
    field
}

/// How patches about each node agree; `None` off the piece and where too little is known.
pub(super) fn matches(field: &Field, after: &Picture, before: &Picture, reach: i32) -> Vec<Option<Match>> {
    let laid = laid_over(field, after, before);
    let radius = ((PATCH * after.scale).round() as i32).max(LEAST_PATCH);
    let at_node = |i: usize| {
        let [u, v] = after.raster(field.node(i)).map(|v| v.round() as i32);
        let inside = u >= 0 && v >= 0 && u < after.width as i32 && v < after.height as i32;
        let on_piece = inside && after.known[v as usize * after.width + u as usize] > 0.0;
        on_piece.then(|| match_at(after, &laid, [u, v], radius, reach)).flatten()
    };
    (0..field.to.len()).into_par_iter().map(at_node).collect()
}

fn match_at(after: &Picture, laid: &Laid, at: [i32; 2], radius: i32, reach: i32) -> Option<Match> {
    let side = 2 * reach + 1;
    let found: Vec<f64> = (0..side * side)
        .map(|k| correlation(after, laid, at, radius, [k % side - reach, k / side - reach]).unwrap_or(-1.0))
        .collect();
    let here = found[(reach * side + reach) as usize];
    let top = (0..found.len()).max_by(|&i, &j| found[i].total_cmp(&found[j]).then(j.cmp(&i)))?;
    let (best, [x, y]) = (found[top], [top as i32 % side, top as i32 / side]);
    if best <= -1.0 {
        return None;
    }
    let rim = x == 0 || y == 0 || x == side - 1 || y == side - 1;
    if rim {
        return Some(Match { shift: None, curve: [0.0; 3], best, here });
    }
    // The peak as a paraboloid through the nine values about it.
    let near = |dx: i32, dy: i32| found[((y + dy) * side + x + dx) as usize];
    let slope = [(near(1, 0) - near(-1, 0)) / 2.0, (near(0, 1) - near(0, -1)) / 2.0];
    let xx = (2.0 * best - near(1, 0) - near(-1, 0)).max(1e-4);
    let yy = (2.0 * best - near(0, 1) - near(0, -1)).max(1e-4);
    let most = 0.95 * (xx * yy).sqrt();
    let xy = (-(near(1, 1) - near(1, -1) - near(-1, 1) + near(-1, -1)) / 4.0).clamp(-most, most);
    let area = xx * yy - xy * xy;
    let part = [(yy * slope[0] - xy * slope[1]) / area, (xx * slope[1] - xy * slope[0]) / area];
    let shift = [x - reach, y - reach];
    let shift = [0, 1].map(|c| f64::from(shift[c]) + part[c].clamp(-0.7, 0.7));
    Some(Match { shift: Some(shift), curve: [xx, xy, yy], best, here })
}

/// Sums that are kept side by side: they do not wait for each other.
const LANES: usize = 8;

/// Sums over a patch: weights, both signals, their squares and their product.
#[derive(Default)]
struct Sums([[f32; LANES]; 6]);

impl Sums {
    /// A row of signal and weight of the one picture, and of the other.
    fn add_row(&mut self, row: [&[f32]; 4]) {
        let [p, k, q, l] = row;
        let ((p, p_rest), (k, k_rest)) = (p.as_chunks::<LANES>(), k.as_chunks::<LANES>());
        let ((q, q_rest), (l, l_rest)) = (q.as_chunks::<LANES>(), l.as_chunks::<LANES>());
        for (((p, k), q), l) in p.iter().zip(k).zip(q).zip(l) {
            self.add(p, k, q, l);
        }
        // What is left is filled up with places of no weight.
        let mut rest = [[0f32; LANES]; 4];
        for (to, from) in rest.iter_mut().zip([p_rest, k_rest, q_rest, l_rest]) {
            to[..from.len()].copy_from_slice(from);
        }
        self.add(&rest[0], &rest[1], &rest[2], &rest[3]);
    }

    #[inline(always)]
    fn add(&mut self, p: &[f32; LANES], k: &[f32; LANES], q: &[f32; LANES], l: &[f32; LANES]) {
        let [n, a, b, aa, bb, ab] = &mut self.0;
        for i in 0..LANES {
            let (pl, qk) = (p[i] * l[i], q[i] * k[i]);
            n[i] += k[i] * l[i];
            a[i] += pl;
            b[i] += qk;
            aa[i] += p[i] * pl;
            bb[i] += q[i] * qk;
            ab[i] += p[i] * q[i];
        }
    }
}

/// Correlation of a patch of the fired piece with one of the unfired piece that lies `by` off.
fn correlation(after: &Picture, laid: &Laid, at: [i32; 2], radius: i32, by: [i32; 2]) -> Option<f64> {
    let (width, height) = (after.width as i32, after.height as i32);
    let span = |c: usize, size: i32| {
        let low = (at[c] - radius).max(0).max(-by[c]);
        let high = (at[c] + radius).min(size - 1).min(size - 1 - by[c]);
        low..high + 1
    };
    let (columns, rows) = (span(0, width), span(1, height));
    if columns.is_empty() || rows.is_empty() {
        return None;
    }
    let mut sums = Sums::default();
    for y in rows {
        let own = (y * width + columns.start) as usize..(y * width + columns.end) as usize;
        let start = ((y + by[1]) * width + columns.start + by[0]) as usize;
        let other = start..start + own.len();
        let all =
            [&after.signal[own.clone()], &after.known[own], &laid.signal[other.clone()], &laid.known[other]];
        sums.add_row(all);
    }
    let [n, a, b, aa, bb, ab] = sums.0.map(|lanes| lanes.iter().sum::<f32>());
    let full = ((2 * radius + 1) * (2 * radius + 1)) as f32;
    if n < LEAST_KNOWN * full {
        return None;
    }
    let (mean_a, mean_b) = (a / n, b / n);
    let (va, vb) = (aa / n - mean_a * mean_a, bb / n - mean_b * mean_b);
    let both = ab / n - mean_a * mean_b;
    Some(f64::from(both / ((va.max(0.0) + EVEN) * (vb.max(0.0) + EVEN)).sqrt()))
}
