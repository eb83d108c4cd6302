//! Swatches on drawn tiles: found where they were drawn, read as they were drawn, and nothing invented.
//!
//! The checks are the shapes and colours drawn here (seeded noise), not figures of the program.

#[path = "../drawn/mod.rs"]
mod drawn;
mod found;
mod names;
mod refused;
mod scene;
