//! One swatch seen in several photographs, such as the turns of a test cylinder.
//!
//! Comes in: readings whose swatches have names. Goes out: a [`JoinedSwatch`] a name. Each view counts by how surely it is
//! read: the weighted mean of the handbook (NIST/SEMATECH 2.5.7, weights one over the variance) in each of L*, a*, b*.
//! What card and light do to all views alike stays, so the interval is never less than the least of those parts.

use crate::reading::{Reading, Swatch};
use std::collections::BTreeMap;

/// One swatch over all its views.
#[derive(Debug, Clone, PartialEq)]
pub struct JoinedSwatch {
    /// Its name.
    pub id: String,
    /// Photographs in which it was read.
    pub views: usize,
    /// Weighted mean of L*, a*, b*.
    pub lab: [f64; 3],
    /// Half-widths of its 95 % intervals.
    pub u95: [f64; 3],
    /// Whether every view lies within its own interval of the mean.
    pub views_agree: bool,
}

/// Joins swatches by name, in the order of the names; those that no photograph shows well are left out.
pub fn join_swatches(readings: &[&Reading]) -> Vec<JoinedSwatch> {
    let mut by_name: BTreeMap<&str, Vec<&Swatch>> = BTreeMap::new();
    for swatch in readings.iter().flat_map(|r| r.swatches.iter().flatten()).filter(|s| s.lab.is_some()) {
        by_name.entry(&swatch.id).or_default().push(swatch);
    }
    by_name.into_iter().map(|(id, views)| joined(id, &views)).collect()
}

fn joined(id: &str, views: &[&Swatch]) -> JoinedSwatch {
    let (mut lab, mut u95) = ([0.0; 3], [0.0; 3]);
    let mut agree = true;
    for c in 0..3 {
        let seen: Vec<(f64, f64, f64)> = views
            .iter()
            .filter_map(|s| Some((s.lab?[c], s.u95?[c].max(0.05), s.apart_u95?[c].max(0.05))))
            .collect();
        let weight: f64 = seen.iter().map(|(_, u, _)| 1.0 / (u * u)).sum();
        let mean = seen.iter().map(|(v, u, _)| v / (u * u)).sum::<f64>() / weight;
        // Apart from what differs from view to view, all views lean the same way.
        let common =
            seen.iter().map(|(_, u, own)| (u * u - own * own).max(0.0).sqrt()).fold(f64::INFINITY, f64::min);
        let own: f64 = seen.iter().map(|(_, _, own)| 1.0 / (own * own)).sum();
        lab[c] = mean;
        u95[c] = common.hypot(1.0 / own.sqrt());
        agree &= seen.iter().all(|(v, u, _)| (v - mean).abs() <= *u);
    }
    JoinedSwatch { id: id.to_owned(), views: views.len(), lab, u95, views_agree: agree }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn turn(l: f64, u95: f64, apart: f64) -> Reading {
        let swatch = Swatch {
            id: "reed black".into(),
            lab: Some([l, 0.0, 0.0]),
            u95: Some([u95; 3]),
            apart_u95: Some([apart; 3]),
            ..Swatch::default()
        };
        Reading { swatches: Some(vec![swatch]), ..Reading::default() }
    }

    /// By hand: weights 1/1 and 1/4, so (30 + 35/4) / (5/4) = 31; intervals of nothing but scatter join to
    /// 1 / sqrt(1 + 1/4) = 0.894.
    #[test]
    fn the_surer_view_counts_for_more() {
        let (one, other) = (turn(30.0, 1.0, 1.0), turn(35.0, 2.0, 2.0));
        let joined = join_swatches(&[&one, &other]);
        assert_eq!((joined.len(), joined[0].views), (1, 2));
        assert!((joined[0].lab[0] - 31.0).abs() < 1e-12);
        assert!((joined[0].u95[0] - 0.894_427).abs() < 1e-6);
        assert!(!joined[0].views_agree, "35 lies 4 from the mean, twice its interval");
    }

    #[test]
    fn what_the_card_does_to_all_views_stays() {
        let views: Vec<Reading> = (0..20).map(|_| turn(30.0, 3.0, 0.5)).collect();
        let joined = join_swatches(&views.iter().collect::<Vec<_>>());
        assert!(joined[0].u95[0] > (9.0f64 - 0.25).sqrt() && joined[0].u95[0] < 3.0 && joined[0].views_agree);
    }
}
