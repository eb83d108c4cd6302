//! What goes out: the trend as one serializable object. Points are numbered from 1, in order.

use super::point::{TrendBy, TrendLeftOut, TrendValue};
use super::statistics::ControlLimits;
use serde::Serialize;
use std::collections::BTreeMap;

/// A surface across readings.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Trend {
    /// `sherdlight.trend/1`.
    pub schema: &'static str,
    /// The surface.
    pub surface: String,
    /// What is followed.
    pub value: TrendValue,
    /// What one point is.
    pub by: TrendBy,
    /// `time`, or `given` where a reading carries no time.
    pub order: &'static str,
    /// `D50`.
    pub illuminant: &'static str,
    /// `CIE 1931 2 degree`.
    pub observer: &'static str,
    /// Id of the target ranges.
    pub targets: String,
    /// L*, a*, b* at the centre of the target's aim; null: the target has none for this surface.
    pub target_centre: Option<[f64; 3]>,
    /// Aim range of the value, where the target has one; an open end is null.
    pub aim: Option<[Option<f64>; 2]>,
    /// Aim range of L*.
    pub aim_l: Option<[Option<f64>; 2]>,
    /// What is found, for people.
    pub finding: TrendFinding,
    /// The drifts, in order.
    pub calls: Vec<TrendCall>,
    /// Levels between drifts, in order, with their limits.
    pub stretches: Vec<TrendStretch>,
    /// Where the batch changes.
    pub batch_changes: Vec<BatchChange>,
    /// The points, in order.
    pub points: Vec<TrendRow>,
    /// Means by firing, in order.
    pub firings: Vec<FiringMean>,
    /// Readings that are not among the points.
    pub left_out: Vec<TrendLeftOut>,
    /// The rules in words.
    pub rules: Vec<TrendRule>,
    /// Their numbers.
    pub parameters: BTreeMap<&'static str, f64>,
}

/// The answer in short.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TrendFinding {
    /// `drift`, `no-drift`, `too-few`, `no-value`.
    pub state: &'static str,
    /// Points in the newest stretch.
    pub baseline: usize,
    /// Points that a stretch needs before a drift can be called.
    pub needed: usize,
    /// For people.
    pub text: String,
}

/// A drift.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TrendCall {
    /// `rose` or `fell`.
    pub direction: &'static str,
    /// True for a way back soon after the drift before.
    pub back: bool,
    /// The likeliest first point of the new level.
    pub onset: usize,
    /// Its piece, or firing.
    pub onset_name: String,
    /// Where the onset can be: first and last point, about 95 %.
    pub onset_range: [usize; 2],
    /// The point at which it was called.
    pub called_at: usize,
    /// Mean of the stretch after it less that of the stretch before.
    pub size: f64,
    /// Half-width of the size's 95 % interval, Student's t. The onset was chosen to make the size stand out, which this
    /// does not hold.
    pub size_u95: f64,
    /// Whether the size still stands out over all points since, by the score of a call. False: it passed.
    pub lasts: bool,
    /// Normal score at the call.
    pub score: f64,
    /// Number of the point at which the batch changes, where that lies within the onset's range or up to five points off.
    pub batch_change: Option<usize>,
    /// For people.
    pub text: String,
}

/// Points of one level.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TrendStretch {
    /// First point.
    pub first: usize,
    /// Last point.
    pub last: usize,
    /// Points.
    pub count: usize,
    /// Mean of the values.
    pub mean: f64,
    /// Half-width of its 95 % interval by Student's t; null for one point.
    pub mean_u95: Option<f64>,
    /// Standard deviation from point to point; null for one point.
    pub sd: Option<f64>,
    /// Limits of the individuals chart; null for one point.
    pub limits: Option<ControlLimits>,
    /// Limits of the EWMA chart, those of a long series; null for one point.
    pub ewma_limits: Option<ControlLimits>,
}

/// A change of batch.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BatchChange {
    /// First point of the new batch.
    pub at: usize,
    /// The batch before.
    pub from: String,
    /// The new batch.
    pub to: String,
}

/// One point: a reading, or the mean of a firing's readings.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TrendRow {
    /// Its number.
    pub number: usize,
    /// The piece; null for a firing.
    pub piece: Option<String>,
    /// The firing.
    pub firing: Option<String>,
    /// Time as the camera wrote it, else date of the firing; of a firing, that of its first reading.
    pub time: Option<String>,
    /// The batch; of a firing, where all its readings share it.
    pub batch: Option<String>,
    /// File name of the photograph; null for a firing.
    pub photo: Option<String>,
    /// Readings in it.
    pub readings: usize,
    /// The value.
    pub value: Option<f64>,
    /// Its 95 % interval: of a reading, what the measuring may be off by; of a firing, from the scatter of its readings
    /// (Student's t), null for one reading.
    pub interval: Option<[f64; 2]>,
    /// L*.
    pub l: f64,
    /// Half-width of its 95 % interval, as `interval`.
    pub l_u95: f64,
    /// b*.
    pub b: f64,
    /// Half-width of its 95 % interval, as `interval`.
    pub b_u95: f64,
    /// Share of the piece.
    pub area_fraction: f64,
    /// The EWMA up to here, begun at the mean of its stretch.
    pub ewma: Option<f64>,
    /// Outside the individuals limits of its stretch: marked, not a drift.
    pub outside: bool,
}

/// Mean of one firing's readings.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FiringMean {
    /// The firing.
    pub firing: String,
    /// Readings with a value.
    pub readings: usize,
    /// Mean of their values.
    pub mean: Option<f64>,
    /// Half-width of its 95 % interval by Student's t; null for one reading.
    pub u95: Option<f64>,
    /// Mean L*.
    pub l: f64,
    /// Mean b*.
    pub b: f64,
}

/// A rule in words.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct TrendRule {
    /// What it tells.
    pub name: &'static str,
    /// How.
    pub text: String,
    /// Where it comes from.
    pub source: &'static str,
}

impl Trend {
    /// The stretch of a point by its number; `None` where there are no values.
    pub fn stretch_of(&self, number: usize) -> Option<&TrendStretch> {
        let after = self.stretches.partition_point(|stretch| stretch.first <= number);
        self.stretches.get(after.checked_sub(1)?)
    }
}
