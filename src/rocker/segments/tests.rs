use super::*;
use crate::close::close_abs;
use crate::job::Rocker;
use crate::job::{Bend, Segment, SegmentShape};
use crate::rocker::{Target, target};

fn board(length_mm: f64, length_along: LengthAlong) -> Board {
    Board { length_along, overhang_tip_mm: 100.0, overhang_tail_mm: 100.0, ..Board::new(length_mm, 250.0) }
}

fn flat(length_mm: f64) -> Segment {
    Segment { length_mm: Some(length_mm), shape: SegmentShape::Flat }
}

fn arc(length_mm: f64, bend: Bend) -> Segment {
    Segment { length_mm: Some(length_mm), shape: SegmentShape::Arc(bend) }
}

fn easing(length_mm: f64) -> Segment {
    Segment { length_mm: Some(length_mm), shape: SegmentShape::Easing { from_radius_mm: None, to_radius_mm: None } }
}

fn open(shape: SegmentShape) -> Segment {
    Segment { length_mm: None, shape }
}

fn rocker(parts: Vec<Segment>) -> Rocker {
    Rocker::Segments(Segments { parts, mirrored: false, tip_height_mm: None, tail_height_mm: None })
}

fn mirrored(parts: Vec<Segment>) -> Rocker {
    Rocker::Segments(Segments { parts, mirrored: true, tip_height_mm: None, tail_height_mm: None })
}

fn made(rocker: Rocker, length_mm: f64) -> Target {
    target(&rocker, &board(length_mm, LengthAlong::Base)).unwrap()
}

#[track_caller]
fn refused(rocker: Rocker, length_mm: f64) -> Fault {
    let mut faults = target(&rocker, &board(length_mm, LengthAlong::Base)).unwrap_err();
    assert_eq!(faults.len(), 1, "{faults:?}");
    faults.remove(0)
}

#[test]
fn flat_middle_and_kicked_ends_follow_the_circle() {
    // Closed form: an arc that leaves a flat gains R (1 - cos(l/R)).
    let made =
        made(rocker(vec![arc(200.0, Bend::Radius(700.0)), flat(900.0), arc(250.0, Bend::Radius(900.0))]), 1350.0);
    close_abs(made.tail_height_mm(), 700.0 * (1.0 - f64::cos(200.0 / 700.0)), 1e-9);
    close_abs(made.tip_height_mm(), 900.0 * (1.0 - f64::cos(250.0 / 900.0)), 1e-9);
    close_abs(made.report.tip_angle_rad, 250.0 / 900.0, 1e-12);
    close_abs(made.report.tail_angle_rad, 200.0 / 700.0, 1e-12);
    close_abs(made.report.flat_length_mm, 900.0, 1e-9);
    close_abs(made.anchor_mm, -475.0 + 450.0, 1e-9);
    assert_eq!(made.report.contact_mm, (-475.0, 425.0));
    assert_eq!(made.report.tightest.unwrap().s_mm, -675.0);
    assert_eq!(made.report.bumps, 0);
}

#[test]
fn radius_angle_and_height_say_the_same_arc() {
    let radius = 900.0;
    let (angle, height) = (250.0 / radius, radius * (1.0 - f64::cos(250.0 / radius)));
    for bend in [Bend::Radius(radius), Bend::Angle(angle), Bend::Height(height)] {
        let made = made(rocker(vec![flat(900.0), arc(250.0, bend)]), 1150.0);
        close_abs(made.tip_height_mm(), height, 1e-9);
        close_abs(1.0 / made.curvature.at(570.0), radius, 1e-7);
    }
}

#[test]
fn heights_gained_one_behind_the_other_add_up_to_the_tip() {
    let parts = vec![flat(400.0), arc(200.0, Bend::Height(9.0)), easing(60.0), arc(150.0, Bend::Height(30.0))];
    let made = made(mirrored(parts), 1220.0);
    let at = |s: f64| made.curve.at(s).point.y;
    close_abs(at(400.0) - at(200.0), 9.0, 1e-9);
    close_abs(at(610.0) - at(460.0), 30.0, 1e-9);
    close_abs(made.tip_height_mm(), made.tail_height_mm(), 1e-9);
}

#[test]
fn an_easing_is_a_clothoid() {
    // Fresnel integrals C(1) = 0.7798934, S(1) = 0.4382591 (Abramowitz and Stegun, Table 7.7): curvature that grows
    // from none to pi/l over the length l ends at (C(1) l, S(1) l) and at a right angle.
    let k = std::f64::consts::PI / 500.0;
    let made = made(rocker(vec![flat(900.0), easing(500.0), arc(1.0, Bend::Radius(1.0 / k))]), 1401.0);
    let (joint, end) = (made.curve.at(200.0 - 0.5).point, made.curve.at(700.0 - 0.5));
    close_abs(end.point.x - joint.x, 500.0 * 0.779_893_4, 5e-5);
    close_abs(end.point.y - joint.y, 500.0 * 0.438_259_1, 5e-5);
    close_abs(end.angle_rad, FRAC_PI_2, 1e-12);
}

#[test]
fn a_cambered_board_stands_on_two_points_and_its_tips_reach_their_heights() {
    let parts = vec![
        arc(180.0, Bend::Height(25.0)),
        easing(60.0),
        arc(900.0, Bend::Height(-5.0)),
        easing(60.0),
        arc(220.0, Bend::Height(45.0)),
    ];
    let made = made(rocker(parts), 1420.0);
    let (tail, tip) = made.report.contact_mm;
    let at = |s: f64| made.curve.at(s).point.y;
    close_abs(at(tail), 0.0, 1e-9);
    close_abs(at(tip), 0.0, 1e-9);
    close_abs(at(710.0) - at(490.0), 45.0, 1e-9);
    close_abs(at(-710.0) - at(-530.0), 25.0, 1e-9);
    // The camber by itself: sagitta of its arc over the chord of its ends.
    let (a, b, middle) = (made.curve.at(-470.0).point, made.curve.at(430.0).point, made.curve.at(-20.0).point);
    close_abs(middle.distance(a.midpoint(b)), 5.0, 1e-9);
    assert_eq!(made.report.inflections_mm.len(), 2);
    assert_eq!(made.report.bumps, 0);
}

#[test]
fn an_open_part_takes_the_rest() {
    let parts = vec![open(SegmentShape::Flat), arc(200.0, Bend::Radius(800.0))];
    let made = made(mirrored(parts), 1300.0);
    close_abs(made.report.flat_length_mm, 900.0, 1e-9);
    let parts = vec![flat(900.0), open(SegmentShape::Arc(Bend::Height(30.0)))];
    let made = self::made(mirrored(parts), 1300.0);
    close_abs(made.tip_height_mm(), 30.0, 1e-9);
    close_abs(made.curvature.length_mm(), 1300.0, 1e-9);
}

#[test]
fn an_open_part_makes_the_straight_length() {
    let parts = vec![arc(200.0, Bend::Radius(400.0)), open(SegmentShape::Flat), arc(300.0, Bend::Height(60.0))];
    let made = target(&rocker(parts), &board(1400.0, LengthAlong::Straight)).unwrap();
    close_abs(made.report.straight_mm, 1400.0, 1e-8);
    assert!(made.curvature.length_mm() > 1405.0);
    close_abs(made.tip_height_mm(), 60.0, 1e-9);
}

#[test]
fn closed_parts_must_come_to_the_straight_length() {
    let parts = vec![arc(200.0, Bend::Radius(400.0)), flat(900.0), arc(200.0, Bend::Radius(400.0))];
    let along = |length| target(&rocker(parts.clone()), &board(length, LengthAlong::Straight));
    // Closed form: 900 + 2 R sin(l/R) between the ends.
    let straight = 900.0 + 800.0 * f64::sin(0.5);
    assert!(along(straight).is_ok());
    let fault = along(1300.0).unwrap_err().remove(0);
    assert_eq!(
        fault.message(),
        "the parts come to 1283.54 mm straight from tail to tip and the board is 1300 mm long: 16.46 mm too little."
    );
}

#[test]
fn mirrored_and_written_out_are_the_same_board() {
    let ends = |height| arc(150.0, Bend::Height(height));
    let short = made(mirrored(vec![flat(800.0), easing(100.0), ends(20.0)]), 1300.0);
    let long = made(rocker(vec![ends(20.0), easing(100.0), flat(800.0), easing(100.0), ends(20.0)]), 1300.0);
    assert_eq!(short, long);
    let flipped = short.curvature.reversed();
    for s in [-640.0, -450.0, 0.0, 430.0, 600.0] {
        close_abs(flipped.at(s), short.curvature.at(s), 1e-15);
    }
}

#[test]
fn lengths_that_do_not_add_up_show_sum_board_and_difference() {
    let fault = refused(rocker(vec![flat(900.0), arc(200.0, Bend::Radius(800.0))]), 1120.5);
    assert_eq!(fault.path, "rocker.segments.parts");
    assert_eq!(
        fault.message(),
        "the parts come to 1100 mm along the base and the board is 1120.5 mm long: 20.5 mm too little."
    );
    let fault = refused(mirrored(vec![open(SegmentShape::Flat), arc(700.0, Bend::Radius(2000.0))]), 1300.0);
    assert_eq!(fault.code.name, "segments-sum");
}

#[test]
fn mistakes_are_refused_at_their_key() {
    let r = |radius| Bend::Radius(radius);
    let cases = [
        (rocker(vec![]), "segments-none", "rocker.segments.parts"),
        (rocker(vec![flat(-3.0)]), "segment-length", "rocker.segments.parts[0].flat.length"),
        (rocker(vec![flat(f64::NAN)]), "segment-length", "rocker.segments.parts[0].flat.length"),
        (rocker(vec![flat(900.0), arc(100.0, r(3.0))]), "rocker-too-tight", "rocker.segments.parts[1].arc.radius"),
        (rocker(vec![arc(1000.0, r(-100.0))]), "rocker-turns-too-far", "rocker.segments.parts[0].camber.radius"),
        (
            rocker(vec![flat(900.0), arc(100.0, Bend::Height(90.0))]),
            "height-out-of-reach",
            "rocker.segments.parts[1].arc.height",
        ),
        (
            rocker(vec![flat(500.0), easing(200.0), easing(300.0)]),
            "easing-neighbours",
            "rocker.segments.parts[2].easing",
        ),
        (rocker(vec![easing(1000.0)]), "easing-neighbours", "rocker.segments.parts[0].easing"),
        (
            rocker(vec![open(SegmentShape::Flat), open(SegmentShape::Arc(r(900.0)))]),
            "segment-open",
            "rocker.segments.parts[1].arc",
        ),
    ];
    for (rocker, code, path) in cases {
        let fault = refused(rocker, 1000.0);
        assert_eq!((fault.code.name, fault.path.as_str()), (code, path));
    }
}

#[test]
fn an_arc_is_solved_for_the_height_of_its_end() {
    let parts = vec![flat(800.0), easing(100.0), arc(150.0, Bend::Solved)];
    let made = made(
        Rocker::Segments(Segments {
            parts: parts.clone(),
            mirrored: true,
            tip_height_mm: Some(42.0),
            tail_height_mm: None,
        }),
        1300.0,
    );
    close_abs(made.tip_height_mm(), 42.0, 1e-9);
    close_abs(made.tail_height_mm(), 42.0, 1e-9);
    // With a flat, an arc alone has its closed form: the height gained.
    let alone = vec![flat(1000.0), arc(300.0, Bend::Solved)];
    let solved =
        Rocker::Segments(Segments { parts: alone, mirrored: false, tip_height_mm: Some(60.0), tail_height_mm: None });
    let by_height = rocker(vec![flat(1000.0), arc(300.0, Bend::Height(60.0))]);
    close_abs(self::made(solved, 1300.0).curvature.at(600.0), self::made(by_height, 1300.0).curvature.at(600.0), 1e-15);
}

#[test]
fn both_ends_of_a_cambered_board_are_solved_together() {
    let parts = vec![
        arc(180.0, Bend::Solved),
        easing(60.0),
        arc(900.0, Bend::Height(-5.0)),
        easing(60.0),
        arc(120.0, Bend::Height(10.0)),
        arc(100.0, Bend::Solved),
    ];
    let wanted = Segments { parts, mirrored: false, tip_height_mm: Some(45.0), tail_height_mm: Some(25.0) };
    let made = made(Rocker::Segments(wanted), 1420.0);
    close_abs(made.tip_height_mm(), 45.0, 1e-8);
    close_abs(made.tail_height_mm(), 25.0, 1e-8);
}

#[test]
fn easings_take_their_own_radii_and_meet_in_one() {
    let own = |length, from_radius_mm, to_radius_mm| Segment {
        length_mm: Some(length),
        shape: SegmentShape::Easing { from_radius_mm, to_radius_mm },
    };
    let made = made(mirrored(vec![flat(600.0), own(200.0, None, Some(1000.0)), own(150.0, None, Some(500.0))]), 1300.0);
    let k = |s| made.curvature.at(s);
    close_abs(k(400.0), 0.0005, 1e-15);
    close_abs(k(500.0), 0.001, 1e-15);
    close_abs(k(649.999_999), 0.002, 1e-9);
    close_abs(k(-400.0), 0.0005, 1e-15);
    close_abs(k(-649.999_999), 0.002, 1e-9);
}

#[test]
fn what_cannot_be_solved_is_refused_at_its_key() {
    let asked = |parts, tip_height_mm, tail_height_mm| {
        Rocker::Segments(Segments { parts, mirrored: false, tip_height_mm, tail_height_mm })
    };
    let solved = || arc(300.0, Bend::Solved);
    let cases = [
        (asked(vec![flat(1000.0), solved()], None, None), "solve-for-nothing", "rocker.segments.parts[1].arc"),
        (
            asked(vec![solved(), flat(700.0), solved()], Some(40.0), None),
            "solve-for-nothing",
            "rocker.segments.parts[2].arc",
        ),
        (asked(vec![flat(1300.0)], Some(40.0), None), "nothing-to-solve", "rocker.segments.tip_height"),
        (asked(vec![flat(1000.0), solved()], Some(400.0), None), "height-out-of-reach", "rocker.segments.tip_height"),
        (asked(vec![flat(1000.0), solved()], None, Some(40.0)), "height-out-of-reach", "rocker.segments.tail_height"),
        (asked(vec![flat(1000.0), solved()], Some(-1.0), None), "end-height", "rocker.segments.tip_height"),
    ];
    for (rocker, code, path) in cases {
        let fault = refused(rocker, 1300.0);
        assert_eq!((fault.code.name, fault.path.as_str()), (code, path));
    }
}

#[test]
fn a_short_arc_behind_a_long_easing_reaches_its_height() {
    // The easing turns along with the arc: three times the arc's own angle, so that a bend of a right angle leans back.
    let made = made(mirrored(vec![flat(600.0), easing(95.0), arc(33.0, Bend::Height(8.0))]), 856.0);
    close_abs(made.curve.at(428.0).point.y - made.curve.at(395.0).point.y, 8.0, 1e-9);
    assert!(made.report.tip_angle_rad < 0.5);
}

#[test]
fn an_arc_read_with_a_straightedge_has_the_radius_of_its_rise() {
    // R = c²/(8 h) + h/2 (plane trigonometry), worked by hand.
    let read = Bend::Rise { rise_mm: 10.0, chord_mm: 200.0 };
    let made = made(rocker(vec![flat(900.0), arc(250.0, read)]), 1150.0);
    close_abs(1.0 / made.curvature.at(500.0), 505.0, 1e-9);
}

#[test]
fn an_arc_that_gains_no_height_stays_flat() {
    let made = made(rocker(vec![flat(900.0), arc(250.0, Bend::Height(0.0))]), 1150.0);
    assert_eq!(made.curvature.at(500.0), 0.0);
    assert_eq!(made.tip_height_mm(), 0.0);
}

#[test]
fn an_easing_at_an_end_of_the_board_runs_out() {
    let made = made(rocker(vec![easing(300.0), arc(600.0, Bend::Radius(2000.0)), easing(200.0)]), 1100.0);
    let k = |s| made.curvature.at(s);
    assert_eq!((k(-550.0), k(-250.0), k(350.0), k(550.0)), (0.0, 0.0005, 0.0005, 0.0));
    close_abs(k(-400.0), 0.00025, 1e-15);
    close_abs(k(450.0), 0.00025, 1e-15);
    // In the middle of a mirrored board there is no end to run out to.
    let fault = refused(mirrored(vec![easing(300.0), flat(350.0)]), 1300.0);
    assert_eq!((fault.code.name, fault.path.as_str()), ("easing-neighbours", "rocker.segments.parts[0].easing"));
}

#[test]
fn parts_too_long_for_the_straight_length_are_refused_with_their_sum() {
    let straight = |parts, length_mm| target(&rocker(parts), &board(length_mm, LengthAlong::Straight)).unwrap_err();
    let rest = || open(SegmentShape::Flat);
    // Longer than the base of a half circle over the board: no bend makes room for that.
    let fault = straight(vec![arc(2100.0, Bend::Radius(5000.0)), rest()], 1300.0).remove(0);
    assert_eq!(
        fault.message(),
        "the parts come to 2100 mm along the base and the board is 1300 mm long: 800 mm too much."
    );
    // A straight part alone is too long already, without anything for the rest.
    let fault = straight(vec![flat(1350.0), rest()], 1300.0).remove(0);
    assert_eq!((fault.code.name, fault.path.as_str()), ("segments-sum", "rocker.segments.parts"));
    assert_eq!(
        fault.message(),
        "the parts come to 1350 mm straight from tail to tip and the board is 1300 mm long: 50 mm too much."
    );
}

#[test]
fn a_height_out_of_reach_is_named_where_another_arc_is_solved_for() {
    // The last arc cannot gain more than it is long, whatever the solved one does.
    let parts = vec![flat(1000.0), arc(200.0, Bend::Solved), arc(100.0, Bend::Height(150.0))];
    let wanted = Segments { parts, mirrored: false, tip_height_mm: Some(200.0), tail_height_mm: None };
    let fault = refused(Rocker::Segments(wanted), 1300.0);
    assert_eq!((fault.code.name, fault.path.as_str()), ("height-out-of-reach", "rocker.segments.parts[2].arc.height"));
}

#[test]
fn a_board_stands_at_the_middle_of_its_camber_or_of_flats_that_follow_each_other() {
    let r = |radius| Bend::Radius(radius);
    // From -520 to 380 mm.
    let camber = vec![arc(180.0, r(900.0)), arc(900.0, r(-20000.0)), arc(320.0, r(900.0))];
    close_abs(made(rocker(camber), 1400.0).anchor_mm, -70.0, 1e-9);
    // Two flats from -500 over -200 to 400 mm.
    let joined = vec![arc(200.0, r(900.0)), flat(300.0), flat(600.0), arc(300.0, r(900.0))];
    close_abs(made(rocker(joined), 1400.0).anchor_mm, -50.0, 1e-9);
    // The longer of two that are parted, from -100 to 500 mm.
    let parted = vec![arc(200.0, r(900.0)), flat(200.0), arc(200.0, r(9000.0)), flat(600.0), arc(200.0, r(900.0))];
    close_abs(made(rocker(parted), 1400.0).anchor_mm, 200.0, 1e-9);
}

#[test]
fn open_arcs_make_the_straight_length_however_they_are_bent() {
    // Each has 200 mm to go straight ahead: R sin t = 200. By height, R (1 - cos t) = h, so that tan(t/2) = h/200.
    let straight = |shape, tip_height_mm| {
        let parts = vec![flat(900.0), open(SegmentShape::Arc(shape))];
        let wanted = Segments { parts, mirrored: true, tip_height_mm, tail_height_mm: None };
        target(&Rocker::Segments(wanted), &board(1300.0, LengthAlong::Straight))
    };
    let by_height = |h: f64| 2.0 * (h / 200.0).atan();
    let cases = [
        (Bend::Radius(800.0), None, f64::asin(0.25)),
        // Twice as long they would turn too far; this does not.
        (Bend::Radius(300.0), None, f64::asin(200.0 / 300.0)),
        (Bend::Angle(0.3), None, 0.3),
        (Bend::Height(30.0), None, by_height(30.0)),
        (Bend::Height(190.0), None, by_height(190.0)),
        (Bend::Solved, Some(30.0), by_height(30.0)),
    ];
    for (bend, tip_mm, turn) in cases {
        let made = straight(bend, tip_mm).unwrap();
        close_abs(made.report.straight_mm, 1300.0, 1e-7);
        close_abs(made.curvature.length_mm(), 900.0 + 400.0 * turn / f64::sin(turn), 1e-6);
        close_abs(made.report.tip_angle_rad, turn, 1e-9);
    }
    // No arc of this radius goes that far ahead.
    let faults = straight(Bend::Radius(150.0), None).unwrap_err();
    assert_eq!((faults[0].code.name, faults[0].path.as_str()), ("rocker-turns-too-far", "rocker.segments.parts"));
}

#[test]
fn a_height_out_of_reach_is_named_where_an_open_part_makes_the_straight_length() {
    let parts = vec![arc(200.0, Bend::Radius(900.0)), open(SegmentShape::Flat), arc(200.0, Bend::Height(250.0))];
    let faults = target(&rocker(parts), &board(1300.0, LengthAlong::Straight)).unwrap_err();
    assert_eq!(faults.len(), 1, "{faults:?}");
    assert_eq!(
        (faults[0].code.name, faults[0].path.as_str()),
        ("height-out-of-reach", "rocker.segments.parts[2].arc.height")
    );
}

#[test]
fn the_most_that_an_arc_gains_is_told() {
    // It begins 0.3 rad up and ends upright: l (cos 0.3 - cos(pi/2))/(pi/2 - 0.3) = 100 · 0.95534/1.27080 = 75.2 mm.
    let steep = vec![flat(1000.0), arc(200.0, Bend::Angle(0.3)), arc(100.0, Bend::Height(99.0))];
    let fault = refused(rocker(steep), 1300.0);
    assert_eq!(fault.message(), "an arc of 100 mm cannot gain 99 mm here; 75.18 mm is the most.");
    // Solved for, turned upright: l/(pi/2) = 191 mm.
    let parts = vec![flat(1000.0), arc(300.0, Bend::Solved)];
    let wanted = Segments { parts, mirrored: false, tip_height_mm: Some(400.0), tail_height_mm: None };
    let fault = refused(Rocker::Segments(wanted), 1300.0);
    assert_eq!(fault.message(), "bending this arc brings the end to between 0 mm and 190.99 mm, not to 400 mm.");
}

#[test]
fn an_arc_solved_behind_a_long_easing_reaches_a_height_that_a_right_angle_would_overshoot() {
    // The easing turns ten times as far as the arc; turned by a right angle the arc would wind it up to a spiral, lower than
    // the height that is wanted.
    let parts = vec![flat(600.0), easing(600.0), arc(30.0, Bend::Solved)];
    let wanted = Segments { parts, mirrored: true, tip_height_mm: Some(150.0), tail_height_mm: None };
    let made = made(Rocker::Segments(wanted), 1860.0);
    close_abs(made.tip_height_mm(), 150.0, 1e-8);
    assert!(made.report.tip_angle_rad < FRAC_PI_2, "{}", made.report.tip_angle_rad);
}
