//! How the stack lies on the table, for `result.json` and for pictures.

use serde_json::{Value, json};

use super::result::figure;
use crate::table::OverbentTable;
use crate::units::N_PER_LBF;

/// The pressed stack of a board of a width.
pub(super) fn pressed(bent: &OverbentTable, width_mm: f64) -> Value {
    let force_n = bent.closing_force_n(width_mm);
    let (gap_mm, gap_at_mm) = bent.largest_gap_mm();
    let points: Vec<Value> = bent
        .profile()
        .iter()
        .map(|p| {
            json!({
                "s_mm": figure(p.face_mm),
                "table_mm": figure(p.table_mm),
                "gap_mm": figure(p.gap_mm),
                "contact_kpa": figure(1e3 * p.contact_mpa),
                "table_curvature_per_m": figure(1e3 * p.table_per_mm),
                "curvature_per_m": figure(1e3 * p.pressed_per_mm),
            })
        })
        .collect();
    json!({
        "pressure_kpa": figure(1e3 * bent.load.pressure_mpa),
        "closing_force_n": figure(force_n),
        "closing_force_lbf": figure(force_n / N_PER_LBF),
        "overhang_needed_tail_mm": figure(bent.overhang_needed_mm.0),
        "overhang_needed_tip_mm": figure(bent.overhang_needed_mm.1),
        "largest_gap_mm": figure(gap_mm),
        "largest_gap_at_table_mm": figure(gap_at_mm),
        "points": points,
    })
}
