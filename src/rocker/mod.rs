//! The wanted rocker, however it is described, as one target curve.

mod arc;
mod drawn;
mod limits;
mod listed;
pub mod measured;
mod outline;
mod report;
mod rest;
mod segments;
mod wanted;

pub use outline::{Outline, Sidecut, outline};
pub use report::{Extremum, Report};
pub use wanted::Target;

use crate::codes;
use crate::curve::Curvature;
use crate::finding::Faults;
use crate::job::{Board, Ends, Readings, Rocker};
use crate::units::{Quantity, phrase};
use wanted::FAIR_EXTREMA;

/// The target curve of a board.
///
/// ```
/// use overbend::document::{Document, Starter};
///
/// let job = Document::parse("board", Starter::find("twin-tip").unwrap().text).unwrap().job().unwrap();
/// let target = overbend::rocker::target(&job.rocker, &job.board).unwrap();
/// assert!((target.tip_height_mm() - 50.0).abs() < 1e-6, "as high as the starter asks for");
/// ```
///
/// # Errors
/// Every fault of the description, with the path of its key.
pub fn target(rocker: &Rocker, board: &Board) -> Result<Target, Faults> {
    if !(board.length_mm > 0.0 && board.length_mm.is_finite()) {
        return Err(codes::BOARD_LENGTH
            .at("board.length", phrase!("a board of {} has no rocker.", Quantity::exact(board.length_mm)))
            .into());
    }
    match rocker {
        Rocker::Arc(bend) => {
            let curvature = arc::curvature(*bend, board)?;
            Ok(Target::new(curvature, 0.0, 0))
        }
        Rocker::Segments(segments) => {
            let laid = segments::lay(segments, board)?;
            let asked = report::extrema(&laid.curvature).len();
            Ok(Target::new(laid.curvature, laid.anchor_mm, asked))
        }
        Rocker::Curve(table) => {
            let curvature = listed::curvature(table, board)?;
            let anchor_mm = resting_place(&curvature);
            Ok(Target::new(curvature, anchor_mm, FAIR_EXTREMA))
        }
        Rocker::Measured { readings, ends } => measured_target(readings, *ends, board),
        Rocker::Drawing(profile) => {
            let curvature = drawn::curvature(profile, board)?;
            let anchor_mm = resting_place(&curvature);
            Ok(Target::new(curvature, anchor_mm, FAIR_EXTREMA))
        }
    }
}

/// The target of a board that was read.
///
/// # Errors
/// As [`fit`].
fn measured_target(readings: &Readings, ends: Ends, board: &Board) -> Result<Target, Faults> {
    let options = measured::FitOptions {
        length_mm: board.length_mm,
        length_along: board.length_along,
        ends,
        path: "rocker.measured.readings".to_owned(),
    };
    Ok(Target::of_fit(measured::fit(readings, &options)?))
}

/// Anchor of a board given by its curvature alone: the middle of the longest flat that can carry it, else s = 0.
fn resting_place(curvature: &Curvature) -> f64 {
    let ends = (curvature.start_mm(), curvature.end_mm());
    rest::longest_carrying(report::flats(curvature), ends).map_or(0.0, |(a, b)| 0.5 * (a + b))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::curve::{Curve, Piece, PlaneCurve, Pose};
    use crate::finding::Verdict;
    use kurbo::Vec2;

    /// A board of one radius, 1000 mm long.
    fn bent(k_per_mm: f64) -> Target {
        Target::new(Curvature::constant(-500.0, 500.0, k_per_mm).unwrap(), 0.0, 0)
    }

    #[test]
    fn a_rise_that_no_board_has_is_told_with_the_limit_that_it_breaks() {
        // An arc that turns through a rises by tan(a/4)/2 of its chord; 1/8 of k L where it hardly turns.
        let usual = |k: f64| bent(k).findings().is_empty();
        assert!(usual(0.0) && usual(7e-9) && usual(3.3e-5) && usual(-1.7e-5) && usual(2e-3));
        for (k, value, limit) in
            [(3.1e-5, 0.3875, 0.4), (1.2e-5, 0.15, 0.4), (-1.2e-5, 0.15, 0.2), (1e-7, 0.001_25, 0.4)]
        {
            let found = bent(k).findings();
            assert_eq!(found.len(), 1, "{k}");
            assert_eq!((found[0].code.name, found[0].verdict), ("rocker-unusual", Verdict::Watch));
            let (shown, bound, _) = found[0].si().unwrap();
            assert!((shown - value).abs() < 1e-3 * value && (bound - limit).abs() < 1e-9, "{:?}", found[0]);
        }
        // (1 - cos(1.5))/3 of its length.
        let found = bent(3e-3).findings().remove(0);
        let (value, limit, _) = found.si().unwrap();
        assert!((value - 100.0 * (1.0 - 1.5_f64.cos()) / 3.0).abs() < 1e-6 && limit == 25.0, "{found:?}");
    }

    #[test]
    fn turns_of_the_curvature_that_nobody_asked_for_are_told_with_their_places() {
        let waves = [(-500.0, 0.0), (-300.0, 1e-3), (0.0, 1e-4), (250.0, 1e-3), (500.0, 0.0)];
        let target = |asked| Target::new(Curvature::through(&waves).unwrap(), 0.0, asked);
        assert!(target(3).findings().is_empty() && target(4).findings().is_empty());
        for asked in [0, 1, 2] {
            let found = target(asked).findings().remove(0);
            assert_eq!((found.code.name, found.si().unwrap()), ("curvature-bumps", (3.0, asked as f64, "")));
        }
        let found = target(1).findings().remove(0);
        let subject = found.subject.text(Default::default());
        assert!(subject.contains("at -300 mm, 0 mm, 250 mm"), "{subject}");
    }

    #[test]
    fn what_stands_somewhere_is_brought_down_to_its_lowest_place_and_keeps_its_tilt() {
        let curve = Curve::new(Curvature::constant(-500.0, 500.0, 1e-3).unwrap());
        let tilted = curve.posed(Pose { turn_rad: 0.1, shift: Vec2::new(30.0, 70.0) });
        let standing = Target::standing(tilted, 0.0, 0);
        // A circle of 1000 mm turned by 0.1 rad is lowest 100 mm toward the tail; its ends are at 0.6 and -0.4 rad there.
        let rise = |a: f64| 1000.0 * (1.0 - a.cos());
        assert!((standing.tip_height_mm() - rise(0.6)).abs() < 1e-6, "{}", standing.tip_height_mm());
        assert!((standing.tail_height_mm() - rise(0.4)).abs() < 1e-6, "{}", standing.tail_height_mm());
        assert!(standing.curve.at(0.0).point.x.abs() < 1e-9);
    }

    #[test]
    fn a_board_of_which_only_the_curvature_is_known_rests_in_the_middle_of_its_flat() {
        let flat = |from: f64, to: f64| {
            let piece = |start_mm, end_mm, k| Piece { start_mm, end_mm, k_start_per_mm: k, k_end_per_mm: k };
            let pieces = vec![piece(-500.0, from, 1e-3), piece(from, to, 0.0), piece(to, 500.0, 1e-3)];
            resting_place(&Curvature::new(pieces).unwrap())
        };
        assert_eq!(flat(100.0, 300.0), 200.0);
        assert_eq!(flat(-350.0, 50.0), -150.0);
        assert_eq!(resting_place(&Curvature::constant(-500.0, 500.0, 1e-3).unwrap()), 0.0);
    }
}
