//! What surrounds the board on the table, from the job.

use super::Setup;
use crate::job::{Board, Hold, Pressing};
use crate::press::Load;

/// What the job says about the blank's overhangs, the table's ends and the pressure.
///
/// Clamps count as their total force spread evenly over the blank.
pub fn setup(board: &Board, pressing: &Pressing, end_margin_mm: f64) -> Setup {
    let blank_mm = board.length_mm + board.overhang_tail_mm + board.overhang_tip_mm;
    let pressure_mpa = match pressing.hold {
        Hold::Vacuum { pressure_mpa } => pressure_mpa,
        Hold::Clamps { count, force_n } => count as f64 * force_n / (blank_mm * board.width_mm),
    };
    Setup {
        overhang_tail_mm: board.overhang_tail_mm,
        overhang_tip_mm: board.overhang_tip_mm,
        end_margin_mm,
        load: Load::even(pressure_mpa),
    }
}
