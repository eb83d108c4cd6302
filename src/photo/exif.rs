//! What EXIF says of the exposure (CIPA DC-008 / JEITA CP-3451).

use ::exif::{Context, DateTime, Exif, Field, In, Reader, Tag, Value};

use super::image::Exposure;

/// The fields that are used. Everything else in EXIF is left unread.
#[derive(Debug, Default)]
pub(super) struct ExifFacts {
    /// 1 to 8; 1 where the file does not say.
    pub orientation: u8,
    pub taken: Option<String>,
    pub exposure: Option<Exposure>,
    pub focal_35mm: Option<f64>,
    /// Maker and model.
    pub camera: Option<String>,
    /// Tag 41987: 0 is automatic, 1 by hand.
    pub auto_white_balance: Option<bool>,
    /// Tag 40961 where present.
    pub colour_space: Option<u32>,
    /// Whether the interoperability index is "R03": the optional colour space of DCF 2.0 (opRGB).
    pub is_op_rgb: bool,
    /// Part or all of the block could not be read.
    pub is_broken: bool,
    /// TIFF structure: an ICC profile is present (tag 34675).
    pub has_icc: bool,
    /// TIFF structure: columns and rows.
    pub size: Option<(u32, u32)>,
    /// TIFF structure: a raw file's first picture, not a photograph.
    pub is_raw: bool,
    /// TIFF structure: a second full picture follows.
    pub has_more_pages: bool,
}

/// Reads an EXIF block, or a whole TIFF file, which has the same structure.
pub(super) fn read(block: &[u8]) -> ExifFacts {
    let mut is_broken = false;
    let read = Reader::new().continue_on_error(true).read_raw(block.to_vec()).or_else(|error| {
        is_broken = true;
        error.distill_partial_result(|_| ())
    });
    match read {
        Ok(exif) => ExifFacts { is_broken, ..facts(&exif) },
        Err(_) => ExifFacts { orientation: 1, is_broken: true, ..ExifFacts::default() },
    }
}

fn facts(exif: &Exif) -> ExifFacts {
    let field = |tag| exif.get_field(tag, In::PRIMARY);
    let uint = |tag| field(tag).and_then(|f| f.value.get_uint(0));
    let tiff = |number| Tag(Context::Tiff, number);
    let orientation = uint(Tag::Orientation).and_then(|v| u8::try_from(v).ok());
    let exposure = Exposure {
        seconds: field(Tag::ExposureTime).and_then(positive),
        f_number: field(Tag::FNumber).and_then(positive),
        // 65535 means: see elsewhere.
        iso: uint(Tag::PhotographicSensitivity).filter(|&v| v != 65535).map(f64::from).filter(|&v| v > 0.0),
    };
    let subfile =
        |number, image| exif.get_field(tiff(254), image).and_then(|f| f.value.get_uint(number)).unwrap_or(0);
    ExifFacts {
        orientation: orientation.filter(|v| (1..=8).contains(v)).unwrap_or(1),
        taken: taken(exif, Tag::DateTimeOriginal, Tag::OffsetTimeOriginal)
            .or_else(|| taken(exif, Tag::DateTimeDigitized, Tag::OffsetTimeDigitized)),
        exposure: (exposure != Exposure::default()).then_some(exposure),
        focal_35mm: uint(Tag::FocalLengthIn35mmFilm).filter(|&v| v > 0).map(f64::from),
        camera: camera(field(Tag::Make), field(Tag::Model)),
        auto_white_balance: uint(Tag::WhiteBalance).filter(|&v| v < 2).map(|v| v == 0),
        colour_space: uint(Tag::ColorSpace),
        is_op_rgb: exif
            .get_field(Tag::InteroperabilityIndex, In::PRIMARY)
            .is_some_and(|f| ascii(f).is_some_and(|text| text.starts_with(b"R03"))),
        is_broken: false,
        has_icc: field(tiff(34675)).is_some(),
        size: uint(tiff(256)).zip(uint(tiff(257))),
        // DNGVersion, a sensor mosaic (32803, 34892), or a first picture that is only a preview.
        is_raw: field(tiff(50706)).is_some()
            || matches!(uint(tiff(262)), Some(32803 | 34892))
            || subfile(0, In::PRIMARY) & 1 == 1,
        has_more_pages: exif.get_field(tiff(256), In(1)).is_some() && subfile(0, In(1)) & 1 == 0,
    }
}

fn ascii(field: &Field) -> Option<&[u8]> {
    match &field.value {
        Value::Ascii(parts) => parts.first().map(Vec::as_slice),
        _ => None,
    }
}

/// Maker and model with one blank between; `None` where neither says anything.
fn camera(maker: Option<&Field>, model: Option<&Field>) -> Option<String> {
    let words = |field: Option<&Field>| {
        let text = String::from_utf8_lossy(field.and_then(ascii).unwrap_or_default()).into_owned();
        let text: String = text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
        text.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let (maker, model) = (words(maker), words(model));
    let name = format!("{maker} {model}");
    (!name.trim().is_empty()).then(|| name.trim().to_owned())
}

/// A rational above zero.
fn positive(field: &Field) -> Option<f64> {
    match &field.value {
        Value::Rational(values) => values.first().map(|v| v.to_f64()).filter(|v| v.is_finite() && *v > 0.0),
        _ => None,
    }
}

/// A time as written, ISO 8601, with its offset only where the file holds one.
fn taken(exif: &Exif, time: Tag, offset: Tag) -> Option<String> {
    let t = DateTime::from_ascii(ascii(exif.get_field(time, In::PRIMARY)?)?).ok()?;
    let valid = (1..=12).contains(&t.month)
        && (1..=31).contains(&t.day)
        && t.hour < 24
        && t.minute < 60
        && t.second <= 60
        && t.year > 0;
    let offset =
        exif.get_field(offset, In::PRIMARY).and_then(ascii).and_then(offset_text).unwrap_or_default();
    valid.then(|| {
        format!(
            "{:04}-{:02}-{:02}T{:02}:{:02}:{:02}{offset}",
            t.year, t.month, t.day, t.hour, t.minute, t.second
        )
    })
}

/// "+hh:mm" or "-hh:mm" where the six bytes are that, else nothing.
fn offset_text(bytes: &[u8]) -> Option<String> {
    let text = std::str::from_utf8(bytes.get(..6)?).ok()?;
    let digits = |range: std::ops::Range<usize>| bytes[range].iter().all(u8::is_ascii_digit);
    let is_offset = matches!(bytes[0], b'+' | b'-') && bytes[3] == b':' && digits(1..3) && digits(4..6);
    is_offset.then(|| text.to_owned())
}
