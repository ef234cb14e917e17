//! Ribs in pieces: where they are split, how they are joined, and whether the joint bears the rib's moment.

use kurbo::Point;

use super::cross::height_over;
use super::rods::Edges;
use super::slots::{Corner, moved_right, rounded};
use super::windows::Taken;
use crate::codes;
use crate::drawing::{Contour, Vertex};
use crate::finding::{Fault, Finding, Verdict};
use crate::job::{Cutting, Joint, Split};
use crate::units::{Phrase, Quantity, phrase};

/// A plate over a joint.
#[derive(Debug, Clone, PartialEq)]
pub struct Plate {
    /// Rib whose joint it covers.
    pub rib: usize,
    /// Number of the joint in that rib from the tail, 1 first.
    pub joint: usize,
    /// Outline, mm, its middle at the joint.
    pub outline: Contour,
    /// Bolt holes: centre and diameter, mm.
    pub holes: Vec<(Point, f64)>,
    /// Plates of this kind: one on each face.
    pub count: usize,
}

/// A joint of one rib.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Cut {
    pub(super) x_mm: f64,
    /// Edge of the piece on the tail's side, from the base up.
    tail_side: Vec<Corner>,
    /// Edge of the piece on the tip's side, from the base up.
    tip_side: Vec<Corner>,
    /// Bolt holes in both pieces.
    pub(super) bolts: Vec<(Point, f64)>,
    pub(super) plate: Option<(Contour, Vec<(Point, f64)>)>,
    /// Bending stress in the joint per N mm of the rib's moment and mm of its thickness, 1/mm².
    stress_factor_per_mm2: f64,
}

impl Cut {
    /// The edge that ends the piece on the tail's side, from the base up to the top edge.
    pub(super) fn end_of_tail_piece(&self) -> Vec<Vertex> {
        rounded(&self.tail_side)
    }

    /// The edge that begins the piece on the tip's side, from the base up to the top edge.
    pub(super) fn start_of_tip_piece(&self) -> Vec<Vertex> {
        rounded(&self.tip_side)
    }

    /// Places along the base where the two pieces meet the top edge, mm.
    pub(super) fn top_at(&self) -> (f64, f64) {
        let last = |c: &[Corner]| c.last().map_or(self.x_mm, |c| c.at.x);
        (last(&self.tail_side), last(&self.tip_side))
    }
}

/// Length of a key along the rib, as a part of the rib's height at the joint.
const KEY_LENGTH: f64 = 0.40;
/// Half the height of the key's neck and of its head, as parts of the rib's height at the joint. A wide neck keeps
/// strength; the head is a seventh wider on each side, enough to lock.
const KEY_NECK: f64 = 0.20;
const KEY_HEAD: f64 = 0.26;
/// Smallest round in the corners of a key, mm.
const LEAST_ROUND_MM: f64 = 2.0;
/// Clear material between a joint and the next hole, mm (common practice, no source).
const CLEAR_MM: f64 = 15.0;
/// Step of the search for a place, mm.
const SEARCH_MM: f64 = 2.0;

/// What a joint keeps away from.
#[derive(Clone, Copy)]
pub(super) struct Room<'a> {
    /// Stretches along the rib that are taken.
    pub(super) taken: &'a [Taken],
    /// Places whose ticks a joint should not cut off, where there is a choice, mm.
    pub(super) marked: &'a [f64],
}

/// Nearest that a joint comes to a marked place, where there is a choice, mm.
const TICK_CLEAR_MM: f64 = 8.0;

/// Where a rib is split. `odd` ribs are split at other places than even ones, so that no two neighbours are weak in
/// one line.
pub(super) fn cuts(
    wanted: &Split,
    cutting: Cutting,
    edges: &Edges<'_>,
    room_for: Room<'_>,
    odd: bool,
) -> Result<Vec<Cut>, Fault> {
    let length = edges.tip - edges.tail;
    if length <= wanted.longest_mm {
        return Ok(Vec::new());
    }
    let impossible = |why: Phrase| codes::RIB_SPLIT_IMPOSSIBLE.at(wanted.longest_key, why);
    let reach = |x: f64| match wanted.joint {
        Joint::Key { gap_mm } => (0.0, KEY_LENGTH * height_over(edges.top, x) + gap_mm),
        Joint::Plates { length_mm, .. } => (0.5 * length_mm, 0.5 * length_mm),
    };
    // Pieces may be longer than their share by the key of one end.
    let key = |x: f64| match wanted.joint {
        Joint::Key { .. } => reach(x).1,
        Joint::Plates { .. } => 0.0,
    };
    let room = wanted.longest_mm - key(0.5 * (edges.tail + edges.tip));
    if room < 100.0 {
        return Err(impossible(phrase!(
            "pieces of {} leave no room for the joint.",
            Quantity::place(wanted.longest_mm)
        )));
    }
    // One piece more than the bare length asks for where the bare number leaves no room to stagger.
    let least = ((length / room).ceil() as usize).max(2);
    for pieces in least..=least + 1 {
        let share = length / pieces as f64;
        let slack = (room - share).max(0.0);
        let shift = (0.5 * slack).clamp(0.0, 0.22 * share) * if odd { 1.0 } else { -1.0 };
        let mut found: Vec<Cut> = Vec::new();
        let mut from = edges.tail;
        for j in 1..pieces {
            let fits = |x: f64| {
                let (before, behind) = reach(x);
                let zone = (x - before - CLEAR_MM, x + behind + CLEAR_MM);
                let clear = room_for.taken.iter().all(|t| t.1 <= zone.0 || t.0 >= zone.1);
                let inside = zone.0 > edges.tail && zone.1 < edges.tip;
                let rest = (edges.tip - x) / (pieces - j) as f64;
                clear && inside && x + key(x) - from <= wanted.longest_mm && rest <= room + 1e-9 && x > from + 50.0
            };
            let ideal = edges.tail + share * j as f64 + shift;
            let Some(x) = nearest_place(ideal, 0.45 * share, room_for.marked, fits) else { break };
            found.push(cut(wanted, cutting, edges, x)?);
            from = x;
        }
        if found.len() + 1 == pieces {
            return Ok(found);
        }
    }
    Err(impossible(phrase!(
        "no place is left to split ribs of {} into pieces of at most {} clear of rods, slots and holes.",
        Quantity::place(length),
        Quantity::place(wanted.longest_mm)
    )))
}

/// The nearest place to `ideal`, at most `farthest` away, that fits; one whose tick stays whole before all others, mm.
fn nearest_place(ideal: f64, farthest: f64, marked: &[f64], fits: impl Fn(f64) -> bool) -> Option<f64> {
    let steps = (farthest / SEARCH_MM) as i32;
    let places = || {
        let tried = (0..=steps).flat_map(|i| [1.0, -1.0].map(|side| ideal + side * SEARCH_MM * f64::from(i)));
        tried.filter(|x| fits(*x))
    };
    let unmarked = |x: &f64| marked.iter().all(|m| (m - x).abs() > TICK_CLEAR_MM);
    places().find(unmarked).or_else(|| places().next())
}

/// Parts a rib at `x`.
fn cut(wanted: &Split, cutting: Cutting, edges: &Edges<'_>, x: f64) -> Result<Cut, Fault> {
    match wanted.joint {
        Joint::Key { gap_mm } => key_joint(gap_mm, cutting, edges, x),
        Joint::Plates { length_mm, hole_mm, .. } => plate_joint(length_mm, hole_mm, edges, x),
    }
}

/// A joint whose tail piece ends in a key.
fn key_joint(gap_mm: f64, cutting: Cutting, edges: &Edges<'_>, x: f64) -> Result<Cut, Fault> {
    let (height, floor) = (height_over(edges.top, x), edges.floor);
    let high = height - floor;
    let middle = floor + 0.5 * high;
    let (long, neck, head) = (KEY_LENGTH * high, KEY_NECK * high, KEY_HEAD * high);
    // The socket's rounds are smaller than the key's by the gap where it is the inner one.
    let round = LEAST_ROUND_MM.max(0.5 * cutting.cutter_mm) + gap_mm;
    if 2.2 * round > long.min(2.0 * neck) {
        return Err(Fault::new(
            codes::CUTTER_TOO_LARGE,
            "table.cutter",
            phrase!(
                "the key of the joint at {} is {} long; corner radii of {} do not fit on it.",
                Quantity::place(x),
                Quantity::exact(long),
                Quantity::exact(round)
            ),
            "Use a cutter of smaller diameter, higher ribs, or plates instead of a key.",
        ));
    }
    let tail_side = vec![
        Corner::sharp(x, floor),
        Corner::round(x, middle - neck, round),
        Corner::round(x + long, middle - head, round),
        Corner::round(x + long, middle + head, round),
        Corner::round(x, middle + neck, round),
        Corner::sharp(x, height),
    ];
    let mut tip_side = moved_right(&tail_side, gap_mm);
    let last = tip_side.len() - 1;
    tip_side[last].at.y = height_over(edges.top, tip_side[last].at.x);
    // Bending of the neck's rectangle: 6 M / (t h²).
    let stress_factor_per_mm2 = 6.0 / (2.0 * neck * 2.0 * neck);
    Ok(Cut { x_mm: x, tail_side, tip_side, bolts: Vec::new(), plate: None, stress_factor_per_mm2 })
}

/// A straight joint that plates hold.
fn plate_joint(length_mm: f64, hole_mm: f64, edges: &Edges<'_>, x: f64) -> Result<Cut, Fault> {
    let (height, floor) = (height_over(edges.top, x), edges.floor);
    let lowest = edges.lowest_between(x - 0.5 * length_mm, x + 0.5 * length_mm);
    let (bottom, top) = (floor + 2.0, lowest - 2.0);
    let (column, row) = (0.5 * length_mm - 2.0 * hole_mm, 0.5 * (top - bottom) - 1.5 * hole_mm);
    if row < 1.5 * hole_mm || column < 3.0 * hole_mm {
        return Err(codes::PLATE_TOO_SMALL.at(
            "table.ribs.split.plates",
            phrase!(
                "a plate of {} by {} has no room for four bolts with holes of {}.",
                Quantity::place(length_mm),
                Quantity::place(top - bottom),
                Quantity::exact(hole_mm)
            ),
        ));
    }
    let middle = 0.5 * (bottom + top);
    let inner = 2.0 * hole_mm;
    let bolts: Vec<(Point, f64)> = [-column, -inner, inner, column]
        .into_iter()
        .flat_map(|dx| [-row, row].map(|dz| (Point::new(x + dx, middle + dz), hole_mm)))
        .collect();
    let outline = Contour::polygon([
        Point::new(x - 0.5 * length_mm, bottom),
        Point::new(x + 0.5 * length_mm, bottom),
        Point::new(x + 0.5 * length_mm, top),
        Point::new(x - 0.5 * length_mm, top),
    ])
    .map_err(|e| {
        Fault::new(
            codes::IMPOSSIBLE_GEOMETRY,
            "table.ribs.split.plates",
            format!("the plate has no size ({e})."),
            "Make it longer.",
        )
    })?;
    let straight = vec![Corner::sharp(x, floor), Corner::sharp(x, height)];
    let high = top - bottom;
    // Two plates of the rib's thickness bend: 6 M / (2 t h²); four bolts on each side press on their holes with
    // M / (4 r) each, r from the middle of the four.
    let reach = libm::hypot(0.5 * (column - inner), row);
    let plates = 6.0 / (2.0 * high * high);
    let bearing = 1.0 / (4.0 * reach * hole_mm);
    Ok(Cut {
        x_mm: x,
        tail_side: straight.clone(),
        tip_side: straight,
        bolts: bolts.clone(),
        plate: Some((outline, bolts)),
        stress_factor_per_mm2: plates.max(bearing),
    })
}

/// What a bolt needs beside the plate, in its diameters: nut 0.8, washer 0.2, and two threads beyond (from memory, for
/// ISO 4032 nuts and ISO 7089 washers).
const NUT: f64 = 1.3;

/// Refuses plates that do not go between the ribs, with their bolts' nuts.
pub(super) fn plate_room(wanted: &Split, thickness_mm: f64, ribs_at: &[f64], cuts: [&[Cut]; 2]) -> Result<(), Fault> {
    let Joint::Plates { length_mm, bolt_mm, .. } = wanted.joint else { return Ok(()) };
    let [even, odd] = cuts;
    if even.is_empty() && odd.is_empty() {
        return Ok(());
    }
    // Where joints of neighbours lie side by side, two plates share the bay.
    let share = even.iter().any(|a| odd.iter().any(|b| (a.x_mm - b.x_mm).abs() < length_mm));
    let needs = (thickness_mm + NUT * bolt_mm) * if share { 2.0 } else { 1.0 };
    let bay = ribs_at.windows(2).map(|w| w[1] - w[0] - thickness_mm).fold(f64::INFINITY, f64::min);
    if bay >= needs {
        return Ok(());
    }
    Err(codes::PLATE_NO_ROOM.at(
        "table.ribs.split.plates",
        phrase!(
            "between two ribs {} are clear; the plates there need {} with the nuts of their bolts.",
            Quantity::exact(bay),
            Quantity::exact(needs)
        ),
    ))
}

/// The check of the most stressed joint; `moment_n_mm` is one rib's moment at a place along it.
pub(super) fn joint_finding(
    cuts: &[Cut],
    split: &Split,
    thickness_mm: f64,
    moment_n_mm: impl Fn(f64) -> f64,
) -> Option<Finding> {
    let stress_in = |cut: &Cut| cut.stress_factor_per_mm2 * moment_n_mm(cut.x_mm) / thickness_mm;
    let worst = cuts.iter().max_by(|a, b| stress_in(a).total_cmp(&stress_in(b)))?;
    let stress = stress_in(worst);
    let (verdict, held) = Verdict::over(stress, (0.5 * split.stress_mpa, split.stress_mpa), Quantity::stress);
    let remedy = match verdict {
        Verdict::Ok => "",
        _ => "Use more or higher ribs, or plates instead of a key.",
    };
    Some(
        codes::RIB_JOINT
            .check(phrase!("joint of the ribs at {}", Quantity::place(worst.x_mm)), (verdict, held))
            .with_remedy(remedy),
    )
}
