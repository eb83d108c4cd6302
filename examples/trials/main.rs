//! How far planned trials can be trusted: simulation with stated seeds.
//!
//! `cargo run --release --example trials` plans 200 crossed trials, plants effects of slip, paint, coats and firing,
//! tiles that differ and scatter, and counts how often each planted difference lies inside its 95 % interval (of the
//! pair alone); the same for more of them, and for uneven losses; then it counts how many of 50 trials in which two
//! things change together are answered 'cannot be separated'.

mod counts;
mod simulate;

use std::collections::BTreeMap;

/// Crossed trials; the seed is the number of the trial.
const TRIALS: u64 = 200;
/// The same, for a second digit.
const MANY: u64 = 5000;
/// Confounded trials.
const CONFOUNDED: usize = 50;

#[allow(clippy::print_stdout)]
fn main() {
    for (trials, uneven) in [(TRIALS, false), (MANY, false), (MANY, true)] {
        println!("{trials} trials{}\n", if uneven { ", two of the six tiles mostly lost" } else { "" });
        println!("| factor | pairs | planted difference inside 95 % | without an interval |");
        println!("|---|---|---|---|");
        for (factor, count) in counts::coverage(0..trials, uneven) {
            let share = 100.0 * count.inside as f64 / count.pairs as f64;
            println!("| {factor} | {} | {share:.1} % | {} |", count.pairs, count.unanswered);
        }
        println!();
    }
    println!("| two levels that change together | trials | 'cannot be separated' |");
    println!("|---|---|---|");
    let mut told: BTreeMap<&str, [usize; 2]> = BTreeMap::new();
    for trial in (0..CONFOUNDED).map(simulate::confounded) {
        let entry = told.entry(trial.how).or_default();
        entry[0] += 1;
        entry[1] += usize::from(counts::is_told(&trial));
    }
    for (how, [trials, told]) in told {
        println!("| {how} | {trials} | {told} |");
    }
}
