//! The outline of a standing piece, row by row.

use super::picture::Picture;

/// Middle and half width of the outline at each row of a picture, piece units.
pub(super) struct Profile {
    rows: Vec<Option<[f64; 2]>>,
    low: f64,
    scale: f64,
}

impl Profile {
    /// Of what is known of a piece.
    pub fn of(picture: &Picture) -> Self {
        let rows = picture.known.chunks_exact(picture.width).enumerate().map(|(y, row)| {
            let first = row.iter().position(|&k| k > 0.0)?;
            let last = row.iter().rposition(|&k| k > 0.0)?;
            let at = |x: f64| picture.place(y * picture.width)[0] + x / picture.scale;
            let (left, right) = (at(first as f64 - 0.5), at(last as f64 + 0.5));
            Some([(left + right) / 2.0, (right - left) / 2.0])
        });
        Self { rows: rows.collect(), low: picture.place(0)[1], scale: picture.scale }
    }

    /// Middle and half width at a height of the picture.
    pub fn at(&self, y: f64) -> Option<[f64; 2]> {
        let row = ((y - self.low) * self.scale).round().max(0.0) as usize;
        self.rows.get(row.min(self.rows.len().saturating_sub(1))).copied().flatten()
    }

    /// Height of the first and the last row.
    pub fn ends(&self) -> Option<[f64; 2]> {
        let at = |row: usize| self.low + row as f64 / self.scale;
        let first = self.rows.iter().position(Option::is_some)?;
        let last = self.rows.iter().rposition(Option::is_some)?;
        Some([at(first), at(last)])
    }
}
