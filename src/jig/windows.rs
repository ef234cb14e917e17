//! Windows that make ribs lighter, and holes to carry the table by.

use kurbo::Point;

use super::rods::Edges;
use super::rods::edge_distance;
use crate::codes;
use crate::drawing::{Contour, Vertex};
use crate::finding::Fault;
use crate::job::{HandHoles, Lightening};
use crate::units::{Quantity, phrase};

/// A stretch of the rib that is taken: from, to, mm along the base.
pub(super) type Taken = (f64, f64);

/// Smallest window that is worth cutting, mm.
const SMALLEST_WINDOW_MM: f64 = 25.0;

/// Two holes with half-round ends, one near each end of the rib.
pub(super) fn hand_holes(wanted: &HandHoles, edges: &Edges<'_>, taken: &mut Vec<Taken>) -> Result<Vec<Contour>, Fault> {
    let wall = 0.5 * wanted.height_mm;
    let mut holes = Vec::new();
    for x in [edges.tail + wanted.from_end_mm, edges.tip - wanted.from_end_mm] {
        let (r, half) = (0.5 * wanted.height_mm, 0.5 * wanted.length_mm);
        let z = 0.5 * (edges.floor + edges.lowest_between(x - half, x + half));
        let ends = [Point::new(x - half + r, z), Point::new(x + half - r, z)];
        let room = ends.iter().map(|p| edge_distance(*p, edges) - r).fold(f64::INFINITY, f64::min);
        if room < wall {
            return Err(Fault::new(
                codes::HAND_HOLE_EDGE,
                "table.ribs.hand_holes",
                phrase!(
                    "the hand hole at {} leaves only {} to an edge of the rib.",
                    Quantity::exact(x),
                    Quantity::exact(room.max(0.0))
                ),
                phrase!(
                    "Keep {} all round: make it smaller, or move it to where the rib is higher.",
                    Quantity::exact(wall)
                ),
            ));
        }
        let zone = (x - half - wall, x + half + wall);
        if let Some(other) = taken.iter().find(|t| t.0 < zone.1 && zone.0 < t.1) {
            return Err(codes::HAND_HOLE_MEETS.at(
                "table.ribs.hand_holes.from_end",
                phrase!(
                    "the hand hole at {} meets a rod, slot or joint at {}.",
                    Quantity::exact(x),
                    Quantity::exact(0.5 * (other.0 + other.1))
                ),
            ));
        }
        taken.push(zone);
        let outline = vec![
            Vertex::line(Point::new(ends[0].x, z - r)),
            Vertex { point: Point::new(ends[1].x, z - r), bulge: 1.0 },
            Vertex::line(Point::new(ends[1].x, z + r)),
            Vertex { point: Point::new(ends[0].x, z + r), bulge: 1.0 },
        ];
        holes.push(Contour::closed(outline).map_err(|_| {
            Fault::new(
                codes::IMPOSSIBLE_GEOMETRY,
                "table.ribs.hand_holes.length",
                "the hand hole has no length.",
                "Make it longer than high.",
            )
        })?);
    }
    Ok(holes)
}

/// Round windows in the stretches that nothing else takes, each with the stated wall all round.
pub(super) fn lightening(wanted: &Lightening, edges: &Edges<'_>, taken: &[Taken]) -> Vec<(Point, f64)> {
    let wall = wanted.wall_mm;
    let mut busy: Vec<Taken> = taken.iter().map(|t| (t.0 - wall, t.1 + wall)).collect();
    busy.push((f64::NEG_INFINITY, edges.tail + wall));
    busy.push((edges.tip - wall, f64::INFINITY));
    busy.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut free = Vec::new();
    let mut from = edges.tail;
    for (a, b) in busy {
        if a > from {
            free.push((from, a));
        }
        from = from.max(b);
    }
    let mut windows = Vec::new();
    for (a, b) in free {
        let middle = 0.5 * (a + b);
        let high = edges.lowest_between(middle - 1.0, middle + 1.0) - edges.floor - 2.0 * wall;
        let diameter = wanted.largest_mm.min(high).min(b - a);
        if diameter < SMALLEST_WINDOW_MM {
            continue;
        }
        let count = ((b - a + wall) / (diameter + wall)).floor();
        let pitch = (b - a + wall) / count;
        let mut i = 0.0;
        while i < count {
            let x = a + pitch * (i + 0.5) - 0.5 * wall;
            i += 1.0;
            let top = edges.lowest_between(x - 0.5 * diameter, x + 0.5 * diameter);
            let center = Point::new(x, 0.5 * (edges.floor + top));
            // As large as the walls allow where the rib is lower than in the middle of the stretch.
            let radius = (edge_distance(center, edges) - wall).min(0.5 * diameter);
            if 2.0 * radius >= SMALLEST_WINDOW_MM {
                windows.push((center, radius));
            }
        }
    }
    windows
}
