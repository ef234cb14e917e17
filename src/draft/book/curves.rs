//! Figures along the board: curvature, springback, how the stack lies.

use super::say::{Say, bagged, way_up};
use crate::built::{Built, Design};
use crate::curve::Curvature;
use crate::draft::plot::{Axis, Chart, Count, Height, Series};
use crate::drawing::{Block, Cell, Figure, Ink, Listing};
use crate::table::AVERAGED_MM;
use crate::units::{LengthUnit, PA_PER_PSI, Quantity, decimal, force, pressure};

/// Height of a chart, page pixels.
const HIGH: f64 = 190.0;
/// Contact pressure beyond this many times what presses is cut off in the figure: it stands on a line, not on an area.
const PEAK: f64 = 3.0;

pub(super) fn blocks(built: &Built, say: Say) -> Vec<Block> {
    let mut blocks = vec![Block::Figure(Box::new(curvature(built, say)))];
    if built.design.laminate.is_uniform() {
        let share = built.design.laminate.section_at(0.0).springback_share();
        blocks.push(Block::Paragraph(format!(
            "The stack is the same all along, so its springback share is too: {} % of the pressed curvature is lost \
             everywhere.",
            decimal(100.0 * share, 1)
        )));
    }
    blocks.push(Block::Figure(Box::new(springback(built, say))));
    blocks.push(Block::Figure(Box::new(gap(built, say))));
    blocks.push(Block::Figure(Box::new(contact(built, say))));
    blocks.push(Block::Table(carried(built, say)));
    blocks
}

/// What the table carries under this way of pressing.
fn carried(built: &Built, say: Say) -> Listing {
    let Built { carried, .. } = built;
    let mut listing = Listing::new(
        format!("What the table carries: {}", carried.case.words()),
        &["figure", "value", "where, from the middle along the table"],
    );
    let mut row = |what: String, value: String, at_mm: Option<f64>| {
        let at = at_mm.map_or_else(|| Cell::text("all over"), |mm| Cell::Figure(say.length(mm)));
        listing.rows.push(vec![Cell::text(what), Cell::Figure(value), at]);
    };
    row("force that closes the stack".into(), force(built.design.closing_force_n(), say.unit), None);
    row("pressure on the skin between its supports".into(), pressure(carried.skin_pressure_mpa, say.unit), None);
    let over = say.length(AVERAGED_MM);
    let lines = [("presses the skin on", carried.push_n_per_mm), ("lifts the skin off", carried.pull_n_per_mm)];
    for (does, peak) in lines {
        let at = (peak.value > 0.0).then_some(peak.table_mm);
        row(format!("largest line load that {does}, over {over}"), say.show(Quantity::line_force(peak.value)), at);
    }
    let fastening = &carried.fastening;
    row(
        format!("largest pull on a fastener of the skin, {} apart", say.length(fastening.pitch_mm)),
        format!(
            "{} of {}",
            say.show(Quantity::force(fastening.pull_n.value)),
            say.show(Quantity::force(fastening.allowed_n))
        ),
        Some(fastening.pull_n.table_mm),
    );
    if let Some(sag) = &carried.sag {
        row(format!("sag of the skin over {}", say.length(sag.clear_mm)), say.small(sag.sag_mm), None);
        if sag.widest_mm.is_finite() {
            row("widest clear distance for a sag that does not show".into(), say.length(sag.widest_mm), None);
        }
    }
    let moment = &carried.moment_n_mm;
    row("largest moment on all ribs".into(), say.show(Quantity::moment(moment.value)), Some(moment.table_mm));
    if let Some((tail, tip)) = carried.gives_mm {
        for (end, mm, at_mm) in [
            ("tail", tail, built.design.table.finished_table_mm.0),
            ("tip", tip, built.design.table.finished_table_mm.1),
        ] {
            row(format!("give of the table at the {end}"), say.small(mm), Some(at_mm));
        }
    }
    listing
}

/// The axis along the board over its finished length and what lies beyond.
fn along(built: &Built, say: Say) -> Axis {
    let base = &built.design.table.released.base_mm;
    let (from, to) = (base.first().copied().unwrap_or(-1.0), base.last().copied().unwrap_or(1.0));
    Axis {
        label: format!("along the board from its middle ({})", say.name()),
        range: (say.on_axis(from), say.on_axis(to)),
        count: say.count(),
    }
}

fn ends(built: &Built, say: Say) -> Vec<(f64, String)> {
    let (tail, tip) = built.design.table.finished_base_mm;
    vec![(say.on_axis(tail), "tail".to_owned()), (say.on_axis(tip), "tip".to_owned())]
}

fn range(points: impl Iterator<Item = f64>) -> (f64, f64) {
    let (low, high) = points.fold((0.0f64, 0.0f64), |r, v| (r.0.min(v), r.1.max(v)));
    let room = 0.06 * (high - low);
    (if low < 0.0 { low - room } else { 0.0 }, high + room)
}

fn curvature(built: &Built, say: Say) -> Figure {
    let Design { table: bent, target, .. } = &built.design;
    // People who measure in inches think of a radius in feet.
    let (per, unit) = match say.unit {
        LengthUnit::Millimetre => (1000.0, "1/m"),
        LengthUnit::Inch { .. } => (304.8, "1/ft"),
    };
    let up = way_up(built);
    let nodes = |values: &[[f64; 2]]| -> Vec<(f64, f64)> {
        let ends = values.iter().enumerate();
        ends.flat_map(|(i, k)| [0, 1].map(|j| (say.on_axis(bent.released.base_mm[i + j]), up * k[j] * per))).collect()
    };
    let wanted = |k: &Curvature| -> Vec<(f64, f64)> {
        k.pieces()
            .iter()
            .flat_map(|p| [(p.start_mm, p.k_start_per_mm), (p.end_mm, p.k_end_per_mm)])
            .map(|(s, k)| (say.on_axis(s), k * per))
            .collect()
    };
    let series = vec![
        Series { name: "wanted".to_owned(), ink: Ink::Wanted, points: wanted(&target.curvature) },
        Series { name: "on the table".to_owned(), ink: Ink::Table, points: nodes(&bent.pressed.table_per_mm) },
        Series { name: "pressed".to_owned(), ink: Ink::Pressed, points: nodes(&bent.pressed.base_per_mm) },
    ];
    let y = range(series.iter().flat_map(|s| s.points.iter().map(|p| p.1)));
    let chart = Chart {
        x: along(built, say),
        y: Axis { label: format!("curvature ({unit})"), range: y, count: Count::Tens },
        series,
        places: ends(built, say),
        bands: Vec::new(),
    };
    Figure::of(
        "Curvature wanted, pressed, and on the table",
        "Curvature is one over the radius; above zero the ends come up, below zero the middle. The stack takes the \
         table's curvature where the dashed line covers the table's. Beyond the finished ends the table eases out, \
         because the free end of a stack cannot hold a bend.",
        |width| (chart.draw(width, Height::Fixed(HIGH)).0, String::new()),
    )
}

fn springback(built: &Built, say: Say) -> Figure {
    let places = &built.design.table.released.base_mm;
    let points: Vec<(f64, f64)> = places
        .iter()
        .map(|s| (say.on_axis(*s), 100.0 * built.design.laminate.section_at(*s).springback_share()))
        .collect();
    let y = range(points.iter().map(|p| 1.15 * p.1));
    let chart = Chart {
        x: along(built, say),
        y: Axis { label: "share of the pressed curvature that is lost (%)".to_owned(), range: y, count: Count::Tens },
        series: vec![Series { name: String::new(), ink: Ink::Released, points }],
        places: ends(built, say),
        bands: Vec::new(),
    };
    Figure::of(
        "Springback along the board",
        "The share of its curve that the stack loses on release, place by place. Thin places of a tapered core lose another share \
         than thick ones.",
        |width| (chart.draw(width, Height::Fixed(0.6 * HIGH)).0, String::new()),
    )
}

fn gap(built: &Built, say: Say) -> Figure {
    let bent = &built.design.table;
    let gaps = &bent.pressed.contact.gap_mm;
    let points: Vec<(f64, f64)> =
        bent.released.base_mm.iter().zip(gaps).map(|(s, g)| (say.on_axis(*s), say.on_axis(*g))).collect();
    let (tail, tip) = bent.finished_base_mm;
    let inside = |s: f64| s >= tail && s <= tip;
    let most = |keep: &dyn Fn(f64) -> bool| {
        bent.released.base_mm.iter().zip(gaps).filter(|(s, _)| keep(**s)).map(|(_, g)| *g).fold(0.0, f64::max)
    };
    let (within, all) = (most(&inside), most(&|_| true));
    // A figure of nothing is drawn against what a shop could feel.
    let least = say.on_axis(0.1);
    let chart = Chart {
        x: along(built, say),
        y: Axis {
            label: format!("gap to the table ({})", say.name()),
            range: (0.0, 1.1 * say.on_axis(all).max(least)),
            count: Count::Tens,
        },
        series: vec![Series { name: String::new(), ink: Ink::Released, points }],
        places: ends(built, say),
        bands: Vec::new(),
    };
    let under = if bagged(built) { "under the bag" } else { "under the clamps" };
    Figure::of(
        format!("Gap {under}"),
        format!(
            "How far the wet stack stands off the table while {} presses it. Largest within the finished length: {}; \
             on the whole blank: {}.",
            pressure(built.design.setup.load.pressure_mpa, say.unit),
            say.small(within),
            say.small(all)
        ),
        |width| (chart.draw(width, Height::Fixed(0.6 * HIGH)).0, String::new()),
    )
}

fn contact(built: &Built, say: Say) -> Figure {
    let bent = &built.design.table;
    let (per, unit) = match say.unit {
        LengthUnit::Millimetre => (1000.0, "kPa"),
        LengthUnit::Inch { .. } => (1e6 / PA_PER_PSI, "psi"),
    };
    let at = |i: usize| bent.pressed.stations[i].table_mm;
    let last = bent.pressed.stations.len() - 1;
    let applied = built.design.setup.load.pressure_mpa * per;
    // A node stands for half of the elements beside it.
    let points: Vec<(f64, f64)> = (0..=last)
        .map(|i| {
            let reach = 0.5 * (at((i + 1).min(last)) - at(i.saturating_sub(1)));
            let pressure = bent.pressed.contact.reaction_n_per_mm[i] / reach * per;
            (say.on_axis(bent.released.base_mm[i]), pressure.clamp(0.0, PEAK * applied))
        })
        .collect();
    let axis = along(built, say);
    let pressing = vec![(axis.range.0, applied), (axis.range.1, applied)];
    let y = range(points.iter().map(|p| p.1).chain(std::iter::once(applied)));
    let cut = points.iter().any(|p| p.1 >= PEAK * applied);
    let chart = Chart {
        x: axis,
        y: Axis { label: format!("pressure ({unit})"), range: y, count: Count::Tens },
        series: vec![
            Series { name: "what presses".to_owned(), ink: Ink::Pressed, points: pressing },
            Series { name: "between stack and table".to_owned(), ink: Ink::Released, points },
        ],
        places: ends(built, say),
        bands: Vec::new(),
    };
    let peaks = if cut { " Peaks are cut off: there the stack rests on a line." } else { "" };
    Figure::of(
        "Contact pressure",
        format!(
            "Where the line between stack and table falls to zero the stack hangs free. It differs from what presses \
             where the table's curvature changes, because the stack's own stiffness then pushes or pulls.{peaks}"
        ),
        |width| (chart.draw(width, Height::Fixed(0.7 * HIGH)).0, String::new()),
    )
}
