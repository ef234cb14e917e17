//! Quantities at the edges: text in, numbers out, and back to text.
//!
//! Inside the library everything is millimetre, newton, megapascal (N/mm²), radian and degree Celsius. A document's
//! quantities are parsed here and nowhere else, and all printed numbers are formatted here and nowhere else.

mod format;
mod parse;
mod quantity;

pub use format::{counted, decimal, plain};
pub(crate) use format::{inch_fraction, push_plain};
pub use parse::{Dimension, LengthUnit, QuantityError, parse_quantity};
pub(crate) use quantity::phrase;
pub use quantity::{Part, Phrase, Quantity, force, length, mass, pressure};

/// Millimetres in an inch, exact by definition (international inch of 1959).
pub const MM_PER_INCH: f64 = 25.4;
/// Millimetres in a centimetre; also what a digit too few or too many makes.
pub(crate) const MM_PER_CM: f64 = 10.0;
/// Pascals in a pound-force per square inch (ISO 80000-4 conversion table, 6894.757).
pub(crate) const PA_PER_PSI: f64 = 6_894.757_293_168;
/// Pascals in a conventional inch of mercury at 0 °C (3386.389).
pub(crate) const PA_PER_INHG: f64 = 3_386.389;
/// Newtons in a pound-force: 0.453 592 37 kg times standard gravity, exact.
pub(crate) const N_PER_LBF: f64 = 4.448_221_615_260_5;
/// Standard acceleration of free fall, m/s², exact by convention (ISO 80000-3).
pub(crate) const STANDARD_GRAVITY: f64 = 9.806_65;
