//! The layers of the stack.

/// What a material is; it decides defaults and how its figures are to be read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MaterialKind {
    /// Wood with the grain along the board.
    WoodAlong,
    /// Wood with the grain across the board.
    WoodAcross,
    /// Fibre-reinforced laminate.
    Laminate,
    /// Metal.
    Metal,
    /// Unreinforced plastic or film.
    Plastic,
    /// Plywood, fibreboard and the like.
    Sheet,
}

/// A value with how much it scatters.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    /// The expected value.
    pub value: f64,
    /// Coefficient of variation: standard deviation over value.
    pub cv: f64,
}

/// What a layer is made of, catalogue and overrides already put together.
#[derive(Debug, Clone, PartialEq)]
pub struct Material {
    /// Its name.
    pub name: String,
    /// What it is.
    pub kind: MaterialKind,
    /// Modulus along the board for pure bending, MPa.
    pub modulus_mpa: Spread,
    /// Modulus across the board, MPa, where known.
    pub cross_modulus_mpa: Option<f64>,
    /// Largest strain it is to see while bent, where known.
    pub strain_limit: Option<f64>,
    /// Thermal expansion along the board, 1/K, where known.
    pub expansion_per_k: Option<f64>,
    /// Density, kg/m³, where known.
    pub density_kg_m3: Option<f64>,
    /// Where the figures come from.
    pub source: String,
}

/// Values at stations along the board, s in mm from its middle, in order.
pub type Stations = Vec<(f64, f64)>;

/// Thickness of a layer.
#[derive(Debug, Clone, PartialEq)]
pub enum Thickness {
    /// The same all along, mm.
    Constant(f64),
    /// Linear between stations (s, thickness), mm, and constant beyond them.
    Tapered(Stations),
}

/// One layer of the stack.
#[derive(Debug, Clone, PartialEq)]
pub struct Layer {
    /// What the shop calls it.
    pub name: String,
    /// What it is made of.
    pub material: Material,
    /// Its thickness.
    pub thickness: Thickness,
    /// Layers with the same group number lie together and were glued to each other before pressing.
    pub cured_group: Option<usize>,
    /// Curvature it has by itself before pressing, 1/mm.
    pub natural_curvature_per_mm: f64,
    /// Part of the bending stress that relaxes while it is held on the table.
    pub relaxed: f64,
}
