//! Renders the photographs of `demo-images` and of `demo-images/unfired`, their label maps, `truth.json` and `sheet.csv`.
//!
//! `cargo run --release --example render_demo [-- OUTDIR [NAME...]]`. The same bytes on every run.
#![allow(clippy::print_stdout)]

mod camera;
mod coats;
mod motifs;
mod noise;
mod pictures;
mod render;
mod scene;
mod shapes;
mod skin;
mod slab;
mod spectra;
#[cfg(test)]
mod tests;
mod truth;

use image::codecs::jpeg::JpegEncoder;
use image::codecs::png::{CompressionType, FilterType, PngEncoder};
use image::{ExtendedColorType, ImageEncoder};
use pictures::Picture;
use serde_json::Value;
use std::error::Error;
use std::path::{Path, PathBuf};

const SIZE: [usize; 2] = [1600, 1200];
const QUALITY: u8 = 89;

fn main() -> Result<(), Box<dyn Error>> {
    let mut words = std::env::args().skip(1);
    let out = words.next().map_or_else(|| PathBuf::from("demo-images"), PathBuf::from);
    let only: Vec<String> = words.collect();
    let mut truths = Vec::new();
    let mut sheet = String::from("file,piece,firing,slip,red,paint,place,notes\n");
    let is_wanted =
        |picture: &Picture| only.is_empty() || only.iter().any(|o| picture.name.starts_with(o.as_str()));
    for picture in pictures::all() {
        let piece = &picture.name[..2];
        let cells = picture.sheet.map(|c| if c.contains(',') { format!("\"{c}\"") } else { c.to_string() });
        sheet += &format!("{}.jpg,{piece},{}\n", picture.name, cells.join(","));
        if is_wanted(&picture) {
            truths.push(written(&picture, &out)?);
        }
    }
    if only.is_empty() {
        std::fs::write(out.join("truth.json"), pretty(truths))?;
        std::fs::write(out.join("sheet.csv"), sheet)?;
    }
    let mut before = Vec::new();
    for picture in pictures::unfired().iter().filter(|picture| is_wanted(picture)) {
        before.push(written(picture, &out.join("unfired"))?);
    }
    if only.is_empty() {
        std::fs::write(out.join("unfired/truth.json"), pretty(before))?;
    }
    Ok(())
}

/// Renders a picture and writes it with its label map. Goes out: its truth.
fn written(picture: &Picture, out: &Path) -> Result<Value, Box<dyn Error>> {
    std::fs::create_dir_all(out.join("labels"))?;
    let start = std::time::Instant::now();
    let rendered = render::render(picture, picture.camera, SIZE);
    let (w, h) = (rendered.width as u32, rendered.height as u32);
    let mut jpeg = Vec::new();
    let mut encoder = JpegEncoder::new_with_quality(&mut jpeg, QUALITY);
    encoder.encode(&rendered.bytes, w, h, ExtendedColorType::Rgb8)?;
    std::fs::write(out.join(format!("{}.jpg", picture.name)), &jpeg)?;
    let labels: Vec<u8> = rendered.pixels.iter().map(|p| p.label).collect();
    let mut png = Vec::new();
    PngEncoder::new_with_quality(&mut png, CompressionType::Best, FilterType::NoFilter).write_image(
        &labels,
        w,
        h,
        ExtendedColorType::L8,
    )?;
    std::fs::write(out.join(format!("labels/{}.labels.png", picture.name)), &png)?;
    let truth = truth::truth(picture, &rendered);
    println!(
        "{}: {:.1} s, {} kB, card {}, clipped {} {}, light on card {}",
        picture.name,
        start.elapsed().as_secs_f64(),
        (jpeg.len() + png.len()) / 1000,
        truth["card"]["area_fraction"],
        truth["card"]["clipped_high"],
        truth["card"]["clipped_low"],
        truth["card"]["patch_irradiance"]
            .as_array()
            .map_or(0.0, |l| l.iter().filter_map(|v| v.as_f64()).fold(9.0, f64::min)),
    );
    Ok(truth)
}

/// One picture a line: short enough to keep, long enough to compare versions.
fn pretty(truths: Vec<Value>) -> String {
    let lines: Vec<String> = truths.iter().map(|t| t.to_string()).collect();
    format!("{{\"pictures\": [\n{}\n]}}\n", lines.join(",\n"))
}
