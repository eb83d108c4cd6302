//! The keyword text of ANSI CGATS.17 and ISO 28178, read into tables. What the columns mean is not
//! asked here.
//!
//! Plain text: one word as a signature; header words with a value each; the names of the fields between
//! `BEGIN_DATA_FORMAT` and `END_DATA_FORMAT`; the sets between `BEGIN_DATA` and `END_DATA`, in which line
//! breaks carry no meaning. `#` outside quotes starts a comment. Several tables may follow one another.

use super::fault::DefinitionFault;

/// A file as tables.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CgatsFile {
    /// The word on the first line, such as `CGATS.17`.
    pub signature: String,
    /// The tables, at least one.
    pub tables: Vec<CgatsTable>,
    /// Oddities that do not hinder: a stated count that is wrong or missing.
    pub remarks: Vec<String>,
}

/// A table with the header words that stand before it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CgatsTable {
    /// Header words in the order of the file, unknown ones too.
    pub header: Vec<CgatsWord>,
    /// Names of the fields.
    pub fields: Vec<String>,
    /// The sets, each with one cell a field.
    pub sets: Vec<Vec<CgatsCell>>,
    /// Line of `BEGIN_DATA`.
    pub line: usize,
}

/// A header word and its value.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CgatsWord {
    /// The word.
    pub word: String,
    /// Its value without quotes; empty where there is none.
    pub value: String,
    /// Line of the file, counted from 1.
    pub line: usize,
}

/// One value of a set, as text without quotes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CgatsCell {
    /// The text.
    pub text: String,
    /// Line of the file, counted from 1.
    pub line: usize,
}

impl CgatsCell {
    /// The value as a number: a sign, digits with a point, an exponent, as in `+.5`, `5.`, `1.2E-3`.
    ///
    /// # Errors
    /// A sentence that says what is wrong: a decimal comma, words, or no finite number.
    pub fn number(&self) -> Result<f64, String> {
        let text = self.text.as_str();
        let plain = text.bytes().all(|b| b.is_ascii_digit() || b"+-.eE".contains(&b));
        match text.parse::<f64>() {
            Ok(value) if plain && value.is_finite() => Ok(value),
            // Words such as NaN and inf, and figures beyond all bounds.
            Ok(_) => Err(format!("'{text}' is no finite number")),
            Err(_) if text.contains(',') && text.replacen(',', ".", 1).parse::<f64>().is_ok() => {
                Err(format!("'{text}' has a decimal comma; write decimal points"))
            }
            Err(_) => Err(format!("'{}' is no number", shortened(text))),
        }
    }
}

impl CgatsTable {
    /// Place of a field, upper and lower case alike.
    pub fn field(&self, name: &str) -> Option<usize> {
        self.fields.iter().position(|f| f.eq_ignore_ascii_case(name))
    }
    /// The last header word of this name.
    pub fn word(&self, name: &str) -> Option<&CgatsWord> {
        self.header.iter().rev().find(|w| w.word.eq_ignore_ascii_case(name))
    }
}

/// Fields that may stand several times: a wavelength and its value, over and over.
const REPEATED: [&str; 3] = ["SPECTRAL_NM", "SPECTRAL_PCT", "SPECTRAL_DEC"];

impl CgatsFile {
    /// Reads a file's text.
    ///
    /// # Errors
    /// The first fault that leaves the rest of the file without a sure meaning.
    pub fn read(text: &str) -> Result<Self, DefinitionFault> {
        let mut reader = Reader::default();
        let mut signature = None;
        let mut last = 1;
        for (number, line) in lines(text.trim_start_matches('\u{feff}')).enumerate() {
            last = number + 1;
            let tokens = tokens(line).map_err(|reason| DefinitionFault::at(last, reason))?;
            match (&signature, tokens.as_slice()) {
                (_, []) => {}
                (None, [Token { text, quoted: false }]) if !text.contains([',', ';']) => {
                    signature = Some(text.clone());
                }
                (None, _) => return Err(no_signature(last, line)),
                (Some(_), tokens) => reader.line(last, tokens)?,
            }
        }
        let Some(signature) = signature else {
            return Err(DefinitionFault::whole("the file is empty"));
        };
        reader.end(last)?;
        Ok(Self { signature, tables: reader.tables, remarks: reader.remarks })
    }
}

fn no_signature(line: usize, text: &str) -> DefinitionFault {
    let wanted = "the first line must be a single word, such as CGATS.17";
    if text.contains([',', ';']) {
        return DefinitionFault::at(
            line,
            format!("{wanted}; this looks like a table with commas, which is not read"),
        );
    }
    DefinitionFault::at(line, format!("{wanted}; this is '{}'", shortened(text)))
}

/// Lines that end with CR LF, LF or CR, the last one perhaps with nothing.
fn lines(text: &str) -> impl Iterator<Item = &str> {
    let mut rest = Some(text);
    std::iter::from_fn(move || {
        let text = rest?;
        let Some(end) = text.find(['\r', '\n']) else {
            rest = None;
            return Some(text);
        };
        let step = if text[end..].starts_with("\r\n") { 2 } else { 1 };
        rest = Some(&text[end + step..]);
        Some(&text[..end])
    })
}

/// A token; one in quotes is never a word of the format.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Token {
    text: String,
    quoted: bool,
}

/// The tokens of a line without its comment.
fn tokens(line: &str) -> Result<Vec<Token>, String> {
    let mut out = Vec::new();
    let mut rest = line.trim_start();
    while !rest.is_empty() && !rest.starts_with('#') {
        if let Some(inside) = rest.strip_prefix('"') {
            let (text, after) =
                quoted(inside).ok_or("a double quote is opened and not closed on the same line")?;
            if !(after.is_empty() || after.starts_with(char::is_whitespace) || after.starts_with('#')) {
                return Err("a space must follow the double quote that ends a text".into());
            }
            out.push(Token { text, quoted: true });
            rest = after.trim_start();
        } else {
            let end = rest.find(|c: char| c.is_whitespace() || c == '#').unwrap_or(rest.len());
            out.push(Token { text: rest[..end].into(), quoted: false });
            rest = rest[end..].trim_start();
        }
    }
    Ok(out)
}

/// The text up to the closing quote and what follows it. Two quotes stand for one.
fn quoted(inside: &str) -> Option<(String, &str)> {
    let mut text = String::new();
    let mut rest = inside;
    loop {
        let end = rest.find('"')?;
        text.push_str(&rest[..end]);
        rest = &rest[end + 1..];
        match rest.strip_prefix('"') {
            Some(more) => {
                text.push('"');
                rest = more;
            }
            None => return Some((text, rest)),
        }
    }
}

/// Where in a table the reader is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
enum Part {
    #[default]
    Header,
    Format,
    Data,
}

#[derive(Default)]
struct Reader {
    part: Part,
    tables: Vec<CgatsTable>,
    remarks: Vec<String>,
    header: Vec<CgatsWord>,
    /// Fields of this table; `None` until its format comes.
    fields: Option<Vec<(String, usize)>>,
    cells: Vec<CgatsCell>,
    fields_stated: Option<(usize, usize)>,
    sets_stated: Option<(usize, usize)>,
    line: usize,
}

impl Reader {
    /// Takes in the tokens of a line.
    fn line(&mut self, number: usize, tokens: &[Token]) -> Result<(), DefinitionFault> {
        let mut rest = tokens;
        while let Some((first, after)) = rest.split_first() {
            let word = if first.quoted { "" } else { first.text.as_str() };
            match (self.part, word) {
                (Part::Header, "BEGIN_DATA_FORMAT") => {
                    self.part = Part::Format;
                    if self.fields.replace(Vec::new()).is_some() {
                        return Err(DefinitionFault::at(number, "this table has two formats"));
                    }
                }
                (Part::Format, "END_DATA_FORMAT") => self.part = Part::Header,
                (Part::Header, "BEGIN_DATA") => {
                    self.part = Part::Data;
                    self.line = number;
                }
                (Part::Data, "END_DATA") => {
                    self.table(number)?;
                    self.part = Part::Header;
                }
                (_, "BEGIN_DATA_FORMAT" | "END_DATA_FORMAT" | "BEGIN_DATA" | "END_DATA") => {
                    let wanted = match self.part {
                        Part::Header => "BEGIN_DATA_FORMAT or BEGIN_DATA",
                        Part::Format => "END_DATA_FORMAT",
                        Part::Data => "END_DATA",
                    };
                    let reason = format!("{word} stands where {wanted} is wanted");
                    return Err(DefinitionFault::at(number, reason));
                }
                (Part::Header, _) => return self.header_word(number, first, after),
                (Part::Format, _) => self.field(number, first)?,
                (Part::Data, _) => self.cells.push(CgatsCell { text: first.text.clone(), line: number }),
            }
            rest = after;
        }
        Ok(())
    }

    fn header_word(&mut self, number: usize, first: &Token, after: &[Token]) -> Result<(), DefinitionFault> {
        let starts = first.text.starts_with(|c: char| c.is_alphabetic() || c == '_');
        if first.quoted || !starts || first.text.contains([',', ';']) {
            let reason =
                format!("a header word is wanted, such as ORIGINATOR; this is '{}'", shortened(&first.text));
            return Err(DefinitionFault::at(number, reason));
        }
        let value = after.iter().map(|t| t.text.as_str()).collect::<Vec<_>>().join(" ");
        let stated = match first.text.as_str() {
            "NUMBER_OF_FIELDS" => &mut self.fields_stated,
            "NUMBER_OF_SETS" => &mut self.sets_stated,
            word => {
                self.header.push(CgatsWord { word: word.into(), value, line: number });
                return Ok(());
            }
        };
        let count = value.parse().map_err(|_| {
            let reason = format!("a whole number is wanted; this is '{}'", shortened(&value));
            DefinitionFault::at(number, reason).of(first.text.as_str())
        })?;
        *stated = Some((count, number));
        Ok(())
    }

    fn field(&mut self, number: usize, token: &Token) -> Result<(), DefinitionFault> {
        let fields = self.fields.get_or_insert_default();
        let repeated = fields.iter().find(|(name, _)| name.eq_ignore_ascii_case(&token.text));
        if let Some((_, line)) = repeated
            && !REPEATED.iter().any(|r| token.text.eq_ignore_ascii_case(r))
        {
            let reason = format!("the field is named twice, first on line {line}");
            return Err(DefinitionFault::at(number, reason).of(token.text.as_str()));
        }
        fields.push((token.text.clone(), number));
        Ok(())
    }

    /// Makes a table of what was gathered.
    fn table(&mut self, end: usize) -> Result<(), DefinitionFault> {
        // A later table without a format repeats that of the one before.
        let fields: Vec<String> = match (self.fields.take(), self.tables.last()) {
            (Some(fields), _) => fields.into_iter().map(|(name, _)| name).collect(),
            (None, Some(before)) => before.fields.clone(),
            (None, None) => {
                return Err(DefinitionFault::at(self.line, "no BEGIN_DATA_FORMAT stands before the data"));
            }
        };
        if fields.is_empty() {
            return Err(DefinitionFault::at(self.line, "the format before the data names no fields"));
        }
        let cells = std::mem::take(&mut self.cells);
        if !cells.len().is_multiple_of(fields.len()) {
            return Err(uneven(&cells, fields.len(), end));
        }
        let sets = cells.len() / fields.len();
        let table = self.tables.len() + 1;
        for (word, stated, counted) in [
            ("NUMBER_OF_FIELDS", self.fields_stated.take(), fields.len()),
            ("NUMBER_OF_SETS", self.sets_stated.take(), sets),
        ] {
            match stated {
                Some((stated, line)) if stated != counted => {
                    self.remarks.push(format!("line {line}, {word}: says {stated}, there are {counted}"));
                }
                // A later table may leave out what it repeats.
                None if table == 1 => {
                    self.remarks.push(format!("{word} is missing; there are {counted}"));
                }
                _ => {}
            }
        }
        let mut cells = cells.into_iter();
        let sets = (0..sets).map(|_| cells.by_ref().take(fields.len()).collect()).collect();
        self.tables.push(CgatsTable {
            header: std::mem::take(&mut self.header),
            fields,
            sets,
            line: self.line,
        });
        Ok(())
    }

    fn end(&self, last: usize) -> Result<(), DefinitionFault> {
        match self.part {
            Part::Format => {
                Err(DefinitionFault::at(last, "END_DATA_FORMAT is missing; is the file cut off?"))
            }
            Part::Data => Err(DefinitionFault::at(last, "END_DATA is missing; is the file cut off?")),
            Part::Header if self.tables.is_empty() => {
                Err(DefinitionFault::at(last, "the file holds no table: BEGIN_DATA is missing"))
            }
            Part::Header => Ok(()),
        }
    }
}

/// Values that do not make whole sets: the first line that holds another number than the fields, where
/// lines are sets, tells where.
fn uneven(cells: &[CgatsCell], fields: usize, end: usize) -> DefinitionFault {
    let total = format!("{} values do not make whole sets of {fields} fields", cells.len());
    let mut at = 0;
    while at < cells.len() {
        let line = cells[at].line;
        let count = cells[at..].iter().take_while(|c| c.line == line).count();
        if !count.is_multiple_of(fields) {
            return DefinitionFault::at(
                line,
                format!("{count} values stand here, {fields} fields are named; {total}"),
            );
        }
        at += count;
    }
    DefinitionFault::at(end, total)
}

/// A piece of the file for a message.
pub(super) fn shortened(text: &str) -> String {
    let plain: String = text.trim().chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    if plain.chars().count() <= 40 {
        plain
    } else {
        format!("{}...", plain.chars().take(40).collect::<String>())
    }
}
