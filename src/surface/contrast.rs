//! How dark paint is against its slip, on the scale of L*.
//!
//! Comes in: shares of the light of slip that places give back. Goes out: that of the soundest paint, and the share at
//! which a part of its contrast is left.

/// Lightness of slip on which contrasts are judged (L* 80, as a luminance).
const SLIP: f32 = 0.567;
/// Soundest paint against slip: no paint is believed darker or paler than this.
pub(super) const SOUND: [f32; 2] = [0.04, 0.4];
/// Fewer places than this tell no soundest paint.
const LEAST_PLACES: usize = 30;

/// Share of the light of slip that the soundest paint gives back, from places darker than half the light of slip: the
/// darkest fifth of them begins there. `None` where there are too few.
pub(crate) fn soundest(mut dark: Vec<f32>) -> Option<f32> {
    let at = dark.len() / 5;
    (dark.len() >= LEAST_PLACES)
        .then(|| dark.select_nth_unstable_by(at, f32::total_cmp).1.clamp(SOUND[0], SOUND[1]))
}

/// Share of the light of slip at which the contrast is this share of that of the soundest paint, which gives back
/// `sound`; above it there is less.
pub(super) fn share_at(contrast: f32, sound: f32) -> f32 {
    let l = lightness(1.0) - contrast * (lightness(1.0) - lightness(sound)).max(10.0);
    ((l + 16.0) / 116.0).powi(3) / SLIP
}

/// Lightness of a place that gives back a share of the light of slip.
fn lightness(share: f32) -> f32 {
    116.0 * (share * SLIP).max(0.009).cbrt() - 16.0
}

#[cfg(test)]
mod tests {
    use super::*;

    /// L* 80 against L* 30: half of that contrast is L* 55, whose luminances are 0.5668 and 0.2296 (CIE 15:2018, eq. 8.3).
    #[test]
    fn half_of_the_contrast_lies_half_way_in_lightness() {
        let y = |l: f32| ((l + 16.0) / 116.0).powi(3);
        let found = share_at(0.5, y(30.0) / y(80.0));
        assert!((found / (y(55.0) / y(80.0)) - 1.0).abs() < 2e-3, "{found}");
        assert!((share_at(0.0, 0.1) - 1.0).abs() < 1e-5);
    }
}
