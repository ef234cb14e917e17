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
mod void;

pub use atmosphere::atmosphere_mpa;
pub use released::{Released, release};
pub use void::Void;

use crate::curve::{Curvature, CurvatureError, Piece};
use crate::laminate::{Laminate, Section};
use crate::numeric::{index_of_least, largest};

use contact::{Contact, ContactError, Element, Strip};
use grid::{Grid, without_slivers};

/// What pushes the stack on the table, per mm of width.
#[derive(Debug, Clone, PartialEq)]
pub struct Load {
    /// Pressure all over the blank, MPa.
    pub pressure_mpa: f64,
    /// Forces at places along the blank.
    pub forces: Vec<LineForce>,
    /// Bending stiffness of a caul that lies on the stack and bends with it, N mm; zero without one.
    pub caul_stiffness_n_mm: f64,
    /// Whether an upper form that matches the table holds the stack down everywhere.
    pub matched: bool,
}

impl Load {
    /// The same pressure all over the blank and nothing else.
    pub fn even(pressure_mpa: f64) -> Self {
        Self { pressure_mpa, forces: Vec::new(), caul_stiffness_n_mm: 0.0, matched: false }
    }
}

/// A force across the whole width.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LineForce {
    /// Where, mm on the flat blank from the middle of the board.
    pub blank_mm: f64,
    /// How much per mm of width, N/mm.
    pub force_n_per_mm: f64,
}

/// The blank on the flat, from its tail end to its tip end, mm from the middle of the finished board.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Blank {
    /// Its tail end, mm; negative.
    pub tail_mm: f64,
    /// Its tip end, mm.
    pub tip_mm: f64,
}

/// A place along blank and table.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Station {
    /// Along the table's surface, mm.
    pub table_mm: f64,
    /// On the flat blank, mm.
    pub blank_mm: f64,
}

/// The pressed stack.
#[derive(Debug, Clone, PartialEq)]
pub struct Pressed {
    /// Places of the nodes.
    pub stations: Vec<Station>,
    /// Sections at both ends of every element between the nodes.
    pub sections: Vec<[Section; 2]>,
    /// Curvature of the table at both ends of every element, 1/mm.
    pub table_per_mm: Vec<[f64; 2]>,
    /// Curvature that the stack's base really has at both ends of every element, 1/mm.
    pub base_per_mm: Vec<[f64; 2]>,
    /// How the stack lies: gaps, reactions, and how well and how fast that was found.
    pub contact: Contact,
    /// Estimate of what the grid still does to the gap, mm.
    pub gap_error_mm: f64,
}

impl Pressed {
    /// How the stack turns: curvature per length of its flat blank over its place on the blank, 1/mm over mm.
    ///
    /// # Errors
    /// [`CurvatureError`] where a number is none.
    pub fn turning(&self) -> Result<Curvature, CurvatureError> {
        let pieces = self.sections.iter().zip(&self.base_per_mm).enumerate().map(|(i, (sections, base))| {
            let turn = |j: usize| base[j] / (1.0 - base[j] * sections[j].neutral_mm);
            let (from, to) = (self.stations[i].blank_mm, self.stations[i + 1].blank_mm);
            Piece { start_mm: from, end_mm: to, k_start: turn(0), k_end: turn(1) }
        });
        Curvature::new(pieces.collect())
    }
}

/// Why a stack could not be pressed in the model.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum PressError {
    /// The blank's end is not inside the table or is no number (place on the blank, mm).
    Blank(f64),
    /// The table is bent tighter than the stack's neutral axis allows (place along the table, mm).
    TooTight(f64),
    /// The contact could not be computed.
    Contact(ContactError),
}

/// Gap that the grid may be wrong by, mm. Half of it is asked of the estimate, which is a rule of thumb.
pub const GAP_ERROR_MM: f64 = 0.002;
/// Times that elements may be halved. Gaps go with the square of the length, so eight times are 65 000-fold.
const MOST_HALVINGS: usize = 8;
/// Nodes beyond which elements are not halved any more: some ten times what a long board takes.
const MOST_NODES: usize = 4000;

/// Presses a wet stack on a table whose surface has the curvature `table` over its own arc length.
///
/// Elements are halved where the stack lifts off until the gap is known to 0.002 mm. The load's pressure squeezes soft
/// layers while the glue sets ([`Laminate::glued_under`]).
///
/// # Errors
/// [`PressError`]: a blank that hangs over the table, a table tighter than the stack is thick, or no convergence.
pub fn press(table: &Curvature, laminate: &Laminate, blank: Blank, load: &Load) -> Result<Pressed, PressError> {
    let table = &without_slivers(table).map_err(|_| PressError::Blank(blank.tip_mm))?;
    let laminate = &laminate.glued_under(load.pressure_mpa);
    let mut grid = Grid::new(table, laminate, blank, load.forces.iter().map(|f| f.blank_mm))?;
    let mut contact = lay(&grid, load, None)?;
    let mut error_mm = largest(contact.gap_mm.iter().copied());
    for _ in 0..MOST_HALVINGS {
        if error_mm <= 0.5 * GAP_ERROR_MM || grid.stations.len() > MOST_NODES {
            break;
        }
        let lifted = |node: usize| contact.gap_mm.get(node).is_some_and(|gap| *gap > 0.01 * GAP_ERROR_MM);
        // The contact may move by an element.
        let doubtful = |i: usize| (i.saturating_sub(1)..=i + 2).any(lifted);
        let finer = grid.halved(table, laminate, doubtful)?;
        let again = lay(&finer, load, None)?;
        let halved = finer.stations.len() > grid.stations.len();
        let mut node = 0;
        let moved = finer.stations.iter().zip(&again.gap_mm).filter_map(|(station, gap)| {
            let before = (grid.stations[node].table_mm == station.table_mm).then(|| contact.gap_mm[node])?;
            node += 1;
            Some((before - gap).abs())
        });
        // Gaps converge with the square of the elements' length: three quarters of the error went with this halving.
        error_mm = largest(moved) / 3.0;
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
        let shrunk = |i: usize| 1.0 - k[i] * sections[i].neutral_mm;
        let stiffness = |i: usize| sections[i].wet_stiffness_n_mm + load.caul_stiffness_n_mm;
        Element {
            stiffness_n_mm: [0, 1].map(|i| stiffness(i) / shrunk(i)),
            bend_per_mm: [0, 1].map(|i| k[i] - shrunk(i) * sections[i].wet_offset_n / stiffness(i)),
            pressure_mpa: load.pressure_mpa,
        }
    };
    let nodes_mm: Vec<f64> = grid.stations.iter().map(|s| s.table_mm).collect();
    let mut forces_n_per_mm = Vec::new();
    if !load.forces.is_empty() {
        forces_n_per_mm.resize(nodes_mm.len(), 0.0);
        for force in &load.forces {
            let node = index_of_least(grid.stations.iter().map(|s| (s.blank_mm - force.blank_mm).abs()));
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
        [0, 1].map(|i| (k[i] + lift[i]) / (1.0 + lift[i] * sections[i].neutral_mm))
    };
    let ends = grid.table_per_mm.iter().zip(&contact.lift_per_mm).zip(&grid.sections);
    let base_per_mm = ends.map(base_per_mm).collect();
    let Grid { stations, table_per_mm, sections } = grid;
    Pressed { stations, sections, table_per_mm, base_per_mm, contact, gap_error_mm }
}

#[cfg(test)]
mod tests;
