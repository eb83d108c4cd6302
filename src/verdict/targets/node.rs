//! JSON as a tree that keeps what a careful reader must see: the order of fields, fields given twice, and the words
//! `NaN` and `Infinity`, which JSON cannot hold but people type.

use super::TargetFault;
use serde::de::{Deserialize, Deserializer, MapAccess, SeqAccess, Visitor};
use std::fmt;

/// Marks a bare word that stands where a number should: a private-use character that no one types.
const MARK: char = '\u{e000}';

/// A piece of JSON.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Node {
    Null,
    Truth(bool),
    Number(f64),
    Text(String),
    /// `NaN`, `-Infinity` and the like.
    NoNumber(String),
    List(Vec<Node>),
    Fields(Vec<(String, Node)>),
}

impl Node {
    /// Reads a text; a mistake of grammar is told with its line.
    pub fn parse(text: &str) -> Result<Self, TargetFault> {
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        serde_json::from_str(&marked(text)).map_err(|e| TargetFault::new("", format!("is no JSON: {e}")))
    }

    /// What it is, for a sentence.
    pub fn kind(&self) -> String {
        match self {
            Node::Null => "null".into(),
            Node::Truth(truth) => truth.to_string(),
            Node::Number(number) => number.to_string(),
            Node::Text(text) => format!("the text \"{text}\""),
            Node::NoNumber(word) => word.clone(),
            Node::List(items) => format!("a list of {}", items.len()),
            Node::Fields(_) => "fields in braces".into(),
        }
    }
}

/// The text with bare words that stand for no number put in quotes and marked.
fn marked(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    let mut in_text = false;
    while let Some(first) = rest.chars().next() {
        let mut taken = first.len_utf8();
        if in_text {
            match first {
                '"' => in_text = false,
                '\\' => taken += rest[1..].chars().next().map_or(0, char::len_utf8),
                _ => {}
            }
        } else if first == '"' {
            in_text = true;
        } else if first.is_ascii_alphabetic() || matches!(first, '-' | '+') {
            let length =
                rest[1..].find(|c: char| !c.is_ascii_alphanumeric()).map_or(rest.len(), |end| end + 1);
            let word = &rest[..length];
            let bare = word.trim_start_matches(['-', '+']).to_ascii_lowercase();
            if ["nan", "inf", "infinity"].contains(&bare.as_str()) {
                out.push_str(&format!("\"{MARK}{word}\""));
                rest = &rest[length..];
                continue;
            }
            taken = length;
        }
        out.push_str(&rest[..taken]);
        rest = &rest[taken..];
    }
    out
}

impl<'de> Deserialize<'de> for Node {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_any(NodeVisitor)
    }
}

struct NodeVisitor;

impl<'de> Visitor<'de> for NodeVisitor {
    type Value = Node;

    fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.write_str("JSON")
    }
    fn visit_unit<E>(self) -> Result<Node, E> {
        Ok(Node::Null)
    }
    fn visit_bool<E>(self, truth: bool) -> Result<Node, E> {
        Ok(Node::Truth(truth))
    }
    fn visit_u64<E>(self, number: u64) -> Result<Node, E> {
        Ok(Node::Number(number as f64))
    }
    fn visit_i64<E>(self, number: i64) -> Result<Node, E> {
        Ok(Node::Number(number as f64))
    }
    fn visit_f64<E>(self, number: f64) -> Result<Node, E> {
        Ok(Node::Number(number))
    }
    fn visit_str<E>(self, text: &str) -> Result<Node, E> {
        Ok(match text.strip_prefix(MARK) {
            Some(word) => Node::NoNumber(word.into()),
            None => Node::Text(text.into()),
        })
    }
    fn visit_seq<A: SeqAccess<'de>>(self, mut access: A) -> Result<Node, A::Error> {
        let mut items = Vec::new();
        while let Some(item) = access.next_element()? {
            items.push(item);
        }
        Ok(Node::List(items))
    }
    fn visit_map<A: MapAccess<'de>>(self, mut access: A) -> Result<Node, A::Error> {
        let mut fields = Vec::new();
        while let Some(field) = access.next_entry()? {
            fields.push(field);
        }
        Ok(Node::Fields(fields))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_that_are_no_numbers_are_seen() {
        let node =
            Node::parse("\u{feff}[NaN, -Infinity, \"NaN\", +inf, null, true, -1.5e1, \"a \\\" NaN \\\\\"]");
        let word = |w: &str| Node::NoNumber(w.into());
        let text = |t: &str| Node::Text(t.into());
        let wanted = vec![
            word("NaN"),
            word("-Infinity"),
            text("NaN"),
            word("+inf"),
            Node::Null,
            Node::Truth(true),
            Node::Number(-15.0),
            text("a \" NaN \\"),
        ];
        assert_eq!(node, Ok(Node::List(wanted)));
    }

    #[test]
    fn broken_text_is_told_and_never_panics() {
        for text in ["", "{", "[1 2]", "\"\\", "nul", "{\"a\": 01}", "é", "-", "[1e999]", "\"é\\é"] {
            assert!(Node::parse(text).is_err(), "{text}");
        }
        assert!(Node::parse(&"[".repeat(100_000)).is_err());
        assert!(Node::parse("[72, 13").unwrap_err().reason.contains("line 1"));
    }
}
