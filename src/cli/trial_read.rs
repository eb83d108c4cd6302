//! `trial read`: photographs of the tiles of a plan, read into its sheet and the ledger.

use super::exit::{self, Trouble, say};
use super::keeper::{Keeper, written};
use super::trial::{bytes, of};
use super::trial_arguments::TrialReadOptions;
use super::trial_kept::{fire, hashes, keeper};
use super::{settings, tiles};
use rayon::prelude::*;
use sha2::{Digest, Sha256};
use sherdlight::ledger::Shot;
use sherdlight::reading::{Record, SheetRow, Swatch};
use sherdlight::report::{filled_sheet, write_file};
use sherdlight::road::Settings;
use sherdlight::surface::{GridChoice, Label, SwatchSettings};
use sherdlight::trial::{Role, Sheet, SheetPlace};
use std::collections::BTreeMap;
use std::path::Path;

/// What was read, and the photograph it was read in, by the place of the plan.
type Found = BTreeMap<SheetPlace, (String, Swatch)>;

/// Hash and file name of the photograph that counts for each tile.
type Counting = BTreeMap<usize, (String, String)>;

/// Runs the command.
pub fn run(options: &TrialReadOptions) -> Result<u8, Trouble> {
    let settings = settings::settings(&options.read)?;
    let mut sheet = Sheet::read(&bytes(&options.plan)?).map_err(|error| of(&options.plan, &error))?;
    let tiles = tiles_of(&sheet, options)?;
    let kept = options.trial.is_some() || options.firing.is_some() || options.place.ledger.is_some();
    check_options(options, kept)?;
    if let Some(firing) = &options.firing {
        fire(&mut sheet, &tiles, firing)?;
    }
    let hashes = if kept { hashes(&options.photographs)? } else { vec![None; tiles.len()] };
    let keeper = if kept { Some(keeper(&mut sheet, options, &hashes)?) } else { None };
    if kept && tiles.iter().any(|tile| sheet.firing(*tile).is_none()) {
        say(
            "The plan does not say where these tiles were fired: --firing NAME ties them to a firing of the ledger.",
        );
    }
    let load = Load {
        sheet: &sheet,
        settings: &settings,
        tiles: &tiles,
        hashes: &hashes,
        options,
        keeper: keeper.as_ref(),
    };
    let before = load.counting();
    let (found, failed) = load.read()?;
    load.count(&before, &found);
    if let Some(keeper) = &keeper {
        keeper.end(options.read.quiet);
        if let Some(error) = keeper.trouble() {
            return Err(error.into());
        }
    }
    if found.is_empty() {
        return Err(Trouble::NoneUsable {
            sentence: "No tile could be read".into(),
            hint: "Photograph each tile from above beside the card, and look at it with 'sherdlight tiles'."
                .into(),
        });
    }
    say_missing(&sheet, &found, kept);
    if let Some(out) = &options.out {
        write_file(out, &filled_sheet(&sheet, &found)?)?;
        say(&format!("The readings are in {}. Go on with 'sherdlight trial compare'.", out.display()));
    } else {
        say(&format!("Go on with 'sherdlight trial compare --trial \"{}\"'.", sheet.trial()));
    }
    Ok(if failed > 0 { exit::SOME_FAILED } else { exit::ALL_MEASURED })
}

fn check_options(options: &TrialReadOptions, kept: bool) -> Result<(), Trouble> {
    match &options.out {
        Some(out) if out.symlink_metadata().is_ok() => {
            let sentence = format!("'{}' is there already and is not replaced", out.display());
            Err(Trouble::settings(sentence, "Name another file with --out."))
        }
        None if !kept => Err(Trouble::usage(
            "nothing is named that the readings are to go to",
            "Say --out FILE.csv, or --trial NAME to keep them in the ledger.",
        )),
        _ if options.again && !kept => Err(Trouble::usage(
            "--again reads photographs again that are in the ledger, and no ledger is asked for",
            "Say --trial NAME as well.",
        )),
        _ => Ok(()),
    }
}

/// The tiles that are to be read.
struct Load<'a> {
    sheet: &'a Sheet,
    settings: &'a Settings,
    tiles: &'a [usize],
    /// Of the photographs, where they are kept.
    hashes: &'a [Option<String>],
    options: &'a TrialReadOptions,
    keeper: Option<&'a Keeper>,
}

impl Load<'_> {
    /// What was found, and how many tiles were not read.
    fn read(&self) -> Result<(Found, usize), Trouble> {
        let one = |index: usize| (index, self.read_one(index));
        let read: Vec<_> = settings::pool(&self.options.read)?
            .install(|| (0..self.tiles.len()).into_par_iter().map(one).collect());
        let (mut found, mut failed) = (Found::new(), 0);
        for (index, outcome) in read {
            let (path, tile) = (&self.options.photographs[index], self.tiles[index]);
            let record = match outcome {
                Ok(record) => record,
                Err(why) => {
                    failed += 1;
                    say(&format!("{}: tile {tile} was not read: {why}.", path.display()));
                    continue;
                }
            };
            let before = self.sheet.grid(tile).1;
            for swatch in record.reading().and_then(|reading| reading.swatches.clone()).into_iter().flatten()
            {
                let at = place(tile, [swatch.row, swatch.column], before);
                found.insert(at, (path.to_string_lossy().into_owned(), swatch));
            }
        }
        Ok((found, failed))
    }

    /// Reads a photograph and keeps what it shows, or takes from the ledger what was read before. One in which no swatches
    /// are found is not kept, so that it does not stand in the place of an earlier reading.
    fn read_one(&self, index: usize) -> Result<Record, String> {
        let (path, tile) = (&self.options.photographs[index], self.tiles[index]);
        let Some((keeper, sha256)) = self.keeper.zip(self.hashes[index].as_ref()) else {
            return self.measure(path, tile, None);
        };
        let row = self.row(keeper, sha256, tile);
        let settings_sha256 = self.settings_sha256(tile);
        let shot = Shot { sha256, path, settings_sha256: &settings_sha256, sheet: Some(&row) };
        if let Some(known) = keeper.known(shot)
            && let Some(record) = known.records.first()
        {
            keeper.keep_known(shot, &known, false);
            return Ok(record.clone());
        }
        let record = self.measure(path, tile, Some(&row))?;
        Ok(keeper.keep(shot, vec![record]).swap_remove(0))
    }

    /// What the ledger is told of the photograph: its firing, and unless a piece is known that is no tile of this trial, that
    /// it shows this tile.
    fn row(&self, keeper: &Keeper, sha256: &str, tile: usize) -> SheetRow {
        let is_tile = |piece: &String| piece.starts_with(&format!("{}, tile ", self.sheet.trial()));
        let known = keeper.with(|ledger| ledger.piece_of(sha256)).flatten().filter(|piece| !is_tile(piece));
        SheetRow {
            piece: Some(known.unwrap_or_else(|| format!("{}, tile {tile}", self.sheet.trial()))),
            firing: self.sheet.firing(tile).map(str::to_owned),
            ..SheetRow::default()
        }
    }

    fn measure(&self, path: &Path, tile: usize, row: Option<&SheetRow>) -> Result<Record, String> {
        let (grid, before) = self.sheet.grid(tile);
        let wanted = SwatchSettings { grid: GridChoice::Grid(grid), corners: None };
        let laid = |row, column| self.sheet.laid(place(tile, [row, column], before));
        // The plan says what was laid: paint everywhere but on the blank.
        let told = |row: usize, column: usize| {
            let is_blank = laid(row, column)?.role.as_deref() == Some(Role::Blank.name());
            Some(if is_blank { Label::White } else { Label::Black })
        };
        let name = |swatches: &mut [Swatch]| {
            for swatch in swatches.iter_mut().filter(|_| self.keeper.is_some()) {
                swatch.laid = laid(swatch.row, swatch.column).cloned();
                let planned = swatch.laid.as_ref().and_then(|laid| laid.swatch.clone());
                swatch.id = planned.unwrap_or_else(|| std::mem::take(&mut swatch.id));
            }
            Ok(())
        };
        let mut reading = tiles::read_tile(path, self.settings, &wanted, &told, &name)?;
        reading.sheet = row.cloned();
        // As it reads once written, so that it gives the same table now and from the ledger.
        Ok(written(vec![Record::Measured(reading)]).swap_remove(0))
    }

    /// Hash of all that bears on the swatches of a tile: the settings, the grid, and what the plan says of each place.
    fn settings_sha256(&self, tile: usize) -> String {
        let mut text = format!("{}\n{:?}\n", self.settings.sha256(), self.sheet.grid(tile));
        for line in self.sheet.lines.iter().filter(|line| line.place.tile == tile) {
            text += &serde_json::to_string(&line.laid).unwrap_or_default();
            text.push('\n');
        }
        format!("{:x}", Sha256::digest(text))
    }

    /// Which photograph counts for each tile of the trial: hash and file name.
    fn counting(&self) -> Counting {
        let asked = |keeper: &Keeper| keeper.with(|ledger| ledger.trial_photographs(self.sheet.trial()));
        self.keeper.and_then(asked).unwrap_or_default()
    }

    /// Sees to it that of several photographs of a tile the one just read counts, and says which did `before`.
    fn count(&self, before: &Counting, found: &Found) {
        let Some(keeper) = self.keeper else { return };
        let now = self.counting();
        let read = |tile: &usize| found.keys().any(|place| place.tile == *tile);
        let photographs = self.options.photographs.iter().zip(self.hashes).zip(self.tiles);
        for ((path, sha256), tile) in photographs.filter(|(_, tile)| read(tile)) {
            let Some(sha256) = sha256 else { continue };
            let other = |of: &Counting| of.get(tile).filter(|(counts, _)| counts != sha256).cloned();
            if other(&now).is_some() {
                keeper.with(|ledger| ledger.count_again(sha256));
            }
            if let Some((_, file)) = other(before) {
                say(&format!("Tile {tile}: {} counts now, {file} no longer.", path.display()));
            }
        }
        // A photograph that was read for another tile before leaves that one.
        let now = self.counting();
        for (tile, (sha256, file)) in before.iter().filter(|(tile, _)| !read(tile)) {
            match now.get(tile) {
                None => say(&format!(
                    "Tile {tile} has no photograph any more: {file} was read for another tile. Read one of tile {tile}.",
                )),
                Some((other, next)) if other != sha256 => say(&format!(
                    "Tile {tile}: {next} counts again, since {file} was read for another tile.",
                )),
                Some(_) => {}
            }
        }
    }
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

/// What the plan wants and no photograph shows, tile by tile; of tiles that were not asked for where all are to be there.
fn say_missing(sheet: &Sheet, found: &Found, bit_by_bit: bool) {
    let read: Vec<usize> = found.keys().map(|place| place.tile).collect();
    for tile in sheet.tiles().into_iter().filter(|tile| !bit_by_bit || read.contains(tile)) {
        let of_tile = sheet.lines.iter().filter(|line| line.place.tile == tile);
        let missing: Vec<_> =
            of_tile.filter(|line| found.get(&line.place).is_none_or(|(_, s)| s.lab.is_none())).collect();
        if missing.is_empty() {
            continue;
        }
        let is_control = |role: Option<&str>| role == Some(Role::Control.name());
        let control = match missing.iter().any(|line| is_control(line.laid.role.as_deref())) {
            true => ", the control among them: its fire cannot be set against the others by it",
            false => "",
        };
        let s = if missing.len() == 1 { "" } else { "es" };
        say(&format!("Tile {tile}: {} swatch{s} not read{control}.", missing.len()));
    }
}
