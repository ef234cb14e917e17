//! The board that a table gives, for any factor.

use crate::curve::{Curvature, Curve};
use crate::laminate::Laminate;
use crate::press::{Blank, Load, PressError, Pressed, Released, press, release};

/// A stack as it lay on a table, ready to be released with any factor on the moments that it keeps.
///
/// How it lay does not depend on the factor: the wet stack bends with its whole moduli.
#[derive(Debug, Clone)]
pub struct OffTable {
    /// As it lay, with the sections of factor 1.
    plain: Pressed,
    /// Ends (tail, tip) of the finished board along its base, mm.
    finished_mm: (f64, f64),
}

impl OffTable {
    /// Presses the stack on a table whose surface has this curvature. A factor that the stack carries is left out.
    ///
    /// # Errors
    /// As [`press`].
    pub fn new(
        surface: &Curvature,
        laminate: &Laminate,
        blank: Blank,
        load: &Load,
        finished_mm: (f64, f64),
    ) -> Result<Self, PressError> {
        let plain = press(surface, &laminate.with_springback_factor(1.0), blank, load)?;
        Ok(Self { plain, finished_mm })
    }

    /// The stack as it lay.
    pub fn pressed(&self) -> &Pressed {
        &self.plain
    }

    /// Ends (tail, tip) of the finished board along its base, mm.
    pub fn finished_mm(&self) -> (f64, f64) {
        self.finished_mm
    }

    /// The released blank of a shop with this factor; `None` where it would fold.
    pub fn released(&self, factor: f64) -> Option<Released> {
        let mut pressed = self.plain.clone();
        for section in pressed.sections.iter_mut().flatten() {
            section.kept_stiffness_n_mm *= factor;
            section.kept_offset_n *= factor;
        }
        release(&pressed).ok()
    }

    /// The base of the finished board of a shop with this factor, its middle at the origin; `None` where it would fold.
    pub fn base(&self, factor: f64) -> Option<Curve> {
        let released = self.released(factor)?;
        released.base.between(self.finished_mm.0, self.finished_mm.1).ok().map(Curve::new)
    }
}
