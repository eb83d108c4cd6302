//! How sharp the edges of the paint are: the width of the step from white slip to black paint, from 10 % to 90 %.
//!
//! Comes in: the label map, which says where such borders lie and how much room there is, and the photograph at full
//! size. Goes out: [`Edge`]s. The width is that of a step blurred by a normal distribution, found the same way as on
//! the card's own borders, so that the two can be compared: what the picture blurs, it blurs on both.

use super::strips::{OUTSIDE, Point, Shape, along, pixel_at};
use crate::card::profile_width;
use crate::photo::Photo;
use crate::surface::{Label, Piece, SurfaceMap};
use rayon::prelude::*;

/// Borders looked at.
const MOST_SITES: usize = 800;
/// Profiles read of them.
const MOST_PROFILES: usize = 240;
/// Fewest profiles that give a width.
const LEAST_PROFILES: usize = 12;
/// Room on either side of a border, full-size pixels: at least, and looked at at most.
const ROOM: [f64; 2] = [4.0, 30.0];

/// One step across a border.
#[derive(Debug, Clone, Copy)]
pub(super) struct Edge {
    /// A full-size pixel on the border, and another so far across as the step is wide.
    pub ends: [Point; 2],
}

impl Edge {
    /// Width in full-size pixels.
    pub fn width(&self) -> f64 {
        (self.ends[1][0] - self.ends[0][0]).hypot(self.ends[1][1] - self.ends[0][1])
    }
}

/// A border with its direction and the room to either side.
struct Site {
    place: Point,
    inward: Point,
    room: f64,
}

/// Steps across white-to-black borders with room enough; empty where there are too few.
///
/// A soft edge needs more room than a sharp one to come to rest on both sides. So the borders with little room are
/// left out, by their room alone and not by the width found on them, until the room is twice the median width.
pub(super) fn edges(photo: &Photo, map: &SurfaceMap, piece: &Piece, number: u8) -> Vec<Edge> {
    let paint = Shape::new(map, piece, &[Label::Black]);
    let pixels = paint.rim_pixels(piece, number, &[Label::White], MOST_SITES);
    let sites: Vec<Option<Site>> =
        pixels.into_par_iter().map(|pixel| site(&paint, pixel, map.factor)).collect();
    let mut sites: Vec<Site> = sites.into_iter().flatten().filter(|s| s.room >= ROOM[0]).collect();
    let step = sites.len().div_ceil(MOST_PROFILES).max(1);
    sites = sites.into_iter().step_by(step).collect();
    let read: Vec<Option<(f64, Edge)>> =
        sites.par_iter().map(|site| Some((site.room, edge(photo, site)?))).collect();
    let mut edges: Vec<(f64, Edge)> = read.into_iter().flatten().collect();
    loop {
        if edges.len() < LEAST_PROFILES {
            return Vec::new();
        }
        let wanted = 2.0 * median(edges.iter().map(|(_, edge)| edge.width()).collect());
        let before = edges.len();
        edges.retain(|(room, _)| *room >= wanted.min(ROOM[1]));
        if edges.len() == before {
            return edges.into_iter().map(|(_, edge)| edge).collect();
        }
    }
}

/// The border at a pixel, where white lies outside; the room is half of what there is to the next border.
fn site(paint: &Shape, pixel: [i64; 2], factor: usize) -> Option<Site> {
    let inward = paint.inward(pixel)?;
    let from = pixel.map(|v| v as f64 + 0.5);
    let most = 2.0 * ROOM[1] / factor as f64;
    let run = |start: f64, way: f64, label: Label| {
        let mut out = start;
        while out < most && paint.label(pixel_at(along(from, inward, way * out))) == label {
            out += 1.0;
        }
        out
    };
    if paint.label(pixel_at(along(from, inward, -OUTSIDE))) != Label::White {
        return None;
    }
    let room = run(0.0, 1.0, Label::Black).min(run(OUTSIDE, -1.0, Label::White)) / 2.0 * factor as f64;
    Some(Site { place: from.map(|v| v * factor as f64), inward, room })
}

fn edge(photo: &Photo, site: &Site) -> Option<Edge> {
    let at = |t: f64| along(site.place, site.inward, t);
    let width = profile_width(photo, at, site.room.min(ROOM[1]))?;
    Some(Edge { ends: [site.place, at(width)] })
}

pub(super) fn median(mut values: Vec<f64>) -> f64 {
    let middle = values.len() / 2;
    *values.select_nth_unstable_by(middle, f64::total_cmp).1
}
