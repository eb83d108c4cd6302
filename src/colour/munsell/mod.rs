//! Munsell notation by the renotation of 1943, illuminant C and the 2 degree observer.
//!
//! A single chip says less than it seems to: neighbours on a soil chart are often within 3 units. So
//! the nearest few are given, each with its distance.

mod inverse;
mod notation;

pub use inverse::lab_to_munsell;
pub use notation::MunsellNotation;

use notation::FAMILIES;

use super::adaptation::{adapt, cielab};
use super::constants::{MUNSELL_VALUE, WHITE_C, WHITE_D50};
use super::{LabD50, XyzD50};
use palette::color_difference::Ciede2000;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::f64::consts::PI;
use std::sync::OnceLock;

/// Newhall, Nickerson & Judd 1943, J. Opt. Soc. Am. 33(7) 385-418; its own header says more.
const RENOTATION: &str = include_str!("../../../calibration/munsell/renotation.csv");

/// Hues of the table, 2.5 apart.
const HUES: usize = 40;
/// No chroma is larger.
const MOST_CHROMA: f64 = 60.0;
/// Steps of each hue family.
const STEPS: [&str; 4] = ["2.5", "5", "7.5", "10"];

/// Values of the chips compared with: whole steps and the half steps 2.5 and 8.5, as soil and rock
/// charts print them (common practice).
const CHIP_VALUES: [f64; 11] = [1.0, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 8.5, 9.0];
/// One lighter value, for neutrals only: the renotation ends at 9 for the others.
const LIGHTEST_NEUTRAL: f64 = 9.5;
/// Chromas of the chips compared with: 1 to 4, then even steps (common practice of soil charts), to
/// the last chroma that the renotation calls real.
const LOW_CHROMAS: [f64; 4] = [1.0, 2.0, 3.0, 4.0];
/// How many notations are given.
const NEAREST: usize = 3;

/// CIELAB for illuminant C, which no other part of the project sees.
type LabC = palette::Lab<palette::white_point::C, f64>;

/// A chip near a measured colour.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct MunsellMatch {
    /// The notation, such as `10YR 8/2` or `N 3/`.
    pub notation: String,
    /// CIEDE2000 between the colour and the chip, both for illuminant C and 2 degree.
    pub de00: f64,
}

/// The three nearest chips of a soil-chart grid, nearest first; equal distances in the order of hue, value, chroma.
///
/// The colour is carried from D50 to C by linear Bradford. The grid: 40 hues in steps of 2.5; values
/// 1 to 9 with 2.5 and 8.5; chromas 1, 2, 3, 4, 6, 8, ... as far as real colours go; neutrals, also `N 9.5/`.
/// Computed from the colour of a dry surface, never compared by eye. Empty if `lab` is not finite.
pub fn nearest_munsell(lab: LabD50) -> Vec<MunsellMatch> {
    let here = lab_c(adapt(lab.to_xyz().into(), WHITE_D50, WHITE_C));
    if ![here.l, here.a, here.b].iter().all(|v| v.is_finite()) {
        return Vec::new();
    }
    let mut by_distance: Vec<(f64, &Chip)> =
        chips().iter().map(|chip| (here.difference(chip.lab), chip)).collect();
    by_distance.sort_by(|one, other| one.0.total_cmp(&other.0));
    by_distance
        .into_iter()
        .take(NEAREST)
        .map(|(de00, chip)| MunsellMatch { notation: chip.notation.clone(), de00 })
        .collect()
}

/// The colour of a notation such as `10YR 8/2`, `2.5YR 2.5/3` or `N 3/` (also `N3`), for D50.
///
/// Any hue, any value from 1 to 10, any chroma up to the last real one of the entries around it. Between entries x and y
/// are interpolated along hue, then chroma, then Y (Centore 2012, Color Res. Appl. 37(6) 455-464). Between hues that
/// paper goes straight in some regions and around the white in others, as the eye drew the curves; here it is always
/// around the white, which is what it does for reds to yellows of value 4 and more. Above value 9 colours go straight
/// to the white of value 10. Neutrals: any value from 0 to 10. `None` for any other text.
pub fn munsell_to_lab(notation: &str) -> Option<LabD50> {
    MunsellNotation::parse(notation)?.to_lab()
}

impl MunsellNotation {
    /// Its colour for D50, as [`munsell_to_lab`]; `None` where the renotation has no such real colour.
    pub fn to_lab(self) -> Option<LabD50> {
        let xyz = match self.hue {
            None => neutral(self.value)?,
            Some(hue) => table().xyz(hue, self.value, self.chroma)?,
        };
        Some(XyzD50::from(adapt(xyz, WHITE_C, WHITE_D50)).to_lab())
    }
}

/// Luminance factor Y, 0..1 with the perfect diffuser 1, of a Munsell value 0..10: value function of
/// ASTM D1535. The 1943 table gives Y over magnesium oxide; this is 0.975 times that.
pub fn munsell_value_to_y(value: f64) -> f64 {
    MUNSELL_VALUE.iter().rev().fold(0.0, |sum, coefficient| (sum + coefficient) * value) / 100.0
}

/// One chip of the grid.
struct Chip {
    notation: String,
    lab: LabC,
}

/// The renotation: x, y at chroma 2, 4, 6, ... for each hue (0 = 2.5R, 39 = 10RP) and whole value.
struct Table(BTreeMap<(usize, u8), Vec<[f64; 2]>>);

impl Table {
    /// Lines that are not entries (comments, column names) are passed over; a test counts the entries.
    fn parse(text: &str) -> Self {
        let entry = |line: &str| {
            let (hue, rest) = line.split_once(',')?;
            let (value, colours) = rest.split_once(',')?;
            let pair = |text: &str| {
                let (x, y) = text.split_once(' ')?;
                Some([x.parse::<f64>().ok()? / 10_000.0, y.parse::<f64>().ok()? / 10_000.0])
            };
            let colours = colours.split(',').map(pair).collect::<Option<Vec<_>>>()?;
            Some(((hue_index(hue)?, value.parse().ok()?), colours))
        };
        Self(text.lines().filter_map(entry).collect())
    }

    /// x, y of an entry, chroma 2, 4, ... at step 1, 2, ...; between two hues around the white.
    fn entry(&self, hue: f64, value: u8, step: usize) -> Option<[f64; 2]> {
        // Hue 2.5 is the first of the table, 100 the last.
        let place = hue / 2.5 + HUES as f64 - 1.0;
        let (below, share) = (place.floor() as usize, place.fract());
        let at = |hue: usize| self.0.get(&(hue % HUES, value))?.get(step - 1).copied();
        if share == 0.0 {
            return at(below);
        }
        let ([from, near], [to, far]) = (polar(at(below)?), polar(at(below + 1)?));
        let turn = (to - from + PI).rem_euclid(2.0 * PI) - PI;
        let (sin, cos) = (from + turn * share).sin_cos();
        let radius = near + (far - near) * share;
        let [x, y] = white_xy();
        Some([x + radius * cos, y + radius * sin])
    }

    /// x, y at a whole value, straight along chroma; chroma 0 and value 10 are the white.
    fn xy(&self, hue: f64, value: u8, chroma: f64) -> Option<[f64; 2]> {
        if value == 10 {
            return Some(white_xy());
        }
        let at = |step: usize| if step == 0 { Some(white_xy()) } else { self.entry(hue, value, step) };
        let below = (chroma / 2.0).floor();
        let (first, share) = (below as usize, chroma / 2.0 - below);
        if share == 0.0 {
            return at(first);
        }
        Some(between(at(first)?, at(first + 1)?, share))
    }

    /// x, y of a hue of the circle of 100; between whole values they go straight along Y.
    fn xy_between(&self, hue: f64, value: f64, chroma: f64) -> Option<[f64; 2]> {
        if !(1.0..=10.0).contains(&value) || !(0.0..=MOST_CHROMA).contains(&chroma) {
            return None;
        }
        let darker = self.xy(hue, value.floor() as u8, chroma)?;
        if value.fract() == 0.0 {
            return Some(darker);
        }
        let lighter = self.xy(hue, value.ceil() as u8, chroma)?;
        let [y, from, to] = [value, value.floor(), value.ceil()].map(munsell_value_to_y);
        Some(between(darker, lighter, (y - from) / (to - from)))
    }

    /// XYZ under C, Y = 1 for the diffuser.
    fn xyz(&self, hue: f64, value: f64, chroma: f64) -> Option<[f64; 3]> {
        Some(from_xyy(self.xy_between(hue, value, chroma)?, munsell_value_to_y(value)))
    }
}

/// Angle and distance of a chromaticity from the white.
fn polar([x, y]: [f64; 2]) -> [f64; 2] {
    let [white_x, white_y] = white_xy();
    let (x, y) = (x - white_x, y - white_y);
    [y.atan2(x), x.hypot(y)]
}

/// XYZ of a neutral under C, value 0..10.
fn neutral(value: f64) -> Option<[f64; 3]> {
    (0.0..=10.0).contains(&value).then(|| WHITE_C.map(|v| v * munsell_value_to_y(value)))
}

/// The table, parsed once.
fn table() -> &'static Table {
    static TABLE: OnceLock<Table> = OnceLock::new();
    TABLE.get_or_init(|| Table::parse(RENOTATION))
}

/// The grid, built once: neutrals, then hues in order.
fn chips() -> &'static [Chip] {
    static CHIPS: OnceLock<Vec<Chip>> = OnceLock::new();
    CHIPS.get_or_init(|| {
        let mut chips: Vec<Chip> = CHIP_VALUES
            .into_iter()
            .chain([LIGHTEST_NEUTRAL])
            .filter_map(|value| Some(Chip { notation: format!("N {value}/"), lab: lab_c(neutral(value)?) }))
            .collect();
        for hue in 0..HUES {
            for value in CHIP_VALUES {
                let even = (3..).map(|half| 2.0 * f64::from(half));
                let real = LOW_CHROMAS
                    .into_iter()
                    .chain(even)
                    .map_while(|chroma| Some((chroma, table().xyz(2.5 * (hue + 1) as f64, value, chroma)?)));
                chips.extend(real.map(|(chroma, xyz)| Chip {
                    notation: format!("{}{} {value}/{chroma}", STEPS[hue % 4], FAMILIES[hue / 4]),
                    lab: lab_c(xyz),
                }));
            }
        }
        chips
    })
}

/// Place on the hue circle of a hue such as `2.5YR`: 0 for 2.5R, 39 for 10RP.
fn hue_index(hue: &str) -> Option<usize> {
    let (step, family) = hue.split_at_checked(hue.find(|c: char| c.is_ascii_alphabetic())?)?;
    let step = STEPS.iter().position(|s| *s == step)?;
    Some(FAMILIES.iter().position(|f| *f == family)? * STEPS.len() + step)
}

fn lab_c(xyz: [f64; 3]) -> LabC {
    let [l, a, b] = cielab(xyz, WHITE_C);
    LabC::new(l, a, b)
}

fn white_xy() -> [f64; 2] {
    let sum: f64 = WHITE_C.iter().sum();
    [WHITE_C[0] / sum, WHITE_C[1] / sum]
}

fn from_xyy([x, y]: [f64; 2], luminance: f64) -> [f64; 3] {
    [x / y * luminance, luminance, (1.0 - x - y) / y * luminance]
}

fn between(from: [f64; 2], to: [f64; 2], share: f64) -> [f64; 2] {
    [from[0] + (to[0] - from[0]) * share, from[1] + (to[1] - from[1]) * share]
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The header of the file gives the count: 2734 real colours, 40 hues at 9 values.
    #[test]
    fn the_whole_renotation_is_read() {
        assert_eq!(table().0.len(), 360);
        assert_eq!(table().0.values().map(Vec::len).sum::<usize>(), 2734);
    }

    /// Each chip, carried to D50 and looked up, is its own nearest at next to no distance.
    #[test]
    fn every_chip_finds_itself() {
        // Every 7th of some 3000, all hues and values among them.
        for chip in chips().iter().step_by(7) {
            let found = nearest_munsell(munsell_to_lab(&chip.notation).unwrap());
            assert_eq!(found[0].notation, chip.notation);
            assert!(found[0].de00 < 1e-6, "{}: {}", chip.notation, found[0].de00);
            assert_eq!(found.len(), NEAREST);
            assert!(found.windows(2).all(|pair| pair[0].de00 <= pair[1].de00));
        }
    }
}
