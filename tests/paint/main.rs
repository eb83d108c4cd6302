//! Slip, black, lost paint, glare and soot on exact drawings: what is drawn is what must be told.
//!
//! The truth is the drawing. Which label a place has follows the definitions of the labels (design.md): paint
//! with under half the contrast of the soundest is lost, evenly pale paint is black, gloss above a quarter of the
//! diffuse light is glare, soot covering a third is a cloud, and a surface is judged two pixels inside its edges.
//! Nothing here is a figure of the program; noise is seeded.

#[path = "../drawn/mod.rs"]
mod drawn;

mod gloss;
mod light;
mod plate;
mod smudged;
mod soot;
mod traces;
