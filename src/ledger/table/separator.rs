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

    /// The separator whose columns are the most even: the most lines with the same number of cells, two at least.
    /// Commas that all stand between two digits may be decimal signs: with as even a rival they are taken for that.
    pub(super) fn of(text: &str) -> Self {
        let lines = lines(text);
        let [comma, semicolon, tab] = [0, 1, 2].map(|sign| evenness(&lines, sign));
        let rival = if tab >= semicolon { (Self::Tab, tab) } else { (Self::Semicolon, semicolon) };
        let decimal = lines.iter().all(|line| line.commas_in_numbers);
        match rival.1.cmp(&comma) {
            std::cmp::Ordering::Greater => rival.0,
            std::cmp::Ordering::Equal if rival.1 > 0 && decimal => rival.0,
            _ => Self::Comma,
        }
    }
}

/// What stands in one line outside quoted cells.
struct Line {
    /// Commas, semicolons and tabs.
    signs: [usize; 3],
    /// Whether every comma stands between two digits.
    commas_in_numbers: bool,
}

/// The first lines; a line end inside a quoted cell ends none. A quotation mark quotes where a cell may begin.
fn lines(text: &str) -> Vec<Line> {
    let bytes = text.as_bytes();
    let empty = || Line { signs: [0; 3], commas_in_numbers: true };
    let (mut lines, mut line, mut quoted) = (Vec::new(), empty(), false);
    let mut before = b'\n';
    let digit = |byte: Option<&u8>| byte.is_some_and(u8::is_ascii_digit);
    for (at, byte) in bytes.iter().enumerate() {
        match byte {
            // Of two marks in a quoted cell, which stand for one, the first ends it and the second begins it again.
            b'"' if quoted => quoted = false,
            b'"' if matches!(before, b'\n' | b',' | b';' | b'\t' | b'"') => quoted = true,
            _ if quoted => {}
            // A mark inside a bare cell, as in 6" bowl, is a letter.
            b'"' => {
                before = b'x';
                continue;
            }
            b'\n' => lines.push(std::mem::replace(&mut line, empty())),
            b';' => line.signs[1] += 1,
            b'\t' => line.signs[2] += 1,
            b',' => {
                line.signs[0] += 1;
                line.commas_in_numbers &= digit(Some(&before)) && digit(bytes.get(at + 1));
            }
            _ => {}
        }
        before = *byte;
        if lines.len() == SAMPLE {
            return lines;
        }
    }
    lines.push(line);
    lines
}

/// Lines that have the commonest number of a sign, where there is any.
fn evenness(lines: &[Line], sign: usize) -> usize {
    let mut lines_with: BTreeMap<usize, usize> = BTreeMap::new();
    for line in lines.iter().filter(|line| line.signs[sign] > 0) {
        *lines_with.entry(line.signs[sign]).or_default() += 1;
    }
    lines_with.into_values().max().unwrap_or(0)
}
