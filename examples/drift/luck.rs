//! Random values of mean 0 and standard deviation 1, the same for the same seed.

use std::f64::consts::TAU;

/// How values scatter.
#[derive(Debug, Clone, Copy)]
pub enum Kind {
    /// Normal.
    Normal,
    /// Gamma of shape 8, the long tail below: skewness -0.7.
    Skewed,
    /// Student's t with 8 degrees of freedom: excess kurtosis 1.5.
    Heavy,
    /// Student's t with 6 degrees of freedom: excess kurtosis 3.
    Heavier,
    /// Normal, pieces of one firing alike: share of the variance between firings.
    Firings { size: usize, alike: f64 },
}

impl Kind {
    pub const ALL: [Self; 4] = [Self::Normal, Self::Skewed, Self::Heavy, Self::Heavier];

    pub fn name(self) -> &'static str {
        match self {
            Self::Normal => "normal",
            Self::Skewed => "skewed, -0.7",
            Self::Heavy => "t, 8 degrees",
            Self::Heavier => "t, 6 degrees",
            Self::Firings { .. } => "normal, in firings",
        }
    }
}

/// SplitMix64 (Steele, Lea & Flood 2014).
pub struct Luck(u64);

impl Luck {
    pub fn new(seed: u64) -> Self {
        let mut luck = Self(seed.wrapping_mul(0x2545_F491_4F6C_DD1D));
        luck.next();
        luck
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// Above 0, below 1.
    pub fn even(&mut self) -> f64 {
        ((self.next() >> 11) as f64 + 0.5) / (1u64 << 53) as f64
    }

    /// Box & Muller 1958.
    pub fn normal(&mut self) -> f64 {
        let radius = (-2.0 * self.even().ln()).sqrt();
        radius * (TAU * self.even()).cos()
    }

    /// Gamma of a whole shape: a sum of exponentials.
    fn gamma(&mut self, shape: usize) -> f64 {
        -(0..shape).map(|_| self.even().ln()).sum::<f64>()
    }

    fn student(&mut self, freedom: usize) -> f64 {
        let chi_square = 2.0 * self.gamma(freedom / 2);
        let freedom = freedom as f64;
        self.normal() / (chi_square / freedom).sqrt() / (freedom / (freedom - 2.0)).sqrt()
    }

    pub fn series(&mut self, kind: Kind, count: usize) -> Vec<f64> {
        let mut shared = 0.0;
        (0..count)
            .map(|at| match kind {
                Kind::Normal => self.normal(),
                Kind::Skewed => (8.0 - self.gamma(8)) / 8f64.sqrt(),
                Kind::Heavy => self.student(8),
                Kind::Heavier => self.student(6),
                Kind::Firings { size, alike } => {
                    if at % size == 0 {
                        shared = self.normal();
                    }
                    alike.sqrt() * shared + (1.0 - alike).sqrt() * self.normal()
                }
            })
            .collect()
    }
}
