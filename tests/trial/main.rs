//! Planned trials: the plan, the comparison against references, and how far it can be trusted.

mod commands;
mod compare;
#[path = "../../examples/trials/counts.rs"]
mod counts;
mod coverage;
mod ledger;
// Shared with the tests of the page.
mod one_way;
mod parts;
mod plan;
mod separated;
// Shared with the example that prints the whole table of rates.
#[path = "../../examples/trials/simulate.rs"]
mod simulate;
