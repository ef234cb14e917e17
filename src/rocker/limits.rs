//! How tight and how far a board may bend before its description must be a mistake.

use std::f64::consts::PI;

use crate::finding::Fault;
use crate::job::Bend;
use crate::units::plain;

/// Smallest radius that is taken for a board's base, mm. Tighter than the lip of a scoop, no laminate of skins and core
/// is pressed to it; it guards against a radius given in the wrong unit (common practice, no source).
pub(super) const TIGHTEST_RADIUS_MM: f64 = 20.0;

/// Largest angle that one arc or the whole board may turn, rad: a half circle.
pub(super) const LARGEST_TURN_RAD: f64 = PI;

/// The key under which the document gives a bend.
pub(super) fn key(bend: Bend) -> &'static str {
    match bend {
        Bend::Radius(_) => "radius",
        Bend::Angle(_) => "angle",
        Bend::Height(_) => "height",
    }
}

/// The number of a bend in the library's own unit.
pub(super) fn amount(bend: Bend) -> f64 {
    match bend {
        Bend::Radius(x) | Bend::Angle(x) | Bend::Height(x) => x,
    }
}

/// Refuses numbers that are no bend at all, before anything is computed from them.
pub(super) fn check_bend(bend: Bend, path: &str) -> Result<(), Fault> {
    let number = amount(bend);
    if !number.is_finite() {
        return Err(Fault::new(
            "bend-not-finite",
            path,
            "This is not a finite number.",
            "Give a radius, an angle or a height; for a straight stretch use a flat.",
        ));
    }
    match bend {
        Bend::Radius(r) if r.abs() < TIGHTEST_RADIUS_MM => Err(too_tight(r, path)),
        Bend::Angle(a) if a.abs() > LARGEST_TURN_RAD => Err(turns_too_far(a, path)),
        _ => Ok(()),
    }
}

/// Refuses an arc that is too tight or turns too far, once its curvature and length are known.
pub(super) fn check_arc(k_per_mm: f64, length_mm: f64, path: &str) -> Result<(), Fault> {
    if k_per_mm.abs() * TIGHTEST_RADIUS_MM > 1.0 + 1e-9 {
        return Err(too_tight(1.0 / k_per_mm, path));
    }
    check_turn(k_per_mm * length_mm, path)
}

/// Refuses a stretch that turns too far.
pub(super) fn check_turn(angle_rad: f64, path: &str) -> Result<(), Fault> {
    if angle_rad.abs() > LARGEST_TURN_RAD + 1e-9 { Err(turns_too_far(angle_rad, path)) } else { Ok(()) }
}

fn too_tight(radius_mm: f64, path: &str) -> Fault {
    Fault::new(
        "rocker-too-tight",
        path,
        format!("This bends to a radius of {} mm.", plain(radius_mm.abs(), 2)),
        format!(
            "A board's base is bent to {} mm at the tightest; is the number in another unit than it seems?",
            plain(TIGHTEST_RADIUS_MM, 0)
        ),
    )
}

fn turns_too_far(angle_rad: f64, path: &str) -> Fault {
    Fault::new(
        "rocker-turns-too-far",
        path,
        format!("This turns through {} degrees.", plain(angle_rad.to_degrees().abs(), 1)),
        "A board turns through less than 180 degrees from end to end; use a shorter length or a larger radius.",
    )
}

/// A height that no arc of the given length reaches.
pub(super) fn out_of_reach(height_mm: f64, most_mm: f64, length_mm: f64, path: &str) -> Fault {
    Fault::new(
        "height-out-of-reach",
        path,
        format!(
            "An arc of {} mm cannot gain {} mm here; {} mm is the most.",
            plain(length_mm, 2),
            plain(height_mm, 2),
            plain(most_mm, 1)
        ),
        "Give a longer arc or less height.",
    )
}
