//! Progress on standard error, on a terminal only.

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use std::io::IsTerminal;

/// A line that counts photographs; silent where nobody watches.
pub fn counting(photographs: usize, quiet: bool) -> ProgressBar {
    let watched = std::io::stderr().is_terminal() && !quiet && photographs > 1;
    let target = if watched { ProgressDrawTarget::stderr() } else { ProgressDrawTarget::hidden() };
    let bar = ProgressBar::with_draw_target(Some(photographs as u64), target);
    if let Ok(style) = ProgressStyle::with_template("{pos} of {len} photographs {bar:30} {msg}") {
        bar.set_style(style);
    }
    bar
}
