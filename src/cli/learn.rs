//! `card learn`: the definition of a home-made card from photographs beside a known one.

use super::card::{may_write, patches, write_definition};
use super::exit::{self, Trouble, say};
use super::file_arguments::CardLearnOptions;
use super::{progress, settings};
use rayon::prelude::*;
use sherdlight::card::{
    CardFile, CardLayout, LearnError, LearnSettings, LearnView, Learned, TurnFrom, learn_card, learn_view,
};
use sherdlight::photo::{self, Limits};
use std::io::{self, Write};
use std::path::Path;

/// Runs the command.
pub fn run(options: &CardLearnOptions) -> Result<u8, Trouble> {
    may_write(&options.out, options.replace)?;
    let stem = options.out.file_stem().map_or_else(|| "card".into(), |s| s.to_string_lossy().into_owned());
    let learn = LearnSettings {
        id: options.id.clone().unwrap_or(stem),
        layout: CardLayout::load(&options.layout)?,
        beside: CardFile::load(&options.beside, None)?.definition,
    };
    let corners = corners(options)?;
    let bar = progress::counting(options.photographs.len(), options.quiet);
    let one = |(path, corners): (&std::path::PathBuf, &Option<[[f64; 2]; 4]>)| {
        let view = read(path, &learn, *corners);
        bar.inc(1);
        view
    };
    let read: Vec<Result<LearnView, String>> =
        options.photographs.par_iter().zip(&corners).map(one).collect();
    bar.finish_and_clear();
    let (mut views, mut names) = (Vec::new(), Vec::new());
    for (path, view) in options.photographs.iter().zip(read) {
        match view {
            Ok(view) => {
                views.push(view);
                names.push(path.display().to_string());
            }
            Err(sentence) => say(&format!("{}: {sentence}", path.display())),
        }
    }
    if views.is_empty() {
        return Err(Trouble::NoneUsable {
            sentence: "No photograph shows both cards".into(),
            hint: "Lay them side by side in the same soft light and show both whole.".into(),
        });
    }
    let learned = learn_card(&views, &learn).map_err(|error| trouble(&error, &names))?;
    write_definition(&learned.definition, &options.out, options.replace)?;
    let mut out = io::stdout().lock();
    write!(out, "{}", patches(&learned.definition))?;
    writeln!(out, "written: {}", options.out.display())?;
    out.flush()?;
    if !options.quiet {
        tell(&learned, &names);
    }
    let failed = options.photographs.len() - names.len();
    Ok(if failed > 0 { exit::SOME_FAILED } else { exit::ALL_MEASURED })
}

/// Corners told, one a photograph.
fn corners(options: &CardLearnOptions) -> Result<Vec<Option<[[f64; 2]; 4]>>, Trouble> {
    let photographs = options.photographs.len();
    if !options.corners.is_empty() && options.corners.len() != photographs {
        return Err(Trouble::usage(
            format!("--corners is given {} times for {photographs} photographs", options.corners.len()),
            "Give it once for each photograph in order, 'find' for those to be found.",
        ));
    }
    let mut out = vec![None; photographs];
    for (told, text) in out.iter_mut().zip(&options.corners) {
        if text != "find" {
            *told = Some(settings::corners("--corners", text, settings::CARD_CORNERS)?);
        }
    }
    Ok(out)
}

fn read(path: &Path, learn: &LearnSettings, corners: Option<[[f64; 2]; 4]>) -> Result<LearnView, String> {
    let photo = photo::read(path, &Limits::default()).map_err(|e| format!("{e}. {}", e.hint()))?;
    learn_view(&photo, learn, corners).map_err(|e| {
        let error = LearnError::from(e);
        format!("{error}. {}", error.hint())
    })
}

fn trouble(error: &LearnError, names: &[String]) -> Trouble {
    let hint = error.hint();
    match error {
        LearnError::Turn { view, .. } => {
            let name = names.get(*view).map_or("", String::as_str);
            Trouble::NoneUsable { sentence: format!("{name}: {error}"), hint: hint.into() }
        }
        LearnError::Definition(_) => Trouble::settings(error.to_string(), hint),
        _ => Trouble::NoneUsable { sentence: error.to_string(), hint: hint.into() },
    }
}

/// What became of each photograph and each patch that is not plain, for people.
fn tell(learned: &Learned, names: &[String]) {
    for (view, name) in learned.views.iter().zip(names) {
        let turn = match view.turn {
            TurnFrom::Told => "corners as told",
            TurnFrom::Layout => "turned by the colours of the layout file",
            TurnFrom::TopLeft => "first patch: the corner nearest to the top left",
            TurnFrom::FirstView => "turned by the colours of the first photograph",
        };
        say(&format!(
            "{name}: {turn}; known card predicted from itself to CIEDE2000 {:.1}",
            view.known_held_out
        ));
    }
    for (patch, definition) in learned.patches.iter().zip(&learned.definition.patches) {
        if patch.used.len() < names.len() || !patch.outliers.is_empty() {
            let outliers: Vec<&str> =
                patch.outliers.iter().filter_map(|&j| Some(names.get(j)?.as_str())).collect();
            let why = if outliers.is_empty() {
                "clipped, too dark or covered in the others".to_owned()
            } else {
                format!("far off in {}", outliers.join(", "))
            };
            say(&format!(
                "patch {}: from {} of {} photographs; {why}",
                definition.id,
                patch.used.len(),
                names.len()
            ));
        }
    }
    learned.remarks.iter().for_each(|remark| say(remark));
}
