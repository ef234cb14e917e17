//! Limits of radius and angle beyond which a description must be a mistake.

use std::f64::consts::PI;

use crate::codes;
use crate::finding::Fault;
use crate::job::Bend;
use crate::units::{Quantity, phrase};

/// Smallest accepted radius of a base, mm: tighter than any laminate of skins and core is pressed. Guards against a wrong unit
/// (common practice, no source).
pub(super) const TIGHTEST_RADIUS_MM: f64 = 20.0;

/// Largest angle that one arc or the whole board may turn, rad: a half circle.
pub(super) const LARGEST_TURN_RAD: f64 = PI;

/// Suffix of the key that gives a bend, such as `.radius`; empty for a solved one.
pub(super) fn key(bend: Bend) -> &'static str {
    match bend {
        Bend::Radius(_) => ".radius",
        Bend::Angle(_) => ".angle",
        Bend::Height(_) => ".height",
        Bend::Rise { .. } => ".rise",
        Bend::Solved => "",
    }
}

/// Whether a bend brings the middle up.
pub(super) fn is_camber(bend: Bend) -> bool {
    match bend {
        Bend::Radius(x) | Bend::Angle(x) | Bend::Height(x) | Bend::Rise { rise_mm: x, .. } => x < 0.0,
        Bend::Solved => false,
    }
}

/// Curvature of an arc that rises by `rise_mm` over a chord: R = c²/(8 h) + h/2 (plane trigonometry).
pub(super) fn curvature_of_rise(rise_mm: f64, chord_mm: f64) -> f64 {
    8.0 * rise_mm / (chord_mm * chord_mm + 4.0 * rise_mm * rise_mm)
}

/// Refuses values that are not a bend, before anything is computed from them.
pub(super) fn check_bend(bend: Bend, path: &str) -> Result<(), Fault> {
    let finite = match bend {
        Bend::Radius(x) | Bend::Angle(x) | Bend::Height(x) => x.is_finite(),
        Bend::Rise { rise_mm, chord_mm } => rise_mm.is_finite() && chord_mm.is_finite(),
        Bend::Solved => true,
    };
    if !finite {
        return Err(codes::BEND_NOT_FINITE.at(path, "this is not a finite number."));
    }
    match bend {
        Bend::Radius(r) => check_radius(r, path),
        Bend::Angle(a) => check_turn(a, path),
        // More rise than half the chord is more than a half circle: the other end of the same circle.
        Bend::Rise { rise_mm, chord_mm } if chord_mm <= 0.0 || 2.0 * rise_mm.abs() > chord_mm => {
            Err(codes::RISE_EXCEEDS_CHORD.at(
                path,
                phrase!(
                    "no board rises {} over a chord of {}.",
                    Quantity::exact(rise_mm.abs()),
                    Quantity::exact(chord_mm)
                ),
            ))
        }
        _ => Ok(()),
    }
}

/// Refuses a radius that is too tight.
pub(super) fn check_radius(radius_mm: f64, path: &str) -> Result<(), Fault> {
    if radius_mm.abs() < TIGHTEST_RADIUS_MM { Err(too_tight(radius_mm, path)) } else { Ok(()) }
}

/// Refuses an arc that is too tight or turns too far, once its curvature and length are known.
pub(super) fn check_arc(k_per_mm: f64, length_mm: f64, path: &str) -> Result<(), Fault> {
    if k_per_mm.abs() * TIGHTEST_RADIUS_MM > 1.0 + 1e-9 {
        return Err(too_tight(1.0 / k_per_mm, path));
    }
    check_turn(k_per_mm * length_mm, path)
}

/// Refuses a part that turns too far.
pub(super) fn check_turn(angle_rad: f64, path: &str) -> Result<(), Fault> {
    if angle_rad.abs() > LARGEST_TURN_RAD + 1e-9 { Err(turns_too_far(angle_rad, path)) } else { Ok(()) }
}

fn too_tight(radius_mm: f64, path: &str) -> Fault {
    Fault::new(
        codes::ROCKER_TOO_TIGHT,
        path,
        phrase!("this bends to a radius of {}.", Quantity::exact(radius_mm.abs())),
        phrase!(
            "A board's base is bent to {} at the tightest; is the number in another unit than it seems?",
            Quantity::exact(TIGHTEST_RADIUS_MM)
        ),
    )
}

fn turns_too_far(angle_rad: f64, path: &str) -> Fault {
    codes::ROCKER_TURNS_TOO_FAR.at(path, phrase!("this turns through {}.", Quantity::angle(angle_rad.abs())))
}

/// A height that no arc of the given length reaches.
pub(super) fn out_of_reach(height_mm: f64, most_mm: f64, length_mm: f64, path: &str) -> Fault {
    Fault::new(
        codes::HEIGHT_OUT_OF_REACH,
        path,
        phrase!(
            "an arc of {} cannot gain {} here; {} is the most.",
            Quantity::exact(length_mm),
            Quantity::exact(height_mm),
            Quantity::exact(most_mm)
        ),
        "Give a longer arc or less height.",
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_tightest_radius_and_the_largest_turn_are_allowed_and_what_goes_beyond_is_told() {
        let code = |refused: Result<(), Fault>| refused.map_err(|fault| fault.code.name);
        let (tight, far) = (Err("rocker-too-tight"), Err("rocker-turns-too-far"));
        for side in [1.0, -1.0] {
            let (radius, turn) = (side * TIGHTEST_RADIUS_MM, side * LARGEST_TURN_RAD);
            assert_eq!(code(check_bend(Bend::Radius(radius), "arc")), Ok(()));
            assert_eq!(code(check_bend(Bend::Radius(0.999 * radius), "arc")), tight);
            assert_eq!(code(check_bend(Bend::Angle(turn), "arc")), Ok(()));
            assert_eq!(code(check_bend(Bend::Angle(1.001 * turn), "arc")), far);
            assert_eq!(code(check_arc(1.0 / radius, 10.0, "arc")), Ok(()));
            assert_eq!(code(check_arc(1.001 / radius, 10.0, "arc")), tight);
            assert_eq!(code(check_arc(1e-3, turn / 1e-3, "arc")), Ok(()));
            assert_eq!(code(check_arc(1e-3, 1.001 * turn / 1e-3, "arc")), far);
        }
        // Half as tight again: the message says the radius.
        let refused = check_arc(2.0 / TIGHTEST_RADIUS_MM, 10.0, "arc").unwrap_err();
        let said = crate::units::plain(0.5 * TIGHTEST_RADIUS_MM, 2);
        assert!(refused.message().contains(&format!("{said} mm")), "{refused:?}");
    }
}
