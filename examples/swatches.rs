//! Compares the swatches that are read on test tiles and cylinders with those that were painted there.
//!
//! `cargo run --release --example swatches -- DIR`. DIR holds photographs `NAME.jpg` with `NAME.json` beside them, which
//! lists under `swatches` what faces the camera: `quad_px` and `lab_d50`. A swatch counts as found where the middle of a
//! swatch that was read lies in the middle half of its quad.
#![allow(clippy::print_stdout)]

use sherdlight::colour::{LabD50, ciede2000};
use sherdlight::reading::{Swatch, measure_swatches};
use sherdlight::road::{self, Settings, sources};
use sherdlight::surface::{SwatchSettings, find_swatches};
use std::error::Error;
use std::path::{Path, PathBuf};

fn main() -> Result<(), Box<dyn Error>> {
    let dir = PathBuf::from(std::env::args().nth(1).ok_or("say which folder: swatches DIR")?);
    let mut files: Vec<PathBuf> = std::fs::read_dir(&dir)?.filter_map(|e| Some(e.ok()?.path())).collect();
    files.retain(|file| file.extension().is_some_and(|e| e == "json"));
    files.sort();
    let (mut off, mut inside, mut all) = (Vec::new(), 0usize, 0usize);
    println!(
        "photograph            kind      listed  found  extra  de00 median   p95  L* order  in interval  drift px"
    );
    for file in &files {
        let text = std::fs::read_to_string(file)?;
        let truth: serde_json::Value = serde_json::from_str(&text)?;
        let known = known(&truth);
        if known.is_empty() {
            continue;
        }
        let kind = truth["object"].as_str().unwrap_or("?");
        let name = file.file_stem().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
        let photo = file.with_extension("jpg");
        let read = match read(&photo) {
            Ok(read) => read,
            Err(why) => {
                println!("{name:<21} {kind:<9} {:>6} {why}", known.len());
                continue;
            }
        };
        let pairs: Vec<(&Known, &Swatch)> = known
            .iter()
            .filter_map(|k| {
                let of = |s: &&Swatch| within(middle(&s.quad_px), &k.quad);
                Some((k, read.iter().filter(|s| s.lab.is_some()).find(of)?))
            })
            .collect();
        let extra = read.iter().filter(|s| s.lab.is_some()).count() - pairs.len();
        let mut apart = Vec::new();
        for (k, s) in &pairs {
            let (Some(lab), Some(u95)) = (s.lab, s.u95) else { continue };
            apart.push(ciede2000(LabD50::from(lab), LabD50::from(k.lab)));
            inside += (0..3).filter(|&c| (lab[c] - k.lab[c]).abs() <= u95[c]).count();
            all += 3;
        }
        if std::env::args().any(|a| a == "--each") {
            for k in &known {
                let at = middle(&k.quad);
                match pairs.iter().find(|(known, _)| std::ptr::eq(*known, k)) {
                    Some((_, s)) => {
                        println!("    {:<14} {:?} {:?} {:?} {:?}", k.id, k.lab, s.lab, s.u95, s.label)
                    }
                    None => println!("    {:<14} not found at {:.0}, {:.0}", k.id, at[0], at[1]),
                }
            }
            for s in read.iter().filter(|s| s.lab.is_none()) {
                let at = middle(&s.quad_px);
                println!("    {} left out ({:?}) at {:.0}, {:.0}", s.id, s.left_out, at[0], at[1]);
            }
        }
        apart.sort_by(f64::total_cmp);
        let at = |share: f64| {
            apart.get(((apart.len().max(1) - 1) as f64 * share) as usize).copied().unwrap_or(f64::NAN)
        };
        let order =
            spearman(&pairs.iter().filter_map(|(k, s)| Some((k.lab[0], s.lab?[0]))).collect::<Vec<_>>());
        let drift: f64 =
            pairs.iter().map(|(k, s)| distance(middle(&s.quad_px), middle(&k.quad))).fold(0.0, f64::max);
        println!(
            "{name:<21} {kind:<9} {:>6} {:>6} {extra:>6} {:>12.2} {:>5.2} {order:>9.3} {drift:>9.1}",
            known.len(),
            pairs.len(),
            at(0.5),
            at(0.95),
        );
        off.extend(apart);
    }
    off.sort_by(f64::total_cmp);
    let median = off.get(off.len() / 2).copied().unwrap_or(f64::NAN);
    println!(
        "all: {} swatches, median CIEDE2000 {median:.2}, {:.3} of the intervals hold",
        off.len(),
        inside as f64 / all.max(1) as f64
    );
    Ok(())
}

struct Known {
    id: String,
    quad: [[f64; 2]; 4],
    lab: [f64; 3],
}

fn known(truth: &serde_json::Value) -> Vec<Known> {
    let list = truth["swatches"].as_array().cloned().unwrap_or_default();
    let one = |s: &serde_json::Value| {
        Some(Known {
            id: s["id"].as_str()?.to_owned(),
            quad: serde_json::from_value(s["quad_px"].clone()).ok()?,
            lab: serde_json::from_value(s["lab_d50"].clone()).ok()?,
        })
    };
    list.iter().filter_map(one).collect()
}

fn read(photo: &Path) -> Result<Vec<Swatch>, Box<dyn Error>> {
    let measured = road::measure(photo, &Settings::new()?).map_err(|stopped| stopped.fault.to_string())?;
    let grid = find_swatches(&measured.image, &measured.map, 1, &SwatchSettings::default())?;
    Ok(measure_swatches(sources(&photo.to_string_lossy(), &measured), 0, &grid, |_, _| None))
}

fn middle(quad: &[[f64; 2]; 4]) -> [f64; 2] {
    [0, 1].map(|k| quad.iter().map(|p| p[k]).sum::<f64>() / 4.0)
}

fn distance(one: [f64; 2], other: [f64; 2]) -> f64 {
    (one[0] - other[0]).hypot(one[1] - other[1])
}

/// Whether a point lies in the middle half of a quad.
fn within(p: [f64; 2], quad: &[[f64; 2]; 4]) -> bool {
    let m = middle(quad);
    let half = quad.map(|q| [0, 1].map(|k| m[k] + (q[k] - m[k]) / 2.0));
    let side = |i: usize| {
        let (a, b) = (half[i], half[(i + 1) % 4]);
        (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0])
    };
    (0..4).all(|i| side(i) >= 0.0) || (0..4).all(|i| side(i) <= 0.0)
}

/// Spearman's rank correlation; ties share the mean of their ranks.
fn spearman(pairs: &[(f64, f64)]) -> f64 {
    let ranks = |values: Vec<f64>| -> Vec<f64> {
        values
            .iter()
            .map(|v| {
                let (below, same) = values.iter().fold((0.0, 0.0), |(b, s), w| {
                    (b + f64::from(u8::from(w < v)), s + f64::from(u8::from(w == v)))
                });
                below + (same + 1.0) / 2.0
            })
            .collect()
    };
    let (x, y) = (ranks(pairs.iter().map(|p| p.0).collect()), ranks(pairs.iter().map(|p| p.1).collect()));
    let mean = (pairs.len() as f64 + 1.0) / 2.0;
    let sum = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(p, q)| (p - mean) * (q - mean)).sum::<f64>();
    sum(&x, &y) / (sum(&x, &x) * sum(&y, &y)).sqrt()
}
