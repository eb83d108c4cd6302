//! Where the patches of a card lie on it.

use serde::Deserialize;

/// What the lengths of a [`Layout`] are counted in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum LengthUnit {
    /// Widths of a patch: the card is made in several sizes and the one in hand is not known.
    Patch,
    /// Millimetres.
    Mm,
}

/// A grid of equal patches in a frame. Lengths in [`Layout::unit`], first along a row, then down.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Layout {
    /// What lengths are counted in.
    pub unit: LengthUnit,
    /// Rows of patches, 2 to 40.
    pub rows: usize,
    /// Patches in a row, 2 to 40.
    pub columns: usize,
    /// Width and height of a patch.
    pub patch: [f64; 2],
    /// Distance between two patches of a row, and between two rows.
    pub gap: [f64; 2],
    /// Width of the frame at the sides, and above and below.
    pub frame: [f64; 2],
    /// Remarks.
    #[serde(default)]
    pub note: String,
}

impl Layout {
    /// Height of a patch in patch widths.
    pub fn tall(&self) -> f64 {
        self.patch[1] / self.patch[0]
    }

    /// From one patch to the next, along a row and down, in patch widths.
    pub fn pitch(&self) -> [f64; 2] {
        [0, 1].map(|k| (self.patch[k] + self.gap[k]) / self.patch[0])
    }

    /// Width and height of the patch grid, outer edge to outer edge, in patch widths.
    pub fn extent(&self) -> [f64; 2] {
        let [across, down] = self.pitch();
        [(self.columns - 1) as f64 * across + 1.0, (self.rows - 1) as f64 * down + self.tall()]
    }

    /// Width of the frame in patch widths, at the sides and above and below.
    pub fn margin(&self) -> [f64; 2] {
        self.frame.map(|f| f / self.patch[0])
    }

    /// Width of a patch in mm; `None` where the size in hand is not known.
    pub fn patch_mm(&self) -> Option<f64> {
        (self.unit == LengthUnit::Mm).then_some(self.patch[0])
    }

    /// The same layout with the width of a patch in mm.
    #[must_use]
    pub fn with_patch_mm(mut self, patch_mm: f64) -> Self {
        let scale = patch_mm / self.patch[0];
        for lengths in [&mut self.patch, &mut self.gap, &mut self.frame] {
            lengths.iter_mut().for_each(|v| *v *= scale);
        }
        self.unit = LengthUnit::Mm;
        self
    }

    /// What is wrong with it, if anything.
    pub(super) fn check(&self) -> Result<(), String> {
        if !(2..=40).contains(&self.rows) || !(2..=40).contains(&self.columns) {
            return Err("rows and columns must lie between 2 and 40".into());
        }
        let lengths = || self.patch.iter().chain(&self.gap).chain(&self.frame);
        if lengths().any(|v| !v.is_finite() || *v < 0.0) || self.patch.iter().any(|v| *v <= 0.0) {
            return Err("patch must be above 0, gap and frame 0 or more".into());
        }
        if !(0.2..=5.0).contains(&self.tall()) {
            return Err("a patch may be at most five times as long as wide".into());
        }
        if (0..2).any(|k| self.gap[k] > self.patch[k] || self.frame[k] > 10.0 * self.patch[k]) {
            return Err("a gap may be at most as wide as a patch, the frame as ten".into());
        }
        Ok(())
    }
}
