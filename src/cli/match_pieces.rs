//! `match`: a replica against photographs of its reference.

use super::arguments::MatchOptions;
use super::exit::{self, Trouble, say, say_stopped};
use super::match_table::match_table;
use super::outputs::{QUALITY, make_folder};
use super::{score, settings};
use image::RgbImage;
use rayon::prelude::*;
use sherdlight::reading::{Reading, Record, to_json_line};
use sherdlight::report::{
    DISPLAY_SIDE, MatchSide, corrected_picture, difference_chart, jpeg, match_picture, stem_of, write_file,
};
use sherdlight::road::{Settings, Stopped};
use sherdlight::verdict::compare;
use std::io::{self, Write};
use std::path::Path;

/// The largest piece of one photograph, and the picture of it where one is wanted; or why there is none.
type Shot = Result<(Reading, Option<RgbImage>), Box<Stopped>>;

/// Runs the command. The largest piece of each photograph is compared.
pub fn run(options: &MatchOptions) -> Result<u8, Trouble> {
    let settings = settings::settings(&options.read)?;
    let for_references = Settings { without_card: true, ..settings.clone() };
    options.out.as_deref().map_or(Ok(()), make_folder)?;
    let pool = settings::pool(&options.read)?;
    let with_picture = options.out.is_some();
    let (replica, references) = pool.install(|| {
        rayon::join(
            || shot(&options.replica, &settings, with_picture),
            || {
                let shots = options.reference.par_iter();
                shots.map(|path| shot(path, &for_references, with_picture)).collect::<Vec<Shot>>()
            },
        )
    });
    let shots = std::iter::once(&replica).chain(&references);
    let failed: Vec<&Stopped> = shots.filter_map(|shot| shot.as_ref().err().map(|s| &**s)).collect();
    failed.iter().for_each(|stopped| say_stopped(stopped));
    let failed = failed.len();
    let measured: Vec<&(Reading, Option<RgbImage>)> = references.iter().flatten().collect();
    let readings: Vec<&Reading> = measured.iter().map(|(reading, _)| reading).collect();
    let mut compared = false;
    let first = match replica {
        Ok((mut reading, picture)) => {
            if let Some((other, other_picture)) = measured.first() {
                let found = compare(&reading, &readings);
                if let (Some(folder), Some(one), Some(other_one)) = (&options.out, &picture, other_picture) {
                    let name = format!("{}.match.jpg", stem_of(&options.replica));
                    let sides = [(one, &reading), (other_one, other)]
                        .map(|(picture, reading)| MatchSide { picture, reading });
                    let sheet = match_picture(&sides[0], &sides[1], &found);
                    write_file(&folder.join(&name), &jpeg(&sheet, QUALITY)?)?;
                    reading.outputs.insert("match".into(), name);
                    let name = format!("{}.match.svg", stem_of(&options.replica));
                    write_file(&folder.join(&name), difference_chart("match", &found).as_bytes())?;
                    reading.outputs.insert("match_chart".into(), name);
                }
                reading.comparison = Some(found);
                compared = true;
            }
            Record::Measured(Box::new(reading))
        }
        Err(stopped) => Record::Failed(Box::new(stopped.record)),
    };
    let mut out = io::stdout().lock();
    if options.read.json {
        writeln!(out, "{}", to_json_line(&first)?)?;
        for shot in references {
            let record = match shot {
                Ok((reading, _)) => Record::Measured(Box::new(reading)),
                Err(stopped) => Record::Failed(Box::new(stopped.record)),
            };
            writeln!(out, "{}", to_json_line(&record)?)?;
        }
    } else if let Some(comparison) = first.reading().and_then(|r| r.comparison.as_ref()) {
        write!(out, "{}", match_table(comparison))?;
    }
    out.flush()?;
    if !compared {
        say("Nothing was compared: the replica and at least one reference shot must be measured.");
        return Ok(exit::NONE_USABLE);
    }
    Ok(if failed > 0 { exit::SOME_FAILED } else { exit::ALL_MEASURED })
}

fn shot(path: &Path, settings: &Settings, with_picture: bool) -> Shot {
    let mut measured = score::measure(path, settings)?;
    let picture = with_picture.then(|| corrected_picture(&measured.image, DISPLAY_SIDE));
    // A measured photograph has a piece: without one it is stopped.
    Ok((measured.readings.swap_remove(0), picture))
}
