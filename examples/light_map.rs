//! Compares the light maps that the program makes with known irradiance.
//!
//! `cargo run --release --example light_map -- DIR`. DIR holds photographs `NAME.jpg` with `NAME.irradiance.png` beside them:
//! 8-bit grey, 127 = the light on the card, 0 = no piece, as `--light` writes it. It starts the program built beside it. A
//! photograph of which it makes no light map counts as wholly wrong.
#![allow(clippy::print_stdout)]

use std::error::Error;
use std::path::{Path, PathBuf};
use std::process::Command;

const KNOWN: &str = ".irradiance.png";

fn main() -> Result<(), Box<dyn Error>> {
    let dir = PathBuf::from(std::env::args().nth(1).ok_or("say which folder: light_map DIR")?);
    let mut names: Vec<String> = std::fs::read_dir(&dir)?
        .filter_map(|entry| entry.ok()?.file_name().to_str()?.strip_suffix(KNOWN).map(str::to_string))
        .collect();
    names.sort();
    let work = tempfile::tempdir()?;
    let program = std::env::current_exe()?.with_file_name("../sherdlight");
    let photographs = names.iter().map(|name| dir.join(format!("{name}.jpg")));
    Command::new(program).arg("score").arg("--light").arg(work.path()).args(photographs).output()?;
    println!("photograph           median  nine in ten within");
    let mut medians = Vec::new();
    for name in &names {
        let known = grey(&dir.join(format!("{name}{KNOWN}")))?;
        let mut off = match grey(&work.path().join(format!("{name}.light.png"))) {
            Ok(found) => relative_errors(&found, &known)?,
            Err(_) => vec![1.0],
        };
        off.sort_by(f64::total_cmp);
        let at = |share: f64| off[((off.len() - 1) as f64 * share) as usize];
        println!("{name:<20} {:5.1} %  {:5.1} %", 100.0 * at(0.5), 100.0 * at(0.9));
        medians.push(at(0.5));
    }
    medians.sort_by(f64::total_cmp);
    let middle = medians.get(medians.len() / 2).ok_or("no NAME.irradiance.png in the folder")?;
    println!("{} photographs, median of the medians {:.1} %", medians.len(), 100.0 * middle);
    Ok(())
}

fn grey(path: &Path) -> Result<image::GrayImage, image::ImageError> {
    Ok(image::open(path)?.into_luma8())
}

/// Where either map has a piece that the other knows: how far the light lies from the known one, as a share of it.
fn relative_errors(found: &image::GrayImage, known: &image::GrayImage) -> Result<Vec<f64>, Box<dyn Error>> {
    if found.dimensions() != known.dimensions() {
        return Err("the light map has another size than the known irradiance".into());
    }
    let pairs = found.pixels().zip(known.pixels()).map(|(f, k)| (f64::from(f[0]), f64::from(k[0])));
    let off: Vec<f64> =
        pairs.filter(|(f, k)| *f > 0.0 && *k > 0.0).map(|(f, k)| (f / k - 1.0).abs()).collect();
    Ok(if off.is_empty() { vec![1.0] } else { off })
}
