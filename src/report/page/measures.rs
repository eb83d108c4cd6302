//! Lengths and textures of a piece in words; what was not measured says why.

use super::name_value::NameValue;
use crate::reading::{Measure, Percentiles, Reading};
use crate::report::words::{fixed, plus_minus, sentence};

/// Lines, margin, edges, spottiness, evenness, size, in this order.
pub(super) fn measures(reading: &Reading) -> Vec<NameValue> {
    let why = |field: &str| {
        let reason = reading.null_because.get(field).map_or("no reason was recorded", |reason| reason);
        sentence(&format!("not measured: {reason}"))
    };
    let width = |[mm, px]: [Option<Percentiles>; 2], field_px: &str| match (mm, px) {
        (Some(mm), _) => range(mm, "mm"),
        // Why there are no mm is the same for all lengths: it is said once, below.
        (None, Some(px)) => range(px, "pixels"),
        (None, None) => why(field_px),
    };
    let measure = |found: Option<Measure>, decimals: usize, field: &str| {
        found.map_or_else(|| why(field), |m| plus_minus(m.value, m.u95, decimals))
    };
    let piece = &reading.piece;
    let mut said = Vec::new();
    if let Some(paint) = &reading.paint {
        let lines = [paint.line_width_mm, paint.line_width_px];
        let edges = [paint.edge_mm, paint.edge_px];
        let own = match paint.edge_own_px {
            Some(px) => format!("{} pixels", fixed(px, 1)),
            None => why("paint.edge_own_px"),
        };
        said.extend([
            NameValue::new("Width of painted lines", width(lines, "paint.line_width_px")),
            NameValue::new("Paint edges, from white to black (10 % to 90 %)", width(edges, "paint.edge_px")),
            NameValue::new("The paint's own part of that", own),
            NameValue::new(
                "Spottiness of the paint (0 is even)",
                measure(paint.spottiness, 2, "paint.spottiness"),
            ),
        ]);
    }
    let size = match piece.size_mm {
        Some(size) => format!(
            "{} × {} mm, ± {} mm; ± {} mm if it lies flat in the card's plane",
            fixed(size.width, 0),
            fixed(size.height, 0),
            fixed(size.u95.ceil(), 0),
            fixed(size.u95_flat.ceil(), 0)
        ),
        None => why("piece.size_mm"),
    };
    let margin = [piece.margin_mm, piece.margin_px];
    said.extend([
        NameValue::new("Bare margin between red and white", width(margin, "piece.margin_px")),
        NameValue::new(
            "Unevenness of white, in L* (0 is even)",
            measure(piece.white_unevenness, 1, "piece.white_unevenness"),
        ),
        NameValue::new("Size in the plane of the card", size),
    ]);
    let lengths = ["paint.line_width_mm", "paint.edge_mm", "piece.margin_mm"];
    let mut reasons: Vec<&String> = Vec::new();
    for reason in lengths.into_iter().filter_map(|field| reading.null_because.get(field)) {
        if !reasons.contains(&reason) {
            reasons.push(reason);
        }
    }
    let size = reading.null_because.get("piece.size_mm");
    for reason in reasons.into_iter().filter(|reason| Some(*reason) != size) {
        said.push(NameValue::new("Lengths in mm", sentence(&format!("not measured: {reason}"))));
    }
    said
}

fn range(found: Percentiles, unit: &str) -> String {
    format!("{} {unit} ({} to {})", fixed(found.p50, 1), fixed(found.p05, 1), fixed(found.p95, 1))
}
