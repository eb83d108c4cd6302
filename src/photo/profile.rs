//! What the file says of its colours, turned into curves and one matrix to linear sRGB primaries.
//!
//! RGB profiles of the matrix and curve kind (ICC.1:2022 section F.3) become one table a channel and
//! a 3x3 matrix, never clamped, so that wide-gamut photographs keep their chroma. RGB profiles with
//! look-up tables only are refused: they belong to scanners and printers, and a table gives no way
//! to tell a clipped channel. Where a profile holds both, the matrix is used.

use std::sync::Arc;

use moxcms::{ColorProfile, DataColorSpace, ProfileText, ToneReprCurve};

use super::PhotoError;
use super::image::{Coded, Pixels};
use super::preview::srgb_to_linear;
use super::primaries::{self, BT_2020, OP_RGB, P3, Primaries, SRGB};

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
#[derive(Clone)]
enum Curve {
    Srgb,
    Icc(ToneReprCurve),
}

/// Joins samples (`channels` 1 or 3) with what the file declares.
pub(super) fn resolve(declared: Declared, samples: Samples, channels: usize) -> Result<Resolved, PhotoError> {
    let mut remarks = Vec::new();
    let mut space = Space::srgb();
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
                if channels == 3 && !profile.is_matrix_shaper() {
                    return Err(PhotoError::ProfileUnsupported(format!("{name} holds look-up tables only")));
                }
                space = Space::of_profile(&profile)
                    .ok_or_else(|| PhotoError::ProfileUnsupported(format!("{name} has no usable numbers")))?;
                Some(name)
            }
        },
    };
    let matrix = if channels == 3 { space.matrix } else { None };
    if let (Some(name), true) = (&name, matrix.is_some_and(|m| is_wide(&m))) {
        let text = format!(
            "The file's colours are in {name}, which holds colours beyond sRGB. The profile was honoured; there is \
             nothing to do. Programs that ignore it will read other colours."
        );
        remarks.push(("wide-gamut-profile".to_owned(), text));
    }
    Ok(Resolved { pixels: space.pixels(samples), matrix, name, remarks })
}

/// Whether a primary of these lies outside sRGB: it needs less than nothing of an sRGB primary. A twentieth
/// of a primary is more than other white points and rounding make.
fn is_wide(to_srgb: &[[f32; 3]; 3]) -> bool {
    to_srgb.iter().flatten().any(|&share| share < -0.05)
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
struct Space {
    curves: [Curve; 3],
    /// `None` where the primaries are those of sRGB.
    matrix: Option<[[f32; 3]; 3]>,
}

impl Space {
    fn srgb() -> Self {
        Self { curves: [Curve::Srgb, Curve::Srgb, Curve::Srgb], matrix: None }
    }

    /// Primaries with white D65 and one curve for all channels.
    fn of_primaries(chosen: Primaries, curve: Curve) -> Self {
        let curves = [curve.clone(), curve.clone(), curve];
        Self { curves, matrix: primaries::to_srgb(primaries::to_xyz_d50(chosen)).flatten() }
    }

    /// `None` when the numbers are unusable. Grey profiles use their one curve three times.
    fn of_profile(profile: &ColorProfile) -> Option<Self> {
        if let (DataColorSpace::Gray, Some(grey)) = (profile.color_space, &profile.gray_trc) {
            let curve = || Curve::Icc(grey.clone());
            return is_usable(grey).then(|| Self { curves: [curve(), curve(), curve()], matrix: None });
        }
        let [red, green, blue] =
            [profile.red_trc.clone()?, profile.green_trc.clone()?, profile.blue_trc.clone()?];
        if ![&red, &green, &blue].into_iter().all(is_usable) {
            return None;
        }
        Some(Self {
            curves: [red, green, blue].map(Curve::Icc),
            matrix: primaries::to_srgb(primaries::colorants(profile))?,
        })
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

/// opRGB: exponent 2 + 51/256, here as u8Fixed8 (IEC 61966-2-5).
fn op_rgb() -> Space {
    Space::of_primaries(OP_RGB, Curve::Icc(ToneReprCurve::Lut(vec![0x0233])))
}

/// The spaces of ITU-T H.273 that photographs use: primaries of BT.709, BT.2020 and Display P3
/// (codes 1, 9, 12), transfer functions linear (8), sRGB (13) and the exponents 2.2 and 2.8 (4, 5).
fn cicp(primaries: u8, transfer: u8) -> Result<(Space, String), PhotoError> {
    let name = format!("cICP {primaries}/{transfer}");
    let refuse = |reason| Err(PhotoError::ProfileUnsupported(format!("{name} {reason}")));
    let chosen = match primaries {
        1 => SRGB,
        9 => BT_2020,
        12 => P3,
        _ => return refuse("has unknown primaries"),
    };
    let curve = match transfer {
        4 => Curve::Icc(ToneReprCurve::Parametric(vec![2.2])),
        5 => Curve::Icc(ToneReprCurve::Parametric(vec![2.8])),
        8 => Curve::Icc(ToneReprCurve::Lut(Vec::new())),
        13 => Curve::Srgb,
        16 | 18 => return refuse("is for high dynamic range"),
        _ => return refuse("has an unknown transfer function"),
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
