//! Lengths, textures and ratios read off drawn maps, against exact geometry and figures by hand.
//!
//! A map is drawn by asking, at the middle of each pixel, what lies there: widths, sizes and angles are known exactly.

mod contrast;
mod lengths;
mod paint;
mod scene;
