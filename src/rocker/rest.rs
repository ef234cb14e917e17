//! Where a board rests.

/// The longest of the runs on which a board from `ends.0` to `ends.1` can rest: one that holds the board's middle, or
/// does not reach an end of the board, so that there is base to both sides of it.
pub(super) fn longest_carrying(runs: impl IntoIterator<Item = (f64, f64)>, ends: (f64, f64)) -> Option<(f64, f64)> {
    let carries = |&(a, b): &(f64, f64)| (a <= 0.0 && b >= 0.0) || (a > ends.0 && b < ends.1);
    runs.into_iter().filter(carries).reduce(|a, b| if b.1 - b.0 > a.1 - a.0 { b } else { a })
}
