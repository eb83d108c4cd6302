//! RGB profiles with look-up tables only: the samples themselves are converted once.

use moxcms::{ColorProfile, Layout, RenderingIntent, TransformOptions};

use super::PhotoError;
use super::profile::{Samples, Space};

/// Converts to 16-bit samples with BT.2020 primaries, which hold every colour of fired clay, and
/// returns the space they are in. Relative colorimetric, without black point compensation.
pub(super) fn convert(
    profile: &ColorProfile,
    name: &str,
    samples: Samples,
) -> Result<(Samples, Space), PhotoError> {
    let unusable = |reason: String| PhotoError::ProfileUnsupported(format!("{name}: {reason}"));
    let target = ColorProfile::new_bt2020();
    let options = TransformOptions {
        rendering_intent: RenderingIntent::RelativeColorimetric,
        ..TransformOptions::default()
    };
    let codes = match samples {
        Samples::Sixteen(codes) => codes,
        Samples::Eight(codes) => codes.into_iter().map(|code| u16::from(code) * 257).collect(),
    };
    let transform = profile
        .create_transform_16bit(Layout::Rgb, &target, Layout::Rgb, options)
        .map_err(|e| unusable(e.to_string()))?;
    let mut converted = vec![0u16; codes.len()];
    transform.transform(&codes, &mut converted).map_err(|e| unusable(e.to_string()))?;
    let space = Space::of_profile(&target).ok_or_else(|| unusable("no usable numbers".to_owned()))?;
    Ok((Samples::Sixteen(converted), space))
}
