//! How each kind of piece is coated and painted. Lengths in mm along the wall.

use super::motifs::Motif::{self, Line};
use super::shapes::Side::{Inner, Outer};
use super::skin::Coat::{Red, White};
use super::skin::{Row, Zone};

/// A jar's coats: bare foot, red belly, white shoulder and neck, red rim; thin bare margins between.
pub fn jar(wall: f64, white_from: f64, motif: Motif, count: f64, top: Motif) -> (Vec<Zone>, Vec<Row>) {
    let neck = wall - 26.0;
    let zones = vec![
        Zone(Outer, Red, 62.0, white_from - 4.0),
        Zone(Outer, White, white_from, neck),
        Zone(Outer, Red, neck + 4.0, wall + 20.0),
        Zone(Inner, Red, wall - 12.0, wall + 20.0),
    ];
    let shoulder = neck - 58.0;
    let rows = vec![
        Row(Outer, Line, white_from + 5.0, white_from + 8.5, 1.0, 1.0),
        Row(Outer, motif, white_from + 13.0, shoulder - 6.0, count, 1.0),
        Row(Outer, Line, shoulder, shoulder + 4.0, 1.0, 1.0),
        Row(Outer, top, shoulder + 10.0, neck - 12.0, count * 2.0, 1.0),
        Row(Outer, Line, neck - 8.0, neck - 5.0, 1.0, 1.0),
    ];
    (zones, rows)
}

/// The inside of a bowl: a red disc, white with paint, a red rim.
pub fn inside(wall: f64, motif: Motif, count: f64, small: Motif) -> (Vec<Zone>, Vec<Row>) {
    let rim = wall - 17.0;
    let zones = vec![
        Zone(Inner, Red, 0.0, 24.0),
        Zone(Inner, White, 28.0, rim - 3.5),
        Zone(Inner, Red, rim, wall + 20.0),
        Zone(Outer, Red, wall - 30.0, wall + 20.0),
    ];
    let split = 28.0 + 0.42 * (rim - 28.0);
    let rows = vec![
        Row(Inner, Line, 32.0, 35.0, 1.0, 1.0),
        Row(Inner, small, 40.0, split - 5.0, count, 1.0),
        Row(Inner, Line, split - 1.5, split + 2.0, 1.0, 1.0),
        Row(Inner, motif, split + 7.0, rim - 13.0, count, 1.0),
        Row(Inner, Line, rim - 9.5, rim - 6.5, 1.0, 1.0),
    ];
    (zones, rows)
}

/// The outside of a bowl: bare foot, red, a white belt with paint, a red rim.
pub fn outside(wall: f64, motif: Motif, count: f64) -> (Vec<Zone>, Vec<Row>) {
    let zones = vec![
        Zone(Outer, Red, 48.0, 78.0),
        Zone(Outer, White, 82.0, wall - 15.0),
        Zone(Outer, Red, wall - 11.0, wall + 20.0),
        Zone(Inner, White, 0.0, wall - 15.0),
        Zone(Inner, Red, wall - 11.0, wall + 20.0),
    ];
    let rows = vec![
        Row(Outer, Line, 86.0, 89.0, 1.0, 1.0),
        Row(Outer, motif, 93.0, wall - 24.0, count, 1.0),
        Row(Outer, Line, wall - 21.0, wall - 18.0, 1.0, 1.0),
    ];
    (zones, rows)
}

/// A sherd's coats: red, white with two rows of paint, a bare strip at the far edge.
pub fn sherd(height: f64, motif: Motif, small: Motif) -> (Vec<Zone>, Vec<Row>) {
    let zones =
        vec![Zone(Outer, Red, 0.0, 0.26 * height), Zone(Outer, White, 0.26 * height + 3.0, 0.9 * height)];
    let at = |share: f64| share * height;
    let rows = vec![
        Row(Outer, Line, at(0.315), at(0.34), 1.0, 1.0),
        Row(Outer, motif, at(0.37), at(0.62), 4.0, 1.0),
        Row(Outer, Line, at(0.65), at(0.675), 1.0, 1.0),
        Row(Outer, small, at(0.70), at(0.83), 8.0, 1.0),
    ];
    (zones, rows)
}
