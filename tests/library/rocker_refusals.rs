//! Rockers that no board can have, given by a program instead of a document, are refused at their key.

use overbend::job::{
    Bend, Board, CurvatureTable, Datum, Ends, LengthAlong, Origin, Reading, Readings, Rocker, Segment, SegmentShape,
    Segments, Smoothing, StationsAlong,
};
use overbend::rocker::target;

const LENGTH_MM: f64 = 1200.0;

fn board(length_mm: f64, length_along: LengthAlong) -> Board {
    Board {
        length_mm,
        length_along,
        width_mm: 250.0,
        count: 1,
        gap_mm: Board::USUAL_GAP_MM,
        overhang_tip_mm: 40.0,
        overhang_tail_mm: 40.0,
        outline: None,
        holes: Vec::new(),
    }
}

/// Codes and keys of what is refused.
fn refused(rocker: &Rocker, board: &Board) -> Vec<(&'static str, String)> {
    let faults = target(rocker, board).err().unwrap_or_default();
    for fault in &faults {
        assert!(!fault.message().is_empty() && !fault.remedy().is_empty(), "{fault:?}");
    }
    faults.into_iter().map(|f| (f.code.name, f.path)).collect()
}

fn on_base(rocker: &Rocker) -> Vec<(&'static str, String)> {
    refused(rocker, &board(LENGTH_MM, LengthAlong::Base))
}

fn one(code: &'static str, path: &str) -> Vec<(&'static str, String)> {
    vec![(code, path.to_owned())]
}

const NO_LENGTH: [f64; 4] = [0.0, -5.0, f64::NAN, f64::INFINITY];

#[test]
fn a_board_without_a_length_has_no_rocker() {
    for length_mm in NO_LENGTH {
        let found = refused(&Rocker::Arc(Bend::Height(40.0)), &board(length_mm, LengthAlong::Base));
        assert_eq!(found, one("board-length", "board.length"));
    }
}

#[test]
fn a_bend_that_is_no_number_is_refused() {
    let rise = |rise_mm, chord_mm| Bend::Rise { rise_mm, chord_mm };
    assert_eq!(on_base(&Rocker::Arc(rise(20.0, 600.0))), []);
    for bad in [f64::NAN, f64::INFINITY] {
        for bend in [Bend::Radius(bad), Bend::Angle(bad), Bend::Height(bad), rise(bad, 600.0), rise(20.0, bad)] {
            let found = on_base(&Rocker::Arc(bend));
            assert!(matches!(&found[..], [("bend-not-finite", path)] if path.starts_with("rocker.arc")), "{found:?}");
        }
    }
    for chord_mm in [0.0, -600.0, 30.0] {
        let found = on_base(&Rocker::Arc(rise(20.0, chord_mm)));
        assert!(matches!(found[..], [("rise-exceeds-chord", _)]), "{found:?}");
    }
}

#[test]
fn a_listed_curvature_begins_and_ends_with_its_board_and_goes_on() {
    let listed = |points: &[(f64, f64)], origin, along| {
        let table = CurvatureTable { points: points.to_vec(), origin };
        refused(&Rocker::Curve(table), &board(LENGTH_MM, along))
    };
    let tail = |points: &[(f64, f64)]| listed(points, Origin::Tail, LengthAlong::Base);
    assert_eq!(tail(&[(0.0, 1e-4), (LENGTH_MM, 1e-4)]), []);
    let at = |i: usize| format!("rocker.curve.points[{i}]");
    for bad in [f64::NAN, f64::INFINITY] {
        assert_eq!(tail(&[(0.0, 0.0), (600.0, bad), (LENGTH_MM, 0.0)]), one("curve-not-finite", &at(1)));
        assert_eq!(tail(&[(bad, 0.0), (LENGTH_MM, 0.0)])[0], ("curve-not-finite", at(0)));
    }
    let thrice = tail(&[(0.0, 0.0), (600.0, 0.0), (600.0, 1e-4), (600.0, 2e-4), (LENGTH_MM, 0.0)]);
    assert_eq!(thrice, one("curve-thrice", &at(3)));
    // A list may begin elsewhere only where its board does.
    for points in [[(10.0, 0.0), (LENGTH_MM, 0.0)], [(0.0, 0.0), (LENGTH_MM - 10.0, 0.0)]] {
        assert_eq!(tail(&points).len(), 1);
        assert_eq!(listed(&points, Origin::Middle, LengthAlong::Base).len(), 1);
    }
    let half = 0.5 * LENGTH_MM;
    assert_eq!(listed(&[(-half, 0.0), (half, 0.0)], Origin::Middle, LengthAlong::Base), []);
    assert_eq!(listed(&[(-half, 0.0), (half, 0.0)], Origin::Middle, LengthAlong::Straight), []);
    assert_eq!(listed(&[(0.0, 0.0), (LENGTH_MM, 0.0)], Origin::Middle, LengthAlong::Straight).len(), 1);
    assert_eq!(listed(&[(5.0, 0.0), (LENGTH_MM + 5.0, 0.0)], Origin::Tip, LengthAlong::Straight).len(), 1);
}

#[test]
fn segments_of_no_length_and_ends_of_no_height_are_refused() {
    let flat = |length_mm| Segment { length_mm, shape: SegmentShape::Flat };
    let arc = |length_mm| Segment { length_mm, shape: SegmentShape::Arc(Bend::Solved) };
    let segments = |mirrored, tip_height_mm, tail_height_mm, parts: &[Segment]| {
        on_base(&Rocker::Segments(Segments { parts: parts.to_vec(), mirrored, tip_height_mm, tail_height_mm }))
    };
    let right = [arc(Some(300.0)), flat(None), arc(Some(300.0))];
    assert_eq!(segments(false, Some(30.0), Some(40.0), &right), []);
    for bad in NO_LENGTH {
        let found = segments(false, Some(30.0), Some(40.0), &[arc(Some(300.0)), flat(Some(bad)), arc(None)]);
        assert_eq!(found[0], ("segment-length", "rocker.segments.parts[1].flat.length".to_owned()));
    }
    for bad in [-1.0, f64::NAN, f64::INFINITY] {
        let tip = segments(false, Some(bad), Some(40.0), &right);
        assert_eq!(tip, one("end-height", "rocker.segments.tip_height"));
        let tail = segments(false, Some(30.0), Some(bad), &right);
        assert_eq!(tail, one("end-height", "rocker.segments.tail_height"));
    }
    let mirrored = segments(true, Some(30.0), Some(40.0), &[flat(None), arc(Some(300.0))]);
    assert_eq!(mirrored, one("end-height", "rocker.segments.tail_height"));
}

#[test]
fn readings_that_are_no_numbers_or_too_many_are_refused() {
    let measured = |change: &dyn Fn(&mut Readings)| {
        let along = |i: u32| 50.0 * f64::from(i);
        let reading = |s: f64| Reading { station_mm: s, height_mm: 2500.0 * (1.0 - ((s - 600.0) / 2500.0).cos()) };
        let mut readings = Readings {
            readings: (0..=24).map(|i| reading(along(i))).collect(),
            file: None,
            datum: Datum::Floor,
            along: StationsAlong::Base,
            origin: Origin::Tail,
            error_mm: Some(0.3),
            smoothing: Smoothing::Likelihood,
            excluded: Vec::new(),
        };
        change(&mut readings);
        on_base(&Rocker::Measured { readings, ends: Ends::Free })
    };
    assert_eq!(measured(&|_| ()), []);
    for bad in NO_LENGTH {
        assert_eq!(measured(&|r| r.error_mm = Some(bad)), one("reading-error", "rocker.measured.error"));
    }
    for bad in [f64::NAN, f64::INFINITY] {
        let at = one("reading-not-finite", "rocker.measured.readings[7]");
        assert_eq!(measured(&|r| r.readings[7].station_mm = bad), at);
        assert_eq!(measured(&|r| r.readings[7].height_mm = bad), at);
    }
    let many = measured(&|r| r.readings = vec![r.readings[0]; 2001]);
    assert_eq!(many, one("readings-too-many", "rocker.measured.readings"));
    let excluded = measured(&|r| r.excluded = vec![25]);
    assert_eq!(excluded, one("reading-excluded-unknown", "rocker.measured.exclude"));
}
