//! Nodes along blank and table.

use crate::curve::Curvature;
use crate::laminate::{Laminate, Section};

use super::{Blank, PressError, Station};

/// Longest element, mm: halving it doubles the work and changes gaps by a quarter of what is left of the error.
const LONGEST_MM: f64 = 10.0;
/// Length of the elements at the blank's ends, where stacks lift off, mm.
const FINEST_MM: f64 = 1.0;
/// How much longer an element may be than its neighbour toward the end.
const GROWTH: f64 = 1.15;
/// How far inside an element its end values are read, as a part of its length, so that a jump at the node is on the
/// right side of it.
const INSIDE: f64 = 1e-7;

/// Nodes with table curvature and sections at both ends of every element.
#[derive(Debug, Clone)]
pub(super) struct Grid {
    pub(super) stations: Vec<Station>,
    pub(super) table_per_mm: Vec<[f64; 2]>,
    pub(super) sections: Vec<[Section; 2]>,
}

impl Grid {
    /// Nodes at every joint of the table's pieces, every break of the stack and the blank's ends, close together toward
    /// these ends.
    pub(super) fn new(table: &Curvature, laminate: &Laminate, blank: Blank) -> Result<Self, PressError> {
        for end in [blank.tail_mm, blank.tip_mm] {
            if !end.is_finite() {
                return Err(PressError::Blank(end));
            }
        }
        let rough = Walk::along(table, laminate, &places(table, table.start_mm(), table.end_mm(), &[]))?;
        let on_table = |blank_mm: f64| rough.table_at(blank_mm).ok_or(PressError::Blank(blank_mm));
        let (tail, tip) = (on_table(blank.tail_mm)?, on_table(blank.tip_mm)?);
        if tip <= tail {
            return Err(PressError::Blank(blank.tip_mm));
        }
        let breaks: Vec<f64> = laminate.breaks_mm().into_iter().filter_map(|s| rough.table_at(s)).collect();
        let walk = Walk::along(table, laminate, &graded(places(table, tail, tip, &breaks)))?;
        Ok(Self { stations: walk.stations, table_per_mm: walk.table_per_mm, sections: walk.sections })
    }
}

/// Joints of the table's pieces and `more` between two places, these included.
fn places(table: &Curvature, from: f64, to: f64, more: &[f64]) -> Vec<f64> {
    let joints = table.pieces().iter().map(|p| p.start_mm).chain([from, 0.0, to]);
    let mut all: Vec<f64> = joints.chain(more.iter().copied()).filter(|s| (from..=to).contains(s)).collect();
    all.sort_by(f64::total_cmp);
    // Places that all but coincide would make elements too short to compute with.
    all.dedup_by(|later, earlier| *later - *earlier < 1e-6);
    if let Some(last) = all.last_mut() {
        *last = to;
    }
    all
}

/// The same places with more in between: short steps at both ends, growing inward up to the longest.
fn graded(places: Vec<f64>) -> Vec<f64> {
    let (first, last) = (places[0], places[places.len() - 1]);
    let mut out = vec![first];
    for w in places.windows(2) {
        let mut at = w[0];
        while at < w[1] {
            let from_end = (at - first).min(last - at).max(0.0);
            let step = (FINEST_MM + (GROWTH - 1.0) * from_end).min(LONGEST_MM);
            // The rest is shared out evenly once it is short, so that no sliver remains.
            let left = ((w[1] - at) / step).ceil().max(1.0);
            at = if left <= 1.0 { w[1] } else { at + (w[1] - at) / left };
            out.push(at);
        }
    }
    out
}

/// Table and blank walked together from the middle outward.
struct Walk {
    stations: Vec<Station>,
    table_per_mm: Vec<[f64; 2]>,
    sections: Vec<[Section; 2]>,
}

impl Walk {
    /// Walks the nodes `table_mm`, of which one must be 0 or the blank begins at the one nearest to it.
    fn along(table: &Curvature, laminate: &Laminate, table_mm: &[f64]) -> Result<Self, PressError> {
        let middle = table_mm.partition_point(|t| *t < 0.0).min(table_mm.len() - 1);
        let mut stations: Vec<Station> =
            table_mm.iter().map(|t| Station { table_mm: *t, blank_mm: table_mm[middle] }).collect();
        let count = table_mm.len() - 1;
        let empty = laminate.section_at(0.0);
        let mut walk =
            Self { stations: Vec::new(), table_per_mm: vec![[0.0; 2]; count], sections: vec![[empty; 2]; count] };
        let order = (middle..count).map(|i| (i, i, i + 1)).chain((0..middle).rev().map(|i| (i, i + 1, i)));
        for (element, near, far) in order {
            let (from, to) = (table_mm[near], table_mm[far]);
            let piece = &table.pieces()[table.index_at(0.5 * (from + to))];
            let (k_near, k_far) = (piece.at(from), piece.at(to));
            let at = stations[near].blank_mm;
            let near_section = laminate.section_at(at + INSIDE * (to - from));
            let stretch = 1.0 - k_near * near_section.neutral_mm;
            let far_section = laminate.section_at(at + (1.0 - INSIDE) * (to - from) * stretch);
            let far_stretch = 1.0 - k_far * far_section.neutral_mm;
            for (stretch, place) in [(stretch, from), (far_stretch, to)] {
                // Beyond this the base would be bent around a point inside the stack.
                if stretch < 0.1 {
                    return Err(PressError::TooTight(place));
                }
            }
            stations[far].blank_mm = at + 0.5 * (stretch + far_stretch) * (to - from);
            let outward = to > from;
            walk.table_per_mm[element] = if outward { [k_near, k_far] } else { [k_far, k_near] };
            walk.sections[element] = if outward { [near_section, far_section] } else { [far_section, near_section] };
        }
        walk.stations = stations;
        Ok(walk)
    }

    /// Place on the table of a place on the blank, where the walk has come by.
    fn table_at(&self, blank_mm: f64) -> Option<f64> {
        let next = self.stations.partition_point(|s| s.blank_mm < blank_mm);
        let b = self.stations.get(next)?;
        if b.blank_mm == blank_mm {
            return Some(b.table_mm);
        }
        let a = &self.stations[next.checked_sub(1)?];
        Some(a.table_mm + (b.table_mm - a.table_mm) * (blank_mm - a.blank_mm) / (b.blank_mm - a.blank_mm))
    }
}
