//! What the shop's boards say: the factor, the boards one by one, and what the next one is expected to be off by.

use super::say::Say;
use crate::calibrate::{Known, LearnedBoard, PredictedHeights};

use crate::draft::learned::set_aside_words;
use crate::draft::plot::{Axis, Chart, Count, Height, Series};
use crate::drawing::{Block, Cell, Figure, Ink, Listing};
use crate::units::decimal;

/// Height of the chart, page pixels.
const HIGH: f64 = 190.0;
/// Half the width of a board's mark, in boards.
const HALF_MARK: f64 = 0.28;

pub(super) fn blocks(known: &Known, next_error_mm: Option<(f64, f64)>, say: Say) -> Vec<Block> {
    let Known { learned, boards } = known;
    let many = if boards.len() == 1 { "One measured board says" } else { "The measured boards together say" };
    let mut words = format!(
        "{many} that this stack springs back {} times as much in this shop as its layers alone would (nine in ten: {} to \
         {}). Builds and predictions are computed with that.",
        decimal(learned.factor, 3),
        decimal(learned.p05, 3),
        decimal(learned.p95, 3)
    );
    let scatter = if learned.scatter_found {
        "learned from the boards themselves"
    } else {
        "expected from wood and thickness until there are two boards"
    };
    words.push_str(&format!(
        " From board to board the factor scatters by {} ({scatter}); the next board's is expected between {} and {} in \
         nine cases of ten.",
        decimal(learned.scatter, 3),
        decimal(learned.next_p05, 3),
        decimal(learned.next_p95, 3)
    ));
    let mut blocks = vec![Block::Paragraph(words)];
    blocks.extend(boards.iter().filter_map(set_aside_words).map(Block::Paragraph));
    if let Some((tail, tip)) = next_error_mm {
        blocks.push(Block::Paragraph(format!(
            "Next expected error: nine in ten boards off this table have their tip within {} and their tail within {} of \
             the wanted height.",
            say.fine(tip),
            say.fine(tail)
        )));
    }
    let told: Vec<(f64, PredictedHeights)> =
        boards.iter().enumerate().filter_map(|(i, b)| Some((i as f64 + 1.0, b.history?))).collect();
    if !told.is_empty() {
        blocks.push(Block::Figure(Box::new(history(&told, say))));
    }
    blocks.push(Block::Table(listing(boards, say)));
    blocks
}

/// Predictions of the tip's height, each less the one that was measured.
fn history(told: &[(f64, PredictedHeights)], say: Say) -> Figure {
    let off = |mm: (f64, f64), h: &PredictedHeights| say.on_axis(mm.1 - h.measured_mm.1);
    let marks = |name: &str, ink: Ink, value: &dyn Fn(&PredictedHeights) -> f64| -> Vec<Series> {
        let one = |(i, (at, h)): (usize, &(f64, PredictedHeights))| {
            let y = value(h);
            let name = if i == 0 { name.to_owned() } else { String::new() };
            Series { name, ink, points: vec![(at - HALF_MARK, y), (at + HALF_MARK, y)] }
        };
        told.iter().enumerate().map(one).collect()
    };
    let (first, last) = (told[0].0 - 0.5, told[told.len() - 1].0 + 0.5);
    let mut series =
        vec![Series { name: "measured".to_owned(), ink: Ink::Wanted, points: vec![(first, 0.0), (last, 0.0)] }];
    series.extend(marks("predicted by the layers alone", Ink::Pressed, &|h| off(h.by_layers_mm, h)));
    series.extend(marks("predicted with what was known then", Ink::Released, &|h| off(h.predicted_mm, h)));
    let bands: Vec<(f64, f64, f64)> =
        told.iter().map(|(at, h)| (*at, off(h.lowest_mm, h), off(h.highest_mm, h))).collect();
    let values = series.iter().flat_map(|s| s.points.iter().map(|p| p.1)).chain(bands.iter().flat_map(|b| [b.1, b.2]));
    let (low, high) = values.fold((0.0_f64, 0.0_f64), |r, v| (r.0.min(v), r.1.max(v)));
    let room = (0.06 * (high - low)).max(say.on_axis(0.1));
    let chart = Chart {
        x: Axis { label: "board".to_owned(), range: (first, last), count: Count::Whole },
        y: Axis {
            label: format!("tip, predicted less measured ({})", say.name()),
            range: (low - room, high + room),
            count: Count::Tens,
        },
        series,
        places: Vec::new(),
        bands,
    };
    Figure::of(
        "Predicted against measured, board by board",
        "Each board's tip as it was predicted, over the height that was measured. Upright bars: what nine of ten boards were \
         expected to keep within, before this one was measured. A shop that learns brings the predictions to the line and \
         the bars together.",
        |width| (chart.draw(width, Height::Fixed(HIGH)).0, String::new()),
    )
}

fn listing(boards: &[LearnedBoard], say: Say) -> Listing {
    let columns = ["board", "called", "date", "factor", "counts", "tip predicted", "measured"];
    let mut listing = Listing::new("Boards that were learned from", &columns);
    for (i, b) in boards.iter().enumerate() {
        let tip =
            |of: &dyn Fn(&PredictedHeights) -> (f64, f64)| b.history.map_or(String::new(), |h| say.length(of(&h).1));
        listing.rows.push(vec![
            Cell::count(i + 1),
            Cell::text(b.label.clone()),
            Cell::text(b.date.clone().unwrap_or_default()),
            Cell::Figure(format!("{} ± {}", decimal(b.factor, 3), decimal(b.deviation, 3))),
            Cell::Figure(decimal(b.counts, 2)),
            Cell::Figure(tip(&|h| h.predicted_mm)),
            Cell::Figure(tip(&|h| h.measured_mm)),
        ]);
    }
    listing
}
