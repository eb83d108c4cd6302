//! The outline of a standing piece, row by row across the line about which it is symmetric.

use super::picture::Picture;

/// Leans of the axis that are tried, radians: so far to either side, in so many steps, then so many times halfway between the
/// best and its neighbours.
const LEANS: f64 = 0.3;
const STEPS: i32 = 12;
const HALVINGS: usize = 6;
/// What a lean of one radian counts, as a standard deviation of the middles, piece units: an outline that is symmetric about many
/// lines, as that of a ball, is taken upright.
const UPRIGHT: f64 = 0.005;
/// A row starts where a pixel is covered so far.
const EDGE: f32 = 0.5;
/// Rows from the outermost one by which the end is told.
const NEXT: [usize; 2] = [1, 4];

/// Middle and half width of the outline at each row, piece units, in the picture turned so that the axis is upright.
pub(super) struct Profile {
    /// By how much the axis leans to the right at its top, radians.
    pub lean: f64,
    rows: Vec<Option<[f64; 2]>>,
    /// First and last of them that the piece reaches.
    span: Option<[usize; 2]>,
    low: f64,
    scale: f64,
}

impl Profile {
    /// Of a piece.
    pub fn of(picture: &Picture) -> Self {
        let tried = |lean: f64| (lean, Self::leaning(picture, lean).unevenness());
        let better = |one: (f64, f64), other: (f64, f64)| if other.1 < one.1 { other } else { one };
        let step = LEANS / f64::from(STEPS);
        let mut best =
            (-STEPS..=STEPS).map(|k| tried(f64::from(k) * step)).fold((0.0, f64::INFINITY), better);
        for halving in 1..=HALVINGS {
            let by = step / f64::powi(2.0, halving as i32);
            let lean = best.0;
            best = [lean - by, lean + by].map(tried).into_iter().fold(best, better);
        }
        Self::leaning(picture, best.0)
    }

    /// With an axis that leans so far.
    pub fn leaning(picture: &Picture, lean: f64) -> Self {
        let (width, height) = (picture.width as f64, picture.height as f64);
        let scale = picture.scale;
        let corners = [[0.0, 0.0], [width, 0.0], [0.0, height], [width, height]]
            .map(|at| rotated(picture.at_raster(at), -lean));
        let box_of = |c: usize| {
            let (low, high) =
                corners.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), corner| {
                    (low.min(corner[c]), high.max(corner[c]))
                });
            // On the raster where nothing is turned.
            let start = picture.at_raster([0.0; 2])[c];
            (start + ((low - start) * scale).floor() / scale, ((high - low) * scale).ceil() as usize + 2)
        };
        let ((left, columns), (low, many)) = (box_of(0), box_of(1));
        let covered = |x: f64, y: f64| picture.covered_at(rotated([x, y], lean));
        let row = |k: usize| {
            let y = low + k as f64 / scale;
            let x = |i: usize| left + i as f64 / scale;
            let line: Vec<f32> = (0..columns).map(|i| covered(x(i), y)).collect();
            let first = line.iter().position(|&c| c >= EDGE)?;
            let last = line.iter().rposition(|&c| c >= EDGE)?;
            // How far beyond the last pixel that is covered enough the edge lies.
            let beyond = |at: usize, next: Option<usize>| {
                let next = next.map_or(0.0, |next| line[next]);
                f64::from((line[at] - EDGE) / (line[at] - next).max(1e-6)).min(1.0) / scale
            };
            let left = x(first) - beyond(first, first.checked_sub(1));
            let right = x(last) + beyond(last, Some(last + 1).filter(|&next| next < columns));
            Some([(left + right) / 2.0, (right - left) / 2.0])
        };
        let rows: Vec<Option<[f64; 2]>> = (0..many).map(row).collect();
        let ends = [rows.iter().position(Option::is_some), rows.iter().rposition(Option::is_some)];
        let span = if let [Some(first), Some(last)] = ends { Some([first, last]) } else { None };
        Self { lean, rows, span, low, scale }
    }

    /// Variance of the middles, wide rows counting more, and what speaks against leaning.
    fn unevenness(&self) -> f64 {
        let rows = || self.rows.iter().flatten();
        let all = rows().map(|[_, half]| half).sum::<f64>().max(1e-9);
        let mean = rows().map(|[middle, half]| middle * half).sum::<f64>() / all;
        let spread = rows().map(|[middle, half]| half * (middle - mean).powi(2)).sum::<f64>() / all;
        spread + (UPRIGHT * self.lean).powi(2)
    }

    /// Middle and half width at a height, on beyond the ends; `None` where there is no outline.
    pub fn at(&self, y: f64) -> Option<[f64; 2]> {
        let [first, last] = self.span?;
        let row = ((y - self.low) * self.scale).clamp(first as f64, last as f64);
        let (upper, lower) = (row.floor() as usize, row.ceil() as usize);
        let (above, below) = (self.rows[upper]?, self.rows[lower]?);
        Some([0, 1].map(|c| above[c] + (row - upper as f64) * (below[c] - above[c])))
    }

    /// Where the outline begins and ends. There it is round: the square of its half width grows in step with the distance.
    pub fn ends(&self) -> Option<[f64; 2]> {
        let [first, last] = self.span?;
        let square = |row: usize| self.rows.get(row).copied().flatten().map(|[_, half]| half * half);
        // Rows from the outermost one to the end: at most one, for an end that is cut straight.
        let beyond = |near: Option<f64>, far: Option<f64>| {
            let [near, far] = [near?, far?];
            let step = (far - near) / (NEXT[1] - NEXT[0]) as f64;
            (step > 0.0).then(|| (near / step - NEXT[0] as f64).clamp(0.0, 1.0))
        };
        let above = beyond(square(first + NEXT[0]), square(first + NEXT[1]));
        let below =
            beyond(last.checked_sub(NEXT[0]).and_then(square), last.checked_sub(NEXT[1]).and_then(square));
        let at = |row: f64| self.low + row / self.scale;
        Some([at(first as f64 - above.unwrap_or(0.5)), at(last as f64 + below.unwrap_or(0.5))])
    }

    /// Side of a pixel, piece units.
    pub fn pixel(&self) -> f64 {
        1.0 / self.scale
    }

    /// A place of the picture, turned so that the axis is upright.
    pub fn upright(&self, place: [f64; 2]) -> [f64; 2] {
        rotated(place, -self.lean)
    }

    /// Such a place in the picture.
    pub fn leant(&self, place: [f64; 2]) -> [f64; 2] {
        rotated(place, self.lean)
    }
}

/// A place turned about the middle of the piece: to the right above it for a positive angle, radians.
fn rotated([x, y]: [f64; 2], by: f64) -> [f64; 2] {
    let (sin, cos) = by.sin_cos();
    [cos * x - sin * y, sin * x + cos * y]
}

#[cfg(test)]
mod tests {
    use super::super::drawn::Solid;
    use super::*;

    const JAR: Solid = Solid { shape: [0.16, 0.0, -0.5], ends: [-0.2, 0.5] };

    /// The planted lean comes back within a third of a degree, and middle and half width of the upright rows within a third of a
    /// pixel.
    #[test]
    fn a_leaning_axis_is_set_upright() {
        let upright = Profile::of(&JAR.picture(0.3, 192.0));
        assert!(upright.lean.abs() < 0.006, "{}", upright.lean);
        for lean in [-0.2, -0.07, 0.03, 0.15] {
            let profile = Profile::of(&JAR.leaning(0.3, 192.0, lean));
            assert!((profile.lean - lean).abs() < 0.006, "{lean}: {}", profile.lean);
            for y in [-0.2, -0.1, 0.0, 0.1, 0.2, 0.3] {
                let (got, want) = (profile.at(y).expect("a row"), upright.at(y).expect("a row"));
                assert!(
                    got[0].abs() < 0.33 / 192.0 && (got[1] - want[1]).abs() < 0.33 / 192.0,
                    "{lean} {y}: {got:?}"
                );
            }
        }
    }

    /// Half widths of a bowl below its rim by its equation, x^2 = 0.25 - h^2 at h = y / cos, to a tenth of a pixel where its
    /// outline is that of the wall: seen along the ground.
    #[test]
    fn an_edge_lies_within_its_pixel() {
        let bowl = Solid { shape: [0.25, 0.0, -1.0], ends: [-0.05, 0.42] };
        let profile = Profile::leaning(&bowl.picture(0.02, 192.0), 0.0);
        for y in [0.05f64, 0.11, 0.17, 0.23] {
            let want = (0.25 - y * y).sqrt();
            let [middle, half] = profile.at(y).expect("a row");
            assert!(middle.abs() < 1e-3 && (half - want).abs() < 0.15 / 192.0, "{y}: {half} for {want}");
        }
    }

    /// A ball is symmetric about every line: it stands upright.
    #[test]
    fn a_ball_stands_upright() {
        let ball = Solid { shape: [0.25, 0.0, -1.0], ends: [-0.5, 0.5] };
        let lean = Profile::of(&ball.leaning(0.1, 96.0, 0.2)).lean;
        assert!(lean.abs() < 0.03, "{lean}");
    }

    #[test]
    fn no_piece_has_no_rows() {
        let nothing = Solid { shape: [-1.0, 0.0, 0.0], ends: [-0.5, 0.5] };
        let profile = Profile::of(&nothing.picture(0.3, 96.0));
        assert!(profile.ends().is_none() && profile.at(0.1).is_none());
    }
}
