//! How the table is built.

/// Most ribs of one table.
pub const MOST_RIBS: usize = 500;

/// How many ribs and where.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum RibLayout {
    /// This many, spread evenly.
    Count(usize),
    /// As few as keep their centres no further apart than this, mm.
    Pitch(f64),
}

/// Ribs along the board.
#[derive(Debug, Clone, PartialEq)]
pub struct Ribs {
    /// How many.
    pub layout: RibLayout,
    /// Thickness of the stock as measured, mm.
    pub thickness_mm: f64,
    /// Height of the lowest place of a rib's top over the table's base, mm.
    pub lowest_height_mm: f64,
    /// Length of the stock a rib must fit, mm, where the shop says so.
    pub stock_length_mm: Option<f64>,
    /// Width of the stock a rib must fit, mm, where the shop says so.
    pub stock_width_mm: Option<f64>,
}

/// Threaded rods through all ribs.
#[derive(Debug, Clone, PartialEq)]
pub struct Rods {
    /// Nominal diameter, mm.
    pub diameter_mm: f64,
    /// Hole through the ribs, mm.
    pub hole_mm: f64,
    /// Places along the table from its middle, mm; empty where the tool is to choose `count` of them.
    pub stations_mm: Vec<f64>,
    /// How many rods when the tool chooses.
    pub count: usize,
    /// Height of the holes over the table's base, mm; `None` for the middle of the lowest place.
    pub height_mm: Option<f64>,
    /// Rod beyond the outer ribs at each end for washer and nut, mm.
    pub nut_allowance_mm: f64,
}

/// The table.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// Thickness of the skin that the board lies on, mm.
    pub skin_mm: f64,
    /// Release film and other sheets on the skin, mm.
    pub film_mm: f64,
    /// Table beyond the board's width at each side, mm.
    pub side_margin_mm: f64,
    /// Table beyond the blank at each end, mm.
    pub end_margin_mm: f64,
    /// Its ribs.
    pub ribs: Ribs,
    /// Rods through the ribs, where used.
    pub rods: Option<Rods>,
    /// Distance between the stations that are listed and marked, mm.
    pub station_pitch_mm: f64,
}
