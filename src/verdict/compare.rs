//! Replica against reference: a difference for each surface that both show.

use crate::colour::{LabD50, ciede2000, ciede2000_parts};
use crate::reading::{Difference, Reading, Surface};

/// Compares what both show; several reference shots are averaged surface by surface.
pub fn compare(replica: &Reading, references: &[&Reading]) -> Vec<Difference> {
    replica
        .surfaces
        .iter()
        .filter_map(|(name, mine)| {
            let theirs: Vec<&Surface> = references.iter().filter_map(|r| r.surfaces.get(name)).collect();
            (!theirs.is_empty()).then(|| difference(name, mine, &theirs))
        })
        .collect()
}

fn difference(name: &str, mine: &Surface, theirs: &[&Surface]) -> Difference {
    let n = theirs.len() as f64;
    let mean = |pick: fn(&Surface) -> [f64; 3]| {
        theirs.iter().fold([0.0; 3], |sum, s| {
            let v = pick(s);
            [0, 1, 2].map(|c| sum[c] + v[c] / n)
        })
    };
    // Shots of one reference share their card and light: their intervals are averaged, not shrunk.
    let (reference, reference_u95) = (mean(|s| s.lab), mean(|s| s.u95));
    let (one, other) = (LabD50::from(mine.lab), LabD50::from(reference));
    let parts = ciede2000_parts(other, one);
    let de00 = ciede2000(one, other);
    let (a, b) = (one.to_lch(), other.to_lch());
    let u95 = spread_of_difference(one, other, mine.u95, reference_u95);
    Difference {
        surface: name.into(),
        de00,
        u95,
        delta_lch: [a.l - b.l, a.c - b.c, (a.h - b.h + 180.0).rem_euclid(360.0) - 180.0],
        parts: [parts.lightness, parts.chroma, parts.hue],
        colour_only_de00: ciede2000(LabD50 { l: 50.0, ..one }, LabD50 { l: 50.0, ..other }),
        differs: de00 > u95,
    }
}

/// A distance near 0 is biased upward, so the Lab vector is propagated: the CIEDE2000 that the
/// uncertainty alone would make, channel by channel, in quadrature.
fn spread_of_difference(one: LabD50, other: LabD50, u: [f64; 3], v: [f64; 3]) -> f64 {
    let middle =
        LabD50 { l: (one.l + other.l) / 2.0, a: (one.a + other.a) / 2.0, b: (one.b + other.b) / 2.0 };
    let moved = |c: usize| {
        let width = u[c].hypot(v[c]);
        let mut there = middle;
        match c {
            0 => there.l += width,
            1 => there.a += width,
            _ => there.b += width,
        }
        ciede2000(middle, there)
    };
    (0..3).map(|c| moved(c).powi(2)).sum::<f64>().sqrt()
}
