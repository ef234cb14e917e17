//! What presses, and how the stack lies.

use std::fmt;

use super::contact::{Contact, ContactError};
use crate::curve::{Curvature, CurvatureError, Piece, parallel_curvature};
use crate::laminate::Section;

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
    /// [`CurvatureError`] for NaN.
    pub(crate) fn turning(&self) -> Result<Curvature, CurvatureError> {
        let pieces = self.sections.iter().zip(&self.base_per_mm).enumerate().map(|(i, (sections, base))| {
            let turn = |j: usize| parallel_curvature(base[j], sections[j].neutral_mm);
            let (from, to) = (self.stations[i].blank_mm, self.stations[i + 1].blank_mm);
            Piece { start_mm: from, end_mm: to, k_start_per_mm: turn(0), k_end_per_mm: turn(1) }
        });
        Curvature::new(pieces.collect())
    }
}

/// Why a stack could not be pressed in the model.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum PressError {
    /// The blank's end is not inside the table or is NaN (place on the blank, mm).
    Blank(f64),
    /// The table is bent tighter than the stack's neutral axis allows (place along the table, mm).
    TooTight(f64),
    /// The contact could not be computed.
    Contact(ContactError),
}

impl fmt::Display for PressError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Blank(_) => f.write_str("the blank does not lie on the table"),
            Self::TooTight(_) => f.write_str("the table is tighter than the stack is thick"),
            Self::Contact(why) => write!(f, "no contact with the table was found: {why}"),
        }
    }
}

impl std::error::Error for PressError {}
