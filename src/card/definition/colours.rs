//! From the columns of a CGATS table to CIELAB for D50 and the 2 degree observer.

use super::cgats::CgatsTable;
use super::conditions::{Conditions, conditions, white_of};
use super::fault::DefinitionFault;
use super::spectral;
use crate::colour::constants::WHITE_D50;
use crate::colour::{LabD50, adapt, cielab, cielab_to_xyz};

/// The colours of a table, one a set.
#[derive(Debug)]
pub(super) struct Colours {
    pub lab: Vec<LabD50>,
    /// Half-widths of 95 % intervals, where the table has standard deviations.
    pub u95: Option<Vec<[f64; 3]>>,
    /// The columns used, in words.
    pub from: String,
    /// What was decided or assumed.
    pub remarks: Vec<String>,
}

/// Faults listed for one table, at most.
const MOST_FAULTS: usize = 20;
/// Largest Y (of 1 or 100) up to which XYZ counts from 0 to 1.
const UNIT_Y: f64 = 1.5;
/// Largest reflectance up to which it counts from 0 to 1: more than white paper that fluoresces gives.
const UNIT_REFLECTANCE: f64 = 2.0;
/// A spectrum must reach from here to here, in nm: beyond, little is added to X, Y, Z (ASTM E308).
const REACH_NM: [f64; 2] = [400.0, 700.0];
/// Widest step between wavelengths in nm (ASTM E308 goes to 20).
const WIDEST_STEP: f64 = 20.0;

/// Kinds of columns that tell a colour.
#[derive(Debug, Clone, PartialEq)]
enum Columns {
    Lab([usize; 3]),
    Lch([usize; 3]),
    Xyz([usize; 3]),
    Xyy([usize; 3]),
    Spectrum(Spectrum),
}

/// Columns by wavelength, and what their names say of the scale.
#[derive(Debug, Clone, PartialEq)]
struct Spectrum {
    columns: Vec<usize>,
    first: f64,
    step: f64,
    percent: Option<bool>,
}

/// The colours of a table.
///
/// # Errors
/// Every fault: columns that tell no colour, an observer or illuminant that cannot be used, cells that
/// are no numbers.
pub(super) fn colours(table: &CgatsTable) -> Result<Colours, Vec<DefinitionFault>> {
    let told = conditions(table).map_err(|fault| vec![fault])?;
    let three = |names: [&str; 3]| {
        let places = names.map(|n| table.field(n));
        Some([places[0]?, places[1]?, places[2]?])
    };
    let tristimulus = [
        three(["LAB_L", "LAB_A", "LAB_B"]).map(Columns::Lab),
        three(["LAB_L", "LAB_C", "LAB_H"]).map(Columns::Lch),
        three(["XYZ_X", "XYZ_Y", "XYZ_Z"]).map(Columns::Xyz),
        three(["XYY_X", "XYY_Y", "XYY_CAPY"]).map(Columns::Xyy),
    ]
    .into_iter()
    .flatten()
    .next();
    let spectrum = spectrum(table);
    let mut remarks = Vec::new();
    // Colours told for another white or observer, or for none that is named, give way to the spectra.
    let as_wanted = told.observer.as_ref().is_some_and(|o| o.0 == 2)
        && told.illuminant.as_ref().is_some_and(|i| i.0 == "D50");
    let columns = match (tristimulus, spectrum) {
        (Some(columns), Ok(Some(_))) if as_wanted => columns,
        (_, Ok(Some(spectrum))) => Columns::Spectrum(spectrum),
        (Some(columns), Ok(None)) => columns,
        (Some(columns), Err(fault)) => {
            remarks.push(format!("the spectra are left aside: {fault}"));
            columns
        }
        (None, Err(fault)) => return Err(vec![fault]),
        (None, Ok(None)) => return Err(vec![no_colours(table)]),
    };
    let white = match &columns {
        Columns::Spectrum(_) => WHITE_D50,
        _ => usable_white(&told, &mut remarks).map_err(|fault| vec![fault])?,
    };
    let (lab, from) = convert(table, &columns, white, &mut remarks)?;
    let u95 = match three(["STDEV_L", "STDEV_A", "STDEV_B"]) {
        Some(places) => {
            remarks.push("the plus-or-minus of each patch is twice its STDEV_L, STDEV_A, STDEV_B".into());
            let spread = numbers(table, &places)?;
            Some(spread.iter().map(|s| [0, 1, 2].map(|k| 2.0 * s[k].abs())).collect())
        }
        None => None,
    };
    Ok(Colours { lab, u95, from, remarks })
}

/// The white the colours were computed for, if they can be used.
fn usable_white(told: &Conditions, remarks: &mut Vec<String>) -> Result<[f64; 3], DefinitionFault> {
    match &told.observer {
        Some((10, line)) => {
            return Err(DefinitionFault::at(
                *line,
                "the colours are for the 10 degree observer and cannot be carried over to the 2 degree \
                 observer; export them for 2 degrees, or export the spectra",
            ));
        }
        Some(_) => {}
        None => remarks.push("the file names no observer: the CIE 1931 2 degree observer is assumed".into()),
    }
    match &told.illuminant {
        None => {
            remarks.push("the file names no illuminant: D50 is assumed".into());
            Ok(WHITE_D50)
        }
        Some((name, line)) => {
            let white = white_of(name).ok_or_else(|| {
                let reason = format!(
                    "the white of illuminant {name} is not known here; export the colours for D50, or the spectra \
                     (known: A, C, D50, D55, D65)"
                );
                DefinitionFault::at(*line, reason)
            })?;
            if name != "D50" {
                remarks.push(format!(
                    "the colours are for illuminant {name} and were carried to D50 by linear Bradford \
                     adaptation: an approximation, spectra are better"
                ));
            }
            Ok(white)
        }
    }
}

fn convert(
    table: &CgatsTable,
    columns: &Columns,
    white: [f64; 3],
    remarks: &mut Vec<String>,
) -> Result<(Vec<LabD50>, String), Vec<DefinitionFault>> {
    let of_xyz = |xyz: [f64; 3]| -> LabD50 {
        let xyz = if white == WHITE_D50 { xyz } else { adapt(xyz, white, WHITE_D50) };
        cielab(xyz, WHITE_D50).into()
    };
    let of_lab = |lab: [f64; 3]| -> LabD50 {
        if white == WHITE_D50 { lab.into() } else { of_xyz(cielab_to_xyz(lab, white)) }
    };
    let triple = |v: &Vec<f64>| [v[0], v[1], v[2]];
    Ok(match columns {
        Columns::Lab(places) => {
            let values = numbers(table, places)?;
            (values.iter().map(|v| of_lab(triple(v))).collect(), "LAB_L, LAB_A, LAB_B".into())
        }
        Columns::Lch(places) => {
            let values = numbers(table, places)?;
            let lab = |v: &Vec<f64>| {
                let (sin, cos) = v[2].to_radians().sin_cos();
                of_lab([v[0], v[1] * cos, v[1] * sin])
            };
            (values.iter().map(lab).collect(), "LAB_L, LAB_C, LAB_H".into())
        }
        Columns::Xyz(places) => {
            let values = numbers(table, places)?;
            let scale = scale_of_y(&values, 1, remarks);
            let lab = |v: &Vec<f64>| of_xyz(triple(v).map(|x| x / scale));
            (values.iter().map(lab).collect(), "XYZ_X, XYZ_Y, XYZ_Z".into())
        }
        Columns::Xyy(places) => {
            let values = numbers(table, places)?;
            let scale = scale_of_y(&values, 2, remarks);
            let faults: Vec<DefinitionFault> = table
                .sets
                .iter()
                .zip(&values)
                .filter(|(_, v)| !(v[1] > 0.0 && v[1] <= 1.0))
                .map(|(set, v)| {
                    let reason = format!("a chromaticity lies between 0 and 1, this is {}", v[1]);
                    DefinitionFault::at(set[places[1]].line, reason).of("XYY_Y")
                })
                .take(MOST_FAULTS)
                .collect();
            if !faults.is_empty() {
                return Err(faults);
            }
            let lab = |v: &Vec<f64>| {
                let (x, y, big) = (v[0], v[1], v[2] / scale);
                of_xyz([x / y * big, big, (1.0 - x - y) / y * big])
            };
            (values.iter().map(lab).collect(), "XYY_X, XYY_Y, XYY_CAPY".into())
        }
        Columns::Spectrum(spectrum) => {
            let values = numbers(table, &spectrum.columns)?;
            let largest = values.iter().flatten().fold(0.0, |m: f64, v| m.max(*v));
            let percent = spectrum.percent.unwrap_or(largest > UNIT_REFLECTANCE);
            if spectrum.percent.is_none() {
                let counts = if percent { "percent" } else { "0 to 1" };
                remarks.push(format!("reflectance is taken as {counts}, by its largest value, {largest}"));
            }
            let lab = |v: &Vec<f64>| {
                let reflectance: Vec<f64> = v.iter().map(|r| if percent { r / 100.0 } else { *r }).collect();
                spectral::lab(&reflectance, spectrum.first, spectrum.step)
            };
            let last = spectrum.first + spectrum.step * (spectrum.columns.len() - 1) as f64;
            let from = format!(
                "spectra, {} to {last} nm by {} nm, summed as in ASTM E308 for D50 and the 2 degree observer",
                spectrum.first, spectrum.step
            );
            (values.iter().map(lab).collect(), from)
        }
    })
}

/// 1 or 100, by the largest Y.
fn scale_of_y(values: &[Vec<f64>], place: usize, remarks: &mut Vec<String>) -> f64 {
    let largest = values.iter().map(|v| v[place]).fold(0.0, f64::max);
    let (scale, counts) = if largest <= UNIT_Y { (1.0, "0 to 1") } else { (100.0, "0 to 100") };
    remarks.push(format!("Y is taken as {counts}, by its largest value, {largest}"));
    scale
}

/// The numbers of some columns, set by set.
fn numbers(table: &CgatsTable, columns: &[usize]) -> Result<Vec<Vec<f64>>, Vec<DefinitionFault>> {
    let mut faults = Vec::new();
    let mut values = Vec::with_capacity(table.sets.len());
    for set in &table.sets {
        let mut row = Vec::with_capacity(columns.len());
        for &column in columns {
            match set[column].number() {
                Ok(value) => row.push(value),
                Err(reason) => faults
                    .push(DefinitionFault::at(set[column].line, reason).of(table.fields[column].as_str())),
            }
        }
        values.push(row);
        if faults.len() >= MOST_FAULTS {
            break;
        }
    }
    if faults.is_empty() { Ok(values) } else { Err(faults) }
}

/// The wavelength in a field's name: its last digits after one of the prefixes in use.
fn wavelength(field: &str) -> Option<(f64, Option<bool>)> {
    let name = field.to_ascii_uppercase();
    let digits = name.trim_start_matches(|c: char| !c.is_ascii_digit());
    let prefix = name[..name.len() - digits.len()].trim_end_matches('_');
    let percent = match prefix {
        "SPECTRAL_NM" | "SPECTRAL" | "NM" => None,
        "SPECTRAL_PCT" => Some(true),
        "SPECTRAL_DEC" => Some(false),
        _ => return None,
    };
    let nm: u32 = digits.parse().ok()?;
    (100..=3000).contains(&nm).then_some((f64::from(nm), percent))
}

/// The spectral columns; `None` where there are none, or a single one.
fn spectrum(table: &CgatsTable) -> Result<Option<Spectrum>, DefinitionFault> {
    let mut bands: Vec<(f64, usize, Option<bool>)> = table
        .fields
        .iter()
        .enumerate()
        .filter_map(|(column, field)| wavelength(field).map(|(nm, percent)| (nm, column, percent)))
        .collect();
    if bands.is_empty() {
        bands = paired(table)?;
    }
    if bands.len() < 2 {
        return Ok(None);
    }
    bands.sort_by(|a, b| a.0.total_cmp(&b.0));
    let fault =
        |reason: String| DefinitionFault::at(table.line, reason).of(table.fields[bands[0].1].as_str());
    let step = bands[1].0 - bands[0].0;
    if let Some(w) = bands.windows(2).find(|w| w[1].0 - w[0].0 != step || step <= 0.0) {
        return Err(fault(format!(
            "the wavelengths are not evenly spaced: {} nm follows {} nm in steps of {step} nm",
            w[1].0, w[0].0
        )));
    }
    let (first, last) = (bands[0].0, bands[bands.len() - 1].0);
    if first > REACH_NM[0] || last < REACH_NM[1] {
        return Err(fault(format!(
            "the spectra run from {first} to {last} nm; {} to {} nm at least are needed",
            REACH_NM[0], REACH_NM[1]
        )));
    }
    if step > WIDEST_STEP {
        return Err(fault(format!(
            "the wavelengths are {step} nm apart; {WIDEST_STEP} nm at most can be summed"
        )));
    }
    let percent = bands[0].2.filter(|p| bands.iter().all(|b| b.2 == Some(*p)));
    Ok(Some(Spectrum { columns: bands.into_iter().map(|b| b.1).collect(), first, step, percent }))
}

/// Columns in pairs, `SPECTRAL_NM` with the wavelength and `SPECTRAL_PCT` or `SPECTRAL_DEC` with the value.
fn paired(table: &CgatsTable) -> Result<Vec<(f64, usize, Option<bool>)>, DefinitionFault> {
    let mut bands = Vec::new();
    for (column, pair) in table.fields.windows(2).enumerate() {
        let percent = pair[1].eq_ignore_ascii_case("SPECTRAL_PCT");
        if !pair[0].eq_ignore_ascii_case("SPECTRAL_NM")
            || !(percent || pair[1].eq_ignore_ascii_case("SPECTRAL_DEC"))
        {
            continue;
        }
        let Some(first) = table.sets.first() else { continue };
        let fault = |line: usize, reason: String| DefinitionFault::at(line, reason).of("SPECTRAL_NM");
        let nm = first[column].number().map_err(|reason| fault(first[column].line, reason))?;
        for set in &table.sets {
            let cell = &set[column];
            if cell.number() != Ok(nm) {
                let reason = format!("the wavelength is '{}' here and {nm} in the first set", cell.text);
                return Err(fault(cell.line, reason));
            }
        }
        bands.push((nm, column + 1, Some(percent)));
    }
    Ok(bands)
}

/// Why these columns tell no colour.
fn no_colours(table: &CgatsTable) -> DefinitionFault {
    let holds = |start: &str| table.fields.iter().any(|f| f.to_ascii_uppercase().starts_with(start));
    let why = if holds("RGB_") {
        "RGB values belong to one device and tell no colour by themselves"
    } else if holds("CMYK_") || holds("CMY_") {
        "amounts of ink tell no colour by themselves"
    } else if holds("D_") {
        "optical densities through broad filters tell no colour"
    } else if holds("LAB_") || holds("XYZ_") || holds("XYY_") {
        "a part of the three columns of a colour is missing"
    } else {
        "none of them is known to tell a colour"
    };
    let fields: Vec<&str> = table.fields.iter().take(12).map(String::as_str).collect();
    let reason = format!(
        "the columns are {}{}: {why}; LAB_L, LAB_A, LAB_B, or XYZ_X, XYZ_Y, XYZ_Z, or spectra are needed",
        fields.join(", "),
        if table.fields.len() > 12 { ", ..." } else { "" }
    );
    DefinitionFault::at(table.line, reason)
}
