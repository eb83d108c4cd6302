//! What `trial read` asks of the ledger before it reads: which photographs they are, where they were fired, and whether the
//! plan is that of the trial that is there under its name.

use super::exit::Trouble;
use super::keeper::Keeper;
use super::ledger_file;
use super::outputs::hash_of;
use super::trial_arguments::TrialReadOptions;
use sherdlight::ledger::Ledger;
use sherdlight::reading::Laid;
use sherdlight::trial::Sheet;
use std::path::{Path, PathBuf};

/// Puts the firing that was told in the place of the plan's.
pub fn fire(sheet: &mut Sheet, tiles: &[usize], firing: &str) -> Result<(), Trouble> {
    let planned = |tile: &usize| sheet.firing(*tile).map(str::to_owned);
    let mut several: Vec<Option<String>> = tiles.iter().map(planned).collect();
    several.sort();
    several.dedup();
    if several.len() > 1 {
        let names: Vec<String> =
            several.into_iter().map(|name| format!("'{}'", name.unwrap_or_default())).collect();
        return Err(Trouble::usage(
            format!("--firing names one firing, and the plan says {} for these tiles", names.join(" and ")),
            "Read the tiles of one firing at a time, with --tiles.",
        ));
    }
    match firing.trim() {
        "" => Err(Trouble::usage("--firing is empty", "Name a firing, or leave it out.")),
        name => {
            sheet.fire(tiles, name);
            Ok(())
        }
    }
}

/// The ledger, opened for this trial: its sheet gets the trial's name, and a plan that is that of another trial is refused.
pub fn keeper(
    sheet: &mut Sheet,
    options: &TrialReadOptions,
    hashes: &[Option<String>],
) -> Result<Keeper, Trouble> {
    let told = options.trial.as_deref().map(str::trim).filter(|name| !name.is_empty());
    let Some(name) = told.map(str::to_owned).or_else(|| name_of(&options.plan)) else {
        return Err(Trouble::usage("the trial has no name", "Name it with --trial NAME."));
    };
    sheet.name(&name);
    let ledger = ledger_file::open(&options.place)?;
    let clash = match ledger.trials()?.iter().any(|trial| trial.name == name) {
        true => sheet.clash(&others(&ledger, &name, hashes)?),
        false => None,
    };
    match clash {
        None => Ok(Keeper::over(ledger, options.again)),
        Some(why) => Err(Trouble::settings(
            format!("the ledger holds a trial '{name}' that is not laid out by this plan: {why}"),
            "Name this trial otherwise with --trial. If the plan was put right, read the photographs that were read by the \
             old one again with it, all in one go.",
        )),
    }
}

/// What the photographs are known by; a file that cannot be read has none. Two of one hash are one photograph.
pub fn hashes(photographs: &[PathBuf]) -> Result<Vec<Option<String>>, Trouble> {
    let hashes: Vec<Option<String>> = photographs.iter().map(|path| hash_of(path)).collect();
    for (at, hash) in hashes.iter().enumerate().filter(|(_, hash)| hash.is_some()) {
        if let Some(first) = hashes[..at].iter().position(|earlier| earlier == hash) {
            let [first, second] = [first, at].map(|at| photographs[at].display());
            return Err(Trouble::usage(
                format!("{first} and {second} are the same photograph, and it shows one tile only"),
                "Name a photograph for each tile.",
            ));
        }
    }
    Ok(hashes)
}

/// What the ledger knows to be laid in this trial, but for the photographs that are now read (again).
fn others(ledger: &Ledger, trial: &str, again: &[Option<String>]) -> Result<Vec<Laid>, Trouble> {
    let mut kept = ledger.trial_photographs(trial)?;
    kept.retain(|_, (sha256, _)| !again.iter().flatten().any(|hash| hash == sha256));
    let swatches = ledger.trial_swatches(&[trial.to_owned()], &[])?;
    let laid = swatches.into_iter().filter_map(|swatch| swatch.swatch.laid);
    Ok(laid.filter(|laid| kept.contains_key(&laid.tile)).collect())
}

/// The name of the plan's file; of plan.csv that of its folder.
fn name_of(plan: &Path) -> Option<String> {
    let stem = plan.file_stem()?.to_string_lossy().into_owned();
    if stem != "plan" {
        return Some(stem);
    }
    let folder = plan.canonicalize().ok()?;
    Some(folder.parent()?.file_name()?.to_string_lossy().into_owned())
}
