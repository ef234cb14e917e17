//! What the files are to be like.

use crate::drawing::Paper;

/// Dialect of DXF.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum DxfDialect {
    /// Of the year 2000, read by almost everything.
    #[default]
    R2000,
    /// Of the year 1992, for old machines.
    R12,
}

/// Sheets that patterns are printed on.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheets {
    /// Name of the paper, as it stands in the file's name.
    pub name: String,
    /// Its size.
    pub paper: Paper,
    /// Strip along every edge that the printer cannot print, mm.
    pub margin_mm: f64,
    /// How much neighbouring sheets show of each other, mm.
    pub overlap_mm: f64,
}

/// Choices about the files.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Files {
    /// Dialect of the DXF files.
    pub dxf: DxfDialect,
    /// Whether lines in SVG are as thin as lasers want them.
    pub hairline: bool,
    /// Whether marked texts are drawn as single lines.
    pub stroke_text: bool,
    /// Width of the kerf or diameter of the cutter, mm, if cuts are to be moved by half of it to their waste side.
    pub cut_width_mm: Option<f64>,
    /// Whether that is a beam's kerf: a beam cuts drilled holes as well.
    pub beam: bool,
    /// Whether a story stick is drawn.
    pub story_stick: bool,
    /// Whether the table is written as one solid.
    pub table_solid: bool,
    /// Sheets for patterns, if wanted.
    pub sheets: Option<Sheets>,
    /// Width of the roll for patterns on one page, mm, if wanted.
    pub roll_width_mm: Option<f64>,
    /// What the check square measured on paper, along the lower and along the left edge, mm, where it was measured.
    pub printed_square_mm: Option<(f64, f64)>,
}
