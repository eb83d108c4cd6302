//! The report: names, files, tables, pictures and the page, from literal records.

mod files;
mod page;
mod reasons;
mod records;
mod schema;
mod support;
mod trends;
