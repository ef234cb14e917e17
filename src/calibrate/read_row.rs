//! Readings beside the model.

/// One reading beside what one factor makes of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ReadRow {
    /// Station as the shop counts it, mm.
    pub station_mm: f64,
    /// Place on the base, mm from the middle.
    pub s_mm: f64,
    /// The height that was read, mm.
    pub height_mm: f64,
    /// The height that the model has there with this factor, mm.
    pub explained_mm: f64,
    /// How much it counts beside a reading without fault: small for one that stands out.
    pub weight: f64,
}

impl ReadRow {
    /// Reading less model, mm.
    pub(crate) fn residual_mm(&self) -> f64 {
        self.height_mm - self.explained_mm
    }
}
