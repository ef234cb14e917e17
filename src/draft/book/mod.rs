//! What the build book says: one page that explains the result, is checked before cutting, and guides building and
//! pressing. Explains; does not compute.

mod bagging;
mod board;
mod cautions;
mod curves;
mod details;
mod first;
mod grounds;
mod learnt;
mod parts;
mod projection;
mod scene;
mod sheets;
mod shims;
mod sketch;
mod stack;
mod steps;
mod tables;
mod taper;

use crate::calibrate::ShimSchedule;
use crate::drawing::{Block, Page, Section};
use crate::finding::Finding;
use crate::forecast::Forecast;
use crate::jig::{Consumables, Jig};
use crate::job::{Hold, Job, Lies};
use crate::laminate::Laminate;
use crate::rocker::Target;
use crate::table::{Carried, OverbentTable, Setup};
use crate::units::{LengthUnit, MM_PER_INCH, Quantity, length};

use super::plot::Count;

pub use board::board_page;
pub use learnt::Learning;
pub use sheets::CutUp;
pub use shims::shims_page;

/// Everything that the book tells of.
#[derive(Debug, Clone, Copy)]
pub struct Results<'a> {
    /// The job.
    pub job: &'a Job,
    /// The curve that is wanted.
    pub target: &'a Target,
    /// The stack, base first.
    pub laminate: &'a Laminate,
    /// The stack as it lies, what is on the table first.
    pub lying: &'a Laminate,
    /// Blank, table ends and load.
    pub setup: &'a Setup,
    /// The table and what comes off it.
    pub bent: &'a OverbentTable,
    /// What that table carries while it is pressed on.
    pub carried: &'a Carried,
    /// What is built.
    pub jig: &'a Jig,
    /// Blank, film, breather, bag and tape.
    pub consumables: &'a Consumables,
    /// What is cut from what.
    pub cut_up: CutUp<'a>,
    /// How sure the released board is, where that was simulated.
    pub forecast: Option<&'a Forecast>,
    /// What the shop's boards say, if it has any.
    pub learnt: Option<Learning<'a>>,
    /// The board whose table is there, and what turns that one into this.
    pub correction: Option<(&'a str, &'a ShimSchedule)>,
    /// All checks.
    pub checks: &'a [Finding],
    /// Program and job.
    pub origin: &'a str,
}

/// The page.
pub fn book(results: &Results<'_>) -> Page {
    let say = Say { unit: results.job.unit };
    let section = |id, heading: &str, blocks: Vec<Block>| Section { id, heading: heading.to_owned(), blocks };
    let kinds = parts::kinds(results, say);
    let shop = results.learnt.as_ref().map(|l| section("shop", "What your boards say", learnt::blocks(l, say)));
    let correction = results.correction.map(|(label, schedule)| {
        let blocks = shims::blocks(results.job, schedule, &format!("the table of {label}"), say);
        section("correction", "Shims for the table that is there", blocks)
    });
    let mut page = Page {
        title: results.job.title.clone(),
        kind: "build book".to_owned(),
        origin: results.origin.to_owned(),
        lead: first::lead(results, say),
        sections: vec![
            section("checks", "Before you cut", tables::checks(results)),
            section("curves", "Curves and pressing", curves::blocks(results, say)),
            section("stack", "The stack", stack::blocks(results, say)),
            section("table", "The table and its parts", parts::blocks(results, &kinds, say)),
            section("sheets", "Sheets and bars", sheets::blocks(results, say)),
            section("heights", "Stations, spacers, bearers", tables::heights(results, say)),
            section("cautions", "Cautions", cautions::general()),
            section("steps", "Building and pressing, step by step", steps::blocks(results, say)),
            section("measuring", "Measuring the board", tables::measuring(results, say)),
            section("grounds", "What this rests on", grounds::grounds(results, say)),
        ],
    };
    page.sections.retain(|s| !s.blocks.is_empty());
    // Before the stack, which they are about, and behind the heights that they change.
    let before = |page: &Page, id: &str| page.sections.iter().position(|s| s.id == id).unwrap_or(page.sections.len());
    for (added, id) in [(shop, "stack"), (correction, "cautions")] {
        let at = before(&page, id);
        page.sections.splice(at..at, added);
    }
    page
}

impl Results<'_> {
    /// -1 where the board lies on its deck and all on the table is seen upside down, +1 otherwise.
    fn way_up(&self) -> f64 {
        match self.job.table.lies {
            Lies::BaseDown => 1.0,
            Lies::DeckDown => -1.0,
        }
    }

    /// Whether a bag presses.
    fn bagged(&self) -> bool {
        matches!(self.job.pressing.hold, Hold::Vacuum { .. })
    }
}

/// How this shop reads lengths.
#[derive(Debug, Clone, Copy)]
struct Say {
    unit: LengthUnit,
}

impl Say {
    /// A length with its unit.
    fn length(self, mm: f64) -> String {
        length(mm, self.unit)
    }

    /// A length with its unit, finer than [`Say::length`]: for small ones.
    fn fine(self, mm: f64) -> String {
        self.show(Quantity::fine(mm))
    }

    /// A small difference with its unit; what is below anything a shop can measure is told as that.
    fn small(self, mm: f64) -> String {
        self.show(Quantity::small(mm))
    }

    /// Any quantity with its unit.
    fn show(self, quantity: Quantity) -> String {
        quantity.text(self.unit)
    }

    /// A length in the unit of the axes.
    fn on_axis(self, mm: f64) -> f64 {
        match self.unit {
            LengthUnit::Millimetre => mm,
            LengthUnit::Inch { .. } => mm / MM_PER_INCH,
        }
    }

    /// The unit's short name.
    fn name(self) -> &'static str {
        match self.unit {
            LengthUnit::Millimetre => "mm",
            LengthUnit::Inch { .. } => "in",
        }
    }

    /// How axes of length count.
    fn count(self) -> Count {
        match self.unit {
            LengthUnit::Millimetre => Count::Tens,
            LengthUnit::Inch { .. } => Count::Inches,
        }
    }
}
