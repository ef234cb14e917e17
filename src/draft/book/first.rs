//! The first screen: what to build, how the checks came out, the three curves, and the ends.

use super::say::{Say, way_up};
use crate::built::{Built, Design};
use crate::curve::{Curve, PlaneCurve};
use crate::draft::plot::{Axis, Chart, Height, Series};
use crate::draft::summary::{closing_in_words, lost_words, share_words};
use crate::drawing::{Block, Cell, Figure, Ink, Listing, Tone};
use crate::finding::Verdict;
use crate::job::{LengthAlong, Lies};
use crate::units::plain;

/// Step at which curves are drawn, mm.
const STEP_MM: f64 = 12.0;

pub(super) fn lead(built: &Built, say: Say) -> Vec<Block> {
    let mut blocks = vec![Block::Paragraph(what_to_build(built, say)), verdict(built)];
    let accepted: Vec<&str> = built.design.job.accepted.iter().map(String::as_str).collect();
    if !accepted.is_empty() {
        let words = format!("Overridden by the shop, by name: {}. See the checks below.", accepted.join(", "));
        blocks.push(Block::Notice(Tone::Look, words));
    }
    blocks.push(Block::Figure(Box::new(curves(built, say))));
    blocks.push(Block::Table(ends(built, say)));
    blocks
}

fn what_to_build(built: &Built, say: Say) -> String {
    let Design { job, target, laminate, table: bent, .. } = &built.design;
    let Built { jig, .. } = built;
    let section = laminate.section_at(0.0);
    let along = match job.board.length_along {
        LengthAlong::Base => "along its base",
        LengthAlong::Straight => "straight from tip to tail",
    };
    let heights = bent.table_heights_mm();
    let frame = if jig.bearers.is_empty() {
        format!("{} ribs of {} stock", jig.ribs.len(), say.fine(jig.rib_thickness_mm))
    } else {
        format!("{} bearers on a base board", jig.bearers.len())
    };
    let side = match job.table.lies {
        Lies::BaseDown if job.board.count > 1 => "Each board lies on its base.",
        Lies::BaseDown => "The board lies on its base.",
        Lies::DeckDown => "The board lies on its deck, so the table is a hump.",
    };
    let ends = match job.table.lies {
        Lies::BaseDown => format!(
            "its surface rises to {} under the finished tip and {} under the finished tail, against {} and {} of the \
             board",
            say.length(heights.1),
            say.length(heights.0),
            say.length(target.tip_height_mm()),
            say.length(target.tail_height_mm())
        ),
        Lies::DeckDown => "its curve is the wanted one seen upside down, with the springback added".to_owned(),
    };
    let boards = match job.board.count {
        1 => "a board".to_owned(),
        count => format!("{count} boards side by side, {} apart, each", say.length(job.board.gap_mm)),
    };
    let closing = closing_in_words(&section, job.forecast.closing_in.multiple)
        .map_or(String::new(), |words| format!(" Released, it closes in: {words}."));
    format!(
        "Build a table {} long and {} wide of {frame}, covered with a skin {} thick{}. On it you press {boards} {} long \
         {along} and {} wide from {} plies, {} thick together. Released, this stack springs back by {} of the curve \
         it was pressed to{}, so the table is bent that much more: {ends}.{closing} {side}",
        say.length(table_length_mm(built)),
        say.length(jig.width_mm),
        say.fine(job.table.skin_mm),
        match job.table.skin_sheets.count {
            1 => String::new(),
            count => format!(", of {count} sheets"),
        },
        say.length(job.board.length_mm),
        say.length(job.board.width_mm),
        job.layers.len(),
        say.fine(section.thickness_mm),
        share_words(built.design.table.share_range(laminate)),
        lost_words(&built.design.table).map_or(String::new(), |lost| format!(" ({lost})")),
    )
}

/// Length of the table from end to end, mm.
pub(super) fn table_length_mm(built: &Built) -> f64 {
    let (from, to) = built.jig.surface.range_mm();
    built.jig.surface.at(to).point.x - built.jig.surface.at(from).point.x
}

fn verdict(built: &Built) -> Block {
    let count = |verdict| built.checks.iter().filter(|c| c.verdict == verdict).count();
    let (watch, stop, all) = (count(Verdict::Watch), count(Verdict::Stop), built.checks.len());
    let (tone, words) = match (watch, stop) {
        (0, 0) => (Tone::Good, format!("All checks are ok ({all} of {all}).")),
        (_, 0) => (Tone::Look, format!("{watch} of {all} checks ask for a look before you cut. None says stop.")),
        _ => {
            (Tone::Stop, format!("{stop} of {all} checks say stop, {watch} ask for a look. Read them before you cut."))
        }
    };
    Block::Notice(tone, words)
}

fn curves(built: &Built, say: Say) -> Figure {
    let Design { table: bent, .. } = &built.design;
    let crown = bent.resting.at(bent.crown_mm).point.y;
    let up = way_up(built);
    let drawn = |curve: &Curve, up: f64, floor: f64| -> Vec<(f64, f64)> {
        let places = curve.samples(STEP_MM);
        places.iter().map(|p| (say.on_axis(p.point.x), say.on_axis(up * (p.point.y - floor)))).collect()
    };
    let floor = if up < 0.0 { crown } else { 0.0 };
    let series = |name: &str, ink, points| Series { name: name.to_owned(), ink, points };
    let series = vec![
        series("wanted", Ink::Wanted, drawn(&bent.wanted, 1.0, 0.0)),
        series(if up < 0.0 { "table, upside down" } else { "table" }, Ink::Table, drawn(&bent.resting, up, floor)),
        series("released, in the model", Ink::Released, drawn(&bent.predicted, 1.0, 0.0)),
    ];
    let (tail, tip) = bent.finished_table_mm;
    let x = |s: f64| say.on_axis(bent.resting.at(s).point.x);
    let all = || series.iter().flat_map(|s| &s.points);
    let highest = all().map(|p| p.1).fold(0.0, f64::max);
    let (from, to) = all().map(|p| p.0).fold((f64::INFINITY, f64::NEG_INFINITY), |r, v| (r.0.min(v), r.1.max(v)));
    let lowest = all().map(|p| p.1).fold(0.0, f64::min);
    let bands = built.forecast.as_ref().map_or_else(Vec::new, |f| {
        let (a, b) = bent.predicted.range_mm();
        let place = |s: f64| say.on_axis(bent.predicted.at(s).point.x);
        vec![
            (place(a), say.on_axis(f.tail_mm.p05), say.on_axis(f.tail_mm.p95)),
            (place(b), say.on_axis(f.tip_mm.p05), say.on_axis(f.tip_mm.p95)),
        ]
    });
    let chart = Chart {
        x: Axis {
            label: format!("along the board from its middle ({})", say.name()),
            range: (from, to),
            count: say.count(),
        },
        y: Axis { label: format!("height ({})", say.name()), range: (lowest, 1.06 * highest), count: say.count() },
        series,
        places: vec![(x(tail), "tail".to_owned()), (x(tip), "tip".to_owned())],
        bands,
    };
    let with_bands = if built.forecast.is_some() { " The upright bars span nine of ten boards." } else { "" };
    Figure::of(
        "Wanted, table and released",
        format!(
            "The wanted curve is the broad line; the released board, as the model predicts it, differs from it by {}. \
             The table lies beyond it by the springback, and runs on past the finished ends (dotted).{with_bands}",
            say.small(bent.error_mm)
        ),
        |width| {
            let (picture, exaggeration) = chart.draw(width, Height::ToScale(if width < 500.0 { 170.0 } else { 240.0 }));
            let note = if exaggeration > 1.0 {
                format!("Heights are drawn {} times as large as lengths.", plain(exaggeration, 0))
            } else {
                "Heights and lengths are drawn to one scale.".to_owned()
            };
            (picture, note)
        },
    )
}

fn ends(built: &Built, say: Say) -> Listing {
    let Design { target, table: bent, .. } = &built.design;
    let Built { forecast, .. } = built;
    let mut columns = vec!["end", "wanted", "on the table", "released, in the model"];
    if forecast.is_some() {
        columns.push("nine of ten boards");
    }
    let mut listing = Listing::new("Height of the ends", &columns);
    let (table, released) = (bent.table_heights_mm(), bent.predicted_heights_mm());
    let rows = [
        ("tip", target.tip_height_mm(), table.1, released.1, forecast.as_ref().map(|f| f.tip_mm)),
        ("tail", target.tail_height_mm(), table.0, released.0, forecast.as_ref().map(|f| f.tail_mm)),
    ];
    for (end, wanted, table, released, band) in rows {
        let mut row = vec![Cell::text(end)];
        row.extend([wanted, table, released].map(|mm| Cell::Figure(say.length(mm))));
        row.extend(band.map(|b| Cell::Figure(format!("{} to {}", say.length(b.p05), say.length(b.p95)))));
        listing.rows.push(row);
    }
    listing
}
