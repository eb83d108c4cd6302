//! From what was typed to settings that are ready to use.

use super::arguments::ReadOptions;
use super::exit::{Trouble, say};
use sherdlight::card::{CardFile, CardSettings, CardShot, read_card};
use sherdlight::light::FormChoice;
use sherdlight::photo::{self, Limits};
use sherdlight::road::{Borrow, Settings};
use sherdlight::surface::{Outline, SurfaceSettings};
use sherdlight::verdict::{DecisionRule, Targets};
use std::path::Path;
use std::sync::Arc;

/// Checks every option once; later stages need not ask again.
pub fn settings(options: &ReadOptions) -> Result<Settings, Trouble> {
    let file = options.card.as_deref().map(|card| CardFile::load(card, None)).transpose()?;
    if let Some(file) = file.as_ref().filter(|_| !options.quiet) {
        file.remarks.iter().for_each(|remark| say(&format!("card {}: {remark}", file.definition.id)));
    }
    let definition = file.map(|file| file.definition);
    let corners = options
        .card_corners
        .as_deref()
        .map(|text| corners("--card-corners", text, CARD_CORNERS))
        .transpose()?;
    let skip = options.skip_patches.as_deref().map(list).unwrap_or_default();
    let known = |id: &String| match &definition {
        Some(card) => card.patches.iter().any(|p| p.id == *id),
        None => id.parse::<u8>().is_ok_and(|n| (1..=24).contains(&n)),
    };
    if let Some(strange) = skip.iter().find(|id| !known(id)) {
        return Err(Trouble::usage(
            format!("--skip-patches: the card has no patch '{strange}'"),
            "Patches are numbered in reading order from the dark skin patch, 1 to 24.",
        ));
    }
    let (limits, card) =
        (Limits::default(), CardSettings { definition, patch_mm: options.patch_mm, corners, skip });
    let borrow = options.card_from.as_deref().map(|path| card_shot(path, &limits, &card)).transpose()?;
    Ok(Settings {
        limits,
        card,
        borrow: borrow.map(|shot| Borrow { shot: Arc::new(shot), same_exposure: options.same_exposure }),
        surface: SurfaceSettings {
            outline: options.outline.as_deref().map(outline).transpose()?,
            smudged: options.surface.as_deref() == Some("smudged"),
            ball: options.ball.as_deref().map(ball).transpose()?,
        },
        form: match options.form.as_deref() {
            Some("round") => FormChoice::Round,
            Some("flat") => FormChoice::Flat,
            _ => FormChoice::Auto,
        },
        targets: Targets::load(&options.targets)?,
        rule: options
            .risk
            .map_or_else(DecisionRule::default, |percent| DecisionRule { risk: percent / 100.0 }),
        without_card: false,
        before: None,
    })
}

/// Reads the photograph that a card is borrowed from.
fn card_shot(path: &Path, limits: &Limits, card: &CardSettings) -> Result<CardShot, Trouble> {
    let name = path.to_string_lossy();
    let unusable = |why: String, hint: &str| {
        Trouble::settings(format!("the card shot '{name}' cannot be used: {why}"), hint)
    };
    let photo = photo::read(path, limits).map_err(|e| unusable(format!("the file {e}"), e.hint()))?;
    let reading = read_card(&photo, card).map_err(|e| unusable(e.to_string(), e.hint()))?;
    Ok(CardShot::new(&name, &photo, reading))
}

/// A pool of the asked size. Results do not depend on it.
pub fn pool(options: &ReadOptions) -> Result<rayon::ThreadPool, Trouble> {
    threads(options.threads)
}

/// A pool of so many threads, or one a core.
pub fn threads(count: Option<u16>) -> Result<rayon::ThreadPool, Trouble> {
    let threads = count.map_or(0, usize::from);
    rayon::ThreadPoolBuilder::new()
        .num_threads(threads)
        .build()
        .map_err(|e| Trouble::Ours(format!("no threads could be started: {e}")))
}

fn list(text: &str) -> Vec<String> {
    text.split(',').map(str::trim).filter(|id| !id.is_empty()).map(str::to_owned).collect()
}

fn numbers(text: &str) -> Option<Vec<f64>> {
    let parsed: Option<Vec<f64>> = text.split(',').map(|t| t.trim().parse().ok()).collect();
    parsed.filter(|numbers| numbers.iter().all(|n| n.is_finite() && n.abs() < 1e6))
}

/// Which corners of a card are wanted.
pub const CARD_CORNERS: &str = "Give x,y of the outer corners of the first patch, the end of the first row, the last patch \
                                and the start of the last row: 1, 6, 24 and 19 of a 24-patch chart.";

/// Four corners told by hand with this option; `wanted` says which.
pub fn corners(option: &str, text: &str, wanted: &str) -> Result<[[f64; 2]; 4], Trouble> {
    let told = numbers(text)
        .filter(|n| n.len() == 8)
        .ok_or_else(|| Trouble::usage(format!("{option}: '{text}' is not eight numbers"), wanted))?;
    let corners = [0, 1, 2, 3].map(|i| [told[2 * i], told[2 * i + 1]]);
    if !is_convex(&corners) {
        return Err(Trouble::usage(
            format!("{option}: the four points do not go around a rectangle"),
            wanted,
        ));
    }
    Ok(corners)
}

/// All turns the same way and none straight.
fn is_convex(corners: &[[f64; 2]; 4]) -> bool {
    let turn = |i: usize| {
        let [a, b, c] = [corners[i], corners[(i + 1) % 4], corners[(i + 2) % 4]];
        (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0])
    };
    (0..4).all(|i| turn(i) > 1.0) || (0..4).all(|i| turn(i) < -1.0)
}

fn ball(text: &str) -> Result<[f64; 3], Trouble> {
    match numbers(text).as_deref() {
        Some([x, y, radius]) if *radius > 0.0 => Ok([*x, *y, *radius]),
        _ => Err(Trouble::usage(
            format!("--ball: '{text}' is not a circle"),
            "Give x,y of the ball's middle and its radius, in pixels of the upright photograph.",
        )),
    }
}

fn outline(text: &str) -> Result<Outline, Trouble> {
    if text.contains('/')
        || Path::new(text).extension().is_some_and(|e| e.to_string_lossy().parse::<f64>().is_err())
    {
        return polygon(text);
    }
    match numbers(text).as_deref() {
        Some([x, y, w, h]) if *w > 0.0 && *h > 0.0 => Ok(Outline::Box([*x, *y, *w, *h])),
        _ => Err(Trouble::usage(
            format!("--outline: '{text}' is not a box"),
            "Give x,y,w,h in pixels, or a file with one x,y a line.",
        )),
    }
}

fn polygon(file: &str) -> Result<Outline, Trouble> {
    let unusable = |why: String| {
        Trouble::settings(format!("the outline file '{file}' cannot be used: {why}"), "Give one x,y a line.")
    };
    let text = std::fs::read_to_string(file).map_err(|e| unusable(e.to_string()))?;
    let points: Option<Vec<[f64; 2]>> = text
        .lines()
        .map(str::trim)
        .filter(|line| !line.is_empty() && !line.starts_with('#'))
        .map(|line| match numbers(line).as_deref() {
            Some([x, y]) => Some([*x, *y]),
            _ => None,
        })
        .collect();
    match points {
        Some(points) if points.len() >= 3 => Ok(Outline::Polygon(points)),
        Some(_) => Err(unusable("it holds fewer than three points".into())),
        None => Err(unusable("a line is not x,y".into())),
    }
}
