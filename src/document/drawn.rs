//! `[rocker.drawing]`: a profile drawn in a CAD program.

use serde::Deserialize;

use super::inputs::Inputs;
use super::quantity::Quantity;
use super::reader::{Range, Reader};
use crate::codes;
use crate::job::{Direction, DrawingFormat, DrawnProfile};
use crate::units::{Dimension, MM_PER_INCH};

#[derive(Debug, Default, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default)]
pub(super) struct RawDrawn {
    /// DXF or SVG file, by its path from this document.
    ///
    /// Takes a text; must be given.
    file: Option<Quantity>,
    /// Layer of a DXF, or id in an SVG, that the base is drawn on.
    ///
    /// Takes a text; all lines when left out.
    layer: Option<Quantity>,
    /// Unit of the drawing, where the file does not say.
    ///
    /// Takes one of `file`, `mm`, `cm`, `m`, `in`; `file` when left out.
    units: Option<Quantity>,
    /// Which way the deck lies from the base.
    ///
    /// Takes one of `y`, `-y`, `x`, `-x`; up on the drawing when left out.
    up: Option<Quantity>,
    /// Where the tip is drawn.
    ///
    /// Takes one of `right`, `left`; `right` when left out.
    tip: Option<Quantity>,
    /// Ends that near are joined.
    ///
    /// Takes a length from 0 to 5 mm; `0.05 mm` when left out.
    gap: Option<Quantity>,
}

/// Ends that far apart are joined when the document does not say, mm: what drawing programs leave by rounding.
const DEFAULT_GAP_MM: f64 = 0.05;
/// Widest gap that is bridged, mm.
const WIDEST_GAP_MM: f64 = 5.0;

/// Files that the table names.
pub(super) fn files(raw: &RawDrawn) -> Option<&Quantity> {
    raw.file.as_ref()
}

pub(super) fn check(reader: &mut Reader, raw: &RawDrawn, inputs: &Inputs) -> Option<DrawnProfile> {
    let path = |key: &str| format!("rocker.drawing.{key}");
    let layer = reader.text(raw.layer.as_ref(), &path("layer"));
    let units = [("file", None), ("mm", Some(1.0)), ("cm", Some(10.0)), ("m", Some(1000.0)), ("in", Some(MM_PER_INCH))];
    let unit_mm = reader.choice(raw.units.as_ref(), &path("units"), &units, None);
    let up = [
        ("", None),
        ("y", Some(Direction::PlusY)),
        ("-y", Some(Direction::MinusY)),
        ("x", Some(Direction::PlusX)),
        ("-x", Some(Direction::MinusX)),
    ];
    let up = reader.choice(raw.up.as_ref(), &path("up"), &up, None);
    let tip_right = reader.choice(raw.tip.as_ref(), &path("tip"), &[("right", true), ("left", false)], true);
    let gap = reader.optional(raw.gap.as_ref(), &path("gap"), Dimension::Length, Range::NotNegative(WIDEST_GAP_MM));
    if raw.file.is_none() {
        reader.missing(&path("file"), "Name a DXF or SVG file by its path from the job document's folder.");
    }
    let name = reader.text(raw.file.as_ref(), &path("file"))?;
    let ending = name.rsplit('.').next().unwrap_or_default().to_lowercase();
    let format = match ending.as_str() {
        "dxf" => DrawingFormat::Dxf,
        "svg" => DrawingFormat::Svg,
        _ => {
            reader
                .faults
                .push(codes::DRAWING_FORMAT.at(path("file"), format!("`{name}` ends neither in .dxf nor in .svg.")));
            return None;
        }
    };
    // y points up in a DXF and down in an SVG.
    let usual = if format == DrawingFormat::Dxf { Direction::PlusY } else { Direction::MinusY };
    let bytes = inputs.bytes(reader, &name, &path("file"))?.to_vec();
    let gap_mm = gap.unwrap_or(DEFAULT_GAP_MM);
    Some(DrawnProfile { bytes, format, layer, unit_mm, up: up.unwrap_or(usual), tip_right, gap_mm })
}
