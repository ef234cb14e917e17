//! The lines of a drawing, whatever its format.

use kurbo::Affine;

use super::found::{Found, PATH};
use super::stroke::Stroke;
use super::{dxf_in, svg_in};
use crate::codes;
use crate::finding::Fault;
use crate::job::{DrawingFormat, DrawnLines};

fn read(lines: &DrawnLines) -> Result<Found, Fault> {
    match lines.format {
        DrawingFormat::Dxf => dxf_in::read(&lines.bytes, lines.layer.as_deref()),
        DrawingFormat::Svg => svg_in::read(&lines.bytes, lines.layer.as_deref()),
    }
}

/// The lines of a drawing in millimetres, moved by what `place` makes of the millimetres in a unit of the drawing.
///
/// # Errors
/// What is wrong with the drawing, with its key within the table that names it.
pub(crate) fn strokes(lines: &DrawnLines, place: impl FnOnce(f64) -> Affine) -> Result<Vec<Stroke>, Fault> {
    let found = read(lines)?;
    let place = place(unit_mm(lines, &found)?);
    let strokes: Vec<Stroke> = found.strokes.iter().map(|s| s.placed(place)).collect();
    if strokes.iter().any(|s| !s.is_finite()) {
        return Err(codes::DRAWING_NOT_FINITE.at(PATH, "the drawing holds numbers that are not finite."));
    }
    Ok(strokes)
}

/// Millimetres in a unit of the drawing.
fn unit_mm(lines: &DrawnLines, found: &Found) -> Result<f64, Fault> {
    lines.unit_mm.or(found.unit_mm).ok_or_else(|| codes::DRAWING_UNIT.at(PATH, "the drawing does not say its unit."))
}
