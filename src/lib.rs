//! Sherdlight measures fired slip-painted pottery from photographs taken beside a colour card.
//!
//! The road, one folder a stage, data going one way:
//!
//! ```text
//! photo file -> photo -> card -> surface <-> light -> reading -> verdict -> ledger -> report, review
//!               linear   found,  labels of  light on  numbers    grades     kept      shown
//!               light    colour  each place each place + u95     + because
//!                        made true
//! ```
//!
//! [`road::measure`] walks it for one photograph. Every stage can also be called alone. [`trial`] stands beside the road: it
//! plans test tiles and compares what was read on them.
//! Colours are CIELAB for D50 and the CIE 1931 2 degree observer; differences are CIEDE2000.
//! The library prints nothing.

// What a user can give never ends the program: outside tests nothing is unwrapped.
#![cfg_attr(not(test), deny(clippy::unwrap_used, clippy::expect_used))]

pub mod card;
pub mod colour;
pub mod ledger;
pub mod light;
pub mod photo;
pub mod reading;
pub mod report;
pub mod review;
pub mod road;
pub mod surface;
pub mod survival;
pub mod trial;
pub mod verdict;
