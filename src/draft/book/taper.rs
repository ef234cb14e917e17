//! Layers that are planed to a taper: the curve of their thickness, stations, and how the rails are used.

use super::say::Say;
use crate::built::Built;
use crate::draft::listings::taper_rows;
use crate::draft::plot::{Axis, Chart, Count, Height, Series};
use crate::drawing::{Block, Cell, Figure, Ink, Listing};
use crate::jig::{BED_MM, PlaningRails};

/// Height of the chart, page pixels.
const HIGH: f64 = 130.0;

/// What is said of every tapered layer; nothing where all are of one thickness.
pub(super) fn blocks(built: &Built, say: Say) -> Vec<Block> {
    let mut blocks = Vec::new();
    for taper in &built.jig.planing_rails {
        blocks.push(Block::Figure(Box::new(figure(built, taper, say))));
        blocks.push(Block::Table(listing(built, taper, say)));
        let rail = taper.number;
        blocks.push(Block::Paragraph(format!(
            "Planing: cut both planing rails {rail} (in members.dxf, on the sheets and in the patterns). Fix both rails upright to the bench \
             with a flat board {} thick between them, lay {} on the board with its middle at the rails' middle and its \
             tip to their tip, and plane until the sole of the plane runs on both rails.{}",
            say.fine(BED_MM),
            if taper.plies.len() > 1 { "each ply in turn" } else { "the ply" },
            others(taper)
        )));
    }
    blocks
}

/// Which plies are planed like this, where the layer has several.
fn plies(taper: &PlaningRails) -> String {
    if taper.of == 1 { String::new() } else { format!(", {}", taper.plies_in_words()) }
}

fn figure(built: &Built, taper: &PlaningRails, say: Say) -> Figure {
    let (tail, tip) = built.design.table.finished_base_mm;
    let points: Vec<(f64, f64)> = taper.points.iter().map(|(s, t)| (say.on_axis(*s), say.on_axis(*t))).collect();
    let (from, to) = (points.first().map_or(0.0, |p| p.0), points.last().map_or(1.0, |p| p.0));
    let most = points.iter().map(|p| p.1).fold(0.0, f64::max);
    let chart = Chart {
        x: Axis {
            label: format!("along the flat blank from its middle ({})", say.name()),
            range: (from, to),
            count: say.count(),
        },
        y: Axis { label: format!("thickness ({})", say.name()), range: (0.0, 1.15 * most), count: Count::Tens },
        series: vec![Series { name: String::new(), ink: Ink::Released, points }],
        places: vec![(say.on_axis(tail), "tail".to_owned()), (say.on_axis(tip), "tip".to_owned())],
        bands: Vec::new(),
    };
    Figure::of(
        format!("Thickness of {} along the board{}", taper.layer, plies(taper)),
        "Straight between its stations. Thickness is drawn much larger than length.",
        |width| (chart.draw(width, Height::Fixed(HIGH)).0, String::new()),
    )
}

/// What is said of the plies that do not taper.
fn others(taper: &PlaningRails) -> String {
    if taper.plies.len() == taper.of {
        return String::new();
    }
    format!(
        " Of {}, plane {} only, counted from the lowest of its {} plies.",
        taper.layer,
        taper.plies_in_words(),
        taper.of
    )
}

fn listing(built: &Built, taper: &PlaningRails, say: Say) -> Listing {
    let tail = taper.points.first().map_or(0.0, |p| p.0);
    let title = format!("Thickness of {}{}", taper.layer, plies(taper));
    let mut listing = Listing::new(title, &["from the middle", "from the tail end", "thickness"]);
    for (s, thickness_mm) in taper_rows(built, taper) {
        let cells = [say.length(s), say.length(s - tail), say.fine(thickness_mm)];
        listing.rows.push(cells.map(Cell::Figure).to_vec());
    }
    listing
}
