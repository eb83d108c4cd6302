//! Settings as text, so that a reading can be made again long after: exact, without a folder's name.
//!
//! Comes in: [`Settings`]. Goes out: one JSON object as text, and the settings again. A photograph that the card was
//! borrowed from is named by file name and hash; who reads the text must find it.

use super::{BeforeFile, Settings};
use crate::card::{CardDefinition, CardError, CardSettings};
use crate::light::FormChoice;
use crate::photo::Limits;
use crate::surface::{Outline, SurfaceSettings};
use crate::verdict::{DecisionRule, TargetFault, Targets};
use serde::{Deserialize, Serialize};

/// What was told, and the target ranges in full; what was not told is left out.
#[derive(Debug, Default, Serialize, Deserialize)]
#[serde(default)]
pub(super) struct Told {
    /// A card definition that is compiled in.
    #[serde(skip_serializing_if = "Option::is_none")]
    card: Option<String>,
    /// Any other card definition, in full: text of its JSON file.
    #[serde(skip_serializing_if = "Option::is_none")]
    card_definition: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    patch_mm: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    card_corners: Option<[[f64; 2]; 4]>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    skip_patches: Vec<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    card_from: Option<CardFrom>,
    #[serde(skip_serializing_if = "Option::is_none")]
    outline_box: Option<[f64; 4]>,
    #[serde(skip_serializing_if = "Option::is_none")]
    outline: Option<Vec<[f64; 2]>>,
    #[serde(skip_serializing_if = "is_false")]
    smudged: bool,
    #[serde(skip_serializing_if = "Option::is_none")]
    ball: Option<[f64; 3]>,
    #[serde(skip_serializing_if = "Option::is_none")]
    form: Option<String>,
    #[serde(skip_serializing_if = "is_false")]
    without_card: bool,
    #[serde(skip_serializing_if = "Option::is_none")]
    before: Option<BeforeFile>,
    risk: f64,
    /// SHA-256 of the target file as it was read.
    targets_sha256: String,
    /// The target ranges, as JSON of a target file.
    targets: serde_json::Value,
}

/// The photograph that a card was borrowed from.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct CardFrom {
    /// Its file name, without folders.
    pub file: String,
    /// SHA-256 of its bytes.
    pub sha256: String,
    /// Whether exposures that no file tells were taken to be equal.
    pub same_exposure: bool,
}

/// Settings from their text; a card that was borrowed and the photograph before the fire are still to be put in.
#[derive(Debug)]
pub struct Recalled {
    /// All but the borrowed card and the photograph before the fire.
    pub settings: Settings,
    /// The photograph whose card was borrowed, for [`Settings::borrow`].
    pub card_from: Option<CardFrom>,
    /// The photograph before the fire, for [`Settings::before`].
    pub before: Option<BeforeFile>,
}

/// Why settings cannot be had from their text.
#[derive(Debug, Clone, thiserror::Error)]
#[non_exhaustive]
pub enum RecallError {
    /// It is no text of settings.
    #[error("the settings cannot be read: {0}")]
    Text(String),
    /// The card's definition.
    #[error("{0}")]
    Card(#[from] CardError),
    /// The target ranges.
    #[error("the target ranges in the settings cannot be used: {}", .0.first().map_or_else(String::new, ToString::to_string))]
    Targets(Vec<TargetFault>),
}

impl Settings {
    /// All settings that bear on the result but the limits on files, as one JSON object.
    pub fn told(&self) -> String {
        let built_in = |card: &CardDefinition| {
            CardDefinition::ids().contains(&card.id.as_str())
                && CardDefinition::load(&card.id).is_ok_and(|known| known == *card)
        };
        let definition = self.card.definition.as_ref();
        let told = Told {
            card: definition.filter(|card| built_in(card)).map(|card| card.id.clone()),
            card_definition: definition.filter(|card| !built_in(card)).map(CardDefinition::to_json),
            patch_mm: self.card.patch_mm,
            card_corners: self.card.corners,
            skip_patches: self.card.skip.clone(),
            card_from: self.borrow.as_ref().map(|borrow| CardFrom {
                file: bare_name(&borrow.shot.path),
                sha256: borrow.shot.facts.sha256.clone(),
                same_exposure: borrow.same_exposure,
            }),
            outline_box: match &self.surface.outline {
                Some(Outline::Box(sides)) => Some(*sides),
                _ => None,
            },
            outline: match &self.surface.outline {
                Some(Outline::Polygon(points)) => Some(points.clone()),
                _ => None,
            },
            smudged: self.surface.smudged,
            ball: self.surface.ball,
            form: match self.form {
                FormChoice::Auto => None,
                FormChoice::Round => Some("round".into()),
                FormChoice::Flat => Some("flat".into()),
            },
            without_card: self.without_card,
            before: self
                .before
                .as_ref()
                .map(|before| BeforeFile { file: bare_name(&before.path), sha256: before.sha256().into() }),
            risk: self.rule.risk,
            targets_sha256: self.targets.sha256.clone(),
            targets: serde_json::from_str(&self.targets.to_json()).unwrap_or_default(),
        };
        serde_json::to_string(&told).unwrap_or_default()
    }

    /// The settings of a text of [`Settings::told`].
    ///
    /// # Errors
    /// [`RecallError`], where the text is none or what it names is not known to this program.
    pub fn recalled(text: &str) -> Result<Recalled, RecallError> {
        let told: Told = serde_json::from_str(text).map_err(|e| RecallError::Text(e.to_string()))?;
        let definition = match (&told.card, &told.card_definition) {
            (Some(id), _) if CardDefinition::ids().contains(&id.as_str()) => Some(CardDefinition::load(id)?),
            (Some(id), _) => return Err(RecallError::Text(format!("no card is called '{id}'"))),
            (None, Some(text)) => Some(CardDefinition::from_json("settings", text)?),
            (None, None) => None,
        };
        let mut targets = Targets::parse(&told.targets.to_string()).map_err(RecallError::Targets)?;
        targets.sha256 = told.targets_sha256;
        if !(0.001..=0.5).contains(&told.risk) {
            return Err(RecallError::Text(format!("a risk of {} cannot be", told.risk)));
        }
        let settings = Settings {
            limits: Limits::default(),
            card: CardSettings {
                definition,
                patch_mm: told.patch_mm,
                corners: told.card_corners,
                skip: told.skip_patches,
            },
            borrow: None,
            surface: SurfaceSettings {
                outline: told.outline_box.map(Outline::Box).or(told.outline.map(Outline::Polygon)),
                smudged: told.smudged,
                ball: told.ball,
            },
            form: match told.form.as_deref() {
                Some("round") => FormChoice::Round,
                Some("flat") => FormChoice::Flat,
                _ => FormChoice::Auto,
            },
            targets,
            rule: DecisionRule { risk: told.risk },
            without_card: told.without_card,
            before: None,
        };
        Ok(Recalled { settings, card_from: told.card_from, before: told.before })
    }
}

/// A file's name without its folders, of either kind of system.
pub(super) fn bare_name(path: &str) -> String {
    path.rsplit(['/', '\\']).next().unwrap_or_default().into()
}

fn is_false(told: &bool) -> bool {
    !told
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn settings_come_back_as_they_were() {
        let plain = Settings::new().unwrap();
        let mut all = plain.clone();
        let mut own = CardDefinition::load("chart24-b").unwrap();
        own.id = "my-card".into();
        own.patches[3].lab.l += 0.123_456_7;
        all.card = CardSettings {
            definition: Some(own),
            patch_mm: Some(12.345_678),
            corners: Some([[1.0, 2.5], [3.0, 4.0], [5.0, 6.1], [7.0, 8.0]]),
            skip: vec!["1".into(), "24".into()],
        };
        all.surface = SurfaceSettings {
            outline: Some(Outline::Polygon(vec![[1.0, 2.0], [3.0, 4.0], [5.5, 6.0]])),
            smudged: true,
            ball: Some([10.0, 20.0, 3.3]),
        };
        all.form = FormChoice::Round;
        all.rule = DecisionRule { risk: 0.012_345 };
        all.without_card = true;
        // Ranges with more decimals than a record has, from a file whose text is not the program's own.
        let text = all.targets.to_json().replace("73.5", "73.512345").replace('\n', " \n");
        all.targets = Targets::parse(&text).unwrap();
        let mut boxed = plain.clone();
        boxed.surface.outline = Some(Outline::Box([1.0, 2.0, 30.0, 40.0]));
        boxed.card.definition = Some(CardDefinition::load("chart24-iso").unwrap());
        for settings in [plain, all, boxed] {
            let told = settings.told();
            let recalled = Settings::recalled(&told).unwrap();
            assert_eq!(recalled.settings.sha256(), settings.sha256(), "{told}");
            assert_eq!(recalled.settings.targets, settings.targets);
            assert_eq!(recalled.settings.told(), told);
            assert_eq!(recalled.card_from, None);
        }
    }

    #[test]
    fn what_is_no_text_of_settings_is_told() {
        let good = Settings::new().unwrap().told();
        for (text, said) in [
            ("", "cannot be read"),
            ("{}", "target ranges"),
            (&good.replace("\"risk\":0.05", "\"risk\":7"), "a risk of 7"),
            (&good.replace("{\"risk\"", "{\"card\":\"other\",\"risk\""), "no card is called 'other'"),
        ] {
            let error = Settings::recalled(text).unwrap_err().to_string();
            assert!(error.contains(said), "{text}: {error}");
        }
    }
}
