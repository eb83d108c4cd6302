//! How much of a patch's error its neighbours in colour share: what `card::uncertainty` takes of the held-out residuals.
//!
//! `cargo run --release --example withheld -- DIR`: photographs of real cards (DIR/photos.csv names those whose `card_type` is
//! `full_size` or `pocket_folding`; any other file there is left alone). Each two patches nearer than 32 in CIELAB are kept out of the fit
//! together and read by the rest. Their errors over the stated standard uncertainty are z and z'; what one has in common
//! with the other is the mean of z z' over the mean of their squares (the correlation about zero; Fisher 1925, Statistical
//! Methods for Research Workers, chapter VII). The rest is each patch's own: its print, its noise, its pigment. The hole that two leave is
//! larger than the one that a surface lies in, so the share errs on the wide side.
#![allow(clippy::print_stdout, clippy::print_stderr)]

use sherdlight::card::{CardDefinition, CardReading, CardSettings, read_card};
use sherdlight::photo::{self, Limits, Photo};
use std::error::Error;
use std::path::{Path, PathBuf};

/// Farther apart two patches say nothing of each other.
const NEAR: f64 = 32.0;
/// Patches that a photograph must show in order.
const LEAST: usize = 18;

/// Two patches kept out together: how far apart in CIELAB, and their errors over the standard uncertainties.
struct Pair {
    apart: f64,
    is_grey: bool,
    z: [[f64; 3]; 2],
}

fn main() -> Result<(), Box<dyn Error>> {
    let folder = std::env::args().nth(1).map(PathBuf::from).ok_or("usage: withheld DIR")?;
    let mut pairs = Vec::new();
    for file in cards(&folder)? {
        let photo = photo::read(&folder.join(&file), &Limits::default())?;
        match pairs_of(&photo)? {
            Some(found) => pairs.push(found),
            None => eprintln!("{file}: left out, too few patches in order"),
        }
    }
    println!("{} photographs, {} pairs", pairs.len(), pairs.iter().map(Vec::len).sum::<usize>());
    let all: Vec<Pair> = pairs.into_iter().flatten().collect();
    println!(
        "{:<24} {:>5} {:>22} {:>22} {:>8}",
        "pairs", "n", "inside u95: L* a* b*", "shared: L* a* b*", "shared"
    );
    row("all", &all, |_| true);
    row("greys", &all, |p| p.is_grey);
    row("nearer than 25", &all, |p| p.apart < 25.0);
    row("25 to 32", &all, |p| p.apart >= 25.0);
    Ok(())
}

/// Files that `photos.csv` says hold a card of the published colours.
fn cards(folder: &Path) -> Result<Vec<String>, Box<dyn Error>> {
    let mut table = csv::Reader::from_path(folder.join("photos.csv"))?;
    let heads = table.headers()?.clone();
    let column = |name: &str| heads.iter().position(|head| head == name).ok_or(format!("no column {name}"));
    let (file, card_type) = (column("file")?, column("card_type")?);
    let mut files = Vec::new();
    for line in table.records() {
        let line = line?;
        if matches!(&line[card_type], "full_size" | "pocket_folding") {
            files.push(line[file].to_owned());
        }
    }
    Ok(files)
}

fn pairs_of(photo: &Photo) -> Result<Option<Vec<Pair>>, Box<dyn Error>> {
    let mut settings =
        CardSettings { definition: Some(CardDefinition::load("chart24-b")?), ..CardSettings::default() };
    let Ok(whole) = read_card(photo, &settings) else { return Ok(None) };
    settings.corners = whole.place.as_ref().map(|place| place.corners_px);
    let used: Vec<usize> = (0..whole.patches.len()).filter(|i| whole.patches[*i].used).collect();
    if used.len() < LEAST {
        return Ok(None);
    }
    let mut pairs = Vec::new();
    for (k, &one) in used.iter().enumerate() {
        for &other in &used[k + 1..] {
            let lab = |i: usize| <[f64; 3]>::from(whole.patches[i].lab_reference);
            let apart = (0..3).map(|c| (lab(one)[c] - lab(other)[c]).powi(2)).sum::<f64>().sqrt();
            if apart > NEAR {
                continue;
            }
            settings.skip = [one, other].map(|i| whole.patches[i].id.clone()).into();
            let Ok(card) = read_card(photo, &settings) else { continue };
            let is_grey = [one, other].iter().all(|i| lab(*i)[1].hypot(lab(*i)[2]) < 5.0);
            pairs.push(Pair { apart, is_grey, z: [one, other].map(|i| errors(&card, i)) });
        }
    }
    Ok(Some(pairs))
}

/// Errors of a patch over the standard uncertainties stated for its colour.
fn errors(card: &CardReading, i: usize) -> [f64; 3] {
    let patch = &card.patches[i];
    let (got, want) = (<[f64; 3]>::from(patch.lab_corrected), <[f64; 3]>::from(patch.lab_reference));
    let u95 = card.correction.u95(patch.lab_corrected);
    [0, 1, 2].map(|c| 1.96 * (got[c] - want[c]) / u95[c])
}

fn row(name: &str, pairs: &[Pair], wanted: impl Fn(&Pair) -> bool) {
    let picked: Vec<&Pair> = pairs.iter().filter(|pair| wanted(pair)).collect();
    let n = picked.len() as f64;
    let channel = |c: usize| {
        let both = picked.iter().flat_map(|pair| pair.z).map(|z| z[c]);
        let inside = both.clone().filter(|z| z.abs() <= 1.96).count() as f64 / (2.0 * n);
        let squares = both.map(|z| z * z).sum::<f64>() / 2.0;
        (inside, picked.iter().map(|pair| pair.z[0][c] * pair.z[1][c]).sum::<f64>(), squares)
    };
    let told = [0, 1, 2].map(channel);
    let three = |values: [f64; 3]| values.map(|v| format!("{v:.2}")).join("  ");
    let products: f64 = told.iter().map(|t| t.1).sum();
    let squares: f64 = told.iter().map(|t| t.2).sum();
    println!(
        "{name:<24} {:>5} {:>22} {:>22} {:>8.2}",
        picked.len(),
        three(told.map(|t| t.0)),
        three(told.map(|t| t.1 / t.2)),
        products / squares
    );
}
