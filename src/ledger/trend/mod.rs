//! How one surface went from reading to reading, and whether it drifted.
//!
//! Comes in: [`TrendPoint`]s, readings of one surface (CIELAB for D50 and the 2 degree observer) in any order, and the
//! target ranges. Goes out: a [`Trend`], which serializes: the points in order with value and interval, means by firing,
//! control limits, the drifts that the rule calls, changes of batch, and what was left out.
//!
//! Two uncertainties, never mixed. The `u95` of a reading is what measuring may be off by; much of it (the card, its
//! edition) is common to all readings of a season and does not scatter. It draws the interval of each point. Limits,
//! means of firings and drifts rest on the scatter from point to point alone.

mod answer;
mod build;
mod drift;
mod order;
mod point;
mod series;
mod statistics;
mod value;
mod words;

pub use answer::{
    BatchChange, FiringMean, Trend, TrendCall, TrendFinding, TrendRow, TrendRule, TrendStretch,
};
pub use drift::{
    BACK_SCORE, CALL_SCORE, Drift, HELD_T, LEAST_BASELINE, LEAST_BEFORE_BACK, NEWEST, SURE_BASELINE, drifts,
};
pub use point::{TrendBy, TrendLeftOut, TrendPoint, TrendValue, points_of};
pub use statistics::{
    ControlLimits, EWMA_WEIGHT, ewma, ewma_limits, individuals_limits, mean, mean_u95, moving_range_sigma,
    normal_score, standard_deviation, t_of_score, t_quantile,
};
