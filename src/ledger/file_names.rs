//! Piece and firing told by the name of the file, such as `{firing}-{piece}-*`.

use super::LedgerError;
use crate::reading::SheetRow;
use std::path::Path;

/// What a name can tell.
const TELLS: [&str; 7] = ["firing", "piece", "clay", "slip", "red", "paint", "place"];

/// A pattern for names of files without their ending: words in braces stand for what they name, `*` for anything or nothing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FileNames {
    parts: Vec<Part>,
    text: String,
}

#[derive(Debug, Clone, PartialEq, Eq)]
enum Part {
    /// These very letters.
    Letters(String),
    /// One letter or more: the value of this name.
    Told(usize),
    /// Anything or nothing.
    Any,
}

impl FileNames {
    /// Reads a pattern.
    ///
    /// # Errors
    /// [`LedgerError::Value`] for a word in braces that is none of firing, piece, clay, slip, red, paint, place or stands
    /// twice, for a brace left open, and for two words with nothing between them.
    pub fn new(text: &str) -> Result<Self, LedgerError> {
        let bad = |wanted: &str| LedgerError::Value {
            field: "file-names".into(),
            value: text.into(),
            wanted: wanted.into(),
        };
        let (mut parts, mut rest) = (Vec::new(), text);
        while let Some(letter) = rest.chars().next() {
            if let Some(after) = rest.strip_prefix('*') {
                if parts.last() != Some(&Part::Any) {
                    parts.push(Part::Any);
                }
                rest = after;
            } else if let Some(after) = rest.strip_prefix('{') {
                let (word, after) = after.split_once('}').ok_or_else(|| bad("a brace is not closed"))?;
                let told = TELLS
                    .iter()
                    .position(|known| *known == word)
                    .ok_or_else(|| bad("in braces stand firing, piece, clay, slip, red, paint or place"))?;
                if parts.contains(&Part::Told(told)) {
                    return Err(bad("a word stands in it twice"));
                }
                if matches!(parts.last(), Some(Part::Told(_))) {
                    return Err(bad(
                        "between two words there must be something that parts them, such as - or _",
                    ));
                }
                parts.push(Part::Told(told));
                rest = after;
            } else {
                match parts.last_mut() {
                    Some(Part::Letters(letters)) => letters.push(letter),
                    _ => parts.push(Part::Letters(letter.into())),
                }
                rest = &rest[letter.len_utf8()..];
            }
        }
        if parts.iter().filter(|part| **part == Part::Any).count() > 2 {
            return Err(bad("two * are enough"));
        }
        if !parts.iter().any(|part| matches!(part, Part::Told(_))) {
            return Err(bad("it names nothing; write for instance {firing}-{piece}-*"));
        }
        Ok(Self { parts, text: text.into() })
    }

    /// What a photograph's name tells; `None` where it does not fit the pattern. Of several ways to fit, the one that gives
    /// the earlier words fewer letters is taken.
    pub fn row(&self, path: &Path) -> Option<SheetRow> {
        let stem = path.file_stem()?.to_string_lossy().into_owned();
        let mut told = [None; TELLS.len()];
        if !fits(&self.parts, &stem, &mut told) {
            return None;
        }
        let value = |word: &str| {
            let at = TELLS.iter().position(|known| *known == word)?;
            told[at].map(|text: &str| text.trim().to_owned()).filter(|text| !text.is_empty())
        };
        Some(SheetRow {
            firing: value("firing"),
            piece: value("piece"),
            clay: value("clay"),
            slip: value("slip"),
            red: value("red"),
            paint: value("paint"),
            place: value("place"),
            ..SheetRow::default()
        })
    }
}

impl std::str::FromStr for FileNames {
    type Err = LedgerError;

    fn from_str(text: &str) -> Result<Self, LedgerError> {
        Self::new(text)
    }
}

impl std::fmt::Display for FileNames {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.text)
    }
}

fn fits<'a>(parts: &[Part], text: &'a str, told: &mut [Option<&'a str>; TELLS.len()]) -> bool {
    let Some((first, rest)) = parts.split_first() else { return text.is_empty() };
    match first {
        Part::Letters(letters) => text.strip_prefix(letters.as_str()).is_some_and(|t| fits(rest, t, told)),
        Part::Any | Part::Told(_) => {
            let least = usize::from(matches!(first, Part::Told(_)));
            let ends = text.char_indices().map(|(at, _)| at).chain([text.len()]).skip(least);
            for end in ends {
                if fits(rest, &text[end..], told) {
                    if let Part::Told(at) = first {
                        told[*at] = Some(&text[..end]);
                    }
                    return true;
                }
            }
            false
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told(pattern: &str, name: &str) -> Option<(Option<String>, Option<String>)> {
        FileNames::new(pattern).unwrap().row(Path::new(name)).map(|row| (row.firing, row.piece))
    }

    fn both(firing: &str, piece: &str) -> Option<(Option<String>, Option<String>)> {
        Some((Some(firing.into()), Some(piece.into())))
    }

    #[test]
    fn names_tell_firing_and_piece() {
        assert_eq!(told("{firing}-{piece}-*", "shots/frost-07-front.jpg"), both("frost", "07"));
        assert_eq!(told("{firing}_{piece}", "wet reed_jar 3.JPG"), both("wet reed", "jar 3"));
        assert_eq!(told("*_{piece}", "IMG_0042_Töpfchen.png"), Some((None, Some("0042_Töpfchen".into()))));
        assert_eq!(told("{firing}-{piece}-*", "frost.jpg"), None);
        assert_eq!(told("{firing}-{piece}", "-7.jpg"), None);
    }

    #[test]
    fn patterns_that_cannot_be_meant_are_refused() {
        for pattern in ["", "*", "*{piece}*-*", "{piece", "{pot}", "{piece}{firing}", "{piece}-{piece}"] {
            assert!(FileNames::new(pattern).is_err(), "{pattern}");
        }
    }
}
