//! Painted motifs of our own: simple figures in a cell of a band. Lengths in mm.

/// A painted figure, repeated around a band.
#[derive(Clone, Copy, PartialEq)]
pub enum Motif {
    /// A line along the whole band.
    Line,
    /// Round dots.
    Dots,
    /// A running wave with a dot in every hollow.
    Wave,
    /// Stairs that climb to the middle of the cell.
    Stairs,
    /// A beam with strokes of uneven length hanging from it.
    Rain,
    /// A solid diamond with an open diamond around it.
    Diamonds,
    /// Slanting strokes.
    Slants,
    /// A leaf on its stem, turned left and right.
    Leaves,
    /// A filled square in the cell of that number only (test tiles).
    Block(u8),
}

impl Motif {
    /// Signed distance to the figure, negative in the paint. `x` runs from the middle of the cell,
    /// `v` from the lower edge of the band; the cell is `w` wide, the band `h` high.
    pub fn distance(self, x: f64, v: f64, w: f64, h: f64) -> f64 {
        let y = v - h / 2.0;
        match self {
            Motif::Line => y.abs() - h / 2.0,
            Motif::Dots => x.hypot(y) - (h / 2.0).min(w * 0.36),
            Motif::Wave => {
                let turn = std::f64::consts::TAU * x / w;
                let slope = (h * 0.3 * std::f64::consts::TAU / w * turn.cos()).hypot(1.0);
                let line = (y - h * 0.3 * turn.sin()).abs() / slope - h * 0.1;
                let hollow = |side: f64| (x - side * w / 4.0).hypot(y + side * h * 0.24) - h * 0.12;
                line.min(hollow(1.0)).min(hollow(-1.0))
            }
            Motif::Stairs => {
                // Four steps a side; the top one is a fifth of the cell wide.
                let level = (v / h * 4.0).floor().clamp(0.0, 3.0);
                let reach = w * (0.46 - 0.115 * level);
                let window = (x.hypot(v - h * 0.25) - h * 0.13).max(x.abs() - w);
                (x.abs() - reach).max(-v).max(v - h).max(-window)
            }
            Motif::Rain => {
                let beam = (v - h * 0.88).abs() - h * 0.12;
                let pitch = w / 5.0;
                let k = (x / pitch).round();
                let drop = [0.75, 0.35, 0.55, 0.3, 0.6][(k as i64).rem_euclid(5) as usize] * h;
                let stroke = ((x - k * pitch).abs() - pitch * 0.2).max(v - h * 0.9).max(h * 0.9 - drop - v);
                beam.min(stroke)
            }
            Motif::Diamonds => {
                let steep = (h / w).hypot(1.0);
                let d = ((x.abs() * h / w + y.abs()) - h / 2.0) / steep;
                (d + h * 0.28).min((d + h * 0.06).abs() - h * 0.06)
            }
            Motif::Slants => {
                let lean = x + y * 0.6;
                let k = (lean / (w / 2.0)).round();
                ((lean - k * w / 2.0).abs() * 0.86 - w * 0.1).max(y.abs() - h / 2.0)
            }
            Motif::Leaves => {
                let stem = ((y.abs() - h * 0.5).max(x.abs() - w * 0.035)).max(-h);
                let leaf = |side: f64, up: f64| {
                    let (dx, dy) = (x - side * w * 0.2, y - up * h);
                    let (p, q) = (dx * 0.8 + side * dy * 0.6, dy * 0.8 - side * dx * 0.6);
                    (p / (w * 0.2)).hypot(q / (h * 0.07)).mul_add(h * 0.07, -h * 0.07)
                };
                stem.min(leaf(1.0, 0.22)).min(leaf(-1.0, 0.02)).min(leaf(1.0, -0.2))
            }
            Motif::Block(_) => (x.abs() - w * 0.4).max(y.abs() - h / 2.0),
        }
    }
}
