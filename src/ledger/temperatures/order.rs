//! Which rows must be left out so that time runs forward.

/// Whether each time belongs to the longest series of times that rises strictly; so the fewest are left out, and
/// one wrong time far ahead does not cost all that follow. Of equal times the first is kept.
///
/// Patience sorting: `tails[n]` is the place of the smallest time that ends a rising series of n + 1.
pub(super) fn rising(times: &[f64]) -> Vec<bool> {
    let mut tails: Vec<usize> = Vec::new();
    let mut before: Vec<Option<usize>> = vec![None; times.len()];
    for (at, time) in times.iter().enumerate() {
        let length = tails.partition_point(|tail| times[*tail] < *time);
        before[at] = length.checked_sub(1).map(|shorter| tails[shorter]);
        match tails.get_mut(length) {
            // An equal time later in the file does not push out the first.
            Some(tail) if times[*tail] > *time => *tail = at,
            Some(_) => {}
            None => tails.push(at),
        }
    }
    let mut kept = vec![false; times.len()];
    let mut at = tails.last().copied();
    while let Some(here) = at {
        kept[here] = true;
        at = before[here];
    }
    kept
}
