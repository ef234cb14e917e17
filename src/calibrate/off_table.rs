//! The board that a table gives, for any factor.

use crate::curve::{Curvature, Curve};
use crate::forecast::shown_after;
use crate::job::ClosingIn;
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
    /// Springback when the board was read over that of a day after release.
    shown: f64,
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
        let plain =
            press(surface, &laminate.with_springback_factor(1.0).with_closing_in(ClosingIn::EXPECTED), blank, load)?;
        Ok(Self { plain, finished_mm, shown: 1.0 })
    }

    /// The same board for readings so many hours after its release: factors stay those of a day after it.
    #[must_use]
    pub(crate) fn read_after(self, hours: f64, laminate: &Laminate) -> Self {
        Self { shown: shown_after(laminate, hours), ..self }
    }

    /// Springback when the board was read over that of a day after release.
    pub(crate) fn shown(&self) -> f64 {
        self.shown
    }

    /// The stack as it lay.
    pub(crate) fn pressed(&self) -> &Pressed {
        &self.plain
    }

    /// Ends (tail, tip) of the finished board along its base, mm.
    pub(crate) fn finished_mm(&self) -> (f64, f64) {
        self.finished_mm
    }

    /// The released blank of a shop with this factor, whose stacks close in as computed; `None` where it would fold.
    pub(crate) fn released(&self, factor: f64) -> Option<Released> {
        self.released_closing(factor, 1.0)
    }

    /// The released blank of a shop with this factor, whose stacks close in by a multiple of what is computed; `None` where it
    /// would fold.
    pub fn released_closing(&self, factor: f64, closing: f64) -> Option<Released> {
        let mut pressed = self.plain.clone();
        pressed
            .sections
            .iter_mut()
            .flatten()
            .for_each(|section| *section = section.with_factor(self.shown * factor, closing));
        release(&pressed).ok()
    }

    /// How much lower the springback factor seems when this stack closes in as computed; 0 where it does not close in.
    pub(crate) fn factor_per_closing_in(&self) -> f64 {
        self.plain.sections[self.plain.sections.len() / 2][0].factor_per_closing_in() / self.shown
    }

    /// The base of the finished board of a shop with this factor, its middle at the origin; `None` where it would fold.
    pub(crate) fn base(&self, factor: f64) -> Option<Curve> {
        let released = self.released(factor)?;
        released.base.between(self.finished_mm.0, self.finished_mm.1).ok().map(Curve::new)
    }
}
