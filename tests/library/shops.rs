//! Shops that learn: the simulation of `examples/shops.rs` at a size that a test can bear.

/// Core glued up of six strips of one batch, which scatter by 7 %: the aims were 1.5 mm on the second board and 1.2 mm from
/// the fourth on.
#[test]
fn the_second_board_is_within_a_millimetre_and_a_half_and_the_fourth_within_one_and_a_fifth() {
    let found = crate::simulation::figures(1, 200, crate::simulation::Core::Strips(6));
    assert!(found.catalogue > 5.0 && found.sag_test < found.catalogue, "{} {}", found.catalogue, found.sag_test);
    assert!(found.learned[0] <= 1.5, "{:?}", found.learned);
    assert!(found.learned[2..].iter().all(|e| *e <= 1.2), "{:?}", found.learned);
    assert!(found.held.0 > 0.85 && found.held.1 > 0.85, "{:?}", found.held);
}

/// A core in one piece scatters by the whole 7 % from board to board, and that no knowledge of the shop mends: boards must
/// come near to what is left where the factor is known for certain.
#[test]
fn in_the_end_boards_are_nearly_as_good_as_if_the_factor_were_known() {
    let found = crate::simulation::figures(1, 200, crate::simulation::Core::Strips(1));
    let last = found.learned[crate::simulation::BOARDS - 2];
    assert!(last <= 1.2 * found.known, "{last} {}", found.known);
    assert!(found.learned[0] <= 2.0_f64.sqrt() * 1.2 * found.known, "{:?} {}", found.learned, found.known);
    assert!(found.held.0 > 0.85 && found.held.1 > 0.85, "{:?}", found.held);
}

/// A sag test of the very piece that is pressed leaves its own error of 3 % in the place of the 7 %.
#[test]
fn cores_of_one_piece_reach_the_aims_where_each_is_sag_tested() {
    let found = crate::simulation::figures(1, 200, crate::simulation::Core::Tested);
    assert!(found.learned[0] <= 1.5, "{:?}", found.learned);
    assert!(found.learned[2..].iter().all(|e| *e <= 1.2), "{:?}", found.learned);
    assert!(found.held.0 > 0.85 && found.held.1 > 0.85, "{:?}", found.held);
}

/// Sixty shops of each kind, far ones too. What 200 shops give stands in src/guide/learning.md.
#[test]
fn far_and_even_shops_are_believed_by_their_second_board() {
    use crate::rows::{KINDS, row};
    let [even, wide, scattered, far, bad, seven, twenty] = KINDS.map(|kind| row(kind, 60));
    assert!(even.p95_mm[0] <= 1.2 && even.p95_mm[1] <= 1.0, "{even:?}");
    for of in [wide, scattered] {
        assert!(of.p95_mm[0] <= 1.25 * of.knowing_mm[0] && of.p95_mm[1] <= 1.15 * of.knowing_mm[1], "{of:?}");
    }
    assert!(far.median_mm[0] <= 3.0 && far.median_mm[1] <= 2.0, "{far:?}");
    // Two boards that differ cannot say which of them is bad; three can.
    assert!(bad.p95_mm[3] <= 1.3 * wide.p95_mm[3], "{bad:?} {wide:?}");
    for of in [seven, twenty] {
        assert!(of.p95_mm[0] <= 0.6 && of.p95_mm[1] <= 0.6 && of.p95_mm[2] <= 0.4, "{of:?}");
    }
    // Over boards 2 to 6. One board cannot say how boards scatter: bands of those that scatter by 0.10 are too narrow at first.
    let least = [0.85, 0.85, 0.7, 0.8, 0.85, 0.85, 0.85];
    for ((kind, of), least) in KINDS.iter().zip([even, wide, scattered, far, bad, seven, twenty]).zip(least) {
        let mean = |shares: [f64; 5]| shares.iter().sum::<f64>() / 5.0;
        assert!(mean(of.factor_held) > least && mean(of.tip_held) > least, "{}: {of:?}", kind.name);
    }
}
