//! What a page says of one reading: one photograph of a piece.

use super::PagePictures;
use super::causes::{CausesText, causes_text};
use super::compared::{ComparedText, compared};
use super::name_value::NameValue;
use super::picture::{KeyText, MapText, PictureText, map, whole};
use super::{PageEntry, measures, origin};
use crate::reading::{Reading, Surface};
use crate::report::charts::{ranges_chart, residual_chart};
use crate::report::display::hex_of_lab;
use crate::report::file_name_of;
use crate::report::survival_words;
use crate::report::words::{
    capital, fixed, grade_words, percent, percent_pm, plain, plus_minus, sentence, surface_words,
};
use crate::surface::Label;
use serde::Serialize;

/// All strings of one reading.
#[derive(Debug, Serialize)]
pub(super) struct ViewText {
    /// The photograph's file name.
    file: String,
    corrected: Option<PictureText>,
    map: Option<MapText>,
    /// Whether the map is that of the numbers.
    map_fits: bool,
    legend: Vec<KeyText>,
    warnings: Vec<NameValue>,
    surfaces: Vec<SurfaceText>,
    light: String,
    /// The values against the target ranges, where these are known.
    ranges: String,
    figures: Vec<NameValue>,
    left_out: Vec<NameValue>,
    left_out_sum: String,
    told: CausesText,
    compared: Option<ComparedText>,
    card: Vec<NameValue>,
    residuals: String,
    provenance: Vec<NameValue>,
}

#[derive(Debug, Serialize)]
struct SurfaceText {
    name: String,
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

/// Builds all strings of a reading; `piece` and `view` are its places on the page from 1.
pub(super) fn view_text(
    [piece, view]: [usize; 2],
    name: &str,
    reading: &Reading,
    entry: &PageEntry,
    entries: &[PageEntry],
    photo_id: &dyn Fn(&PagePictures) -> String,
) -> ViewText {
    let legend = legend(reading, entry.pictures);
    let shares: Vec<String> = legend.iter().map(|part| format!("{} {}", part.words, part.share)).collect();
    let colours: Vec<String> = reading
        .surfaces
        .iter()
        .map(|(known, surface)| {
            format!("{} L* {}", surface_words(known), plus_minus(surface.lab[0], surface.u95[0], 1))
        })
        .collect();
    let map_alt = format!(
        "Surface map of {name}, {}: {}.",
        grade_words(reading.grade).to_lowercase(),
        shares.join(", ")
    );
    let corrected_alt = format!("Colour-corrected photograph of {name}: {}.", colours.join(", "));
    let left = &reading.left_out;
    let left_sum =
        [left.glare, left.shade, left.cloud, left.unclear].iter().map(|part| part.area_fraction).sum();
    ViewText {
        file: file_name_of(&reading.photo.path).into(),
        corrected: entry.pictures.map(|p| whole(p, photo_id(p), corrected_alt)),
        map: entry.pictures.map(|p| map(p, reading, photo_id(p), map_alt)),
        map_fits: entry.map_fits,
        legend,
        warnings: reading
            .warnings
            .iter()
            .map(|w| NameValue::new(&plain(&w.code), sentence(&w.text)))
            .collect(),
        surfaces: reading.surfaces.iter().map(|(known, surface)| surface_text(known, surface)).collect(),
        light: light(reading),
        ranges: entry.targets.map_or_else(String::new, |targets| {
            ranges_chart(&format!("ranges-{piece}-{view}"), reading, targets)
        }),
        figures: figures(reading),
        left_out: vec![
            NameValue::new("Glare", percent(left.glare.area_fraction)),
            NameValue::new("Deep shade", percent(left.shade.area_fraction)),
            NameValue::new("Fire cloud", percent(left.cloud.area_fraction)),
            NameValue::new("Unclear", percent(left.unclear.area_fraction)),
            NameValue::new("Clipped in the photo", percent(reading.piece.clipped_fraction)),
        ],
        left_out_sum: percent(left_sum),
        told: causes_text(reading),
        compared: reading.comparison.as_ref().map(|found| compared(piece, reading, found, entries, photo_id)),
        card: origin::card(reading),
        residuals: match reading.card.patches.is_empty() {
            true => String::new(),
            false => residual_chart(&format!("residuals-{piece}-{view}"), &reading.card),
        },
        provenance: origin::provenance(reading),
    }
}

fn surface_text(name: &str, surface: &Surface) -> SurfaceText {
    let [l, a, b] = [0, 1, 2].map(|i| plus_minus(surface.lab[i], surface.u95[i], 1));
    SurfaceText {
        name: capital(surface_words(name)),
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
fn legend(reading: &Reading, pictures: Option<&PagePictures>) -> Vec<KeyText> {
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
        .map(|(label, share)| KeyText::new(label, percent(share), pictures))
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
    if let Some(survival) = &reading.survival {
        figures.push(NameValue::new("Paint against the piece before the fire", survival_words(survival)));
    }
    figures.push(NameValue::new("Fire clouds, share of the piece", percent(reading.clouds.area_fraction)));
    figures.push(NameValue::new(
        "Out of gamut after correction: measured, but not shown as it is",
        percent(reading.piece.out_of_gamut_fraction),
    ));
    figures.extend(measures::measures(reading));
    figures
}
