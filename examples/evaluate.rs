//! Compares what the program says about `demo-images` with `truth.json`.
//!
//! `cargo run --release --example evaluate [-- DIR]`. It starts the program built beside it and reads
//! nothing but its records and label maps. What is missing counts against the program.
#![allow(clippy::print_stdout, clippy::print_stderr)]

use serde_json::Value;
use sherdlight::colour::{LabD50, ciede2000};
use std::collections::BTreeMap;
use std::error::Error;
use std::path::{Path, PathBuf};
use std::process::Command;

const SURFACES: [(&str, u8); 4] = [("white", 1), ("red", 2), ("black", 3), ("body", 4)];
/// Smaller surfaces are not compared, pixels.
const LEAST_AREA: f64 = 2000.0;
/// Stands for a value that is missing.
const MISSED: f64 = 99.0;
/// A fault is clearly there above the second severity, clearly not below the first.
const CLEAR: [f64; 2] = [0.15, 0.4];

fn main() -> Result<(), Box<dyn Error>> {
    let dir = std::env::args().nth(1).map_or_else(|| PathBuf::from("demo-images"), PathBuf::from);
    let truth: Value = serde_json::from_str(&std::fs::read_to_string(dir.join("truth.json"))?)?;
    let pictures = truth["pictures"].as_array().ok_or("truth.json lists no pictures")?;
    let work = tempfile::tempdir()?;
    let (records, exit) = score(&dir, pictures, work.path())?;

    let mut sums = BTreeMap::<(&str, &str), Vec<f64>>::new();
    let (mut cards, mut kept, mut covered, mut calls) = (0, Vec::new(), Vec::new(), [0usize; 6]);
    println!(
        "photograph                   card  grade        white   red black  body   kept  faults: said, in truth"
    );
    for picture in pictures {
        let name = text(&picture["name"]);
        let none = Value::Null;
        let record = records.get(name).unwrap_or(&none);
        let off = corner_error(&record["card"], &picture["card"]);
        cards += usize::from(off < 0.25);
        let mut row = format!("{name:<28} {off:4.2}  {:<11}", text(&record["grade"]));
        let maps = maps(&dir, work.path(), name)?;
        for (surface, number) in SURFACES {
            let class = &picture["classes"][surface];
            if number_of(&class["area_px"]) < LEAST_AREA {
                row += "     -";
                continue;
            }
            let want = visible_lab(class);
            let measured = &record["surfaces"][surface];
            let mut note = |what, value| sums.entry((surface, what)).or_default().push(value);
            note("overlap", overlap(&maps, number));
            match lab(&measured["lab"]) {
                Some(got) => {
                    let level = |c: LabD50| LabD50 { l: 50.0, ..c };
                    note("de", ciede2000(got, want));
                    note("dl", (got.l - want.l).abs());
                    note("dch", ciede2000(level(got), level(want)));
                    let (g, w): ([f64; 3], [f64; 3]) = (got.into(), want.into());
                    covered.extend((0..3).map(|k| (g[k] - w[k]).abs() <= number_of(&measured["u95"][k])));
                    row += &format!("{:6.2}", ciede2000(got, want));
                }
                None => {
                    ["de", "dl", "dch"].iter().for_each(|what| note(what, MISSED));
                    covered.extend([false; 3]);
                    row += "  miss";
                }
            }
        }
        let test_piece = text(&picture["object"]) == "tile";
        match picture["paint"]["retained_vs_soundest"].as_f64().filter(|_| !test_piece) {
            Some(want) => {
                let error =
                    record["paint"]["retained_fraction"].as_f64().map_or(1.0, |got| (got - want).abs());
                kept.push(error);
                row += &format!("  {error:5.3}");
            }
            None => row += "      -",
        }
        row += "  ";
        for (fault, severity) in if test_piece { Vec::new() } else { severities(picture) } {
            let said = said(record, fault);
            let there = severity > CLEAR[1];
            if !there && severity >= CLEAR[0] {
                continue;
            }
            let column = ["present", "absent"].iter().position(|v| *v == said).unwrap_or(2);
            calls[if there { column } else { 3 + column }] += 1;
            if there || said == "present" {
                row += &format!("{fault} {said} ({severity:.2}); ");
            }
        }
        println!("{row}");
    }

    println!("\n{} photographs, {} records, exit code {exit}", pictures.len(), records.len());
    println!("card within a quarter of a patch side: {cards} of {}", pictures.len());
    println!("\n           CIEDE2000         |dL*|      at equal L*     overlap of labels");
    println!("surface  median  worst  median  worst  median  worst  mean  worst   n");
    for (surface, _) in SURFACES {
        let at = |what| sums.get(&(surface, what)).map_or([f64::NAN; 3], |v| spread(v));
        let ([de, de_worst, _], [dl, dl_worst, _], [dch, dch_worst, _]) = (at("de"), at("dl"), at("dch"));
        let overlaps = sums.get(&(surface, "overlap")).map_or(&[][..], |v| v);
        let least = overlaps.iter().fold(f64::INFINITY, |m, v| m.min(*v));
        println!(
            "{surface:<8} {de:6.2} {de_worst:6.2}  {dl:6.2} {dl_worst:6.2}  {dch:6.2} {dch_worst:6.2}  {:.2}   {least:.2} {:3}",
            at("overlap")[2],
            overlaps.len()
        );
    }
    let [median, worst, _] = spread(&kept);
    println!("\nshare of paint kept, error: median {median:.3}, worst {worst:.3}");
    let inside = covered.iter().filter(|c| **c).count();
    println!("L*, a*, b* within their u95: {inside} of {}", covered.len());
    println!(
        "faults that are clearly there: {} called present, {} absent, {} left open",
        calls[0], calls[1], calls[2]
    );
    println!(
        "faults clearly not there:      {} called present, {} absent, {} left open",
        calls[3], calls[4], calls[5]
    );
    Ok(())
}

/// Runs the program; records by name without extension (the first of each photograph), and its exit code.
fn score(
    dir: &Path,
    pictures: &[Value],
    work: &Path,
) -> Result<(BTreeMap<String, Value>, i32), Box<dyn Error>> {
    let beside = std::env::current_exe()?;
    let profile = beside.parent().and_then(Path::parent).ok_or("this example is not in a target folder")?;
    let program = profile.join(format!("sherdlight{}", std::env::consts::EXE_SUFFIX));
    if !program.exists() {
        return Err("the program is not built; run: cargo build --release".into());
    }
    let files = pictures.iter().map(|p| dir.join(format!("{}.jpg", text(&p["name"]))));
    let out = Command::new(&program)
        .args(["score", "--json", "--card", "chart24-iso", "--labels"])
        .arg(work)
        .args(files)
        .output()?;
    let mut records = BTreeMap::new();
    for line in String::from_utf8_lossy(&out.stdout).lines() {
        let record: Value = serde_json::from_str(line)?;
        let stem =
            Path::new(text(&record["photo"]["path"])).file_stem().map(|s| s.to_string_lossy().into_owned());
        records.entry(stem.unwrap_or_default()).or_insert(record);
    }
    eprint!("{}", String::from_utf8_lossy(&out.stderr));
    Ok((records, out.status.code().unwrap_or(-1)))
}

fn text(v: &Value) -> &str {
    v.as_str().unwrap_or("-")
}

fn number_of(v: &Value) -> f64 {
    v.as_f64().unwrap_or(0.0)
}

fn lab(v: &Value) -> Option<LabD50> {
    Some([v[0].as_f64()?, v[1].as_f64()?, v[2].as_f64()?].into())
}

/// The colour a camera can see: 2 px away from other labels where there is enough, weak gloss included.
fn visible_lab(class: &Value) -> LabD50 {
    [&class["core"]["lab_d50_with_gloss"], &class["core"]["lab_d50"], &class["lab_d50"]]
        .into_iter()
        .find_map(lab)
        .unwrap_or_default()
}

/// Mean distance of the four corners, as a share of the first patch's upper side.
fn corner_error(found: &Value, card: &Value) -> f64 {
    let point = |v: &Value| Some([v[0].as_f64()?, v[1].as_f64()?]);
    let apart = |a: &Value, b: &Value| {
        let (a, b) = (point(a)?, point(b)?);
        Some((a[0] - b[0]).hypot(a[1] - b[1]))
    };
    let first = &card["patch_corners_px"][0];
    let all = (0..4).map(|k| apart(&found["corners_px"][k], &card["grid_corners_px"][k]));
    let sum: Option<f64> = all.sum();
    sum.zip(apart(&first[0], &first[1])).map_or(MISSED, |(sum, side)| sum / 4.0 / side)
}

/// Label maps of the program and of the truth.
fn maps(dir: &Path, work: &Path, name: &str) -> Result<[Vec<u8>; 2], Box<dyn Error>> {
    let file = format!("{name}.labels.png");
    let want = image::open(dir.join("labels").join(&file))?.to_luma8().into_raw();
    let got = image::open(work.join(&file)).map(|i| i.to_luma8().into_raw()).unwrap_or_default();
    Ok([if got.len() == want.len() { got } else { vec![0; want.len()] }, want])
}

/// Intersection over union of one label.
fn overlap([got, want]: &[Vec<u8>; 2], label: u8) -> f64 {
    let pairs = got.iter().zip(want);
    let both = pairs.clone().filter(|(g, w)| **g == label && **w == label).count();
    let either = pairs.filter(|(g, w)| **g == label || **w == label).count();
    both as f64 / either.max(1) as f64
}

/// Faults that the view can show, with their severity in view.
fn severities(picture: &Value) -> Vec<(&'static str, f64)> {
    let (classes, faults) = (&picture["classes"], &picture["faults"]);
    let seen = |class: &str| number_of(&classes[class]["area_px"]) > 2500.0;
    let painted = number_of(&picture["paint"]["painted_area_px"]) > 2500.0;
    let cloud = number_of(&picture["clouds"]["area_fraction"]);
    let clouded = if cloud < 0.001 {
        0.0
    } else if cloud > 0.015 {
        1.0
    } else {
        0.3
    };
    [
        ("burned-out", &faults["burn_out"], painted),
        ("weak-black", &faults["weak_black"], painted),
        ("greyed", &classes["white"]["severity_in_view"]["greying"], seen("white")),
        ("buffed", &classes["white"]["severity_in_view"]["buffing"], seen("white")),
        ("dull-red", &classes["red"]["severity_in_view"]["dull_red"], seen("red")),
    ]
    .into_iter()
    .filter(|f| f.2)
    .map(|f| (f.0, number_of(f.1)))
    .chain([("clouded", clouded)])
    .collect()
}

/// The program's verdict on a fault; one that is missing cannot tell.
fn said<'a>(record: &'a Value, fault: &str) -> &'a str {
    let list = record["faults"].as_array().map_or(&[][..], |l| l);
    list.iter().find(|f| text(&f["fault"]) == fault).map_or("cannot-tell", |f| text(&f["verdict"]))
}

/// Median, largest and mean.
fn spread(values: &[f64]) -> [f64; 3] {
    let mut v = values.to_vec();
    v.sort_by(f64::total_cmp);
    let (n, Some(last)) = (v.len(), v.last()) else { return [f64::NAN; 3] };
    [(v[(n - 1) / 2] + v[n / 2]) / 2.0, *last, v.iter().sum::<f64>() / n as f64]
}
