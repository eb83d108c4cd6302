//! Rates over simulated trials; `cargo run --release --example trials` prints those of 200.

use crate::{counts, simulate};
use sherdlight::trial::Factor;

#[test]
fn planted_differences_lie_inside_their_intervals() {
    // 60 trials: 180 pairs of slips, 60 of the others. A true rate of 95 % falls outside these limits in fewer than 1 in
    // 1000 such runs (binomial); the seeds are stated, so that the answer stands.
    let counts = counts::coverage(0..60, false);
    assert_eq!(counts.len(), 4);
    let all = counts.values().fold([0, 0], |[pairs, inside], c| [pairs + c.pairs, inside + c.inside]);
    assert_eq!(all[0], 60 * 6);
    let share = all[1] as f64 / all[0] as f64;
    assert!((0.90..=0.99).contains(&share), "{share}");
    for (factor, count) in &counts {
        assert_eq!(count.unanswered, 0, "{factor}");
        let share = count.inside as f64 / count.pairs as f64;
        assert!((0.85..=1.0).contains(&share), "{factor}: {share}");
    }
    assert_eq!(counts[&Factor::Slip].pairs, 180);
}

#[test]
fn every_confounded_trial_is_told() {
    for number in 0..50 {
        let trial = simulate::confounded(number);
        assert!(counts::is_told(&trial), "{number}: {}\n{}", trial.how, trial.table);
    }
}
