//! Colours that fired clay, slip, ochre and paint can have, and those they cannot.

use super::grid::{Grid, Tint};
use super::refine::Blob;
use crate::card::CorrectedImage;

/// Hues of earths, degrees of CIELAB: from Munsell 5R to 5Y, 25 to 91 degrees, with 20 degrees or more to spare.
const EARTH_HUES: (f64, f64) = (-10.0, 112.0);
/// Strongest chroma of earths in L* 50 units: Munsell chroma 8 is 62 at value 3 and less above.
const EARTH_CHROMA: f64 = 72.0;
/// Strongest chroma of greyed earths of other hues: Munsell chroma 2 is 14 to 17 at value 3 and less above.
const GREYED_CHROMA: f64 = 21.0;
/// In darker places noise rules the tint.
const LIT: f32 = 20.0;
/// Cells across a blob.
const ACROSS: usize = 64;

/// Whether no earth has this tint.
///
/// Soils and clays lie between Munsell hues 5R and 5Y up to chroma 8, greyed ones at other hues up to chroma 2 (Soil
/// Survey Manual, USDA Handbook 18, 2017, chapter 3); so do ochres, and paint of boiled plants is near neutral. The
/// limits here are those, as CIELAB by the Munsell renotation, with room for a poor correction.
fn is_strange(tint: Tint) -> bool {
    let (a, b) = (f64::from(tint.a), f64::from(tint.b));
    let hue = b.atan2(a).to_degrees();
    let earth = hue > EARTH_HUES.0 && hue < EARTH_HUES.1;
    tint.l > LIT && a.hypot(b) > if earth { EARTH_CHROMA } else { GREYED_CHROMA }
}

/// Colours of no earth on a blob.
#[derive(Debug, Clone, Copy)]
pub(super) struct Strange {
    /// Share of the blob that has them.
    pub share: f64,
    /// What the commonest of them is called.
    pub name: &'static str,
}

/// What of a blob has colours of no earth.
pub(super) fn strange(image: &CorrectedImage, blob: &Blob) -> Strange {
    let [x0, y0, x1, y1] = blob.bounds;
    let (w, h) = (x1 - x0, y1 - y0);
    let step = w.max(h).div_ceil(ACROSS).max(1);
    let grid = Grid::of(image, blob.bounds, step);
    let middle = |v: usize, n: usize| (v * step + step / 2).min(n - 1);
    let inside = (0..grid.tint.len())
        .filter(|i| blob.mask[middle(i / grid.width, h) * w + middle(i % grid.width, w)])
        .map(|i| grid.tint[i]);
    let (mut all, mut found) = (0usize, [0usize; NAMES.len()]);
    for tint in inside {
        all += 1;
        if is_strange(tint) {
            found[name(tint)] += 1;
        }
    }
    let commonest = (0..NAMES.len()).fold(0, |best, k| if found[k] > found[best] { k } else { best });
    Strange { share: found.iter().sum::<usize>() as f64 / all.max(1) as f64, name: NAMES[commonest].1 }
}

/// Names of hues by where they end, degrees.
const NAMES: [(f64, &str); 6] = [
    (20.0, "pink"),
    (70.0, "bright orange"),
    (112.0, "bright yellow"),
    (185.0, "green"),
    (285.0, "blue"),
    (350.0, "violet"),
];

fn name(tint: Tint) -> usize {
    let hue = f64::from(tint.b).atan2(f64::from(tint.a)).to_degrees().rem_euclid(360.0);
    NAMES.iter().position(|(end, _)| hue < *end).unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::colour::{LabD50, munsell_to_lab};

    fn tint(lab: [f64; 3]) -> Tint {
        let c = LabD50::from(lab).to_xyz();
        Tint::of([c.x as f32, c.y as f32, c.z as f32])
    }

    /// Soil Survey Manual, USDA Handbook 18 (2017), chapter 3: the notations that soils have.
    #[test]
    fn no_colour_of_soils_is_strange() {
        let mut seen = 0;
        let pages = ["5R", "7.5R", "10R", "2.5YR", "5YR", "7.5YR", "10YR", "2.5Y", "5Y"].map(|hue| (hue, 8));
        let greyed =
            ["10Y", "5GY", "10GY", "5G", "10G", "5BG", "10BG", "5B", "10B", "5PB"].map(|hue| (hue, 2));
        for (hue, strongest) in pages.into_iter().chain(greyed) {
            for value in 3..=8 {
                for chroma in (2..=strongest).step_by(2) {
                    let Some(lab) = munsell_to_lab(&format!("{hue} {value}/{chroma}")) else { continue };
                    assert!(!is_strange(tint([lab.l, lab.a, lab.b])), "{hue} {value}/{chroma}");
                    seen += 1;
                }
            }
        }
        assert!(seen > 200, "{seen}");
    }

    /// ISO 17321-1, table of the 24-patch chart: what is green, blue or violet there is no earth; skins, orange, moderate
    /// red, red and the greys may be.
    #[test]
    fn greens_and_blues_of_the_chart_are_strange() {
        for (lab, strange) in [
            ([37.835, 15.431, 16.558], false),
            ([66.737, 17.371, 18.193], false),
            ([50.348, -4.836, -21.756], true),
            ([42.711, -14.638, 21.890], true),
            ([56.250, 9.235, -24.459], true),
        ] {
            assert_eq!(is_strange(tint(lab)), strange, "{lab:?}");
        }
    }
}
