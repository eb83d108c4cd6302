//! A trend shown: a table for the terminal and a chart as SVG.
//!
//! Comes in: a [`Trend`], which owns every number. Goes out: text. Nothing is computed here but places on the page.

mod chart;
mod layout;
mod marks;
mod panel;
mod table;

pub use chart::trend_chart;
pub use table::trend_table;

use super::words::plain;
use super::words::surface_words;
use crate::ledger::trend::{Trend, TrendBy};

/// What the page is headed with.
fn title(trend: &Trend) -> String {
    let by = match trend.by {
        TrendBy::Date => "from reading to reading",
        TrendBy::Firing => "from firing to firing",
    };
    format!("{} {by}: {}", plain(surface_words(&trend.surface)), trend.value.sign())
}

/// How the points are ordered.
fn order_words(trend: &Trend) -> &'static str {
    match trend.order {
        "time" => "in the order of time",
        _ => "in the order given (some carry no time)",
    }
}

/// At most `most` letters, with a sign where some are left out.
fn cut(text: &str, most: usize) -> String {
    match text.chars().count() {
        count if count <= most => text.into(),
        _ => text.chars().take(most.saturating_sub(1)).chain(['…']).collect(),
    }
}
