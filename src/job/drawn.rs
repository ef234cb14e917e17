//! A profile drawn elsewhere.

/// How a drawing is written down.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DrawingFormat {
    /// Drawing exchange format, text or binary.
    Dxf,
    /// Scalable vector graphics.
    Svg,
}

/// A direction along the drawing's axes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Direction {
    /// Toward growing x.
    PlusX,
    /// Toward falling x.
    MinusX,
    /// Toward growing y.
    PlusY,
    /// Toward falling y.
    MinusY,
}

/// Lines of a drawing.
#[derive(Debug, Clone, PartialEq)]
pub struct DrawnLines {
    /// The drawing.
    pub bytes: Vec<u8>,
    /// How it is written down.
    pub format: DrawingFormat,
    /// The layer (DXF) or the id of the path or group (SVG) that holds nothing but the lines; all there is, if not given.
    pub layer: Option<String>,
    /// Millimetres in one unit of the drawing; what the file says, if not given.
    pub unit_mm: Option<f64>,
    /// Ends of curves that are no further apart than this join, mm.
    pub gap_mm: f64,
}

/// The base of the board in side view, as a drawing has it.
#[derive(Debug, Clone, PartialEq)]
pub struct DrawnProfile {
    /// The drawing.
    pub lines: DrawnLines,
    /// Which way is up.
    pub up: Direction,
    /// Seen with up upward, the tip is at the right.
    pub tip_right: bool,
}
