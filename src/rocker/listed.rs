//! Curvature listed at stations.

use super::limits;
use crate::codes;
use crate::curve::{Curvature, Curve, Piece, PlaneCurve};
use crate::finding::{Fault, Faults};
use crate::job::{Board, CurvatureTable, LengthAlong, Origin};
use crate::units::{Quantity, phrase};

/// Largest distance of the first and last station from the board's ends along the base, mm: rounding to tenths.
const END_MM: f64 = 0.05;

/// Largest error of the straight length, mm: the resolution of a tape.
const STRAIGHT_MM: f64 = 0.5;

const PATH: &str = "rocker.curve.points";

/// The curvature of a list, linear between its stations.
pub(super) fn curvature(table: &CurvatureTable, board: &Board) -> Result<Curvature, Faults> {
    check(&table.points)?;
    let (first, last) = (table.points[0].0, table.points[table.points.len() - 1].0);
    let length = last - first;
    match board.length_along {
        LengthAlong::Base => {
            let expected = match table.origin {
                Origin::Tail | Origin::Tip => (0.0, board.length_mm),
                Origin::Middle => (-0.5 * board.length_mm, 0.5 * board.length_mm),
            };
            if (first - expected.0).abs() > END_MM || (last - expected.1).abs() > END_MM {
                return Err(ends((first, last), expected).into());
            }
        }
        LengthAlong::Straight => {
            let expected = if table.origin == Origin::Middle { -0.5 * length } else { 0.0 };
            if (first - expected).abs() > END_MM {
                return Err(ends((first, last), (expected, expected + length)).into());
            }
        }
    }
    // Shift stations to the middle of the list; reverse a list counted from the tip.
    let pieces = table.points.windows(2).filter(|w| w[1].0 > w[0].0).map(|w| {
        let place = |s: f64| s - first - 0.5 * length;
        Piece { start_mm: place(w[0].0), end_mm: place(w[1].0), k_start_per_mm: w[0].1, k_end_per_mm: w[1].1 }
    });
    let listed = Curvature::new(pieces.collect()).map_err(|_| {
        Fault::new(codes::CURVE_POINTS, PATH, "these stations make no curve.", "Give stations in growing order.")
    })?;
    let curvature = if table.origin == Origin::Tip { listed.reversed() } else { listed };
    let turned: f64 = curvature.pieces().iter().map(|p| p.turned_to(p.end_mm).abs()).sum();
    limits::check_turn(turned, PATH)?;
    if board.length_along == LengthAlong::Straight {
        let curve = Curve::new(curvature.clone());
        let straight = curve.at(-0.5 * length).point.distance(curve.at(0.5 * length).point);
        if (straight - board.length_mm).abs() > STRAIGHT_MM {
            return Err(codes::CURVE_STRAIGHT_LENGTH
                .at(
                    PATH,
                    phrase!(
                        "the curve is {} straight from tail to tip and the board {}: {} apart.",
                        Quantity::exact(straight),
                        Quantity::exact(board.length_mm),
                        Quantity::exact((straight - board.length_mm).abs())
                    ),
                )
                .into());
        }
    }
    Ok(curvature)
}

fn ends(found: (f64, f64), expected: (f64, f64)) -> Fault {
    codes::CURVE_ENDS.at(
        PATH,
        phrase!(
            "the stations reach from {} to {} and the board from {} to {}.",
            Quantity::exact(found.0),
            Quantity::exact(found.1),
            Quantity::exact(expected.0),
            Quantity::exact(expected.1)
        ),
    )
}

fn check(points: &[(f64, f64)]) -> Result<(), Faults> {
    let path = |i: usize| format!("{PATH}[{i}]");
    if points.len() < 2 {
        return Err(Fault::new(
            codes::CURVE_POINTS,
            PATH,
            format!("there are {} points.", points.len()),
            "Give at least two: one at the tail, one at the tip.",
        )
        .into());
    }
    let mut faults = Faults::default();
    for (i, &(s, k)) in points.iter().enumerate() {
        if !(s.is_finite() && k.is_finite()) {
            faults.push(codes::CURVE_NOT_FINITE.at(path(i), "station and curvature must be finite numbers."));
        } else {
            faults.extend(limits::check_arc(k, 0.0, &path(i)).err());
        }
    }
    for (i, w) in points.windows(2).enumerate() {
        if w[1].0 < w[0].0 {
            faults.push(codes::CURVE_UNSORTED.at(
                path(i + 1),
                phrase!("station {} comes after {}.", Quantity::exact(w[1].0), Quantity::exact(w[0].0)),
            ));
        }
    }
    for (i, w) in points.windows(3).enumerate() {
        if w[0].0 == w[1].0 && w[1].0 == w[2].0 {
            faults.push(
                codes::CURVE_THRICE
                    .at(path(i + 2), phrase!("station {} is listed three times.", Quantity::exact(w[2].0))),
            );
        }
    }
    let n = points.len();
    for (i, j) in [(0, 1), (n - 2, n - 1)] {
        if points[i].0 == points[j].0 {
            faults.push(
                codes::CURVE_JUMP_AT_END.at(
                    path(j),
                    phrase!("station {} at the board's end is listed twice.", Quantity::exact(points[j].0)),
                ),
            );
        }
    }
    faults.or(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::Rocker;
    use crate::rocker::target;

    fn board(length_mm: f64, length_along: LengthAlong) -> Board {
        Board { length_along, overhang_tip_mm: 100.0, overhang_tail_mm: 100.0, ..Board::new(length_mm, 250.0) }
    }

    fn table(points: &[(f64, f64)], origin: Origin) -> Rocker {
        Rocker::Curve(CurvatureTable { points: points.to_vec(), origin })
    }

    #[test]
    fn one_board_listed_from_tail_middle_and_tip_is_one_board() {
        let from_tail = [(0.0, 0.002), (200.0, 0.0), (900.0, 0.0), (900.0, 0.001), (1200.0, 0.0015)];
        let from_middle: Vec<_> = from_tail.iter().map(|&(s, k)| (s - 600.0, k)).collect();
        let from_tip: Vec<_> = from_tail.iter().rev().map(|&(s, k)| (1200.0 - s, k)).collect();
        let made = |points: &[(f64, f64)], origin| {
            target(&table(points, origin), &board(1200.0, LengthAlong::Base)).unwrap().curvature
        };
        let one = made(&from_tail, Origin::Tail);
        assert_eq!(one, made(&from_middle, Origin::Middle));
        assert_eq!(one, made(&from_tip, Origin::Tip));
        assert_eq!((one.at(-600.0), one.at(300.0), one.at(299.9), one.at(600.0)), (0.002, 0.001, 0.0, 0.0015));
    }

    #[test]
    fn the_straight_length_must_come_out() {
        let half_circle_of_chord_1000 = 2.0 * 800.0 * f64::asin(500.0 / 800.0);
        let points = [(0.0, 1.0 / 800.0), (half_circle_of_chord_1000, 1.0 / 800.0)];
        let made = target(&table(&points, Origin::Tail), &board(1000.0, LengthAlong::Straight)).unwrap();
        assert!((made.report.straight_mm - 1000.0).abs() < 1e-9);
        let fault = target(&table(&points, Origin::Tail), &board(1010.0, LengthAlong::Straight)).unwrap_err().remove(0);
        assert_eq!(fault.code.name, "curve-straight-length");
    }

    #[test]
    fn stations_nearer_than_numbers_can_tell_apart_make_no_curve() {
        let points = [(0.0, 0.0), (1e-300, 0.001), (1200.0, 0.001)];
        let fault = target(&table(&points, Origin::Tail), &board(1200.0, LengthAlong::Base)).unwrap_err().remove(0);
        assert_eq!((fault.code.name, fault.path.as_str()), ("curve-points", "rocker.curve.points"));
        assert_eq!(fault.message(), "these stations make no curve.");
    }

    #[test]
    fn mistakes_are_refused_at_their_point() {
        let cases: [(&[(f64, f64)], _, _); 7] = [
            (&[(0.0, 0.0)], "curve-points", "rocker.curve.points"),
            (&[(0.0, 0.0), (1200.0, f64::NAN)], "curve-not-finite", "rocker.curve.points[1]"),
            (&[(0.0, 0.0), (600.0, 0.5), (1200.0, 0.0)], "rocker-too-tight", "rocker.curve.points[1]"),
            (&[(0.0, 0.0), (700.0, 0.0), (600.0, 0.0), (1200.0, 0.0)], "curve-unsorted", "rocker.curve.points[2]"),
            (&[(0.0, 0.0), (1100.0, 0.0)], "curve-ends", "rocker.curve.points"),
            (&[(0.0, 0.0), (0.0, 0.001), (1200.0, 0.0)], "curve-jump-at-end", "rocker.curve.points[1]"),
            (&[(0.0, 0.01), (1200.0, 0.01)], "rocker-turns-too-far", "rocker.curve.points"),
        ];
        for (points, code, path) in cases {
            let fault = target(&table(points, Origin::Tail), &board(1200.0, LengthAlong::Base)).unwrap_err().remove(0);
            assert_eq!((fault.code.name, fault.path.as_str()), (code, path));
        }
    }
}
