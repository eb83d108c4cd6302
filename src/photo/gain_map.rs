//! Whether a JPEG carries a gain map: a second, small picture that says how much brighter a bright screen
//! may show each place. It is never decoded: only the base picture is measured.
//!
//! Three signs are known, all in the application segments of a picture's header: the identifier of
//! ISO 21496-1 in APP2, and the two XMP namespaces for gain maps in APP1. Where the base picture's own
//! header is silent, the headers of the other pictures in the file are looked at; the Multi-Picture Format
//! (CIPA DC-007) says where they lie.

/// Start of an APP2 segment of ISO 21496-1.
const ISO_21496: &[u8] = b"urn:iso:std:iso:ts:21496";
/// Ends of the XMP namespaces.
const NAMESPACES: [&[u8]; 2] = [b"hdr-gain-map/1.0/", b"HDRGainMap/1.0/"];
/// Pictures of a file that are looked at, at most.
const MOST_PICTURES: usize = 16;
/// Segments of a header that are looked at, at most.
const MOST_SEGMENTS: usize = 64;
/// Tag of the list of pictures in a Multi-Picture index (CIPA DC-007, 5.2.3).
const ENTRIES: u16 = 0xB002;

/// Whether one application segment names a gain map. `segment` begins after its length.
pub(super) fn is_named(marker: u8, segment: &[u8]) -> bool {
    match marker {
        // XMP begins with the address of its namespace.
        0xE1 if segment.starts_with(b"http") => {
            NAMESPACES.iter().any(|name| segment.windows(name.len()).any(|window| window == *name))
        }
        0xE2 => segment.starts_with(ISO_21496),
        _ => false,
    }
}

/// Whether another picture of the file names a gain map. `index_at`: where the index of pictures begins, the
/// place that offsets in it count from. What cannot be read names nothing.
pub(super) fn is_in_other_pictures(bytes: &[u8], index_at: usize) -> bool {
    others(bytes, index_at)
        .unwrap_or_default()
        .into_iter()
        .any(|at| bytes.get(at..).is_some_and(header_names_it))
}

/// Where the other pictures begin.
fn others(bytes: &[u8], index_at: usize) -> Option<Vec<usize>> {
    let index = bytes.get(index_at..)?;
    let little = match index.get(..4)? {
        b"II*\0" => true,
        b"MM\0*" => false,
        _ => return None,
    };
    let u16_at = |at: usize| {
        let two: [u8; 2] = index.get(at..at.checked_add(2)?)?.try_into().ok()?;
        Some(if little { u16::from_le_bytes(two) } else { u16::from_be_bytes(two) })
    };
    let u32_at = |at: usize| {
        let four: [u8; 4] = index.get(at..at.checked_add(4)?)?.try_into().ok()?;
        Some(if little { u32::from_le_bytes(four) } else { u32::from_be_bytes(four) } as usize)
    };
    let directory = u32_at(4)?;
    let count = usize::from(u16_at(directory)?);
    let entry = (0..count.min(MOST_SEGMENTS))
        .map(|i| directory + 2 + 12 * i)
        .find(|&at| u16_at(at) == Some(ENTRIES))?;
    let (length, list) = (u32_at(entry + 4)?, u32_at(entry + 8)?);
    // Sixteen bytes a picture; its offset, from the index, is 0 for the first.
    let offsets = (0..(length / 16).min(MOST_PICTURES)).filter_map(|i| u32_at(list.checked_add(16 * i + 8)?));
    Some(offsets.filter(|&offset| offset > 0).map(|offset| index_at + offset).collect())
}

/// Walks the segments of one picture's header up to its first frame.
fn header_names_it(picture: &[u8]) -> bool {
    if !picture.starts_with(&[0xFF, 0xD8]) {
        return false;
    }
    let mut at = 2;
    for _ in 0..MOST_SEGMENTS {
        let Some(&[0xFF, marker, high, low]) = picture.get(at..at + 4) else { return false };
        let length = usize::from(u16::from_be_bytes([high, low]));
        if !matches!(marker, 0xE0..=0xEF | 0xFE | 0xDB) || length < 2 {
            return false;
        }
        let Some(segment) = picture.get(at + 4..at + 2 + length) else { return false };
        if is_named(marker, segment) {
            return true;
        }
        at += 2 + length;
    }
    false
}
