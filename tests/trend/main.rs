//! Trends of a surface: the handbook's worked examples, the rates of the rule for drifts, and what must never matter.

mod answer;
mod handbook;
// Shared with the example that prints the whole table of rates.
#[path = "../../examples/drift/luck.rs"]
mod luck;
mod rates;
