//! How often the rule for a drift is wrong: simulation with stated seeds, of the rule in use and of those tried and left.
//!
//! `cargo run --release --example drift` prints, for each rule, distribution and size of baseline, the false calls in 200
//! pieces and the share of drops by 2 standard deviations that are called within 5 pieces. `-- --speed` times a table
//! and a JSON of 100 000 readings. `-- --charts DIR` writes charts to look at.

mod luck;
mod rules;
mod speed;

// The allocator of the program, so that times are those of the program.
#[cfg(feature = "program")]
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

use luck::{Kind, Luck};
use sherdlight::ledger::trend::{Drift, drifts};

/// Pieces watched after the baseline, without any change.
const WATCHED: usize = 200;
/// Pieces within which a drop must be called.
const SOON: usize = 5;
/// Series a figure.
const RUNS: u64 = 20_000;

fn main() {
    let told: Vec<String> = std::env::args().skip(1).collect();
    match told.iter().map(String::as_str).collect::<Vec<_>>()[..] {
        ["--speed"] => speed::speed(),
        ["--charts", folder] => speed::charts(folder),
        _ => tables(),
    }
}

#[allow(clippy::print_stdout)]
fn tables() {
    println!("{RUNS} series a figure; seed: number of the series. A drop by 2 standard deviations.\n");
    println!("| rule | values | baseline | false calls in 200 pieces | called within {SOON} | wrong way |");
    println!("|---|---|---|---|---|---|");
    let none = |count: usize| (0..count).collect::<Vec<_>>();
    for (name, rule) in rules::ALL {
        for kind in Kind::ALL {
            for baseline in [10, 15, 20, 25, 30, 60] {
                let figures = figures(rule, kind, baseline, &none);
                println!(
                    "| {name} | {} | {baseline} | {:.2} | {:.1} % | {:.1} % |",
                    kind.name(),
                    figures[0],
                    figures[1],
                    figures[2]
                );
            }
        }
    }
    println!("\nPieces of one firing that share its luck, the rule in use, 30 pieces before the drop:\n");
    println!(
        "| pieces a firing | share of the scatter between firings | false calls in 200 pieces | taking all pieces for independent |"
    );
    println!("|---|---|---|---|");
    for (size, alike) in [(5, 0.0), (5, 0.2), (5, 0.5), (5, 0.8), (3, 0.5), (10, 0.5)] {
        let kind = Kind::Firings { size, alike };
        let by_firing = move |count: usize| (0..count).map(|i| i / size).collect::<Vec<_>>();
        let held = figures(rules::in_use, kind, 30, &by_firing)[0];
        let naive = figures(rules::in_use, kind, 30, &none)[0];
        println!("| {size} | {alike} | {held:.2} | {naive:.2} |");
    }
    onsets();
}

type Rule = fn(&[f64], usize, &[usize]) -> Vec<(usize, bool)>;

/// False calls in 200 pieces, percent called in time, percent called the wrong way.
fn figures(rule: Rule, kind: Kind, baseline: usize, firings: &dyn Fn(usize) -> Vec<usize>) -> [f64; 3] {
    let (mut calls, mut pieces) = (0, 0);
    for seed in 0..RUNS / 4 {
        let values = Luck::new(seed).series(kind, baseline + WATCHED);
        calls += rule(&values, baseline, &firings(values.len())).len();
        // Before a first call can come no piece is watched.
        pieces += values.len() + 1 - rules::first_watched(baseline);
    }
    let (mut called, mut wrong) = (0, 0);
    for seed in 0..RUNS {
        let mut values = Luck::new(seed + 1_000_000).series(kind, baseline + SOON);
        values[baseline..].iter_mut().for_each(|v| *v -= 2.0);
        let found = rule(&values, baseline, &firings(values.len()));
        called += usize::from(found.iter().any(|(at, rose)| *at >= baseline && !rose));
        wrong += usize::from(found.iter().any(|(at, rose)| *at >= baseline && *rose));
    }
    let percent = |count: usize| 100.0 * count as f64 / RUNS as f64;
    [WATCHED as f64 * calls as f64 / pieces as f64, percent(called), percent(wrong)]
}

/// How far off onset and size are, and how often their ranges hold the truth.
#[allow(clippy::print_stdout)]
fn onsets() {
    println!("\nOnset and size after 25 pieces, 20 pieces of the new level:\n");
    println!("| drop | called | onset in its range | width of the range, median | called within, median |");
    println!("|---|---|---|---|---|");
    for drop in [1.0, 1.5, 2.0, 3.0, 5.0] {
        let mut found: Vec<Drift> = Vec::new();
        for seed in 0..RUNS / 4 {
            let mut values = Luck::new(seed + 2_000_000).series(Kind::Normal, 45);
            values[25..].iter_mut().for_each(|v| *v -= drop);
            let drifts = drifts(&values, &(0..45).collect::<Vec<_>>());
            found.extend(drifts.iter().find(|d| d.called_at >= 25 && !d.rose));
        }
        let holds = found.iter().filter(|d| d.onset_range[0] <= 25 && 25 <= d.onset_range[1]).count();
        let median = |of: fn(&Drift) -> usize| {
            let mut all: Vec<usize> = found.iter().map(of).collect();
            all.sort_unstable();
            all.get(all.len() / 2).copied().unwrap_or(0)
        };
        let share = |count: usize, of: usize| 100.0 * count as f64 / of.max(1) as f64;
        println!(
            "| {drop} sd | {:.1} % | {:.1} % | {} | {} |",
            share(found.len(), (RUNS / 4) as usize),
            share(holds, found.len()),
            median(|d| d.onset_range[1] - d.onset_range[0] + 1),
            median(|d| d.called_at - 24)
        );
    }
}
