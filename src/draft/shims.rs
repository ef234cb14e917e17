//! What turns the table that is there into the one that is wanted, in words, figures and a listing.

use serde_json::{Value, json};

use super::result::figure;
use crate::calibrate::{Shim, ShimSchedule};
use crate::drawing::{Cell, Listing};
use crate::units::{LengthUnit, Quantity, inch_fraction, plain};

/// Below this nothing is done, mm: half of the finest figure that is listed.
pub(super) const NOTHING_MM: f64 = 0.005;

/// What is done at a station.
pub(super) fn doing(shim: &Shim) -> String {
    if shim.needed_mm < -NOTHING_MM {
        return format!("plane off {}", plain(-shim.needed_mm, 2));
    }
    shim.pieces_mm.iter().filter(|p| **p > NOTHING_MM).map(|p| plain(*p, 3)).collect::<Vec<_>>().join(" + ")
}

/// Lines of a summary: label and words.
pub fn shims_lines(schedule: &ShimSchedule, unit: LengthUnit) -> Vec<(&'static str, String)> {
    let most = schedule.shims.iter().map(|s| s.needed_mm.abs()).fold(0.0, f64::max);
    let mut lines = vec![(
        "shims",
        format!(
            "up to {} at {} stations; within {} of the table that is wanted now",
            Quantity::small(most).text(unit),
            schedule.shims.len(),
            Quantity::small(schedule.largest_error_mm).text(unit)
        ),
    )];
    if !schedule.is_smooth {
        let bump = Quantity::curvature(schedule.kink_per_mm).text(unit);
        lines.push(("watch", format!("these shims leave a bump of curvature {bump}; add thinner ones")));
    }
    lines
}

/// The key `shims` of `calibration.json` and of a schedule's own figures.
pub fn shims_json(schedule: &ShimSchedule) -> Value {
    let shims = schedule.shims.iter().map(|s| {
        json!({
            "at_mm": figure(s.x_mm),
            "needed_mm": figure(s.needed_mm),
            "pieces_mm": s.pieces_mm.iter().map(|p| figure(*p)).collect::<Vec<_>>(),
            "error_mm": figure(s.error_mm),
            "order": s.order,
        })
    });
    json!({
        "largest_error_mm": figure(schedule.largest_error_mm),
        "largest_kink_per_m": figure(1e3 * schedule.kink_per_mm),
        "kink_limit_per_m": figure(1e3 * schedule.most_kink_per_mm),
        "smooth": schedule.is_smooth,
        "stations": shims.collect::<Vec<_>>(),
    })
}

/// What to add to the table, or to plane off, station by station.
pub fn shims(schedule: &ShimSchedule, denominator: u32) -> Listing {
    let columns =
        ["station", "at_mm", "built_mm", "wanted_mm", "add_mm", "made_of_mm", "error_mm", "order", "at_in", "add_in"];
    let mut listing = Listing::new("Shims", &columns);
    for (i, s) in schedule.shims.iter().enumerate() {
        listing.rows.push(vec![
            Cell::count(i + 1),
            Cell::Number(s.x_mm, 1),
            Cell::Number(s.built_mm, 2),
            Cell::Number(s.wanted_mm, 2),
            Cell::Number(s.needed_mm, 2),
            Cell::text(doing(s)),
            Cell::Number(s.error_mm, 2),
            Cell::count(s.order),
            Cell::Figure(inch_fraction(s.x_mm, denominator)),
            Cell::Figure(inch_fraction(s.needed_mm, denominator)),
        ]);
    }
    listing
}
