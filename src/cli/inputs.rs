//! Which photographs are meant: files as named, folders by their pictures.

use super::exit::{Trouble, say};
use std::path::{Path, PathBuf};

/// Endings of files that are taken from a folder; each is then known by its content. Some cannot be
/// measured (HEIC, raw): they are taken all the same, so that the reason and the remedy are said.
const PICTURE_ENDINGS: [&str; 15] = [
    "jpg", "jpeg", "jpe", "png", "tif", "tiff", "heic", "heif", "avif", "webp", "bmp", "gif", "dng", "cr2",
    "nef",
];

/// The photographs, and what was left aside in folders.
#[derive(Debug, Default)]
pub struct Inputs {
    /// In the order given; those of a folder by name.
    pub photographs: Vec<PathBuf>,
    /// Files in folders that are no pictures.
    pub left_aside: Vec<PathBuf>,
    /// Folders with no picture in them.
    pub empty_folders: Vec<PathBuf>,
}

/// Resolves the paths. A path that does not exist stays in: its error is said as a photograph's.
pub fn gather(paths: &[PathBuf]) -> Result<Inputs, Trouble> {
    let mut inputs = Inputs::default();
    for path in paths {
        // A folder that is named like a picture is still a folder, but most likely not meant as one.
        if path.is_dir() && !is_picture(path) {
            read_folder(path, &mut inputs)?;
        } else {
            inputs.photographs.push(path.clone());
        }
    }
    // The same file named twice is measured once.
    let mut seen = std::collections::BTreeSet::new();
    inputs.photographs.retain(|path| seen.insert(path.clone()));
    Ok(inputs)
}

/// All pictures in these folders and the folders below them, by name; a file that is named stands for itself.
pub fn pictures_below(folders: &[PathBuf]) -> Result<Vec<PathBuf>, Trouble> {
    let mut inputs = Inputs::default();
    let mut below: Vec<PathBuf> = Vec::new();
    for folder in folders {
        match folder.is_dir() {
            true => below.push(folder.clone()),
            false if folder.is_file() => inputs.photographs.push(folder.clone()),
            false => {
                return Err(Trouble::settings(
                    format!("there is no folder '{}'", folder.display()),
                    "Name the folder in which the photographs lie.",
                ));
            }
        }
    }
    let told = below.clone();
    while let Some(folder) = below.pop() {
        match read_folder(&folder, &mut inputs) {
            // One that was named must be there; one closed to us among many is passed over, and said.
            Err(trouble) if told.contains(&folder) => return Err(trouble),
            Err(_) => say(&format!("{}: this folder cannot be read and is passed over.", folder.display())),
            Ok(()) => {}
        }
        // A link to a folder is not followed: it may lead back. Nor is a hidden one looked into.
        let entries = std::fs::read_dir(&folder).into_iter().flatten().flatten();
        let hidden = |entry: &std::fs::DirEntry| entry.file_name().to_string_lossy().starts_with('.');
        let folders =
            entries.filter(|entry| entry.file_type().is_ok_and(|kind| kind.is_dir()) && !hidden(entry));
        below.extend(folders.map(|entry| entry.path()));
    }
    inputs.photographs.sort();
    inputs.photographs.dedup();
    Ok(inputs.photographs)
}

fn read_folder(folder: &Path, inputs: &mut Inputs) -> Result<(), Trouble> {
    let unreadable = |e: std::io::Error| {
        Trouble::settings(
            format!("the folder '{}' cannot be read: {e}", folder.display()),
            "Check its name and rights.",
        )
    };
    let mut entries = Vec::new();
    for entry in std::fs::read_dir(folder).map_err(unreadable)? {
        entries.push(entry.map_err(unreadable)?.path());
    }
    entries.sort();
    let hidden = |p: &Path| p.file_name().is_some_and(|n| n.to_string_lossy().starts_with('.'));
    let before = inputs.photographs.len();
    for path in entries.into_iter().filter(|p| !hidden(p)) {
        if is_picture(&path) {
            inputs.photographs.push(path);
        } else if !path.is_dir() {
            inputs.left_aside.push(path);
        }
    }
    if inputs.photographs.len() == before {
        inputs.empty_folders.push(folder.to_path_buf());
    }
    Ok(())
}

fn is_picture(path: &Path) -> bool {
    path.extension().is_some_and(|e| PICTURE_ENDINGS.contains(&e.to_string_lossy().to_lowercase().as_str()))
}
