//! `[rocker.drawing]`, `[board.outline.drawing]` and `[layers.taper_drawing]`: lines drawn in a CAD program.

use super::inputs::Inputs;
use super::keys::Range::Within;
use super::section::Section;
use crate::codes;
use crate::job::{Direction, DrawingFormat, DrawnLines, DrawnProfile, OutlineShape};
use crate::units::MM_PER_INCH;

/// Ends that far apart are joined when the document does not say, mm: what drawing programs leave by rounding.
const DEFAULT_GAP_MM: f64 = 0.05;
/// Widest gap that is bridged, mm.
const WIDEST_GAP_MM: f64 = 5.0;

/// Reads `[rocker.drawing]`.
pub(super) fn drawn(at: &mut Section<'_, '_>, inputs: &Inputs) -> Option<DrawnProfile> {
    let lines = lines(at, inputs, "Export the profile as DXF or SVG.");
    let up = [("y", Direction::PlusY), ("-y", Direction::MinusY), ("x", Direction::PlusX), ("-x", Direction::MinusX)];
    let up = at.word("up", &up, "Which way the deck lies from the base.").otherwise("up on the drawing");
    let tip_right = at.choice("tip", &[("right", true), ("left", false)], "Where the tip is drawn.");
    let lines = lines?;
    // y points up in a DXF and down in an SVG.
    let usual = if lines.format == DrawingFormat::Svg { Direction::MinusY } else { Direction::PlusY };
    Some(DrawnProfile { lines, up: up.unwrap_or(usual), tip_right })
}

/// Reads `[board.outline.drawing]`.
pub(super) fn drawn_outline(at: &mut Section<'_, '_>, inputs: &Inputs) -> Option<OutlineShape> {
    let lines = lines(at, inputs, "Export the outline as DXF or SVG.");
    let tips = [
        ("right", Direction::PlusX),
        ("left", Direction::MinusX),
        ("up", Direction::PlusY),
        ("down", Direction::MinusY),
    ];
    let tip = at.choice("tip", &tips, "Where the tip is drawn, on the drawing as it is seen; the deck faces you.");
    Some(OutlineShape::Drawn { lines: lines?, tip })
}

/// Reads `[layers.taper_drawing]`: the lines, and where the tip is drawn.
pub(super) fn drawn_side(at: &mut Section<'_, '_>, inputs: &Inputs) -> Option<(DrawnLines, Direction)> {
    let lines = lines(at, inputs, "Export the part as DXF or SVG.");
    let tips = [("right", Direction::PlusX), ("left", Direction::MinusX)];
    let tip = at.choice("tip", &tips, "Where the tip is drawn.");
    Some((lines?, tip))
}

/// The keys that name lines of a drawing.
fn lines(at: &mut Section<'_, '_>, inputs: &Inputs, remedy: &str) -> Option<DrawnLines> {
    let name = at.file("file", "DXF or SVG file, by its path from this document.");
    let name = name.needed("Name a DXF or SVG file by its path from the job document's folder.");
    let meaning = "Layer of a DXF, or id in an SVG, that the line is drawn on.";
    let layer = at.text("layer", meaning).otherwise("all lines");
    let units = [("file", None), ("mm", Some(1.0)), ("cm", Some(10.0)), ("m", Some(1000.0)), ("in", Some(MM_PER_INCH))];
    let unit_mm = at.choice("units", &units, "Unit of the drawing, where the file does not say.");
    let gap_mm = at.length("gap", Within(0.0, WIDEST_GAP_MM), "Ends closer than this are joined.").or(DEFAULT_GAP_MM);
    let name = name?;
    let format = match name.rsplit('.').next().unwrap_or_default().to_lowercase().as_str() {
        "dxf" => DrawingFormat::Dxf,
        "svg" => DrawingFormat::Svg,
        _ => {
            let message = format!("`{name}` ends neither in .dxf nor in .svg.");
            at.fault(codes::DRAWING_FORMAT, "file", message, remedy);
            return None;
        }
    };
    let bytes = inputs.bytes(at.reader, &name, &at.path_of("file"))?.to_vec();
    Some(DrawnLines { bytes, format, layer, unit_mm, gap_mm })
}
