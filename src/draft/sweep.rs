//! Variations of a document as a listing and as a design chart.

use super::diagram::{self, Diagram, Line};
use crate::built::{Figures, Variation};
use crate::drawing::{Cell, Drawing, Listing};
use crate::finding::Verdict;
use crate::units::plain;

/// Decimals of varied values: as fine as any that is written in a document.
const DECIMALS: usize = 6;

/// All variations, a row each. `keys` are the headings of the varied keys, with their units.
pub(crate) fn sweep_rows(keys: &[String], variations: &[Variation]) -> Listing {
    let results = [
        "table_tip_mm",
        "table_tail_mm",
        "board_tip_mm",
        "board_tail_mm",
        "springback_percent",
        "band_mm",
        "verdict",
        "worst_check",
        "problem",
    ];
    let headings: Vec<&str> = keys.iter().map(String::as_str).chain(results).collect();
    let mut listing = Listing::new("Sweep", &headings);
    for variation in variations {
        let mut row: Vec<Cell> = variation.values.iter().map(|v| Cell::Figure(plain(*v, DECIMALS))).collect();
        match &variation.figures {
            Ok(f) => {
                let lengths = [f.on_table_mm.1, f.on_table_mm.0, f.board_mm.1, f.board_mm.0];
                row.extend(lengths.map(|mm| Cell::Number(mm, 3)));
                row.push(Cell::Number(100.0 * f.springback_share, 3));
                row.push(f.band_mm.map_or(Cell::text(""), |mm| Cell::Number(mm, 3)));
                row.push(Cell::text(f.verdict.word()));
                row.push(Cell::text(f.worst.map_or("", |c| c.name)));
                row.push(Cell::text(""));
            }
            Err(reason) => {
                row.extend(std::iter::repeat_n(Cell::text(""), results.len() - 1));
                row.push(Cell::text(reason.as_str()));
            }
        }
        listing.rows.push(row);
    }
    listing
}

/// The design chart: tip on the table, springback and band over the first key, one line for each combination of values of
/// the other keys. A ring marks a variation that a check stops.
pub(crate) fn sweep_picture(title: &str, keys: &[String], variations: &[Variation], origin: &str) -> Drawing {
    let along = keys.first().cloned().unwrap_or_default();
    let diagram = |id, title: &str, result: fn(&Figures) -> Option<f64>| Diagram {
        id,
        title: title.to_owned(),
        along: along.clone(),
        from_zero: false,
        lines: lines(keys, variations, result),
        dots: stopped(variations, result),
    };
    let diagrams = [
        diagram("tip", "tip on the table, mm", |f| Some(f.on_table_mm.1)),
        diagram("springback", "springback, %", |f| Some(100.0 * f.springback_share)),
        diagram("band", "band of 9 in 10 boards, mm", |f| f.band_mm),
    ];
    let parts = diagram::page("Sweep", &diagrams);
    Drawing { title: format!("{title}: sweep"), origin: origin.to_owned(), parts }
}

/// The point of a variation: value of the first key, result.
fn point(variation: &Variation, result: impl Fn(&Figures) -> Option<f64>) -> Option<(f64, f64)> {
    Some((*variation.values.first()?, result(variation.figures.as_ref().ok()?)?))
}

fn stopped(variations: &[Variation], result: impl Fn(&Figures) -> Option<f64>) -> Vec<(f64, f64)> {
    let stops = |v: &&Variation| v.figures.as_ref().is_ok_and(|f| f.verdict == Verdict::Stop);
    variations.iter().filter(stops).filter_map(|v| point(v, &result)).collect()
}

/// One line for each combination of the other keys' values.
fn lines(keys: &[String], variations: &[Variation], result: impl Fn(&Figures) -> Option<f64>) -> Vec<Line> {
    let mut lines: Vec<(&[f64], Line)> = Vec::new();
    for variation in variations {
        let (Some(point), Some(others)) = (point(variation, &result), variation.values.get(1..)) else { continue };
        match lines.iter_mut().find(|(of, _)| *of == others) {
            Some((_, line)) => line.points.push(point),
            None => lines.push((others, Line { name: name(keys, others), points: vec![point] })),
        }
    }
    lines.into_iter().map(|(_, line)| line).collect()
}

/// `arc.height 45, vacuum.pressure 60 kPa`: the first table of a key is told by the rest.
fn name(keys: &[String], others: &[f64]) -> String {
    let of = |(key, value): (&String, &f64)| {
        let (table, last) = key.rsplit_once('.').unwrap_or(("", key));
        let (word, unit) = last.split_once(' ').unwrap_or((last, ""));
        let of = table.split_once('.').map_or(String::new(), |(_, of)| format!("{of}."));
        format!("{of}{word} {} {unit}", plain(*value, DECIMALS)).trim_end().to_owned()
    };
    keys.iter().skip(1).zip(others).map(of).collect::<Vec<_>>().join(", ")
}
