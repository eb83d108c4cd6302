//! Names of output files, and how files are written.

use super::ReportError;
use sha2::{Digest, Sha256};
use std::collections::{BTreeMap, BTreeSet};
use std::io::Write;
use std::path::{Path, PathBuf};

/// The stem of every input's output files, in the order of the inputs; no two are the same, with
/// upper and lower case taken as one (some file systems do).
///
/// It is the file's name without its extension. Where two inputs share it, each gets `~` and the
/// first eight digits of its hash. `hash_of` gives the SHA-256 of the input with this number in
/// hexadecimal; it is asked only where a name is shared. Where it gives `None` (unreadable file),
/// the hash of the path's text stands in. Where the hashes agree too (the same photograph twice),
/// the later one also gets `-2`, `-3`, ...
pub fn output_stems(paths: &[PathBuf], hash_of: impl Fn(usize) -> Option<String>) -> Vec<String> {
    let stems: Vec<String> = paths.iter().map(|path| stem_of(path)).collect();
    let mut uses: BTreeMap<String, usize> = BTreeMap::new();
    for stem in &stems {
        *uses.entry(stem.to_lowercase()).or_default() += 1;
    }
    // Names that nobody shares are given first: they stay as they are.
    let mut taken: BTreeSet<String> =
        uses.iter().filter(|(_, count)| **count == 1).map(|(stem, _)| stem.clone()).collect();
    let mut names = Vec::with_capacity(paths.len());
    for (number, stem) in stems.into_iter().enumerate() {
        if uses[&stem.to_lowercase()] == 1 {
            names.push(stem);
            continue;
        }
        let hash = hash_of(number).unwrap_or_else(|| {
            Sha256::digest(paths[number].to_string_lossy().as_bytes())
                .iter()
                .map(|byte| format!("{byte:02x}"))
                .collect()
        });
        let first = format!("{stem}~{}", hash.chars().take(8).collect::<String>());
        let mut name = first.clone();
        let mut again = 2;
        while !taken.insert(name.to_lowercase()) {
            name = format!("{first}-{again}");
            again += 1;
        }
        names.push(name);
    }
    names
}

/// The file's name without folders and without its last extension; `photo` where there is none.
pub fn stem_of(path: &Path) -> String {
    path.file_stem().map_or_else(|| "photo".to_owned(), |stem| stem.to_string_lossy().into_owned())
}

/// The file's name without folders, for people. Both kinds of slash part folders, whatever
/// system the record came from.
pub fn file_name_of(path: &str) -> &str {
    path.rsplit(['/', '\\']).find(|part| !part.is_empty()).unwrap_or(path)
}

/// Writes a file as a whole: into a new file beside its place, which is then renamed, so that
/// nobody ever sees half of it. A file of this name is replaced.
///
/// # Errors
/// [`ReportError::Write`] with the path.
pub fn write_file(path: &Path, bytes: &[u8]) -> Result<(), ReportError> {
    let failed = |source| ReportError::Write { path: path.to_path_buf(), source };
    let folder = match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    let mut builder = tempfile::Builder::new();
    builder.prefix(".sherdlight-").suffix(".part");
    #[cfg(unix)]
    {
        // A plain file's rights, which the system narrows by the user's mask.
        use std::os::unix::fs::PermissionsExt;
        builder.permissions(std::fs::Permissions::from_mode(0o666));
    }
    // The error names the temporary file, of which nobody knows.
    let mut file = builder.tempfile_in(folder).map_err(|error| failed(error.kind().into()))?;
    file.write_all(bytes).map_err(failed)?;
    file.as_file().sync_all().map_err(failed)?;
    file.persist(path).map_err(|error| failed(error.error))?;
    Ok(())
}
