//! Where a board rests.

/// The longest of the runs on which a board from `ends.0` to `ends.1` can rest: one that holds the board's middle, or
/// does not reach an end of the board, so that there is base to both sides of it.
pub(super) fn longest_carrying(runs: impl IntoIterator<Item = (f64, f64)>, ends: (f64, f64)) -> Option<(f64, f64)> {
    let carries = |&(a, b): &(f64, f64)| (a <= 0.0 && b >= 0.0) || (a > ends.0 && b < ends.1);
    runs.into_iter().filter(carries).reduce(|a, b| if b.1 - b.0 > a.1 - a.0 { b } else { a })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_board_rests_on_its_longest_flat_that_has_the_middle_or_base_to_both_sides() {
        let rests = |runs: &[(f64, f64)]| longest_carrying(runs.iter().copied(), (-500.0, 600.0));
        // Around the middle, even up to an end; touching the middle.
        for run in [(-100.0, 80.0), (-500.0, 80.0), (-100.0, 600.0), (-500.0, 600.0), (-500.0, 0.0), (0.0, 600.0)] {
            assert_eq!(rests(&[run]), Some(run));
        }
        // Aside of the middle only inside of the ends.
        assert_eq!(rests(&[(-490.0, -300.0)]), Some((-490.0, -300.0)));
        assert_eq!(rests(&[(-500.0, -300.0)]), None);
        assert_eq!(rests(&[(200.0, 590.0)]), Some((200.0, 590.0)));
        assert_eq!(rests(&[(200.0, 600.0)]), None);
        assert_eq!(rests(&[]), None);
        // The longest that carries; of equals the first.
        assert_eq!(rests(&[(-500.0, -100.0), (-90.0, 10.0), (20.0, 250.0), (300.0, 310.0)]), Some((20.0, 250.0)));
        assert_eq!(rests(&[(-300.0, -200.0), (100.0, 200.0)]), Some((-300.0, -200.0)));
        assert_eq!(rests(&[(-300.0, -250.0), (100.0, 200.0)]), Some((100.0, 200.0)));
    }
}
