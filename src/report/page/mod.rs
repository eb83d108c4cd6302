//! One self-contained HTML page of a load: no request to anywhere, no clock.
//!
//! Comes in: [`PageInput`], records with their pictures and what the ledger knows of the firing. Goes out: the page as
//! HTML, its table as CSV, and what it says as JSON. The templates see ready strings only ([`LoadPage::context_json`]
//! shows them): what is said is decided in Rust and how it looks in `templates/`. The script adds switching of layers and
//! sorting; without it the page is whole. The records lie in the page for programs, and the page bears a hash of itself.

mod causes;
mod compared;
mod context;
mod data;
mod fires;
mod groups;
mod head;
mod measures;
mod name_value;
mod origin;
mod picture;
mod pictures;
mod seal;
mod table;
mod view;

pub use data::without_folders;
pub use pictures::PagePictures;

use super::ReportError;
use crate::ledger::temperatures::{Summary, TemperatureLog};
use crate::ledger::trend::Trend;
use crate::reading::Record;
use crate::verdict::Targets;
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use context::{PageContext, build};
use minijinja::value::Serde;
use minijinja::{Environment, UndefinedBehavior, Value, context as values};
use sha2::{Digest, Sha256};

/// The templates; their names end in .html, which switches escaping on.
const TEMPLATES: [(&str, &str); 4] = [
    ("page.html", include_str!("../templates/page.html")),
    ("marks.html", include_str!("../templates/marks.html")),
    ("piece.html", include_str!("../templates/piece.html")),
    ("help.html", include_str!("../templates/help.html")),
];
/// The page's style sheet; its colours stand in its first lines as variables.
pub const STYLE: &str = include_str!("../templates/style.css");
/// The page's script.
pub const SCRIPT: &str = include_str!("../templates/page.js");

/// One record with its pictures, where there are any.
#[derive(Debug, Clone, Copy)]
pub struct PageEntry<'a> {
    /// A measured piece, or a photograph that could not be measured.
    pub record: &'a Record,
    /// Pictures of its photograph; records of one photograph share them.
    pub pictures: Option<&'a PagePictures>,
    /// The target ranges that it was judged by, where they are known.
    pub targets: Option<&'a Targets>,
    /// Whether the pictures are those of this record: measured again later a photograph may come out otherwise.
    pub map_fits: bool,
}

/// What the ledger knows of a firing.
#[derive(Debug, Clone, Default)]
pub struct FiringFacts {
    /// Its name.
    pub name: String,
    /// Names and values of what was noted, such as `fuel`.
    pub facts: Vec<(String, String)>,
    /// Temperature logs: file name, log and its figures.
    pub logs: Vec<(String, TemperatureLog, Summary)>,
}

/// What a page is made from.
#[derive(Debug, Clone, Copy)]
pub struct PageInput<'a> {
    /// What the page is called.
    pub title: &'a str,
    /// Records in their order.
    pub entries: &'a [PageEntry<'a>],
    /// Firings of the ledger.
    pub firings: &'a [FiringFacts],
    /// The white slip across the firings of the ledger.
    pub trend: Option<&'a Trend>,
    /// When the page is made, such as `2026-05-03 18:20 UTC`.
    pub made: &'a str,
}

/// The page of a load, ready to be written.
#[derive(Debug)]
pub struct LoadPage {
    context: PageContext,
    /// The records for programs.
    records: String,
}

impl LoadPage {
    /// Puts the page together. Pieces stand worst grade first, those of one grade with the most severe fault first, else
    /// in the order given.
    ///
    /// # Errors
    /// [`ReportError::Page`] only by a fault of this program.
    pub fn new(input: &PageInput) -> Result<Self, ReportError> {
        Ok(Self { context: build(input), records: data::records_json(input.entries)? })
    }

    /// The page as HTML.
    ///
    /// # Errors
    /// [`ReportError::Page`] only by a fault of this program.
    pub fn html(&self) -> Result<String, ReportError> {
        let failed = |error: minijinja::Error| ReportError::Page(format!("{error:#}"));
        let mut templates = Environment::new();
        templates.set_undefined_behavior(UndefinedBehavior::Strict);
        for (name, text) in TEMPLATES {
            templates.add_template(name, text).map_err(failed)?;
        }
        let hash = |text: &str| STANDARD.encode(Sha256::digest(text.as_bytes()));
        let given = values! {
            style => STYLE, style_hash => hash(STYLE), script => SCRIPT, script_hash => hash(SCRIPT),
            report_id => seal::WHOLE, report_id_short => seal::SHORT, records => &self.records,
            page => Value::from(Serde(&self.context)),
        };
        let page = templates.get_template("page.html").and_then(|page| page.render(given)).map_err(failed)?;
        Ok(seal::sealed(&page))
    }

    /// Everything the page says, as JSON: for tests and for those who want another page.
    pub fn context_json(&self) -> String {
        serde_json::to_string_pretty(&self.context).unwrap_or_default()
    }

    /// The load in numbers, a row a piece, as CSV.
    ///
    /// # Errors
    /// [`ReportError::Table`] only by a fault of this program.
    pub fn pieces_csv(&self) -> Result<Vec<u8>, ReportError> {
        table::pieces_csv(self.context.rows())
    }
}

/// A page that was made before.
#[derive(Debug)]
pub struct ReadPage {
    /// Its number, 64 hexadecimal digits.
    pub id: String,
    /// Whether it is letter for letter the page that was given this number.
    pub as_made: bool,
    /// The records it was made from, without folders. `None`: they cannot be read.
    pub records: Option<Vec<Record>>,
}

impl ReadPage {
    /// Reads a page of [`LoadPage::html`]. `None`: it is none.
    pub fn new(html: &str) -> Option<Self> {
        let id = seal::id_of(html)?.to_owned();
        Some(Self { id, as_made: seal::is_as_made(html), records: data::records_of(html) })
    }

    /// The first twelve digits of the number as they stand on each printed page.
    pub fn short_id(&self) -> String {
        seal::short(&self.id)
    }
}
