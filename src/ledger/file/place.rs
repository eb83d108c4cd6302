//! Where the ledger lies unless a person says otherwise.

use crate::ledger::LedgerError;
use etcetera::BaseStrategy;
use std::path::PathBuf;

/// The file in the folder that the platform's convention sets aside for the data of programs: `XDG_DATA_HOME` or
/// `~/.local/share` (XDG Base Directory 0.8), `~/Library/Application Support`, or the roaming application data folder.
///
/// # Errors
/// [`LedgerError::NoPlace`] where there is no home folder.
pub fn default_place() -> Result<PathBuf, LedgerError> {
    let strategy = etcetera::base_strategy::choose_native_strategy().map_err(|_| LedgerError::NoPlace)?;
    Ok(strategy.data_dir().join("sherdlight").join("ledger.sqlite"))
}
