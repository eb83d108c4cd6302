//! What `score` costs for one 12-megapixel JPEG: processor time of the whole road, and as a ratio to
//! the plainest thing that must be done, decoding the file.
//!
//! The photograph is one of the demo images enlarged to 4000 x 3000 with seeded grain, written as JPEG
//! of quality 92. Printed, never asserted: a busy machine must not fail a build.

#![allow(clippy::print_stdout)] // a bench talks to people

mod shared;

use shared::{RUNS, jpeg, median, twelve_megapixels};
use sherdlight::reading::to_json_line;
use sherdlight::road::{Settings, measure};
use std::error::Error;
use std::hint::black_box;

fn main() -> Result<(), Box<dyn Error>> {
    let folder = tempfile::tempdir()?;
    let path = folder.path().join("twelve-megapixels.jpg");
    std::fs::write(&path, jpeg(&twelve_megapixels()?)?)?;
    let settings = Settings::new()?;
    let score = median(|| {
        let measured = measure(&path, &settings).map_err(|stopped| stopped.fault.to_string())?;
        for reading in &measured.readings {
            black_box(to_json_line(reading)?);
        }
        Ok(())
    })?;
    let read = median(|| Ok(sherdlight::photo::read(&path, &settings.limits)?))?;
    println!("12 MP JPEG, median of {RUNS}, processor time of all threads");
    println!("  read the file:    {read:6.0} ms");
    println!("  score, all of it: {score:6.0} ms = {:.1} times reading", score / read);
    Ok(())
}
