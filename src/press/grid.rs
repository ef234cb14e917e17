//! Nodes along blank and table.

use crate::curve::{Curvature, CurvatureError, Piece, parallel_stretch};
use crate::laminate::{Laminate, Section};

use super::state::{Blank, PressError, Station};

/// Longest element, mm. Where the stack lies down, longer elements would do; this keeps it from hiding a bridge of a few
/// hundredths of a millimetre between nodes.
const LONGEST_MM: f64 = 12.0;
/// Length of the elements where stacks lift off first: at the blank's ends, jumps of curvature and forces, mm. Only a
/// beginning; elements are halved where the gap asks for it.
const FINEST_MM: f64 = 2.5;
/// How much elements grow per mm of distance from such a place.
const GROWTH: f64 = 0.25;
/// How far a table's curvature may run off the straight line within an element, 1/mm: over half a board, 700 mm, it
/// moves an end by less than 1e-8 · 700²/8 = 0.0006 mm.
const STRAIGHT_PER_MM: f64 = 1e-8;
/// Shortest element, mm: stiffness goes with the inverse cube of the length, and shorter ones would swamp their
/// neighbours with rounding error. The table's curvature jumps where it has a shorter piece; over a jump from straight to a
/// radius of 300 mm that is worth 0.01 mm at the end of a long board.
const SHORTEST_MM: f64 = 0.01;
/// Elements are not halved below this length, mm.
const SHORTEST_HALF_MM: f64 = 0.25;
/// How far a node may miss the break of the stack that it was put for, mm: over a break an element takes one neutral
/// height to run into the other, and misses by its length times curvature times half the jump.
pub(crate) const BREAK_MISSED_MM: f64 = 0.1;

/// Rounding of sums of lengths, mm.
const ROUNDING_MM: f64 = 1e-6;

/// Nodes with table curvature and sections at both ends of every element.
#[derive(Debug, Clone)]
pub(super) struct Grid {
    pub(super) stations: Vec<Station>,
    pub(super) table_per_mm: Vec<[f64; 2]>,
    pub(super) sections: Vec<[Section; 2]>,
}

impl Grid {
    /// Nodes at the blank's ends, at jumps and bends of the table's curvature, at breaks of the stack and at `forces`
    /// (places on the blank, mm), and as many in between as a first look takes.
    pub(super) fn new(
        table: &Curvature,
        laminate: &Laminate,
        blank: Blank,
        forces: impl Iterator<Item = f64>,
    ) -> Result<Self, PressError> {
        for end in [blank.tail_mm, blank.tip_mm] {
            if !end.is_finite() {
                return Err(PressError::Blank(end));
            }
        }
        let bends = bends(table);
        // Blank and table are measured off from the middle of the board, as far as the table reaches.
        let whole = (table.start_mm(), table.end_mm());
        let joints = distinct(bends.iter().map(|b| b.0).chain([0.0]), whole.0, whole.1);
        let mut rough = Self::along(table, laminate, &graded(&joints, &[]))?;
        let on_blank = laminate.breaks_mm();
        let on_grid = |grid: &Self| on_blank.iter().filter_map(|s| grid.table_at(*s)).collect::<Vec<f64>>();
        let mut breaks = on_grid(&rough);
        if !breaks.is_empty() {
            // With nodes at the breaks, though a little off, neutral heights are those of the right side.
            let places = distinct(breaks.iter().chain(&joints).copied(), whole.0, whole.1);
            rough = Self::along(table, laminate, &graded(&places, &[]))?;
            breaks = on_grid(&rough);
        }
        let on_table = |blank_mm: f64| rough.table_at(blank_mm).ok_or(PressError::Blank(blank_mm));
        let (tail, tip) = (on_table(blank.tail_mm)?, on_table(blank.tip_mm)?);
        if tip - tail <= SHORTEST_MM {
            return Err(PressError::Blank(blank.tip_mm));
        }
        let forces: Vec<f64> = forces.map(on_table).collect::<Result<_, _>>()?;
        // In the order in which they are kept where two are one.
        let jumps = || bends.iter().filter(|b| b.1).map(|b| b.0);
        let others = bends.iter().map(|b| b.0).chain([0.0]).chain(breaks.iter().copied());
        let places =
            distinct([tail, tip].into_iter().chain(jumps()).chain(forces.iter().copied()).chain(others), tail, tip);
        let fine: Vec<f64> = distinct([tail, tip].into_iter().chain(jumps()).chain(forces.iter().copied()), tail, tip);
        Self::along(table, laminate, &graded(&places, &fine))
    }

    /// The grid on these places along the table, which must be in order.
    fn along(table: &Curvature, laminate: &Laminate, table_mm: &[f64]) -> Result<Self, PressError> {
        let ends = table_mm.windows(2).map(|w| [after(table, w[0]), before(table, w[1])]).collect();
        Self::walk(table_mm, ends, laminate)
    }

    /// Places of the nodes along the table, mm.
    pub(super) fn places_mm(&self) -> Vec<f64> {
        self.stations.iter().map(|s| s.table_mm).collect()
    }

    /// The same nodes under another stack.
    pub(super) fn under(&self, laminate: &Laminate) -> Result<Self, PressError> {
        Self::walk(&self.places_mm(), self.table_per_mm.clone(), laminate)
    }

    /// The elements that are asked for cut in half.
    pub(super) fn halved(
        &self,
        table: &Curvature,
        laminate: &Laminate,
        doubtful: impl Fn(usize) -> bool,
    ) -> Result<Self, PressError> {
        let mut table_mm = vec![self.stations[0].table_mm];
        for (i, w) in self.stations.windows(2).enumerate() {
            if doubtful(i) && w[1].table_mm - w[0].table_mm > 2.0 * SHORTEST_HALF_MM {
                table_mm.push(0.5 * (w[0].table_mm + w[1].table_mm));
            }
            table_mm.push(w[1].table_mm);
        }
        Self::along(table, laminate, &table_mm)
    }

    /// Goes along the table from the middle of the board outward and measures off the blank.
    fn walk(table_mm: &[f64], table_per_mm: Vec<[f64; 2]>, laminate: &Laminate) -> Result<Self, PressError> {
        let count = table_mm.len() - 1;
        let middle = table_mm.partition_point(|t| *t < 0.0).min(count);
        let mut stations: Vec<Station> =
            table_mm.iter().map(|t| Station { table_mm: *t, blank_mm: table_mm[middle] }).collect();
        let breaks_mm = laminate.breaks_mm();
        let mut sections = Vec::with_capacity(count);
        sections.resize(count, [laminate.section_at(table_mm[middle]); 2]);
        let outward = (middle..count).map(|i| (i, 0, 1)).chain((0..middle).rev().map(|i| (i, 1, 0)));
        for (i, near, far) in outward {
            let at = stations[i + near].blank_mm;
            let length = table_mm[i + far] - table_mm[i + near];
            let shrunk = |end: usize, section: &Section| {
                let shrunk = parallel_stretch(table_per_mm[i][end], section.neutral_mm);
                // Below this the base would be bent around a point inside the stack.
                if shrunk < 0.1 { Err(PressError::TooTight(table_mm[i + end])) } else { Ok(shrunk) }
            };
            sections[i][near] = laminate.section_at(inside(at, length, &breaks_mm));
            let shrunk_near = shrunk(near, &sections[i][near])?;
            sections[i][far] = laminate.section_at(inside(at + length * shrunk_near, -length, &breaks_mm));
            let shrunk_far = shrunk(far, &sections[i][far])?;
            stations[i + far].blank_mm = at + 0.5 * (shrunk_near + shrunk_far) * length;
        }
        Ok(Self { stations, table_per_mm, sections })
    }

    /// Place on the table of a place on the blank, where the grid reaches there.
    fn table_at(&self, blank_mm: f64) -> Option<f64> {
        // Sums of lengths differ by rounding: a blank cut to the table's end lies on it.
        let (first, last) = (self.stations.first()?.blank_mm, self.stations.last()?.blank_mm);
        let clamped = blank_mm.clamp(first, last);
        let blank_mm = if (clamped - blank_mm).abs() < ROUNDING_MM { clamped } else { blank_mm };
        let next = self.stations.partition_point(|s| s.blank_mm < blank_mm);
        let b = self.stations.get(next)?;
        if b.blank_mm == blank_mm {
            return Some(b.table_mm);
        }
        let a = &self.stations[next.checked_sub(1)?];
        Some(a.table_mm + (b.table_mm - a.table_mm) * (blank_mm - a.blank_mm) / (b.blank_mm - a.blank_mm))
    }
}

/// Where the stack is cut for the end of an element that reaches `length_mm` from there on (negative toward the tail):
/// at a break of the stack on the element's side of it, however the node missed it.
pub(super) fn inside(end_mm: f64, length_mm: f64, breaks_mm: &[f64]) -> f64 {
    let missed = BREAK_MISSED_MM.min(0.4 * length_mm.abs());
    let off = |b: &f64| (b - end_mm).abs();
    let near = breaks_mm.iter().filter(|b| off(b) <= missed).min_by(|a, b| off(a).total_cmp(&off(b)));
    near.map_or(end_mm, |b| b + 1e-9 * length_mm)
}

/// The same table without its shortest pieces; their neighbours run on.
pub(super) fn without_slivers(table: &Curvature) -> Result<Curvature, CurvatureError> {
    let mut pieces: Vec<Piece> = Vec::new();
    for p in table.pieces().iter().filter(|p| p.length_mm() >= SHORTEST_MM) {
        let start_mm = pieces.last().map_or(table.start_mm(), |before| before.end_mm);
        pieces.push(Piece { start_mm, k_start_per_mm: p.at(start_mm), ..*p });
    }
    Curvature::new(pieces)
}

/// The table's curvature just after a place.
fn after(table: &Curvature, s_mm: f64) -> f64 {
    table.pieces()[table.index_at(s_mm)].at(s_mm)
}

/// The table's curvature just before a place.
fn before(table: &Curvature, s_mm: f64) -> f64 {
    let pieces = table.pieces();
    pieces[pieces.partition_point(|p| p.end_mm < s_mm).min(pieces.len() - 1)].at(s_mm)
}

/// Places between which the table's curvature runs straight, with whether it jumps there.
fn bends(table: &Curvature) -> Vec<(f64, bool)> {
    let pieces = table.pieces();
    let mut out = vec![(table.start_mm(), false)];
    // Where the present straight run began, and the slopes that keep all joints passed so far within the tolerance.
    let mut from = (pieces[0].start_mm, pieces[0].k_start_per_mm);
    let mut slopes = (f64::NEG_INFINITY, f64::INFINITY);
    for (i, p) in pieces.iter().enumerate() {
        let slope = |k: f64| (k - from.1) / (p.end_mm - from.0);
        let straight = slope(p.k_end_per_mm);
        if straight < slopes.0 || straight > slopes.1 {
            out.push((p.start_mm, false));
            from = (p.start_mm, p.k_start_per_mm);
            slopes = (f64::NEG_INFINITY, f64::INFINITY);
        }
        let slope = |k: f64| (k - from.1) / (p.end_mm - from.0);
        slopes.0 = slopes.0.max(slope(p.k_end_per_mm - STRAIGHT_PER_MM));
        slopes.1 = slopes.1.min(slope(p.k_end_per_mm + STRAIGHT_PER_MM));
        if let Some(next) =
            pieces.get(i + 1).filter(|next| (next.k_start_per_mm - p.k_end_per_mm).abs() > STRAIGHT_PER_MM)
        {
            out.push((p.end_mm, true));
            from = (next.start_mm, next.k_start_per_mm);
            slopes = (f64::NEG_INFINITY, f64::INFINITY);
        }
    }
    out.push((table.end_mm(), false));
    out
}

/// Those of the places that lie between two ends, in order; of places that coincide the one that is listed first.
fn distinct(places: impl Iterator<Item = f64>, from: f64, to: f64) -> Vec<f64> {
    let mut kept: Vec<f64> = Vec::new();
    for s in places.filter(|s| (from..=to).contains(s)) {
        let next = kept.partition_point(|k| *k < s);
        let apart = |k: &f64| (k - s).abs() > SHORTEST_MM;
        if kept.get(next).is_none_or(apart) && next.checked_sub(1).is_none_or(|i| apart(&kept[i])) {
            kept.insert(next, s);
        }
    }
    kept
}

/// The same places with more in between: short steps at the places `fine`, growing from there up to the longest.
fn graded(places: &[f64], fine: &[f64]) -> Vec<f64> {
    let mut out = vec![places[0]];
    for w in places.windows(2) {
        let mut at = w[0];
        while at < w[1] {
            let next = fine.partition_point(|f| *f <= at);
            let behind = next.checked_sub(1).map_or(f64::INFINITY, |i| at - fine[i]);
            let ahead = fine.get(next).map_or(f64::INFINITY, |f| f - at);
            let step = (FINEST_MM + GROWTH * behind.min(ahead - FINEST_MM).max(0.0)).min(LONGEST_MM);
            // The rest is shared out evenly, so that no sliver remains.
            let left = ((w[1] - at) / step - 1e-9).ceil().max(1.0);
            at = if left <= 1.0 { w[1] } else { at + (w[1] - at) / left };
            out.push(at);
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_table_is_cut_where_its_curvature_jumps_or_bends_and_nowhere_else() {
        let straight = Curvature::through(&[(-100.0, -5e-4), (100.0, 1e-3)]).unwrap().refined(3.0);
        let mut pieces = straight.pieces().to_vec();
        pieces.push(Piece { start_mm: 100.0, end_mm: 150.0, k_start_per_mm: 1e-3, k_end_per_mm: 1e-3 });
        pieces.push(Piece { start_mm: 150.0, end_mm: 190.0, k_start_per_mm: 0.0, k_end_per_mm: 0.0 });
        let found = bends(&Curvature::new(pieces).unwrap());
        assert_eq!(found, [(-100.0, false), (100.0, false), (150.0, true), (190.0, false)]);
    }

    #[test]
    fn a_sliver_of_a_table_becomes_a_jump() {
        let table = Curvature::through(&[(0.0, 0.0), (100.0, 0.0), (100.001, 1e-3), (200.0, 1e-3)]).unwrap();
        let without = without_slivers(&table).unwrap();
        assert_eq!(without.pieces().len(), 2);
        assert_eq!((before(&without, 100.0), after(&without, 100.0)), (0.0, 1e-3));
    }

    #[test]
    fn elements_are_short_at_the_fine_places_and_never_too_long() {
        let out = graded(&[0.0, 33.0, 500.0], &[0.0, 500.0]);
        let lengths: Vec<f64> = out.windows(2).map(|w| w[1] - w[0]).collect();
        assert!(lengths.iter().all(|l| *l > 0.5 && *l <= LONGEST_MM), "{lengths:?}");
        assert!(lengths[0] <= FINEST_MM && lengths[lengths.len() - 1] <= 1.5 * FINEST_MM, "{lengths:?}");
        assert!(out.contains(&33.0));
    }
}
