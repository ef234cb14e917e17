//! Members across the table, half-lapped with the ribs.

use kurbo::Point;

use super::layout;
use super::slots::{relief_reach, relief_room, slot_up};
use crate::codes;
use crate::curve::{Parallel, PlaneCurve};
use crate::drawing::{Contour, Vertex};
use crate::finding::{Fault, Faults, Finding, Held, Verdict};
use crate::job::{CrossMembers, Cutting, Relief};
use crate::units::{Quantity, phrase};

/// A member across the table.
#[derive(Debug, Clone, PartialEq)]
pub struct CrossMember {
    /// Number from the tail, 1 first.
    pub number: usize,
    /// Where its middle plane stands along the table, mm.
    pub x_mm: f64,
    /// Outline across the table (y, z), mm, counter-clockwise.
    pub outline: Contour,
    /// Thickness, mm.
    pub thickness_mm: f64,
    /// Height, mm.
    pub height_mm: f64,
    /// Length across the table, mm.
    pub length_mm: f64,
}

impl CrossMember {
    /// Short name of ASCII letters, digits and hyphens.
    pub fn id(&self) -> String {
        format!("cross-{}", self.number)
    }
}

/// A slot in the base edge of every rib.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct RibSlot {
    pub(super) x_mm: f64,
    pub(super) width_mm: f64,
    pub(super) floor_mm: f64,
    /// Half width that other holes have to keep clear of, relief included, mm.
    pub(super) reach_mm: f64,
}

/// Where the outer members stand when the tool places them, as a part of the rib's half length.
const OUTER_MEMBER: f64 = 0.93;
/// Least rib over a cross member, mm (common practice, no source).
const LEAST_COVER_MM: f64 = 5.0;
/// Least wood between two slots of a cross member, mm: thinner webs break off (common practice, no source).
const LEAST_WALL_MM: f64 = 1.0;

/// Slots in the ribs for the cross members.
pub(super) fn rib_slots(wanted: &CrossMembers, cutting: Cutting, top: &Parallel<'_>) -> Result<Vec<RibSlot>, Faults> {
    let (from, to) = top.range_mm();
    let (tail, tip) = (top.at(from).point.x, top.at(to).point.x);
    let width_mm = wanted.thickness_mm + wanted.fit_mm;
    let reach_mm = 0.5 * width_mm + relief_reach(wanted.relief, cutting.cutter_mm);
    let floor_mm = 0.5 * (wanted.height_mm + wanted.fit_mm);
    let mut places = if wanted.stations_mm.is_empty() {
        // No nearer to the ends than is asked of stations.
        let farthest = 1.0 - 2.0 * (width_mm + reach_mm) / (tip - tail) - 1e-9;
        layout::spread(wanted.count, tail, tip, OUTER_MEMBER.min(farthest))
    } else {
        wanted.stations_mm.clone()
    };
    places.sort_by(f64::total_cmp);
    let slots: Vec<RibSlot> = places.into_iter().map(|x_mm| RibSlot { x_mm, width_mm, floor_mm, reach_mm }).collect();
    let mut faults = Faults::default();
    for (i, slot) in slots.iter().enumerate() {
        faults.extend(place_fault(wanted, i, *slot, top));
    }
    if cutting.cutter_mm > 0.0 && cutting.cutter_mm > width_mm {
        faults.push(Fault::new(
            codes::CUTTER_TOO_LARGE,
            "table.cutter",
            phrase!(
                "a cutter of {} does not fit the slots of {}.",
                Quantity::exact(cutting.cutter_mm),
                Quantity::exact(width_mm)
            ),
            "Use a cutter of smaller diameter or thicker cross members.",
        ));
    }
    faults.extend(relief_fault(wanted, cutting, width_mm, floor_mm));
    for pair in slots.windows(2) {
        let between = pair[1].x_mm - pair[0].x_mm;
        if between < 2.0 * reach_mm + width_mm {
            faults.push(codes::CROSS_MEMBERS_MEET.at(
                "table.cross_members",
                phrase!("two cross members stand only {} apart.", Quantity::exact(between)),
            ));
        }
    }
    faults.or(slots)
}

/// The fault of slot `i` that lies too near the ribs' ends, or under too little of a rib.
fn place_fault(wanted: &CrossMembers, i: usize, slot: RibSlot, top: &Parallel<'_>) -> Option<Fault> {
    let (from, to) = top.range_mm();
    let clear = slot.reach_mm + slot.width_mm;
    let (first, last) = (top.at(from).point.x + clear, top.at(to).point.x - clear);
    if slot.x_mm < first || slot.x_mm > last {
        let path = if wanted.stations_mm.is_empty() {
            "table.cross_members".to_owned()
        } else {
            format!("table.cross_members.stations[{i}]")
        };
        return Some(Fault::new(
            codes::CROSS_MEMBER_OUTSIDE,
            path,
            phrase!(
                "the cross member at {} comes too near the end of the ribs or beyond it.",
                Quantity::exact(slot.x_mm)
            ),
            phrase!(
                "Keep it between {} and {} from the middle of the table.",
                Quantity::exact(first),
                Quantity::exact(last)
            ),
        ));
    }
    let over = height_over(top, slot.x_mm - slot.reach_mm).min(height_over(top, slot.x_mm + slot.reach_mm));
    (over < wanted.height_mm + LEAST_COVER_MM).then(|| {
        Fault::new(
            codes::CROSS_MEMBER_TOO_HIGH,
            "table.cross_members.height",
            phrase!(
                "the cross member is {} high, the rib over it only {} at {} from the middle.",
                Quantity::exact(wanted.height_mm),
                Quantity::exact(over),
                Quantity::exact(slot.x_mm)
            ),
            phrase!("Make it at most {} high, or the ribs higher.", Quantity::exact(over - LEAST_COVER_MM)),
        )
    })
}

/// The fault of a slot whose corners lie so near each other, or to its mouth, that their reliefs would meet.
fn relief_fault(wanted: &CrossMembers, cutting: Cutting, width_mm: f64, depth_mm: f64) -> Option<Fault> {
    let (needs_width, needs_depth) = relief_room(wanted.relief, cutting.cutter_mm);
    if width_mm > needs_width && depth_mm > needs_depth {
        return None;
    }
    Some(codes::RELIEF_TOO_LARGE.at(
        "table.cross_members.relief",
        phrase!(
            "reliefs of a cutter of {} need slots wider than {} and deeper than {}; these measure {} and {}.",
            Quantity::exact(cutting.cutter_mm),
            Quantity::exact(needs_width),
            Quantity::exact(needs_depth),
            Quantity::exact(width_mm),
            Quantity::exact(depth_mm)
        ),
    ))
}

/// The check of slots whose corners a round cutter leaves full: the half-laps then stay open.
pub(super) fn relief_finding(wanted: &CrossMembers, cutting: Cutting) -> Option<Finding> {
    if cutting.cutter_mm <= 0.0 || wanted.relief != Relief::None {
        return None;
    }
    // The round of radius r in a corner lifts an edge that stands fit/2 off the wall by r - sqrt(r² - (r - fit/2)²);
    // the slots of both members do, and the fit lets them sink by as much.
    let r = 0.5 * cutting.cutter_mm;
    let reach = (r - 0.5 * wanted.fit_mm).max(0.0);
    let open = (2.0 * (r - (r * r - reach * reach).max(0.0).sqrt()) - wanted.fit_mm).max(0.0);
    Some(codes::LAP_OPEN.check(
        "half-laps held open by round corners",
        (
            if open > 0.0 { Verdict::Watch } else { Verdict::Ok },
            Held::at_most(Quantity::fine(open), Quantity::fine(0.0)),
        ),
    ))
}

/// Height of a rib's top edge above its base at `x_mm`, mm; the nearest end's beyond an end.
pub(super) fn height_over(top: &Parallel<'_>, x_mm: f64) -> f64 {
    top.at(place_at(top, x_mm)).point.y
}

/// The top edge's parameter over a place along the base, mm.
pub(super) fn place_at(top: &Parallel<'_>, x_mm: f64) -> f64 {
    let (mut from, mut to) = top.range_mm();
    // x grows with the parameter as long as the edge is not upright, which the profile has made sure of.
    for _ in 0..80 {
        let middle = 0.5 * (from + to);
        if top.at(middle).point.x < x_mm { from = middle } else { to = middle }
    }
    0.5 * (from + to)
}

/// The cross members: slots from above for every rib, closed by a step where the outer ribs stand flush.
pub(super) fn members(
    wanted: &CrossMembers,
    cutting: Cutting,
    slots: &[RibSlot],
    ribs_at: &[f64],
    rib_thickness_mm: f64,
    width_mm: f64,
) -> Result<Vec<CrossMember>, Fault> {
    let height = wanted.height_mm;
    let half = 0.5 * width_mm;
    let slot_width = rib_thickness_mm + wanted.fit_mm;
    if let Some(fault) = relief_fault(wanted, cutting, slot_width, height - slot_floor(wanted)) {
        return Err(fault);
    }
    let reach_mm = relief_reach(wanted.relief, cutting.cutter_mm);
    let narrowest = ribs_at.windows(2).map(|w| w[1] - w[0]).fold(f64::INFINITY, f64::min);
    if narrowest - slot_width < 2.0 * reach_mm + LEAST_WALL_MM {
        return Err(codes::SLOTS_MEET.at(
            "table.cross_members",
            phrase!(
                "the ribs stand {} apart; slots of {} with their reliefs leave nothing of the cross members between.",
                Quantity::exact(narrowest),
                Quantity::exact(slot_width + 2.0 * reach_mm)
            ),
        ));
    }
    let mut vertices = vec![Vertex::line(Point::new(-half, 0.0)), Vertex::line(Point::new(half, 0.0))];
    vertices.extend(member_top(wanted, cutting, ribs_at, slot_width, half));
    let outline = Contour::closed(vertices).map_err(|e| {
        Fault::new(
            codes::IMPOSSIBLE_GEOMETRY,
            "table.cross_members",
            format!("the slots of the cross members do not fit between each other ({e})."),
            "Use fewer ribs, thinner stock or a smaller fit.",
        )
    })?;
    Ok(slots
        .iter()
        .enumerate()
        .map(|(i, s)| CrossMember {
            number: i + 1,
            x_mm: s.x_mm,
            outline: outline.clone(),
            thickness_mm: wanted.thickness_mm,
            height_mm: height,
            length_mm: width_mm,
        })
        .collect())
}

/// Height of the floor of a cross member's slots over its base edge, mm.
fn slot_floor(wanted: &CrossMembers) -> f64 {
    0.5 * (wanted.height_mm - wanted.fit_mm)
}

/// The top edge of a cross member with a slot for every rib, from right to left.
fn member_top(wanted: &CrossMembers, cutting: Cutting, ribs_at: &[f64], slot_width: f64, half: f64) -> Vec<Vertex> {
    let (height, floor) = (wanted.height_mm, slot_floor(wanted));
    let mut top = Vec::new();
    for y in ribs_at.iter().rev() {
        let (right, left) = (y + 0.5 * slot_width, y - 0.5 * slot_width);
        if right >= half - 1e-9 {
            // The outer rib is flush with the member's end: a step instead of a slot.
            top.push(Vertex::line(Point::new(half, floor)));
            top.extend(half_slot(left, floor, height, wanted, cutting));
        } else if left <= -half + 1e-9 {
            let mut step = half_slot(-right, floor, height, wanted, cutting);
            step.reverse();
            top.extend(mirrored(step));
            top.push(Vertex::line(Point::new(-half, floor)));
        } else {
            // A slot that opens upward, walked from right to left, is one that opens downward turned by half a turn.
            let turned = slot_up(-right, -left, -height, -floor, wanted.relief, cutting.cutter_mm);
            top.extend(turned.iter().map(|v| Vertex { point: Point::new(-v.point.x, -v.point.y), bulge: v.bulge }));
        }
    }
    top
}

/// The inner wall of a step at the right end, from its floor up to the top edge, with the relief in its corner.
fn half_slot(wall: f64, floor: f64, height: f64, wanted: &CrossMembers, cutting: Cutting) -> Vec<Vertex> {
    let whole = slot_up(-wall - 1000.0, -wall, -height, -floor, wanted.relief, cutting.cutter_mm);
    let turned: Vec<Vertex> =
        whole.iter().map(|v| Vertex { point: Point::new(-v.point.x, -v.point.y), bulge: v.bulge }).collect();
    // The second half of the slot: from the middle of its floor to its mouth.
    turned[turned.len() / 2..].to_vec()
}

/// A path mirrored about the middle line and walked the other way; bulges move to the vertex they now leave from.
fn mirrored(reversed: Vec<Vertex>) -> Vec<Vertex> {
    let n = reversed.len();
    (0..n)
        .map(|i| {
            // Mirroring turns an arc's sense and reversing turns it back.
            let bulge = if i + 1 < n { reversed[i + 1].bulge } else { 0.0 };
            Vertex { point: Point::new(-reversed[i].point.x, reversed[i].point.y), bulge }
        })
        .collect()
}
