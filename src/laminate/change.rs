//! What a draw of an uncertain stack, a calibration or an advice changes.

/// How one layer differs from what the job says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Change {
    /// Factor on its modulus.
    pub modulus_factor: f64,
    /// Thickness added all along, mm; a layer never loses more than nine tenths of itself.
    pub thickness_mm: f64,
    /// Part of its stress that relaxes, instead of the job's.
    pub relaxed: f64,
}

/// Part of a layer's thickness that a change leaves at least, so that no draw turns a layer inside out.
pub(super) const LEAST_LEFT: f64 = 0.1;
