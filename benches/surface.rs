//! What telling the surfaces apart costs in a photograph of 12 megapixels: processor time of all threads
//! for the map, for settling its light and for both, and as a ratio to reading the file.
//!
//! The photograph is that of the bench `score`; it is read, its card found and its light corrected before
//! the clock starts. Printed, never asserted: a busy machine must not fail a build.

#![allow(clippy::print_stdout)] // a bench talks to people

mod shared;

use shared::{RUNS, jpeg, median, median_after, twelve_megapixels};
use sherdlight::light::{FormChoice, find_levels, settle, view};
use sherdlight::photo::read_bytes;
use sherdlight::road::{Settings, measure};
use sherdlight::surface::map_surfaces;
use std::error::Error;

fn main() -> Result<(), Box<dyn Error>> {
    let folder = tempfile::tempdir()?;
    let path = folder.path().join("twelve-megapixels.jpg");
    let bytes = jpeg(&twelve_megapixels()?)?;
    std::fs::write(&path, &bytes)?;
    let settings = Settings::new()?;
    let seen = measure(&path, &settings).map_err(|stopped| stopped.fault.to_string())?;
    let map = || Ok(map_surfaces(&seen.image, &seen.card, &settings.surface)?);

    let read = median(|| Ok(read_bytes(&bytes, &settings.limits)?))?;
    let mapping = median(map)?;
    let settling = median_after(map, |mut map| {
        settle(&seen.image, &mut map);
        Ok(map)
    })?;
    let both = median(|| {
        let mut map = map()?;
        settle(&seen.image, &mut map);
        Ok(map)
    })?;
    println!(
        "12 MP, map of {} x {}, median of {RUNS}, processor time of all threads",
        seen.map.width, seen.map.height
    );
    println!("  read the JPEG:     {read:6.1} ms");
    println!("  map the surfaces:  {mapping:6.1} ms = {:.2} of reading", mapping / read);
    println!("  settle the light:  {settling:6.1} ms = {:.2} of reading", settling / read);
    println!("  both:              {both:6.1} ms = {:.2} of reading", both / read);
    let view = view(&seen.photo, &seen.card).ok_or("the card tells no view")?;
    let settled = || {
        let mut map = map()?;
        settle(&seen.image, &mut map);
        Ok(map)
    };
    let form = median_after(settled, |mut map| {
        find_levels(&view, &seen.image, &mut map, FormChoice::Auto);
        Ok(map)
    })?;
    println!("  light by the form: {form:6.1} ms = {:.2} of reading", form / read);
    Ok(())
}
