//! Curvature from a list of flats, arcs, cambers and easings.

mod check;
mod layout;
mod part;
mod solve;

use std::f64::consts::FRAC_PI_2;

use crate::codes;
use crate::curve::{Curvature, Curve, PlaneCurve};
use crate::finding::{Fault, Faults};
use crate::job::{Board, LengthAlong, Segments};
use crate::numeric::find_root;
use crate::units::{Quantity, phrase};
use part::{Laid, Part, part};
use solve::{Wanted, bend};

/// Largest difference between the sum of lengths and the board's length along the base, mm: rounding to tenths.
const BASE_SUM_MM: f64 = 0.05;

/// How far the straight length of the segments may miss the board's, mm. It cannot be stated exactly, as it follows
/// from the bends; half a millimetre is what a tape shows.
const STRAIGHT_SUM_MM: f64 = 0.5;

/// The curvature of the segments on a board of the given length.
///
/// # Errors
/// Every fault of the list; for a sound list, lengths or heights that cannot be met.
pub(super) fn lay(segments: &Segments, board: &Board) -> Result<Laid, Faults> {
    check::segments(segments)?;
    let parts = in_order(segments);
    let wanted = Wanted { tip_mm: segments.tip_height_mm, tail_mm: segments.tail_height_mm };
    let stated: f64 = parts.iter().filter_map(|p| p.length_mm).sum();
    let open = parts.iter().filter(|p| p.length_mm.is_none()).count();
    match (board.length_along, open) {
        (LengthAlong::Base, 0) => {
            if (stated - board.length_mm).abs() > BASE_SUM_MM {
                return Err(sum_fault("along the base", stated, board.length_mm).into());
            }
            bend(&parts, 0.0, wanted)
        }
        (LengthAlong::Base, _) => {
            let rest = (board.length_mm - stated) / open as f64;
            if rest <= 0.0 {
                return Err(sum_fault("along the base", stated, board.length_mm).into());
            }
            bend(&parts, rest, wanted)
        }
        (LengthAlong::Straight, 0) => {
            let laid = bend(&parts, 0.0, wanted)?;
            let straight = straight_mm(&laid.curvature);
            if (straight - board.length_mm).abs() > STRAIGHT_SUM_MM {
                return Err(sum_fault("straight from tail to tip", straight, board.length_mm).into());
            }
            Ok(laid)
        }
        (LengthAlong::Straight, _) => bend_open_straight(&parts, board.length_mm, stated, open, wanted),
    }
}

/// Solves for the open length that gives the stated straight length from tail to tip.
fn bend_open_straight(
    parts: &[Part],
    length_mm: f64,
    stated_mm: f64,
    open: usize,
    wanted: Wanted,
) -> Result<Laid, Faults> {
    // A half circle is the most that a board turns, and its base is pi/2 times its chord.
    let longest = (FRAC_PI_2 * length_mm - stated_mm) / open as f64;
    let shortest = 1e-6 * length_mm;
    if longest <= shortest {
        return Err(sum_fault("along the base", stated_mm, length_mm).into());
    }
    let mut faults = Faults::default();
    // A rest that cannot be bent is too long where it turns too far, and else too short for its height or its turn.
    let root = find_root(
        |rest| match bend(parts, rest, wanted) {
            Ok(laid) => straight_mm(&laid.curvature) - length_mm,
            Err(found) => {
                let too_long = found.iter().all(|fault| fault.code == "rocker-turns-too-far");
                faults = found;
                if too_long { length_mm } else { -length_mm }
            }
        },
        shortest,
        longest,
        1e-10,
    );
    match root {
        // The sign changes between what is too short and what cannot be bent, too: that is no root.
        Ok(root) if root.residual.abs() < STRAIGHT_SUM_MM => bend(parts, root.x, wanted),
        _ if !faults.is_empty() => Err(faults),
        _ => {
            let least = bend(parts, shortest, wanted).map_or(stated_mm, |laid| straight_mm(&laid.curvature));
            Err(sum_fault("straight from tail to tip", least, length_mm).into())
        }
    }
}

fn straight_mm(curvature: &Curvature) -> f64 {
    let curve = Curve::new(curvature.clone());
    let (from, to) = curve.range_mm();
    curve.at(from).point.distance(curve.at(to).point)
}

fn sum_fault(along: &str, sum_mm: f64, board_mm: f64) -> Fault {
    let difference = sum_mm - board_mm;
    codes::SEGMENTS_SUM.at(
        "rocker.segments.parts",
        phrase!(
            "the parts come to {} {} and the board is {} long: {} too {}.",
            Quantity::exact(sum_mm),
            along,
            Quantity::exact(board_mm),
            Quantity::exact(difference.abs()),
            if difference > 0.0 { "much" } else { "little" }
        ),
    )
}

/// The parts from tail to tip, a mirrored list written out.
fn in_order(segments: &Segments) -> Vec<Part> {
    let given = segments.parts.iter().enumerate().map(|(i, s)| part(i, s));
    if segments.mirrored {
        let tail = given.clone().skip(1).rev().map(Part::turned);
        tail.chain(given).collect()
    } else {
        given.collect()
    }
}

#[cfg(test)]
mod tests;
