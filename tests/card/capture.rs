//! Checks on how the photograph was taken, on photographs made here with one thing wrong each. What is wrong is
//! planted in linear light, so the figures in the sentences are known.

use crate::scene::*;
use sherdlight::card::{CardReading, read_card};
use sherdlight::reading::{Grade, NO_GRADE, WARNING_CODES, Warning};

fn card(scene: Scene, planted: impl Fn(f64, f64) -> [f64; 3]) -> CardReading {
    read_card(&scene.photo(planted), &settings()).expect("the card is seen")
}

fn said<'a>(card: &'a CardReading, code: &str) -> Option<&'a str> {
    assert!(
        card.warnings.iter().all(|(code, _)| WARNING_CODES.contains(&code.as_str())),
        "{:?}",
        card.warnings
    );
    card.warnings.iter().find(|(c, _)| c == code).map(|(_, text)| text.as_str())
}

fn warned<'a>(warnings: &'a [Warning], code: &str) -> Option<&'a str> {
    warnings.iter().find(|w| w.code == code).map(|w| w.text.as_str())
}

#[test]
fn every_code_has_its_line_in_the_readme() {
    let readme = include_str!("../../README.md");
    for code in WARNING_CODES {
        let lines = readme.lines().filter(|line| line.starts_with(&format!("| `{code}` |")));
        let cells: Vec<Vec<&str>> = lines.map(|line| line.trim_matches('|').split(" | ").collect()).collect();
        assert_eq!(cells.len(), 1, "{code}");
        assert!(cells[0].len() == 3 && cells[0].iter().all(|cell| !cell.trim().is_empty()), "{code}");
        assert!(code.chars().all(|c| c.is_ascii_lowercase() || c == '-'), "{code}");
        assert_eq!(cells[0][1].contains("**no grade**"), NO_GRADE.contains(&code), "{code}");
    }
    assert!(NO_GRADE.iter().all(|code| WARNING_CODES.contains(code)));
}

#[test]
fn a_good_photograph_has_nothing_said() {
    let photo = Scene::default().photo(even);
    let reading = reading(&photo);
    assert!(reading.warnings.is_empty(), "{:?}", reading.warnings);
    let capture = reading.card.capture.expect("read");
    assert!((capture.white_light.unwrap() - 0.7).abs() < 0.01, "{capture:?}");
    // 2.563 standard deviations from 10 % to 90 %; pixels and their interpolation add about a tenth.
    let edge = capture.edge_px.unwrap();
    assert!((0.9..1.5).contains(&(edge / (2.563 * 0.8))), "{edge}");
    assert_eq!(capture.clipped_fraction, 0.0);
    let ground = reading.light.ground.expect("cloth about both");
    assert!((ground.ratio - 1.0).abs() < ground.u95, "{ground:?}");
    assert!(ground.lab.is_empty() && ground.tint < 0.5);
}

/// The rule of the two shares: a patch of 24 is 4.2 %. Neutrals go over the top in the order of their lightness.
#[test]
fn over_exposure_warns_above_one_percent_and_forbids_a_grade_above_five() {
    for (exposure, patches) in [(1.05, 0), (1.3, 1), (2.0, 2)] {
        let card = card(Scene { exposure, ..Scene::default() }, even);
        let (warn, forbid) = (said(&card, "card-clipped"), said(&card, "card-overexposed"));
        assert_eq!(
            (warn.is_some(), forbid.is_some()),
            (patches == 1, patches > 1),
            "{exposure}: {:?}",
            card.capture
        );
        let share = f64::from(patches) / 24.0;
        // From two patches on coloured ones with two channels at the top come along.
        assert!(card.capture.clipped >= share - 0.01, "{:?}", card.capture);
        if let Some(text) = warn {
            assert!(text.starts_with("4 % of the card's patches"), "{text}");
        }
    }
    let reading = reading(&Scene { exposure: 2.0, ..Scene::default() }.photo(even));
    assert_eq!(reading.grade, Grade::CannotTell);
    assert!(reading.grade_because.iter().any(|b| b.starts_with("No grade (card-overexposed): ")));
    assert!(reading.grade_because.iter().any(|b| b.starts_with("No grade (piece-overexposed): ")));
}

/// Strong colours at the end of one channel are no over-exposure.
#[test]
fn one_channel_at_the_top_of_a_strong_colour_is_not_counted() {
    // A camera that lifts red by a third: yellow, orange and red run into the top of that channel, white does not.
    let card = card(Scene { exposure: 0.98, ..Scene::default() }, |_, _| [1.33, 0.7, 0.7]);
    let clipped = card.patches.iter().filter(|p| p.why_not.is_some_and(|w| w.name() == "clipped")).count();
    assert!(clipped >= 2, "{clipped}");
    let neutral =
        card.patches[18..].iter().filter(|p| p.why_not.is_some_and(|w| w.name() == "clipped")).count();
    assert!(
        (card.capture.clipped - neutral as f64 / 24.0).abs() < 0.01,
        "{} {neutral}",
        card.capture.clipped
    );
}

#[test]
fn a_clipped_part_of_the_piece_is_a_share_of_its_own() {
    // A bright wedge over the plate's white: a share of the plate, by its angle, over the top.
    for (degrees, code) in [(14.0, Some("piece-clipped")), (40.0, Some("piece-overexposed")), (2.0, None)] {
        let wedge = move |x: f64, y: f64| {
            let (dx, dy) = (x - 640.0, y - 330.0);
            let (angle, far) = (dy.atan2(dx).to_degrees().abs(), dx.hypot(dy) / 190.0);
            [if angle < degrees / 2.0 && (0.72..1.0).contains(&far) { 3.0 } else { 1.0 }; 3]
        };
        let reading = reading(&Scene::default().photo(wedge));
        let share = degrees / 360.0 * (1.0 - 0.72 * 0.72);
        let piece = &reading.piece;
        assert!(
            (piece.clipped_fraction - share).abs() < 0.25 * share + 0.003,
            "{} {share}",
            piece.clipped_fraction
        );
        for known in ["piece-clipped", "piece-overexposed"] {
            assert_eq!(
                warned(&reading.warnings, known).is_some(),
                code == Some(known),
                "{:?}",
                reading.warnings
            );
        }
        assert!(piece.out_of_gamut_fraction < 0.005 && piece.crushed_fraction < 0.001);
        assert!(reading.left_out.glare.area_fraction < 0.001);
    }
}

#[test]
fn a_colour_beyond_srgb_is_measured_and_said() {
    // 1.9 times the card's light on white of L* 82 is lighter than a perfect diffuser beside the card would be,
    // and well under the top of the encoding.
    let lit_rim = |x: f64, y: f64| {
        let far = (x - 640.0).hypot(y - 330.0) / 190.0;
        [if (0.85..1.0).contains(&far) { 1.9 } else { 1.0 }; 3]
    };
    let reading = reading(&Scene { exposure: 0.5, ..Scene::default() }.photo(lit_rim));
    let rim = 1.0 - 0.85 * 0.85;
    let piece = &reading.piece;
    assert!(piece.clipped_fraction < 0.002, "{}", piece.clipped_fraction);
    assert!((piece.out_of_gamut_fraction - rim).abs() < 0.05, "{}", piece.out_of_gamut_fraction);
    let text = warned(&reading.warnings, "piece-out-of-gamut").expect("said");
    assert!(text.contains("sRGB") && text.contains('%'), "{text}");
}

#[test]
fn under_exposure_and_crushed_darks_are_said() {
    let dark = card(Scene { exposure: 0.15, ..Scene::default() }, even);
    let text = said(&dark, "card-underexposed").expect("said");
    assert!(text.contains("15 %") && text.contains("2 steps"), "{text}");
    assert!(said(&card(Scene { exposure: 0.3, ..Scene::default() }, even), "card-underexposed").is_none());
    // A camera that cuts the darks off: what lies below a fiftieth of the white's light is nothing.
    let mut picture = Scene::default().draw(even);
    picture.pixels.iter_mut().for_each(|p| p.0 = p.0.map(|v| if v < 0.03 { 0.0 } else { v }));
    let photo = sherdlight::photo::Photo::from_linear(picture);
    let card = read_card(&photo, &settings()).expect("the card is seen");
    assert!(said(&card, "card-blacks-crushed").is_some_and(|t| t.contains('%')), "{:?}", card.warnings);
}

#[test]
fn uneven_light_and_mixed_light_on_the_card_are_told_apart() {
    // From the card's left end to its right one, 230 pixels of the width.
    let ramp = |by: [f64; 3]| move |x: f64, _: f64| by.map(|b| (b * ((x - 185.0) / 230.0)).exp());
    let uneven = card(Scene { exposure: 0.5, ..Scene::default() }, ramp([0.4; 3]));
    assert!(said(&uneven, "card-light-uneven").is_some() && said(&uneven, "card-light-mixed").is_none());
    for change in [0.15, 0.3] {
        let mixed = card(Scene { exposure: 0.5, ..Scene::default() }, ramp([change, 0.0, 0.0]));
        let found = mixed.capture.tint_change.expect("stands out");
        assert!((found / (f64::exp(change) - 1.0) - 1.0).abs() < 0.35, "{found} for {change}");
        assert!(said(&mixed, "card-light-mixed").is_some());
    }
    for seed in 1..=6 {
        let plain = card(Scene { seed, ..Scene::default() }, even);
        assert!(said(&plain, "card-light-mixed").is_none() && said(&plain, "card-light-uneven").is_none());
    }
}

#[test]
fn blur_is_measured_in_pixels_and_said() {
    for blur in [1.5, 4.0, 6.0] {
        let card = card(Scene { blur, ..Scene::default() }, even);
        let edge = card.capture.edge_px.expect("borders are seen");
        // The window about a border is 0.3 patch, 11 pixels, either way: wide blurs read a little short.
        assert!((0.6..1.2).contains(&(edge / (2.563 * blur))), "{edge} at {blur}");
        assert_eq!(said(&card, "card-blurred").is_some(), blur > 3.0, "{edge} at {blur}");
    }
}

/// Planted between card and plate, on cloth with texture, each with five seeds. What is reached is stated in the
/// README: a fifth is seen mostly, a tenth is within what light does on any table.
#[test]
fn other_light_on_the_piece_is_flagged_where_it_is_clear() {
    let flagged = |loss: f64, texture: f64| {
        (1..=5u64)
            .filter(|&seed| {
                let scene = Scene { seed: seed * 7919, texture, ..Scene::default() };
                let reading = reading(&scene.photo(other_at_plate([1.0 - loss; 3])));
                let ground = reading.light.ground.as_ref().expect("cloth about both");
                assert!(
                    (ground.ratio - (1.0 - loss)).abs() < ground.u95 + 0.02,
                    "{loss} {texture}: {ground:?}"
                );
                let text = warned(&reading.warnings, "piece-other-light");
                if let Some(text) = text {
                    // Both readings: by the card's light and by the ground's.
                    let white = ground.lab["white"];
                    assert!(text.contains(&format!("{:.1} by the ground's", white[0])), "{text}");
                    // dL* = (L* + 16) / 3 dY / Y (CIE 15:2018).
                    let reach = (WHITE[0] + 16.0) / 3.0 * ground.u95 / ground.ratio;
                    assert!((white[0] - WHITE[0]).abs() < reach, "{white:?} {reach}");
                    // The interval holds both.
                    let surface = reading.surfaces.white.as_ref().unwrap();
                    assert!((surface.lab[0] - white[0]).abs() <= surface.u95[0], "{surface:?}");
                }
                text.is_some()
            })
            .count()
    };
    for texture in [0.02, 0.06] {
        assert_eq!(flagged(0.0, texture), 0, "{texture}");
        assert!(flagged(0.1, texture) <= 1, "{texture}");
        assert!(flagged(0.2, texture) >= 4, "{texture}");
        assert_eq!(flagged(0.4, texture), 5, "{texture}");
    }
}

#[test]
fn light_of_another_tint_on_the_piece_is_flagged() {
    for (share, told) in [([1.0, 1.0, 1.0], false), ([1.08, 1.0, 0.85], true)] {
        let reading = reading(&Scene::default().photo(other_at_plate(share)));
        assert_eq!(
            warned(&reading.warnings, "piece-other-tint").is_some(),
            told,
            "{:?}",
            reading.light.ground
        );
        assert!(warned(&reading.warnings, "piece-other-light").is_none());
    }
}
