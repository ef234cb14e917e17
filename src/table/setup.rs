//! What surrounds the board on the table, from the job.

use super::Setup;
use crate::job::{Board, ClampPlaces, Hold, Pressing};
use crate::laminate::Laminate;
use crate::press::{LineForce, Load, atmosphere_mpa};
use crate::units::STANDARD_GRAVITY;

/// Density taken for layers of which none is known, kg/m³: a light core wood, so that the weight is not overrated.
const DENSITY_KG_M3: f64 = 400.0;

/// What the job says about the blank's overhangs, the table's ends and what pushes the stack down.
///
/// A bag never presses with more than the air outside. The stack's own weight is added to clamps at stations, which
/// leave the rest of it free; against a bag or an even pressure it is nothing.
pub fn setup(board: &Board, pressing: &Pressing, laminate: &Laminate, end_margin_mm: f64) -> Setup {
    let blank_mm = board.length_mm + board.overhang_tail_mm + board.overhang_tip_mm;
    let spread = |force_n: f64| force_n / (blank_mm * board.width_mm);
    let mut load = Load::even(0.0);
    match &pressing.hold {
        Hold::Vacuum { reading_mpa, altitude_m, .. } => {
            let most = atmosphere_mpa(*altitude_m);
            load.pressure_mpa += reading_mpa.map_or(most, |reading| reading.min(most));
        }
        Hold::Press { pressure_mpa } => {
            load.pressure_mpa += pressure_mpa;
            load.matched = true;
        }
        Hold::Weights { force_n } => load.pressure_mpa += spread(*force_n),
        Hold::Clamps { places, force_n, caul } => {
            match places {
                ClampPlaces::Even(count) => load.pressure_mpa += spread(*count as f64 * force_n),
                ClampPlaces::At(stations) => {
                    load.pressure_mpa = weight_mpa(laminate);
                    let force_n_per_mm = force_n / board.width_mm;
                    load.forces = stations.iter().map(|s| LineForce { blank_mm: *s, force_n_per_mm }).collect();
                }
            }
            load.caul_stiffness_n_mm = caul.map_or(0.0, |c| c.modulus_mpa * c.thickness_mm.powi(3) / 12.0);
        }
    }
    Setup { overhang_tail_mm: board.overhang_tail_mm, overhang_tip_mm: board.overhang_tip_mm, end_margin_mm, load }
}

/// Weight of the stack in its middle, MPa.
fn weight_mpa(laminate: &Laminate) -> f64 {
    let thickness_mm = laminate.section_at(0.0).thickness_mm;
    let known: Vec<f64> = laminate.layers().iter().filter_map(|l| l.material.density_kg_m3).collect();
    let density = if known.is_empty() { DENSITY_KG_M3 } else { known.iter().sum::<f64>() / known.len() as f64 };
    // 1 kg/m³ · 1 m/s² · 1 mm = 1e-3 N/m² = 1e-9 MPa.
    density * STANDARD_GRAVITY * thickness_mm * 1e-9
}
