//! What `score` costs for one 12-megapixel JPEG: processor time of the whole road, and as a ratio to
//! the plainest thing that must be done, decoding the file.
//!
//! The photograph is one of the demo images enlarged to 4000 x 3000 with seeded grain, written as JPEG
//! of quality 92. Printed, never asserted: a busy machine must not fail a build.

#![allow(clippy::print_stdout)] // a bench talks to people

use cpu_time::ProcessTime;
use image::imageops::FilterType;
use sherdlight::reading::to_json_line;
use sherdlight::road::{Settings, measure};
use std::path::Path;

/// The program's own allocator, so that the figures are the program's.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

const RUNS: usize = 7;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let folder = tempfile::tempdir()?;
    let path = folder.path().join("twelve-megapixels.jpg");
    std::fs::write(&path, twelve_megapixels()?)?;
    let settings = Settings::new()?;
    let score = median(|| {
        let measured = measure(&path, &settings).map_err(|stopped| stopped.fault.to_string())?;
        for reading in &measured.readings {
            std::hint::black_box(to_json_line(reading).map_err(|e| e.to_string())?);
        }
        Ok(())
    })?;
    let read = median(|| {
        let photo = sherdlight::photo::read(&path, &settings.limits).map_err(|e| e.to_string())?;
        std::hint::black_box(photo.linear(0, 0));
        Ok(())
    })?;
    println!("12 MP JPEG, median of {RUNS}, processor time of all threads");
    println!("  read the file:    {read:6.0} ms");
    println!("  score, all of it: {score:6.0} ms = {:.1} times reading", score / read);
    Ok(())
}

fn median(mut run: impl FnMut() -> Result<(), String>) -> Result<f64, String> {
    run()?;
    let mut times = Vec::new();
    for _ in 0..RUNS {
        let start = ProcessTime::now();
        run()?;
        times.push(start.elapsed().as_secs_f64() * 1e3);
    }
    times.sort_by(f64::total_cmp);
    Ok(times[RUNS / 2])
}

/// The first demo image, enlarged, with grain: enlarged pixels alone would decode too fast.
fn twelve_megapixels() -> Result<Vec<u8>, Box<dyn std::error::Error>> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-images");
    let mut names: Vec<_> = std::fs::read_dir(folder)?.filter_map(|e| Some(e.ok()?.path())).collect();
    names.retain(|p| p.extension().is_some_and(|e| e == "jpg"));
    names.sort();
    let first = names.first().ok_or("no demo images: run the example render_demo first")?;
    let mut picture = image::open(first)?.resize_exact(4000, 3000, FilterType::Triangle).into_rgb8();
    let mut state = 0x9e37_79b9_7f4a_7c15u64;
    for value in picture.iter_mut() {
        // xorshift64 (Marsaglia 2003), enough for grain.
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        *value = value.saturating_add_signed((state % 7) as i8 - 3);
    }
    let mut bytes = Vec::new();
    image::codecs::jpeg::JpegEncoder::new_with_quality(&mut bytes, 92).encode_image(&picture)?;
    Ok(bytes)
}
