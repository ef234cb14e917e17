use super::*;
use crate::curve::{Piece, resting_pose};
use crate::job::Ends;
use crate::job::{Datum, Reading, Smoothing};
use crate::rocker::Target;

/// Normal numbers from a fixed sequence (SplitMix64, and the polar form of Box and Muller).
struct Noise(u64);

impl Noise {
    fn unit(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 53) as f64
    }

    fn normal(&mut self) -> f64 {
        loop {
            let (u, v) = (2.0 * self.unit() - 1.0, 2.0 * self.unit() - 1.0);
            let square = u * u + v * v;
            if square > 0.0 && square < 1.0 {
                return u * (-2.0 * square.ln() / square).sqrt();
            }
        }
    }
}

/// Boards of 1400 mm: all arc; flat with kicked ends that ease in; camber with unlike ends; flat with plain arcs.
fn boards() -> Vec<(&'static str, Curvature)> {
    let through = |nodes: &[(f64, f64)]| Curvature::through(nodes).unwrap();
    let piece = |start_mm, end_mm, k| Piece { start_mm, end_mm, k_start_per_mm: k, k_end_per_mm: k };
    vec![
        ("arc", Curvature::constant(-700.0, 700.0, 1.0 / 4000.0).unwrap()),
        (
            "kicked",
            through(&[
                (-700.0, 1.0 / 700.0),
                (-520.0, 1.0 / 900.0),
                (-400.0, 0.0),
                (400.0, 0.0),
                (520.0, 1.0 / 900.0),
                (700.0, 1.0 / 700.0),
            ]),
        ),
        (
            "camber",
            through(&[
                (-700.0, 1.0 / 900.0),
                (-500.0, 1.0 / 900.0),
                (-350.0, -8e-5),
                (300.0, -8e-5),
                (450.0, 1.0 / 600.0),
                (700.0, 1.0 / 500.0),
            ]),
        ),
        (
            "jumps",
            Curvature::new(vec![
                piece(-700.0, -450.0, 1.0 / 800.0),
                piece(-450.0, 450.0, 0.0),
                piece(450.0, 700.0, 1.0 / 800.0),
            ])
            .unwrap(),
        ),
    ]
}

fn options(length_mm: f64) -> FitOptions {
    FitOptions { length_mm, length_along: LengthAlong::Base, ends: Ends::Free, path: "rocker.measured.readings".into() }
}

fn read(curve: &Curve, pitch_mm: f64, mut error: impl FnMut() -> f64) -> Readings {
    let (from, to) = curve.range_mm();
    let count = ((to - from) / pitch_mm).round() as usize;
    let reading = |i: usize| {
        let station_mm = (to - from) * i as f64 / count as f64;
        Reading { station_mm, height_mm: curve.at(from + station_mm).point.y + error() }
    };
    Readings {
        readings: (0..=count).map(reading).collect(),
        datum: Datum::Floor,
        along: StationsAlong::Base,
        origin: Origin::Tail,
        error_mm: None,
        file: None,
        smoothing: Smoothing::Likelihood,
        excluded: Vec::new(),
    }
}

fn resting(curvature: &Curvature) -> Curve {
    resting_pose(&Curve::new(curvature.clone()), 0.0)
}

fn curvature_rms(found: &Curvature, exact: &Curvature) -> f64 {
    let places = 1400;
    let (from, length) = (exact.start_mm(), exact.length_mm());
    let square = |i: i32| {
        let s = from + length * (f64::from(i) + 0.5) / f64::from(places);
        (found.at(s) - exact.at(s)).powi(2)
    };
    ((0..places).map(square).sum::<f64>() / f64::from(places)).sqrt()
}

#[test]
fn exact_readings_of_an_arc_give_the_arc() {
    let exact = Curvature::constant(-700.0, 700.0, 1.0 / 1500.0).unwrap();
    let fit = fit(&read(&resting(&exact), 100.0, || 0.0), &options(1400.0)).unwrap();
    assert!(curvature_rms(&fit.curvature, &exact) < 1e-9, "{}", curvature_rms(&fit.curvature, &exact));
    assert!(fit.rms_mm() < 1e-6 && fit.findings.is_empty(), "{} {:?}", fit.rms_mm(), fit.findings);
}

#[test]
fn steep_tips_are_followed_exactly() {
    // A kick of 45 degrees, where a small slope would be 27 per cent off, read along the base and along the floor.
    let exact = Curvature::through(&[(-400.0, 0.0), (150.0, 0.0), (250.0, 0.004), (400.0, 0.0045)]).unwrap();
    let curve = resting(&exact);
    assert!(curve.at(400.0).angle_rad.to_degrees() > 45.0);
    let base = fit(&read(&curve, 20.0, || 0.0), &options(800.0)).unwrap();
    let mut along_floor = read(&curve, 20.0, || 0.0);
    along_floor.along = StationsAlong::Datum;
    for (r, i) in along_floor.readings.iter_mut().zip(0..) {
        r.station_mm = curve.at(-400.0 + 20.0 * f64::from(i)).point.x - curve.at(-400.0).point.x;
    }
    let floor = fit(&along_floor, &options(800.0)).unwrap();
    for fit in [base, floor] {
        assert!(
            (Target::of_fit(fit.clone()).tip_height_mm() - curve.at(400.0).point.y).abs() < 0.02,
            "{}",
            Target::of_fit(fit.clone()).tip_height_mm()
        );
        assert!(curvature_rms(&fit.curvature, &exact) < 5e-5, "{}", curvature_rms(&fit.curvature, &exact));
    }
}

#[test]
fn a_board_measured_straight_gets_its_base_length() {
    let exact = Curvature::constant(-500.0, 500.0, 1.0 / 700.0).unwrap();
    let curve = resting(&exact);
    let mut readings = read(&curve, 50.0, || 0.0);
    readings.origin = Origin::Middle;
    readings.along = StationsAlong::Datum;
    for (r, i) in readings.readings.iter_mut().zip(0..) {
        r.station_mm = curve.at(-500.0 + 50.0 * f64::from(i)).point.x;
    }
    let chord = 2.0 * 700.0 * f64::sin(500.0 / 700.0);
    let straight = FitOptions { length_along: LengthAlong::Straight, ..options(chord) };
    let fit = fit(&readings, &straight).unwrap();
    assert!((fit.curvature.length_mm() - 1000.0).abs() < 1e-4, "{}", fit.curvature.length_mm());
    assert!((Target::of_fit(fit.clone()).tip_height_mm() - curve.at(500.0).point.y).abs() < 1e-3);
}

#[test]
fn noisy_readings_give_the_tip_within_half_a_millimetre() {
    // Readings every 50 mm, those at tip and tail taken three times. More seeds, and another program's opinion of them,
    // are in tests/independent.
    const SEEDS: u64 = 12;
    for (name, exact) in boards() {
        let curve = resting(&exact);
        for (sigma, stated) in [(0.3, Some(0.3)), (0.5, None)] {
            let mut square = 0.0;
            for seed in 0..SEEDS {
                let mut noise = Noise(seed);
                let mut readings = read(&curve, 50.0, || sigma * noise.normal());
                for end in [0.0, 1400.0, 0.0, 1400.0] {
                    let height_mm = curve.at(end - 700.0).point.y + sigma * noise.normal();
                    readings.readings.push(Reading { station_mm: end, height_mm });
                }
                readings.error_mm = stated;
                let fit = fit(&readings, &options(1400.0)).unwrap();
                square +=
                    (Target::of_fit(fit.clone()).tip_height_mm() - curve.at(700.0).point.y).powi(2) / SEEDS as f64;
                if stated.is_none() {
                    assert!((fit.error_mm / sigma).ln().abs() < 0.7, "{name} {seed}: error {}", fit.error_mm);
                }
            }
            assert!(square.sqrt() < 0.5, "{name} {sigma} {stated:?}: {}", square.sqrt());
        }
    }
}

#[test]
fn the_stated_deviation_of_the_curvature_is_the_one_that_boards_show() {
    // The mean curvature between two marks, its error over its stated deviation: about one in the mean square.
    let (_, exact) = boards().swap_remove(1);
    let curve = resting(&exact);
    let mean = |c: &Curvature| c.between(450.0, 650.0).unwrap().total_angle() / 200.0;
    let mut square = 0.0;
    for seed in 0..20 {
        let mut noise = Noise(1000 + seed);
        let mut readings = read(&curve, 50.0, || 0.4 * noise.normal());
        readings.error_mm = Some(0.4);
        let fit = fit(&readings, &options(1400.0)).unwrap();
        square += ((mean(&fit.curvature) - mean(&exact)) / fit.deviation_of(mean)).powi(2) / 20.0;
    }
    // Of 20 squares of normal numbers the mean lies between 0.4 and 2 in 99 of 100 cases (chi-squared table).
    assert!(square > 0.4 && square < 2.0, "{square}");
}

#[test]
fn the_stated_deviation_of_the_tip_is_the_one_that_boards_show() {
    // The error of the tip's height over its stated deviation, as for the curvature above. The floor, which the board never
    // sinks under, holds it a little better than is stated.
    for (name, exact) in boards().into_iter().take(2) {
        let curve = resting(&exact);
        let mut square = 0.0;
        for seed in 0..20 {
            let mut noise = Noise(2000 + seed);
            let mut readings = read(&curve, 50.0, || 0.4 * noise.normal());
            readings.error_mm = Some(0.4);
            let fit = fit(&readings, &options(1400.0)).unwrap();
            let off = Target::of_fit(fit.clone()).tip_height_mm() - curve.at(700.0).point.y;
            square += (off / fit.tip_deviation_mm()).powi(2) / 20.0;
        }
        assert!(square > 0.3 && square < 2.0, "{name}: {square}");
    }
}

#[test]
fn a_wild_reading_is_named_and_can_be_left_out() {
    let (_, exact) = boards().swap_remove(1);
    let curve = resting(&exact);
    for at in [3, 14, 27] {
        for error_mm in [None, Some(0.3)] {
            let mut noise = Noise(7);
            let mut readings = read(&curve, 50.0, || 0.3 * noise.normal());
            readings.error_mm = error_mm;
            readings.readings[at].height_mm += 4.0;
            let wild = fit(&readings, &options(1400.0)).unwrap();
            let named: Vec<usize> = (0..29).filter(|&i| wild.rows[i].stands_out.is_some()).collect();
            assert_eq!(named, [at], "{error_mm:?}");
            assert_eq!(wild.findings.len(), 1);
            assert_eq!(wild.findings[0].code.name, "reading-stands-out");
            readings.excluded = vec![at];
            let clean = fit(&readings, &options(1400.0)).unwrap();
            assert!(clean.findings.is_empty());
            assert!((clean.rows[at].residual_mm() - 4.0).abs() < 1.0 && clean.rows[at].excluded);
            // It was left out of the fit before anybody excluded it.
            assert!(!wild.rows[at].used() && curvature_rms(&clean.curvature, &wild.curvature) < 1e-7);
            assert_eq!(wild.rows[at].fitted_mm, wild.curve.at(wild.rows[at].s_mm).point.y);
        }
    }
}

#[test]
fn reading_from_the_other_end_mirrors_the_board() {
    let (_, exact) = boards().swap_remove(2);
    let mut noise = Noise(3);
    let readings = read(&resting(&exact), 50.0, || 0.3 * noise.normal());
    let mut from_tip = readings.clone();
    from_tip.origin = Origin::Tip;
    let (a, b) = (fit(&readings, &options(1400.0)).unwrap(), fit(&from_tip, &options(1400.0)).unwrap());
    assert!(curvature_rms(&a.curvature.reversed(), &b.curvature) < 1e-8);
}

#[test]
fn scaling_all_lengths_scales_the_board() {
    let (_, exact) = boards().swap_remove(1);
    let mut noise = Noise(5);
    let readings = read(&resting(&exact), 50.0, || 0.3 * noise.normal());
    let mut half = readings.clone();
    for r in &mut half.readings {
        (r.station_mm, r.height_mm) = (0.5 * r.station_mm, 0.5 * r.height_mm);
    }
    // Along a straightedge, as the firmness of the floor is a length that does not scale with the board.
    let along = |mut r: Readings| {
        r.datum = Datum::Straightedge;
        r
    };
    let whole = fit(&along(readings), &options(1400.0)).unwrap();
    let half = fit(&along(half), &options(700.0)).unwrap();
    for s in [-600.0, -300.0, 0.0, 410.0, 690.0] {
        assert!((half.curvature.at(0.5 * s) - 2.0 * whole.curvature.at(s)).abs() < 1e-6);
    }
    assert!((half.weight_mm5 * 32.0 / whole.weight_mm5 - 1.0).abs() < 0.05);
    assert!((2.0 * half.tip_deviation_mm() / whole.tip_deviation_mm() - 1.0).abs() < 0.05);
}

#[test]
fn curvature_runs_out_where_that_is_asked() {
    let (_, exact) = boards().swap_remove(1);
    let mut noise = Noise(9);
    let readings = read(&resting(&exact), 50.0, || 0.3 * noise.normal());
    let fit = fit(&readings, &FitOptions { ends: Ends::RunningOut, ..options(1400.0) }).unwrap();
    assert!(fit.curvature.at(-700.0).abs() < 1e-15 && fit.curvature.at(700.0).abs() < 1e-12);
    assert!(fit.rms_mm() < 0.5, "{}", fit.rms_mm());
}

#[test]
fn four_readings_make_a_board() {
    let exact = Curvature::constant(-600.0, 600.0, 1.0 / 3000.0).unwrap();
    let fit = fit(&read(&resting(&exact), 400.0, || 0.0), &options(1200.0)).unwrap();
    assert!(curvature_rms(&fit.curvature, &exact) < 1e-8);
}

#[test]
fn readings_that_cannot_be_right_are_refused_at_their_place() {
    let curve = resting(&Curvature::constant(-600.0, 600.0, 1.0 / 3000.0).unwrap());
    let good = || read(&curve, 100.0, || 0.0);
    let change = |f: &dyn Fn(&mut Readings)| {
        let mut readings = good();
        f(&mut readings);
        let faults = fit(&readings, &options(1200.0)).unwrap_err();
        (faults[0].code.name, faults[0].path.clone(), faults[0].remedy())
    };
    let list = "rocker.measured.readings";
    type Case<'a> = (&'a dyn Fn(&mut Readings), &'a str, String);
    let cases: [Case<'_>; 10] = [
        (&|r| r.readings[0].station_mm = -3.0, "reading-past-end", format!("{list}[0]")),
        (&|r| r.readings[4].station_mm = 40.0, "readings-unsorted", format!("{list}[4]")),
        (&|r| r.readings.truncate(3), "readings-too-few", list.to_owned()),
        (&|r| drop(r.readings.drain(4..8)), "readings-gap", format!("{list}[4]")),
        (&|r| r.readings.truncate(8), "readings-gap", list.to_owned()),
        (&|r| r.readings[12].station_mm = 1300.0, "reading-past-end", format!("{list}[12]")),
        (&|r| r.readings[2].height_mm = f64::NAN, "reading-not-finite", format!("{list}[2]")),
        (&|r| r.readings[6].height_mm = -9.0, "reading-under-floor", format!("{list}[6]")),
        (&|r| r.excluded = vec![13], "reading-excluded-unknown", "rocker.measured.exclude".to_owned()),
        (&|r| r.error_mm = Some(0.0), "reading-error", "rocker.measured.error".to_owned()),
    ];
    for (f, code, path) in cases {
        let (found, at, _) = change(f);
        assert_eq!((found, at), (code, path));
    }
}

#[test]
fn a_wrong_unit_is_guessed_in_the_message() {
    let curve = resting(&Curvature::constant(-600.0, 600.0, 1.0 / 3000.0).unwrap());
    let mut readings = read(&curve, 100.0, || 0.0);
    readings.readings.iter_mut().for_each(|r| r.height_mm *= 25.4);
    let fault = fit(&readings, &options(1200.0)).unwrap_err().remove(0);
    assert_eq!(fault.code.name, "reading-too-steep");
    assert!(fault.remedy().contains("taken for inches"), "{}", fault.remedy());
    readings.readings.iter_mut().for_each(|r| r.height_mm /= 25.4 * 25.4);
    let fit = fit(&readings, &options(1200.0)).unwrap();
    assert_eq!(fit.findings.len(), 1);
    assert_eq!(fit.findings[0].code.name, "heights-look-small");
}

#[test]
fn cross_validation_finds_the_tip_too_and_the_default_finds_the_better_curvature() {
    let mut noise = Noise(23);
    for (name, exact) in boards() {
        let board = resting(&exact);
        let tip_mm = board.at(700.0).point.y;
        // Sums of squares: of the tip's error, mm², and of the curvature's, 1/mm²; for both ways, error stated or not.
        let mut sums = [[0.0; 2]; 2];
        let boards = 30;
        for i in 0..boards {
            let mut readings = read(&board, 50.0, || 0.3 * noise.normal());
            readings.error_mm = (i % 2 == 0).then_some(0.3);
            for (sum, smoothing) in sums.iter_mut().zip([Smoothing::Likelihood, Smoothing::CrossValidation]) {
                readings.smoothing = smoothing;
                let fit = fit(&readings, &options(1400.0)).unwrap();
                sum[0] += (fit.curve.at(700.0).point.y - tip_mm).powi(2);
                sum[1] += curvature_rms(&fit.curvature, &exact).powi(2);
            }
        }
        let [likely, crossed] = sums.map(|s| s.map(|square| (square / f64::from(boards)).sqrt()));
        println!("{name}: {likely:?} {crossed:?}");
        assert!(crossed[0] < 0.5, "{name}: tip off by {} mm", crossed[0]);
        assert!(likely[1] <= crossed[1], "{name}: {likely:?} {crossed:?}");
    }
}

#[test]
fn a_station_far_past_the_end_is_taken_for_the_wrong_unit_only_where_that_explains_it() {
    let curve = resting(&Curvature::constant(-600.0, 600.0, 1.0 / 3000.0).unwrap());
    let remedy = |station_mm: f64| {
        let mut readings = read(&curve, 100.0, || 0.0);
        readings.readings[12].station_mm = station_mm;
        let fault = fit(&readings, &options(1200.0)).unwrap_err().remove(0);
        assert_eq!(fault.code.name, "reading-past-end");
        fault.remedy()
    };
    let guess = "was it read in mm and taken for inches?";
    assert!(remedy(25.4 * 1200.0).contains(guess));
    // Near the board, further off than any unit makes it, or before the tail.
    for station_mm in [1300.0, 25.4 * 1300.0, -25.4 * 1200.0] {
        assert!(!remedy(station_mm).contains(guess), "{station_mm}");
    }
}

#[test]
fn a_step_that_no_base_climbs_is_laid_to_its_unit_only_where_that_explains_it() {
    let curve = resting(&Curvature::constant(-600.0, 600.0, 1.0 / 3000.0).unwrap());
    let remedy = |beside_mm: f64, step_mm: f64| {
        let mut readings = read(&curve, 100.0, || 0.0);
        let lone = Reading { station_mm: 600.0 + beside_mm, height_mm: step_mm };
        readings.readings.insert(7, lone);
        let fault = fit(&readings, &options(1200.0)).unwrap_err().remove(0);
        assert_eq!((fault.code.name, fault.path.as_str()), ("reading-too-steep", "rocker.measured.readings[7]"));
        fault.remedy()
    };
    let plainly = "No base climbs like that; check this reading and its station.";
    // 80 mm within 1 mm would be 3 in inches, but no height is beyond what a board has; 200 mm would still be 8.
    assert_eq!(remedy(1.0, 80.0), plainly);
    assert_eq!(remedy(1.0, 200.0), plainly);
    assert!(remedy(50.0, 300.0).contains("taken for inches"));
}

#[test]
fn what_is_refused_in_a_file_is_told_with_its_line() {
    let curve = resting(&Curvature::constant(-600.0, 600.0, 1.0 / 3000.0).unwrap());
    let place = |line| crate::finding::FilePlace {
        file: "board.csv".into(),
        line,
        line_start: 0,
        bytes: 0..3,
        text: "0,0".into(),
    };
    let lines = (0..13).map(|i| place(2 * i + 5)).collect();
    let file = crate::job::ReadingsFile { name: "board.csv".into(), lines };
    let refused = |change: &dyn Fn(&mut Readings)| {
        let mut readings = read(&curve, 100.0, || 0.0);
        readings.file = Some(file.clone());
        change(&mut readings);
        let fault = fit(&readings, &options(1200.0)).unwrap_err().remove(0);
        let words = fault.message();
        (fault.path, fault.place.map_or(words.clone(), |p| format!("{}:{}: {words}", p.file, p.line)))
    };
    let at = |path: &str, message: &str| (path.to_owned(), message.to_owned());
    assert_eq!(
        refused(&|r| r.readings[6].height_mm = -9.0),
        at("rocker.measured.file", "board.csv:17: a height of -9 mm lies under the floor.")
    );
    let few = refused(&|r| r.readings.truncate(3));
    assert_eq!(few, at("rocker.measured.file", "board.csv: there are readings at 3 stations."));
    // What stands in the document itself keeps its key.
    let error = refused(&|r| r.error_mm = Some(-1.0));
    assert_eq!(error, at("rocker.measured.error", "a reading error of -1 mm is not above zero."));
    // A reading that stands out is named by its line, too.
    let mut readings = read(&curve, 100.0, || 0.0);
    readings.error_mm = Some(0.3);
    readings.file = Some(file.clone());
    readings.readings[4].height_mm += 4.0;
    let named = &fit(&readings, &options(1200.0)).unwrap().findings[0];
    assert_eq!(
        named.subject.text(Default::default()),
        "reading 5 (line 13 of board.csv) at station 400.0 mm, in times the scatter of the readings"
    );
}

#[test]
fn a_key_beside_readings_at_the_root_stands_at_the_root() {
    let curve = resting(&Curvature::constant(-600.0, 600.0, 1.0 / 3000.0).unwrap());
    let mut readings = read(&curve, 100.0, || 0.0);
    readings.error_mm = Some(0.0);
    let fault = fit(&readings, &FitOptions { path: "readings".into(), ..options(1200.0) }).unwrap_err().remove(0);
    assert_eq!((fault.code.name, fault.path.as_str()), ("reading-error", "error"));
}

#[test]
fn many_readings_at_few_stations_make_the_board_that_few_make() {
    // More readings than the curve has pieces, which stand for four stations only.
    let exact = Curvature::constant(-600.0, 600.0, 1.0 / 3000.0).unwrap();
    let mut readings = read(&resting(&exact), 400.0, || 0.0);
    let once = readings.readings.clone();
    readings.readings = once.iter().flat_map(|r| [*r; 30]).collect();
    let fit = fit(&readings, &options(1200.0)).unwrap();
    assert!(curvature_rms(&fit.curvature, &exact) < 1e-8, "{}", curvature_rms(&fit.curvature, &exact));
    assert!(fit.effective_dof < 4.0 + 1e-6, "{} free numbers at four stations", fit.effective_dof);
}

#[test]
fn readings_that_repeat_each_other_to_the_digit_settle() {
    // Heights read to a full or half millimetre: both ends read again, or all, and the same numbers found.
    for (name, exact) in boards() {
        let curve = resting(&exact);
        let (ends, all) = (vec![0, 14], (0..15).collect::<Vec<usize>>());
        for (step_mm, again) in [(0.5, &ends), (1.0, &ends), (0.5, &all), (1.0, &all)] {
            for smoothing in [Smoothing::Likelihood, Smoothing::CrossValidation] {
                let mut noise = Noise(3);
                let mut readings = read(&curve, 100.0, || 0.3 * noise.normal());
                readings.smoothing = smoothing;
                readings.readings.iter_mut().for_each(|r| r.height_mm = (r.height_mm / step_mm).round() * step_mm);
                let repeated: Vec<Reading> = again.iter().map(|i| readings.readings[*i]).collect();
                readings.readings.extend(repeated);
                let fit = fit(&readings, &options(1400.0)).unwrap_or_else(|f| panic!("{name} {step_mm}: {f:?}"));
                let off = (Target::of_fit(fit.clone()).tip_height_mm() - curve.at(700.0).point.y).abs();
                assert!(off < 1.0 && fit.rms_mm() < 0.5, "{name} {step_mm}: {off} mm, {} mm", fit.rms_mm());
                // Nobody reads a rule finer than that, whatever the readings show.
                assert!(fit.error_mm >= FINEST_READING_MM * (1.0 - 1e-12), "{name}: {}", fit.error_mm);
            }
        }
    }
}

#[test]
fn at_most_a_sixth_of_the_readings_is_named() {
    // Sixteen readings at each of five stations. Four at each are off, two too high and two too low, and one more.
    let exact = Curvature::constant(-600.0, 600.0, 1.0 / 3000.0).unwrap();
    let mut readings = read(&resting(&exact), 300.0, || 0.0);
    readings.readings = readings.readings.iter().flat_map(|r| [*r; 16]).collect();
    readings.error_mm = Some(0.05);
    let mut wild = vec![(39, 0.28)];
    wild.extend(
        (0..5)
            .flat_map(|station| [(1, 0.28), (2, -0.28), (3, 0.28), (4, -0.28)].map(|(i, off)| (16 * station + i, off))),
    );
    wild.iter().for_each(|(i, off)| readings.readings[*i].height_mm += off);
    let fit = fit(&readings, &options(1200.0)).unwrap();
    let named: Vec<usize> = (0..80).filter(|i| fit.rows[*i].stands_out.is_some()).collect();
    assert_eq!((wild.len(), named.len()), (21, 13), "{named:?}");
    assert!(named.iter().all(|i| wild.iter().any(|w| w.0 == *i)), "{named:?}");
}

#[test]
fn a_station_that_the_curve_never_gets_over_has_no_place_on_it() {
    // Three quarters of a half circle to each side: above the floor it reaches its radius and no further.
    let radius = 1000.0;
    let base_mm = 3000.0;
    let curve = Curve::new(Curvature::constant(-1500.0, 1500.0, 1.0 / radius).unwrap());
    let mut readings = read(&curve, 300.0, || 0.0);
    readings.along = StationsAlong::Datum;
    readings.origin = Origin::Middle;
    let mut place = |station_mm: f64| {
        readings.readings[0].station_mm = station_mm;
        place_of(&readings, 0, base_mm, &curve)
    };
    for station_mm in [-900.0_f64, 0.0, 500.0, 990.0] {
        let exact = radius * (station_mm / radius).asin();
        assert!((place(station_mm).unwrap() - exact).abs() < 1e-6, "{station_mm}");
    }
    // A hair further than it reaches, much further, and no number.
    for station_mm in [radius + 1e-6, 1.5 * radius, f64::NAN] {
        assert_eq!(place(station_mm), None, "{station_mm}");
    }
}

#[test]
fn heights_that_a_base_of_this_length_cannot_climb_do_not_settle() {
    // Read along the floor, the second half rises at 60 degrees: its base would be twice as long as it is.
    let rising = |i: u32| Reading {
        station_mm: 50.0 * f64::from(i),
        height_mm: if i < 10 { 0.0 } else { 86.6 * f64::from(i - 10) },
    };
    let mut readings = read(&resting(&Curvature::constant(-500.0, 500.0, 0.0).unwrap()), 50.0, || 0.0);
    readings.readings = (0..=20).map(rising).collect();
    readings.along = StationsAlong::Datum;
    let fault = fit(&readings, &options(1000.0)).unwrap_err().remove(0);
    assert_eq!((fault.code.name, fault.path.as_str()), ("fit-not-settled", "rocker.measured.readings"));
}

/// The table of a runner with one hard kick, read along a straight line beside it: its last 400 mm climb to 64 degrees.
#[test]
fn a_steep_table_read_along_a_line_settles_at_every_pitch() {
    let k = 1.0 / 405.0;
    let nodes = [(-900.0, 0.0), (350.0, 0.0), (470.0, k), (800.0, k), (860.0, 0.0), (902.0, 0.0)];
    let table = Curve::new(Curvature::through(&nodes).unwrap());
    let (from, to) = (table.at(-900.0).point, table.at(902.0).point);
    let height = |x: f64| {
        let (mut low, mut high) = (-900.0, 902.0);
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            if table.at(middle).point.x - from.x < x { low = middle } else { high = middle }
        }
        table.at(low).point.y
    };
    for pitch_mm in [50.0, 75.0, 100.0] {
        let mut readings = read(&table, 100.0, || 0.0);
        let count = ((to.x - from.x) / pitch_mm).floor() as u32;
        readings.along = StationsAlong::Datum;
        readings.datum = Datum::Straightedge;
        readings.readings = (0..=count)
            .map(|i| pitch_mm * f64::from(i))
            .map(|x| Reading { station_mm: x, height_mm: height(x) })
            .collect();
        let (first, last) = (readings.readings[0], readings.readings[count as usize]);
        let straight_mm = (last.station_mm - first.station_mm).hypot(last.height_mm - first.height_mm);
        let fit = fit(&readings, &FitOptions { length_along: LengthAlong::Straight, ..options(straight_mm) });
        assert!(fit.is_ok_and(|f| f.rms_mm() < 0.5), "{pitch_mm}");
    }
}

#[test]
fn the_rms_is_that_of_the_readings_used() {
    let (_, exact) = boards().swap_remove(1);
    let mut noise = Noise(11);
    let mut readings = read(&resting(&exact), 100.0, || 0.3 * noise.normal());
    readings.readings[4].height_mm += 3.0;
    readings.excluded = vec![4];
    let fit = fit(&readings, &options(1400.0)).unwrap();
    let off = |i: usize| readings.readings[i].height_mm - fit.curve.at(readings.readings[i].station_mm - 700.0).point.y;
    let square: f64 = (0..15).filter(|i| *i != 4).map(|i| off(i).powi(2)).sum();
    assert!((fit.rms_mm() - (square / 14.0).sqrt()).abs() < 1e-12, "{} {square}", fit.rms_mm());
    assert!(fit.rms_mm() > 0.1, "{}", fit.rms_mm());
}

#[test]
fn a_straight_edge_takes_two_rounds_for_its_weight_and_one_for_itself() {
    // All heights none: the first round finds the curve and its weight, the second the same weight, the third moves nothing.
    let mut readings = read(&resting(&Curvature::constant(-600.0, 600.0, 0.0).unwrap()), 100.0, || 0.0);
    for datum in [Datum::Floor, Datum::Straightedge] {
        readings.datum = datum;
        let fit = fit(&readings, &options(1200.0)).unwrap();
        assert_eq!((fit.iterations, fit.residual_mm), (3, 0.0));
        assert_eq!(fit.on_floor(), datum == Datum::Floor);
        // The curve is an arc: height, direction and one curvature.
        assert!((fit.effective_dof - 3.0).abs() < 1e-3, "{}", fit.effective_dof);
    }
}

#[test]
fn heights_look_small_by_their_span_whatever_they_are_measured_from() {
    // An arc of 2 mm over 1200 mm, 10 mm above the straightedge; a board spans three thousandths of its length at least.
    let rise = |i: i32| 2.0 * (f64::from(i - 6) / 6.0).powi(2);
    let mut readings = read(&resting(&Curvature::constant(-600.0, 600.0, 0.0).unwrap()), 100.0, || 0.0);
    readings.datum = Datum::Straightedge;
    readings.readings.iter_mut().zip(0..).for_each(|(r, i)| r.height_mm = 10.0 + rise(i));
    let found = fit(&readings, &options(1200.0)).unwrap().findings;
    assert_eq!(found.len(), 1);
    assert_eq!(found[0].code.name, "heights-look-small");
    assert!(
        (found[0].si().unwrap().0 - 2.0).abs() < 1e-12 && (found[0].si().unwrap().1 - 3.6).abs() < 1e-12,
        "{:?}",
        found[0]
    );
    readings.readings.iter_mut().zip(0..).for_each(|(r, i)| r.height_mm = 10.0 + 1.9 * rise(i));
    assert!(fit(&readings, &options(1200.0)).unwrap().findings.is_empty());
}

#[test]
fn a_place_is_never_found_on_a_further_winding() {
    // Ends bent past the upright: a step from near it goes many lengths away, where the extended arc passes every station.
    let radius = 1000.0;
    let curve = Curve::new(Curvature::constant(-1600.0, 1600.0, 1.0 / radius).unwrap());
    let mut readings = read(&curve, 400.0, || 0.0);
    readings.along = StationsAlong::Datum;
    let mut none = 0;
    for i in 0..200 {
        readings.readings[0].station_mm = 20.0 + 0.1 * f64::from(i);
        match place_of(&readings, 0, 3200.0, &curve) {
            Some(s) => assert!(s.abs() <= 6400.0, "{s}"),
            None => none += 1,
        }
    }
    assert!(none > 0);
}

/// What the check says of changed readings of a board of 1200 mm with a station every 100 mm.
fn checked(change: impl Fn(&mut Readings)) -> Faults {
    let mut readings = read(&resting(&Curvature::constant(-600.0, 600.0, 1.0 / 3000.0).unwrap()), 100.0, || 0.0);
    change(&mut readings);
    check::readings(&readings, &options(1200.0)).err().unwrap_or_default()
}

/// Stations counted from the middle.
fn from_middle(readings: &mut Readings) {
    readings.origin = Origin::Middle;
    readings.readings.iter_mut().for_each(|r| r.station_mm -= 600.0);
}

#[test]
fn a_pencil_line_past_either_end_is_taken_and_more_is_not() {
    type Change = fn(&mut Readings);
    let ways: [(Change, &str); 2] =
        [(|_| (), "which reaches from 0 mm to 1200 mm."), (from_middle, "which reaches from -600 mm to 600 mm.")];
    for (way, reaches) in ways {
        for (i, sign) in [(0, -1.0), (12, 1.0)] {
            let past = |by_mm: f64| {
                checked(|r| {
                    way(r);
                    r.readings[i].station_mm += sign * by_mm;
                })
            };
            assert!(past(0.4).is_empty(), "{:?}", past(0.4));
            let faults = past(0.6);
            assert_eq!(faults[0].code.name, "reading-past-end");
            assert!(faults[0].message().ends_with(reaches), "{}", faults[0].message());
        }
    }
}

#[test]
fn two_thousand_readings_are_taken_and_one_more_is_not() {
    let many = |count: usize| checked(|r| r.readings = vec![r.readings[0]; count])[0].clone();
    assert_eq!(many(2000).code.name, "readings-too-few", "all at one station");
    let fault = many(2001);
    assert_eq!((fault.code.name, fault.path.as_str()), ("readings-too-many", "rocker.measured.readings"));
    assert_eq!(fault.message(), "there are 2001 readings; 2000 are the most.");
}

#[test]
fn readings_of_one_place_may_differ_by_six_stated_errors_or_five_millimetres() {
    for (error_mm, allowed_mm) in [(Some(0.5), 3.0), (Some(2.0), 12.0), (None, 5.0)] {
        let apart = |by_mm: f64| {
            let mut readings = read(&resting(&Curvature::constant(-600.0, 600.0, 0.0).unwrap()), 100.0, || 0.0);
            readings.error_mm = error_mm;
            readings.readings.push(Reading { station_mm: 1200.0, height_mm: by_mm });
            let all: Vec<usize> = (0..14).collect();
            // What is not in use does not matter.
            assert_eq!(check::agreement(&readings, &all[..13], &options(1200.0)), Ok(()));
            check::agreement(&readings, &all, &options(1200.0)).err().unwrap_or_default()
        };
        assert!(apart(0.99 * allowed_mm).is_empty() && apart(-0.99 * allowed_mm).is_empty());
        let faults = apart(1.01 * allowed_mm);
        assert_eq!(faults[0].code.name, "readings-conflict");
        assert!(faults[0].remedy().contains(&format!("within {allowed_mm} mm;")), "{}", faults[0].remedy());
    }
}

#[test]
fn a_station_counted_from_the_middle_is_taken_for_the_wrong_unit_at_the_tail_too() {
    let remedy = |station_mm: f64| {
        let faults = checked(|r| {
            from_middle(r);
            r.readings[0].station_mm = station_mm;
        });
        assert_eq!(faults[0].code.name, "reading-past-end");
        faults[0].remedy()
    };
    let guess = "was it read in mm and taken for inches?";
    assert!(remedy(-25.4 * 600.0).contains(guess));
    assert!(!remedy(-25.4 * 900.0).contains(guess), "900 mm before the middle lies past the board, too");
}

#[test]
fn stations_from_the_middle_in_a_list_from_an_end_are_one_fault() {
    for origin in [Origin::Tail, Origin::Tip] {
        let faults = checked(|r| {
            from_middle(r);
            r.origin = origin;
        });
        assert_eq!(faults.len(), 1, "{faults:?}");
        assert!(
            faults[0].code.name == "reading-past-end" && faults[0].remedy().contains("--from middle"),
            "{faults:?}"
        );
    }
}

#[test]
fn neighbours_climb_no_steeper_than_their_base_and_two_rough_readings_allow() {
    // 10 mm apart: along the base 10 mm, along the floor 30, and 5 mm for the readings.
    for (along, most_mm) in [(StationsAlong::Base, 15.0), (StationsAlong::Datum, 35.0)] {
        let climbing = |by_mm: f64| {
            checked(|r| {
                r.along = along;
                let before = r.readings[6];
                let (station_mm, height_mm) = (before.station_mm + 10.0, before.height_mm + by_mm);
                r.readings.insert(7, Reading { station_mm, height_mm });
            })
        };
        assert!(climbing(0.99 * most_mm).is_empty(), "{:?}", climbing(0.99 * most_mm));
        assert_eq!(climbing(1.01 * most_mm)[0].code.name, "reading-too-steep");
    }
    // 255 mm within 1 mm are 10 mm when divided by 25.4: no base climbs like that either.
    let faults = checked(|r| {
        let lone = Reading { station_mm: 601.0, height_mm: r.readings[6].height_mm + 255.0 };
        r.readings.insert(7, lone);
    });
    assert_eq!(faults[0].remedy(), "No base climbs like that; check this reading and its station.");
}
