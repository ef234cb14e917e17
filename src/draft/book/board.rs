//! The page of a measured board: what it says alone, what the shop knows with it, and what the table needs.

use super::learned;
use super::say::Say;
use super::shims;
use crate::curve::PlaneCurve;
use crate::draft::calibrated::{Calibrated, explained};
use crate::draft::plot::{Axis, Chart, Count, Height, Series};
use crate::drawing::{Block, Cell, Figure, Ink, Listing, Page, Section, Tone};
use crate::finding::{Finding, Verdict};
use crate::job::Job;
use crate::units::decimal;

/// Height of charts, page pixels.
const HIGH: f64 = 170.0;

/// The page.
pub(crate) fn board_page(job: &Job, all: &Calibrated<'_>, origin: &str) -> Page {
    let say = Say { unit: job.unit };
    let section = |id, heading: &str, blocks: Vec<Block>| Section { id, heading: heading.to_owned(), blocks };
    Page {
        title: format!("{}: {}", job.title, all.label),
        kind: "measured board".to_owned(),
        origin: origin.to_owned(),
        lead: lead(all, say),
        sections: vec![
            section("board", "This board", board(all, say)),
            section("shop", "What the shop knows with it", learned::blocks(all.known, None, say)),
            section(
                "correction",
                "Shims for the table",
                shims::blocks(job, all.schedule, "the table of this board", say),
            ),
        ],
    }
}

fn lead(all: &Calibrated<'_>, say: Say) -> Vec<Block> {
    let (low, high) = all.found.band();
    let tone = if all.found.is_explained() { Tone::Good } else { Tone::Look };
    let mut blocks = vec![
        Block::Paragraph(format!(
            "This board sprang back {} times as much as its layers alone say (nine in ten: {} to {}). Its table was taken to \
             be {}.",
            decimal(all.found.factor, 3),
            decimal(low, 3),
            decimal(high, 3),
            all.table
        )),
        Block::Notice(tone, format!("Explained {}.", explained(all.found, say.unit))),
    ];
    let kept = "This board is kept, but not learned from.".to_owned();
    blocks.extend(all.left_out.then_some(Block::Notice(Tone::Look, kept)));
    let look = all.checks.iter().filter(|c| c.verdict != Verdict::Ok);
    let words = |c: &Finding| format!("{}: {}", c.subject.text(say.unit), c.remedy.text(say.unit));
    blocks.extend(look.map(|c| Block::Notice(Tone::Look, words(c))));
    blocks
}

fn board(all: &Calibrated<'_>, say: Say) -> Vec<Block> {
    let mut blocks = vec![Block::Figure(Box::new(left_over(all, say)))];
    if !all.shares.is_empty() {
        blocks.push(Block::Figure(Box::new(shares(all, say))));
        let columns = ["from the middle", "by the layers alone", "measured", "nine in ten"];
        let mut listing = Listing::new("Share of the pressed curvature that sprang back", &columns);
        let percent = |share: f64| format!("{} %", decimal(100.0 * share, 1));
        for s in all.shares {
            let reach = crate::calibrate::NINE_IN_TEN * s.deviation;
            listing.rows.push(vec![
                Cell::Figure(say.length(s.s_mm)),
                Cell::Figure(percent(s.predicted)),
                Cell::Figure(percent(s.measured)),
                Cell::Figure(format!("{} to {}", percent(s.measured - reach), percent(s.measured + reach))),
            ]);
        }
        blocks.push(Block::Table(listing));
    }
    blocks
}

fn along(all: &Calibrated<'_>, say: Say) -> Axis {
    let (from, to) = all.found.curve.range_mm();
    Axis {
        label: format!("along the board from its middle ({})", say.name()),
        range: (say.on_axis(from), say.on_axis(to)),
        count: say.count(),
    }
}

/// Lowest and highest of some values, with room around them.
fn around(values: impl Iterator<Item = f64>) -> (f64, f64) {
    let (low, high) = values.fold((0.0_f64, 0.0_f64), |r, v| (r.0.min(v), r.1.max(v)));
    let room = 0.08 * (high - low);
    (if low < 0.0 { low - room } else { 0.0 }, high + room)
}

fn left_over(all: &Calibrated<'_>, say: Say) -> Figure {
    let found = all.found;
    let mut points: Vec<(f64, f64)> =
        found.rows.iter().map(|r| (say.on_axis(r.s_mm), say.on_axis(r.residual_mm()))).collect();
    points.sort_by(|a, b| a.0.total_cmp(&b.0));
    let x = along(all, say);
    let level = |mm: f64| vec![(x.range.0, say.on_axis(mm)), (x.range.1, say.on_axis(mm))];
    let twice = 2.0 * found.error_mm;
    let series = vec![
        Series { name: "two errors of a reading".to_owned(), ink: Ink::Limit, points: level(twice) },
        Series { name: String::new(), ink: Ink::Limit, points: level(-twice) },
        Series { name: "reading less model with one factor".to_owned(), ink: Ink::Released, points },
    ];
    let y = around(series.iter().flat_map(|s| s.points.iter().map(|p| p.1)));
    let places = found.local.map_or_else(Vec::new, |l| vec![(say.on_axis(l.s_mm), "differs here".to_owned())]);
    let chart = Chart {
        x,
        y: Axis { label: format!("left over ({})", say.name()), range: y, count: Count::Tens },
        series,
        places,
        bands: Vec::new(),
    };
    Figure::of(
        "What one factor leaves over",
        "Where one factor explains the board, the line wanders about zero within the limits. A bend at one place shows as a \
         corner.",
        |width| (chart.draw(width, Height::Fixed(HIGH)).0, String::new()),
    )
}

fn shares(all: &Calibrated<'_>, say: Say) -> Figure {
    let at = |share: f64, s: f64| (say.on_axis(s), 100.0 * share);
    let series = vec![
        Series {
            name: "by the layers alone".to_owned(),
            ink: Ink::Wanted,
            points: all.shares.iter().map(|s| at(s.predicted, s.s_mm)).collect(),
        },
        Series {
            name: "measured".to_owned(),
            ink: Ink::Released,
            points: all.shares.iter().map(|s| at(s.measured, s.s_mm)).collect(),
        },
    ];
    let bands: Vec<(f64, f64, f64)> = all
        .shares
        .iter()
        .map(|s| {
            let reach = 100.0 * crate::calibrate::NINE_IN_TEN * s.deviation;
            (say.on_axis(s.s_mm), 100.0 * s.measured - reach, 100.0 * s.measured + reach)
        })
        .collect();
    let y =
        around(series.iter().flat_map(|s| s.points.iter().map(|p| p.1)).chain(bands.iter().flat_map(|b| [b.1, b.2])));
    let chart = Chart {
        x: along(all, say),
        y: Axis { label: "share sprung back (%)".to_owned(), range: y, count: Count::Tens },
        series,
        places: Vec::new(),
        bands,
    };
    Figure::of(
        "Springback along the board",
        "The share of the pressed curvature by which the board sprang back, as means over ninths of its length. Upright bars hold \
         the true share in nine cases of ten, by the error of the readings.",
        |width| (chart.draw(width, Height::Fixed(HIGH)).0, String::new()),
    )
}
