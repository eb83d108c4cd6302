//! Size of a piece in the plane of the card.

use super::plane::CardPlane;
use super::record::SizePart;
use imageproc::geometry::convex_hull;
use imageproc::point::Point;

/// Focal length for a 35 mm frame where the file tells none, mm: that of most phones' main camera.
const FOCAL_35MM: f64 = 26.0;
/// Long side of that frame, mm.
const FRAME_35MM: f64 = 36.0;
/// How far the outline may stand off the card's plane, as a share of the piece's smaller side. The card is laid
/// somewhere between the front of a piece and its middle, so about a quarter of its depth from the plane of the
/// outline, and a piece is about as deep as its smaller side is long. For a flat sherd that is too much.
const OFF_PLANE: f64 = 0.25;
/// Half-width of the 95 % interval of a rectangular distribution over that of the whole.
const RECTANGULAR: f64 = 0.95;
/// The hull is found on whole numbers up to this.
const UNITS: f64 = 8000.0;

/// What the size of a piece depends on.
pub(super) struct Seen<'a> {
    /// Outline, full-size pixels, through the middles of the map's pixels at the rim.
    pub outline: &'a [[f64; 2]],
    /// Full-size pixels per map pixel.
    pub factor: usize,
    /// Longer side of the photograph, pixels.
    pub long_side_px: f64,
    /// Focal length for a 35 mm frame, where the file tells it.
    pub focal_35mm: Option<f64>,
}

/// Longer and shorter side of the smallest rectangle about the outline, with their uncertainty: the card's corners,
/// the outline by one map pixel at either side, and the height of the outline over the card's plane, which one
/// photograph does not tell. A point at height h looks farther out by h over the camera's distance.
pub(super) fn size(plane: &CardPlane, seen: &Seen) -> Option<SizePart> {
    let [width, height] = rectangle(plane, seen)?;
    let corners: Option<Vec<[f64; 2]>> =
        plane.neighbours().map(|plane| plane.and_then(|plane| rectangle(&plane, seen))).collect();
    let moved = |k: usize, here: f64| {
        let sum: f64 = corners.iter().flatten().map(|sides| (sides[k] - here).powi(2)).sum();
        1.96 * sum.sqrt()
    };
    // No plane at all within the corners' uncertainty: as uncertain as the size itself.
    let corner = if corners.is_some() { moved(0, width).max(moved(1, height)) } else { width };
    let mm_per_px = plane.mm_per_px(middle(seen.outline));
    let rim = 2f64.sqrt() * seen.factor as f64 * mm_per_px;
    let focal = seen.focal_35mm.filter(|&f| f > 5.0).unwrap_or(FOCAL_35MM);
    let distance = focal / FRAME_35MM * seen.long_side_px * mm_per_px;
    let lifted = RECTANGULAR * width * OFF_PLANE * height / distance;
    let flat = corner.hypot(rim);
    Some(SizePart { width, height, u95: flat.hypot(lifted), u95_flat: flat })
}

fn middle(outline: &[[f64; 2]]) -> [f64; 2] {
    [0, 1].map(|k| outline.iter().map(|p| p[k]).sum::<f64>() / outline.len().max(1) as f64)
}

/// Longer and shorter side of the smallest rectangle, mm. One of its sides lies on a side of the hull (Freeman &
/// Shapira 1975, Commun. ACM 18(7)).
fn rectangle(plane: &CardPlane, seen: &Seen) -> Option<[f64; 2]> {
    let places: Option<Vec<[f64; 2]>> = seen.outline.iter().map(|p| plane.place(*p)).collect();
    let places = places.filter(|places| places.len() > 2)?;
    let low = [0, 1].map(|k| places.iter().map(|p| p[k]).fold(f64::INFINITY, f64::min));
    let reach = places.iter().flat_map(|p| [p[0] - low[0], p[1] - low[1]]).fold(0.0, f64::max);
    let unit = reach / UNITS;
    if !(unit.is_finite() && unit > 0.0) {
        return None;
    }
    let whole = |p: &[f64; 2]| [0, 1].map(|k| ((p[k] - low[k]) / unit).round() as i32);
    let mut points: Vec<Point<i32>> = places.iter().map(whole).map(|[x, y]| Point::new(x, y)).collect();
    points.sort_by_key(|p| (p.x, p.y));
    points.dedup();
    let hull: Vec<[f64; 2]> =
        convex_hull(points).iter().map(|p| [f64::from(p.x) * unit, f64::from(p.y) * unit]).collect();
    let extent = |way: [f64; 2]| {
        let reach = hull.iter().map(|p| p[0] * way[0] + p[1] * way[1]);
        reach.clone().fold(f64::MIN, f64::max) - reach.fold(f64::MAX, f64::min)
    };
    let sides = (0..hull.len()).filter_map(|i| {
        let (p, q) = (hull[i], hull[(i + 1) % hull.len()]);
        let (x, y) = (q[0] - p[0], q[1] - p[1]);
        let long = x.hypot(y);
        (long > 0.0).then(|| [extent([x / long, y / long]), extent([-y / long, x / long])])
    });
    let [one, other] = sides.min_by(|p, q| (p[0] * p[1]).total_cmp(&(q[0] * q[1])))?;
    // The outline runs through the middles of pixels: half a map pixel is missing at either side.
    let rim = seen.factor as f64 * plane.mm_per_px(middle(seen.outline));
    Some([one.max(other) + rim, one.min(other) + rim])
}
