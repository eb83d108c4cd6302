//! A planned trial as a table and as pages to print, and what it told as words for a terminal and as a page.

mod comparison;
mod filled;
mod lines;
mod page;
mod pages;
mod parts;
mod plan_table;

pub use comparison::comparison_table;
pub use filled::{filled_sheet, trial_table};
pub use page::{Order, TrialPage};
pub use pages::plan_pages;
pub use parts::parts_table;
pub use plan_table::plan_csv;
