//! What the page says of one piece.

use super::display::{hex, hex_of_lab};
use super::file_name_of;
use super::label_style::label_style;
use super::page::PagePictures;
use super::page_causes::{CausesText, causes_text};
use super::page_context::{NameValue, piece_name, place_of};
use super::words::{
    UNKNOWN, exposure, fixed, grade_words, percent, percent_pm, plain, plus_minus, sentence, short_hash,
};
use crate::reading::{Reading, ResidualPart, Surface};
use crate::surface::Label;
use serde::Serialize;

/// All strings of one piece.
#[derive(Debug, Serialize)]
pub(super) struct PieceText {
    anchor: String,
    name: String,
    place: String,
    grade: &'static str,
    grade_words: &'static str,
    because: Vec<String>,
    small: String,
    map: String,
    map_alt: String,
    corrected: String,
    corrected_alt: String,
    legend: Vec<LegendText>,
    sheet: Vec<NameValue>,
    surfaces: Vec<SurfaceText>,
    light: String,
    figures: Vec<NameValue>,
    told: CausesText,
    left_out: Vec<NameValue>,
    left_out_sum: String,
    card: Vec<NameValue>,
    warnings: Vec<NameValue>,
    provenance: Vec<NameValue>,
    in_short: Vec<String>,
}

#[derive(Debug, Serialize)]
struct LegendText {
    colour: String,
    pattern: String,
    words: &'static str,
    share: String,
    why: Option<&'static str>,
}

#[derive(Debug, Serialize)]
struct SurfaceText {
    name: &'static str,
    colour: String,
    l: String,
    a: String,
    b: String,
    c: String,
    h: String,
    munsell: Vec<String>,
    to_target: String,
    share: String,
}

/// Builds all strings of a piece; `number` is its place on the page from 1.
pub(super) fn piece_text(number: usize, reading: &Reading, pictures: Option<&PagePictures>) -> PieceText {
    let name = piece_name(reading);
    let pictures = pictures.cloned().unwrap_or_default();
    let legend = legend(reading);
    let shares: Vec<String> = legend.iter().map(|part| format!("{} {}", part.words, part.share)).collect();
    let colours: Vec<String> = reading
        .surfaces
        .iter()
        .map(|(known, surface)| {
            format!("{} L* {}", surface_words(known), plus_minus(surface.lab[0], surface.u95[0], 1))
        })
        .collect();
    let left = &reading.left_out;
    let left_sum =
        [left.glare, left.shade, left.cloud, left.unclear].iter().map(|part| part.area_fraction).sum();
    let because = match reading.grade_because.is_empty() {
        true => vec!["No reason was recorded.".to_owned()],
        false => sentences(&reading.grade_because),
    };
    PieceText {
        anchor: format!("piece-{number}"),
        place: place_of(reading).unwrap_or_default().into(),
        grade: reading.grade.name(),
        grade_words: grade_words(reading.grade),
        map_alt: format!(
            "Surface map of {name}, {}: {}.",
            grade_words(reading.grade).to_lowercase(),
            shares.join(", ")
        ),
        corrected_alt: format!("Colour-corrected photograph of {name}: {}.", colours.join(", ")),
        because,
        small: pictures.small,
        map: pictures.map,
        corrected: pictures.corrected,
        legend,
        sheet: sheet(reading),
        surfaces: reading.surfaces.iter().map(|(known, surface)| surface_text(known, surface)).collect(),
        light: light(reading),
        figures: figures(reading),
        told: causes_text(reading),
        left_out: vec![
            NameValue::new("Glare", percent(left.glare.area_fraction)),
            NameValue::new("Deep shade", percent(left.shade.area_fraction)),
            NameValue::new("Fire cloud", percent(left.cloud.area_fraction)),
            NameValue::new("Unclear", percent(left.unclear.area_fraction)),
            NameValue::new("Clipped in the photo", percent(reading.piece.clipped_fraction)),
        ],
        left_out_sum: percent(left_sum),
        card: card(reading),
        warnings: reading
            .warnings
            .iter()
            .map(|w| NameValue::new(&plain(&w.code), sentence(&w.text)))
            .collect(),
        provenance: provenance(reading),
        in_short: in_short(reading),
        name,
    }
}

fn sentences(texts: &[String]) -> Vec<String> {
    texts.iter().map(|text| sentence(text)).collect()
}

/// A surface's name for people.
pub(super) fn surface_words(name: &str) -> &'static str {
    Label::ALL
        .into_iter()
        .find(|label| label.name() == name)
        .map_or("surface", |label| label_style(label).words)
}

fn surface_text(name: &str, surface: &Surface) -> SurfaceText {
    let [l, a, b] = [0, 1, 2].map(|i| plus_minus(surface.lab[i], surface.u95[i], 1));
    SurfaceText {
        name: surface_words(name),
        colour: hex_of_lab(surface.lab),
        l,
        a,
        b,
        c: fixed(surface.lch[1], 1),
        h: format!("{}°", fixed(surface.lch[2], 0)),
        munsell: surface.munsell.iter().map(|m| format!("{} ({})", m.notation, fixed(m.de00, 1))).collect(),
        to_target: surface.to_target_de00.map_or("no target".into(), |d| fixed(d, 1)),
        share: percent(surface.area_fraction),
    }
}

/// The labels of the map and their share of the piece, as far as the record tells.
fn legend(reading: &Reading) -> Vec<LegendText> {
    let left = &reading.left_out;
    let mut parts: Vec<(Label, f64)> = Label::ALL
        .into_iter()
        .filter_map(|label| Some((label, reading.surfaces.get(label.name())?.area_fraction)))
        .collect();
    // The record holds the paint laid and the share kept: the rest is lost, over the piece's area.
    let piece_px = reading
        .surfaces
        .iter()
        .max_by_key(|(_, surface)| surface.area_px)
        .map(|(_, surface)| surface.area_px as f64 / surface.area_fraction);
    if let (Some(paint), Some(piece_px)) = (&reading.paint, piece_px) {
        parts.push((Label::LostPaint, paint.applied_px as f64 * (1.0 - paint.retained_fraction) / piece_px));
    }
    parts.extend([
        (Label::Glare, left.glare.area_fraction),
        (Label::Cloud, left.cloud.area_fraction),
        (Label::Shade, left.shade.area_fraction),
        (Label::Unclear, left.unclear.area_fraction),
    ]);
    parts
        .into_iter()
        .filter(|(_, share)| *share > 0.0005)
        .map(|(label, share)| {
            let style = label_style(label);
            LegendText {
                colour: hex(style.colour),
                pattern: format!("{:?}", style.pattern).to_lowercase(),
                words: style.words,
                share: percent(share),
                why: style.why,
            }
        })
        .collect()
}

fn sheet(reading: &Reading) -> Vec<NameValue> {
    let Some(row) = &reading.sheet else { return vec![] };
    [
        ("Firing", &row.firing),
        ("Place in the fire", &row.place),
        ("White slip", &row.slip),
        ("Red", &row.red),
        ("Paint", &row.paint),
        ("Notes", &row.notes),
    ]
    .into_iter()
    .filter_map(|(name, value)| Some(NameValue::new(name, value.as_deref().filter(|v| !v.is_empty())?)))
    .collect()
}

fn light(reading: &Reading) -> String {
    let source = match reading.light.source.as_str() {
        "ball" => "The light was read from a pale ball beside the piece",
        "form" => "The light was worked out from the form of the piece",
        "field" => "The light was worked out from the shading of the piece itself",
        _ => "How the light fell on the piece is not known",
    };
    match reading.light.range {
        Some([low, high]) => {
            format!("{source}; it ran from {} to {} of the light on the card.", fixed(low, 2), fixed(high, 2))
        }
        None => format!("{source}."),
    }
}

fn figures(reading: &Reading) -> Vec<NameValue> {
    let mut figures = Vec::new();
    match &reading.contrast {
        Some(c) => figures.extend([
            NameValue::new("Lightness, white less black (ΔL*)", plus_minus(c.delta_l, c.u95.delta_l, 1)),
            NameValue::new(
                "Colour difference, white to black (CIEDE2000)",
                plus_minus(c.de00, c.u95.de00, 1),
            ),
            NameValue::new(
                "Reflected light, white over black",
                format!("{} times", plus_minus(c.reflectance_ratio, c.u95.reflectance_ratio, 1)),
            ),
        ]),
        None => figures
            .push(NameValue::new("White against black", "not measured: white and black must both be seen")),
    }
    match &reading.paint {
        Some(paint) => {
            figures.push(NameValue::new(
                "Paint that still reads black",
                percent_pm(paint.retained_fraction, paint.u95),
            ));
        }
        None => figures.push(NameValue::new("Paint", "none seen")),
    }
    figures.push(NameValue::new("Fire clouds, share of the piece", percent(reading.clouds.area_fraction)));
    figures.push(NameValue::new(
        "Out of gamut after correction: measured, but not shown as it is",
        percent(reading.piece.out_of_gamut_fraction),
    ));
    figures.extend(super::page_measures::measures(reading));
    figures
}

fn card(reading: &Reading) -> Vec<NameValue> {
    let card = &reading.card;
    let residual = |part: Option<ResidualPart>| {
        part.map_or(UNKNOWN.into(), |r| format!("{}, at most {}", fixed(r.mean, 1), fixed(r.max, 1)))
    };
    let status = match card.status.as_str() {
        "found" => "found in the photograph",
        "given" => "corners told by hand",
        "borrowed" => "borrowed from another photograph in the same light",
        _ => "none",
    };
    let left: Vec<String> = card
        .patches
        .iter()
        .filter(|patch| !patch.used)
        .map(|patch| format!("{} ({})", patch.id, patch.why_not.as_deref().unwrap_or("no reason given")))
        .collect();
    let used = card.patches.len() - left.len();
    let patches = match left.is_empty() {
        true if card.patches.is_empty() => UNKNOWN.into(),
        true => format!("all {used}"),
        false => format!("{used} of {}; left out: {}", card.patches.len(), left.join(", ")),
    };
    if let Some(from) = &card.borrowed_from {
        return vec![
            NameValue::new("Card", status),
            NameValue::new("Card shot", file_name_of(&from.path)),
            NameValue::new("SHA-256 of the card shot", short_hash(&from.sha256)),
            NameValue::new(
                "Exposure against the card shot",
                format!("{} times", plus_minus(from.exposure_ratio, from.u95, 2)),
            ),
            NameValue::new("Definition", card.definition.as_deref().unwrap_or(UNKNOWN)),
            NameValue::new("Correction", card.model.as_deref().unwrap_or(UNKNOWN)),
            NameValue::new("Error on patches kept out of the fit (CIEDE2000)", residual(card.held_out_de00)),
        ];
    }
    vec![
        NameValue::new("Card", status),
        NameValue::new("Definition", card.definition.as_deref().unwrap_or(UNKNOWN)),
        NameValue::new("Correction", card.model.as_deref().unwrap_or(UNKNOWN)),
        NameValue::new("Patches used", patches),
        NameValue::new("Error on patches kept out of the fit (CIEDE2000)", residual(card.held_out_de00)),
        NameValue::new("Error on patches in the fit (CIEDE2000)", residual(card.fit_de00)),
        NameValue::new(
            "Change of light across the card",
            card.light_gradient.map_or(UNKNOWN.into(), |g| percent(g.abs())),
        ),
        NameValue::new(
            "Width of its borders in the photo",
            card.capture
                .and_then(|c| c.edge_px)
                .map_or(UNKNOWN.into(), |px| format!("{} pixels", fixed(px, 1))),
        ),
    ]
}

fn provenance(reading: &Reading) -> Vec<NameValue> {
    let photo = &reading.photo;
    let size = match (photo.width, photo.height) {
        (Some(width), Some(height)) => format!("{width} × {height} pixels"),
        _ => UNKNOWN.into(),
    };
    vec![
        NameValue::new("File", file_name_of(&photo.path)),
        NameValue::new("SHA-256 of the file", short_hash(photo.sha256.as_deref().unwrap_or(""))),
        NameValue::new("Taken, by the camera's clock", photo.taken.as_deref().unwrap_or(UNKNOWN)),
        NameValue::new("Exposure", exposure(photo.exposure.as_ref())),
        NameValue::new("Size", size),
        NameValue::new(
            "Colour profile",
            photo.profile.as_deref().unwrap_or("none in the file: sRGB assumed"),
        ),
        NameValue::new("Program", format!("sherdlight {}", reading.made_by.version)),
        NameValue::new("SHA-256 of the settings", short_hash(&reading.made_by.settings_sha256)),
        NameValue::new(
            "Target ranges",
            format!("{}, SHA-256 {}", reading.targets, short_hash(&reading.targets_sha256)),
        ),
        NameValue::new("Colours", format!("CIELAB for {}, {}", reading.illuminant, reading.observer)),
    ]
}

/// The cells of the piece's row in the table of the load: L* and b* of white, L* of black,
/// contrast, paint kept, clouds.
fn in_short(reading: &Reading) -> Vec<String> {
    let of = |name: &str, i: usize| {
        reading.surfaces.get(name).map_or("not seen".into(), |s| plus_minus(s.lab[i], s.u95[i], 1))
    };
    vec![
        of("white", 0),
        of("white", 2),
        of("black", 0),
        reading.contrast.as_ref().map_or("not seen".into(), |c| plus_minus(c.delta_l, c.u95.delta_l, 1)),
        reading.paint.as_ref().map_or("none seen".into(), |p| percent_pm(p.retained_fraction, p.u95)),
        percent(reading.clouds.area_fraction),
    ]
}
