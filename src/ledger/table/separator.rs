//! What stands between two cells, told by content.

use serde::Serialize;
use std::collections::BTreeMap;

/// What stands between two cells.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Separator {
    /// `,`, also where the table has one column only.
    Comma,
    /// `;`
    Semicolon,
    /// A tab.
    Tab,
}

/// Lines looked at; more say nothing new.
const SAMPLE: usize = 300;

impl Separator {
    /// The character.
    pub fn sign(self) -> char {
        match self {
            Self::Comma => ',',
            Self::Semicolon => ';',
            Self::Tab => '\t',
        }
    }

    /// The separator whose columns are the most even: the largest share of lines with the same number of cells,
    /// two at least. Commas that all stand between two digits may be decimal signs: with as even a rival they
    /// are taken for that.
    pub(super) fn of(text: &str) -> Self {
        let [comma, semicolon, tab] = [Self::Comma, Self::Semicolon, Self::Tab].map(|s| evenness(text, s));
        let rival = if tab >= semicolon { (Self::Tab, tab) } else { (Self::Semicolon, semicolon) };
        match rival.1.cmp(&comma) {
            std::cmp::Ordering::Greater => rival.0,
            std::cmp::Ordering::Equal if rival.1 > 0 && commas_are_decimal(text) => rival.0,
            _ => Self::Comma,
        }
    }
}

/// Lines that have the commonest number of cells, where that is two or more; quoted cells hold separators.
fn evenness(text: &str, separator: Separator) -> usize {
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(separator.sign() as u8)
        .from_reader(text.as_bytes());
    let mut lines_with: BTreeMap<usize, usize> = BTreeMap::new();
    let mut row = csv::ByteRecord::new();
    for _ in 0..SAMPLE {
        match reader.read_byte_record(&mut row) {
            Ok(true) => *lines_with.entry(row.len()).or_default() += 1,
            _ => break,
        }
    }
    lines_with.into_iter().filter(|(cells, _)| *cells > 1).map(|(_, lines)| lines).max().unwrap_or(0)
}

/// Whether every comma of the sampled lines stands between two digits.
fn commas_are_decimal(text: &str) -> bool {
    text.lines().take(SAMPLE).all(|line| {
        let bytes = line.as_bytes();
        let digit = |at: Option<usize>| at.and_then(|i| bytes.get(i)).is_some_and(u8::is_ascii_digit);
        (0..bytes.len()).filter(|i| bytes[*i] == b',').all(|i| digit(i.checked_sub(1)) && digit(Some(i + 1)))
    })
}
