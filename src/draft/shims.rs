//! Shims that correct an existing table, in words, values and a listing.

use std::fmt::Write as _;

use serde_json::{Value, json};

use super::json::figure;
use crate::calibrate::{OutOfReach, Shim, ShimSchedule};
use crate::drawing::{Cell, Listing};
use crate::units::{LengthUnit, MM_PER_INCH, Quantity, decimal, inch_fraction, plain};

/// Below this nothing is done, mm: half of the finest figure that is listed.
pub(super) const NOTHING_MM: f64 = 0.005;

/// What is done at a station.
pub(super) fn doing(shim: &Shim) -> String {
    in_words(shim.needed_mm, &shim.pieces_mm)
}

/// The same for lengths in any unit.
fn in_words(needed: f64, pieces: &[f64]) -> String {
    if needed < -NOTHING_MM {
        return format!("plane off {}", plain(-needed, 3));
    }
    pieces.iter().filter(|p| **p > NOTHING_MM).map(|p| plain(*p, 3)).collect::<Vec<_>>().join(" + ")
}

/// Lines of a summary: label and words.
pub(crate) fn shims_lines(schedule: &ShimSchedule, unit: LengthUnit) -> Vec<(&'static str, String)> {
    let most = schedule.shims.iter().map(|s| s.needed_mm.abs()).fold(0.0, f64::max);
    let error = Quantity::within(schedule.largest_error_mm).text(unit);
    let count = schedule.shims.iter().filter(|s| s.needed_mm < -NOTHING_MM || !s.pieces_mm.is_empty()).count();
    let words = if count == 0 {
        format!("none needed: the table is within {error}")
    } else {
        let most = Quantity::small(most).text(unit);
        format!("up to {most} at {count} of {} stations; they leave an error of {error}", schedule.shims.len())
    };
    let mut lines = vec![("shims", words)];
    if schedule.proposed {
        let sizes: Vec<String> = schedule.thicknesses_mm.iter().map(|t| Quantity::fine(*t).text(unit)).collect();
        lines.push(("made of", format!("common thicknesses: {}; name your own with --shim", sizes.join(", "))));
    }
    lines.extend(remedy(schedule, unit).map(|words| ("watch", words)));
    lines
}

/// What is wrong with the shims that there are, and what would do.
pub(super) fn remedy(schedule: &ShimSchedule, unit: LengthUnit) -> Option<String> {
    let say = |mm: f64| Quantity::fine(mm).text(unit);
    Some(match schedule.out_of_reach? {
        OutOfReach::ThickerThan(mm) => format!(
            "six of these shims are too thin; add a thickness of {} or more, or pack up the table first",
            say(mm)
        ),
        OutOfReach::Between(thin, thick) => {
            format!("six of these shims leave too much; add a thickness between {} and {}", say(thin), say(thick))
        }
        OutOfReach::ThinnerThan(mm) => {
            let bump = match schedule.is_smooth {
                true => format!("these shims leave {}", say(schedule.largest_error_mm)),
                false => {
                    let bump = Quantity::curvature(schedule.kink_per_mm).text(unit);
                    format!("these shims leave a bump of curvature {bump}")
                }
            };
            format!("{bump}; add a thickness of {} or less", say(mm))
        }
    })
}

/// The list of the terminal: what to do at each station.
pub(crate) fn shims_text(schedule: &ShimSchedule, unit: LengthUnit) -> String {
    let (scale, places, name) = match unit {
        LengthUnit::Millimetre => (1.0, (1, 2), "mm"),
        LengthUnit::Inch { .. } => (MM_PER_INCH, (2, 3), "in"),
    };
    let mut out = format!("\n  station  from middle, {name}  add, {name}  made of\n");
    for (i, shim) in schedule.shims.iter().enumerate() {
        let pieces: Vec<f64> = shim.pieces_mm.iter().map(|p| p / scale).collect();
        // Writing to a String cannot fail.
        let _ = writeln!(
            out,
            "  {:>7}  {:>15}  {:>7}  {}",
            i + 1,
            decimal(shim.x_mm / scale, places.0),
            decimal(shim.needed_mm / scale, places.1),
            in_words(shim.needed_mm / scale, &pieces)
        );
    }
    out
}

/// The key `shims` of `calibration.json` and of a schedule's own figures.
pub(crate) fn shims_json(schedule: &ShimSchedule) -> Value {
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
        "thicknesses_mm": schedule.thicknesses_mm.iter().map(|t| figure(*t)).collect::<Vec<_>>(),
        "thicknesses_proposed": schedule.proposed,
        "in_reach": schedule.out_of_reach.is_none(),
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
            Cell::Number(s.needed_mm / MM_PER_INCH, 3),
        ]);
    }
    listing
}
