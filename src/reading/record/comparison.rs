//! A replica against its reference. Everything is replica less reference, and every `u95` the half-width of a 95 % interval.

// Every field may be missing: records of earlier versions are read again.
use serde::{Deserialize, Serialize};

/// A replica against its reference.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct Comparison {
    /// The reference shots that were compared, as named.
    pub references: Vec<String>,
    /// Those of them without a card: compared only in `tones`, `shares` and `white_unevenness`.
    pub without_card: Vec<String>,
    /// Over which differences `differs` was decided, and how.
    pub family: Family,
    /// A difference for each surface that both show.
    pub differences: Vec<Difference>,
    /// White against black; null: one of the two is not seen in both.
    pub contrast: Option<ContrastDifference>,
    /// How light each surface is against the others of its piece, where a reference shot has no card.
    pub tones: Vec<ToneDifference>,
    /// Shares of the surfaces; they hold for like views only.
    pub shares: Vec<ShareDifference>,
    /// Scatter of white over its mean; not judged, since light that the field does not follow adds to it.
    pub white_unevenness: Option<ValueDifference>,
    /// Surfaces that one shows and the other does not, which are not compared.
    pub only_in: OnlyIn,
    /// The light on the replica's reading against that on the reference's, as the surfaces tell it that are taken for the
    /// same; null: nothing was compared in one light.
    pub common_light: Option<CommonLight>,
    /// With two or more reference shots that have a card: their spread, and where the replica stands.
    pub spread: Vec<SpreadPart>,
    /// What was assumed, in sentences.
    pub assumed: Vec<String>,
    /// What stands out, in sentences.
    pub findings: Vec<String>,
}

/// The comparisons that were judged together.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct Family {
    /// `Holm 1979`.
    pub procedure: String,
    /// Chance of any false call over the family.
    pub level: f64,
    /// How many comparisons there are; the shares together weigh as one.
    pub comparisons: usize,
}

/// One surface of the replica against the same surface of the reference.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct Difference {
    /// `white`, `red`, `black`, `body` or `smudged`.
    pub surface: String,
    /// As the two readings have it.
    #[serde(flatten)]
    pub plain: ColourDifference,
    /// With the light that all surfaces of a shot share taken out: the surfaces that do not differ are taken for the same.
    pub in_one_light: ColourDifference,
    /// The p-value of `in_one_light`, adjusted over the family.
    pub p_adjusted: f64,
    /// Whether the difference is real: `p_adjusted` at most the family's level.
    pub differs: bool,
    /// What of `in_one_light` is larger than its own doubt, such as `lighter, redder`; `not told apart` where nothing is
    /// real.
    pub words: String,
}

/// A difference of two colours.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct ColourDifference {
    /// CIEDE2000.
    pub de00: f64,
    /// Least and largest CIEDE2000 inside the 95 % coverage region of the vector of L*, a*, b*.
    pub de00_interval: [f64; 2],
    /// The longer way from `de00` to an end of its interval.
    pub u95: f64,
    /// L*, a*, b*.
    pub delta_lab: [f64; 3],
    /// Theirs, one by one.
    pub u95_lab: [f64; 3],
    /// L*, C*, h; h in degrees, -180 to 180.
    pub delta_lch: [f64; 3],
    /// Theirs; that of h at most 180.
    pub u95_lch: [f64; 3],
    /// The parts of CIEDE2000: lightness, chroma, hue, each over its weight.
    pub parts: [f64; 3],
    /// CIEDE2000 with both L* set to 50: colour without lightness.
    pub colour_only_de00: f64,
    /// Chance of so large a difference where there is none: chi-square of the vector, 3 degrees of freedom.
    pub p: f64,
}

/// White against black.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct ContrastDifference {
    /// Y of white over Y of black of the replica.
    pub replica: f64,
    /// The same of the reference.
    pub reference: f64,
    /// Natural logarithm of the one over the other.
    pub log_ratio: f64,
    /// Of `log_ratio`.
    pub u95: f64,
    /// L* of white less L* of black: the replica's less the reference's.
    pub delta_l: f64,
    /// Of `delta_l`.
    pub delta_l_u95: f64,
    /// Chance of so large a `log_ratio` where there is none.
    pub p: f64,
    /// Adjusted over the family.
    pub p_adjusted: f64,
    /// Whether the difference is real.
    pub differs: bool,
}

/// How light a surface is against the others of its piece.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct ToneDifference {
    /// The surface.
    pub surface: String,
    /// Natural logarithm of its Y over that of the reference, the surfaces that do not differ taken for the same.
    pub log_ratio: f64,
    /// Of `log_ratio`.
    pub u95: f64,
    /// Chance of so large a `log_ratio` where there is none.
    pub p: f64,
    /// Adjusted over the family.
    pub p_adjusted: f64,
    /// Whether the difference is real.
    pub differs: bool,
}

/// Share of one surface.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct ShareDifference {
    /// The surface.
    pub surface: String,
    /// Of the replica's measured surfaces, 0 to 1.
    pub replica: f64,
    /// Of the reference's.
    pub reference: f64,
    /// Of the difference.
    pub u95: f64,
    /// Chance of so large a difference where there is none.
    pub p: f64,
    /// Adjusted over the family.
    pub p_adjusted: f64,
    /// Whether the difference is real.
    pub differs: bool,
}

/// A value of both.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct ValueDifference {
    /// Of the replica.
    pub replica: f64,
    /// Of the reference.
    pub reference: f64,
    /// Of the difference.
    pub u95: f64,
}

/// Surfaces that only one shows.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct OnlyIn {
    /// Seen on the replica and not in every reference shot.
    pub replica: Vec<String>,
    /// Seen in a reference shot and not on the replica.
    pub reference: Vec<String>,
}

/// Light of two readings against each other.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct CommonLight {
    /// Natural logarithm of light taken for the replica's colour over that of the reference's.
    pub log_ratio: f64,
    /// Of `log_ratio`.
    pub u95: f64,
    /// The surfaces taken for the same.
    pub surfaces: Vec<String>,
}

/// One value over the reference shots.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct SpreadPart {
    /// The surface, or `contrast`.
    pub surface: String,
    /// `L*`, `C*`, `h` or `reflectance_ratio`.
    pub value: String,
    /// Shots that show it.
    pub shots: usize,
    /// Mean over the shots.
    pub mean: f64,
    /// Standard deviation between the shots.
    pub sd: f64,
    /// Least and largest.
    pub range: [f64; 2],
    /// With three or more shots: where one further piece of the same kind would lie, 95 %.
    pub prediction: Option<[f64; 2]>,
    /// The replica's.
    pub replica: f64,
    /// `below`, `inside` or `above` the range.
    pub place: String,
    /// Whether it lies inside `prediction`.
    pub inside_prediction: Option<bool>,
}
