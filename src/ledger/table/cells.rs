//! Numbers as people write them.

use super::{Row, Separator, shown};
use serde::Serialize;
use std::collections::BTreeMap;

/// How far a table shows its decimal sign.
///
/// `650,5` and `650.5` are plain. `1,234` and `1.234` may be a number with three decimals or one with a thousands
/// sign; they are read only where the rest of the table says which.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct DecimalSigns {
    /// A comma before three digits is a decimal sign.
    pub comma: bool,
    /// A point before three digits is a decimal sign.
    pub point: bool,
}

impl Default for DecimalSigns {
    /// Without a table to look at: points are decimal signs, commas before three digits are refused.
    fn default() -> Self {
        Self { comma: false, point: true }
    }
}

impl DecimalSigns {
    /// Told by the cells. A sign is a decimal sign where some number has it in a place where no thousands sign
    /// can stand. Else it is one unless the other sign is, or a column holds it beside whole numbers under 1000
    /// (`650` and `1.012`, as thousands signs make them). Quoted commas in a table separated by commas need the
    /// first.
    pub(super) fn of(rows: &[Row], separator: Separator) -> Self {
        let (mut plain_comma, mut plain_point) = (false, false);
        let mut mixed: BTreeMap<usize, [bool; 3]> = BTreeMap::new();
        for row in rows {
            for (column, cell) in row.cells.iter().enumerate() {
                let Some((whole, sign, _)) = parts(cell) else { continue };
                let open = mixed.entry(column).or_default();
                match (sign, is_open(cell)) {
                    (Some(','), false) => plain_comma = true,
                    (Some(_), false) => plain_point = true,
                    (Some(','), true) => open[0] = true,
                    (Some(_), true) => open[1] = true,
                    (None, _) => open[2] |= whole.len() <= 3,
                }
            }
        }
        let mixed = |sign: usize| mixed.values().any(|open| open[sign] && open[2]);
        Self {
            comma: plain_comma || (separator != Separator::Comma && !plain_point && !mixed(0)),
            point: plain_point || (!plain_comma && !mixed(1)),
        }
    }
}

/// The number of a cell; none where the cell is empty, which means unknown, never 0.
///
/// A comma or a point is the decimal sign, with a sign before and a power of ten after as in `-6.5e2`. Thousands
/// signs are refused, not guessed.
///
/// # Errors
/// A sentence such as `'abc' is no number`.
pub fn number(cell: &str, decimals: DecimalSigns) -> Result<Option<f64>, String> {
    let cell = cell.trim();
    if cell.is_empty() {
        return Ok(None);
    }
    let said = shown(cell);
    let Some((_, sign, _)) = parts(cell) else {
        let digits = |c: char| c.is_ascii_digit();
        let grouped = cell.trim_start_matches(['+', '-', '\u{2212}']);
        let only_signs =
            grouped.chars().all(|c| digits(c) || c.is_whitespace() || matches!(c, '.' | ',' | '\'' | '’'));
        return Err(if only_signs && grouped.starts_with(digits) && grouped.ends_with(digits) {
            format!("'{said}' is no number that can be read for sure; write it without a thousands sign")
        } else {
            format!("'{said}' is no number")
        });
    };
    let refused = match sign {
        Some(',') => !decimals.comma,
        Some(_) => !decimals.point,
        None => false,
    };
    if refused && is_open(cell) {
        return Err(format!(
            "'{said}' may have a thousands sign or three decimals; write it without a thousands sign"
        ));
    }
    let text = cell.replace(',', ".").replace('\u{2212}', "-");
    match text.parse::<f64>() {
        Ok(value) if value.is_finite() => Ok(Some(value)),
        _ => Err(format!("'{said}' is no number")),
    }
}

/// The digits before the decimal sign, the sign and the digits after it, of a text that is a number.
fn parts(cell: &str) -> Option<(&str, Option<char>, &str)> {
    let body = cell.strip_prefix(['+', '-', '\u{2212}']).unwrap_or(cell);
    let (body, power) = match body.split_once(['e', 'E']) {
        Some((body, power)) => (body, Some(power.strip_prefix(['+', '-']).unwrap_or(power))),
        None => (body, None),
    };
    let all_digits = |text: &str| text.bytes().all(|b| b.is_ascii_digit());
    if power.is_some_and(|p| p.is_empty() || p.len() > 3 || !all_digits(p)) {
        return None;
    }
    let (whole, sign, rest) = match body.find([',', '.']) {
        Some(at) => (&body[..at], body[at..].chars().next(), &body[at + 1..]),
        None => (body, None, ""),
    };
    (all_digits(whole) && all_digits(rest) && !(whole.is_empty() && rest.is_empty()))
        .then_some((whole, sign, rest))
}

/// Whether the sign of a number may as well part its thousands: one to three digits before, three after.
fn is_open(cell: &str) -> bool {
    !cell.contains(['e', 'E'])
        && parts(cell).is_some_and(|(whole, sign, rest)| {
            sign.is_some() && rest.len() == 3 && (1..=3).contains(&whole.len()) && !whole.starts_with('0')
        })
}
