//! The small picture in which the card is sought.

use crate::photo::Photo;

/// A picture in root-encoded light, 8 bit: steps that noise and eye see about alike.
pub(super) struct Work {
    pub width: usize,
    pub height: usize,
    pub pixels: Vec<[u8; 3]>,
    /// Full-size pixels per pixel of this picture.
    pub scale: f64,
}

impl Work {
    /// The photograph at about `long_side` pixels: reduced by a whole factor, or enlarged twofold where
    /// it is smaller than half of that.
    pub fn new(photo: &Photo, long_side: usize) -> Self {
        let longest = photo.width().max(photo.height());
        let factor = ((longest as f64 / long_side as f64).round() as usize).max(1);
        let glance = photo.glance(factor);
        let work =
            Self { width: glance.width, height: glance.height, pixels: glance.pixels, scale: factor as f64 };
        if factor == 1 && longest * 3 < long_side * 2 { work.doubled() } else { work }
    }

    /// Twice the size, straight between pixels.
    fn doubled(&self) -> Self {
        let (width, height) = (self.width * 2, self.height * 2);
        let mut pixels = Vec::with_capacity(width * height);
        for y in 0..height {
            for x in 0..width {
                let p = self.at((x as f64 + 0.5) / 2.0, (y as f64 + 0.5) / 2.0);
                pixels.push(p.map(|v| (v + 0.5) as u8));
            }
        }
        Self { width, height, pixels, scale: self.scale / 2.0 }
    }

    pub fn contains(&self, x: f64, y: f64) -> bool {
        x >= 0.0 && y >= 0.0 && x < self.width as f64 && y < self.height as f64
    }

    /// Value between pixels; pixel centres lie at halves. Held at the border.
    pub fn at(&self, x: f64, y: f64) -> [f64; 3] {
        let clamp = |v: f64, n: usize| (v - 0.5).clamp(0.0, (n - 1) as f64);
        let (x, y) = (clamp(x, self.width), clamp(y, self.height));
        let (x0, y0) = (x as usize, y as usize);
        let (x1, y1) = ((x0 + 1).min(self.width - 1), (y0 + 1).min(self.height - 1));
        let (fx, fy) = (x - x0 as f64, y - y0 as f64);
        let p = |x: usize, y: usize| self.pixels[y * self.width + x];
        let (a, b, c, d) = (p(x0, y0), p(x1, y0), p(x0, y1), p(x1, y1));
        std::array::from_fn(|k| {
            let [a, b, c, d] = [a[k], b[k], c[k], d[k]].map(f64::from);
            (a + (b - a) * fx) * (1.0 - fy) + (c + (d - c) * fx) * fy
        })
    }
}
