//! Grids, rows and bands are found where they were drawn.

use crate::scene::*;
use sherdlight::colour::LabD50;
use sherdlight::surface::GridChoice;

/// Greys from black to near the slip; one is the slip itself and cannot be seen.
fn greys(row: usize, column: usize) -> Option<[f64; 3]> {
    let step = (row * 4 + column) as f64;
    if (row, column) == (1, 2) { None } else { Some([26.0 + 4.0 * step, 1.0, 4.0]) }
}

/// At any angle: rows run down and columns to the right in the photograph, whichever way the tile lies.
#[test]
fn every_swatch_of_a_turned_tile_lies_where_it_was_drawn() {
    for degrees in [0.0, 20.0, -35.0] {
        let tile = Tile { corners: turned(degrees), rows: 3, columns: 4, colour: &greys, size: [0.6, 0.6] };
        for grid in [GridChoice::Seen, GridChoice::Grid([3, 4])] {
            let (_, _, found) = tile.find(grid);
            let found = found.unwrap_or_else(|why| panic!("{degrees}: {why}"));
            assert_eq!((found.rows, found.columns, found.swatches.len()), (3, 4, 12));
            for swatch in &found.swatches {
                let drawn = tile.middle(swatch.row - 1, swatch.column - 1);
                let at = middle(&swatch.quad_px);
                let off = (at[0] - drawn[0]).hypot(at[1] - drawn[1]);
                assert!(off < 3.0, "{degrees}: {}.{} off by {off:.1} px", swatch.row, swatch.column);
                assert_eq!(swatch.stands_out, (swatch.row, swatch.column) != (2, 3));
                assert!(swatch.unreadable.is_none());
            }
        }
    }
}

/// Half-turned, the swatch that was last is now first.
#[test]
fn a_tile_upside_down_is_numbered_from_the_other_end() {
    let corners = turned(180.0);
    let tile = Tile { corners, rows: 3, columns: 4, colour: &greys, size: [0.6, 0.6] };
    let found = tile.find(GridChoice::Seen).2.expect("a grid");
    let first = &found.swatches[0];
    let (at, drawn) = (middle(&first.quad_px), tile.middle(2, 3));
    assert!((at[0] - drawn[0]).hypot(at[1] - drawn[1]) < 3.0);
}

/// The slip's field is the slip that was drawn, with the light that falls off: L* within half a unit.
#[test]
fn the_slip_is_read_as_it_was_drawn_in_the_light_there() {
    let tile = Tile { corners: turned(10.0), rows: 3, columns: 4, colour: &greys, size: [0.6, 0.6] };
    let (_, map, found) = tile.find(GridChoice::Seen);
    let ground = found.expect("a grid").ground;
    let drawn = LabD50::from(SLIP).to_xyz().y;
    for swatch in [[350.0f64, 250.0], [470.0, 310.0], [590.0, 370.0]] {
        let at = swatch[1] as usize * map.width + swatch[0] as usize;
        let light = 1.0 - 0.15 * swatch[0] / WIDTH as f64;
        let told = ground.at(at, map.width)[1] * f64::from(map.light[at]);
        assert!((told / (drawn * light) - 1.0).abs() < 0.015, "{told} for {}", drawn * light);
    }
}

#[test]
fn a_single_row_must_be_told() {
    let colour = |_: usize, column: usize| Some([28.0 + 8.0 * column as f64, 1.0, 4.0]);
    let tile = Tile { corners: turned(5.0), rows: 1, columns: 5, colour: &colour, size: [0.6, 0.4] };
    let found = tile.find(GridChoice::Grid([1, 5])).2.expect("a row");
    for swatch in &found.swatches {
        let (at, drawn) = (middle(&swatch.quad_px), tile.middle(0, swatch.column - 1));
        assert!((at[0] - drawn[0]).hypot(at[1] - drawn[1]) < 4.0, "{at:?} for {drawn:?}");
    }
    assert!(tile.find(GridChoice::Seen).2.is_err());
}

/// The same tile on its end is a column, and is told as one.
#[test]
fn a_single_column_runs_from_the_top_down() {
    let colour = |_: usize, column: usize| Some([28.0 + 8.0 * column as f64, 1.0, 4.0]);
    let tile = Tile { corners: turned(85.0), rows: 1, columns: 5, colour: &colour, size: [0.6, 0.4] };
    let found = tile.find(GridChoice::Grid([5, 1])).2.expect("a column");
    for swatch in &found.swatches {
        let (at, drawn) = (middle(&swatch.quad_px), tile.middle(0, swatch.row - 1));
        assert!((at[0] - drawn[0]).hypot(at[1] - drawn[1]) < 4.0, "{at:?} for {drawn:?}");
    }
}

#[test]
fn bands_run_from_the_top_down() {
    let colour = |row: usize, _: usize| Some([28.0 + 9.0 * row as f64, 1.0, 4.0]);
    let tile = Tile { corners: turned(4.0), rows: 5, columns: 1, colour: &colour, size: [1.0, 0.5] };
    let found = tile.find(GridChoice::Bands(5)).2.expect("bands");
    for band in &found.swatches {
        let (at, drawn) = (middle(&band.quad_px), tile.middle(band.row - 1, 0));
        assert!((at[1] - drawn[1]).abs() < 6.0, "{at:?} for {drawn:?}");
    }
}
