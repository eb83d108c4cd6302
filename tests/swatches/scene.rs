//! A tile with swatches on a board, seen at any angle, in light that falls off.

use crate::drawn::{Noise, card};
use sherdlight::card::{CorrectedImage, Homography};
use sherdlight::colour::LabD50;
use sherdlight::light;
use sherdlight::surface::{
    GridChoice, SurfaceMap, SurfaceSettings, SwatchError, SwatchGrid, SwatchSettings, find_swatches,
    map_surfaces,
};

pub const WIDTH: usize = 800;
pub const HEIGHT: usize = 600;
pub const SLIP: [f64; 3] = [82.0, 1.0, 9.0];
pub const BLACK: [f64; 3] = [28.0, 1.0, 3.0];

/// What is drawn: the tile's corners in the picture (clockwise from its own upper left), rows and columns of swatches, and
/// the colour of each, `None` for none.
pub struct Tile<'a> {
    pub corners: [[f64; 2]; 4],
    pub rows: usize,
    pub columns: usize,
    pub colour: &'a dyn Fn(usize, usize) -> Option<[f64; 3]>,
    /// Share of a step that a swatch is wide and high.
    pub size: [f64; 2],
}

impl Tile<'_> {
    fn plane(&self) -> Homography {
        Homography::from_corners(self.columns as f64, self.rows as f64, &self.corners).expect("a rectangle")
    }

    /// Where the middle of a swatch lies in the picture.
    pub fn middle(&self, row: usize, column: usize) -> [f64; 2] {
        self.plane().apply([column as f64 + 0.5, row as f64 + 0.5])
    }

    pub fn draw(&self) -> CorrectedImage {
        let back = self.plane().inverse().expect("a plane");
        let mut noise = Noise::new(29);
        let mut xyz = Vec::with_capacity(WIDTH * HEIGHT);
        for i in 0..WIDTH * HEIGHT {
            let (x, y) = ((i % WIDTH) as f64 + 0.5, (i / WIDTH) as f64 + 0.5);
            let [u, v] = back.apply([x, y]);
            let on_tile = u >= 0.0 && v >= 0.0 && u < self.columns as f64 && v < self.rows as f64;
            let in_cell = |p: f64, size: f64| (p.fract() - 0.5).abs() < size / 2.0;
            let lab = if !on_tile {
                [52.0, 2.0, -8.0]
            } else if in_cell(u, self.size[0]) && in_cell(v, self.size[1]) {
                (self.colour)(v as usize, u as usize).unwrap_or(SLIP)
            } else {
                SLIP
            };
            let light = 1.0 - 0.15 * x / WIDTH as f64;
            let grain = 1.0 + 0.015 * noise.draw();
            let lit = LabD50::from(lab).to_xyz();
            xyz.push([lit.x, lit.y, lit.z].map(|v| (v * light * grain) as f32));
        }
        let light = xyz.clone();
        CorrectedImage {
            width: WIDTH,
            height: HEIGHT,
            factor: 1,
            clipped: vec![false; xyz.len()],
            light,
            xyz,
        }
    }

    pub fn find(&self, grid: GridChoice) -> (CorrectedImage, SurfaceMap, Result<SwatchGrid, SwatchError>) {
        let image = self.draw();
        let mut map = map_surfaces(&image, &card(), &SurfaceSettings::default()).expect("a tile");
        light::settle(&image, &mut map);
        let found = find_swatches(&image, &map, 1, &SwatchSettings { grid, corners: None });
        (image, map, found)
    }
}

/// A tile that lies turned by so many degrees and leans away a little.
pub fn turned(degrees: f64) -> [[f64; 2]; 4] {
    let (sin, cos) = degrees.to_radians().sin_cos();
    [[-190.0, -150.0], [190.0, -150.0], [170.0, 150.0], [-170.0, 150.0]]
        .map(|[x, y]| [470.0 + x * cos - y * sin, 310.0 + x * sin + y * cos])
}

pub fn middle(quad: &[[f64; 2]; 4]) -> [f64; 2] {
    [0, 1].map(|k| quad.iter().map(|p| p[k]).sum::<f64>() / 4.0)
}
