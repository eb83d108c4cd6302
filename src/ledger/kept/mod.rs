//! What was measured, kept: photographs, their passes, readings and swatches, temperature logs; and given out again.

mod glance;
mod keep;
mod known;
mod logs;
mod packed;
mod passes;
mod points;
mod swatches;

pub use glance::Glance;
pub(super) use keep::measured;
pub use keep::{Keeping, Kept, Shot};
pub use known::{Choice, Known};
pub(super) use known::{records_of, text_of, texts_of};
pub(super) use logs::log_of;
pub use swatches::{KnownTrial, TrialSwatch};
