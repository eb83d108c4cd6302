//! `targets learn`: ranges from photographs of pieces that are trusted.

use super::card::may_write;
use super::exit::{self, Trouble, say};
use super::file_arguments::TargetsLearnOptions;
use super::outputs::Wanted;
use super::score::measure_one;
use super::targets::words;
use super::{progress, settings, table};
use rayon::prelude::*;
use sherdlight::reading::{Reading, Record, to_json_line};
use sherdlight::report::write_file;
use sherdlight::verdict::{LearnSettings, LearnedTargets, Quantity, learn_targets};
use std::io::{self, Write};

/// Runs the command. The largest piece of each photograph counts.
pub fn run(options: &TargetsLearnOptions) -> Result<u8, Trouble> {
    may_write(&options.out, options.replace)?;
    let learn = learn_settings(options)?;
    let settings = settings::settings(&options.read)?;
    let pool = settings::pool(&options.read)?;
    let bar = progress::counting(options.photographs.len(), options.read.quiet);
    let outcomes: Vec<_> = pool.install(|| {
        let one = |path: &std::path::PathBuf| {
            let outcome = measure_one(path, "", &settings, None, &Wanted::nothing());
            bar.inc(1);
            outcome
        };
        options.photographs.par_iter().map(one).collect()
    });
    bar.finish_and_clear();
    outcomes.iter().filter_map(|o| o.stopped.as_ref()).for_each(|line| say(line));
    let failed = outcomes.iter().filter(|o| o.stopped.is_some()).count();
    let records: Vec<Record> = outcomes.into_iter().flat_map(|o| o.records.into_iter().take(1)).collect();
    let mut out = io::stdout().lock();
    if options.read.json {
        for record in &records {
            writeln!(out, "{}", to_json_line(record)?)?;
        }
        out.flush()?;
    }
    let readings: Vec<&Reading> = records.iter().filter_map(Record::reading).collect();
    let learned = learn_targets(&readings, &learn).map_err(|error| Trouble::NoneUsable {
        sentence: error.to_string(),
        hint: "Nothing was written. Photograph three or more pieces that you trust, each with the card."
            .into(),
    })?;
    write_file(&options.out, learned.targets.to_json().as_bytes())?;
    if !options.read.json {
        write!(out, "{}", sources(&learned))?;
        writeln!(out, "written: {}", options.out.display())?;
        out.flush()?;
    }
    if !options.read.quiet {
        learned.left_out.iter().for_each(|sentence| say(sentence));
        learned_words(&learned).iter().for_each(|sentence| say(sentence));
    }
    Ok(if failed > 0 { exit::SOME_FAILED } else { exit::ALL_MEASURED })
}

fn learn_settings(options: &TargetsLearnOptions) -> Result<LearnSettings, Trouble> {
    if options.aim_coverage >= options.coverage {
        return Err(Trouble::usage(
            format!(
                "--aim-coverage {} is not less than --coverage {}",
                options.aim_coverage, options.coverage
            ),
            "The aim lies inside what is accepted: give it the smaller share.",
        ));
    }
    let stem = options.out.file_stem().map_or_else(|| "learned".into(), |s| s.to_string_lossy().into_owned());
    Ok(LearnSettings {
        id: options.id.clone().filter(|id| !id.trim().is_empty()).unwrap_or(stem),
        aim_coverage: options.aim_coverage / 100.0,
        accept_coverage: options.coverage / 100.0,
        confidence: options.confidence / 100.0,
    })
}

/// What each range rests on.
fn sources(learned: &LearnedTargets) -> String {
    let titles = ["surface", "value", "pieces", "mean", "scatter", "of it measuring", "aim", "accept"];
    let mut rows = vec![titles.map(str::to_owned).to_vec()];
    rows.extend(learned.values.iter().map(|v| {
        let number = |value: f64| match v.target.value {
            Quantity::RetainedFraction | Quantity::AreaFraction => format!("{value:.3}"),
            Quantity::ReflectanceRatio | Quantity::Evenness => format!("{value:.2}"),
            _ => format!("{value:.1}"),
        };
        let share = match v.measuring_share() {
            1.0 => "all".into(),
            share => format!("{:.0} %", share * 100.0),
        };
        vec![
            v.target.surface.clone(),
            v.target.value.name().into(),
            v.pieces.to_string(),
            number(v.mean),
            number(v.scatter),
            share,
            words(v.target.aim),
            words(v.target.accept),
        ]
    }));
    table::align(&rows, &[2, 3, 4, 5])
}

/// How to take the table.
fn learned_words(learned: &LearnedTargets) -> Vec<String> {
    let all = learned.values.iter().filter(|v| v.measuring_share() >= 1.0).count();
    let mut out = vec![
        "Each range holds its share of such pieces for that value alone: a good piece may still miss one of many."
            .to_owned(),
    ];
    if all > 0 {
        out.push(format!(
            "Measuring: {all} of {} values scatter no more than their plus-or-minus explains ('all'). Those ranges are as \
             wide as the photographs are unsure: more pieces, softer light or a light ball make them narrower.",
            learned.values.len()
        ));
    }
    out
}
