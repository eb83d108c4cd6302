//! The ledger: what is read from files of people and loggers, and what is made of it.

mod heat_shown;
mod logs;
mod tables;
mod temperatures;
