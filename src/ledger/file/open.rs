//! Opening the file: whose it is, which layout it has, and bringing an older layout up to date.
//!
//! What the file is gets read from its first hundred bytes (SQLite file format, 1.3: magic, user version at 60, application
//! id at 68) before the database library touches it, so that a file of another program is never opened at all.

use crate::ledger::LedgerError;
use rusqlite::backup::Backup;
use rusqlite::{Connection, OpenFlags, TransactionBehavior};
use std::io::Read;
use std::path::{Path, PathBuf};
use std::time::Duration;

/// Marks our files: "Shrd" in ASCII.
const APPLICATION_ID: u32 = 0x5368_7264;
/// Layouts in their order; the version of a file is how many it has been through. A layout is never changed once it is
/// out: what is new goes into a new file.
const LAYOUTS: [&str; 3] = [
    include_str!("schema/001-start.sql"),
    include_str!("schema/002-in-order.sql"),
    include_str!("schema/003-swatches.sql"),
];
/// How long to wait for another program that writes.
const PATIENCE: Duration = Duration::from_secs(60);
/// Files up to this size are looked through before anything is written into them.
const LOOKED_THROUGH: u64 = 64 << 20;
/// Records fill a few kB each: with SQLite's usual 4 kB a third of the file would be air.
const PAGE_BYTES: u32 = 16384;

/// The newest layout this program knows.
pub const LAYOUT: u32 = LAYOUTS.len() as u32;

/// An open ledger.
#[derive(Debug)]
pub struct Ledger {
    pub(in crate::ledger) connection: Connection,
    pub(in crate::ledger) path: PathBuf,
    /// Seconds since 1970 that stand for now, where a fixed time was told.
    pub(in crate::ledger) fixed_time: Option<i64>,
    /// The copy made before an older layout was brought up to date.
    backup: Option<PathBuf>,
}

/// What lies at a path.
enum Found {
    Nothing,
    Ours,
}

impl Ledger {
    /// Opens a ledger for writing, and makes it where there is none. An older layout is brought up to date, after a backup
    /// beside the file.
    ///
    /// # Errors
    /// [`LedgerError`]; a file that is no ledger of ours, is damaged, newer or may not be written is left as it is.
    pub fn open(path: &Path) -> Result<Self, LedgerError> {
        let found = look_at(path)?;
        let locked = |at: &Path| at.metadata().is_ok_and(|m| m.permissions().readonly());
        // Asked of the file itself, since an administrator may write what is marked not to be written.
        // On other systems that mark on a folder says nothing about the files in it.
        if locked(path) || (cfg!(unix) && folder_of(path).is_some_and(locked)) {
            return Err(LedgerError::ReadOnly { path: path.into() });
        }
        if matches!(found, Found::Nothing) && folder_of(path).is_some_and(|f| !f.is_dir()) {
            let reason = "there is no such folder".into();
            return Err(LedgerError::Unwritable { path: path.into(), reason });
        }
        let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_CREATE;
        let mut ledger = Self::connect(path, flags)?;
        ledger.bring_up_to_date(&LAYOUTS)?;
        if path.metadata().is_ok_and(|m| m.len() <= LOOKED_THROUGH) {
            ledger.must_hold_together("quick_check")?;
        }
        Ok(ledger)
    }

    /// Opens a ledger that is there for looking things up; nothing in it can be changed. An older layout is brought up to
    /// date first, as by [`Ledger::open`].
    ///
    /// # Errors
    /// As [`Ledger::open`], and [`LedgerError::Missing`].
    pub fn look(path: &Path) -> Result<Self, LedgerError> {
        let missing = || LedgerError::Missing { path: path.into() };
        if matches!(look_at(path)?, Found::Nothing) {
            return Err(missing());
        }
        // Open for writing all the same, so that what a killed program left half done can be taken back; else read only.
        let connect = || {
            Self::connect(path, OpenFlags::SQLITE_OPEN_READ_WRITE)
                .or_else(|_| Self::connect(path, OpenFlags::SQLITE_OPEN_READ_ONLY))
        };
        let mut ledger = connect()?;
        // Asked only now: the first bytes may be those of a layout, or of a whole first file, that was just taken back.
        match ledger.version()? {
            0 => return Err(missing()),
            LAYOUT => {}
            _ => {
                drop(ledger);
                let backup = Self::open(path)?.backup;
                ledger = connect()?;
                ledger.backup = backup;
            }
        }
        ledger.execute("PRAGMA query_only = ON")?;
        Ok(ledger)
    }

    /// The file.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// The copy made before an older layout was brought up to date, where that was needed.
    pub fn backup_made(&self) -> Option<&Path> {
        self.backup.as_deref()
    }

    /// What is entered from here on bears this time, in seconds since 1970, instead of the clock's.
    pub fn fix_time(&mut self, seconds: i64) {
        self.fixed_time = Some(seconds);
    }

    /// From here on entries are written to a log beside the file (write-ahead log) and flushed to the disk now and then
    /// instead of each by itself: many times faster for a load. A killed program loses nothing by it; where the power fails,
    /// the last entries may be missing, never a part of one. [`Ledger::settle`] ends it.
    pub fn hurry(&self) {
        // Where the place bears no such log (some network folders), each entry is flushed as before.
        let _ = self.connection.pragma_update_and_check(None, "journal_mode", "WAL", |_| Ok(()));
        let _ = self.connection.pragma_update(None, "synchronous", "NORMAL");
    }

    /// Brings everything into the one file and flushes it, unless another program still writes: then that one does.
    pub fn settle(&self) {
        let _ = self.connection.busy_timeout(Duration::ZERO);
        let _ = self.connection.pragma_update(None, "synchronous", "FULL");
        let _ = self.connection.pragma_update_and_check(None, "wal_checkpoint", "TRUNCATE", |_| Ok(()));
        let _ = self.connection.pragma_update_and_check(None, "journal_mode", "DELETE", |_| Ok(()));
        let _ = self.connection.busy_timeout(PATIENCE);
    }

    /// Copies the ledger, as it stands between two entries, to a new file.
    ///
    /// # Errors
    /// [`LedgerError::Exists`] where the file is there already, else what the database says.
    pub fn back_up(&self, to: &Path) -> Result<(), LedgerError> {
        if to.exists() {
            return Err(LedgerError::Exists { path: to.into() });
        }
        let copy = || -> rusqlite::Result<()> {
            let mut target = Connection::open(to)?;
            Backup::new(&self.connection, &mut target)?.run_to_completion(256, Duration::ZERO, None)
        };
        copy().map_err(|error| {
            // A half copy is no copy.
            let _ = std::fs::remove_file(to);
            match LedgerError::of(to, &error) {
                LedgerError::ReadOnly { path } => {
                    LedgerError::Unwritable { path, reason: "the folder is missing or closed to us".into() }
                }
                other => other,
            }
        })
    }

    fn connect(path: &Path, flags: OpenFlags) -> Result<Self, LedgerError> {
        let connection = Connection::open_with_flags(path, flags | OpenFlags::SQLITE_OPEN_NO_MUTEX)
            .map_err(|e| LedgerError::of(path, &e))?;
        let ledger = Self { connection, path: path.into(), fixed_time: None, backup: None };
        ledger.connection.busy_timeout(PATIENCE).map_err(|e| ledger.failed(&e))?;
        // One file and a journal that is gone when nothing is written: a person may copy it like any other.
        ledger.execute("PRAGMA foreign_keys = ON; PRAGMA synchronous = FULL; PRAGMA trusted_schema = OFF")?;
        // The first look into the file also takes back what a killed program left half done.
        ledger
            .connection
            .query_row("SELECT count(*) FROM sqlite_schema", [], |row| row.get::<_, i64>(0))
            .map_err(|e| ledger.failed(&e))?;
        // What a killed program left in the log beside the file may be newer than the file's own first bytes.
        match ledger.version()? {
            found if found > LAYOUT => Err(LedgerError::Newer { path: path.into(), found, known: LAYOUT }),
            _ => Ok(ledger),
        }
    }

    fn version(&self) -> Result<u32, LedgerError> {
        let asked = self.connection.query_row("PRAGMA user_version", [], |row| row.get(0));
        asked.map_err(|e| self.failed(&e))
    }

    fn bring_up_to_date(&mut self, layouts: &[&str]) -> Result<(), LedgerError> {
        let version = self.version()?;
        if version as usize >= layouts.len() {
            return Ok(());
        }
        if version == 0 {
            self.execute(&format!("PRAGMA page_size = {PAGE_BYTES}"))?;
        } else {
            let backup = self.free_name(version);
            self.back_up(&backup)?;
            self.backup = Some(backup);
        }
        self.lay_out(layouts)
    }

    /// Runs the layouts that the file has not been through, and sets its version, all or nothing. Another program may have
    /// done so in the meantime.
    fn lay_out(&mut self, layouts: &[&str]) -> Result<(), LedgerError> {
        let path = self.path.clone();
        let run = |connection: &mut Connection| -> rusqlite::Result<()> {
            let work = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
            let version: u32 = work.query_row("PRAGMA user_version", [], |row| row.get(0))?;
            for layout in layouts.iter().skip(version as usize) {
                work.execute_batch(layout)?;
            }
            if (version as usize) < layouts.len() {
                work.pragma_update(None, "application_id", APPLICATION_ID)?;
                work.pragma_update(None, "user_version", layouts.len() as u32)?;
            }
            work.commit()
        };
        run(&mut self.connection).map_err(|e| LedgerError::of(&path, &e))
    }

    /// A name beside the file that is not taken.
    fn free_name(&self, version: u32) -> PathBuf {
        let name = |n: u32| {
            let mut name = self.path.clone().into_os_string();
            name.push(match n {
                1 => format!(".layout-{version}.backup"),
                n => format!(".layout-{version}.backup-{n}"),
            });
            PathBuf::from(name)
        };
        (1..).map(name).find(|file| !file.exists()).unwrap_or_else(|| name(0))
    }

    /// Fails where SQLite's own check (`quick_check`, `integrity_check`) finds anything.
    pub(in crate::ledger) fn must_hold_together(&self, check: &str) -> Result<(), LedgerError> {
        let asked =
            self.connection.query_row(&format!("PRAGMA {check}(1)"), [], |row| row.get::<_, String>(0));
        match asked.map_err(|e| self.failed(&e))?.as_str() {
            "ok" => Ok(()),
            what => Err(LedgerError::Damaged { path: self.path.clone(), what: what.replace('\n', " ") }),
        }
    }

    pub(in crate::ledger) fn execute(&self, sql: &str) -> Result<(), LedgerError> {
        self.connection.execute_batch(sql).map_err(|e| self.failed(&e))
    }

    pub(in crate::ledger) fn failed(&self, error: &rusqlite::Error) -> LedgerError {
        LedgerError::of(&self.path, error)
    }
}

fn folder_of(path: &Path) -> Option<&Path> {
    path.parent().filter(|folder| !folder.as_os_str().is_empty())
}

/// Whose file it is, by its first bytes alone.
fn look_at(path: &Path) -> Result<Found, LedgerError> {
    let not_ours = |what: &str| LedgerError::NotALedger { path: path.into(), what: what.into() };
    // SQLite takes this name for a database in memory, where nothing would be kept.
    if path.as_os_str() == ":memory:" || path.metadata().is_ok_and(|m| !m.is_file() && !m.is_dir()) {
        return Err(not_ours("it is no file on the disk"));
    }
    let mut head = Vec::new();
    match std::fs::File::open(path) {
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(Found::Nothing),
        Err(error) => return Err(LedgerError::Unreadable { path: path.into(), reason: error.to_string() }),
        Ok(_) if path.is_dir() => return Err(not_ours("it is a folder")),
        Ok(file) => file.take(100).read_to_end(&mut head),
    }
    .map_err(|error| LedgerError::Unreadable { path: path.into(), reason: error.to_string() })?;
    if head.is_empty() {
        return Ok(Found::Nothing);
    }
    if !head.starts_with(b"SQLite format 3\0") {
        return Err(not_ours("it is no SQLite file"));
    }
    let number = |at: usize| head.get(at..at + 4).and_then(|b| b.try_into().ok()).map(u32::from_be_bytes);
    match (number(68), number(60)) {
        (Some(APPLICATION_ID), Some(found)) if found > LAYOUT => {
            Err(LedgerError::Newer { path: path.into(), found, known: LAYOUT })
        }
        (Some(APPLICATION_ID), Some(_)) => Ok(Found::Ours),
        (Some(_), _) => Err(not_ours("it is the database of another program")),
        _ => Err(LedgerError::Damaged {
            path: path.into(),
            what: "it ends within its first hundred bytes".into(),
        }),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn count(ledger: &Ledger, sql: &str) -> u32 {
        ledger.connection.query_row(sql, [], |row| row.get(0)).unwrap()
    }

    #[test]
    fn a_layout_that_fails_takes_everything_back_and_the_backup_stays() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("ledger.sqlite");
        let mut ledger = Ledger::open(&path).unwrap();
        ledger.execute("INSERT INTO firings (name, entered) VALUES ('wet reed', 'then')").unwrap();
        let [one, two, three] = LAYOUTS;
        let bad = [one, two, three, "CREATE TABLE kilns (name TEXT) STRICT; CREATE TABLE kilns (name TEXT)"];
        assert!(matches!(ledger.bring_up_to_date(&bad), Err(LedgerError::Ours { .. })));
        assert_eq!(ledger.version().unwrap(), LAYOUT);
        assert_eq!(count(&ledger, "SELECT count(*) FROM sqlite_schema WHERE name = 'kilns'"), 0);
        let good = [one, two, three, "CREATE TABLE kilns (name TEXT) STRICT"];
        ledger.bring_up_to_date(&good).unwrap();
        assert_eq!((ledger.version().unwrap(), count(&ledger, "SELECT count(*) FROM firings")), (4, 1));
        // The backup of the try that failed was not overwritten.
        let backups = ["ledger.sqlite.layout-3.backup", "ledger.sqlite.layout-3.backup-2"];
        for backup in backups {
            let copy = Ledger::look(&folder.path().join(backup)).unwrap();
            assert_eq!((copy.version().unwrap(), count(&copy, "SELECT count(*) FROM firings")), (3, 1));
        }
        assert_eq!(ledger.backup_made(), Some(folder.path().join(backups[1]).as_path()));
    }

    #[test]
    fn a_first_file_that_was_never_finished_is_no_ledger_and_can_be_begun_again() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("ledger.sqlite");
        // A program killed while the first layout was being written leaves pages in the file and a journal that says how
        // long the file was before: no page at all (SQLite file format, 3: the rollback journal's header).
        let broken_off = || {
            drop(Ledger::open(&path).unwrap());
            let mut journal = vec![0xd9, 0xd5, 0x05, 0xf9, 0x20, 0xa1, 0x63, 0xd7];
            for number in [0, 0x5eed, 0, 512, PAGE_BYTES] {
                journal.extend_from_slice(&number.to_be_bytes());
            }
            journal.resize(512, 0);
            std::fs::write(folder.path().join("ledger.sqlite-journal"), journal).unwrap();
        };
        broken_off();
        assert!(matches!(Ledger::look(&path), Err(LedgerError::Missing { .. })));
        assert_eq!(path.metadata().unwrap().len(), 0);
        broken_off();
        let mut ledger = Ledger::open(&path).unwrap();
        ledger.at_once(|entering| entering.firing("wet reed")).unwrap();
        drop(ledger);
        assert_eq!(count(&Ledger::look(&path).unwrap(), "SELECT count(*) FROM firings"), 1);
    }

    #[test]
    fn no_room_is_told_as_such() {
        let folder = tempfile::tempdir().unwrap();
        let mut ledger = Ledger::open(&folder.path().join("ledger.sqlite")).unwrap();
        // The limit on pages is SQLite's own stand-in for a full disk (result code SQLITE_FULL).
        let pages = count(&ledger, "PRAGMA page_count");
        ledger.execute(&format!("PRAGMA max_page_count = {pages}")).unwrap();
        let full = (0..2000)
            .map(|n| ledger.at_once(|entering| entering.firing(&format!("firing {n} {}", "x".repeat(400)))));
        let error = full.filter_map(Result::err).next().unwrap();
        assert!(matches!(error, LedgerError::Full { .. }), "{error}");
        assert!(error.hint().contains("Make room"));
    }

    #[test]
    fn a_write_ahead_log_leaves_one_file_behind() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("ledger.sqlite");
        let mut ledger = Ledger::open(&path).unwrap();
        ledger.hurry();
        ledger.at_once(|entering| entering.firing("wet reed")).unwrap();
        assert!(folder.path().join("ledger.sqlite-wal").exists());
        ledger.settle();
        let names: Vec<_> =
            std::fs::read_dir(folder.path()).unwrap().map(|e| e.unwrap().file_name()).collect();
        assert_eq!(names, ["ledger.sqlite"]);
        assert_eq!(count(&Ledger::look(&path).unwrap(), "SELECT count(*) FROM firings"), 1);
    }
}
