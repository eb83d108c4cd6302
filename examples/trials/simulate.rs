//! Trials with planted effects, and trials in which two things change together.

use sherdlight::trial::{Factor, Factors, Layout, Lots, Plan, Swatch};
use std::collections::BTreeMap;
use std::fmt::Write;

const FACTORS: &str = "factor,level,control\nslip,river white,yes\nslip,bank buff,\nslip,chalk,\npaint,mustard leaf,yes\n\
                       paint,walnut hull,\ncoats,1,\ncoats,2,yes\nfiring,first,\nfiring,second,\n";
/// Standard deviation of planted effects.
const EFFECT: f64 = 3.0;
/// Standard deviation of tiles.
const TILE: f64 = 1.0;
/// Standard deviation of swatches.
const REST: f64 = 1.5;
/// Share of swatches that are lost.
const LOST: f64 = 0.05;
/// The same on the first and the last tile of an uneven trial.
const MOSTLY_LOST: f64 = 0.8;

/// A crossed trial as a table, with the planted effect of every level.
pub struct Crossed {
    pub table: String,
    pub effects: BTreeMap<(Factor, String), f64>,
}

/// Between 0 and 1.
fn share(lots: &mut Lots) -> f64 {
    (lots.bits() >> 11) as f64 / (1u64 << 53) as f64
}

/// Normal with mean 0 and standard deviation 1 (Box and Muller 1958).
fn normal(lots: &mut Lots) -> f64 {
    let radius = (-2.0 * (1.0 - share(lots)).ln()).sqrt();
    radius * (std::f64::consts::TAU * share(lots)).cos()
}

/// A plan as the program makes it, three tiles a firing, with planted effects of slip, paint, coats and firing, tiles that
/// differ, scatter, and one swatch in twenty lost; of an uneven one four in five on two of the six tiles.
pub fn crossed(seed: u64, uneven: bool) -> Crossed {
    let factors = Factors::read(FACTORS.as_bytes()).unwrap();
    let layout = Layout { rows: 3, columns: 4, tiles: None, repeats: 2, seed };
    let plan = Plan::new(&factors, layout).unwrap();
    let mut lots = Lots::new(seed ^ 0x5eed);
    let mut effects = BTreeMap::new();
    for factor in [Factor::Slip, Factor::Paint, Factor::Coats, Factor::Firing] {
        for level in factors.levels(factor) {
            effects.insert((factor, level.name.clone()), EFFECT * normal(&mut lots));
        }
    }
    let tiles: Vec<f64> = (0..plan.tiles).map(|_| TILE * normal(&mut lots)).collect();
    let mut table = "tile,role,slip,paint,coats,firing,l\n".to_owned();
    for swatch in &plan.swatches {
        let Swatch { tile, role, slip, .. } = swatch;
        let [paint, coats, firing] =
            [&swatch.paint, &swatch.coats, &swatch.firing].map(|cell| cell.clone().unwrap_or_default());
        let of =
            |factor: Factor, level: &str| effects.get(&(factor, level.to_owned())).copied().unwrap_or(0.0);
        let value = 70.0
            + of(Factor::Slip, slip)
            + of(Factor::Paint, &paint)
            + of(Factor::Coats, &coats)
            + of(Factor::Firing, &firing)
            + tiles[tile - 1]
            + REST * normal(&mut lots);
        let lost = if uneven && (*tile == 1 || *tile == plan.tiles) { MOSTLY_LOST } else { LOST };
        let cell = if share(&mut lots) < lost { String::new() } else { value.to_string() };
        let _ = writeln!(table, "{tile},{},{slip},{paint},{coats},{firing},{cell}", role.name());
    }
    Crossed { table, effects }
}

/// A trial in which two levels cannot be separated.
pub struct Confounded {
    pub how: &'static str,
    pub table: String,
    pub by: Factor,
    pub pair: [&'static str; 2],
}

/// One of seven ways in which two levels cannot be separated, with sizes and readings by lot.
pub fn confounded(number: usize) -> Confounded {
    let mut lots = Lots::new(1000 + number as u64);
    let (repeats, tiles) = (1 + lots.below(3), 2 + lots.below(3));
    let ways: [(&str, Factor, [&str; 2]); 7] = [
        ("each slip in its own firing", Factor::Slip, ["A", "B"]),
        ("each firing with its own slip", Factor::Firing, ["one", "two"]),
        ("each paint on its own slip", Factor::Paint, ["P", "Q"]),
        ("one tile a firing", Factor::Firing, ["one", "two"]),
        ("links lost: slips in their own firing", Factor::Slip, ["A", "B"]),
        ("all swatches of a level lost", Factor::Slip, ["A", "B"]),
        ("coats on tiles of their own, links lost", Factor::Coats, ["1", "2"]),
    ];
    let way = number % ways.len();
    let mut table = "tile,role,slip,paint,coats,firing,l\n".to_owned();
    let tiles = if way == 3 { 1 } else { tiles };
    for (place, firing) in ["one", "two"].into_iter().enumerate() {
        for tile in 0..tiles {
            for slip in ["A", "B", "C"] {
                for paint in ["P", "Q"] {
                    for coats in ["1", "2"] {
                        let in_first = place == 0;
                        let here = match way {
                            0 | 1 => slip != "C" && (slip == "A") == in_first,
                            2 => (slip == "A") == (paint == "P"),
                            4 => slip == "C" || (slip == "A") == in_first,
                            6 => slip != "C" || coats == "1" || tile == 0,
                            _ => true,
                        };
                        // In the last way each tile has one number of coats left, and each number its own firing.
                        let lost = match way {
                            4 => slip == "C",
                            5 => slip == "B",
                            6 => (coats == "1") != in_first,
                            _ => false,
                        };
                        for _ in 0..if here { repeats } else { 0 } {
                            let value = 60.0 + 5.0 * normal(&mut lots);
                            let cell = if lost { String::new() } else { value.to_string() };
                            let role = if slip == "C" { "control" } else { "trial" };
                            let _ = writeln!(
                                table,
                                "{},{role},{slip},{paint},{coats},{firing},{cell}",
                                place * tiles + tile + 1
                            );
                        }
                    }
                }
            }
        }
    }
    let (how, by, pair) = ways[way];
    Confounded { how, table, by, pair }
}
