//! Where the patches of a card lie on it.

/// What the lengths of a [`Layout`] are counted in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LengthUnit {
    /// Widths of a patch: the card is made in several sizes and the one in hand is not known.
    Patch,
    /// Millimetres.
    Mm,
}

impl LengthUnit {
    /// The word in the file.
    pub fn name(self) -> &'static str {
        match self {
            LengthUnit::Patch => "patch",
            LengthUnit::Mm => "mm",
        }
    }
    /// The unit of a word in the file.
    pub(super) fn named(word: &str) -> Option<Self> {
        [Self::Patch, Self::Mm].into_iter().find(|unit| unit.name() == word)
    }
}

/// A grid of equal patches in a frame. Lengths in [`Layout::unit`], first along a row, then down.
#[derive(Debug, Clone, PartialEq)]
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
    /// Width and height of the whole card, where measured: a check of the other lengths.
    pub outer: Option<[f64; 2]>,
    /// The row, counted from 1, that holds a grey scale from light to dark: a check of the colours.
    pub neutral_row: Option<usize>,
    /// Remarks; may be empty.
    pub note: String,
}

/// Fewest and most rows and columns.
pub(super) const SIDE: std::ops::RangeInclusive<usize> = 2..=40;
/// Most patches a card may have.
pub(super) const MOST_PATCHES: usize = 40 * 40;
/// How far the outer size may lie from the sum of the other lengths: lengths are measured with a ruler.
const OUTER_OFF: f64 = 0.03;

impl Layout {
    /// Number of patches.
    pub fn patches(&self) -> usize {
        self.rows * self.columns
    }

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

    /// Width and height of the card with its frame, in [`Layout::unit`], from the other lengths.
    pub fn outer_size(&self) -> [f64; 2] {
        let (extent, margin) = (self.extent(), self.margin());
        [0, 1].map(|k| (extent[k] + 2.0 * margin[k]) * self.patch[0])
    }

    /// Width of a patch in mm; `None` where the size in hand is not known.
    pub fn patch_mm(&self) -> Option<f64> {
        (self.unit == LengthUnit::Mm).then_some(self.patch[0])
    }

    /// The same layout with the width of a patch in mm.
    #[must_use]
    pub fn with_patch_mm(mut self, patch_mm: f64) -> Self {
        let scale = patch_mm / self.patch[0];
        for lengths in [&mut self.patch, &mut self.gap, &mut self.frame].into_iter().chain(&mut self.outer) {
            lengths.iter_mut().for_each(|v| *v *= scale);
        }
        self.unit = LengthUnit::Mm;
        self
    }

    /// What is wrong with it: fields and reasons.
    pub(super) fn flaws(&self) -> Vec<(&'static str, String)> {
        let mut flaws = Vec::new();
        for (field, count) in [("rows", self.rows), ("columns", self.columns)] {
            if !SIDE.contains(&count) {
                flaws.push((field, format!("must lie between 2 and 40, is {count}")));
            }
        }
        let lengths = [("patch", self.patch, true), ("gap", self.gap, false), ("frame", self.frame, false)];
        for (field, [across, down], above_zero) in lengths {
            let good = |v: f64| v.is_finite() && v < 1e5 && if above_zero { v > 0.0 } else { v >= 0.0 };
            if !(good(across) && good(down)) {
                let wanted = if above_zero { "above 0" } else { "0 or more" };
                flaws.push((field, format!("both lengths must be {wanted}, are {across} and {down}")));
            }
        }
        if !flaws.is_empty() {
            return flaws;
        }
        if self.unit == LengthUnit::Patch && self.patch[0] != 1.0 {
            flaws.push(("patch", "lengths are in patch widths: the first must be 1".into()));
        }
        if !(0.2..=5.0).contains(&self.tall()) {
            flaws.push(("patch", "may be at most five times as long as wide".into()));
        }
        if (0..2).any(|k| self.gap[k] > self.patch[k]) {
            flaws.push(("gap", "may be at most as wide as a patch".into()));
        }
        if (0..2).any(|k| self.frame[k] > 10.0 * self.patch[k]) {
            flaws.push(("frame", "may be at most ten times as wide as a patch".into()));
        }
        if let Some(outer) = self.outer {
            let summed = self.outer_size();
            // Written so that a value that is no number fails too.
            if !(0..2).all(|k| (outer[k] / summed[k] - 1.0).abs() <= OUTER_OFF) {
                let reason = format!(
                    "is {} x {}, but patches, gaps and frame make {} x {}",
                    outer[0],
                    outer[1],
                    (summed[0] * 100.0).round() / 100.0,
                    (summed[1] * 100.0).round() / 100.0
                );
                flaws.push(("outer", reason));
            }
        }
        if self.neutral_row.is_some_and(|row| !(1..=self.rows).contains(&row)) {
            flaws.push(("neutral_row", format!("must be a row of the card, 1 to {}", self.rows)));
        }
        flaws
    }
}
