//! Shims: what to add to a table that is there, where, made of what, and in which order.

use super::say::Say;
use crate::calibrate::{Shim, ShimSchedule};
use crate::draft::shims::{NOTHING_MM, remedy};
use crate::drawing::{Block, Cell, Listing, Page, Section, Step, Tone};
use crate::job::{Frame, Job};
use crate::units::Quantity;

/// The schedule, its order of work and what it leaves; `whose` says which table is meant.
pub(super) fn blocks(job: &Job, schedule: &ShimSchedule, whose: &str, say: Say) -> Vec<Block> {
    let most = schedule.shims.iter().map(|s| s.needed_mm.abs()).fold(0.0, f64::max);
    let mut blocks = vec![Block::Paragraph(format!(
        "What turns {whose} into the table of this page: at most {} at a station. A table may stand at any height and tilt, \
         so the level was chosen under which least has to be done. Built of these pieces, the table stays within {} of what \
         is needed at every station.",
        say.fine(most),
        say.show(Quantity::within(schedule.largest_error_mm))
    ))];
    let bend = |k: f64| say.show(Quantity::curvature(k));
    blocks.push(if schedule.is_smooth {
        Block::Paragraph(format!(
            "Smooth: what the pieces leave over bends by {} at most, and {} is allowed.",
            bend(schedule.kink_per_mm),
            bend(schedule.most_kink_per_mm)
        ))
    } else {
        Block::Notice(
            Tone::Look,
            format!(
                "Not smooth: these pieces leave a bump of {}, and {} is allowed.",
                bend(schedule.kink_per_mm),
                bend(schedule.most_kink_per_mm)
            ),
        )
    });
    blocks.extend(remedy(schedule, job.unit).map(|words| Block::Notice(Tone::Look, format!("Out of reach: {words}."))));
    blocks.push(Block::Table(listing(schedule, say)));
    blocks.push(Block::Heading("Order of work".to_owned()));
    blocks.push(Block::Steps(order(job, schedule, say)));
    blocks
}

/// A page of its own for a schedule.
pub(crate) fn shims_page(job: &Job, schedule: &ShimSchedule, whose: &str, origin: &str) -> Page {
    let say = Say { unit: job.unit };
    Page {
        title: job.title.clone(),
        kind: "shims".to_owned(),
        origin: origin.to_owned(),
        lead: Vec::new(),
        sections: vec![Section {
            id: "correction",
            heading: "Shims for the table".to_owned(),
            blocks: blocks(job, schedule, whose, say),
        }],
    }
}

/// What is done at a station, in the shop's unit.
fn doing(shim: &Shim, say: Say) -> String {
    if shim.needed_mm < -NOTHING_MM {
        return format!("plane off {}", say.fine(-shim.needed_mm));
    }
    let pieces: Vec<String> = shim.pieces_mm.iter().filter(|p| **p > NOTHING_MM).map(|p| say.fine(*p)).collect();
    if pieces.is_empty() { "nothing".to_owned() } else { pieces.join(" + ") }
}

fn listing(schedule: &ShimSchedule, say: Say) -> Listing {
    let columns = ["station", "from the middle", "table there", "wanted", "needed", "made of", "left over", "order"];
    let mut listing = Listing::new("Shims", &columns);
    for (i, s) in schedule.shims.iter().enumerate() {
        listing.rows.push(vec![
            Cell::count(i + 1),
            Cell::Figure(say.length(s.x_mm)),
            Cell::Figure(say.fine(s.built_mm)),
            Cell::Figure(say.fine(s.wanted_mm)),
            Cell::Figure(say.fine(s.needed_mm)),
            Cell::text(doing(s, say)),
            Cell::Figure(say.fine(s.error_mm)),
            Cell::count(s.order),
        ]);
    }
    listing
}

fn order(job: &Job, schedule: &ShimSchedule, say: Say) -> Vec<Step> {
    let step = |head: &str, text: String| Step::new(head, text);
    let under = match job.table.frame {
        Frame::Ribs(_) => "between the skin and the tops of all ribs, square to the surface",
        Frame::Bearers(_) => "under the bearer, upright",
    };
    let mut steps = vec![step(
        "Loosen the skin",
        format!("Mark the stations on the frame, from the middle out. Shims go {under}, over the table's whole width."),
    )];
    let planed = schedule.shims.iter().any(|s| s.needed_mm < -NOTHING_MM);
    if planed {
        let text = "Take off first what is to be planed off, and try it with a straightedge across.".to_owned();
        steps.push(step("Plane", text));
    }
    let mut sorted: Vec<(usize, &Shim)> = schedule.shims.iter().enumerate().collect();
    sorted.sort_by_key(|(_, s)| s.order);
    let of: Vec<String> = sorted
        .iter()
        .filter(|(_, s)| !s.pieces_mm.is_empty() && s.needed_mm > NOTHING_MM)
        .map(|(i, s)| format!("station {} at {}: {}", i + 1, say.length(s.x_mm), doing(s, say)))
        .collect();
    let text = if of.is_empty() { "No shims are needed.".to_owned() } else { format!("{}.", of.join("; ")) };
    steps.push(step("Set the shims from the middle outward", text));
    steps.push(step(
        "Fasten and measure",
        "Fasten the skin again from the middle outward, so that it lies down without a bubble. Read the table's heights along \
         a straightedge, and compute with them: they are what the next board is pressed on."
            .to_owned(),
    ));
    steps
}
