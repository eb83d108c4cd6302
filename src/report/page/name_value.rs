//! A name and a value, as lists of facts show them.

use crate::report::words::UNKNOWN;
use serde::Serialize;

/// A name and what belongs to it.
#[derive(Debug, Clone, Serialize)]
pub(super) struct NameValue {
    pub(super) name: String,
    pub(super) value: String,
    /// Whether the value is a long row of digits.
    digits: bool,
}

impl NameValue {
    pub(super) fn new(name: &str, value: impl Into<String>) -> Self {
        Self { name: name.into(), value: value.into(), digits: false }
    }

    pub(super) fn hash(name: &str, value: &str) -> Self {
        let known = !value.is_empty();
        Self { name: name.into(), value: if known { value } else { UNKNOWN }.into(), digits: known }
    }
}
