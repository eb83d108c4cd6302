//! Which ledger is meant, and opening it.

use super::exit::{Trouble, say};
use super::ledger_arguments::LedgerPlace;
use sherdlight::ledger::{Ledger, LedgerError, default_place};
use std::path::PathBuf;

/// Names the ledger where the command line does not.
const VARIABLE: &str = "SHERDLIGHT_LEDGER";
/// Fixes the time of what is entered, in seconds since 1970 (reproducible-builds specification).
const FIXED_TIME: &str = "SOURCE_DATE_EPOCH";

/// The file: as told, else by the environment, else the default place.
pub fn path(place: &LedgerPlace) -> Result<PathBuf, LedgerError> {
    match (&place.ledger, std::env::var_os(VARIABLE).filter(|name| !name.is_empty())) {
        (Some(file), _) => Ok(file.clone()),
        (None, Some(file)) => Ok(file.into()),
        (None, None) => default_place(),
    }
}

/// Opens it for writing, and makes it where there is none.
pub fn open(place: &LedgerPlace) -> Result<Ledger, Trouble> {
    let file = path(place)?;
    if default_place().is_ok_and(|default| default == file)
        && let Some(folder) = file.parent()
    {
        // The default folder is ours to make; one that was told must be there, or it was mistyped.
        super::outputs::make_folder(folder)?;
    }
    let mut ledger = Ledger::open(&file)?;
    if let Some(seconds) = std::env::var(FIXED_TIME).ok().and_then(|text| text.parse().ok()) {
        ledger.fix_time(seconds);
    }
    say_backup(&ledger);
    Ok(ledger)
}

/// Opens it for looking things up.
pub fn look(place: &LedgerPlace) -> Result<Ledger, Trouble> {
    let ledger = Ledger::look(&path(place)?)?;
    say_backup(&ledger);
    Ok(ledger)
}

fn say_backup(ledger: &Ledger) {
    if let Some(backup) = ledger.backup_made() {
        say(&format!(
            "The ledger was made by an earlier version and was brought up to date. As it was, it is kept in {}.",
            backup.display()
        ));
    }
}
