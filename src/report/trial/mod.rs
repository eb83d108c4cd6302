//! A planned trial as a table and as pages to print, and what it told as words.

mod comparison;
mod pages;
mod plan_table;

pub use comparison::comparison_table;
pub use pages::plan_pages;
pub use plan_table::plan_csv;
