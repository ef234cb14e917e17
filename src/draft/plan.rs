//! The board in plan: marks on its trimming template, and where it lies on the table skin and on the blank.

use kurbo::{Point, Vec2};

use super::ribs::{NOTE_MM, stroke};
use crate::built::{Built, Design};
use crate::drawing::{Cell, Contour, Drawing, Listing, Operation, Part, Placement, Placer, Shape, Vertex};
use crate::jig::{StationKind, Template};
use crate::job::Lies;
use crate::rocker::Outline;
use crate::table::middles_mm;
use crate::units::inch_fraction;

/// Height of capitals of a part's name, mm.
const NAME_MM: f64 = 8.0;
/// Length of a station's tick from an edge and along the middle line, mm.
const TICK_MM: f64 = 10.0;
/// How far from its tick a number may stand, mm.
const REACH_MM: f64 = 40.0;
/// How far a marked line may lie off the outline, mm: a pencil's width is more.
const MARKED_MM: f64 = 0.05;
/// Clear space between parts, mm.
const GAP_MM: f64 = 40.0;

/// Marks stations, the middle line, the ends and the name on a trimming template.
pub(super) fn dress_template(part: &mut Part, template: &Template) {
    let cuts = Placer::of(part);
    let mut numbers = Vec::new();
    for (number, kind, s, (left, right)) in &template.stations {
        // Where the end is round there is no edge to tick.
        let long = TICK_MM.min(0.25 * (left - right));
        for (edge, inward) in [(*left, -1.0), (*right, 1.0)] {
            let (from, to) = (Point::new(*s, edge + 0.1 * inward * long), Point::new(*s, edge + inward * long));
            if cuts.line_is_clear(from, to) {
                stroke(part, from, to);
            }
        }
        let (from, to) = (Point::new(s - 0.5 * TICK_MM, 0.0), Point::new(s + 0.5 * TICK_MM, 0.0));
        if cuts.line_is_clear(from, to) {
            stroke(part, from, to);
        }
        numbers.push((Point::new(*s, left - long - NOTE_MM), station_words(*number, *kind)));
    }
    let ends = template.outline.bounds();
    let mut placer = Placer::of(part);
    let name = Point::new(ends.center().x, 0.25 * ends.y0);
    placer.write(part, "TRIMMING TEMPLATE, THIS FACE ON THE BASE", NAME_MM, name, f64::INFINITY);
    for (x, words) in [(ends.x0 + 40.0, "TAIL"), (ends.x1 - 40.0, "TIP")] {
        placer.write(part, words, NAME_MM, Point::new(x, 0.0), f64::INFINITY);
    }
    for (near, words) in numbers {
        placer.write(part, &words, NOTE_MM, near, REACH_MM);
    }
}

fn station_words(number: usize, kind: StationKind) -> String {
    match kind {
        StationKind::Middle => format!("{number} MIDDLE"),
        StationKind::Plain | StationKind::TailEnd | StationKind::TipEnd => number.to_string(),
    }
}

/// The table skin on the flat and the blank, with the outline, the blank's edges and the stations on them; none where the
/// outline is not given.
pub(crate) fn plan(built: &Built) -> Option<Drawing> {
    let Design { job, outline, .. } = &built.design;
    let outline = outline.as_ref()?;
    let skin = (job.table.skin_mm > 0.0).then(|| skin(built, outline)).flatten();
    let blank = blank(built, outline);
    let mut y = 0.0;
    let mut parts = Vec::new();
    for part in skin.into_iter().chain(blank) {
        let Some(bounds) = part.bounds() else { continue };
        parts.push(part.placed(&Placement::shift(0.0, y - bounds.y0)));
        y += bounds.height() + GAP_MM;
    }
    let origin = super::origin(&job.hash);
    (!parts.is_empty()).then(|| Drawing { title: format!("{}: table skin and blank", job.title), origin, parts })
}

/// -1 where the board lies on its deck: seen from above, its left edge is then at the right.
fn way_up(design: &Design) -> f64 {
    if design.job.table.lies == Lies::BaseDown { 1.0 } else { -1.0 }
}

/// The table skin, seen from above with the tip to the right.
fn skin(built: &Built, outline: &Outline) -> Option<Part> {
    let design = &built.design;
    let (tail, tip) = (built.jig.surface.curvature().start_mm(), built.jig.surface.curvature().end_mm());
    let mut part = rectangle("skin", "Table skin", (tail, tip), built.jig.width_mm)?;
    let table = |s: f64| design.table.table_at_base(s);
    let blank = rectangle("", "", blank_on_table_mm(built), built.consumables.blank.width_mm);
    let edge = blank.as_ref().and_then(Part::outline).cloned();
    for middle in middles_mm(&design.job.board) {
        mark_outline(&mut part, outline, (&table, way_up(design), middle));
        if let Some(edge) = &edge {
            part.add(Operation::Mark, Shape::Contour(edge.placed(&Placement::shift(0.0, middle))));
        }
    }
    let stations = built.jig.stations.iter().map(|s| (s.table_mm, station_words(s.number, s.kind))).collect();
    finish(&mut part, stations);
    Some(part)
}

/// The blank on the flat, seen from its deck.
fn blank(built: &Built, outline: &Outline) -> Option<Part> {
    let design = &built.design;
    let size = built.consumables.blank;
    let bent = &design.table;
    let title = if size.pieces > 1 { format!("Blank, {} alike", size.pieces) } else { "Blank".to_owned() };
    let mut part = rectangle("blank", &title, (bent.blank.tail_mm, bent.blank.tip_mm), size.width_mm)?;
    let on_blank = |s: f64| bent.blank_at_base(s);
    mark_outline(&mut part, outline, (&on_blank, 1.0, 0.0));
    let stations = built.jig.stations.iter();
    let stations = stations.map(|s| (bent.blank_at_base(s.board_mm), station_words(s.number, s.kind))).collect();
    finish(&mut part, stations);
    Some(part)
}

/// Ends (tail, tip) of the pressed blank along the table's surface, mm.
pub(super) fn blank_on_table_mm(built: &Built) -> (f64, f64) {
    let stations = &built.design.table.pressed.stations;
    (stations.first().map_or(0.0, |s| s.table_mm), stations.last().map_or(0.0, |s| s.table_mm))
}

fn rectangle(id: &str, title: &str, (from, to): (f64, f64), width_mm: f64) -> Option<Part> {
    let half = 0.5 * width_mm;
    let corners = [(from, -half), (to, -half), (to, half), (from, half)].map(Point::from);
    let mut part = Part::new(id, title);
    part.add(Operation::CutOutside, Shape::Contour(Contour::polygon(corners).ok()?));
    Some(part)
}

/// Marks the outline and the holes where `at` puts their stations, about a middle line at `middle`.
fn mark_outline(part: &mut Part, outline: &Outline, (at, side, middle): (&dyn Fn(f64) -> f64, f64, f64)) {
    let placed = |p: Point| Point::new(at(p.x), middle + side * p.y);
    let points = outline.flattened(MARKED_MM).into_iter().map(|p| Vertex::line(placed(p))).collect();
    if let Ok(line) = Contour::closed(points) {
        part.add(Operation::Mark, Shape::Contour(line));
    }
    for hole in &outline.holes {
        let center = placed(Point::new(hole.station_mm, hole.side_mm));
        part.add(Operation::Mark, Shape::Circle { center, radius_mm: 0.5 * hole.diameter_mm });
    }
}

/// Marks the middle line at both ends, the stations along both long edges, the ends and the name.
fn finish(part: &mut Part, stations: Vec<(f64, String)>) {
    let Some(bounds) = part.outline().map(Contour::bounds) else { return };
    let tick = Vec2::new(0.0, TICK_MM.min(0.1 * bounds.height()));
    for (x, _) in &stations {
        for (edge, inward) in [(bounds.y0, 1.0), (bounds.y1, -1.0)] {
            let foot = Point::new(*x, edge);
            stroke(part, foot + tick * (0.1 * inward), foot + tick * inward);
        }
    }
    for (x, inward) in [(bounds.x0, 1.0), (bounds.x1, -1.0)] {
        stroke(part, Point::new(x + 0.5 * inward, 0.0), Point::new(x + inward * TICK_MM, 0.0));
    }
    let mut placer = Placer::of(part);
    let name = part.title.to_uppercase();
    placer.write(part, &name, NAME_MM, Point::new(bounds.center().x, 0.0), f64::INFINITY);
    for (x, words) in [(bounds.x0 + 30.0, "TAIL"), (bounds.x1 - 30.0, "TIP")] {
        placer.write(part, words, NAME_MM, Point::new(x, 0.0), REACH_MM);
    }
    for (x, words) in stations {
        placer.write(part, &words, NOTE_MM, Point::new(x, bounds.y1 - 2.0 * NOTE_MM) - tick, REACH_MM);
    }
}

/// Stations of the outline: both edges and the width.
pub(crate) fn outline(built: &Built, denominator: u32) -> Option<Listing> {
    let outline = built.design.outline.as_ref()?;
    let columns = ["along_base", "left", "right", "width"];
    let named = |unit: &str| columns.map(|c| format!("{c}_{unit}"));
    let (mm, inches) = (named("mm"), named("in"));
    let mut heads = vec!["station"];
    heads.extend(mm.iter().chain(&inches).map(String::as_str));
    let mut listing = Listing::new("Outline", &heads);
    for s in &built.jig.stations {
        let (left, right) = outline.edges_mm(s.board_mm);
        let lengths = [s.board_mm, left, right, left - right];
        let mut row = vec![Cell::count(s.number)];
        row.extend(lengths.map(|l| Cell::Number(l, 2)));
        row.extend(lengths.map(|l| Cell::Figure(inch_fraction(l, denominator))));
        listing.rows.push(row);
    }
    Some(listing)
}
