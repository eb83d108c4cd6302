//! How often the truth lies inside the interval: random shots of the invented studio, rendered, measured, compared.
//!
//! `cargo run --release --example intervals [-- SHOTS [SEED]]`; 300 shots and seed 1 unless told. Cameras, light, view,
//! card, ground, firing and flaws are drawn by the seed, the pieces are those of `demo-images`. The same seed gives the
//! same table. With `-- FOLDER` the photographs there (JPEG, each with its truth beside it, `NAME.json`) are measured
//! instead of random shots. Rows of values of one shot hang together, so the interval of each share is found by drawing whole shots
//! again (bootstrap, JCGM 101:2008 for the propagation, Efron 1979 for the resampling).
#![allow(clippy::print_stdout, clippy::print_stderr)]

#[path = "../render_demo/camera.rs"]
mod camera;
#[path = "../render_demo/coats.rs"]
mod coats;
#[path = "../render_demo/motifs.rs"]
mod motifs;
#[path = "../render_demo/noise.rs"]
mod noise;
#[allow(dead_code, reason = "the rows of the sheet are for `render_demo`")]
#[path = "../render_demo/pictures.rs"]
mod pictures;
#[path = "../render_demo/render.rs"]
mod render;
#[path = "../render_demo/scene.rs"]
mod scene;
#[path = "../render_demo/shapes.rs"]
mod shapes;
#[path = "../render_demo/skin.rs"]
mod skin;
#[path = "../render_demo/slab.rs"]
mod slab;
#[path = "../render_demo/spectra.rs"]
mod spectra;
#[path = "../render_demo/truth.rs"]
mod truth;
mod vary;

use image::ExtendedColorType;
use image::ImageEncoder;
use image::codecs::jpeg::JpegEncoder;
use serde_json::Value;
use sherdlight::card::CardDefinition;
use sherdlight::reading::Reading;
use sherdlight::road::{self, Settings};
use std::collections::BTreeMap;
use std::error::Error;
use std::path::{Path, PathBuf};
use vary::Dice;

const SIZE: [usize; 2] = [800, 600];
const QUALITY: u8 = 90;
/// Smaller surfaces are not compared, pixels.
const LEAST_AREA: f64 = 900.0;
/// Fewer painted pixels say nothing of how much is retained.
const LEAST_PAINT: f64 = 1100.0;
/// Draws of the bootstrap.
const DRAWS: usize = 2000;

/// One value: what it is, whether the truth lies inside, and the half-width.
struct Look {
    kind: String,
    inside: bool,
    u95: f64,
}

fn main() -> Result<(), Box<dyn Error>> {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let mut settings = Settings::new()?;
    settings.card.definition = Some(CardDefinition::load("chart24-iso")?);
    let folder = words.first().map(Path::new).filter(|path| path.is_dir());
    let seed: u64 = words.get(1).map_or(Ok(1), |w| w.parse())?;
    let photographs = match folder {
        Some(folder) => photographs(folder)?,
        None => Vec::new(),
    };
    let shots: usize = match (folder, words.first()) {
        (None, Some(word)) => word.parse()?,
        (None, None) => 300,
        (Some(_), _) => photographs.len(),
    };
    let scratch = tempfile::tempdir()?;
    let (mut looks, mut failed): (Vec<Vec<Look>>, usize) = (Vec::new(), 0);
    for shot in 0..shots {
        let (path, truth) = match photographs.get(shot) {
            Some(path) => {
                (path.clone(), serde_json::from_slice(&std::fs::read(path.with_extension("json"))?)?)
            }
            None => drawn(shot, seed, scratch.path())?,
        };
        match road::measure(&path, &settings) {
            Ok(measured) => looks.push(compare(&measured.readings[0], &truth)),
            Err(_) => failed += 1,
        }
        if (shot + 1) % 50 == 0 {
            eprintln!("{} of {shots} shots", shot + 1);
        }
    }
    println!("{shots} shots, {failed} not measured, seed {seed}");
    println!("{:<22} {:>6} {:>8} {:>17} {:>11}", "value", "n", "inside", "95 % interval", "median u95");
    let mut kinds: BTreeMap<&str, ()> = BTreeMap::new();
    looks.iter().flatten().for_each(|look| {
        kinds.insert(&look.kind, ());
    });
    let flat_lab = |look: &Look| look.kind.starts_with("flat ");
    let curved_lab = |look: &Look| look.kind.starts_with("curved ");
    row("all colours", &looks, seed, |look| flat_lab(look) || curved_lab(look));
    row("flat, all colours", &looks, seed, flat_lab);
    row("curved, all colours", &looks, seed, curved_lab);
    for kind in kinds.keys() {
        row(kind, &looks, seed, |look| look.kind == *kind);
    }
    Ok(())
}

/// The photographs of a folder that have a truth, by name.
fn photographs(folder: &Path) -> Result<Vec<PathBuf>, Box<dyn Error>> {
    let mut found: Vec<PathBuf> =
        std::fs::read_dir(folder)?.map(|entry| Ok(entry?.path())).collect::<Result<_, std::io::Error>>()?;
    found.retain(|path| {
        path.extension().is_some_and(|end| end == "jpg") && path.with_extension("json").is_file()
    });
    found.sort();
    Ok(found)
}

/// A random shot, drawn into the scratch folder (over the one before it), and its truth.
fn drawn(shot: usize, seed: u64, scratch: &Path) -> Result<(PathBuf, Value), Box<dyn Error>> {
    let picture = vary::picture(shot, &mut Dice::new(seed, shot as u64));
    let rendered = render::render(&picture, picture.camera, SIZE);
    let mut jpeg = Vec::new();
    JpegEncoder::new_with_quality(&mut jpeg, QUALITY).write_image(
        &rendered.bytes,
        rendered.width as u32,
        rendered.height as u32,
        ExtendedColorType::Rgb8,
    )?;
    let path = scratch.join("shot.jpg");
    std::fs::write(&path, &jpeg)?;
    Ok((path, truth::truth(&picture, &rendered)))
}

/// Every value of a reading against the truth of its picture.
fn compare(reading: &Reading, truth: &Value) -> Vec<Look> {
    let mut looks = Vec::new();
    let form = if matches!(truth["object"].as_str(), Some("sherd" | "tile")) { "flat" } else { "curved" };
    let mut look = |kind: String, error: f64, u95: f64| {
        looks.push(Look { kind, inside: error.abs() <= u95, u95 });
    };
    let classes = &truth["classes"];
    let area = |name: &str| classes[name]["area_px"].as_f64().unwrap_or(0.0);
    for name in ["white", "red", "black", "body"] {
        let (Some(want), Some(surface)) = (visible_lab(&classes[name]), reading.surfaces.get(name)) else {
            continue;
        };
        if area(name) >= LEAST_AREA {
            for (k, channel) in ["L*", "a*", "b*"].iter().enumerate() {
                look(format!("{form} {name} {channel}"), surface.lab[k] - want[k], surface.u95[k]);
            }
        }
    }
    let both =
        ["white", "black"].map(|name| visible_lab(&classes[name]).filter(|_| area(name) >= LEAST_AREA));
    if let ([Some(white), Some(black)], Some(contrast)) = (both, &reading.contrast) {
        let luminance = |lab: [f64; 3]| ((lab[0] + 16.0) / 116.0).powi(3);
        let ratio = luminance(white) / luminance(black);
        look("contrast: ratio".into(), contrast.reflectance_ratio - ratio, contrast.u95.reflectance_ratio);
        look("contrast: delta L*".into(), contrast.delta_l - (white[0] - black[0]), contrast.u95.delta_l);
    }
    let painted = truth["paint"]["painted_area_px"].as_f64().unwrap_or(0.0);
    // Against the soundest paint of the piece, as the program does; some truths know of sound paint alone.
    let part = &truth["paint"];
    let want = [&part["retained_vs_soundest"], &truth["retained_vs_soundest"], &part["retained_fraction"]];
    if let (Some(want), Some(paint)) = (want.into_iter().find_map(Value::as_f64), &reading.paint)
        && painted >= LEAST_PAINT
        && truth["object"] != "tile"
        && truth["faults"]["weak_black"].as_f64().unwrap_or(0.0) == 0.0
    {
        look("paint retained".into(), paint.retained_fraction - want, paint.u95);
    }
    looks
}

/// The colour that a camera can see: of the inner part, weak gloss in it.
fn visible_lab(class: &Value) -> Option<[f64; 3]> {
    let lab = |v: &Value| Some([v[0].as_f64()?, v[1].as_f64()?, v[2].as_f64()?]);
    [&class["core"]["lab_d50_with_gloss"], &class["core"]["lab_d50"], &class["lab_d50"]]
        .into_iter()
        .find_map(lab)
}

fn row(name: &str, looks: &[Vec<Look>], seed: u64, wanted: impl Fn(&Look) -> bool) {
    let counts: Vec<[usize; 2]> = looks
        .iter()
        .map(|shot| {
            let of_kind = shot.iter().filter(|look| wanted(look));
            of_kind.fold([0; 2], |[n, inside], look| [n + 1, inside + usize::from(look.inside)])
        })
        .collect();
    let share = |[n, inside]: [usize; 2]| inside as f64 / n.max(1) as f64;
    let sum = |picked: &mut dyn Iterator<Item = usize>| {
        picked.fold([0; 2], |[n, inside], at| [n + counts[at][0], inside + counts[at][1]])
    };
    let total = sum(&mut (0..counts.len()));
    let mut dice = Dice::new(seed, u64::MAX);
    let mut drawn: Vec<f64> =
        (0..DRAWS).map(|_| share(sum(&mut (0..counts.len()).map(|_| dice.below(counts.len()))))).collect();
    drawn.sort_by(f64::total_cmp);
    let mut widths: Vec<f64> =
        looks.iter().flatten().filter(|look| wanted(look)).map(|look| look.u95).collect();
    widths.sort_by(f64::total_cmp);
    let median = widths.get(widths.len() / 2).copied().unwrap_or(f64::NAN);
    println!(
        "{name:<22} {:>6} {:>8.3} {:>8.3} to {:>5.3} {median:>11.2}",
        total[0],
        share(total),
        drawn[DRAWS / 40],
        drawn[DRAWS - 1 - DRAWS / 40]
    );
}
