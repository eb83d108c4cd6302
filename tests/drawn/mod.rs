//! What drawn scenes share: seeded noise, and a card of which only the place is used.

use sherdlight::card::{CardPlace, CardReading, CardStatus};

/// Seeded noise.
pub struct Noise(u64);

impl Noise {
    pub fn new(seed: u64) -> Self {
        Self(seed)
    }

    /// Mean 0, standard deviation about 1: a sum of uniform draws of a linear congruential generator (Knuth's MMIX
    /// constants).
    pub fn draw(&mut self) -> f64 {
        let mut sum = -3.0;
        for _ in 0..6 {
            self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            sum += (self.0 >> 11) as f64 / (1u64 << 53) as f64;
        }
        sum * 2f64.sqrt()
    }
}

/// A card in the top left corner; its place only is used here.
pub fn card() -> CardReading {
    CardReading {
        status: CardStatus::Given,
        definition: "chart24-iso".into(),
        place: Some(CardPlace {
            corners_px: [[14.0, 14.0], [106.0, 14.0], [106.0, 76.0], [14.0, 76.0]],
            frame_px: [[10.0, 10.0], [110.0, 10.0], [110.0, 80.0], [10.0, 80.0]],
            patch_side_px: 12.0,
            mm_per_px: None,
            aspect: 62.0 / 92.0,
            extent_mm: None,
        }),
        warnings: Vec::new(),
        ..CardReading::none()
    }
}
