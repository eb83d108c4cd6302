//! Bytes as text: encodings and line ends.

use super::TableError;

/// The letters of bytes 0x80 to 0x9F in Windows-1252. Source: index of windows-1252 in the WHATWG Encoding
/// Standard (from memory), which maps the five bytes without a letter to the control characters of their number.
const WINDOWS_1252: [char; 32] = [
    '€', '\u{81}', '‚', 'ƒ', '„', '…', '†', '‡', 'ˆ', '‰', 'Š', '‹', 'Œ', '\u{8D}', 'Ž', '\u{8F}', '\u{90}',
    '‘', '’', '“', '”', '•', '–', '—', '˜', '™', 'š', '›', 'œ', '\u{9D}', 'ž', 'Ÿ',
];

/// The text with `\n` at every line end, and what was remarkable about it.
pub(super) fn decode(bytes: &[u8]) -> Result<(String, Vec<String>), TableError> {
    let mut remarks = Vec::new();
    let text = match bytes {
        [0xEF, 0xBB, 0xBF, rest @ ..] => utf8_or_windows(rest, &mut remarks),
        [0xFF, 0xFE, rest @ ..] => utf16(rest, u16::from_le_bytes, &mut remarks),
        [0xFE, 0xFF, rest @ ..] => utf16(rest, u16::from_be_bytes, &mut remarks),
        [b'P', b'K', 3, 4, ..] | [0xD0, 0xCF, 0x11, 0xE0, ..] => {
            return Err(not_text("it is a spreadsheet's own file or an archive; save the sheet as CSV"));
        }
        _ => utf8_or_windows(bytes, &mut remarks),
    };
    // An end-of-file mark as old systems write it.
    let text = text.trim_end_matches('\u{1A}').replace("\r\n", "\n").replace('\r', "\n");
    if text.contains('\0') {
        return Err(not_text("it holds zero bytes; save it again as CSV in UTF-8"));
    }
    let (mut letters, mut controls) = (0usize, 0usize);
    for letter in text.chars() {
        letters += 1;
        controls += usize::from(letter.is_control() && !matches!(letter, '\n' | '\t' | '\u{C}'));
    }
    if controls * 50 > letters {
        return Err(not_text("over 2 in 100 of its characters are control characters; save it again as CSV"));
    }
    if text.trim().is_empty() {
        return Err(TableError::Empty);
    }
    Ok((text, remarks))
}

fn not_text(what: &str) -> TableError {
    TableError::NotText { what: what.to_owned() }
}

fn utf8_or_windows(bytes: &[u8], remarks: &mut Vec<String>) -> String {
    if let Ok(text) = std::str::from_utf8(bytes) {
        return text.to_owned();
    }
    remarks
        .push("The file is not in UTF-8 and was read as Windows-1252; look at letters with accents.".into());
    let letter = |byte: &u8| match byte {
        0x80..=0x9F => WINDOWS_1252[usize::from(byte - 0x80)],
        other => char::from(*other),
    };
    bytes.iter().map(letter).collect()
}

fn utf16(bytes: &[u8], unit: fn([u8; 2]) -> u16, remarks: &mut Vec<String>) -> String {
    let (pairs, rest) = bytes.as_chunks::<2>();
    let decoded = char::decode_utf16(pairs.iter().map(|pair| unit(*pair)));
    let mut damaged = !rest.is_empty();
    let text = decoded
        .map(|letter| {
            letter.unwrap_or_else(|_| {
                damaged = true;
                char::REPLACEMENT_CHARACTER
            })
        })
        .collect();
    if damaged {
        remarks
            .push("The file is in UTF-16 and damaged; letters that cannot be read show as \u{FFFD}.".into());
    }
    text
}
