//! `targets add`: the ranges about a Munsell notation.

use super::card::may_write;
use super::exit::{self, Trouble, say};
use super::file_arguments::TargetsAddOptions;
use super::targets::ranges;
use sherdlight::colour::MunsellNotation;
use sherdlight::report::write_file;
use sherdlight::verdict::{Targets, add_notation};
use std::io::{self, Write};
use std::path::Path;

/// Runs the command.
pub fn run(options: &TargetsAddOptions) -> Result<u8, Trouble> {
    let file = place(options)?;
    let mut targets = Targets::load(&options.targets)?;
    let notation = MunsellNotation::parse(&options.munsell).ok_or_else(|| {
        Trouble::usage(
            format!("--munsell: '{}' is no Munsell notation", options.munsell),
            "Give hue, value and chroma, such as '10YR 8/2' or '7.5YR 7.5/1.5', or a neutral such as 'N 3/'.",
        )
    })?;
    let added = add_notation(&mut targets, &options.surface, notation).ok_or_else(|| {
        Trouble::usage(
            format!("--munsell: the renotation of 1943 has no colour {notation}"),
            "Hues go in steps of 2.5 (2.5YR, 5YR, 7.5YR, 10YR), values from 1 to 9, and strong chromas only where \
             surfaces can have them, such as '10YR 8/2'.",
        )
    })?;
    if options.out.is_some()
        && let Some(stem) = file.file_stem()
    {
        targets.id = stem.to_string_lossy().into_owned();
    }
    write_file(file, targets.to_json().as_bytes())?;
    let mut out = io::stdout().lock();
    let [l, a, b] = added.lab;
    writeln!(out, "{} {notation}: L* {l}, a* {a}, b* {b} for D50", options.surface)?;
    targets.values.retain(|t| added.ranges.contains(t));
    write!(out, "{}", ranges(&targets))?;
    writeln!(out, "written: {}", file.display())?;
    out.flush()?;
    say(
        "Aim: half a step of a chart each way (0.5 of value, 1 of chroma, 1.25 of hue), all that is nearer to this chip \
         than to the next. Accept: a whole step.",
    );
    if let Some(why) = added.without_hue {
        say(&format!("No range for the hue: {why}."));
    }
    Ok(exit::ALL_MEASURED)
}

/// Where the new set goes; nothing is overwritten unasked.
fn place(options: &TargetsAddOptions) -> Result<&Path, Trouble> {
    if let Some(out) = &options.out {
        may_write(out, options.replace)?;
        return Ok(out);
    }
    if !Targets::is_file(&options.targets) {
        return Err(Trouble::usage(
            format!("'{}' is built in and cannot be changed", options.targets),
            "Say --out FILE.json for a set of your own.",
        ));
    }
    if !options.replace {
        return Err(Trouble::usage(
            "It is not said where the new ranges go",
            "Say --out FILE.json for a new file, or --replace to change this one.",
        ));
    }
    Ok(Path::new(&options.targets))
}
