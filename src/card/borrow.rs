//! A correction from another photograph of the session, brought to this one's exposure.
//!
//! Light on the sensor is in proportion to shutter time and ISO speed, and to one over the square of the
//! aperture number (ISO 12232; APEX, EXIF annex C). The tone curve is undone before the scaling: it belongs to
//! the camera's encoding, not to the scene. What no file tells is whether the light itself changed between the
//! two shots, and every borrowed reading says so.

use super::geometry::Grid;
use super::read::place;
use super::reading::{CardReading, CardSettings, CardStatus};
use super::sample::sample;
use super::{CardDefinition, CardError, Correction, find};
use crate::colour::{LinearRgb, ciede2000};
use crate::photo::{Exposure, Photo, PhotoFacts};

/// The photograph a card is borrowed from, read once for a whole run.
#[derive(Debug, Clone)]
pub struct CardShot {
    /// The file as it was named.
    pub path: String,
    /// What the file says of itself.
    pub facts: PhotoFacts,
    /// Upright width and height.
    pub size: [usize; 2],
    /// What its card gave.
    pub reading: CardReading,
}

impl CardShot {
    /// From a photograph and the card read in it.
    pub fn new(path: &str, photo: &Photo, reading: CardReading) -> Self {
        Self { path: path.into(), facts: photo.facts.clone(), size: [photo.width(), photo.height()], reading }
    }
}

/// Where a borrowed correction comes from and how it was brought here.
#[derive(Debug, Clone, PartialEq)]
pub struct Borrowed {
    /// The card shot's file as it was named.
    pub path: String,
    /// SHA-256 of its bytes.
    pub sha256: String,
    /// Exposure of this photograph over that of the card shot, above 0.
    pub exposure_ratio: f64,
    /// Relative half-width of the 95 % interval of that ratio, 0 to 1.
    pub exposure_u95: f64,
}

/// Why a correction cannot be borrowed.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum BorrowError {
    /// A photograph does not tell all of its exposure.
    #[error("how it was exposed against the card shot is not known: {missing}")]
    ExposureUnknown {
        /// Which file lacks what.
        missing: String,
    },
    /// Another camera took the card shot.
    #[error("the card shot was taken with another camera ({shot}) than this photo ({photo})")]
    OtherCamera {
        /// Camera of the card shot.
        shot: String,
        /// Camera of this photograph.
        photo: String,
    },
    /// The two files are in different colour spaces: they did not come the same way.
    #[error("the card shot's colours are in {shot}, this photo's in {photo}")]
    OtherProfile {
        /// Colour space of the card shot.
        shot: String,
        /// Colour space of this photograph.
        photo: String,
    },
}

impl BorrowError {
    /// Stable, kebab-case.
    pub fn code(&self) -> &'static str {
        match self {
            Self::ExposureUnknown { .. } => "exposure-unknown",
            Self::OtherCamera { .. } => "card-from-other-camera",
            Self::OtherProfile { .. } => "card-from-other-profile",
        }
    }
    /// What to do next, one sentence.
    pub fn hint(&self) -> &'static str {
        match self {
            Self::ExposureUnknown { .. } => {
                "Say --same-exposure if both were exposed alike by hand, or lay a card into the photo."
            }
            Self::OtherCamera { .. } => {
                "Take the card shot with the same camera, or lay a card into the photo."
            }
            Self::OtherProfile { .. } => "Export both photos the same way.",
        }
    }
}

/// Gives a photograph the correction of the card shot, at its own exposure. The card shot itself keeps its card
/// as found. A card that lies in the photograph is not used, but its place is given, so that it is not taken for
/// a piece.
///
/// `same_exposure`: settings that the files do not tell are taken to be equal; those they tell are used.
///
/// # Errors
/// [`CardError::Borrow`].
pub fn borrow_card(
    shot: &CardShot,
    photo: &Photo,
    settings: &CardSettings,
    same_exposure: bool,
) -> Result<CardReading, CardError> {
    let facts = &photo.facts;
    if !facts.sha256.is_empty() && facts.sha256 == shot.facts.sha256 {
        return Ok(shot.reading.clone());
    }
    same_making(&shot.facts, facts)?;
    let link = Link::between(shot.facts.exposure.as_ref(), facts.exposure.as_ref(), same_exposure)?;
    let mut reading = shot.reading.clone();
    reading.status = CardStatus::Borrowed;
    reading.correction = reading.correction.at_exposure(link.ratio);
    reading.patches.clear();
    reading.borrowed = Some(Borrowed {
        path: shot.path.clone(),
        sha256: shot.facts.sha256.clone(),
        exposure_ratio: link.ratio,
        exposure_u95: link.relative_u95,
    });
    for (_, text) in &mut reading.warnings {
        *text = format!("In the card shot: {text}");
    }
    let size = [photo.width(), photo.height()];
    reading.warnings.extend(remarks(shot, facts, size, &link));
    reading.place = None;
    if let Some((grid, definition)) = seen_as_well(photo, settings)? {
        reading.place = Some(place(&grid, &definition));
        reading.warnings.push(fit_of_seen(photo, &grid, &definition, &reading.correction));
    }
    Ok(reading)
}

impl Correction {
    /// The same correction for a photograph that got `ratio` times the exposure. The gains stand between the
    /// undone tone curve and everything else, so they alone carry the exposure.
    fn at_exposure(mut self, ratio: f64) -> Self {
        let models = std::iter::once(&mut self.fitted).chain(&mut self.other_edition);
        models.for_each(|model| model.gains.iter_mut().for_each(|gain| *gain /= ratio));
        self
    }
}

/// Refuses what is known to differ.
fn same_making(shot: &PhotoFacts, photo: &PhotoFacts) -> Result<(), CardError> {
    if let (Some(one), Some(other)) = (&shot.camera, &photo.camera)
        && one != other
    {
        return Err(BorrowError::OtherCamera { shot: one.clone(), photo: other.clone() }.into());
    }
    // A file that names none was taken for sRGB.
    let space = |facts: &PhotoFacts| facts.profile.clone().unwrap_or_else(|| "sRGB".into());
    let is_srgb = |name: &str| name.to_lowercase().contains("srgb");
    let (one, other) = (space(shot), space(photo));
    if one != other && !(is_srgb(&one) && is_srgb(&other)) {
        return Err(BorrowError::OtherProfile { shot: one, photo: other }.into());
    }
    Ok(())
}

/// The exposure of one photograph against another.
#[derive(Debug, Clone, PartialEq)]
struct Link {
    ratio: f64,
    relative_u95: f64,
    /// Settings that were taken to be equal because a file lacks them.
    assumed: Vec<&'static str>,
}

/// Half-widths of rectangular distributions (JCGM 100:2008, 4.3.7), relative, of the light. The figures are
/// common practice, not a publication.
///
/// Shutter times are written as the customary steps (1/60 for 1/64): up to 6.5 % off.
const SHUTTER_ROUNDING: f64 = 0.07;
/// Aperture numbers are written as customary steps too, up to 6 % of the light, and diaphragms close to about as
/// much.
const APERTURE_ROUNDING: f64 = 0.10;
/// ISO speeds are written as customary steps, 2 % off at most; gains are set about as well.
const ISO_ROUNDING: f64 = 0.03;
/// What two shots with the same settings may differ by: shutter and diaphragm do not repeat better.
const REPEAT: f64 = 0.03;
/// Two settings are the same within this much, relative.
const SAME: f64 = 1e-3;

impl Link {
    fn between(shot: Option<&Exposure>, photo: Option<&Exposure>, same: bool) -> Result<Self, CardError> {
        type Setting = (&'static str, fn(&Exposure) -> Option<f64>, f64, f64);
        let settings: [Setting; 3] = [
            ("shutter time", |e| e.seconds, 1.0, SHUTTER_ROUNDING),
            ("aperture", |e| e.f_number, -2.0, APERTURE_ROUNDING),
            ("ISO speed", |e| e.iso, 1.0, ISO_ROUNDING),
        ];
        let (mut ratio, mut variance) = (1.0, 2.0 * REPEAT * REPEAT / 3.0);
        let (mut lacking, mut assumed) = ([Vec::new(), Vec::new()], Vec::new());
        for (name, value, power, rounding) in settings {
            let [one, other] = [shot, photo].map(|e| e.and_then(value).filter(|v| v.is_finite() && *v > 0.0));
            if let (Some(one), Some(other)) = (one, other) {
                if (other / one - 1.0).abs() > SAME {
                    ratio *= (other / one).powf(power);
                    // Both values are rounded, each by itself.
                    variance += 2.0 * rounding * rounding / 3.0;
                }
                continue;
            }
            assumed.push(name);
            lacking[0].extend(one.is_none().then_some(name));
            lacking[1].extend(other.is_none().then_some(name));
        }
        if !assumed.is_empty() && !same {
            let said = |who: &str, what: &[&str]| {
                (!what.is_empty()).then(|| format!("{who} does not tell its {}", what.join(", ")))
            };
            let both = [said("the card shot", &lacking[0]), said("this photo", &lacking[1])];
            let missing = both.into_iter().flatten().collect::<Vec<_>>().join("; ");
            return Err(BorrowError::ExposureUnknown { missing }.into());
        }
        Ok(Self { ratio, relative_u95: 1.96 * variance.sqrt(), assumed })
    }
}

fn remarks(shot: &CardShot, photo: &PhotoFacts, size: [usize; 2], link: &Link) -> Vec<(String, String)> {
    let how = match link.assumed.len() {
        0 => String::new(),
        3 => ", taken to be the same as you said".into(),
        _ => format!("; {} taken to be the same as you said", link.assumed.join(" and ")),
    };
    let mut remarks = vec![(
        "card-borrowed".to_owned(),
        format!(
            "The colours are corrected by the card in {}. This photo got {:.2} ± {:.2} times its exposure{how}. Whether the \
             light changed between the two is not known and not in the ±. Lay a card into the photo where you can.",
            // Without its folders: readings are sent to others.
            shot.path.rsplit(['/', '\\']).next().unwrap_or_default(),
            link.ratio,
            link.ratio * link.relative_u95
        ),
    )];
    let automatic = [&shot.facts, photo].iter().any(|f| f.auto_white_balance == Some(true));
    let untold = [&shot.facts, photo].iter().any(|f| f.auto_white_balance.is_none());
    if automatic {
        let text = "The camera set the white balance by itself, so it may differ between this photo and the card shot: a*, b* \
                    are less sure than they say. Fix the white balance for the whole session.";
        remarks.push(("card-borrowed-auto-white-balance".to_owned(), text.to_owned()));
    }
    let mut doubts = Vec::new();
    if shot.facts.camera.is_none() || photo.camera.is_none() {
        doubts.push("the files do not tell whether one camera took both".to_owned());
    }
    if untold && !automatic {
        doubts.push("the files do not tell whether the white balance was fixed".to_owned());
    }
    if let (Some(one), Some(other)) = (shot.facts.focal_35mm, photo.focal_35mm)
        && one != other
    {
        doubts.push(format!("the focal length was {other:.0} mm, in the card shot {one:.0} mm"));
    }
    let pixels = |[w, h]: [usize; 2]| (w * h) as f64;
    if !(0.95..1.05).contains(&(pixels(size) / pixels(shot.size).max(1.0))) {
        doubts.push(format!(
            "this photo has {} x {} pixels, the card shot {} x {}",
            size[0], size[1], shot.size[0], shot.size[1]
        ));
    }
    if !doubts.is_empty() {
        let text =
            format!("A borrowed correction holds for photos made alike, but {}.", doubts.join(", and "));
        remarks.push(("card-borrowed-doubtful".to_owned(), text));
    }
    remarks
}

/// A card in the photograph itself.
fn seen_as_well(photo: &Photo, settings: &CardSettings) -> Result<Option<(Grid, CardDefinition)>, CardError> {
    let definition = match &settings.definition {
        Some(told) => told.clone(),
        None => CardDefinition::load("chart24-b")?,
    };
    Ok(find::find(photo, &definition).ok().map(|found| (found.grid, definition)))
}

/// How well the borrowed correction reads the card in the photograph.
fn fit_of_seen(
    photo: &Photo,
    grid: &Grid,
    definition: &CardDefinition,
    correction: &Correction,
) -> (String, String) {
    let mut errors: Vec<f64> = sample(photo, grid)
        .iter()
        .zip(&definition.patches)
        .filter(|(seen, _)| seen.count > 0 && seen.high <= 0.1)
        .map(|(seen, patch)| {
            let light = LinearRgb(seen.light.map(|v| v as f32));
            ciede2000(correction.apply(light).to_lab(), patch.lab)
        })
        .collect();
    errors.sort_by(f64::total_cmp);
    let middle = errors.get(errors.len() / 2).copied().unwrap_or(f64::NAN);
    let text = format!(
        "A card lies in this photo as well. It was not used; the borrowed correction reads its patches wrong by CIEDE2000 \
         {middle:.1} at the median. Leave out --card-from for this photo to use its own card."
    );
    ("card-seen-as-well".to_owned(), text)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn exposure(seconds: f64, f_number: f64, iso: f64) -> Exposure {
        Exposure { seconds: Some(seconds), f_number: Some(f_number), iso: Some(iso) }
    }

    /// ISO 12232: H is in proportion to t S / N^2.
    #[test]
    fn the_ratio_follows_shutter_aperture_and_speed() {
        let base = exposure(1.0 / 125.0, 5.6, 100.0);
        for (other, wanted) in [
            (exposure(1.0 / 125.0, 5.6, 100.0), 1.0),
            (exposure(1.0 / 60.0, 5.6, 100.0), 125.0 / 60.0),
            (exposure(1.0 / 125.0, 11.2, 100.0), 0.25),
            (exposure(1.0 / 125.0, 5.6, 400.0), 4.0),
            (exposure(1.0 / 250.0, 2.8, 50.0), 1.0),
        ] {
            let link = Link::between(Some(&base), Some(&other), false).unwrap();
            assert!((link.ratio / wanted - 1.0).abs() < 1e-12, "{other:?}: {}", link.ratio);
        }
    }

    #[test]
    fn the_same_settings_are_surer_than_others() {
        let base = exposure(0.01, 5.6, 100.0);
        let u = |e: &Exposure| Link::between(Some(&base), Some(e), false).unwrap().relative_u95;
        let same = u(&base);
        let steps = [exposure(0.02, 5.6, 100.0), exposure(0.02, 8.0, 100.0), exposure(0.02, 8.0, 200.0)];
        let widths: Vec<f64> = steps.iter().map(u).collect();
        assert!(
            same > 0.02 && same < widths[0] && widths.windows(2).all(|w| w[0] < w[1]),
            "{same} {widths:?}"
        );
        assert!(widths[2] < 0.3);
    }

    /// The customary steps of shutters, apertures and speeds against the third stops they stand for; the lists
    /// are from memory. Above f/1.2, which stands for a half stop as well.
    #[test]
    fn rounding_is_what_the_customary_steps_are_off() {
        let off = |values: &[f64], stops: f64| {
            let per = |v: f64| 3.0 * stops * v.log2();
            values.iter().map(|&v| (per(v) - per(v).round()).abs() / 3.0).fold(0.0, f64::max).exp2() - 1.0
        };
        let shutters = [
            1.0, 1.3, 1.6, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 13.0, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0,
            60.0, 80.0, 100.0, 125.0, 160.0, 200.0, 250.0, 320.0, 400.0, 500.0, 640.0, 800.0, 1000.0, 1250.0,
            1600.0, 2000.0, 2500.0, 3200.0, 4000.0,
        ];
        let apertures = [
            1.4, 1.6, 1.8, 2.0, 2.2, 2.5, 2.8, 3.2, 3.5, 4.0, 4.5, 5.0, 5.6, 6.3, 7.1, 8.0, 9.0, 10.0, 11.0,
            13.0, 14.0, 16.0, 18.0, 20.0, 22.0,
        ];
        let speeds = [50.0, 64.0, 80.0, 100.0, 125.0, 160.0, 200.0, 250.0, 320.0, 400.0, 500.0, 640.0, 800.0];
        assert!((0.06..SHUTTER_ROUNDING).contains(&off(&shutters, 1.0)), "{}", off(&shutters, 1.0));
        assert!((0.05..0.07).contains(&off(&apertures, 2.0)), "{}", off(&apertures, 2.0));
        assert!(off(&speeds.map(|s| s / 100.0), 1.0) < ISO_ROUNDING);
    }

    #[test]
    fn what_is_not_told_is_refused_unless_said_to_be_the_same() {
        let (base, silent) = (exposure(0.01, 5.6, 100.0), Exposure::default());
        let error = Link::between(Some(&base), Some(&silent), false).unwrap_err();
        assert_eq!(error.code(), "exposure-unknown");
        assert!(error.to_string().contains("this photo does not tell its shutter time, aperture, ISO speed"));
        assert!(Link::between(None, Some(&base), false).is_err());
        let told = Link::between(None, Some(&base), true).unwrap();
        assert_eq!((told.ratio, told.assumed.len()), (1.0, 3));
        // What both tell counts all the same.
        let partly = Exposure { f_number: None, ..exposure(0.02, 5.6, 100.0) };
        let link = Link::between(Some(&base), Some(&partly), true).unwrap();
        assert!((link.ratio - 2.0).abs() < 1e-12 && link.assumed == ["aperture"]);
    }
}
