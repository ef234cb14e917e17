//! The forward problem: a wet stack pushed on a given table, and the board that comes off it.
//!
//! Three lengths run along the same places, all zero in the middle of the finished board: along the table's surface, on
//! the flat blank (which is not stretched, so it is the same pressed and released), and along the board's base. A
//! section that turns by κ per length of blank, with its neutral axis z above the base, stretches the base by 1 + κ z,
//! so the base's own curvature is κ/(1 + κ z).

mod atmosphere;
pub mod contact;
mod grid;
mod released;
mod state;
mod void;

pub use atmosphere::atmosphere_mpa;
pub use released::{Released, release};
pub(crate) use released::{ReleasedEnd, release_ends};
pub use state::{Blank, LineForce, Load, PressError, Pressed, Station};
pub use void::Void;

use crate::curve::{Curvature, parallel_stretch};
use crate::laminate::{Laminate, Section};
use crate::numeric::{index_of_min, max_abs};

use contact::{Contact, ContactError, Element, Strip};
pub(crate) use grid::BREAK_MISSED_MM;
use grid::{Grid, without_slivers};

/// Gap that the grid may be wrong by, mm. Half of it is asked of the estimate, which is a rule of thumb.
pub(crate) const GAP_ERROR_MM: f64 = 0.002;
/// Times that elements may be halved. Gaps go with the square of the length, so eight times are 65 000-fold.
const MOST_HALVINGS: usize = 8;
/// Nodes beyond which elements are not halved any more: some ten times what a long board takes.
const MOST_NODES: usize = 4000;

/// Presses a wet stack on a table whose surface has the curvature `table` over its own arc length.
///
/// Elements are halved where the stack lifts off until the gap is known to 0.002 mm. The load's pressure squeezes soft
/// layers while the glue sets.
///
/// # Errors
/// [`PressError`]: a blank that hangs over the table, a table tighter than the stack is thick, or no convergence.
pub fn press(table: &Curvature, laminate: &Laminate, blank: Blank, load: &Load) -> Result<Pressed, PressError> {
    let table = &without_slivers(table).map_err(|_| PressError::Blank(blank.tip_mm))?;
    let laminate = &laminate.glued_under(load.pressure_mpa);
    let mut grid = Grid::new(table, laminate, blank, load.forces.iter().map(|f| f.blank_mm))?;
    let mut contact = lay(&grid, load, None)?;
    let mut error_mm = max_abs(contact.gap_mm.iter().copied());
    for _ in 0..MOST_HALVINGS {
        if error_mm <= 0.5 * GAP_ERROR_MM || grid.stations.len() > MOST_NODES {
            break;
        }
        let lifted = |node: usize| contact.gap_mm.get(node).is_some_and(|gap| *gap > 0.01 * GAP_ERROR_MM);
        // The contact may move by an element.
        let doubtful = |i: usize| (i.saturating_sub(1)..=i + 2).any(lifted);
        let finer = grid.halved(table, laminate, doubtful)?;
        let again = lay(&finer, load, Some(&contact.on_halves(&grid.places_mm(), &finer.places_mm())))?;
        let halved = finer.stations.len() > grid.stations.len();
        let mut node = 0;
        let moved = finer.stations.iter().zip(&again.gap_mm).filter_map(|(station, gap)| {
            let before = (grid.stations[node].table_mm == station.table_mm).then(|| contact.gap_mm[node])?;
            node += 1;
            Some((before - gap).abs())
        });
        // Gaps converge with the square of the elements' length: three quarters of the error went with this halving.
        error_mm = max_abs(moved) / 3.0;
        (grid, contact) = (finer, again);
        if !halved {
            break;
        }
    }
    Ok(pressed(grid, contact, error_mm))
}

/// Presses another stack, or with another load, on the table of `before`, on the same nodes and from what is known of
/// it: for many draws of a stack that differs a little. Forces keep the places they had.
///
/// # Errors
/// As [`press`].
pub fn press_again(before: &Pressed, laminate: &Laminate, load: &Load) -> Result<Pressed, PressError> {
    let grid =
        Grid { stations: before.stations.clone(), table_per_mm: before.table_per_mm.clone(), sections: Vec::new() };
    let grid = grid.under(&laminate.glued_under(load.pressure_mpa))?;
    let contact = lay(&grid, load, Some(&before.contact))?;
    Ok(pressed(grid, contact, before.gap_error_mm))
}

/// How the stack lies, on this grid.
fn lay(grid: &Grid, load: &Load, start: Option<&Contact>) -> Result<Contact, PressError> {
    let element = |(k, sections): (&[f64; 2], &[Section; 2])| {
        // Per length of the table the neutral line has the length 1 - k z, and a gap d turns it by k + d″.
        let shrunk = |i: usize| parallel_stretch(k[i], sections[i].neutral_mm);
        let stiffness = |i: usize| sections[i].wet_stiffness_n_mm + load.caul_stiffness_n_mm;
        Element {
            stiffness_n_mm: [0, 1].map(|i| stiffness(i) / shrunk(i)),
            bend_per_mm: [0, 1].map(|i| k[i] - shrunk(i) * sections[i].natural_moment_n / stiffness(i)),
            pressure_mpa: load.pressure_mpa,
        }
    };
    let nodes_mm = grid.places_mm();
    let mut forces_n_per_mm = Vec::new();
    if !load.forces.is_empty() {
        forces_n_per_mm.resize(nodes_mm.len(), 0.0);
        for force in &load.forces {
            let node = index_of_min(grid.stations.iter().map(|s| (s.blank_mm - force.blank_mm).abs()));
            forces_n_per_mm[node] += force.force_n_per_mm;
        }
    }
    let elements = grid.table_per_mm.iter().zip(&grid.sections).map(element).collect();
    let strip = Strip { nodes_mm, elements, forces_n_per_mm };
    if load.pressure_mpa < 0.0 {
        return Err(PressError::Contact(ContactError::NoLoad));
    }
    if load.matched {
        strip.check().map_err(PressError::Contact)?;
        return Ok(contact::held(&strip));
    }
    contact::solve(&strip, start).map_err(PressError::Contact)
}

fn pressed(grid: Grid, contact: Contact, gap_error_mm: f64) -> Pressed {
    // The stack turns by (k + d″)/(1 - k z) per length of its neutral line.
    let base_per_mm = |((k, lift), sections): ((&[f64; 2], &[f64; 2]), &[Section; 2])| {
        [0, 1].map(|i| (k[i] + lift[i]) / parallel_stretch(lift[i], -sections[i].neutral_mm))
    };
    let ends = grid.table_per_mm.iter().zip(&contact.lift_per_mm).zip(&grid.sections);
    let base_per_mm = ends.map(base_per_mm).collect();
    let Grid { stations, table_per_mm, sections } = grid;
    Pressed { stations, sections, table_per_mm, base_per_mm, contact, gap_error_mm }
}

#[cfg(test)]
mod tests;
