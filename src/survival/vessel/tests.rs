//! Vessels from the outlines of analytic solids.

use super::*;
use crate::survival::drawn::{Place, Solid};
use crate::survival::picture::Picture;
use std::f64::consts::{PI, TAU};

const CYLINDER: Solid = Solid { shape: [0.16, 0.0, 0.0], ends: [-0.5, 0.5] };
const ELLIPSOID: Solid = Solid { shape: [0.16, 0.0, -0.5], ends: [-0.2, 0.5] };
const NARROW: Solid = Solid { ends: [-0.4, 0.5], ..ELLIPSOID };

/// Azimuths and heights of the outline's vessel against those of the solid, where the wall is not seen edge on and no
/// rim is near: how many inside and outside, and the share of them that lies far off.
fn compared(solid: &Solid, sine: f64) -> [(usize, f64); 2] {
    let looking = Looking::down(sine, 0.0);
    let vessel = Vessel::of(&Profile::of(&solid.picture(sine, 384.0)), looking).expect("an outline");
    let (mut many, mut far) = ([0usize; 2], [0usize; 2]);
    for (y, x) in (-60..60).flat_map(|y| (-60..60).map(move |x| (y, x))) {
        let place = [0.011 * f64::from(x), 0.011 * f64::from(y)];
        let near = |[x, y]: [f64; 2]| solid.seen(sine, [place[0] + x, place[1] + y]);
        let clear = |place: &Place| {
            let about = [[0.01, 0.0], [-0.01, 0.0], [0.0, 0.01], [0.0, -0.01]];
            place.azimuth.cos().abs() > 0.4
                && about.into_iter().all(|by| near(by).is_some_and(|other| other.inside == place.inside))
        };
        let Some(want) = near([0.0; 2]).filter(clear) else { continue };
        let got = vessel.at(place);
        let turn = (got.azimuth - want.azimuth + PI).rem_euclid(TAU) - PI;
        let off = (got.height - looking.cosine * want.along).abs().max((got.radius - want.radius).abs());
        many[usize::from(want.inside)] += 1;
        far[usize::from(want.inside)] += usize::from(turn.abs() > 0.02 || off > 0.006);
        assert_eq!(got.azimuth.cos() < 0.0, want.azimuth.cos() < 0.0, "{solid:?} {sine} at {place:?}");
    }
    [0, 1].map(|side| (many[side], far[side] as f64 / many[side].max(1) as f64))
}

/// Each seen by parallel rays, the place on its wall by its equation. A pixel of the outline is 0.0026: azimuths lie within
/// 0.02 radians (1.2 degrees), heights and radii within 0.006. Inside the mouth it is the far wall.
#[test]
fn places_on_analytic_solids() {
    let solids = [
        CYLINDER,
        // Cones that narrow and widen by a third of their length: radius 0.4 -+ h / 3.
        Solid { shape: [0.16, -0.8 / 3.0, 1.0 / 9.0], ends: [-0.4, 0.4] },
        Solid { shape: [0.16, 0.8 / 3.0, 1.0 / 9.0], ends: [-0.4, 0.4] },
        // A bowl, and an ellipsoid that is open above its widest.
        Solid { shape: [0.25, 0.0, -1.0], ends: [-0.05, 0.45] },
        ELLIPSOID,
    ];
    for solid in solids {
        for sine in [0.1, 0.3, 0.5] {
            let [(out, far_out), (inside, far_inside)] = compared(&solid, sine);
            assert!(out > 1500 && far_out < 0.01, "{solid:?} at {sine}: {far_out} of {out}");
            assert!(inside > 80 && far_inside < 0.02, "{solid:?} at {sine}: {far_inside} of {inside}");
        }
    }
}

/// A shoulder that is looked down on shows its back, beyond the widest that its circles reach.
#[test]
fn the_back_of_a_flat_shoulder_is_seen() {
    let (sine, looking) = (0.6, Looking::down(0.6, 0.0));
    let vessel = Vessel::of(&Profile::of(&NARROW.picture(sine, 384.0)), looking).expect("an outline");
    let (mut behind, mut far) = (0, 0);
    for (y, x) in (-150..150).flat_map(|y| (-150..150).map(move |x| (y, x))) {
        let place = [0.004 * f64::from(x), 0.004 * f64::from(y)];
        let wanted = |seen: &Place| !seen.inside && seen.azimuth.cos() < -0.05;
        let Some(want) = NARROW.seen(sine, place).filter(wanted) else { continue };
        let got = vessel.at(place);
        let turn = (got.azimuth - want.azimuth + PI).rem_euclid(TAU) - PI;
        behind += 1;
        far += usize::from(turn.abs() > 0.03 || (got.radius - want.radius).abs() > 0.01);
    }
    assert!(behind > 250 && far * 10 < behind, "{far} of {behind}");
}

/// The place nearest to the camera is told where a ray meets the wall more than once: in the middle of the near wall of the
/// ellipsoid the wall behind it lies on the same ray.
#[test]
fn the_near_wall_hides_the_far_one() {
    let looking = Looking::down(0.3, 0.0);
    let vessel = Vessel::of(&Profile::of(&ELLIPSOID.picture(0.3, 384.0)), looking).expect("an outline");
    for y in [0.1, 0.2, 0.3] {
        let got = vessel.at([0.05, y]);
        assert!(got.azimuth.cos() > 0.9, "{y}: {got:?}");
    }
}

/// The rim of a jar that narrows to its mouth: its height and radius, looked down on gently and steeply.
#[test]
fn the_rim_of_a_narrow_mouth_is_found() {
    for sine in [0.3, 0.5, 0.7] {
        let looking = Looking::down(sine, 0.0);
        let vessel = Vessel::of(&Profile::of(&NARROW.picture(sine, 384.0)), looking).expect("an outline");
        let rim = vessel.circles[0];
        let want = (looking.cosine * NARROW.ends[0], NARROW.radius(NARROW.ends[0]));
        assert!(
            (rim.height - want.0).abs() < 0.006 && (rim.radius - want.1).abs() < 0.012,
            "{sine}: {rim:?}"
        );
    }
}

/// From so near that sizes grow with nearness: outline and places by the equation at the head of this file.
#[test]
fn nearness_is_taken_off() {
    let (sine, near) = (0.3, 0.25);
    let looking = Looking::down(sine, near);
    let seen = |along: f64, azimuth: f64| {
        let height = looking.cosine * along;
        let larger = 1.0 + near * looking.cosine * 0.4 * azimuth.cos();
        [0.4 * azimuth.sin() * larger, (height + sine * 0.4 * azimuth.cos()) * larger]
    };
    // How far each row of 2,000 to the unit reaches across.
    let mut reach = [0f64; 3200];
    for (along, turn) in (0..=4000).flat_map(|k| (0..720).map(move |t| (k, t))) {
        let [x, y] = seen(f64::from(along) / 4000.0 - 0.5, f64::from(turn).to_radians() / 2.0);
        let row = &mut reach[((y + 0.8) * 2000.0) as usize];
        *row = row.max(x);
    }
    let covers = |[x, y]: [f64; 2]| {
        let row = ((y + 0.8) * 2000.0) as usize;
        reach.get(row).is_some_and(|&reach| reach > 0.0 && x.abs() <= reach)
    };
    let picture = Picture::outlined([-0.8; 2], 384.0, [614, 614], covers);
    let vessel = Vessel::of(&Profile::of(&picture), looking).expect("an outline");
    for (along, degrees) in [(-0.2, -50.0), (0.0, 0.0), (0.1, 30.0), (0.3, 60.0), (0.2, -20.0)] {
        let azimuth = f64::to_radians(degrees);
        let got = vessel.at(seen(along, azimuth));
        assert!((got.azimuth - azimuth).abs() < 0.01, "{degrees}: {}", got.azimuth.to_degrees());
        assert!((got.height - looking.cosine * along).abs() < 0.005, "{degrees}: {} {along}", got.height);
    }
    let rim = vessel.circles[0];
    assert!((rim.height + looking.cosine * 0.5).abs() < 0.006 && (rim.radius - 0.4).abs() < 0.006, "{rim:?}");
}

/// Beside the wall the nearest edge is told, to one circle: a quarter turn to that side, at that height.
#[test]
fn beside_the_wall_its_edge_is_told() {
    let looking = Looking::down(0.3, 0.0);
    let vessel = Vessel::of(&Profile::of(&CYLINDER.picture(0.3, 384.0)), looking).expect("an outline");
    // The nearest circle lies half of their distance off at most, and that is so far towards the camera on its plane.
    let step = vessel.circles[1].height - vessel.circles[0].height;
    let most = step / 2.0 / looking.sine / 0.47;
    for side in [-1.0, 1.0] {
        let got = vessel.at([side * 0.47, 0.1]);
        assert!((got.azimuth - side * PI / 2.0).abs() <= 1.01 * most, "{got:?} {most}");
        assert!((got.height - 0.1).abs() < 0.005 && (got.radius - 0.4).abs() < 0.003, "{got:?}");
    }
}

/// No outline, no vessel; a camera that looks along the ground or straight down is held where a mouth is an ellipse.
#[test]
fn without_an_outline_there_is_no_vessel() {
    let nothing = Solid { shape: [-1.0, 0.0, 0.0], ends: [-0.5, 0.5] };
    assert!(Vessel::of(&Profile::of(&nothing.picture(0.3, 96.0)), Looking::down(0.3, 0.0)).is_none());
    for sine in [-0.4, 0.0, 0.6, 1.3] {
        let looking = Looking::down(sine, 0.0);
        assert!(looking.sine > 0.0 && looking.cosine > 0.3);
        assert!((looking.sine.powi(2) + looking.cosine.powi(2) - 1.0).abs() < 1e-12);
    }
}
