//! The report: names, files, tables, pictures, charts and the page, from literal records.

mod charts;
mod files;
#[path = "../trial/one_way.rs"]
mod one_way;
mod page;
mod reasons;
mod records;
mod schema;
mod support;
mod trends;
mod trials;
