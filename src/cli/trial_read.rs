//! `trial read`: photographs of the tiles of a plan, read into its sheet.

use super::exit::{self, Trouble, say};
use super::settings;
use super::tiles;
use super::trial::{bytes, of};
use super::trial_arguments::TrialReadOptions;
use rayon::prelude::*;
use sherdlight::reading::Swatch;
use sherdlight::report::{filled_sheet, write_file};
use sherdlight::surface::{GridChoice, Label, SwatchSettings};
use sherdlight::trial::{Sheet, SheetPlace};
use std::collections::BTreeMap;

/// Runs the command.
pub fn run(options: &TrialReadOptions) -> Result<u8, Trouble> {
    let settings = settings::settings(&options.read)?;
    let sheet = Sheet::read(&bytes(&options.plan)?).map_err(|error| of(&options.plan, &error))?;
    let tiles = tiles_of(&sheet, options)?;
    if options.out.symlink_metadata().is_ok() {
        let sentence = format!("'{}' is there already and is not replaced", options.out.display());
        return Err(Trouble::settings(sentence, "Name another file with --out."));
    }
    let one = |index: usize| {
        let (path, tile) = (&options.photographs[index], &tiles[index]);
        let (grid, before) = sheet.grid(*tile);
        let wanted = SwatchSettings { grid: GridChoice::Grid(grid), corners: None };
        let at = |row, column| place(*tile, [row, column], before);
        // The plan says what was laid: paint everywhere but on the blank.
        let told = |row: usize, column: usize| {
            sheet.is_blank(at(row, column)).map(|blank| if blank { Label::White } else { Label::Black })
        };
        let read = tiles::swatches_of(path, &settings, &wanted, &told);
        (index, read)
    };
    let read: Vec<_> =
        settings::pool(&options.read)?.install(|| (0..tiles.len()).into_par_iter().map(one).collect());
    let mut found: BTreeMap<SheetPlace, (String, Swatch)> = BTreeMap::new();
    let mut failed = 0;
    for (index, outcome) in read {
        let (path, tile) = (&options.photographs[index], tiles[index]);
        let swatches = match outcome {
            Ok(swatches) => swatches,
            Err(why) => {
                failed += 1;
                say(&format!("{}: tile {tile} was not read: {why}.", path.display()));
                continue;
            }
        };
        for swatch in swatches {
            let at = place(tile, [swatch.row, swatch.column], sheet.grid(tile).1);
            found.insert(at, (path.to_string_lossy().into_owned(), swatch));
        }
    }
    if found.is_empty() {
        return Err(Trouble::NoneUsable {
            sentence: "No tile could be read".into(),
            hint: "Photograph each tile from above beside the card, and look at it with 'sherdlight tiles'."
                .into(),
        });
    }
    write_file(&options.out, &filled_sheet(&sheet, &found)?)?;
    say_missing(&sheet, &found);
    say(&format!("The readings are in {}. Go on with 'sherdlight trial compare'.", options.out.display()));
    Ok(if failed > 0 { exit::SOME_FAILED } else { exit::ALL_MEASURED })
}

/// A place of the plan from a row and column of the grid that is seen, and how many of the plan lie before it.
fn place(tile: usize, [row, column]: [usize; 2], before: [usize; 2]) -> SheetPlace {
    SheetPlace { tile, row: row + before[0], column: column + before[1] }
}

/// The tile that each photograph shows: as told, else in the order of the plan's numbers.
fn tiles_of(sheet: &Sheet, options: &TrialReadOptions) -> Result<Vec<usize>, Trouble> {
    let (known, count) = (sheet.tiles(), options.photographs.len());
    let hint =
        "Name the photographs in the order of the tiles, or say which tiles they show with --tiles 1,2,3.";
    let tiles = if options.tiles.is_empty() { known.clone() } else { options.tiles.clone() };
    if tiles.len() != count {
        return Err(Trouble::usage(format!("there are {count} photographs for {} tiles", tiles.len()), hint));
    }
    if let Some(strange) = tiles.iter().find(|tile| !known.contains(tile)) {
        return Err(Trouble::usage(format!("the plan has no tile {strange}"), hint));
    }
    let mut once = tiles.clone();
    once.sort_unstable();
    if let Some(twice) = once.windows(2).find(|pair| pair[0] == pair[1]) {
        return Err(Trouble::usage(format!("--tiles names tile {} twice", twice[0]), hint));
    }
    Ok(tiles)
}

/// What the plan wants and no photograph shows, tile by tile.
fn say_missing(sheet: &Sheet, found: &BTreeMap<SheetPlace, (String, Swatch)>) {
    let role = sheet.header.iter().position(|name| name.eq_ignore_ascii_case("role"));
    for tile in sheet.tiles() {
        let of_tile = sheet.rows.iter().filter(|(place, ..)| place.tile == tile);
        let missing: Vec<_> =
            of_tile.filter(|(place, ..)| found.get(place).is_none_or(|(_, s)| s.lab.is_none())).collect();
        if missing.is_empty() {
            continue;
        }
        let is_control = |cells: &Vec<String>| {
            role.and_then(|at| cells.get(at)).is_some_and(|cell| cell.eq_ignore_ascii_case("control"))
        };
        let control = match missing.iter().any(|(_, cells, _)| is_control(cells)) {
            true => ", the control among them: its fire cannot be set against the others by it",
            false => "",
        };
        let s = if missing.len() == 1 { "" } else { "es" };
        say(&format!("Tile {tile}: {} swatch{s} not read{control}.", missing.len()));
    }
}
