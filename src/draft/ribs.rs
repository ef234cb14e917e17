//! The drawing of the ribs.

use kurbo::{Point, Vec2};

use crate::drawing::{Contour, Drawing, Operation, Part, Placement, Shape, Text, TextAnchor, Vertex};
use crate::jig::{Jig, Rib, Station, StationKind};

/// Clear space between parts, mm: room for a cutter of 12 mm.
const GAP_MM: f64 = 16.0;
/// Height of capitals of a part's name, mm.
const NAME_MM: f64 = 8.0;
/// Height of capitals of a station's number, mm.
const NUMBER_MM: f64 = 4.0;
/// Length of a plain station's tick, mm.
const TICK_MM: f64 = 6.0;
/// Length of the ticks at the middle and at the finished ends, mm.
const LONG_TICK_MM: f64 = 14.0;

/// All ribs, one above the other, tip to the right.
pub fn ribs(jig: &Jig, title: &str, origin: &str) -> Drawing {
    let mut parts = Vec::new();
    let mut y = 0.0;
    for rib in &jig.ribs {
        parts.push(rib_part(rib, jig.ribs.len()).placed(&Placement::shift(0.0, y)));
        y += rib.height_mm + GAP_MM;
    }
    Drawing { title: format!("{title}: ribs"), origin: origin.to_owned(), parts }
}

/// One rib in table coordinates.
fn rib_part(rib: &Rib, count: usize) -> Part {
    let mut part = Part::new(rib.id(), format!("{} of {count}", rib.title()));
    for hole in &rib.holes {
        let shape = Shape::Circle { center: hole.center, radius_mm: 0.5 * hole.diameter_mm };
        part.add(Operation::Drill, shape);
    }
    for station in &rib.stations {
        mark_station(&mut part, station);
    }
    mark_name(&mut part, rib, count);
    part.add(Operation::CutOutside, Shape::Contour(rib.outline.clone()));
    part
}

fn mark_station(part: &mut Part, station: &Station) {
    let (tick, words) = match station.kind {
        StationKind::Plain => (TICK_MM, station.number.to_string()),
        StationKind::Middle => (LONG_TICK_MM, format!("{} MIDDLE", station.number)),
        StationKind::TailEnd => (LONG_TICK_MM, format!("{} TAIL END", station.number)),
        StationKind::TipEnd => (LONG_TICK_MM, format!("{} TIP END", station.number)),
    };
    let down = -Vec2::new(-station.slope_rad.sin(), station.slope_rad.cos());
    let foot = station.rib_top + down * tick;
    stroke(part, station.rib_top, foot);
    let text = Text {
        at: foot + Vec2::new(0.0, -1.5 * NUMBER_MM),
        height_mm: NUMBER_MM,
        angle_rad: 0.0,
        anchor: match station.kind {
            StationKind::TailEnd => TextAnchor::Start,
            StationKind::TipEnd => TextAnchor::End,
            _ => TextAnchor::Middle,
        },
        content: words,
    };
    part.add(Operation::Mark, Shape::Text(text));
}

/// The rib's name and arrows for up and for the tip, low in the rib and clear of the holes.
fn mark_name(part: &mut Part, rib: &Rib, count: usize) {
    let bounds = rib.outline.bounds();
    let base = NUMBER_MM;
    let middle_holes_from =
        rib.holes.iter().map(|h| h.center.x).filter(|x| *x > bounds.center().x).fold(bounds.x1, f64::min);
    let x = 0.5 * (bounds.center().x + middle_holes_from) - 40.0;
    let words = format!("RIB {} OF {count}", rib.number);
    part.add(
        Operation::Mark,
        Shape::Text(Text {
            at: Point::new(x, base),
            height_mm: NAME_MM,
            angle_rad: 0.0,
            anchor: TextAnchor::Start,
            content: words,
        }),
    );
    let up = Point::new(x - 8.0, base);
    arrow(part, up, Vec2::new(0.0, 1.0), 14.0);
    part.add(Operation::Mark, small("UP", up + Vec2::new(-2.0, 0.0), TextAnchor::End));
    let tip = Point::new(bounds.x1 - 40.0, 2.0 * base);
    arrow(part, tip, Vec2::new(1.0, 0.0), 25.0);
    part.add(Operation::Mark, small("TIP", tip + Vec2::new(-2.0, -0.5 * NUMBER_MM), TextAnchor::End));
    // The middle of the board on the base edge, for lining the ribs up on a bench.
    stroke(part, Point::new(0.0, 0.0), Point::new(0.0, TICK_MM));
}

fn small(words: &str, at: Point, anchor: TextAnchor) -> Shape {
    Shape::Text(Text { at, height_mm: NUMBER_MM, angle_rad: 0.0, anchor, content: words.to_owned() })
}

/// An arrow of lines from `from` along the unit vector `direction`.
fn arrow(part: &mut Part, from: Point, direction: Vec2, length: f64) {
    let tip = from + direction * length;
    let side = Vec2::new(-direction.y, direction.x) * (0.16 * length);
    let back = tip - direction * (0.3 * length);
    stroke(part, from, tip);
    for barb in [back + side, back - side] {
        stroke(part, tip, barb);
    }
}

fn stroke(part: &mut Part, a: Point, b: Point) {
    // Two different points always make a path.
    if let Ok(path) = Contour::open(vec![Vertex::line(a), Vertex::line(b)]) {
        part.add(Operation::Mark, Shape::Contour(path));
    }
}
