//! How this shop reads lengths, and how its board lies.

use crate::built::Built;
use crate::draft::plot::Count;
use crate::job::{Hold, Lies};
use crate::units::{LengthUnit, MM_PER_INCH, Quantity, length};

/// -1 where the board lies on its deck and all on the table is seen upside down, +1 otherwise.
pub(super) fn way_up(built: &Built) -> f64 {
    match built.design.job.table.lies {
        Lies::BaseDown => 1.0,
        Lies::DeckDown => -1.0,
    }
}

/// Whether a bag presses.
pub(super) fn bagged(built: &Built) -> bool {
    matches!(built.design.job.pressing.hold, Hold::Vacuum { .. })
}

/// How this shop reads lengths.
#[derive(Debug, Clone, Copy)]
pub(super) struct Say {
    pub(super) unit: LengthUnit,
}

impl Say {
    /// A length with its unit.
    pub(super) fn length(self, mm: f64) -> String {
        length(mm, self.unit)
    }

    /// A length with its unit, finer than [`Say::length`]: for small ones.
    pub(super) fn fine(self, mm: f64) -> String {
        self.show(Quantity::fine(mm))
    }

    /// A small difference with its unit; what is below anything a shop can measure is told as that.
    pub(super) fn small(self, mm: f64) -> String {
        self.show(Quantity::small(mm))
    }

    /// Any quantity with its unit.
    pub(super) fn show(self, quantity: Quantity) -> String {
        quantity.text(self.unit)
    }

    /// A length in the unit of the axes.
    pub(super) fn on_axis(self, mm: f64) -> f64 {
        match self.unit {
            LengthUnit::Millimetre => mm,
            LengthUnit::Inch { .. } => mm / MM_PER_INCH,
        }
    }

    /// The unit's short name.
    pub(super) fn name(self) -> &'static str {
        match self.unit {
            LengthUnit::Millimetre => "mm",
            LengthUnit::Inch { .. } => "in",
        }
    }

    /// How axes of length count.
    pub(super) fn count(self) -> Count {
        match self.unit {
            LengthUnit::Millimetre => Count::Tens,
            LengthUnit::Inch { .. } => Count::Inches,
        }
    }
}
