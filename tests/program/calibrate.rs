//! Learning from measured boards, from the command line.

use std::fs;
use std::path::Path;
use std::process::{Output, Stdio};
use std::time::{Duration, Instant};

use assert_cmd::Command;
use tempfile::TempDir;

const JOB: &str = r#"
title = "Thick core"
shop = "shop.toml"
accept = ["table-stiffness"]
[board]
length = 1200
width = 300
overhang = 150
[rocker.arc]
height = 40
[[layers]]
name = "skin"
modulus = "25 GPa"
thickness = 0.8
[[layers]]
name = "core"
material = "ash, white"
thickness = 8
[[layers]]
name = "skin"
modulus = "25 GPa"
thickness = 0.8
[pressing.vacuum]
pressure = "80 kPa"
[forecast]
draws = 200
[table]
skin = 4
side_margin = 60
end_margin = 40
station_pitch = 100
[table.ribs]
count = 4
thickness = 18
lowest_height = 60
"#;

/// Heights of an arc whose ends stand this high, every 50 mm, with errors of a rule that do not depend on the machine.
fn arc(tip_mm: f64) -> String {
    let k = 2.0 * tip_mm / (600.0 * 600.0);
    let height = |i: i32| (1.0 - (k * f64::from(50 * i - 600)).cos()) / k + 0.1 * f64::from((7 * i) % 5 - 2);
    (0..=24).map(|i| format!("{},{:.1}\n", 50 * i, height(i))).collect()
}

fn folder() -> TempDir {
    let dir = TempDir::new().unwrap();
    fs::write(dir.path().join("job.toml"), JOB).unwrap();
    fs::write(dir.path().join("first.csv"), arc(44.0)).unwrap();
    fs::write(dir.path().join("second.csv"), arc(40.5)).unwrap();
    dir
}

fn overbend(dir: &Path, arguments: &[&str]) -> Output {
    Command::cargo_bin("overbend").unwrap().args(arguments).current_dir(dir).output().unwrap()
}

fn words(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap() + &String::from_utf8(output.stderr.clone()).unwrap()
}

#[track_caller]
fn ended(output: &Output, code: i32) -> String {
    assert_eq!(output.status.code(), Some(code), "{}", words(output));
    words(output)
}

fn figures(dir: &Path) -> serde_json::Value {
    ended(&overbend(dir, &["build", "job.toml", "-o", "out"]), 0);
    serde_json::from_slice(&fs::read(dir.join("out/result.json")).unwrap()).unwrap()
}

#[test]
fn the_next_build_uses_what_a_board_taught_and_says_so() {
    let dir = folder();
    let before = figures(dir.path());
    assert!(before.get("calibration").is_none());
    // Higher than wanted: it sprang back less than the layers alone say.
    let said = ended(&overbend(dir.path(), &["calibrate", "job.toml", "first.csv", "--date", "2026-03-01"]), 0);
    assert!(said.contains("one factor fits") && said.contains("learned from 1 board"), "{said}");
    let after = figures(dir.path());
    let factor = after["calibration"]["factor"].as_f64().unwrap();
    let share = |result: &serde_json::Value| result["stack"]["springback_share"].as_f64().unwrap();
    // What the squeezed core gives back, some 1e-4 of the whole, follows no factor.
    assert!((share(&after) / share(&before) - factor).abs() < 1e-4 * (1.0 - factor) && factor < 0.95, "{factor}");
    assert_eq!(after["calibration"]["boards"], 1);
    let band = |r: &serde_json::Value, p: &str| r["forecast"]["tip_height_mm"][p].as_f64().unwrap();
    let width = |r: &serde_json::Value| band(r, "p95") - band(r, "p05");
    assert!(width(&after) < 0.6 * width(&before), "{} {}", width(&before), width(&after));
    let check = ended(&overbend(dir.path(), &["check", "job.toml"]), 0);
    assert!(check.contains("times the layers' own") && !check.contains("first board"), "{check}");
}

/// The board that the model itself predicts off the designed table has the factor 1.
#[test]
fn a_board_that_came_out_as_predicted_has_the_factor_one() {
    let dir = folder();
    fs::write(dir.path().join("as-wanted.csv"), arc(40.0)).unwrap();
    let output = overbend(dir.path(), &["calibrate", "job.toml", "as-wanted.csv", "--dry-run", "--json"]);
    let json: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    let board = &json["board"];
    let (low, high) = (board["factor_p05"].as_f64().unwrap(), board["factor_p95"].as_f64().unwrap());
    assert!(low < 1.0 && high > 1.0 && high - low < 0.12, "{low} {high}");
    assert!(!dir.path().join("shop.toml").exists());
}

#[test]
fn what_stands_in_the_shops_file_stays() {
    let dir = folder();
    let path = dir.path().join("shop.toml");
    fs::write(&path, "# boards of this winter\nhalve_after = 10\n").unwrap();
    ended(&overbend(dir.path(), &["calibrate", "job.toml", "first.csv", "--label", "one", "--remark", "18 °C"]), 0);
    let first = fs::read_to_string(&path).unwrap() + "# a remark by hand";
    fs::write(&path, &first).unwrap();
    ended(&overbend(dir.path(), &["calibrate", "job.toml", "second.csv"]), 0);
    let second = fs::read_to_string(&path).unwrap();
    assert!(second.starts_with(&first) && second.matches("[[board]]").count() == 2, "{second}");
    let twice = ended(&overbend(dir.path(), &["calibrate", "job.toml", "second.csv", "--label", "one"]), 2);
    assert!(twice.contains("a board called `one` already"), "{twice}");
    assert_eq!(fs::read_to_string(&path).unwrap(), second);
    let left: Vec<String> = fs::read_dir(dir.path())
        .unwrap()
        .map(|e| e.unwrap().file_name().into_string().unwrap())
        .filter(|n| n.starts_with('.'))
        .collect();
    assert!(left.is_empty(), "{left:?}");
}

#[test]
fn a_broken_shops_file_is_refused_with_its_place_and_never_written() {
    let dir = folder();
    let path = dir.path().join("shop.toml");
    let broken = "halve_after = 10\n[[board]]\nlabel = \"half a bo";
    fs::write(&path, broken).unwrap();
    for command in [&["calibrate", "job.toml", "first.csv"][..], &["check", "job.toml"]] {
        let said = ended(&overbend(dir.path(), command), 2);
        assert!(said.to_lowercase().contains("line 3 of shop.toml"), "{said}");
    }
    assert_eq!(fs::read_to_string(&path).unwrap(), broken);
}

#[test]
fn two_runs_at_once_both_keep_their_board() {
    let dir = folder();
    std::thread::scope(|scope| {
        for label in ["a", "b", "c", "d"] {
            let dir = dir.path();
            scope.spawn(move || {
                ended(&overbend(dir, &["calibrate", "job.toml", "first.csv", "--label", label, "--new-table"]), 0)
            });
        }
    });
    let text = fs::read_to_string(dir.path().join("shop.toml")).unwrap();
    for label in ["a", "b", "c", "d"] {
        assert!(text.contains(&format!("label = \"{label}\"")), "{label} is lost");
    }
    assert_eq!(figures(dir.path())["calibration"]["boards"], 4);
}

#[test]
fn shims_are_made_of_what_the_shop_has() {
    let dir = folder();
    let arguments = [
        "calibrate",
        "job.toml",
        "first.csv",
        "--shim",
        "0.3",
        "--shim",
        "0.8",
        "--shim",
        "2 mm",
        "-o",
        "look",
        "--dry-run",
    ];
    let said = ended(&overbend(dir.path(), &arguments), 0);
    assert!(said.contains("dry run") || said.contains("Dry run"), "{said}");
    let csv = fs::read_to_string(dir.path().join("look/shims.csv")).unwrap();
    let mut some = 0;
    for line in csv.lines().skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        let pieces: f64 = cells[5].split(" + ").filter(|p| !p.is_empty()).map(|p| p.parse::<f64>().unwrap()).sum();
        let (add, error): (f64, f64) = (cells[4].parse().unwrap(), cells[6].parse().unwrap());
        assert!((pieces - add - error).abs() < 0.011 && add > -0.005 && error.abs() < 0.3, "{line}");
        some += usize::from(pieces > 0.0);
    }
    assert!(some > 5, "{csv}");
}

/// A table that was built flatter than designed explains a flatter board: the factor comes out near 1 only with it.
#[test]
fn a_table_built_wrong_is_taken_as_it_was_built() {
    let dir = folder();
    let json = |more: &[&str]| -> serde_json::Value {
        let all = [&["calibrate", "job.toml", "flat.csv", "--dry-run", "--json"][..], more].concat();
        let output = overbend(dir.path(), &all);
        assert_eq!(output.status.code(), Some(0), "{}", words(&output));
        serde_json::from_slice(&output.stdout).unwrap()
    };
    let result = figures(dir.path());
    let share = result["stack"]["springback_share"].as_f64().unwrap();
    // A table of 8 m; its board is an arc of 8 m over 1 - share, but for the thickness of the stack.
    let radius = (8000.0 - 4.8) / (1.0 - share) + 4.8;
    fs::write(dir.path().join("flat.csv"), arc(radius * (1.0 - (600.0_f64 / radius).cos()))).unwrap();
    let heights: String = (0..=32)
        .map(|i| 50.0 * f64::from(i) - 800.0)
        .map(|x| format!("{},{:.2}\n", x + 800.0, 8000.0 - (8000.0_f64 * 8000.0 - x * x).sqrt()))
        .collect();
    fs::write(dir.path().join("table.csv"), heights).unwrap();
    let right = json(&["--as-built", "table.csv"])["board"]["factor"].as_f64().unwrap();
    let wrong = json(&[])["board"]["factor"].as_f64().unwrap();
    assert!((right - 1.0).abs() < 0.06 && wrong > 1.2, "{right} {wrong}");
}

#[test]
fn wrong_arguments_and_readings_are_told_and_nothing_is_kept() {
    let dir = folder();
    fs::write(dir.path().join("bad.csv"), "0,1\n100,2 kPa\n").unwrap();
    let cases: [(&[&str], &str); 5] = [
        (&["bad.csv"], "bad.csv, line 2\n"),
        (&["first.csv", "--date", "1 March"], "is not a date"),
        (&["first.csv", "--shim", "0"], "not a shim thickness"),
        (&["first.csv", "--same-table"], "no board before this one"),
        (&["first.csv", "--error", "2 kg"], "not a reading error"),
    ];
    for (more, expected) in cases {
        let said = ended(&overbend(dir.path(), &[&["calibrate", "job.toml"][..], more].concat()), 2);
        assert!(said.contains(expected), "{expected} is not in\n{said}");
    }
    assert!(!dir.path().join("shop.toml").exists());
}

/// Whatever moment a run is killed at, the file holds all boards that were kept before, and the killed one whole or not at
/// all; the next run is not held up by what the killed one left.
#[test]
fn killed_at_any_moment_the_file_is_whole() {
    let dir = folder();
    let path = dir.path().join("shop.toml");
    fs::write(&path, "# boards of this winter\n").unwrap();
    let start = Instant::now();
    ended(&overbend(dir.path(), &["calibrate", "job.toml", "first.csv", "--label", "whole"]), 0);
    let took = start.elapsed();
    let mut before = fs::read_to_string(&path).unwrap();
    let runs = 24;
    let mut killed = 0;
    for i in 0..runs {
        let label = format!("killed {i}");
        let mut run = std::process::Command::new(assert_cmd::cargo::cargo_bin("overbend"))
            .args(["calibrate", "job.toml", "first.csv", "--label", &label])
            .current_dir(dir.path())
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        // Most moments lie about the end, where the file is written.
        let moment = took.mul_f64(0.3 + f64::from(i) / f64::from(runs));
        std::thread::sleep(moment.max(Duration::from_millis(1)));
        let _ = run.kill();
        killed += usize::from(!run.wait().unwrap().success());
        let now = fs::read_to_string(&path).unwrap();
        assert!(now.starts_with(&before), "run {i} changed what was there");
        let shop = overbend::document::shop::read("shop.toml", &now).unwrap_or_else(|p| panic!("{p:#?}"));
        let labels: Vec<&str> = shop.boards.iter().map(|b| b.label.as_str()).collect();
        assert!(now == before || labels.last() == Some(&label.as_str()), "{labels:?}");
        before = now;
    }
    assert!(killed > 0, "no run was killed before its end");
    ended(&overbend(dir.path(), &["calibrate", "job.toml", "first.csv", "--label", "last"]), 0);
    let left: Vec<String> = fs::read_dir(dir.path())
        .unwrap()
        .map(|e| e.unwrap().file_name().into_string().unwrap())
        .filter(|n| n.starts_with('.'))
        .collect();
    assert!(left.is_empty(), "{left:?}");
}

#[test]
fn a_board_that_is_measured_again_counts_once_with_its_later_readings() {
    let dir = folder();
    ended(&overbend(dir.path(), &["calibrate", "job.toml", "first.csv", "--label", "one"]), 0);
    let said = ended(
        &overbend(dir.path(), &["calibrate", "job.toml", "second.csv", "--again", "one", "--remark", "a day later"]),
        0,
    );
    assert!(said.contains("one, again") && said.contains("learned from 1 board"), "{said}");
    let result = figures(dir.path());
    assert_eq!(result["calibration"]["boards"], 1);
    assert!((result["calibration"]["learned_from"][0]["factor"].as_f64().unwrap() - 1.0).abs() < 0.06, "{result:#}");
    let nobody = ended(&overbend(dir.path(), &["calibrate", "job.toml", "second.csv", "--again", "two"]), 2);
    assert!(nobody.contains("no board called `two`") && nobody.contains("one, one, again"), "{nobody}");
}

/// Boards of a job speak most for their own stack, less for a thinner core of the same wood, least for other wood: the
/// factor is drawn less toward theirs, and its band is wider.
#[test]
fn boards_of_another_stack_inform_with_grown_spread() {
    let dir = folder();
    ended(&overbend(dir.path(), &["calibrate", "job.toml", "first.csv"]), 0);
    let learned = |job: &str| -> (f64, f64) {
        fs::write(dir.path().join("job.toml"), job).unwrap();
        let figures = &figures(dir.path())["calibration"];
        let get = |key: &str| figures[key].as_f64().unwrap();
        (get("factor"), get("factor_p95") - get("factor_p05"))
    };
    let own = learned(JOB);
    let thinner = learned(&JOB.replace("thickness = 8\n", "thickness = 6\n"));
    let other = learned(&JOB.replace("ash, white", "paulownia"));
    assert!(own.0 < thinner.0 && thinner.0 < other.0 && other.0 < 1.0, "{own:?} {thinner:?} {other:?}");
    assert!(own.1 < thinner.1 && thinner.1 < other.1, "{own:?} {thinner:?} {other:?}");
}

#[test]
fn old_boards_fade_where_the_file_says_so() {
    let dir = folder();
    for (label, csv) in [("a", "first.csv"), ("b", "second.csv"), ("c", "second.csv")] {
        ended(&overbend(dir.path(), &["calibrate", "job.toml", csv, "--label", label, "--as-built", "table.csv"]), 3);
        let more = if label == "a" { &[][..] } else { &["--same-table"][..] };
        ended(&overbend(dir.path(), &[&["calibrate", "job.toml", csv, "--label", label][..], more].concat()), 0);
    }
    let factor = || figures(dir.path())["calibration"]["factor"].as_f64().unwrap();
    let all_alike = factor();
    let path = dir.path().join("shop.toml");
    let text = fs::read_to_string(&path).unwrap();
    fs::write(&path, format!("halve_after = 0.5\n{text}")).unwrap();
    assert!(factor() > all_alike + 0.01, "{all_alike} {}", factor());
}

#[test]
fn the_book_shows_factor_history_next_error_and_shims() {
    let dir = folder();
    fs::write(dir.path().join("shop.toml"), "shims = [0.2, 0.5, 1, 2]\n").unwrap();
    let calibrated = ["calibrate", "job.toml", "first.csv", "--label", "<first>", "-o", "look"];
    ended(&overbend(dir.path(), &calibrated), 0);
    let look = fs::read_to_string(dir.path().join("look/book.html")).unwrap();
    for words in ["What one factor leaves over", "Springback along the board", "Order of work", "&lt;first&gt;"] {
        assert!(look.contains(words), "{words}");
    }
    let result = figures(dir.path());
    let book = fs::read_to_string(dir.path().join("out/book.html")).unwrap();
    let factor = format!("{:.3} times as much in this shop", result["calibration"]["factor"].as_f64().unwrap());
    for words in
        [&factor, "Predicted against measured, board by board", "Next expected error", "Shims for the table that is"]
    {
        assert!(book.contains(words), "{words}");
    }
    assert!(!book.contains("<first>"));
    let next = result["calibration"]["next_error_mm"]["tip"].as_f64().unwrap();
    let band = |p: &str| result["forecast"]["tip_height_mm"][p].as_f64().unwrap();
    assert!((next - (40.0 - band("p05")).max(band("p95") - 40.0)).abs() < 1e-5, "{next}");
    // The first board came out 4 mm too high, and was predicted as it was wanted.
    let heights = &result["calibration"]["learned_from"][0]["heights"];
    let tip = |key: &str| heights[key]["tip_mm"].as_f64().unwrap();
    assert!((tip("predicted") - 40.0).abs() < 0.1 && (tip("measured") - 44.0).abs() < 0.4, "{heights}");
    assert!(tip("predicted_p05") < 40.0 && tip("predicted_p95") > tip("measured"), "{heights}");
    let csv = fs::read_to_string(dir.path().join("out/shims.csv")).unwrap();
    assert!(csv.contains("0.2") && csv.lines().count() > 10, "{csv}");
}

/// The design table is a circle of 4.3 m or so; read off a flatter one, shims make up the difference of the arcs.
#[test]
fn a_table_built_wrong_is_corrected_before_any_board() {
    let dir = folder();
    let no_table = ended(&overbend(dir.path(), &["shims", "job.toml"]), 2);
    assert!(no_table.contains("no table that could be corrected"), "{no_table}");
    let heights: String = (0..=32)
        .map(|i| 50.0 * f64::from(i) - 800.0)
        .map(|x| format!("{},{:.2}\n", x + 800.0, 8000.0 - (8000.0_f64 * 8000.0 - x * x).sqrt()))
        .collect();
    fs::write(dir.path().join("table.csv"), heights).unwrap();
    let arguments = ["shims", "job.toml", "--as-built", "table.csv", "--json", "-o", "look"];
    let sizes = ["0.1", "0.2", "0.5", "1", "2", "5", "10", "20", "40"].map(|size| ["--shim", size]);
    let output = overbend(dir.path(), &[&arguments[..], sizes.as_flattened()].concat());
    let json: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    let stations = json["shims"]["stations"].as_array().unwrap();
    let need = |s: &serde_json::Value| s["needed_mm"].as_f64().unwrap();
    assert!(need(&stations[stations.len() / 2]).abs() < 0.1 && json["shims"]["smooth"] == true, "{json:#}");
    let result = figures(dir.path());
    // It was read every 50 mm, and so at the finished end.
    let end = stations.iter().find(|s| (s["at_mm"].as_f64().unwrap() + 600.0).abs() < 0.1).unwrap();
    let (first, x) = (need(end), end["at_mm"].as_f64().unwrap());
    let there = 8000.0 - (8000.0_f64 * 8000.0 - x * x).sqrt();
    // The designed table there, between two of its points.
    let points = result["table"]["points"].as_array().unwrap();
    let get = |i: usize, key: &str| points[i][key].as_f64().unwrap();
    let i = (1..points.len()).find(|i| get(*i, "x_mm") >= x).unwrap();
    let part = (x - get(i - 1, "x_mm")) / (get(i, "x_mm") - get(i - 1, "x_mm"));
    let between = |key: &str| get(i - 1, key) + part * (get(i, key) - get(i - 1, key));
    let (high, wanted) = (between("z_mm"), between("slope_deg").to_radians());
    // A shim stands square to the table that is there.
    let slope = -(x.abs() / 8000.0).asin();
    let expected = (high - there) * wanted.cos() / (wanted - slope).cos();
    assert!((first - expected).abs() < 0.02, "{first} {expected}");
    for name in ["shims.csv", "shims.json", "book.html"] {
        assert!(dir.path().join("look").join(name).exists(), "{name}");
    }
    fs::write(dir.path().join("table.csv"), "0,0\n100,\n").unwrap();
    assert!(
        ended(&overbend(dir.path(), &["shims", "job.toml", "--as-built", "table.csv"]), 2)
            .contains("table.csv, line 2\n")
    );
}

/// A dry spot: 1.2 degrees less bend spread over 120 mm at 200 mm beyond the middle.
#[test]
fn a_local_deviation_is_told_with_its_place_and_cause() {
    let dir = folder();
    let k = 2.0 * 40.0 / (600.0 * 600.0);
    let arc = |s: f64| (1.0 - (k * s).cos()) / k;
    let bent = |s: f64| match s - 200.0 {
        d if d <= -60.0 => 0.0,
        d if d < 60.0 => (d + 60.0).powi(2) / 240.0,
        d => d,
    };
    let height = |i: i32| arc(f64::from(50 * i - 600)) - 1.2_f64.to_radians() * bent(f64::from(50 * i - 600));
    let csv: String = (0..=24).map(|i| format!("{},{:.1}\n", 50 * i, height(i))).collect();
    fs::write(dir.path().join("dry.csv"), csv).unwrap();
    let json = |file: &str| -> serde_json::Value {
        let arguments = ["calibrate", "job.toml", file, "--dry-run", "--json", "--datum", "straightedge"];
        let output = overbend(dir.path(), &arguments);
        serde_json::from_slice(&output.stdout).unwrap_or_else(|e| panic!("{e} {}", words(&output)))
    };
    let board = &json("dry.csv")["board"];
    let local = &board["local"];
    assert_eq!(board["one_factor_explains"], false);
    assert!((local["s_mm"].as_f64().unwrap() - 200.0).abs() < 40.0, "{local}");
    assert!((local["angle_deg"].as_f64().unwrap() + 1.2).abs() < 0.3 && local["may_be"] == "dry spot", "{local}");
    assert_eq!(json("first.csv")["board"]["one_factor_explains"], true);
}

/// A jig of bearers is corrected under its bearers with the packing that it has; whole millimetres alone leave bumps, and the
/// summary says so.
#[test]
fn bearers_are_packed_with_what_the_jig_has_and_bumps_are_told() {
    let dir = folder();
    let ribs = JOB.find("[table.ribs]").unwrap();
    let bearers = |packing: &str| {
        let text =
            format!("{}[table.bearers]\npitch = 150\nthickness = 38\nlowest_height = 60\n{packing}\n", &JOB[..ribs]);
        fs::write(dir.path().join("job.toml"), text).unwrap();
        ended(&overbend(dir.path(), &["calibrate", "job.toml", "first.csv", "-o", "look", "--dry-run"]), 0)
    };
    let said = bearers("packing = [3, 2, 1, 0.5, 0.25]");
    assert!(!said.contains("bump"), "{said}");
    let csv = fs::read_to_string(dir.path().join("look/shims.csv")).unwrap();
    assert!(csv.lines().count() > 6, "{csv}");
    for line in csv.lines().skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        let pieces: Vec<f64> = cells[5].split(" + ").filter(|p| !p.is_empty()).map(|p| p.parse().unwrap()).collect();
        assert!(pieces.iter().all(|p| [3.0, 2.0, 1.0, 0.5, 0.25].contains(p)), "{line}");
        assert!(cells[6].parse::<f64>().unwrap().abs() <= 0.26, "{line}");
    }
    assert!(bearers("packing = [4]").contains("leave a bump of curvature"));
}

/// More bent than a stack that sprang back not at all: no factor of springback is that, and the shop is not drawn to it.
#[test]
fn a_board_more_bent_than_its_table_is_told_and_counts_little() {
    let dir = folder();
    fs::write(dir.path().join("wrong.csv"), arc(80.0)).unwrap();
    let said = ended(&overbend(dir.path(), &["calibrate", "job.toml", "wrong.csv"]), 0);
    assert!(said.contains("not springback") && said.contains("set aside"), "{said}");
    let figures = figures(dir.path());
    assert!(figures["calibration"]["factor"].as_f64().unwrap() > 0.7, "{}", figures["calibration"]);
}

#[test]
fn a_prediction_uses_what_boards_taught_and_says_so() {
    let dir = folder();
    let heights: String = (0..=32)
        .map(|i| 50.0 * f64::from(i) - 800.0)
        .map(|x| format!("{},{:.2}\n", x + 800.0, 2700.0 - (2700.0_f64 * 2700.0 - x * x).sqrt()))
        .collect();
    fs::write(dir.path().join("table.csv"), heights).unwrap();
    let predict = ["predict", "job.toml", "--as-built", "table.csv"];
    let tip = || -> f64 {
        let output = overbend(dir.path(), &[&predict[..], &["--json"]].concat());
        let json: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
        json["released"]["tip_height_mm"].as_f64().unwrap()
    };
    let before = tip();
    assert!(!ended(&overbend(dir.path(), &predict), 0).contains("learned from"));
    // It sprang back less than its layers alone say, and so will the next board.
    ended(&overbend(dir.path(), &["calibrate", "job.toml", "first.csv"]), 0);
    assert!(ended(&overbend(dir.path(), &predict), 0).contains("learned from 1 board"));
    assert!(tip() > before + 1.0, "{before} {}", tip());
}

/// The file that the book's form is saved as.
fn form(book: &str) -> String {
    let link = &book[book.find("download=\"heights.csv\"").unwrap()..];
    let coded = &link[link.find("utf-8,").unwrap() + 6..];
    let mut bytes = Vec::new();
    let mut rest = &coded.as_bytes()[..coded.find('"').unwrap()];
    while let Some((&first, behind)) = rest.split_first() {
        if first == b'%' {
            bytes.push(u8::from_str_radix(std::str::from_utf8(&behind[..2]).unwrap(), 16).unwrap());
            rest = &behind[2..];
        } else {
            bytes.push(first);
            rest = behind;
        }
    }
    String::from_utf8(bytes).unwrap()
}

#[test]
fn the_form_of_the_book_is_read_as_it_is_once_heights_are_written_into_it() {
    for unit in ["", "units = \"in\"\n"] {
        let dir = folder();
        let job = format!("{unit}{JOB}")
            .replace("length = 1200", "length = \"1200 mm\"")
            .replace("width = 300", "width = \"300 mm\"")
            .replace("overhang = 150", "overhang = \"150 mm\"")
            .replace("height = 40", "height = \"40 mm\"")
            .replace("thickness = 0.8", "thickness = \"0.8 mm\"")
            .replace("thickness = 8\n", "thickness = \"8 mm\"\n")
            .replace("skin = 4", "skin = \"4 mm\"")
            .replace("side_margin = 60", "side_margin = \"60 mm\"")
            .replace("end_margin = 40", "end_margin = \"40 mm\"")
            .replace("station_pitch = 100", "station_pitch = \"100 mm\"")
            .replace("thickness = 18", "thickness = \"18 mm\"")
            .replace("lowest_height = 60", "lowest_height = \"60 mm\"");
        fs::write(dir.path().join("job.toml"), job).unwrap();
        let run = |arguments: &[&str]| {
            Command::cargo_bin("overbend").unwrap().current_dir(dir.path()).args(arguments).output().unwrap()
        };
        let built = run(&["build", "job.toml", "-o", "out"]);
        assert!(built.status.success(), "{}", String::from_utf8_lossy(&built.stderr));
        let empty = form(&fs::read_to_string(dir.path().join("out/book.html")).unwrap());
        // What was expected was read: the layers alone explain the board.
        let filled: Vec<String> = empty
            .lines()
            .enumerate()
            .map(|(i, line)| {
                let cells: Vec<&str> = line.split(',').collect();
                if i == 0 { line.to_owned() } else { format!("{},{},{},", cells[0], cells[1], cells[1]) }
            })
            .collect();
        fs::write(dir.path().join("heights.csv"), filled.join("\n")).unwrap();
        let learned = run(&["calibrate", "job.toml", "heights.csv", "--json"]);
        assert!(learned.status.success(), "{}", String::from_utf8_lossy(&learned.stderr));
        let json: serde_json::Value = serde_json::from_slice(&learned.stdout).unwrap();
        let factor = json["board"]["factor"].as_f64().unwrap_or_else(|| panic!("{json:#}"));
        assert!((factor - 1.0).abs() < 0.02, "{factor}");
    }
}

#[test]
fn faults_in_a_file_of_heights_are_shown_in_that_file() {
    let dir = folder();
    let heights = format!("# bench\nstation_mm,height_mm\n{}", arc(44.0).replace("600,", "600,-9"));
    fs::write(dir.path().join("first.csv"), heights).unwrap();
    let out = Command::cargo_bin("overbend")
        .unwrap()
        .current_dir(dir.path())
        .args(["calibrate", "job.toml", "first.csv"])
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&out.stderr);
    assert_eq!(out.status.code(), Some(2), "{said}");
    assert!(said.contains("first.csv, line 15\n") && said.contains("lies under the floor"), "{said}");
}
