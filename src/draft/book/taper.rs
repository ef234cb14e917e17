//! Layers that are planed to a taper: the curve of their thickness, stations, and how the rails are used.

use super::say::Say;
use crate::built::Built;
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
             with a flat board {} thick between them, lay the ply on the board with its middle at the rails' middle and its \
             tip to their tip, and plane until the sole of the plane runs on both rails.",
            say.fine(BED_MM)
        )));
    }
    blocks
}

fn plies(taper: &PlaningRails) -> String {
    if taper.plies > 1 { format!(", {} plies alike", taper.plies) } else { String::new() }
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

/// The taper's own stations and those of the table between them.
fn listing(built: &Built, taper: &PlaningRails, say: Say) -> Listing {
    let (tail, tip) = (taper.points.first().map_or(0.0, |p| p.0), taper.points.last().map_or(0.0, |p| p.0));
    let mut places: Vec<f64> = taper.points.iter().map(|p| p.0).collect();
    let near = |places: &[f64], s: f64| places.iter().any(|p| (p - s).abs() < 1.0);
    for station in &built.jig.stations {
        if station.board_mm > tail && station.board_mm < tip && !near(&places, station.board_mm) {
            places.push(station.board_mm);
        }
    }
    places.sort_by(f64::total_cmp);
    let title = format!("Thickness of {}{}", taper.layer, plies(taper));
    let mut listing = Listing::new(title, &["from the middle", "from the tail end", "thickness"]);
    for s in places {
        let thickness_mm = built.design.laminate.layer_thickness_mm(taper.index, s);
        let cells = [say.length(s), say.length(s - tail), say.fine(thickness_mm)];
        listing.rows.push(cells.map(Cell::Figure).to_vec());
    }
    listing
}
