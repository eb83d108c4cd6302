//! The tints that occur on a piece, grouped and named.
//!
//! k-means groups the tints; rules on hue and chroma name the groups. Nothing is forced: a surface without a
//! group is absent.

use super::grid::Tint;
use super::priors::priors;
use kmeans_colors::get_kmeans;
use palette::{Lab, white_point::D50};

/// Surfaces that differ in tint. Neutral: white slip and black paint, which differ in lightness only.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    Neutral,
    Red,
    Body,
}

/// One group of tints.
#[derive(Debug, Clone, Copy)]
pub(super) struct Group {
    pub kind: Kind,
    /// Share of the sampled pixels.
    pub share: f64,
    /// a and b at L* 50.
    pub mean: [f64; 2],
    /// Variances of a and b.
    pub variance: [f64; 2],
    /// Mean L*.
    pub lightness: f64,
}

const GROUPS: usize = 9;
const SEED: u64 = 1;
/// Lightness weighs little: the light on the piece moves it.
const LIGHTNESS_WEIGHT: f64 = 0.3;
/// Rounds of k-means; it stops earlier where nothing moves any more.
const ROUNDS: usize = 40;
/// Groups below this share are mixtures at edges.
const LEAST_SHARE: f64 = 0.004;

/// Brown clay hardly reaches this L*, not even in full light: a judgement.
const LIGHT_AS_SLIP: f64 = 60.0;

/// Share given to a surface that no group speaks for.
const RARE_SHARE: f64 = 0.02;

/// Groups the tints; `samples` are pixels away from edges.
pub(super) fn groups(samples: &[Tint]) -> Vec<Group> {
    if samples.len() < GROUPS * 4 {
        return Vec::new();
    }
    let points: Vec<[f64; 3]> =
        samples.iter().map(|t| [f64::from(t.l) * LIGHTNESS_WEIGHT, f64::from(t.a), f64::from(t.b)]).collect();
    let nearest = cluster(&points, GROUPS).0;
    let mut sums = vec![[0f64; 6]; GROUPS];
    for (t, &k) in samples.iter().zip(&nearest) {
        let (a, b) = (f64::from(t.a), f64::from(t.b));
        let add = [1.0, a, b, a * a, b * b, f64::from(t.l)];
        (0..6).for_each(|i| sums[usize::from(k)][i] += add[i]);
    }
    let mut groups: Vec<Group> = sums
        .iter()
        .filter(|s| s[0] >= LEAST_SHARE * samples.len() as f64)
        .map(|s| {
            let mean = [s[1] / s[0], s[2] / s[0]];
            let variance = [s[3] / s[0] - mean[0] * mean[0], s[4] / s[0] - mean[1] * mean[1]];
            Group {
                kind: Kind::Neutral,
                share: s[0] / samples.len() as f64,
                mean,
                variance,
                lightness: s[5] / s[0],
            }
        })
        .collect();
    name(&mut groups);
    // A red or clay seen only in strips too thin to be sampled may still be there.
    for (kind, prior) in [(Kind::Red, &priors().red), (Kind::Body, &priors().body)] {
        if !groups.is_empty() && !groups.iter().any(|g| g.kind == kind) {
            let variance = prior.tint_sd.map(|s| s * s);
            groups.push(Group { kind, share: RARE_SHARE, mean: prior.tint, variance, lightness: 50.0 });
        }
    }
    groups
}

/// k-means of L*, a*, b*: the group of each point, and the middle of each group.
///
/// In `f64`, because sums over many pixels go wrong in `f32`, and until nothing moves (convergence 0), because the
/// crate's own measure of movement lets opposite moves cancel.
fn cluster(points: &[[f64; 3]], k: usize) -> (Vec<u8>, Vec<[f64; 3]>) {
    let points: Vec<Lab<D50, f64>> = points.iter().map(|p| Lab::new(p[0], p[1], p[2])).collect();
    let found = get_kmeans(k, ROUNDS, 0.0, false, &points, SEED);
    (found.indices, found.centroids.iter().map(|c| [c.l, c.a, c.b]).collect())
}

/// Names groups by hue and chroma of the tint, then against the other groups of the piece.
fn name(groups: &mut [Group]) {
    for g in groups.iter_mut() {
        let (chroma, hue) = polar(g.mean);
        g.kind = if chroma < 8.0 || hue > 78.0 || g.mean[0] < 4.0 {
            Kind::Neutral
        } else if hue < 50.0 && chroma > 11.0 || hue < 65.0 && chroma > 27.0 {
            Kind::Red
        } else if chroma > 9.5 {
            Kind::Body
        } else {
            Kind::Neutral
        };
    }
    // Clay is yellower than the ochre rubbed on it, and mostly paler in tint.
    let reddest = groups
        .iter()
        .filter(|g| g.kind == Kind::Red)
        .map(|g| polar(g.mean))
        .max_by(|p, q| p.0.total_cmp(&q.0));
    if let Some((chroma_red, hue_red)) = reddest {
        for g in groups.iter_mut().filter(|g| g.kind == Kind::Red) {
            let (chroma, hue) = polar(g.mean);
            let yellower = hue > hue_red + 7.0 && chroma < 0.8 * chroma_red || hue > hue_red + 12.0;
            if hue > 47.0 && chroma < 27.0 && yellower {
                g.kind = Kind::Body;
            }
        }
    }
    // Slip turned yellow has the hue of clay; it is as light as the slip beside it, and clay is not.
    let whites: Vec<Group> =
        groups.iter().filter(|g| g.kind == Kind::Neutral && g.share > 0.05).copied().collect();
    for g in groups.iter_mut().filter(|g| g.kind == Kind::Body) {
        let same = |w: &Group| {
            (w.mean[0] - g.mean[0]).hypot(w.mean[1] - g.mean[1]) < 2.0
                && g.lightness > w.lightness - 6.0
                && w.lightness > 50.0
        };
        if whites.iter().any(same) {
            g.kind = Kind::Neutral;
        }
    }
    // Where all of it turned yellow no white is left to compare with: clay as light as slip beside clay that is far darker
    // and redder is slip.
    if !whites.iter().any(|w| w.lightness > 50.0) {
        let clays: Vec<Group> =
            groups.iter().filter(|g| g.kind == Kind::Body && g.share > 0.03).copied().collect();
        for g in groups.iter_mut().filter(|g| g.kind == Kind::Body && g.lightness > LIGHT_AS_SLIP) {
            let darker = |clay: &Group| clay.lightness < g.lightness - 15.0 && clay.mean[0] > g.mean[0] + 2.0;
            if clays.iter().any(darker) {
                g.kind = Kind::Neutral;
            }
        }
    }
}

/// Chroma, hue angle in degrees (-180..180).
pub(super) fn polar([a, b]: [f64; 2]) -> (f64, f64) {
    (a.hypot(b), b.atan2(a).to_degrees())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// tests/data/kmeans.json: synthetic points and their clustering by scikit-learn 1.9.1.
    #[test]
    fn clusters_agree_with_the_reference() {
        let data: serde_json::Value =
            serde_json::from_str(include_str!("../../tests/data/kmeans.json")).unwrap();
        let rows = |key: &str| -> Vec<[f64; 3]> { serde_json::from_value(data[key].clone()).unwrap() };
        let (points, centres) = (rows("points_lab"), rows("centres"));
        let labels: Vec<usize> = serde_json::from_value(data["labels"].clone()).unwrap();
        let (nearest, found) = cluster(&points, centres.len());
        for (i, label) in labels.iter().enumerate() {
            let (mine, theirs) = (found[usize::from(nearest[i])], centres[*label]);
            for c in 0..3 {
                assert!((mine[c] - theirs[c]).abs() < 1e-6, "point {i}: {mine:?} for {theirs:?}");
            }
        }
    }

    #[test]
    fn names_follow_hue_and_lightness() {
        let group = |a: f64, b: f64, lightness: f64, share: f64| Group {
            kind: Kind::Neutral,
            share,
            mean: [a, b],
            variance: [1.0; 2],
            lightness,
        };
        // White slip, red ochre, clay beside it, slip turned yellow.
        let mut groups =
            [group(1.0, 7.0, 80.0, 0.5), group(28.0, 23.0, 40.0, 0.3), group(7.5, 17.0, 54.0, 0.1)];
        name(&mut groups);
        assert_eq!(groups.map(|g| g.kind), [Kind::Neutral, Kind::Red, Kind::Body]);
        let mut yellowed =
            [group(3.9, 18.0, 72.0, 0.3), group(4.5, 16.6, 73.0, 0.2), group(6.0, 16.5, 39.0, 0.1)];
        name(&mut yellowed);
        assert_eq!(yellowed.map(|g| g.kind), [Kind::Neutral, Kind::Neutral, Kind::Body]);
        // No white left: light and yellow beside clay is slip; clay in two lights, of one tint, stays clay.
        let mut all = [group(4.4, 17.8, 73.5, 0.4), group(8.2, 15.0, 40.0, 0.1), group(0.4, 4.6, 23.0, 0.2)];
        name(&mut all);
        assert_eq!(all.map(|g| g.kind), [Kind::Neutral, Kind::Body, Kind::Neutral]);
        let mut bare =
            [group(7.5, 17.5, 66.0, 0.5), group(8.0, 17.0, 45.0, 0.4), group(9.0, 16.5, 38.0, 0.1)];
        name(&mut bare);
        assert_eq!(bare.map(|g| g.kind), [Kind::Body; 3]);
    }
}
