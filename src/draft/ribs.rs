//! Marks on the ribs.

use kurbo::{Point, Vec2};

use crate::drawing::{Contour, Operation, Part, Placer, Shape, Text, TextAnchor, Vertex};
use crate::jig::{Jig, Rib, RibPiece, Station, StationKind};

/// Height of capitals of a part's name, mm.
const NAME_MM: f64 = 8.0;
/// Height of capitals of smaller words, mm.
pub(super) const NOTE_MM: f64 = 4.0;
/// Length of a plain station's tick, mm.
const TICK_MM: f64 = 6.0;
/// Length of the ticks at the middle and at the finished ends, mm.
const LONG_TICK_MM: f64 = 14.0;
/// How far from its tick a station's number may stand, and from its hole a rod's, mm.
const NUMBER_REACH_MM: (f64, f64) = (16.0, 40.0);

/// Marks stations, names and rods on a piece of a rib.
pub(super) fn dress_rib(part: &mut Part, jig: &Jig, rib: &Rib, index: usize) {
    let piece = &rib.pieces[index];
    let bounds = piece.outline.bounds();
    let here = |x: f64| x > bounds.x0 && x < bounds.x1;
    let on_piece = |s: &&Station| s.rib_top.x >= piece.top_mm.0 && s.rib_top.x <= piece.top_mm.1;
    let stations: Vec<&Station> = rib.stations.iter().filter(on_piece).collect();
    let cuts = Placer::of(part);
    let feet: Vec<Point> = stations.iter().map(|s| tick(part, &cuts, s)).collect();
    // The middle of the board near the base edge, for lining the ribs up on a bench.
    let low = Point::new(0.0, rib.floor_mm);
    if here(0.0) && cuts.line_is_clear(low + Vec2::new(0.0, 0.1), low + Vec2::new(0.0, TICK_MM)) {
        stroke(part, low, low + Vec2::new(0.0, TICK_MM));
    }
    let mut placer = Placer::of(part);
    // What is needed most is placed first.
    let (plain, named): (Vec<_>, Vec<_>) = stations.iter().zip(&feet).partition(|(s, _)| s.kind == StationKind::Plain);
    for (station, foot) in named {
        number_station(part, &mut placer, station, *foot);
    }
    mark_name(part, &mut placer, rib, (&rib.piece_name(index), jig.ribs.len()));
    if index + 1 == rib.pieces.len() {
        mark_tip(part, &mut placer, piece);
    }
    for (rod, hole) in jig.rods.iter().zip(&rib.holes).filter(|(_, h)| here(h.center.x)) {
        let near = hole.center + Vec2::new(0.0, 0.5 * hole.diameter_mm + NOTE_MM);
        placer.write(part, &format!("ROD {}", rod.number), NOTE_MM, near, NUMBER_REACH_MM.1);
    }
    for (station, foot) in plain {
        number_station(part, &mut placer, station, *foot);
    }
}

/// Marks a station's tick from the top edge down, square to it as far as there is room; returns its lower end.
fn tick(part: &mut Part, cuts: &Placer, station: &Station) -> Point {
    let length = if station.kind == StationKind::Plain { TICK_MM } else { LONG_TICK_MM };
    let (square, upright) =
        (Vec2::new(libm::sin(station.slope_rad), -libm::cos(station.slope_rad)), Vec2::new(0.0, -1.0));
    let tries = [(square, 1.0), (square, 0.5), (upright, 0.5), (upright, 0.25)];
    let clear = |(down, share): &&(Vec2, f64)| {
        let (from, to) = (station.rib_top + *down * (0.1 * length * share), station.rib_top + *down * (length * share));
        cuts.line_is_clear(from, to)
    };
    let (down, share) = tries.iter().find(clear).unwrap_or(&tries[3]);
    let foot = station.rib_top + *down * (length * share);
    stroke(part, station.rib_top, foot);
    foot
}

fn number_station(part: &mut Part, placer: &mut Placer, station: &Station, foot: Point) {
    let words = match station.kind {
        StationKind::Plain => station.number.to_string(),
        StationKind::Middle => format!("{} MIDDLE", station.number),
        StationKind::TailEnd => format!("{} TAIL END", station.number),
        StationKind::TipEnd => format!("{} TIP END", station.number),
    };
    // Half of the longer words may have to stand beside their tick.
    let reach = NUMBER_REACH_MM.0 + 0.5 * NOTE_MM * words.len() as f64;
    placer.write(part, &words, NOTE_MM, foot - Vec2::new(0.0, NOTE_MM), reach);
}

/// The rib's name beside an arrow for up, near the middle of its base, smaller where there is no room.
fn mark_name(part: &mut Part, placer: &mut Placer, rib: &Rib, (name, count): (&str, usize)) {
    let Some(bounds) = part.outline().map(Contour::bounds) else { return };
    // As wide as the longest name, so that ribs of one shape carry it in the same place.
    let longest = format!("RIB {count}A OF {count}").len() as f64;
    for share in [1.0, 0.75, 0.5, 0.35] {
        let (letter, arrow_mm) = (share * NAME_MM, 1.6 * share * NAME_MM);
        // UP, the arrow and a gap take four letters.
        let size = ((longest + 4.0) * letter, arrow_mm);
        let near = Point::new(bounds.center().x, rib.floor_mm + 0.5 * arrow_mm + 2.0);
        let Some(room) = placer.room(size, near, f64::INFINITY) else { continue };
        let text = |x: f64, height_mm: f64, content: String| {
            let at = Point::new(x, room.y0);
            Shape::Text(Text { at, height_mm, angle_rad: 0.0, anchor: TextAnchor::Start, content })
        };
        part.add(Operation::Mark, text(room.x0, 0.7 * letter, "UP".to_owned()));
        arrow(part, Point::new(room.x0 + 2.4 * letter, room.y0), Vec2::new(0.0, 1.0), arrow_mm);
        part.add(Operation::Mark, text(room.x0 + 4.0 * letter, letter, format!("RIB {name} OF {count}")));
        return;
    }
}

/// An arrow to the tip with its word, above the height of slots and of feet where the end of the rib is whole.
fn mark_tip(part: &mut Part, placer: &mut Placer, piece: &RibPiece) {
    let bounds = piece.outline.bounds();
    for share in [1.0, 0.6] {
        let size = Vec2::new(20.0, 10.0) * share;
        let near = Point::new(bounds.x1 - 4.0, 0.3 * bounds.height()) - size * 0.5;
        let Some(room) = placer.room((size.x, size.y), near, f64::INFINITY) else { continue };
        arrow(part, Point::new(room.x0, room.y0 + 0.25 * size.y), Vec2::new(1.0, 0.0), size.x);
        let at = Point::new(room.x0, room.y0 + 0.6 * size.y);
        let (height_mm, content) = (0.4 * size.y, "TIP".to_owned());
        part.add(
            Operation::Mark,
            Shape::Text(Text { at, height_mm, angle_rad: 0.0, anchor: TextAnchor::Start, content }),
        );
        return;
    }
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
