//! Soot: soft-edged, crossing slip and paint alike, where it covers a third or more. On red alone it is not told yet: a
//! red neck in the shade of its rim looks the same.

use crate::plate::{Drawing, PICTURE, Place, inner, plate, share_of};
use sherdlight::surface::{Label, SurfaceMap};

/// What soot gives back of the light (common practice).
const SOOT: f64 = 0.04;

/// A blotch: middle x and y, radius of the half that is evenly covered. It fades over 60 pixels more.
type Blotch = [f64; 3];

/// Share of a place that soot covers, up to 0.75 in the middle; smooth (cubic) towards nothing.
fn covered([cx, cy, radius]: Blotch, x: usize, y: usize) -> f64 {
    let t = (1.0 - ((x as f64 - cx).hypot(y as f64 - cy) - radius) / 60.0).clamp(0.0, 1.0);
    0.75 * t * t * (3.0 - 2.0 * t)
}

/// A painted plate with soot on it, and what the program makes of it.
fn sooty(blotch: Blotch) -> SurfaceMap {
    let plan = move |x: usize, y: usize| {
        let under = plate(|_| Place::black())(x, y);
        let share = covered(blotch, x, y);
        Place { label: under.label, xyz: under.xyz.map(|v| (1.0 - share) * v + share * SOOT) }
    };
    Drawing { plan, light: |x: f64, _: f64| 1.0 - 0.3 * x / 440.0, brushed: 0.02 }.settled()
}

/// Share of soot on places of the picture; none off the plate.
fn at(blotch: Blotch, i: usize) -> Option<f64> {
    let (x, y) = ((i % PICTURE[0]).checked_sub(130)?, (i / PICTURE[0]).checked_sub(130)?);
    (x < 440 && y < 360).then(|| covered(blotch, x, y))
}

/// On slip and paint, and over the margin of clay.
const BLOTCHES: [(&str, Blotch); 2] =
    [("slip and paint", [280.0, 180.0, 25.0]), ("the margin", [110.0, 180.0, 25.0])];

#[test]
fn soot_is_a_cloud_on_slip_and_paint() {
    for (name, blotch) in BLOTCHES {
        let map = sooty(blotch);
        let thick = share_of(&map, |i| at(blotch, i).is_some_and(|s| s > 0.45), |l| l == Label::Cloud);
        assert!(thick > 0.85, "{name}: {thick:.4} of what is mostly covered");
        let thin = share_of(&map, |i| at(blotch, i).is_some_and(|s| s < 0.15), |l| l == Label::Cloud);
        assert!(thin < 0.02, "{name}: {thin:.4} of what is hardly covered");
        let lost = share_of(&map, |i| at(blotch, i).is_some(), |l| l == Label::LostPaint);
        assert!(lost < 0.01, "{name}: {lost:.4} lost paint");
    }
}

/// Paint ends at once: a disc of it as large as the blotches is black.
#[test]
fn a_block_of_paint_is_no_cloud() {
    for contrast in [1.0, 0.6] {
        let plan = move |x: usize, y: usize| {
            let disc = (x as f64 - 280.0).hypot(y as f64 - 180.0) < 55.0;
            if disc {
                Place::paint(Label::Black, contrast)
            } else {
                plate(|_| Place::paint(Label::Black, contrast))(x, y)
            }
        };
        let drawing = Drawing { plan, light: |x: f64, _: f64| 1.0 - 0.3 * x / 440.0, brushed: 0.02 };
        let (map, truth) = (drawing.settled(), drawing.truth());
        assert!(!map.labels.contains(&Label::Cloud), "{contrast}");
        let disc = |i: usize| truth[i] == Label::Black && inner(&truth, i);
        let share = share_of(&map, disc, |l| l == Label::Black);
        assert!(share > 0.98, "{contrast}: {share:.4}");
    }
}
