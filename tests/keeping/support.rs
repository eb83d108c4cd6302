//! The program, the demo images and scratch folders.

use assert_cmd::Command;
use serde_json::Value;
use std::fs;
use std::path::{Path, PathBuf};

pub struct Run {
    pub code: i32,
    pub out: String,
    pub err: String,
}

impl Run {
    pub fn json(&self) -> Vec<Value> {
        self.out.lines().map(|line| serde_json::from_str(line).unwrap()).collect()
    }
}

pub fn demo(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-images").join(name)
}

/// A scratch folder with a ledger to be in it.
pub struct Place {
    folder: tempfile::TempDir,
}

impl Place {
    pub fn new() -> Self {
        Self { folder: tempfile::tempdir().unwrap() }
    }
    pub fn at(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }
    pub fn text(&self, name: &str) -> String {
        text(&self.at(name))
    }
    /// The program with `--ledger` of this place.
    pub fn run(&self, arguments: &[&str]) -> Run {
        let ledger = self.text("ledger.sqlite");
        sherdlight(&[arguments, &["--ledger", &ledger]].concat())
    }
    /// Writes a file and gives its path.
    pub fn file(&self, name: &str, bytes: impl AsRef<[u8]>) -> String {
        fs::write(self.at(name), bytes).unwrap();
        self.text(name)
    }
    /// A folder of copies of the demo images: each `copies` times, told apart by bytes after the end of the picture.
    pub fn photographs(&self, which: &[&str], copies: usize) -> PathBuf {
        let folder = self.at("photographs");
        fs::create_dir_all(&folder).unwrap();
        for name in which {
            let bytes = fs::read(demo(name)).unwrap();
            for copy in 0..copies {
                let mut bytes = bytes.clone();
                bytes.extend(std::iter::repeat_n(0u8, copy));
                fs::write(folder.join(format!("{}-{copy}.jpg", name.trim_end_matches(".jpg"))), bytes)
                    .unwrap();
            }
        }
        folder
    }
    /// The whole ledger but for the times of entering, which differ from run to run.
    pub fn whole(&self) -> Vec<Value> {
        let run = self.run(&["ledger", "export", "--json", "-", "--with", "folders,places,exif"]);
        assert_eq!(run.code, 0, "{}", run.err);
        let mut lines = run.json();
        lines.iter_mut().for_each(without_times);
        lines
    }
}

fn without_times(value: &mut Value) {
    match value {
        Value::Object(fields) => {
            fields.remove("entered");
            fields.values_mut().for_each(without_times);
        }
        Value::Array(items) => items.iter_mut().for_each(without_times),
        _ => {}
    }
}

pub fn text(path: &Path) -> String {
    path.to_str().unwrap().to_owned()
}

pub fn sherdlight(arguments: &[&str]) -> Run {
    let output = Command::cargo_bin("sherdlight")
        .unwrap()
        .env_remove("SHERDLIGHT_LEDGER")
        .args(arguments)
        .output()
        .unwrap();
    Run {
        code: output.status.code().unwrap(),
        out: String::from_utf8(output.stdout).unwrap(),
        err: String::from_utf8(output.stderr).unwrap(),
    }
}
