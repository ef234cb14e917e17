//! Threaded rods and their holes.

use kurbo::Point;

use super::cross::{RibSlot, place_at};
use super::layout;
use crate::codes;
use crate::curve::{Parallel, PlaneCurve};
use crate::finding::{Fault, Faults};
use crate::job::{Ribs, Rods};
use crate::numeric::find_root;
use crate::units::{Quantity, phrase};

/// A hole through every rib.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RodHole {
    /// Centre in table coordinates (x, z), mm.
    pub center: Point,
    /// Diameter, mm.
    pub diameter_mm: f64,
}

/// A rod through all ribs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rod {
    /// Number from the tail, 1 first.
    pub number: usize,
    /// Its hole.
    pub hole: RodHole,
}

/// Nearest that a hole's centre comes to any edge, in hole diameters (common practice, no source).
pub(crate) const EDGE_DISTANCE: f64 = 1.5;
/// Where the outer rods stand when the tool places them, as a part of the rib's half length.
const OUTER_ROD: f64 = 0.84;

/// The edges of a rib that holes keep clear of.
#[derive(Clone, Copy)]
pub(super) struct Edges<'a> {
    pub(super) tail: f64,
    pub(super) tip: f64,
    /// Height of the base edge between feet, mm.
    pub(super) floor: f64,
    pub(super) top: &'a Parallel<'a>,
    pub(super) slots: &'a [RibSlot],
}

impl Edges<'_> {
    /// Lowest place of the top edge between two places along the base, mm.
    pub(super) fn lowest_between(&self, from: f64, to: f64) -> f64 {
        const LOOKS: u32 = 16;
        let (a, b) = (place_at(self.top, from), place_at(self.top, to));
        (0..=LOOKS)
            .map(|i| self.top.at(a + (b - a) * f64::from(i) / f64::from(LOOKS)).point.y)
            .fold(f64::INFINITY, f64::min)
    }
}

/// Places the rods and proves that each hole keeps its distance from the edges.
pub(super) fn place(wanted: &Rods, ribs: &Ribs, edges: &Edges<'_>) -> Result<Vec<Rod>, Faults> {
    let least = EDGE_DISTANCE * wanted.hole_mm;
    let height = wanted.height_mm.unwrap_or(0.5 * (ribs.lowest_height_mm + edges.floor));
    if wanted.height_mm.is_none() && height - edges.floor < least {
        return Err(Fault::new(
            codes::ROD_HOLE_EDGE,
            "table.ribs.lowest_height",
            phrase!(
                "a hole of {} needs {} from its centre to the base and to the top; the ribs are only {} high \
                 at their lowest place.",
                Quantity::exact(wanted.hole_mm),
                Quantity::exact(least),
                Quantity::exact(ribs.lowest_height_mm - edges.floor)
            ),
            phrase!(
                "Make lowest_height at least {}, or use a thinner rod.",
                Quantity::exact(2.0 * least + edges.floor)
            ),
        )
        .into());
    }
    let places = if wanted.stations_mm.is_empty() {
        let even = layout::spread(wanted.count, edges.tail, edges.tip, OUTER_ROD);
        even.into_iter().map(|x| beside_slots(x, least, edges)).collect()
    } else {
        wanted.stations_mm.clone()
    };
    let mut faults = Faults::default();
    let mut rods = Vec::new();
    for (i, x) in places.into_iter().enumerate() {
        let center = Point::new(x, height);
        faults.extend(edge_fault(wanted, i, center, edges));
        rods.push(Rod { number: i + 1, hole: RodHole { center, diameter_mm: wanted.hole_mm } });
    }
    rods.sort_by(|a, b| a.hole.center.x.total_cmp(&b.hole.center.x));
    for (i, rod) in rods.iter_mut().enumerate() {
        rod.number = i + 1;
    }
    for pair in rods.windows(2) {
        let between = pair[1].hole.center.x - pair[0].hole.center.x;
        if between < 2.0 * least {
            faults.push(Fault::new(
                codes::ROD_HOLES_MEET,
                "table.rods",
                phrase!("rods {} and {} are only {} apart.", pair[0].number, pair[1].number, Quantity::exact(between)),
                phrase!("Keep them at least {} apart, or use fewer.", Quantity::exact(2.0 * least)),
            ));
        }
    }
    faults.or(rods)
}

/// The fault of the hole of rod `i` that comes too near an edge.
fn edge_fault(wanted: &Rods, i: usize, center: Point, edges: &Edges<'_>) -> Option<Fault> {
    let least = EDGE_DISTANCE * wanted.hole_mm;
    let distance = edge_distance(center, edges);
    if distance >= least {
        return None;
    }
    let path = match (wanted.stations_mm.is_empty(), wanted.height_mm) {
        (true, Some(_)) => "table.rods.height".to_owned(),
        (true, None) => "table.rods".to_owned(),
        (false, _) => format!("table.rods.stations[{i}]"),
    };
    let (code, where_is) = if distance < 0.5 * wanted.hole_mm {
        (codes::ROD_HOLE_OUTSIDE, "lies outside the rib or breaks its edge")
    } else {
        (codes::ROD_HOLE_EDGE, "comes too near an edge")
    };
    Some(Fault::new(
        code,
        path,
        phrase!(
            "the hole of rod {} at {} from the middle, {} high, {}.",
            i + 1,
            Quantity::exact(center.x),
            Quantity::exact(center.y),
            where_is
        ),
        phrase!(
            "Keep its centre {} inside: between {} and {} along the table and at least that far from \
             base, top and slots.",
            Quantity::exact(least),
            Quantity::exact(edges.tail + least),
            Quantity::exact(edges.tip - least)
        ),
    ))
}

/// The place nearest to `x` that keeps `least` from every slot, moved toward the middle of the table.
fn beside_slots(x: f64, least: f64, edges: &Edges<'_>) -> f64 {
    let middle = 0.5 * (edges.tail + edges.tip);
    let toward = if x > middle { -1.0 } else { 1.0 };
    let mut at = x;
    for _ in 0..=edges.slots.len() {
        match edges.slots.iter().find(|s| (s.x_mm - at).abs() < s.reach_mm + least) {
            Some(slot) => at = slot.x_mm + toward * (slot.reach_mm + least + 1e-6),
            None => break,
        }
    }
    at
}

/// Distance from a point to the nearest edge of the rib, slots included, mm; negative outside.
pub(super) fn edge_distance(p: Point, edges: &Edges<'_>) -> f64 {
    let ends = (p.x - edges.tail).min(edges.tip - p.x);
    if ends <= 0.0 {
        return ends;
    }
    let slots = edges
        .slots
        .iter()
        .map(|s| {
            libm::hypot((p.x - s.x_mm).abs() - s.reach_mm, (p.y - s.floor_mm).max(0.0))
                .copysign((p.x - s.x_mm).abs() - s.reach_mm)
        })
        .fold(f64::INFINITY, f64::min);
    let (from, to) = edges.top.range_mm();
    // The nearest place of the top edge is where the line to it stands square on it; sampled finely, then refined.
    const STEPS: usize = 400;
    let top = edges.top;
    let place = |i: usize| from + (to - from) * i as f64 / STEPS as f64;
    let near = (0..=STEPS)
        .map(place)
        .min_by(|a, b| top.at(*a).point.distance(p).total_cmp(&top.at(*b).point.distance(p)))
        .unwrap_or(from);
    let step = (to - from) / STEPS as f64;
    let square = |s: f64| (top.at(s).point - p).dot(top.at(s).tangent());
    let foot = find_root(square, (near - step).max(from), (near + step).min(to), 1e-6).map_or(near, |r| r.x);
    let on = top.at(foot);
    let below = (on.point - p).dot(on.normal());
    let to_top = on.point.distance(p).copysign(below);
    to_top.min(p.y - edges.floor).min(ends).min(slots)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_alone_stands_in_the_middle_and_several_reach_to_both_sides() {
        assert_eq!(layout::spread(1, -600.0, 640.0, 0.9), [20.0]);
        assert_eq!(layout::spread(3, -500.0, 500.0, 0.8), [-400.0, 0.0, 400.0]);
    }
}
