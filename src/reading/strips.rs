//! How wide strips are: painted lines, the bare margin between red and white.
//!
//! Comes in: the label map, a set of labels taken as one shape. Goes out: [`Strip`]s, places where the shape was
//! measured across. A look starts at the rim of the shape and goes across it to the other rim. Where both rims are
//! about parallel and the shape keeps its width for a while, both ways together two and a half times that width, it
//! is a strip; a block, a dot, a field of a checker, a tooth are not. (Measuring from rim to opposite rim is the
//! idea of the stroke width transform: Epshtein, Ofek & Wexler 2010, CVPR.) Looks are spread evenly over the rims, so
//! that every piece of a strip counts by its length.
//!
//! The rim is where a smoothed mask (binomial 3 x 3, bilinear between pixels) falls through one half: a line that
//! covers w pixels comes out w wide.

use crate::surface::{Label, Piece, SurfaceMap};
use rayon::prelude::*;

pub(super) type Point = [f64; 2];

/// Looks at most: beyond, percentiles hardly change.
const MOST_LOOKS: usize = 900;
/// A strip is at most this share of the root of the piece's area wide: what is wider is a field.
const WIDEST: f64 = 0.125;
/// Below this width in map pixels there is no rim to tell from its opposite.
const NARROWEST: f64 = 1.0;
/// Cosine of the angle up to which two rims count as parallel: 30 degrees, of which hand-drawn rims and the stairs of
/// the pixels need half.
const PARALLEL: f64 = 0.866;
/// Steps along the strip, each half its width, that must keep its width: two and a half widths.
const STEPS: usize = 5;
/// The same in map pixels at least: a speck is no line.
const LEAST_LENGTH: f64 = 8.0;
/// Kept is the width while it changes by less than this factor.
const SAME_WIDTH: f64 = 1.5;
/// Where the looks beside a look lie, map pixels along the strip: five in 4 pixels hold a stair of any slope.
const BESIDE: [f64; 4] = [-1.6, -0.8, 0.8, 1.6];
/// Where the label outside the rim is read, map pixels from it: beyond the pixel that mixes both.
pub(super) const OUTSIDE: f64 = 1.5;

/// The labels taken as one shape.
pub(super) struct Shape<'a> {
    map: &'a SurfaceMap,
    holds: [bool; Label::ALL.len()],
    /// Widest strip, map pixels.
    widest: f64,
}

/// One look across a strip.
#[derive(Debug, Clone, Copy)]
pub(super) struct Strip {
    /// Both rims, map pixels.
    pub ends: [Point; 2],
    /// The labels outside them.
    pub outside: [Label; 2],
    /// Length of rim it stands for, relative.
    pub weight: f64,
}

impl Strip {
    /// Width in map pixels.
    pub fn width(&self) -> f64 {
        length(minus(self.ends[1], self.ends[0]))
    }
}

impl<'a> Shape<'a> {
    pub fn new(map: &'a SurfaceMap, piece: &Piece, labels: &[Label]) -> Self {
        let mut holds = [false; Label::ALL.len()];
        labels.iter().for_each(|&label| holds[label as usize] = true);
        Self { map, holds, widest: WIDEST * (piece.area as f64).sqrt() }
    }

    /// Pixels of the piece in the shape with one of the four neighbours outside and one of the labels `beside` near
    /// by, thinned evenly to `most`.
    pub fn rim_pixels(&self, piece: &Piece, number: u8, beside: &[Label], most: usize) -> Vec<[i64; 2]> {
        let [x0, y0, x1, y1] = piece.bounds;
        let rows: Vec<Vec<[i64; 2]>> = (y0..y1)
            .into_par_iter()
            .map(|y| {
                let width = self.map.width;
                let row = |y: usize| &self.map.labels[y * width..(y + 1) * width];
                let holds = |label: Label| self.holds[label as usize];
                let (here, above, below) = (row(y), row(y.max(1) - 1), row((y + 1).min(self.map.height - 1)));
                // Where the picture ends, the shape ends.
                let at_end = |x: usize| x == 0 || x + 1 == width || y == 0 || y + 1 == self.map.height;
                (x0..x1)
                    .filter(|&x| holds(here[x]))
                    .filter(|&x| {
                        at_end(x)
                            || !(holds(here[x - 1])
                                && holds(here[x + 1])
                                && holds(above[x])
                                && holds(below[x]))
                    })
                    .filter(|&x| self.map.piece_of[y * width + x] == number)
                    .map(|x| [x as i64, y as i64])
                    .filter(|&[x, y]| {
                        [[x - 2, y], [x + 2, y], [x, y - 2], [x, y + 2]]
                            .iter()
                            .any(|&near| beside.contains(&self.label(near)))
                    })
                    .collect()
            })
            .collect();
        let all = rows.concat();
        // Multiples of the golden ratio modulo 1 spread evenly and keep no step with any pattern (Weyl).
        let share = most as f64 / all.len().max(1) as f64;
        let chosen = |i: usize| (i as f64 * 0.618_033_988_749_894_9).fract() < share;
        all.into_iter().enumerate().filter(|(i, _)| chosen(*i)).map(|(_, pixel)| pixel).collect()
    }

    /// Looks across the shape from everywhere on its rim where one of the labels `beside` lies outside: those that
    /// found a strip, in the order of the rows.
    pub fn strips(&self, piece: &Piece, number: u8, beside: &[Label]) -> Vec<Strip> {
        let pixels = self.rim_pixels(piece, number, beside, MOST_LOOKS);
        let looks: Vec<Option<Strip>> =
            pixels.into_par_iter().map(|pixel| self.strip(pixel, beside)).collect();
        looks.into_iter().flatten().collect()
    }

    fn strip(&self, pixel: [i64; 2], beside: &[Label]) -> Option<Strip> {
        let inward = self.inward(pixel)?;
        let from = pixel.map(|v| v as f64 + 0.5);
        if !beside.contains(&self.label(pixel_at(along(from, inward, -OUTSIDE)))) {
            return None;
        }
        let (far, near) = (self.rim(from, inward)?, self.rim(from, inward.map(|v| -v))?);
        let back = self.inward(pixel_at(along(from, inward, far - 0.5)))?;
        if dot(inward, back) > -PARALLEL {
            return None;
        }
        let across = unit(minus(inward, back))?;
        let ends = self.steadied(self.chord(along(from, inward, (far - near) / 2.0), across)?, across);
        let width = length(minus(ends[1], ends[0]));
        if width < NARROWEST {
            return None;
        }
        let wanted = STEPS.max((LEAST_LENGTH / (width / 2.0)).ceil() as usize);
        if self.followed(ends, across, 1.0, wanted) + self.followed(ends, across, -1.0, wanted) < wanted {
            return None;
        }
        let outside = [along(ends[0], across, -OUTSIDE), along(ends[1], across, OUTSIDE)];
        // A slanting rim has fewer pixels on the same length.
        let weight = 1.0 / inward[0].abs().max(inward[1].abs());
        Some(Strip { ends, outside: outside.map(|p| self.label(pixel_at(p))), weight })
    }

    /// A look made as wide as the mean of five, close side by side: a slanting rim is a stair, on which single looks
    /// fall high or low.
    fn steadied(&self, ends: [Point; 2], across: Point) -> [Point; 2] {
        let middle = half_way(ends);
        let beside = BESIDE.iter().filter_map(|&side| {
            let ends = self.chord(along(middle, [-across[1], across[0]], side), across)?;
            Some(length(minus(ends[1], ends[0])))
        });
        let width = length(minus(ends[1], ends[0]));
        let (sum, count) = beside
            .filter(|here| *here < SAME_WIDTH * width && here * SAME_WIDTH > width)
            .fold((width, 1.0), |(sum, count), here| (sum + here, count + 1.0));
        [-0.5, 0.5].map(|half| along(middle, across, half * sum / count))
    }

    /// Steps of half its width that the shape keeps about this width, up to `most`, to one side of a look.
    fn followed(&self, ends: [Point; 2], across: Point, side: f64, most: usize) -> usize {
        let width = length(minus(ends[1], ends[0]));
        let way = [-across[1] * side, across[0] * side];
        let mut middle = half_way(ends);
        for step in 0..most {
            let next = along(middle, way, width / 2.0);
            let (ahead, behind) = (self.run(next, across), self.run(next, across.map(|v| -v)));
            let here = ahead + behind;
            // Whole pixels are enough here, and may be one off.
            if here > SAME_WIDTH * width + 1.0 || here < width / SAME_WIDTH - 1.0 || here <= 0.0 {
                return step;
            }
            middle = along(next, across, (ahead - behind) / 2.0);
        }
        most
    }

    /// How far the pixels of the shape go on in a direction, to half a pixel; 0 outside.
    fn run(&self, from: Point, way: Point) -> f64 {
        let mut out = 0.0;
        while out < self.widest && self.has(pixel_at(along(from, way, out))) {
            out += 0.5;
        }
        out
    }

    /// Both rims on the line through a place inside.
    fn chord(&self, through: Point, way: Point) -> Option<[Point; 2]> {
        let (ahead, behind) = (self.rim(through, way)?, self.rim(through, way.map(|v| -v))?);
        Some([along(through, way, -behind), along(through, way, ahead)])
    }

    /// Distance to the rim; `None` beyond the widest strip, or where the shape is too thin to have an inside.
    fn rim(&self, from: Point, way: Point) -> Option<f64> {
        let mut out = 1.0;
        while self.has(pixel_at(along(from, way, out))) {
            out += 1.0;
            if out > self.widest {
                return None;
            }
        }
        let cover = |t: f64| self.cover(along(from, way, t));
        // The smoothed rim lies within a pixel or so of the rim of the pixels.
        while cover(out) >= 0.5 {
            out += 1.0;
            if out > self.widest {
                return None;
            }
        }
        let mut inside = out - 1.0;
        while cover(inside) < 0.5 {
            inside -= 0.5;
            if inside < -1.0 {
                return None;
            }
        }
        // Two steps of false position: the cover is nearly straight over a pixel.
        let mut rim = inside;
        for _ in 0..2 {
            let (high, low) = (cover(inside), cover(out));
            rim = inside + (out - inside) * (high - 0.5) / (high - low);
            if cover(rim) >= 0.5 {
                inside = rim;
            } else {
                out = rim;
            }
        }
        Some(rim)
    }

    /// Direction from outside into the shape at a pixel on its rim: towards the mean of its own pixels near by.
    pub fn inward(&self, [x, y]: [i64; 2]) -> Option<Point> {
        let mut sum = [0.0; 2];
        for (dy, reach) in [(-2i64, 1i64), (-1, 2), (0, 2), (1, 2), (2, 1)] {
            for dx in -reach..=reach {
                if self.has([x + dx, y + dy]) {
                    sum = [sum[0] + dx as f64, sum[1] + dy as f64];
                }
            }
        }
        unit(sum)
    }

    /// How much of a place the shape covers, 0 to 1, from the 4 x 4 pixels about it: binomial smoothing and bilinear
    /// interpolation in one.
    fn cover(&self, p: Point) -> f64 {
        let [x, y] = p.map(|v| v - 0.5);
        let (x0, y0) = (x.floor(), y.floor());
        let weights = |f: f64| [1.0 - f, 2.0 - f, 1.0 + f, f].map(|w| w / 4.0);
        let (across, down) = (weights(x - x0), weights(y - y0));
        let (x0, y0) = (x0 as i64 - 1, y0 as i64 - 1);
        let row = |j: usize| -> f64 {
            let own = |i: usize| f64::from(u8::from(self.has([x0 + i as i64, y0 + j as i64])));
            (0..4).map(|i| across[i] * own(i)).sum()
        };
        (0..4).map(|j| down[j] * row(j)).sum()
    }

    /// The label of a pixel; background beyond the picture.
    pub fn label(&self, [x, y]: [i64; 2]) -> Label {
        let inside = x >= 0 && y >= 0 && x < self.map.width as i64 && y < self.map.height as i64;
        if inside { self.map.labels[y as usize * self.map.width + x as usize] } else { Label::Background }
    }

    fn has(&self, pixel: [i64; 2]) -> bool {
        self.holds[self.label(pixel) as usize]
    }
}

/// The pixel that holds a place.
pub(super) fn pixel_at(p: Point) -> [i64; 2] {
    p.map(|v| v.floor() as i64)
}

/// `from` and so far along a direction.
pub(super) fn along(from: Point, way: Point, far: f64) -> Point {
    [from[0] + far * way[0], from[1] + far * way[1]]
}

fn minus(p: Point, q: Point) -> Point {
    [p[0] - q[0], p[1] - q[1]]
}

fn dot(p: Point, q: Point) -> f64 {
    p[0] * q[0] + p[1] * q[1]
}

fn length(p: Point) -> f64 {
    p[0].hypot(p[1])
}

fn unit(p: Point) -> Option<Point> {
    let l = length(p);
    (l > 0.5).then(|| p.map(|v| v / l))
}

fn half_way([p, q]: [Point; 2]) -> Point {
    [(p[0] + q[0]) / 2.0, (p[1] + q[1]) / 2.0]
}
