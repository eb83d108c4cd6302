//! One self-contained HTML page of a trial: no script, no request to anywhere, no clock.
//!
//! Comes in: [`TrialPage`], the findings of a trial and its tiles as they lie. Goes out: the page as HTML, the same bytes for the
//! same input, from a table as from the ledger. What is said is decided here; how it looks stands in `templates/`.

mod conclusion;
mod context;
mod factors;
mod names;
mod parts;
mod tiles;

use crate::report::ReportError;
use crate::report::page::STYLE;
use crate::trial::{Findings, TrialTile};
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use minijinja::value::Serde;
use minijinja::{Environment, UndefinedBehavior, Value, context as values};
use sha2::{Digest, Sha256};

/// The template; its name ends in .html, which switches escaping on.
const TEMPLATE: (&str, &str) = ("trial.html", include_str!("../../templates/trial.html"));
/// What the page of a trial has besides the looks of the other pages.
const OWN_STYLE: &str = include_str!("../../templates/trial.css");
/// What marks our pages, so that one may be written over by a newer one.
const MARK: &str = "<meta name=\"generator\" content=\"sherdlight trial report\">";

/// In which order levels are shown, and which end is wanted.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Order {
    /// Highest first; neither end is called better.
    #[default]
    HighestFirst,
    /// Highest first, as the best.
    HigherIsBetter,
    /// Lowest first, as the best.
    LowerIsBetter,
}

/// What the page of a trial is made from.
#[derive(Debug, Clone, Copy)]
pub struct TrialPage<'a> {
    /// What it is called.
    pub title: &'a str,
    /// What the trial tells.
    pub findings: &'a Findings,
    /// Its tiles.
    pub tiles: &'a [TrialTile],
    /// Which end is wanted.
    pub order: Order,
}

impl TrialPage<'_> {
    /// The page as HTML.
    ///
    /// # Errors
    /// [`ReportError::Page`] only by a fault of this program.
    pub fn html(&self) -> Result<String, ReportError> {
        let failed = |error: minijinja::Error| ReportError::Page(format!("{error:#}"));
        let mut templates = Environment::new();
        templates.set_undefined_behavior(UndefinedBehavior::Strict);
        templates.add_template(TEMPLATE.0, TEMPLATE.1).map_err(failed)?;
        let style = format!("{STYLE}{OWN_STYLE}");
        let hash = STANDARD.encode(Sha256::digest(style.as_bytes()));
        let page = Value::from(Serde(context::build(self)));
        let given = values! { style => style, style_hash => hash, mark => MARK, page => page };
        templates.get_template(TEMPLATE.0).and_then(|page| page.render(given)).map_err(failed)
    }

    /// Whether a text is such a page.
    pub fn is_one(text: &str) -> bool {
        text.contains(MARK)
    }
}
