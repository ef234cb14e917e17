//! The line that a file holds, and how much of a file is read.

use super::stroke::Stroke;
use crate::codes;
use crate::finding::Fault;

/// The key of the file, within the table that names the drawing.
pub(super) const PATH: &str = "file";

/// What was found in a drawing, in its own axes and units.
pub(super) struct Found {
    pub(super) strokes: Vec<Stroke>,
    /// Millimetres in a unit, if the file says.
    pub(super) unit_mm: Option<f64>,
}

/// Maximum number of lines, arcs and splines of a profile, blocks within blocks counted each time: ten times the finest flattening.
const MOST_STROKES: usize = 200_000;

/// Refuses a drawing that holds more than a profile.
pub(super) fn check_count(count: usize) -> Result<(), Fault> {
    if count <= MOST_STROKES {
        return Ok(());
    }
    Err(codes::DRAWING_TOO_LONG
        .at(PATH, format!("the drawing holds more than {MOST_STROKES} lines, arcs and splines.")))
}
