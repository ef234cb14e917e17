//! The forward problem: a wet stack pushed on a given table, and the board that comes off it.
//!
//! Three lengths run along the same places, all zero in the middle of the finished board: along the table's surface, on
//! the flat blank (which is not stretched, so it is the same pressed and released), and along the board's base. A
//! section that turns by κ per length of blank, with its neutral axis z above the base, stretches the base by 1 + κ z,
//! so the base's own curvature is κ/(1 + κ z).

pub mod contact;
mod grid;
mod released;

pub use released::{Released, release};

use crate::curve::{Curvature, CurvatureError, Piece};
use crate::laminate::{Laminate, Section};

use contact::{Contact, ContactError, Element, Strip};
use grid::Grid;

/// What pushes the stack on the table, per mm of width.
#[derive(Debug, Clone, PartialEq)]
pub struct Load {
    /// Pressure all over the blank, MPa.
    pub pressure_mpa: f64,
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

/// Presses a wet stack on a table whose surface has the curvature `table` over its own arc length.
///
/// `start` is an earlier result for a like stack on the same table; it saves steps.
///
/// # Errors
/// [`PressError`]: a blank that hangs over the table, a table tighter than the stack is thick, or no convergence.
pub fn press(
    table: &Curvature,
    laminate: &Laminate,
    blank: Blank,
    load: &Load,
    start: Option<&Pressed>,
) -> Result<Pressed, PressError> {
    let grid = Grid::new(table, laminate, blank)?;
    let element = |(k, sections): (&[f64; 2], &[Section; 2])| {
        let ends = [0, 1].map(|i| {
            let section = &sections[i];
            let own = section.wet_offset_n / section.wet_stiffness_n_mm;
            (section.wet_stiffness_n_mm, k[i] / (1.0 - k[i] * section.neutral_mm) - own)
        });
        Element { stiffness_n_mm: ends.map(|e| e.0), bend_per_mm: ends.map(|e| e.1), pressure_mpa: load.pressure_mpa }
    };
    let strip = Strip {
        nodes_mm: grid.stations.iter().map(|s| s.table_mm).collect(),
        elements: grid.table_per_mm.iter().zip(&grid.sections).map(element).collect(),
        forces_n_per_mm: Vec::new(),
    };
    let contact = contact::solve(&strip, start.map(|s| &s.contact)).map_err(PressError::Contact)?;
    let base_per_mm = grid.table_per_mm.iter().zip(&contact.lift_per_mm);
    let base_per_mm = base_per_mm.map(|(k, lift)| [k[0] + lift[0], k[1] + lift[1]]).collect();
    let Grid { stations, table_per_mm, sections } = grid;
    Ok(Pressed { stations, sections, table_per_mm, base_per_mm, contact })
}
