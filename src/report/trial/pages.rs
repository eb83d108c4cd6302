//! The tiles of a plan on pages of A4.
//!
//! Where a swatch lies is shown, not what it is: whoever lays and measures it by number alone cannot favour one.

use crate::report::charts::svg::{ACCENT, Anchor, INK, Look, PAPER, QUIET, RULE, Svg};
use crate::trial::{Plan, Swatch};

/// A4 at 96 pixels an inch.
const PAGE: [f64; 2] = [794.0, 1123.0];
/// White about what is printed, 10 mm.
const MARGIN: f64 = 38.0;
/// Height of the words at the top of a page.
const HEAD: f64 = 46.0;
/// One swatch.
const PLACE: [f64; 2] = [60.0, 34.0];
/// Left of and above the swatches of a tile: its numbers of rows, its name and its numbers of columns.
const EDGE: [f64; 2] = [20.0, 38.0];
/// Between two tiles.
const GAP: f64 = 18.0;
/// Letters that the name of a firing has room for, a column of swatches.
const LETTERS: usize = 8;

/// The plan as pages to print, each an SVG of 210 x 297 mm, with the tiles in order: numbers of tile, rows and columns,
/// the firing and the swatches' names. Free places are crossed out.
pub fn plan_pages(plan: &Plan) -> Vec<String> {
    let [width, height] = [0, 1].map(|side| {
        let places = [plan.layout.columns, plan.layout.rows][side] as f64;
        EDGE[side] + places * PLACE[side] + GAP
    });
    let across = (((PAGE[0] - 2.0 * MARGIN + GAP) / width) as usize).max(1);
    let down = (((PAGE[1] - 2.0 * MARGIN - HEAD + GAP) / height) as usize).max(1);
    let mut by_tile: Vec<Vec<&Swatch>> = vec![Vec::new(); plan.tiles];
    for swatch in &plan.swatches {
        if let Some(tile) = swatch.tile.checked_sub(1).and_then(|tile| by_tile.get_mut(tile)) {
            tile.push(swatch);
        }
    }
    let tiles: Vec<(usize, Vec<&Swatch>)> = by_tile.into_iter().enumerate().collect();
    let pages: Vec<_> = tiles.chunks(across * down).collect();
    let count = pages.len();
    let page = |(number, on_it): (usize, &&[(usize, Vec<&Swatch>)])| {
        let title = match count {
            1 => "Plan of the trial".to_owned(),
            _ => format!("Plan of the trial, page {} of {count}", number + 1),
        };
        let described = format!(
            "{} tiles of {} rows and {} columns, {} swatches; seed {}.",
            plan.tiles,
            plan.layout.rows,
            plan.layout.columns,
            plan.swatches.len(),
            plan.layout.seed
        );
        let mut svg = Svg::new("trial", PAGE[0], PAGE[1], &title, &described);
        svg.words([MARGIN, MARGIN + 12.0], Anchor::Start, 0.0, INK, true, &title);
        let told = format!("{described} What each swatch is stands in plan.csv.");
        svg.words([MARGIN, MARGIN + 30.0], Anchor::Start, 0.0, QUIET, false, &told);
        for (place, (tile, swatches)) in on_it.iter().enumerate() {
            let corner =
                [MARGIN + (place % across) as f64 * width, MARGIN + HEAD + (place / across) as f64 * height];
            draw_tile(&mut svg, plan, corner, tile + 1, swatches);
        }
        svg.finish()
    };
    pages.iter().enumerate().map(page).collect()
}

fn draw_tile(svg: &mut Svg, plan: &Plan, [left, top]: [f64; 2], tile: usize, swatches: &[&Swatch]) {
    let firing = swatches.first().and_then(|swatch| swatch.firing.as_deref());
    let mut name = format!("Tile {tile}");
    let room = (plan.layout.columns * LETTERS).saturating_sub(name.len());
    if let Some(firing) = firing {
        let told = format!(", firing {firing}");
        name.extend(told.chars().take(room));
        if told.chars().count() > room {
            name.push('…');
        }
    }
    svg.words([left + EDGE[0], top + 14.0], Anchor::Start, 0.0, INK, true, &name);
    for column in 1..=plan.layout.columns {
        let x = left + EDGE[0] + (column as f64 - 0.5) * PLACE[0];
        svg.small([x, top + EDGE[1] - 5.0], Anchor::Middle, QUIET, "none", &column.to_string());
    }
    for row in 1..=plan.layout.rows {
        let y = top + EDGE[1] + (row as f64 - 0.5) * PLACE[1] + 4.0;
        svg.small([left + EDGE[0] - 6.0, y], Anchor::End, QUIET, "none", &row.to_string());
        for column in 1..=plan.layout.columns {
            let corner = [
                left + EDGE[0] + (column - 1) as f64 * PLACE[0],
                top + EDGE[1] + (row - 1) as f64 * PLACE[1],
            ];
            svg.frame(corner, PLACE, Look::edged(PAPER, INK, 1.0));
            let middle = [corner[0] + PLACE[0] / 2.0, corner[1] + PLACE[1] / 2.0 + 4.0];
            match swatches.iter().find(|swatch| (swatch.row, swatch.column) == (row, column)) {
                Some(swatch) => svg.small(middle, Anchor::Middle, ACCENT, "none", &swatch.id),
                None => svg.line(corner, [corner[0] + PLACE[0], corner[1] + PLACE[1]], RULE, 1.0, false),
            }
        }
    }
}
