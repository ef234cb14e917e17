//! Ribs across the table, and the spacers that keep them apart.

use crate::codes;
use crate::finding::Fault;
use crate::job::{MOST_RIBS, RibLayout, Ribs, Rods};
use crate::units::{Quantity, phrase};

/// A bay between two ribs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bay {
    /// Number of the rib to its left.
    pub left_rib: usize,
    /// Clear width between the two ribs: the length of its spacers, mm.
    pub spacer_length_mm: f64,
    /// Spacers in the bay, one on each rod.
    pub count: usize,
}

/// Spacers and rods of the table; empty by default.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Spacers {
    /// Bays from left to right.
    pub bays: Vec<Bay>,
    /// Number of rods.
    pub rod_count: usize,
    /// Length of each rod, nuts and washers included, mm.
    pub rod_length_mm: f64,
    /// Nominal diameter of the rods, mm.
    pub rod_diameter_mm: f64,
}

/// Where the ribs' middle planes stand: outer faces flush with the table's edges, the rest evenly between.
/// `clear_mm` is the widest clear distance that the checks allow, for ribs that are spread by them.
pub(super) fn positions(ribs: &Ribs, width_mm: f64, clear_mm: f64) -> Result<Vec<f64>, Fault> {
    let t = ribs.thickness_mm;
    let at_pitch = |p: f64| ((width_mm - t) / p - 1e-9).ceil().max(1.0) as usize + 1;
    let (count, path) = match ribs.layout {
        RibLayout::Count(n) => (n, "table.ribs.count"),
        RibLayout::Pitch(p) => (at_pitch(p), "table.ribs.pitch"),
        RibLayout::FromChecks => (at_pitch(clear_mm + t), "table.ribs"),
    };
    if count > MOST_RIBS {
        return Err(Fault::new(
            codes::TOO_MANY,
            path,
            format!("the table would have {count} ribs."),
            format!("At most {MOST_RIBS}: use a larger pitch."),
        ));
    }
    if count as f64 * t > width_mm {
        return Err(codes::RIBS_TOO_WIDE.at(
            path,
            phrase!(
                "{} ribs of {} are wider than the table ({}).",
                count,
                Quantity::exact(t),
                Quantity::exact(width_mm)
            ),
        ));
    }
    let reach = 0.5 * (width_mm - t);
    Ok((0..count).map(|i| -reach + 2.0 * reach * i as f64 / (count - 1) as f64).collect())
}

/// The spacer schedule.
pub(super) fn spacers(
    positions: &[f64],
    thickness_mm: f64,
    width_mm: f64,
    rods: Option<&Rods>,
    rod_count: usize,
) -> Spacers {
    let bays = positions
        .windows(2)
        .enumerate()
        .map(|(i, p)| Bay { left_rib: i + 1, spacer_length_mm: p[1] - p[0] - thickness_mm, count: rod_count })
        .collect::<Vec<Bay>>();
    debug_assert!(
        (bays.iter().map(|b| b.spacer_length_mm + thickness_mm).sum::<f64>() + thickness_mm - width_mm).abs()
            < 1e-6 * width_mm.max(1.0),
        "ribs and spacers do not add up to {width_mm} mm: {bays:?}"
    );
    let (allowance, rod_diameter_mm) = rods.map_or((0.0, 0.0), |r| (r.nut_allowance_mm, r.diameter_mm));
    Spacers {
        bays: if rods.is_some() { bays } else { Vec::new() },
        rod_count,
        rod_length_mm: if rods.is_some() { width_mm + 2.0 * allowance } else { 0.0 },
        rod_diameter_mm,
    }
}

/// Evenly spread places between two ends, the outer ones at `outer` of the half length.
pub(super) fn spread(count: usize, tail: f64, tip: f64, outer: f64) -> Vec<f64> {
    let (middle, half) = (0.5 * (tail + tip), 0.5 * outer * (tip - tail));
    if count == 1 {
        return vec![middle];
    }
    (0..count).map(|i| middle + half * (2.0 * i as f64 / (count - 1) as f64 - 1.0)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn stock(layout: RibLayout) -> Ribs {
        Ribs { layout, thickness_mm: 18.0, lowest_height_mm: 60.0, stock_length_mm: None, stock_width_mm: None }
    }

    #[test]
    fn ribs_and_spacers_add_up_to_the_width() {
        let places = positions(&stock(RibLayout::Count(6)), 520.0, 90.0).unwrap();
        let rods = Rods {
            diameter_mm: 10.0,
            hole_mm: 11.0,
            stations_mm: vec![],
            count: 3,
            height_mm: None,
            nut_allowance_mm: 20.0,
        };
        let schedule = spacers(&places, 18.0, 520.0, Some(&rods), 3);
        let sum: f64 = schedule.bays.iter().map(|b| b.spacer_length_mm).sum::<f64>() + 6.0 * 18.0;
        assert!((sum - 520.0).abs() < 1e-9);
        assert_eq!(schedule.rod_length_mm, 560.0);
        assert_eq!(schedule.bays[0].count, 3);
    }

    #[test]
    fn a_pitch_is_never_exceeded_and_not_wasted() {
        let places = positions(&stock(RibLayout::Pitch(100.0)), 518.0, 90.0).unwrap();
        assert_eq!(places.len(), 6);
        assert!((places[1] - places[0] - 100.0).abs() < 1e-9);
        let places = positions(&stock(RibLayout::Pitch(100.0)), 519.0, 90.0).unwrap();
        assert_eq!(places.len(), 7);
    }

    #[test]
    fn ribs_spread_by_the_checks_leave_at_most_their_clear_distance() {
        let places = positions(&stock(RibLayout::FromChecks), 520.0, 90.0).unwrap();
        assert_eq!(places.len(), 6);
        assert!(places[1] - places[0] - 18.0 <= 90.0);
    }

    #[test]
    fn more_ribs_than_width_are_refused() {
        assert_eq!(positions(&stock(RibLayout::Count(30)), 520.0, 90.0).unwrap_err().code.name, "ribs-too-wide");
    }
}
