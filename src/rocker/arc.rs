//! One arc from end to end.

use super::limits;
use crate::codes;
use crate::curve::Curvature;
use crate::finding::{Fault, Faults};
use crate::job::{Bend, Board, LengthAlong};
use crate::numeric::find_root;
use crate::units::{Quantity, phrase};

/// The curvature of a board that is one arc.
///
/// Of a circle of radius R with the chord c, the rise h and the arc length L, turning through a = L/R:
/// c = 2 R sin(a/2), h = R (1 - cos(a/2)), R = c²/(8 h) + h/2, tan(a/4) = 2 h/c (plane trigonometry).
pub(super) fn curvature(bend: Bend, board: &Board) -> Result<Curvature, Faults> {
    let path = format!("rocker.arc{}", limits::key(bend));
    arc(bend, board.length_mm, board.length_along, &path).map_err(Faults::from)
}

fn arc(bend: Bend, given_mm: f64, along: LengthAlong, path: &str) -> Result<Curvature, Fault> {
    limits::check_bend(bend, path)?;
    // A rise over a chord gives the radius.
    let bend = match bend {
        Bend::Rise { rise_mm: 0.0, .. } => Bend::Height(0.0),
        Bend::Rise { rise_mm, chord_mm } => Bend::Radius(1.0 / limits::curvature_of_rise(rise_mm, chord_mm)),
        _ => bend,
    };
    let (k_per_mm, length_mm) = match (bend, along) {
        (Bend::Rise { .. } | Bend::Solved, _) => {
            return Err(Fault::new(
                codes::NOTHING_TO_SOLVE,
                path,
                "the board's one arc has nothing that it could be solved for.",
                "Give its height, radius or angle.",
            ));
        }
        (Bend::Radius(r), LengthAlong::Base) => (1.0 / r, given_mm),
        (Bend::Angle(a), LengthAlong::Base) => (a / given_mm, given_mm),
        (Bend::Height(h), LengthAlong::Base) => (bent_to_rise(h, given_mm, path)?, given_mm),
        (Bend::Radius(r), LengthAlong::Straight) => {
            let half_sine = given_mm / (2.0 * r.abs());
            if half_sine > 1.0 {
                return Err(codes::CHORD_EXCEEDS_CIRCLE.at(
                    path,
                    phrase!(
                        "a circle of radius {} has no two points {} apart.",
                        Quantity::exact(r),
                        Quantity::exact(given_mm)
                    ),
                ));
            }
            (1.0 / r, 2.0 * r.abs() * libm::asin(half_sine))
        }
        (Bend::Angle(a), LengthAlong::Straight) => {
            let half = 0.5 * a.abs();
            // Arc over chord; the series avoids cancellation for small angles.
            let length_mm = given_mm * if half < 1e-4 { 1.0 + half * half / 6.0 } else { half / libm::sin(half) };
            (a / length_mm, length_mm)
        }
        (Bend::Height(h), LengthAlong::Straight) => {
            let quarter = libm::atan(2.0 * h / given_mm);
            let angle = 4.0 * quarter;
            let length_mm = given_mm
                * if quarter.abs() < 1e-4 { 1.0 + angle * angle / 24.0 } else { 0.5 * angle / libm::sin(0.5 * angle) };
            (angle / length_mm, length_mm)
        }
    };
    limits::check_arc(k_per_mm, length_mm, path)?;
    Ok(constant(length_mm, k_per_mm))
}

/// A board of one curvature, its middle at s = 0.
fn constant(length_mm: f64, k_per_mm: f64) -> Curvature {
    Curvature::constant(-0.5 * length_mm, 0.5 * length_mm, k_per_mm).expect("length and curvature were checked")
}

/// Curvature of an arc of the given length whose ends lie `rise_mm` above its middle.
pub(super) fn bent_to_rise(rise_mm: f64, length_mm: f64, path: &str) -> Result<f64, Fault> {
    // Rise over length of an arc that turns through a; 2 sin²(a/4) is 1 - cos(a/2) without cancellation.
    let share = |a: f64| if a == 0.0 { 0.0 } else { 2.0 * libm::sin(0.25 * a).powi(2) / a };
    let wanted = rise_mm / length_mm;
    if wanted.abs() > share(limits::LARGEST_TURN_RAD) {
        let most = length_mm * share(limits::LARGEST_TURN_RAD);
        return Err(limits::out_of_reach(rise_mm, most, length_mm, path));
    }
    let most = limits::LARGEST_TURN_RAD;
    let root = find_root(|a| share(a) - wanted, -most, most, 1e-14);
    root.map(|root| root.x / length_mm).map_err(|_| limits::out_of_reach(rise_mm, 0.0, length_mm, path))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::close::close_abs;
    use crate::curve::PlaneCurve;
    use crate::job::Rocker;
    use crate::rocker::target;

    fn board(length_mm: f64, length_along: LengthAlong) -> Board {
        Board { length_along, overhang_tip_mm: 100.0, overhang_tail_mm: 100.0, ..Board::new(length_mm, 250.0) }
    }

    fn made(bend: Bend, length_mm: f64, along: LengthAlong) -> crate::rocker::Target {
        target(&Rocker::Arc(bend), &board(length_mm, along)).unwrap()
    }

    #[test]
    fn chord_and_rise_give_the_radius_of_the_closed_form() {
        // R = c²/(8 h) + h/2 (plane trigonometry), worked by hand for three pairs.
        for (chord, rise, radius) in [(1000.0, 10.0, 12_505.0), (1400.0, 50.0, 4_925.0), (600.0, 6.0, 7_503.0)] {
            let made = made(Bend::Height(rise), chord, LengthAlong::Straight);
            close_abs(1.0 / made.curvature.at(0.0), radius, 1e-8);
            close_abs(made.tip_height_mm(), rise, 1e-9);
            close_abs(made.tail_height_mm(), rise, 1e-9);
            close_abs(made.report.straight_mm, chord, 1e-9);
        }
    }

    #[test]
    fn a_straightedge_reading_gives_the_radius_of_the_closed_form() {
        for (chord_mm, rise_mm, radius) in [(1000.0, 10.0, 12_505.0), (600.0, 6.0, 7_503.0), (600.0, -6.0, -7_503.0)] {
            for along in [LengthAlong::Base, LengthAlong::Straight] {
                let made = made(Bend::Rise { rise_mm, chord_mm }, 1400.0, along);
                close_abs(1.0 / made.curvature.at(0.0), radius, 1e-8);
            }
        }
    }

    #[test]
    fn rise_and_base_length_agree_with_the_circle() {
        let made = made(Bend::Height(45.0), 1500.0, LengthAlong::Base);
        let r = 1.0 / made.curvature.at(0.0);
        close_abs(r * (1.0 - (750.0 / r).cos()), 45.0, 1e-9);
        close_abs(made.tip_height_mm(), 45.0, 1e-9);
        close_abs(made.curvature.length_mm(), 1500.0, 0.0);
    }

    #[test]
    fn the_same_circle_comes_back_from_every_way_of_saying_it() {
        let (r, angle) = (900.0, 0.8);
        let (base, chord, rise) = (r * angle, 2.0 * r * f64::sin(0.4), r * (1.0 - f64::cos(0.4)));
        for (bend, base_k) in [(Bend::Radius(r), r), (Bend::Angle(angle), r), (Bend::Height(rise), r)] {
            for (length, along) in [(base, LengthAlong::Base), (chord, LengthAlong::Straight)] {
                let made = made(bend, length, along);
                close_abs(1.0 / made.curvature.at(0.0), base_k, 1e-8);
                close_abs(made.curvature.length_mm(), base, 1e-9);
                close_abs(made.report.tip_angle_rad, 0.4, 1e-12);
            }
        }
    }

    #[test]
    fn a_board_that_is_all_camber_stands_on_its_ends() {
        let made = made(Bend::Height(-4.0), 1200.0, LengthAlong::Base);
        close_abs(made.tip_height_mm(), 0.0, 1e-9);
        close_abs(made.tail_height_mm(), 0.0, 1e-9);
        close_abs(made.curve.at(0.0).point.y, 4.0, 1e-9);
    }

    #[test]
    fn no_height_at_all_is_a_straight_board() {
        for along in [LengthAlong::Base, LengthAlong::Straight] {
            let made = made(Bend::Height(0.0), 1200.0, along);
            close_abs(made.curvature.at(300.0), 0.0, 1e-15);
            close_abs(made.report.flat_length_mm, 1200.0, 1e-9);
        }
    }

    #[test]
    fn a_board_that_hardly_turns_turns_by_what_was_asked() {
        // Arc over chord is half the angle over its sine, from below to above where the series stands in for it.
        for angle in [0.0, 1e-9, 1.9e-4, 2.1e-4, 1e-3] {
            let made = made(Bend::Angle(angle), 1000.0, LengthAlong::Straight);
            close_abs(made.curvature.at(0.0) * made.curvature.length_mm(), angle, 1e-15);
            close_abs(made.report.straight_mm, 1000.0, 1e-9);
            close_abs(made.curvature.length_mm(), 1000.0 * (1.0 + angle * angle / 24.0), 1e-9);
        }
        // Arc over chord is 1 + (8/3)(h/c)² to the next order.
        for rise_mm in [0.0, 0.02, 0.04, 0.06] {
            let made = made(Bend::Height(rise_mm), 1000.0, LengthAlong::Straight);
            close_abs(made.curvature.length_mm() - 1000.0, 8.0 / 3.0 * rise_mm * rise_mm / 1000.0, 1e-10);
        }
    }

    #[test]
    fn no_rise_over_a_straightedge_is_a_straight_board() {
        for along in [LengthAlong::Base, LengthAlong::Straight] {
            let made = made(Bend::Rise { rise_mm: 0.0, chord_mm: 600.0 }, 1200.0, along);
            close_abs(made.curvature.at(300.0), 0.0, 1e-15);
            close_abs(made.curvature.length_mm(), 1200.0, 1e-9);
        }
    }

    #[test]
    fn the_most_that_an_arc_can_rise_is_allowed_and_told() {
        // Half a circle of 1000 mm has the radius and the rise 1000/π.
        let most = 1000.0 / std::f64::consts::PI;
        let made = made(Bend::Height(most * (1.0 - 1e-9)), 1000.0, LengthAlong::Base);
        close_abs(made.tip_height_mm(), most, 1e-5);
        let refused = target(&Rocker::Arc(Bend::Height(most + 0.1)), &board(1000.0, LengthAlong::Base)).unwrap_err();
        assert!(refused[0].message().contains("318.31 mm is the most"), "{refused:?}");
    }

    #[test]
    fn what_no_arc_can_do_is_refused_at_its_key() {
        let refused = |bend, along| target(&Rocker::Arc(bend), &board(1000.0, along)).unwrap_err().remove(0);
        let cases = [
            (Bend::Radius(2.0), LengthAlong::Base, "rocker-too-tight", "rocker.arc.radius"),
            (Bend::Radius(0.0), LengthAlong::Base, "rocker-too-tight", "rocker.arc.radius"),
            (Bend::Radius(100.0), LengthAlong::Base, "rocker-turns-too-far", "rocker.arc.radius"),
            (Bend::Radius(400.0), LengthAlong::Straight, "chord-exceeds-circle", "rocker.arc.radius"),
            (Bend::Angle(4.0), LengthAlong::Base, "rocker-turns-too-far", "rocker.arc.angle"),
            (Bend::Height(600.0), LengthAlong::Base, "height-out-of-reach", "rocker.arc.height"),
            (Bend::Height(600.0), LengthAlong::Straight, "rocker-turns-too-far", "rocker.arc.height"),
            (Bend::Rise { rise_mm: 9.0, chord_mm: 10.0 }, LengthAlong::Base, "rise-exceeds-chord", "rocker.arc.rise"),
            (Bend::Solved, LengthAlong::Base, "nothing-to-solve", "rocker.arc"),
            (Bend::Height(f64::NAN), LengthAlong::Base, "bend-not-finite", "rocker.arc.height"),
        ];
        for (bend, along, code, path) in cases {
            let fault = refused(bend, along);
            assert_eq!((fault.code.name, fault.path.as_str()), (code, path), "{bend:?}");
        }
    }
}
