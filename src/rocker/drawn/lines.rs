//! The lines of a drawing, whatever its format.

use super::found::{Found, PATH};
use super::{dxf_in, svg_in};
use crate::codes;
use crate::finding::Fault;
use crate::job::{DrawingFormat, DrawnLines};

pub(super) fn read(lines: &DrawnLines) -> Result<Found, Fault> {
    match lines.format {
        DrawingFormat::Dxf => dxf_in::read(&lines.bytes, lines.layer.as_deref()),
        DrawingFormat::Svg => svg_in::read(&lines.bytes, lines.layer.as_deref()),
    }
}

/// Millimetres in a unit of the drawing.
pub(super) fn unit_mm(lines: &DrawnLines, found: &Found) -> Result<f64, Fault> {
    lines.unit_mm.or(found.unit_mm).ok_or_else(|| codes::DRAWING_UNIT.at(PATH, "the drawing does not say its unit."))
}
