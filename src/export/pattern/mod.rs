//! Full-size patterns on paper: as tiled sheets with match lines, or on one long page for a roll.
//!
//! PDF: ISO 32000-1. Written with `pdf-writer`, which keeps page boxes and user units exactly as asked.

mod canvas;
mod file;
mod gauge;
mod lettering;
mod roll;
mod sheets;
mod tiles;

pub use gauge::Ruler;
pub use roll::{RollOptions, write_roll};
pub use sheets::{SheetOptions, write_sheets};

use super::ExportError;

/// A PDF file of patterns.
#[derive(Debug, Clone, PartialEq)]
pub struct PatternFile {
    /// The file.
    pub bytes: Vec<u8>,
    /// How many pages it has.
    pub pages: usize,
    /// Characters that the font lacks and that are drawn as crossed boxes.
    pub missing: Vec<char>,
}

/// Points per millimetre.
const POINTS: f64 = 72.0 / 25.4;

/// Sides of the printed check square between which a correction is believed, mm: printers are off by a per cent or two,
/// and a square beyond this was printed with `fit to page`.
const BELIEVED_MM: (f64, f64) = (90.0, 110.0);

/// What a millimetre on the paper must be drawn as, so that a printer whose check square came out as
/// `printed_mm` (x, y) is set right.
fn correction(printed_mm: Option<(f64, f64)>, ruler: Ruler) -> Result<(f64, f64), ExportError> {
    let Some(printed_mm) = printed_mm else { return Ok((1.0, 1.0)) };
    for value in [printed_mm.0, printed_mm.1] {
        within("printed square", value, BELIEVED_MM)?;
    }
    Ok((ruler.square_mm() / printed_mm.0, ruler.square_mm() / printed_mm.1))
}

fn within(name: &'static str, value: f64, (low, high): (f64, f64)) -> Result<(), ExportError> {
    if value.is_finite() && value >= low && value <= high {
        Ok(())
    } else {
        Err(ExportError::Setting { name, value, low, high })
    }
}
