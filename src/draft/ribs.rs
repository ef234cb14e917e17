//! The drawing of the ribs.

use kurbo::{Point, Rect, Vec2};

use crate::drawing::{Contour, Drawing, Operation, Part, Placement, Shape, Text, TextAnchor, Vertex};
use crate::jig::{Jig, Rib, RodHole, Station, StationKind};

/// Clear space between parts, mm: room for a cutter of 12 mm.
const GAP_MM: f64 = 16.0;
/// Height of capitals of a part's name, mm.
const NAME_MM: f64 = 8.0;
/// Height of capitals of a station's number, mm.
const NUMBER_MM: f64 = 4.0;
/// Nearest that a tick comes to a joint, mm.
const CLEAR_MM: f64 = 3.0;
/// Length of a plain station's tick, mm.
const TICK_MM: f64 = 6.0;
/// Length of the ticks at the middle and at the finished ends, mm.
const LONG_TICK_MM: f64 = 14.0;

/// All ribs or their pieces, one above the other, tip to the right.
pub fn ribs(jig: &Jig, title: &str, origin: &str) -> Drawing {
    let parts = jig.ribs.iter().flat_map(|rib| rib_parts(rib, jig)).collect();
    Drawing { title: format!("{title}: ribs"), origin: origin.to_owned(), parts: stacked(parts) }
}

/// Parts moved so that they stand one above the other.
pub(super) fn stacked(parts: Vec<Part>) -> Vec<Part> {
    let mut y = 0.0;
    parts
        .into_iter()
        .map(|part| {
            let Some(bounds) = part.bounds() else { return part };
            let placed = part.placed(&Placement::shift(0.0, y - bounds.y0));
            y += bounds.height() + GAP_MM;
            placed
        })
        .collect()
}

/// The parts that one rib is cut as, in table coordinates.
pub(super) fn rib_parts(rib: &Rib, jig: &Jig) -> Vec<Part> {
    (0..rib.pieces.len()).map(|piece| rib_part(rib, piece, jig)).collect()
}

fn rib_part(rib: &Rib, piece: usize, jig: &Jig) -> Part {
    let outline = &rib.pieces[piece];
    let bounds = outline.bounds();
    let here = |x: f64| x > bounds.x0 && x < bounds.x1;
    let last = piece + 1 == rib.pieces.len();
    let letter = if rib.pieces.len() > 1 { rib.id(piece).pop().map(|c| c.to_ascii_uppercase()) } else { None };
    let name = format!("{}{}", rib.number, letter.map_or(String::new(), String::from));
    let mut part = Part::new(rib.id(piece), format!("Rib {name} of {}", jig.ribs.len()));
    let round = |hole: &RodHole| Shape::Circle { center: hole.center, radius_mm: 0.5 * hole.diameter_mm };
    for window in rib.windows.iter().filter(|w| here(w.center.x)) {
        part.add(Operation::CutInside, round(window));
    }
    for hole in rib.hand_holes.iter().filter(|h| here(h.bounds().center().x)) {
        part.add(Operation::CutInside, Shape::Contour(hole.clone()));
    }
    for hole in rib.holes.iter().chain(&rib.bolts).filter(|h| here(h.center.x)) {
        part.add(Operation::Drill, round(hole));
    }
    for (rod, hole) in jig.rods.iter().zip(&rib.holes).filter(|(_, h)| here(h.center.x)) {
        let at = hole.center + Vec2::new(0.0, 0.5 * hole.diameter_mm + 2.0);
        part.add(Operation::Mark, small(&format!("ROD {}", rod.number), at, TextAnchor::Middle));
    }
    // A tick that falls on a joint, or into the neighbour's key, is marked on neither piece.
    let top_to = if last { bounds.x1 } else { top_end(outline) };
    for station in rib.stations.iter().filter(|s| s.rib_top.x > bounds.x0 + CLEAR_MM && s.rib_top.x < top_to - CLEAR_MM)
    {
        mark_station(&mut part, station);
    }
    mark_name(&mut part, &name, outline, rib, jig.ribs.len());
    if last {
        // Above the height of slots and of feet, where the end of the rib is always whole.
        let tip = Point::new(bounds.x1 - 24.0, 0.4 * rib.stations.last().map_or(bounds.height(), |s| s.rib_top.y));
        arrow(&mut part, tip, Vec2::new(1.0, 0.0), 20.0);
        part.add(Operation::Mark, small("TIP", tip + Vec2::new(0.0, 5.0), TextAnchor::Start));
    }
    part.add(Operation::CutOutside, Shape::Contour(outline.clone()));
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

/// Where the top edge of a piece ends toward the tip, mm: the highest corner of its joint.
fn top_end(outline: &Contour) -> f64 {
    let bounds = outline.bounds();
    let corners = outline.vertices().iter().map(|v| v.point).filter(|p| p.x > bounds.center().x);
    corners.max_by(|a, b| a.y.total_cmp(&b.y)).map_or(bounds.x1, |p| p.x)
}

/// The rib's name and an arrow for up, low in the rib and clear of the holes.
fn mark_name(part: &mut Part, name: &str, outline: &Contour, rib: &Rib, count: usize) {
    let bounds = outline.bounds();
    let words = format!("RIB {name} OF {count}");
    // Wide letters: 0.8 of their height each, and the arrow beside them.
    let needs = 0.8 * NAME_MM * words.len() as f64 + 30.0;
    let base = rib.floor_mm + 0.5 * NUMBER_MM;
    let x = clear_stretch(bounds, rib, needs) + 24.0;
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
    if bounds.x0 < 0.0 && bounds.x1 > 0.0 {
        // The middle of the board near the base edge, for lining the ribs up on a bench.
        stroke(part, Point::new(0.0, rib.floor_mm), Point::new(0.0, rib.floor_mm + TICK_MM));
    }
}

/// Where a stretch of `needs` mm begins that no hole stands in, the one nearest to the middle of the part.
fn clear_stretch(bounds: Rect, rib: &Rib, needs: f64) -> f64 {
    let mut busy: Vec<(f64, f64)> = rib
        .holes
        .iter()
        .chain(&rib.bolts)
        .chain(&rib.windows)
        .map(|h| (h.center.x - 0.5 * h.diameter_mm, h.center.x + 0.5 * h.diameter_mm))
        .collect();
    busy.extend(rib.hand_holes.iter().map(|h| (h.bounds().x0, h.bounds().x1)));
    // Slots in the base edge show as vertices well above the base between the ends.
    busy.extend(
        rib.outline
            .vertices()
            .iter()
            .map(|v| v.point)
            .filter(|p| p.y < 0.5 * bounds.height() && p.y > 1e-9)
            .map(|p| (p.x - 1.0, p.x + 1.0)),
    );
    let middle = bounds.center().x - 0.5 * needs;
    let free = |from: f64| {
        from > bounds.x0 + 2.0
            && from + needs < bounds.x1 - 60.0
            && busy.iter().all(|b| b.1 < from || b.0 > from + needs)
    };
    (0..400)
        .flat_map(|i| [middle + f64::from(i) * 5.0, middle - f64::from(i) * 5.0])
        .find(|x| free(*x))
        .unwrap_or(middle)
}

pub(super) fn small(words: &str, at: Point, anchor: TextAnchor) -> Shape {
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

pub(super) fn stroke(part: &mut Part, a: Point, b: Point) {
    // Two different points always make a path.
    if let Ok(path) = Contour::open(vec![Vertex::line(a), Vertex::line(b)]) {
        part.add(Operation::Mark, Shape::Contour(path));
    }
}
