use super::*;
use crate::curve::{Curvature, Curve, Parallel, Piece};

fn piece(start_mm: f64, end_mm: f64, k_start_per_mm: f64, k_end_per_mm: f64) -> Piece {
    Piece { start_mm, end_mm, k_start_per_mm, k_end_per_mm }
}

/// Flat middle, eased kicks of different radius: a rocker as shops draw it.
fn eased() -> Curve {
    let k = |r: f64| 1.0 / r;
    Curve::new(
        Curvature::new(vec![
            piece(-720.0, -560.0, k(700.0), k(700.0)),
            piece(-560.0, -380.0, k(700.0), k(9000.0)),
            piece(-380.0, 300.0, k(9000.0), k(9000.0)),
            piece(300.0, 520.0, k(9000.0), k(550.0)),
            piece(520.0, 720.0, k(550.0), k(550.0)),
        ])
        .unwrap(),
    )
}

/// Curvature that waves, on a grid with a node every few millimetres, as a computed table curve has it.
fn gridded(step_mm: f64) -> Curve {
    let count = (1440.0 / step_mm) as usize;
    let nodes: Vec<(f64, f64)> = (0..=count)
        .map(|i| {
            let s = -720.0 + 1440.0 * i as f64 / count as f64;
            let u = s / 720.0;
            (s, 0.000_3 + 0.001_5 * u.powi(4) - 0.000_4 * (7.0 * u).cos())
        })
        .collect();
    Curve::new(Curvature::through(&nodes).unwrap())
}

/// Flat, radius, flat, camber: jumps of curvature and nothing else.
fn stepped() -> Curve {
    Curve::new(
        Curvature::new(vec![
            piece(-600.0, -350.0, 1.0 / 900.0, 1.0 / 900.0),
            piece(-350.0, -300.0, 0.0, 0.0),
            piece(-300.0, 280.0, -1.0 / 30_000.0, -1.0 / 30_000.0),
            piece(280.0, 600.0, 1.0 / 800.0, 1.0 / 800.0),
        ])
        .unwrap(),
    )
}

/// Distance from `p` to the segment, worked out without the fit's own formulas.
fn distance(p: Point, a: Point, bulge: f64, b: Point) -> f64 {
    if bulge == 0.0 {
        let t = ((p - a).dot(b - a) / (b - a).hypot2()).clamp(0.0, 1.0);
        return p.distance(a.lerp(b, t));
    }
    // The bulge is the sagitta over half the chord; the circle goes through both ends and the foot of the sagitta.
    let (half, aside) = (0.5 * a.distance(b), Vec2::new((b - a).y, -(b - a).x).normalize());
    let sagitta = bulge * half;
    let radius = (half * half + sagitta * sagitta) / (2.0 * sagitta);
    (p.distance(a.midpoint(b) + aside * (sagitta - radius)) - radius.abs()).abs()
}

/// The angle between two directions, rad, whichever way round.
fn between_directions(a: f64, b: f64) -> f64 {
    (a - b).sin().atan2((a - b).cos()).abs()
}

/// The promises of `fit_arcs`, measured on its result by other means.
#[track_caller]
fn keeps_promises(curve: &impl PlaneCurve, path: &ArcPath, tolerance_mm: f64) {
    let (from, to) = curve.range_mm();
    let mut worst: f64 = 0.0;
    for i in 0..=20_000 {
        let p = curve.at(from + (to - from) * f64::from(i) / 20_000.0).point;
        let near = path.nodes.windows(2).filter(|w| p.x >= w[0].point.x - 0.5 && p.x <= w[1].point.x + 0.5);
        worst = worst.max(near.map(|w| distance(p, w[0].point, w[0].bulge, w[1].point)).fold(f64::INFINITY, f64::min));
    }
    assert!(worst <= tolerance_mm, "leaves the curve by {worst}");
    assert!(worst > 0.0 && path.deviation_mm <= tolerance_mm);
    // What the path says of itself is what is measured; a hump between two joints' places may be taken for a little higher.
    let stated = path.deviation_mm;
    assert!(stated > 0.998 * worst && stated < 1.03 * worst + 1e-9, "{stated} is stated, {worst} measured");
    let (mut last_direction, mut largest_break): (Option<f64>, f64) = (None, 0.0);
    for w in path.nodes.windows(2) {
        let chord = w[1].point - w[0].point;
        let half = 2.0 * w[0].bulge.atan();
        assert!(chord.hypot() > 0.99 * SHORTEST_MM, "a piece of {} mm", chord.hypot());
        if half != 0.0 {
            let radius = 0.5 * chord.hypot() / half.sin().abs();
            assert!(radius <= LARGEST_RADIUS_MM * 1.000_001, "radius {radius}");
        }
        if let Some(last) = last_direction {
            let turn = between_directions(chord.atan2() - half, last);
            assert!(turn <= LARGEST_BREAK_RAD, "direction breaks by {turn} rad at {:?}", w[0].point);
            largest_break = largest_break.max(turn);
        }
        last_direction = Some(chord.atan2() + half);
    }
    let stated = path.largest_break_rad;
    assert!((stated - largest_break).abs() < 1e-9, "breaks by {stated} are stated, {largest_break} found");
}

/// Minimum number of arcs with joints on the curve, tangents left free: a dynamic programme over a uniform grid of joints, with
/// an arc's deviation measured by trying sweeps. Nothing of the fit is used.
fn fewest(curve: &impl PlaneCurve, tolerance_mm: f64, step_mm: f64) -> usize {
    let (from, to) = curve.range_mm();
    let count = ((to - from) / step_mm).round() as usize;
    let points: Vec<Point> =
        (0..=count).map(|i| curve.at(from + (to - from) * i as f64 / count as f64).point).collect();
    let fits = |i: usize, j: usize| {
        // The largest sagitta error is piecewise smooth and convex in the sagitta: ternary search.
        let (a, b) = (points[i], points[j]);
        let worst = |half: f64| {
            let bulge = (0.5 * half).tan();
            points[i..=j].iter().map(|p| distance(*p, a, bulge, b)).fold(0.0, f64::max)
        };
        let (mut low, mut high) = (-0.3_f64, 0.3_f64);
        for _ in 0..40 {
            let (c, d) = (low + (high - low) / 3.0, high - (high - low) / 3.0);
            if worst(c) < worst(d) { high = d } else { low = c }
        }
        worst(0.5 * (low + high)) <= tolerance_mm
    };
    let mut arcs = vec![usize::MAX; count + 1];
    arcs[0] = 0;
    // A longer arc never fits where a shorter one from the same joint does not, up to jumps: the furthest joint that
    // fits is kept from one start to the next and only grows.
    let mut reach = 1;
    for i in 0..count {
        reach = reach.max(i + 1);
        while reach < count && fits(i, reach + 1) {
            reach += 1;
        }
        for j in i + 1..=reach {
            arcs[j] = arcs[j].min(arcs[i] + 1);
        }
    }
    arcs[count]
}

#[test]
fn paths_keep_tolerance_tangents_lengths_and_radii() {
    for tolerance in [0.01, 0.05, 0.002] {
        for curve in [eased(), gridded(2.0), stepped()] {
            let (from, to) = curve.range_mm();
            let path = fit_arcs(&curve, from, to, tolerance).unwrap();
            keeps_promises(&curve, &path, tolerance);
            let below = Parallel::new(&curve, -12.0).unwrap();
            keeps_promises(&below, &fit_arcs(&below, from, to, tolerance).unwrap(), tolerance);
        }
    }
}

#[test]
fn the_number_of_arcs_is_close_to_the_least_possible() {
    for (name, curve) in [("eased", eased()), ("gridded", gridded(2.0)), ("stepped", stepped())] {
        let (from, to) = curve.range_mm();
        let path = fit_arcs(&curve, from, to, DEFAULT_TOLERANCE_MM).unwrap();
        let (found, least) = (path.nodes.len() - 1, fewest(&curve, DEFAULT_TOLERANCE_MM, 1.0));
        println!(
            "{name}: {found} arcs, least {least}, deviation {:.5} mm, break {:.4} degrees",
            path.deviation_mm,
            path.largest_break_rad.to_degrees()
        );
        assert!(found as f64 <= 1.15 * least as f64, "{name}: {found} arcs where {least} do");
    }
}

#[test]
fn on_curves_of_random_pieces_too() {
    // Numerical Recipes' quick generator: the same curves on every run.
    let mut seed: u32 = 7;
    let mut random = move || {
        seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        f64::from(seed >> 8) / f64::from(1 << 24)
    };
    for case in 0..8 {
        let (mut at, mut k) = (0.0, 0.002 * random());
        let mut pieces = Vec::new();
        for _ in 0..4 {
            let (length, next) = (80.0 + 250.0 * random(), 0.003 * random() - 0.000_5);
            let begin = if random() < 0.3 { next } else { k };
            pieces.push(piece(at, at + length, begin, next));
            (at, k) = (at + length, next);
        }
        let curve = Curve::new(Curvature::new(pieces).unwrap());
        let path = fit_arcs(&curve, 0.0, at, DEFAULT_TOLERANCE_MM).unwrap();
        let (found, least) = (path.nodes.len() - 1, fewest(&curve, DEFAULT_TOLERANCE_MM, 1.0));
        assert!(found as f64 <= 1.15 * least as f64, "curve {case}: {found} arcs where {least} do");
    }
}

#[test]
fn constant_curvature_comes_out_as_exact_single_pieces() {
    let curve = stepped();
    let path = fit_arcs(&curve, -600.0, 600.0, DEFAULT_TOLERANCE_MM).unwrap();
    let joints = [-600.0, -350.0, -300.0, 280.0, 600.0];
    assert_eq!(path.nodes.len(), joints.len());
    for (node, s) in path.nodes.iter().zip(joints) {
        assert!(node.point.distance(curve.at(s).point) < 1e-9, "{:?}", node.point);
    }
    assert!(path.deviation_mm < 1e-6, "{}", path.deviation_mm);
    assert_eq!(path.nodes[1].bulge, 0.0);
}

#[test]
fn breaks_that_are_no_jumps_cost_nothing() {
    let count = |step| fit_arcs(&gridded(step), -720.0, 720.0, DEFAULT_TOLERANCE_MM).unwrap().nodes.len();
    assert!(count(2.0).abs_diff(count(15.0)) <= 1);
}

#[test]
fn a_jump_among_many_breaks_that_are_none_becomes_a_joint() {
    // A line and a radius, on a grid of 3 mm that says nothing of where they meet.
    let pieces = Curvature::new(vec![piece(0.0, 123.4, 0.0, 0.0), piece(123.4, 300.0, 2e-3, 2e-3)]).unwrap();
    for curve in [Curve::new(pieces.refined(3.0)), Curve::new(pieces)] {
        let path = fit_arcs(&curve, 0.0, 300.0, DEFAULT_TOLERANCE_MM).unwrap();
        assert_eq!(path.nodes.len(), 3);
        assert!(path.nodes[1].point.distance(Point::new(123.4, 0.0)) < 1e-6, "{:?}", path.nodes[1]);
        assert!(path.deviation_mm < 1e-9, "{}", path.deviation_mm);
    }
}

#[test]
fn a_path_of_hundreds_of_arcs_keeps_the_promises_and_one_of_thousands_is_refused() {
    // Curvature that swings once every 60 mm, with a radius of 100 mm at most.
    let waves = |length_mm: f64| {
        let count = (length_mm / 15.0) as usize;
        let swing = |i: usize| 0.01 * [0.0, 1.0, 0.0, -1.0][i % 4];
        let nodes: Vec<(f64, f64)> = (0..=count).map(|i| (15.0 * i as f64, swing(i))).collect();
        Curve::new(Curvature::through(&nodes).unwrap())
    };
    let path = fit_arcs(&waves(1500.0), 0.0, 1500.0, 0.002).unwrap();
    assert!(path.nodes.len() > 110, "{}", path.nodes.len());
    keeps_promises(&waves(1500.0), &path, 0.002);
    let long = waves(60_000.0);
    let refused = fit_arcs(&long, 0.0, 60_000.0, 0.002);
    assert!(matches!(refused, Err(ArcFitError::TooSharp { s_mm }) if s_mm > 4_000.0), "{refused:?}");
}

#[test]
fn a_full_turn_is_split_and_flat_arcs_become_lines() {
    let ring = Curve::new(Curvature::constant(0.0, 250.0 * std::f64::consts::TAU * 0.99, 1.0 / 250.0).unwrap());
    let path = fit_arcs(&ring, 0.0, ring.range_mm().1, 0.01).unwrap();
    assert_eq!(path.nodes.len(), 5);
    // Sagitta of 400 mm on 5 km: 0.004 mm. On 150 m: 0.133 mm, more than a line may leave out.
    let flat = Curve::new(Curvature::constant(0.0, 400.0, 2e-7).unwrap());
    let path = fit_arcs(&flat, 0.0, 400.0, 0.01).unwrap();
    assert_eq!((path.nodes.len(), path.nodes[0].bulge), (2, 0.0));
    let almost = Curve::new(Curvature::constant(0.0, 400.0, 1.0 / 150_000.0).unwrap());
    keeps_promises(&almost, &fit_arcs(&almost, 0.0, 400.0, 0.01).unwrap(), 0.01);
}

#[test]
fn a_part_of_a_curve_begins_and_ends_where_asked() {
    let curve = eased();
    let path = fit_arcs(&curve, -400.3, 333.3, 0.01).unwrap();
    assert_eq!(path.nodes[0].point, curve.at(-400.3).point);
    assert_eq!(path.nodes[path.nodes.len() - 1].point, curve.at(333.3).point);
}

#[test]
fn nonsense_is_refused() {
    let curve = eased();
    assert!(matches!(fit_arcs(&curve, 5.0, 5.0, 0.01), Err(ArcFitError::NoLength { .. })));
    assert!(matches!(fit_arcs(&curve, f64::NAN, 5.0, 0.01), Err(ArcFitError::NoLength { .. })));
    assert!(matches!(fit_arcs(&curve, 0.0, f64::INFINITY, 0.01), Err(ArcFitError::NoLength { .. })));
    assert!(matches!(fit_arcs(&curve, f64::NEG_INFINITY, 0.0, 0.01), Err(ArcFitError::NoLength { .. })));
    assert_eq!(fit_arcs(&curve, 0.0, 5.0, -0.01), Err(ArcFitError::BadTolerance(-0.01)));
    let sharp = Curve::new(Curvature::through(&[(0.0, 0.0), (20.0, 60.0)]).unwrap());
    assert!(matches!(fit_arcs(&sharp, 0.0, 20.0, 0.001), Err(ArcFitError::TooSharp { .. })));
}

proptest::proptest! {
    #![proptest_config(proptest::prelude::ProptestConfig {
        // Curves that were fitted wrongly once are tried first, from `tests.seeds`.
        failure_persistence: Some(Box::new(proptest::test_runner::FileFailurePersistence::WithSource("seeds"))),
        ..proptest::prelude::ProptestConfig::with_cases(48)
    })]

    #[test]
    fn any_curve_of_a_few_pieces_keeps_the_promises(
        nodes in proptest::collection::vec((20.0..400.0_f64, -1.0..1.0_f64, proptest::bool::ANY), 2..7),
        tolerance in 0.003..0.1_f64,
    ) {
        let (mut at, mut k) = (0.0, 0.0);
        let mut pieces = Vec::new();
        for (length, bend, jumps) in nodes {
            // The tightest radius is 250 mm.
            let next = 0.004 * bend;
            let begin = if jumps { next } else { k };
            pieces.push(piece(at, at + length, begin, next));
            (at, k) = (at + length, next);
        }
        let curve = Curve::new(Curvature::new(pieces).unwrap());
        let (from, to) = curve.range_mm();
        let path = fit_arcs(&curve, from, to, tolerance).unwrap();
        proptest::prop_assert!(path.deviation_mm <= tolerance);
        // Curves may turn round: the distance is taken to the nearest piece.
        for i in 0..=2_000 {
            let p = curve.at(from + (to - from) * f64::from(i) / 2_000.0).point;
            let near = path.nodes.windows(2).map(|w| within_piece(p, w)).fold(f64::INFINITY, f64::min);
            proptest::prop_assert!(near <= tolerance, "{near} off at {p:?}");
        }
        let mut last: Option<f64> = None;
        for w in path.nodes.windows(2) {
            let (chord, half) = (w[1].point - w[0].point, 2.0 * w[0].bulge.atan());
            proptest::prop_assert!(chord.hypot() > 0.99 * SHORTEST_MM && half.abs() < 0.79);
            let turn = last.map_or(0.0, |l| between_directions(chord.atan2() - half, l));
            proptest::prop_assert!(turn <= LARGEST_BREAK_RAD, "breaks by {turn}");
            last = Some(chord.atan2() + half);
        }
    }
}

/// Distance to a piece, its ends included.
fn within_piece(p: Point, w: &[ArcNode]) -> f64 {
    let ends = p.distance(w[0].point).min(p.distance(w[1].point));
    let along = (p - w[0].point).dot(w[1].point - w[0].point) / (w[1].point - w[0].point).hypot2();
    if (-0.2..=1.2).contains(&along) { ends.min(distance(p, w[0].point, w[0].bulge, w[1].point)) } else { ends }
}
