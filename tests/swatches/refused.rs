//! What is no grid is told, never made up.

use crate::scene::*;
use sherdlight::surface::{GridChoice, SwatchError, SwatchSettings, find_swatches};

fn all(_: usize, _: usize) -> Option<[f64; 3]> {
    Some(BLACK)
}

#[test]
fn a_bare_tile_has_no_swatches() {
    let tile = Tile { corners: turned(0.0), rows: 3, columns: 4, colour: &|_, _| None, size: [0.6, 0.6] };
    assert!(matches!(tile.find(GridChoice::Seen).2, Err(SwatchError::TooFew { seen: 0, .. })));
}

#[test]
fn another_grid_than_was_told_is_told_with_what_is_seen() {
    let tile = Tile { corners: turned(15.0), rows: 3, columns: 4, colour: &all, size: [0.6, 0.6] };
    let why = tile.find(GridChoice::Grid([4, 6])).2.expect_err("no such grid");
    assert_eq!(why, SwatchError::OtherGrid { told: "4x6".into(), rows: 3, columns: 4 });
    let why = tile.find(GridChoice::Bands(9)).2.expect_err("no bands");
    assert!(matches!(why, SwatchError::OtherBands { told: 9, .. }), "{why}");
}

/// Four strokes lie on some grid always; strokes here and there on none.
#[test]
fn strokes_here_and_there_are_no_grid() {
    let here = |row: usize, column: usize| {
        [(0, 0), (2, 1), (1, 5), (4, 3)].contains(&(row, column)).then_some(BLACK)
    };
    let tile = Tile { corners: turned(0.0), rows: 5, columns: 6, colour: &here, size: [0.7, 0.7] };
    assert!(tile.find(GridChoice::Seen).2.is_err());
}

#[test]
fn corners_off_the_piece_are_refused_and_corners_on_it_are_taken() {
    let tile = Tile { corners: turned(0.0), rows: 3, columns: 4, colour: &all, size: [0.6, 0.6] };
    let (image, map, _) = tile.find(GridChoice::Seen);
    let told = |corners| SwatchSettings { grid: GridChoice::Grid([3, 4]), corners: Some(corners) };
    let off = [[10.0, 200.0], [600.0, 200.0], [600.0, 400.0], [10.0, 400.0]];
    assert_eq!(find_swatches(&image, &map, 1, &told(off)).expect_err("off"), SwatchError::CornersOff);
    let on = [tile.middle(0, 0), tile.middle(0, 3), tile.middle(2, 3), tile.middle(2, 0)];
    let found = find_swatches(&image, &map, 1, &told(on)).expect("a grid");
    for swatch in &found.swatches {
        let (at, drawn) = (middle(&swatch.quad_px), tile.middle(swatch.row - 1, swatch.column - 1));
        assert!((at[0] - drawn[0]).hypot(at[1] - drawn[1]) < 1.0);
    }
    assert!(find_swatches(&image, &map, 7, &told(on)).is_err(), "there is no seventh piece");
}
