//! Boards side by side on one table.

use crate::job::Board;

/// Width of all boards together, without the gaps between them, mm.
pub(crate) fn width_of_all_mm(board: &Board) -> f64 {
    board.count as f64 * board.width_mm
}

/// Width from the outer edge of the first board to that of the last, mm.
pub(crate) fn width_over_all_mm(board: &Board) -> f64 {
    width_of_all_mm(board) + (board.count as f64 - 1.0) * board.gap_mm
}

/// Where the middle lines of the boards lie across the table, mm from its middle, in growing order.
pub fn middles_mm(board: &Board) -> Vec<f64> {
    let pitch_mm = board.width_mm + board.gap_mm;
    (0..board.count).map(|i| pitch_mm * (i as f64 - 0.5 * (board.count as f64 - 1.0))).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn boards_lie_evenly_about_the_middle_of_the_table_and_add_up_to_its_width() {
        let board = |count| Board { count, gap_mm: 30.0, ..Board::new(1800.0, 110.0) };
        assert_eq!((width_over_all_mm(&board(1)), middles_mm(&board(1))), (110.0, vec![0.0]));
        assert_eq!((width_over_all_mm(&board(2)), middles_mm(&board(2))), (250.0, vec![-70.0, 70.0]));
        assert_eq!((width_over_all_mm(&board(3)), middles_mm(&board(3))), (390.0, vec![-140.0, 0.0, 140.0]));
        assert_eq!(width_of_all_mm(&board(3)), 330.0);
    }
}
