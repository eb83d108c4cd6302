//! What the file says of its colours, turned into curves and one matrix to linear sRGB primaries.
//!
//! RGB profiles of the matrix and curve kind (ICC.1:2022 section F.3) become one table a channel and
//! a 3x3 matrix, never clamped, so that wide-gamut photographs keep their chroma. RGB profiles with
//! look-up tables only go through `profile_lut`.

use std::sync::Arc;

use moxcms::{
    Chromaticity, ColorPrimaries, ColorProfile, DataColorSpace, ProfileText, ToneReprCurve, WHITE_POINT_D65,
};

use super::PhotoError;
use super::image::{Coded, Pixels};
use super::preview::srgb_to_linear;
use super::profile_lut;

/// Encoded samples as they leave a decoder.
pub(super) enum Samples {
    Eight(Vec<u8>),
    Sixteen(Vec<u16>),
}

/// The colour space as the file declares it, the strongest statement first.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Declared {
    /// An embedded ICC profile.
    Icc(Vec<u8>),
    /// An embedded ICC profile that could not even be put together.
    BrokenIcc,
    /// A PNG `cICP` chunk: colour primaries and transfer function of ITU-T H.273.
    Cicp { primaries: u8, transfer: u8 },
    /// sRGB, named by a PNG `sRGB` chunk or by EXIF.
    Srgb,
    /// opRGB (IEC 61966-2-5), named by EXIF as the optional space of DCF 2.0.
    OpRgb,
    /// Nothing.
    Nothing,
}

/// Pixels with their meaning.
pub(super) struct Resolved {
    pub pixels: Pixels,
    pub matrix: Option<[[f32; 3]; 3]>,
    pub name: Option<String>,
    pub remarks: Vec<(String, String)>,
}

/// A curve from encoded 0..1 to linear light 0..1.
enum Curve {
    Srgb,
    Icc(ToneReprCurve),
}

/// Joins samples (`channels` 1 or 3) with what the file declares.
pub(super) fn resolve(declared: Declared, samples: Samples, channels: usize) -> Result<Resolved, PhotoError> {
    let mut remarks = Vec::new();
    let mut space = Space::srgb();
    let mut samples = samples;
    let name = match declared {
        Declared::Srgb => Some("sRGB".to_owned()),
        Declared::OpRgb => {
            space = op_rgb();
            Some("opRGB".to_owned())
        }
        Declared::Cicp { primaries, transfer } => {
            let (known, name) = cicp(primaries, transfer)?;
            space = known;
            Some(name)
        }
        Declared::Nothing => {
            let text = "The file names no colour space; sRGB was assumed. Keep the profile when exporting.";
            remarks.push(("no-profile".to_owned(), text.to_owned()));
            None
        }
        Declared::BrokenIcc => {
            remarks.push(bad_profile("it is incomplete"));
            None
        }
        Declared::Icc(bytes) => match read_icc(&bytes, channels) {
            Err(reason) => {
                remarks.push(bad_profile(&reason));
                None
            }
            Ok(profile) => {
                let name = description(&profile);
                if is_high_dynamic_range(&profile) {
                    return Err(PhotoError::ProfileUnsupported(format!("{name} is for high dynamic range")));
                }
                if channels == 1 || profile.is_matrix_shaper() {
                    space = Space::of_profile(&profile).ok_or_else(|| {
                        PhotoError::ProfileUnsupported(format!("{name} has no usable numbers"))
                    })?;
                } else {
                    (samples, space) = profile_lut::convert(&profile, &name, samples)?;
                }
                Some(name)
            }
        },
    };
    let matrix = if channels == 3 { space.matrix } else { None };
    Ok(Resolved { pixels: space.pixels(samples), matrix, name, remarks })
}

fn bad_profile(reason: &str) -> (String, String) {
    let text = format!(
        "The embedded colour profile cannot be read: {reason}. sRGB was assumed. Export the photo again with an \
         sRGB profile."
    );
    ("bad-profile".to_owned(), text)
}

/// Reads a profile and checks that it belongs to this kind of data.
fn read_icc(bytes: &[u8], channels: usize) -> Result<ColorProfile, String> {
    let profile = ColorProfile::new_from_slice(bytes).map_err(|e| e.to_string().to_lowercase())?;
    match (profile.color_space, channels) {
        (DataColorSpace::Rgb, 3) => {
            let has_table =
                profile.lut_a_to_b_colorimetric.is_some() || profile.lut_a_to_b_perceptual.is_some();
            if profile.is_matrix_shaper() || has_table {
                Ok(profile)
            } else {
                Err("it has neither curves nor tables".to_owned())
            }
        }
        (DataColorSpace::Gray, 1) if profile.gray_trc.is_some() => Ok(profile),
        (DataColorSpace::Gray, 1) => Err("it has no grey curve".to_owned()),
        _ => Err("it is for another kind of picture".to_owned()),
    }
}

fn description(profile: &ColorProfile) -> String {
    let text = match &profile.description {
        Some(ProfileText::PlainString(text)) => text.clone(),
        Some(ProfileText::Localizable(all)) => all.first().map(|one| one.value.clone()).unwrap_or_default(),
        Some(ProfileText::Description(one)) if !one.ascii_string.is_empty() => one.ascii_string.clone(),
        Some(ProfileText::Description(one)) => one.unicode_string.clone(),
        None => String::new(),
    };
    let text: String = text.chars().filter(|c| !c.is_control()).collect();
    if text.trim().is_empty() { "a profile without a name".to_owned() } else { text.trim().to_owned() }
}

/// PQ and HLG are scene or display referred over many stops: no card patch is near their white.
fn is_high_dynamic_range(profile: &ColorProfile) -> bool {
    profile.cicp.is_some_and(|cicp| matches!(cicp.transfer_characteristics as u8, 16 | 18))
}

/// Curves and matrix of a colour space.
pub(super) struct Space {
    curves: [Curve; 3],
    /// `None` where the primaries are those of sRGB.
    matrix: Option<[[f32; 3]; 3]>,
}

impl Space {
    fn srgb() -> Self {
        Self { curves: [Curve::Srgb, Curve::Srgb, Curve::Srgb], matrix: None }
    }

    /// Primaries with white D65 and one curve for all channels.
    fn of_primaries(primaries: ColorPrimaries, curve: ToneReprCurve) -> Self {
        let mut profile = ColorProfile::new_srgb();
        profile.update_rgb_colorimetry(WHITE_POINT_D65, primaries);
        let curves = [Curve::Icc(curve.clone()), Curve::Icc(curve.clone()), Curve::Icc(curve)];
        Self { curves, matrix: to_srgb(&profile).flatten() }
    }

    /// `None` when the numbers are unusable. Grey profiles use their one curve three times.
    pub(super) fn of_profile(profile: &ColorProfile) -> Option<Self> {
        if let (DataColorSpace::Gray, Some(grey)) = (profile.color_space, &profile.gray_trc) {
            let curve = || Curve::Icc(grey.clone());
            return is_usable(grey).then(|| Self { curves: [curve(), curve(), curve()], matrix: None });
        }
        let [red, green, blue] =
            [profile.red_trc.clone()?, profile.green_trc.clone()?, profile.blue_trc.clone()?];
        if ![&red, &green, &blue].into_iter().all(is_usable) {
            return None;
        }
        Some(Self { curves: [red, green, blue].map(Curve::Icc), matrix: to_srgb(profile)? })
    }

    fn pixels(&self, samples: Samples) -> Pixels {
        match samples {
            Samples::Eight(codes) => Pixels::Eight(Coded { codes, curves: self.tables() }),
            Samples::Sixteen(codes) => Pixels::Sixteen(Coded { codes, curves: self.tables() }),
        }
    }

    /// One table a channel; equal tables are shared, which keeps them in the cache.
    fn tables<const N: usize>(&self) -> [Arc<[f32; N]>; 3] {
        let [red, green, blue] = [0, 1, 2].map(|c| {
            let mut table = Arc::new([0.0f32; N]);
            if let Some(table) = Arc::get_mut(&mut table) {
                for (code, light) in table.iter_mut().enumerate() {
                    *light = self.curves[c].light(code as f64 / (N - 1) as f64) as f32;
                }
            }
            table
        });
        let share = |other: Arc<[f32; N]>| if other == red { red.clone() } else { other };
        [red.clone(), share(green), share(blue)]
    }
}

/// From the profile's primaries to those of sRGB, both by way of the D50 connection space.
/// Outer `None`: unusable numbers. Inner `None`: the primaries are those of sRGB but for rounding.
fn to_srgb(profile: &ColorProfile) -> Option<Option<[[f32; 3]; 3]>> {
    let matrix = profile.transform_matrix(&ColorProfile::new_srgb()).v;
    let values = || matrix.iter().flatten().copied();
    if !values().all(|v| v.is_finite() && v.abs() < 100.0) || profile.colorant_matrix().determinant()? < 1e-4
    {
        return None;
    }
    // Profiles hold colorants in s15Fixed16 or rounded to four decimals; the inverse matrix makes up
    // to 1e-3 of that.
    let identity = |i: usize| if i % 4 == 0 { 1.0 } else { 0.0 };
    if values().enumerate().all(|(i, v)| (v - identity(i)).abs() < 1e-3) {
        return Some(None);
    }
    Some(Some(matrix.map(|row| row.map(|v| v as f32))))
}

fn op_rgb() -> Space {
    let primaries = ColorPrimaries {
        red: Chromaticity::new(0.64, 0.33),
        green: Chromaticity::new(0.21, 0.71),
        blue: Chromaticity::new(0.15, 0.06),
    };
    // IEC 61966-2-5: exponent 2 + 51/256, here as u8Fixed8.
    Space::of_primaries(primaries, ToneReprCurve::Lut(vec![0x0233]))
}

/// The spaces of ITU-T H.273 that photographs use: primaries of BT.709, BT.2020 and Display P3
/// (codes 1, 9, 12), transfer functions linear (8), sRGB (13) and the exponents 2.2 and 2.8 (4, 5).
fn cicp(primaries: u8, transfer: u8) -> Result<(Space, String), PhotoError> {
    let name = format!("cICP {primaries}/{transfer}");
    let chosen = match primaries {
        1 => ColorPrimaries::BT_709,
        9 => ColorPrimaries::BT_2020,
        12 => ColorPrimaries::SMPTE_432,
        _ => return Err(PhotoError::ProfileUnsupported(format!("{name} has unknown primaries"))),
    };
    let curve = match transfer {
        4 => ToneReprCurve::Parametric(vec![2.2]),
        5 => ToneReprCurve::Parametric(vec![2.8]),
        8 => ToneReprCurve::Lut(Vec::new()),
        13 => {
            let mut space = Space::of_primaries(chosen, ToneReprCurve::Lut(Vec::new()));
            space.curves = [Curve::Srgb, Curve::Srgb, Curve::Srgb];
            return Ok((space, name));
        }
        16 | 18 => return Err(PhotoError::ProfileUnsupported(format!("{name} is for high dynamic range"))),
        _ => return Err(PhotoError::ProfileUnsupported(format!("{name} has an unknown transfer function"))),
    };
    Ok((Space::of_primaries(chosen, curve), name))
}

fn is_usable(curve: &ToneReprCurve) -> bool {
    let curve = Curve::Icc(curve.clone());
    let (black, white) = (curve.light(0.0), curve.light(1.0));
    black.is_finite() && white.is_finite() && white > black && white < 16.0
}

impl Curve {
    /// Linear light of an encoded value 0..1. ICC.1:2022 sections 10.6 (sampled curves, u8Fixed8
    /// exponent) and 10.18 (parametric curves, functions 0 to 4).
    fn light(&self, encoded: f64) -> f64 {
        match self {
            Self::Srgb => srgb_to_linear(encoded),
            Self::Icc(ToneReprCurve::Lut(samples)) => match samples.as_slice() {
                [] => encoded,
                [exponent] => encoded.powf(f64::from(*exponent) / 256.0),
                _ => {
                    let place = encoded * (samples.len() - 1) as f64;
                    let low = (place as usize).min(samples.len() - 2);
                    let [one, two] = [samples[low], samples[low + 1]].map(|v| f64::from(v) / 65535.0);
                    one + (two - one) * (place - low as f64)
                }
            },
            Self::Icc(ToneReprCurve::Parametric(parameters)) => {
                let p: Vec<f64> = parameters.iter().map(|&v| f64::from(v)).collect();
                let power = |base: f64, g: f64| base.max(0.0).powf(g);
                match *p.as_slice() {
                    [g] => power(encoded, g),
                    [g, a, b] if encoded >= -b / a => power(a * encoded + b, g),
                    [_, _, _] => 0.0,
                    [g, a, b, c] if encoded >= -b / a => power(a * encoded + b, g) + c,
                    [_, _, _, c] => c,
                    [g, a, b, _, d] if encoded >= d => power(a * encoded + b, g),
                    [_, _, _, c, _] => c * encoded,
                    [g, a, b, _, d, e, _] if encoded >= d => power(a * encoded + b, g) + e,
                    [_, _, _, c, _, _, f] => c * encoded + f,
                    _ => f64::NAN,
                }
            }
        }
    }
}
