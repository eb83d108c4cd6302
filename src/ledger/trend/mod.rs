//! How one surface went from reading to reading, and whether it drifted.

mod drift;
mod series;
mod statistics;

pub use drift::{
    BACK_SCORE, CALL_SCORE, Drift, LEAST_BASELINE, LEAST_BEFORE_BACK, NEWEST, SURE_BASELINE, drifts,
};
pub use statistics::{
    ControlLimits, EWMA_WEIGHT, ewma, ewma_limits, individuals_limits, mean, mean_u95, moving_range_sigma,
    normal_score, standard_deviation, t_of_score, t_quantile,
};
