//! What materials cost.

/// Prices of what is used beside sheets, bars and layers, which carry their own; what is not given has none.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Prices {
    /// Name or sign of the money.
    pub currency: Option<String>,
    /// The sheet that the table's skin is cut from, per m².
    pub skin_per_m2: Option<f64>,
    /// A bolt of a joint.
    pub bolt: Option<f64>,
    /// A nut.
    pub nut: Option<f64>,
    /// A washer.
    pub washer: Option<f64>,
    /// A screw.
    pub screw: Option<f64>,
    /// Release film, per m².
    pub film_per_m2: Option<f64>,
    /// Breather, per m².
    pub breather_per_m2: Option<f64>,
    /// Bag, per m².
    pub bag_per_m2: Option<f64>,
    /// Sealant tape, per m.
    pub tape_per_m: Option<f64>,
    /// Glue, or mixed resin, per kg.
    pub resin_per_kg: Option<f64>,
}
