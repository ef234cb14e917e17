//! What the build book says: one page that explains the result, is checked before cutting, and guides building and
//! pressing. Explains; does not compute.

mod bagging;
mod board;
mod cautions;
mod curves;
mod details;
mod first;
mod grounds;
mod kinds;
mod learned;
mod outline;
mod parts;
mod projection;
mod say;
mod scene;
mod sheets;
mod shims;
mod shopping;
mod sketch;
mod stack;
mod steps;
mod tables;
mod taper;

use crate::built::Built;
use crate::drawing::{Block, Page, Section};
use say::Say;

pub(crate) use board::board_page;
pub(crate) use shims::shims_page;

/// The page.
pub fn book(built: &Built) -> Page {
    let say = Say { unit: built.design.job.unit };
    let section = |id, heading: &str, blocks: Vec<Block>| Section { id, heading: heading.to_owned(), blocks };
    let kinds = kinds::kinds(built, say);
    let shop = built.design.known.as_ref();
    let shop =
        shop.map(|known| section("shop", "What your boards say", learned::blocks(known, built.next_error_mm, say)));
    let correction = built.correction.as_ref().map(|c| {
        let blocks = shims::blocks(&built.design.job, &c.schedule, &format!("the table of {}", c.label), say);
        section("correction", "Shims for the table that is there", blocks)
    });
    let mut page = Page {
        title: built.design.job.title.clone(),
        kind: "build book".to_owned(),
        origin: crate::draft::origin(&built.design.job.hash),
        lead: first::lead(built, say),
        sections: vec![
            section("checks", "Before you cut", tables::checks(built)),
            section("curves", "Curves and pressing", curves::blocks(built, say)),
            section("outline", "The outline", outline::blocks(built, say)),
            section("stack", "The stack", stack::blocks(built, say)),
            section("table", "The table and its parts", parts::blocks(built, &kinds, say)),
            section("sheets", "Sheets and bars", sheets::blocks(built, say)),
            section("shopping", "Shopping list", shopping::blocks(built, say)),
            section("heights", "Stations, spacers, bearers", tables::heights(built, say)),
            section("cautions", "Cautions", cautions::general()),
            section("steps", "Building and pressing, step by step", steps::blocks(built, say)),
            section("measuring", "Measuring the board", tables::measuring(built, say)),
            section("grounds", "What this rests on", grounds::grounds(built, say)),
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
