//! Planes, forms and what lies between the nodes.

use super::super::drawn::at_rest;
use super::*;

/// A plane bends nowhere: a few pulls on it give it back everywhere, and one wild pull among them does not matter.
#[test]
fn pulls_on_a_plane_give_the_plane() {
    let [columns, rows] = [15, 12];
    let plane = |i: usize| {
        let (x, y) = ((i % columns) as f64, (i / columns) as f64);
        [0.3 + 0.05 * x - 0.02 * y, -0.2 + 0.03 * y]
    };
    let mut pulls: Vec<Option<Pull>> = (0..columns * rows)
        .map(|i| (i % 3 == 0).then(|| Pull { shift: plane(i), hold: [1.0, 0.0, 1.0] }))
        .collect();
    pulls[63] = Some(Pull { shift: [9.0, -9.0], hold: [1.0, 0.0, 1.0] });
    let found = smoothed([columns, rows], &pulls, 2.0, 0.5);
    for (i, found) in found.iter().enumerate() {
        let off = (found[0] - plane(i)[0]).hypot(found[1] - plane(i)[1]);
        assert!(off < 0.05, "{i}: {off}");
    }
}

const BOX: [f64; 4] = [-0.5, -0.4, 0.5, 0.4];

/// Places that are no nodes.
fn places() -> impl Iterator<Item = [f64; 2]> {
    (0..19).flat_map(|y| (0..23).map(move |x| [-0.47 + 0.0429 * f64::from(x), -0.38 + 0.0417 * f64::from(y)]))
}

fn apart(one: [f64; 2], other: [f64; 2]) -> f64 {
    (one[0] - other[0]).hypot(one[1] - other[1])
}

/// A wavy form: it bends too much for straight lines between the nodes, not for those of its own raster.
fn wavy([x, y]: [f64; 2]) -> [f64; 2] {
    [x + 0.05 * (20.0 * y).sin(), 0.9 * y + 0.04 * (25.0 * x).cos()]
}

/// Between rows h apart a chord of a sin kx lies a (kh)^2 / 8 off at most: 0.00009 for both waves on 192 places to a unit,
/// and 0.007 on 24 nodes.
#[test]
fn a_form_is_followed_between_the_nodes() {
    let field = at_rest(BOX);
    let worst = |field: &Field| places().map(|place| apart(field.at(place), wavy(place))).fold(0.0, f64::max);
    let own = worst(&field.of_form(wavy));
    assert!(own < 1e-4, "{own}");
    let nodes = (0..field.to.len()).map(|i| wavy(field.node(i))).collect();
    assert!(worst(&field.sent(nodes)) > 3e-3);
}

/// Nodes moved along the fired piece go where the form sends the place they were moved to, and so does what lies between;
/// moved again, they go on from there.
#[test]
fn nodes_move_over_a_form() {
    let field = at_rest(BOX).of_form(wavy);
    let by = vec![[0.013, -0.021]; field.to.len()];
    let once = field.moved(&by);
    let twice = once.moved(&by);
    for place in places() {
        for (field, times) in [(&once, 1.0), (&twice, 2.0)] {
            let want = wavy([place[0] + 0.013 * times, place[1] - 0.021 * times]);
            let off = apart(field.at(place), want);
            assert!(off < 1e-4, "{place:?}, {times}: {off}");
        }
    }
}

/// Without a form a node moved by a shift is sent where the field sends that place: a linear map less nothing.
#[test]
fn nodes_move_over_a_plane() {
    let plane = |[x, y]: [f64; 2]| [0.2 + 1.1 * x - 0.3 * y, 0.2 * x + 0.8 * y];
    let field = at_rest(BOX);
    let field = field.sent((0..field.to.len()).map(|i| plane(field.node(i))).collect());
    let by: Vec<_> = (0..field.to.len()).map(|i| [0.001 * (i % 7) as f64, -0.002 * (i % 5) as f64]).collect();
    let moved = field.moved(&by);
    for (i, by) in by.iter().enumerate() {
        let node = field.node(i);
        assert!(apart(moved.at(node), plane([node[0] + by[0], node[1] + by[1]])) < 1e-12);
    }
}

/// An edge of a form is an edge: a place of its raster to either side nothing is mixed, between nodes or not.
#[test]
fn an_edge_of_a_form_is_sharp() {
    let edge = 0.0731;
    let step = |[x, y]: [f64; 2]| [x, if y < edge { y } else { y + 0.3 }];
    let field = at_rest(BOX).of_form(step);
    for x in [-0.31, 0.007, 0.28] {
        for (y, want) in [(edge - 1.05 / 192.0, 0.0), (edge + 1.05 / 192.0, 0.3)] {
            let off = field.at([x, y])[1] - y - want;
            assert!(off.abs() < 1e-9, "{x}, {y}: {off}");
        }
    }
}

/// The determinant of a linear map, with a form and without; mirrored it is below nothing.
#[test]
fn areas_grow_by_the_determinant() {
    for (plane, area) in [([1.1, -0.3, 0.2, 0.8], 0.94), ([-1.0, 0.1, 0.0, 0.5], -0.5)] {
        let [a, b, c, d] = plane;
        let to = |[x, y]: [f64; 2]| [a * x + b * y, c * x + d * y];
        let field = at_rest(BOX);
        let sent = field.sent((0..field.to.len()).map(|i| to(field.node(i))).collect());
        for field in [sent, field.of_form(to)] {
            for place in places() {
                assert!((field.area_ratio(place) - area).abs() < 1e-9);
            }
        }
    }
}
