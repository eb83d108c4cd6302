//! What surfaces usually look like, read from `calibration/surfaces.json`.

use serde::Deserialize;
use std::sync::OnceLock;

/// One surface as usually seen.
#[derive(Debug, Clone, Deserialize)]
pub(super) struct Prior {
    /// a* and b* of the chromaticity brought to L* 50.
    pub tint: [f64; 2],
    pub tint_sd: [f64; 2],
    /// Natural log of the luminance reflectance over that of white slip beside it.
    pub log_ratio: f64,
    pub log_ratio_sd: f64,
}

/// The four surfaces.
#[derive(Debug, Clone, Deserialize)]
pub(super) struct Priors {
    pub white: Prior,
    pub red: Prior,
    pub black: Prior,
    pub body: Prior,
}

impl Priors {
    /// In the order of [`super::field`]: white, red, black, body.
    pub fn array(&self) -> [&Prior; 4] {
        [&self.white, &self.red, &self.black, &self.body]
    }
}

/// The priors compiled in.
#[allow(clippy::expect_used)]
pub(super) fn priors() -> &'static Priors {
    static PRIORS: OnceLock<Priors> = OnceLock::new();
    PRIORS.get_or_init(|| {
        serde_json::from_str(include_str!("../../calibration/surfaces.json"))
            .expect("calibration/surfaces.json is part of the program and read by its tests")
    })
}
