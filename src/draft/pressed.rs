//! How the stack lies on the table, for `result.json` and for pictures.

use serde_json::{Value, json};

use super::json::figure;
use crate::table::{Carried, OverbentTable, Peak};
use crate::units::N_PER_LBF;

/// The pressed stack, which `force_n` closes.
pub(super) fn pressed(bent: &OverbentTable, carried: &Carried, force_n: f64) -> Value {
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
        "overhang_leaves_mm": figure(bent.overhang_leaves_mm),
        "largest_gap_mm": figure(gap_mm),
        "largest_gap_at_table_mm": figure(gap_at_mm),
        "table_load": table_load(carried),
        "points": points,
    })
}

/// What the table carries; `null` where a figure has no sense.
fn table_load(carried: &Carried) -> Value {
    let peak = |p: &Peak| json!({ "value": figure(p.value), "at_table_mm": figure(p.table_mm) });
    let Carried { fastening, sag, .. } = carried;
    json!({
        "case": carried.case.words(),
        "skin_kpa": figure(1e3 * carried.skin_pressure_mpa),
        "push_n_per_mm": peak(&carried.push_n_per_mm),
        "pull_n_per_mm": peak(&carried.pull_n_per_mm),
        "fastener_pull_n": peak(&fastening.pull_n),
        "fastener_allowed_n": figure(fastening.allowed_n),
        "fastener_pitch_mm": figure(fastening.pitch_mm),
        "fastener_widest_mm": fastening.widest_mm.map(figure),
        "skin_clear_mm": sag.map(|s| figure(s.clear_mm)),
        "skin_sag_mm": sag.map(|s| figure(s.sag_mm)),
        "skin_clear_widest_mm": sag.map(|s| figure(s.widest_mm)),
        "moment_n_m": peak(&Peak { value: 1e-3 * carried.moment_n_mm.value, ..carried.moment_n_mm }),
        "gives_tail_mm": carried.gives_mm.map(|g| figure(g.0)),
        "gives_tip_mm": carried.gives_mm.map(|g| figure(g.1)),
    })
}
