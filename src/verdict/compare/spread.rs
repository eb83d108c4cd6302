//! Where a replica stands among several reference shots.

use crate::card::coverage_factor;
use crate::reading::{Reading, SpreadPart};

/// Mean, standard deviation and range of each value over the shots, and where the replica stands; empty with fewer than
/// two shots that show it.
pub(super) fn spread(replica: &Reading, references: &[&Reading]) -> Vec<SpreadPart> {
    let mut parts = Vec::new();
    for (name, mine) in replica.surfaces.iter() {
        let theirs: Vec<[f64; 3]> =
            references.iter().filter_map(|r| r.surfaces.get(name)).map(|s| s.lch).collect();
        for (c, value) in ["L*", "C*", "h"].into_iter().enumerate() {
            // Hue angles as steps from the first, so that 359 and 1 lie side by side.
            let step = |h: f64| (h - theirs[0][2] + 180.0).rem_euclid(360.0) - 180.0 + theirs[0][2];
            let number = |lch: &[f64; 3]| if c == 2 { step(lch[2]) } else { lch[c] };
            if theirs.len() > 1 {
                let values: Vec<f64> = theirs.iter().map(number).collect();
                parts.push(part(name, value, number(&mine.lch), &values));
            }
        }
    }
    let ratio = |r: &Reading| r.contrast.as_ref().map(|c| c.reflectance_ratio);
    let theirs: Vec<f64> = references.iter().filter_map(|r| ratio(r)).collect();
    if let (Some(mine), true) = (ratio(replica), theirs.len() > 1) {
        parts.push(part("contrast", "reflectance_ratio", mine, &theirs));
    }
    parts
}

fn part(surface: &str, value: &str, replica: f64, values: &[f64]) -> SpreadPart {
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    let sd = (values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (n - 1.0)).sqrt();
    let range = values.iter().fold([f64::INFINITY, f64::NEG_INFINITY], |[l, h], v| [l.min(*v), h.max(*v)]);
    // One further value of the same kind: mean +- t s sqrt(1 + 1/n), t of n - 1 degrees of freedom (Hahn & Meeker 1991,
    // Statistical Intervals, 4.7).
    let reach = coverage_factor(n - 1.0) * sd * (1.0 + 1.0 / n).sqrt();
    let prediction = (values.len() > 2).then_some([mean - reach, mean + reach]);
    let place = match replica {
        v if v < range[0] => "below",
        v if v > range[1] => "above",
        _ => "inside",
    };
    SpreadPart {
        surface: surface.into(),
        value: value.into(),
        shots: values.len(),
        mean,
        sd,
        range,
        prediction,
        replica,
        place: place.into(),
        inside_prediction: prediction.map(|[low, high]| (low..=high).contains(&replica)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_further_piece_is_predicted_by_students_t() {
        // By hand: 78, 80, 82: mean 80, s 2, t(2) = 4.30 (JCGM 100:2008, table G.2), so 80 +- 4.30 * 2 * sqrt(4/3).
        let found = part("white", "L*", 71.0, &[78.0, 80.0, 82.0]);
        let [low, high] = found.prediction.unwrap();
        assert!((found.mean - 80.0).abs() < 1e-12 && (found.sd - 2.0).abs() < 1e-12);
        assert!((low - 70.07).abs() < 0.01 && (high - 89.93).abs() < 0.01, "{low} {high}");
        assert_eq!((found.place.as_str(), found.inside_prediction), ("below", Some(true)));
        assert!(part("white", "L*", 71.0, &[78.0, 80.0]).prediction.is_none());
    }
}
