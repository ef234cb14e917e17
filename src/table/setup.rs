//! What surrounds the board on the table, from the job.

use super::{Setup, width_of_all_mm};
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
    let width_mm = width_of_all_mm(board);
    let spread = |force_n: f64| force_n / (blank_mm * width_mm);
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
                    let force_n_per_mm = force_n / width_mm;
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::{Caul, Layer, LengthAlong, Material, MaterialKind};

    const BOARD: Board = Board {
        length_mm: 1000.0,
        length_along: LengthAlong::Base,
        width_mm: 250.0,
        count: 1,
        gap_mm: 20.0,
        overhang_tip_mm: 60.0,
        overhang_tail_mm: 40.0,
        outline: None,
        holes: Vec::new(),
    };

    fn stack(densities_kg_m3: [Option<f64>; 2]) -> Laminate {
        let layer = |density_kg_m3: Option<f64>| {
            let wood = Material::of_modulus("given", MaterialKind::WoodAlong, 10_000.0);
            Layer::flat("layer", Material { density_kg_m3, ..wood }, 5.0)
        };
        Laminate::new(&densities_kg_m3.map(layer), 0.0).unwrap()
    }

    fn load(hold: Hold, densities_kg_m3: [Option<f64>; 2]) -> Load {
        load_of(&BOARD, hold, densities_kg_m3)
    }

    fn load_of(board: &Board, hold: Hold, densities_kg_m3: [Option<f64>; 2]) -> Load {
        let pressing = Pressing { hold, cure_above_room_k: 0.0, glue: None, moisture_in_use: None, resin: None };
        setup(board, &pressing, &stack(densities_kg_m3), 30.0).load
    }

    #[track_caller]
    fn near(found: f64, expected: f64) {
        assert!((found / expected - 1.0).abs() < 1e-12, "{found} is not {expected}");
    }

    #[test]
    fn weights_and_a_row_of_clamps_press_on_the_whole_blank() {
        // 1100 mm by 250 mm.
        near(load(Hold::Weights { force_n: 550.0 }, [None; 2]).pressure_mpa, 0.002);
        let places = ClampPlaces::Even(10);
        let row = load(Hold::Clamps { places, force_n: 550.0, caul: None }, [None; 2]);
        near(row.pressure_mpa, 0.02);
        assert!(row.forces.is_empty() && row.caul_stiffness_n_mm == 0.0 && !row.matched);
    }

    #[test]
    fn boards_side_by_side_share_weights_and_clamps_but_not_the_pressure_of_a_bag() {
        let pair = Board { count: 2, ..BOARD };
        near(load_of(&pair, Hold::Weights { force_n: 550.0 }, [None; 2]).pressure_mpa, 0.001);
        let clamps = Hold::Clamps { places: ClampPlaces::At(vec![0.0]), force_n: 500.0, caul: None };
        near(load_of(&pair, clamps, [None; 2]).forces[0].force_n_per_mm, 1.0);
        let bag = Hold::Vacuum { reading_mpa: Some(0.08), altitude_m: 0.0, below: crate::job::Below::Air };
        near(load_of(&pair, bag, [None; 2]).pressure_mpa, 0.08);
    }

    #[test]
    fn clamps_at_places_press_there_with_the_weight_of_the_stack_beside_and_their_caul() {
        let clamps = |caul: Option<Caul>, densities: [Option<f64>; 2]| {
            load(Hold::Clamps { places: ClampPlaces::At(vec![-300.0, 200.0]), force_n: 500.0, caul }, densities)
        };
        let held = clamps(Some(Caul { thickness_mm: 12.0, modulus_mpa: 9000.0 }), [Some(500.0), Some(700.0)]);
        let at = |blank_mm: f64| LineForce { blank_mm, force_n_per_mm: 2.0 };
        assert_eq!(held.forces, [at(-300.0), at(200.0)]);
        near(held.caul_stiffness_n_mm, 9000.0 * 1728.0 / 12.0);
        // 10 mm of 600 kg/m³: 6 kg on a square metre, 6 · 9.80665 Pa.
        near(held.pressure_mpa, 6.0 * 9.806_65e-6);
        near(clamps(None, [Some(500.0), None]).pressure_mpa, 5.0 * 9.806_65e-6);
        near(clamps(None, [None; 2]).pressure_mpa, 4.0 * 9.806_65e-6);
    }

    #[test]
    fn a_bag_presses_with_no_more_than_the_air_outside() {
        let bag = |reading_mpa| Hold::Vacuum { reading_mpa, altitude_m: 0.0, below: crate::job::Below::Air };
        near(load(bag(Some(0.08)), [None; 2]).pressure_mpa, 0.08);
        near(load(bag(Some(0.2)), [None; 2]).pressure_mpa, 0.101_325);
        near(load(bag(None), [None; 2]).pressure_mpa, 0.101_325);
    }
}
