//! What the shop has to cut from.

/// Which way something lies against the grain.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Grain {
    /// Its length runs along the grain.
    Along,
    /// Its length runs across the grain.
    Across,
    /// It does not matter, or there is none.
    Free,
}

/// A kind of sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct SheetStock {
    /// What the shop calls it.
    pub name: String,
    /// Length, mm: the longer or shorter side, as the shop names it.
    pub length_mm: f64,
    /// Width, mm.
    pub width_mm: f64,
    /// Thickness, mm, where only parts of that thickness are to be cut from it.
    pub thickness_mm: Option<f64>,
    /// How its length lies to the grain of its face.
    pub grain: Grain,
    /// How many there are; `None` for as many as it takes.
    pub quantity: Option<usize>,
    /// Density, kg/m³, where known.
    pub density_kg_m3: Option<f64>,
    /// Price of one, where given.
    pub price: Option<f64>,
}

/// How parts are laid out on sheets.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Nesting {
    /// Least distance from a part to the sheet's edge, mm.
    pub margin_mm: f64,
    /// Least distance between two parts, mm: room for the cutter.
    pub gap_mm: f64,
    /// How the parts' length is to lie to the grain.
    pub grain: Grain,
    /// Whether a part may be turned end for end.
    pub turn: bool,
    /// Whether a part may be cut from its other face.
    pub mirror: bool,
}

/// A kind of bar, tube or strip that pieces are cut off.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bar {
    /// Length, mm.
    pub length_mm: f64,
    /// How many there are; `None` for as many as it takes.
    pub quantity: Option<usize>,
    /// Price of one, where given.
    pub price: Option<f64>,
}

/// Bars with how they are sawn.
#[derive(Debug, Clone, PartialEq)]
pub struct BarStock {
    /// The kinds of bars, one at least.
    pub bars: Vec<Bar>,
    /// Width of the saw cut, mm.
    pub kerf_mm: f64,
    /// What is cut off the beginning of every bar to square it, saw cut included, mm.
    pub end_trim_mm: f64,
}

/// Everything that the shop says about its stock.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Stock {
    /// Sheets; none where the shop lays the parts out itself.
    pub sheets: Vec<SheetStock>,
    /// How parts are laid out on them.
    pub nesting: Nesting,
    /// Bars for spacers, where they are cut.
    pub spacer_bars: Option<BarStock>,
    /// Bars for threaded rods, where they are cut.
    pub rod_bars: Option<BarStock>,
}

impl Nesting {
    /// Strip along a sheet's edge where the shop does not say, mm: edges of sheets are often bruised (common practice, no
    /// source).
    pub(crate) const USUAL_MARGIN_MM: f64 = 10.0;
    /// Room between parts where no cutter is named, mm (common practice, no source).
    pub(crate) const USUAL_GAP_MM: f64 = 8.0;
}

impl Default for Nesting {
    fn default() -> Self {
        Self {
            margin_mm: Self::USUAL_MARGIN_MM,
            gap_mm: Self::USUAL_GAP_MM,
            grain: Grain::Along,
            turn: true,
            mirror: false,
        }
    }
}
