//! Every way to say the rocker, from the document to the files of `overbend target`.

use crate::support::close_abs;
use overbend::curve::{Curve, PlaneCurve};
use overbend::document::{Document, Inputs, Problems};
use overbend::job::Wanted;
use overbend::rocker;
use overbend::run;
use proptest::prelude::*;

fn document(length: &str, rocker: &str) -> String {
    format!("title = \"Board\"\n[board]\nlength = {length}\nwidth = 250\n{rocker}\n")
}

fn wanted_of(text: &str, inputs: &Inputs) -> Result<Wanted, Problems> {
    Document::parse("job.toml", text).unwrap().wanted_with(inputs)
}

#[track_caller]
fn made(length: &str, rocker: &str) -> rocker::Target {
    let wanted = wanted_of(&document(length, rocker), &Inputs::default()).unwrap_or_else(|p| panic!("{p:#?}"));
    rocker::target(&wanted.rocker, &wanted.board).unwrap_or_else(|f| panic!("{f:#?}"))
}

/// Largest distance between two curves at equal places along the base.
fn apart(a: &Curve, b: &Curve) -> f64 {
    let ((from, to), (other_from, other_to)) = (a.range_mm(), b.range_mm());
    (0..=200)
        .map(|i| f64::from(i) / 200.0)
        .map(|t| {
            let (s, o) = (from + (to - from) * t, other_from + (other_to - other_from) * t);
            a.at(s).point.distance(b.at(o).point)
        })
        .fold(0.0, f64::max)
}

const KICKED: &str = "[rocker.segments]\nmirrored = true\nparts = [ { flat = { length = 700 } }, { easing = { length = 80 } }, \
                      { arc = { height = 35 } } ]";

#[test]
fn one_circle_comes_from_every_table() {
    // R = 2500 mm over 1200 mm of base; what each way needs follows from the circle.
    let rise = 1000.0 * 2.5 * (1.0 - 0.24_f64.cos());
    let chord_rise = 2500.0 - (2500.0_f64.powi(2) - 300.0_f64.powi(2)).sqrt();
    let readings: Vec<String> = (0..=24)
        .map(|i| 50.0 * f64::from(i))
        .map(|s| format!("[{s}, {}]", 2500.0 * (1.0 - ((s - 600.0) / 2500.0).cos())))
        .collect();
    let ways = [
        "[rocker.arc]\nradius = \"2.5 m\"".to_owned(),
        format!("[rocker.arc]\nheight = {rise}"),
        format!("[rocker.arc]\nangle = \"{} rad\"", 0.48),
        format!("[rocker.arc]\nrise = {chord_rise}\nchord = 600"),
        "[rocker.segments]\nparts = [ { arc = { length = 500, radius = 2500 } }, { arc = { radius = 2500 } } ]"
            .to_owned(),
        format!(
            "[rocker.segments]\nmirrored = true\ntip_height = {rise}\nparts = [ {{ arc = {{ length = 1200, angle = \"solve\" }} }} ]"
        ),
        "[rocker.curve]\npoints = [ { station = 0, radius = 2500 }, { station = 1200, curvature = 0.4 } ]".to_owned(),
        format!("[rocker.measured]\nerror = 0.1\nreadings = [ {} ]", readings.join(", ")),
    ];
    for way in ways {
        let target = made("1200", &way);
        close_abs(target.tip_height_mm(), rise, 2e-3);
        close_abs(target.tail_height_mm(), rise, 2e-3);
        close_abs(target.curvature.at(130.0) * 2500.0, 1.0, 2e-3);
        assert_eq!(target.report.bumps, 0, "{way}");
    }
}

#[test]
fn an_exported_profile_comes_back_within_two_hundredths_of_a_millimetre() {
    let camber = "[rocker.segments]\nparts = [ { arc = { length = 160, height = 22 } }, { easing = { length = 70 } }, \
                  { camber = { height = 4 } }, { easing = { length = 70 } }, { arc = { length = 210, height = 48 } } ]";
    for rocker in ["[rocker.arc]\nheight = 45", KICKED, camber] {
        let wanted = wanted_of(&document("1350", rocker), &Inputs::default()).unwrap();
        let original = rocker::target(&wanted.rocker, &wanted.board).unwrap();
        let outcome = run::target(&wanted).unwrap();
        for name in ["profile.dxf", "profile.svg"] {
            let file = outcome.files.iter().find(|f| f.name == name).unwrap();
            let mut inputs = Inputs::default();
            inputs.add(name, Ok(file.bytes.clone()));
            let text = document("1350", &format!("[rocker.drawing]\nfile = \"{name}\""));
            let drawn = wanted_of(&text, &inputs).unwrap();
            let back = rocker::target(&drawn.rocker, &drawn.board).unwrap_or_else(|f| panic!("{name}: {f:#?}"));
            let distance = apart(&original.curve, &back.curve);
            assert!(distance < 0.02, "{name}: {distance} mm apart");
        }
    }
}

#[test]
fn a_csv_file_reads_like_the_list() {
    let heights = [60.0, 41.7, 26.7, 15.0, 6.7, 1.7, 0.0, 1.7, 6.7, 15.0, 26.7, 41.7, 60.0];
    let list: Vec<String> = heights.iter().enumerate().map(|(i, z)| format!("[{}, {z}]", 100 * i)).collect();
    let listed = made("1200", &format!("[rocker.measured]\nreadings = [ {} ]", list.join(", ")));
    let line = |part: &str, decimal: &str, factor: f64, unit: &str| -> String {
        let rows = heights.iter().enumerate().map(|(i, z)| {
            let row = format!("{}{part}{}{unit}", 100.0 * i as f64 / factor, z / factor);
            row.replace('.', decimal) + "\r\n"
        });
        rows.collect()
    };
    let files = [
        format!("# read in the evening\nstation,height\n{}", line(",", ".", 1.0, "")),
        format!("\u{feff}{}", line(";", ",", 1.0, "")),
        format!("station_in\theight_in\n{}", line("\t", ".", 25.4, "")),
        line(", ", ".", 1.0, " mm"),
    ];
    for file in files {
        let mut inputs = Inputs::default();
        inputs.add("board.csv", Ok(file.into_bytes()));
        let text = document("1200", "[rocker.measured]\nfile = \"board.csv\"");
        let wanted = wanted_of(&text, &inputs).unwrap_or_else(|p| panic!("{p:#?}"));
        let target = rocker::target(&wanted.rocker, &wanted.board).unwrap();
        assert!(apart(&target.curve, &listed.curve) < 1e-6);
    }
}

#[test]
fn what_is_wrong_with_a_reading_of_a_file_is_told_with_its_line() {
    let run = |rows: &str| {
        let mut inputs = Inputs::default();
        inputs.add("board.csv", Ok(format!("# read in June\nstation,height\n0,60\n\n{rows}").into_bytes()));
        let text = document("1200", "[rocker.measured]\nfile = \"board.csv\"");
        let document = Document::parse("job.toml", &text).unwrap();
        let wanted = document.wanted_with(&inputs).unwrap();
        let faults = run::target(&wanted).unwrap_err();
        document.problems(&faults).iter().map(ToString::to_string).collect::<Vec<_>>().join("\n")
    };
    let unsorted = run("300,15\n200,26\n600,0\n900,15\n1200,60\n");
    assert!(
        unsorted.starts_with("Station 200") && unsorted.contains("(board.csv, line 6; readings-unsorted)"),
        "{unsorted}"
    );
    let few = run("600,0\n1200,60\n");
    assert!(few.contains("(job.toml, line 6") && few.contains("readings-too-few)"), "{few}");
}

#[test]
fn a_wrong_line_of_a_csv_file_is_told_with_its_number() {
    let mut inputs = Inputs::default();
    inputs.add("board.csv", Ok(b"station,height\n0,60\n100,4x\n200\n".to_vec()));
    let found = wanted_of(&document("1200", "[rocker.measured]\nfile = \"board.csv\""), &inputs).unwrap_err();
    let said: Vec<String> = found.iter().map(ToString::to_string).collect();
    assert_eq!(said.len(), 2, "{said:#?}");
    assert!(said[0].ends_with("(board.csv, line 3; wrong-unit)"), "{said:#?}");
    assert!(said[1].ends_with("(board.csv, line 4; wrong-shape)"), "{said:#?}");
}

#[test]
fn a_drawing_in_the_wrong_unit_and_a_file_that_is_missing_are_told() {
    let text = document("1200", "[rocker.drawing]\nfile = \"profile.dxf\"");
    let found = wanted_of(&text, &Inputs::default()).unwrap_err();
    assert_eq!(found[0].fault.code.name, "file-not-read");
    let mut inputs = Inputs::default();
    inputs.add("profile.dxf", Err("profile.dxf cannot be read: no such file.".to_owned()));
    let found = wanted_of(&text, &inputs).unwrap_err();
    assert!(found[0].fault.message().contains("no such file"), "{found:#?}");
}

#[test]
fn only_what_stands_there_about_the_board_is_checked() {
    let text = document("1200", "[rocker.arc]\nradius = 2500\n[table]\nskim = 3\n[[layers]]\nmaterial = \"pawlonia\"");
    assert!(wanted_of(&text, &Inputs::default()).is_ok());
    let text = document("1200", "[rocker.arc]\nradios = 2500\n");
    assert_eq!(wanted_of(&text, &Inputs::default()).unwrap_err()[0].fault.code.name, "unknown-key");
}

#[test]
fn the_job_is_known_by_the_files_it_names_too() {
    let text = document("1200", "[rocker.measured]\nfile = \"b.csv\"");
    let hash = |height: &str| {
        let mut inputs = Inputs::default();
        inputs.add("b.csv", Ok(format!("0,{height}\n300,15\n600,0\n900,15\n1200,60\n").into_bytes()));
        wanted_of(&text, &inputs).unwrap().hash
    };
    assert_ne!(hash("60"), hash("61"));
    assert_eq!(hash("60"), hash("60"));
}

/// Boards of segments that can be built: length, shares of flat and easing in it, height over length of each end's arc.
fn shapes() -> impl Strategy<Value = (f64, f64, f64, f64, f64)> {
    (800.0..2000.0, 0.3..0.6, 0.05..0.12, 0.05..0.3, 0.05..0.3)
}

fn segments(unit: &str, factor: f64, shape: (f64, f64, f64, f64, f64), swapped: bool) -> (String, String) {
    let (length, flat, easing, tail, tip) = shape;
    let say = |mm: f64| format!("\"{} {unit}\"", mm / factor);
    let end = 0.5 * length * (1.0 - flat - 2.0 * easing);
    let (first, last) = if swapped { (tip, tail) } else { (tail, tip) };
    let arc = |height: f64| format!("{{ arc = {{ length = {}, height = {} }} }}", say(end), say(height * end));
    let ease = format!("{{ easing = {{ length = {} }} }}", say(easing * length));
    let parts = format!("{}, {ease}, {{ flat = {{ }} }}, {ease}, {}", arc(first), arc(last));
    (say(length), format!("[rocker.segments]\nparts = [ {parts} ]"))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn tip_and_tail_change_places_when_the_list_is_turned_round(shape in shapes()) {
        let (length, rocker) = segments("mm", 1.0, shape, false);
        let (_, turned) = segments("mm", 1.0, shape, true);
        let (one, other) = (made(&length, &rocker), made(&length, &turned));
        prop_assert!((one.tip_height_mm() - other.tail_height_mm()).abs() < 1e-8);
        prop_assert!((one.tail_height_mm() - other.tip_height_mm()).abs() < 1e-8);
        for t in [-0.49, -0.3, 0.1, 0.35, 0.47] {
            let s = t * shape.0;
            prop_assert!((one.curvature.at(s) - other.curvature.at(-s)).abs() < 1e-11);
        }
    }

    #[test]
    fn inches_say_the_same_as_millimetres(shape in shapes()) {
        let (mm, rocker_mm) = segments("mm", 1.0, shape, false);
        let (inch, rocker_inch) = segments("in", 25.4, shape, false);
        let (one, other) = (made(&mm, &rocker_mm), made(&inch, &rocker_inch));
        prop_assert!(apart(&one.curve, &other.curve) < 1e-7);
    }

    #[test]
    fn a_board_of_twice_the_size_has_half_the_curvature(shape in shapes()) {
        let (small, rocker_small) = segments("mm", 1.0, shape, false);
        let (large, rocker_large) = segments("mm", 0.5, shape, false);
        let (one, two) = (made(&small, &rocker_small), made(&large, &rocker_large));
        prop_assert!((two.tip_height_mm() - 2.0 * one.tip_height_mm()).abs() < 1e-7);
        prop_assert!((two.curvature.at(0.8 * shape.0) - 0.5 * one.curvature.at(0.4 * shape.0)).abs() < 1e-11);
        prop_assert!((two.report.tip_angle_rad - one.report.tip_angle_rad).abs() < 1e-9);
    }

    #[test]
    fn exact_readings_of_a_board_give_its_heights_back(shape in shapes()) {
        let (length, rocker) = segments("mm", 1.0, shape, false);
        let board = made(&length, &rocker);
        let (from, to) = board.curve.range_mm();
        let rows: Vec<String> = (0..=60)
            .map(|i| (to - from) * f64::from(i) / 60.0)
            .map(|s| format!("[\"{s} mm\", \"{} mm\"]", board.curve.at(from + s).point.y.max(0.0)))
            .collect();
        let back = made(&length, &format!("[rocker.measured]\nerror = 0.02\nreadings = [ {} ]", rows.join(", ")));
        prop_assert!((back.tip_height_mm() - board.tip_height_mm()).abs() < 0.1);
        prop_assert!((back.tail_height_mm() - board.tail_height_mm()).abs() < 0.1);
    }
}
