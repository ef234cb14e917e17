//! What learning and comparing must not get wrong, held from the command line.

use std::fs;
use std::path::Path;
use std::process::Output;

use assert_cmd::Command;
use serde_json::Value;
use tempfile::TempDir;

/// A board that is straight behind and kicked in front, so that its two ends differ.
const JOB: &str = r#"
title = "Kicked board"
shop = "shop.toml"
accept = ["table-stiffness", "blank-overhang"]
[board]
length = 1200
width = 300
overhang = 150
[rocker.segments]
parts = [{ arc = { length = 500, radius = 8000 } }, { easing = { length = 200 } }, { arc = { length = 500, radius = 3000 } }]
[[layers]]
name = "skin"
modulus = "25 GPa"
thickness = 0.8
[[layers]]
name = "core"
material = "ash, white"
thickness = 8
plies = 1
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

struct Shop {
    dir: TempDir,
}

impl Shop {
    fn with(job: &str) -> Self {
        let shop = Self { dir: TempDir::new().unwrap() };
        shop.write("job.toml", job);
        shop
    }

    fn path(&self, name: &str) -> std::path::PathBuf {
        self.dir.path().join(name)
    }

    fn write(&self, name: &str, text: &str) {
        fs::write(self.path(name), text).unwrap();
    }

    fn run(&self, arguments: &[&str]) -> Output {
        run(self.dir.path(), arguments)
    }

    #[track_caller]
    fn says(&self, arguments: &[&str], code: i32) -> String {
        let output = self.run(arguments);
        let words = words(&output);
        assert_eq!(output.status.code(), Some(code), "{words}");
        words
    }

    #[track_caller]
    fn json(&self, arguments: &[&str]) -> Value {
        let output = self.run(&[arguments, &["--json"]].concat());
        serde_json::from_slice(&output.stdout).unwrap_or_else(|e| panic!("{e}: {}", words(&output)))
    }

    /// The results of a build.
    #[track_caller]
    fn built(&self) -> Value {
        self.says(&["build", "job.toml", "-o", "out"], 0);
        serde_json::from_slice(&fs::read(self.path("out/result.json")).unwrap()).unwrap()
    }

    /// Factor that the shop knows, and its number of boards.
    #[track_caller]
    fn known(&self) -> (f64, u64) {
        let calibration = &self.json(&["check", "job.toml"])["calibration"];
        (calibration["factor"].as_f64().unwrap_or(1.0), calibration["boards"].as_u64().unwrap_or(0))
    }
}

fn run(dir: &Path, arguments: &[&str]) -> Output {
    Command::cargo_bin("overbend").unwrap().args(arguments).current_dir(dir).output().unwrap()
}

fn words(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap() + &String::from_utf8(output.stderr.clone()).unwrap()
}

/// Points (s, z) of a curve in a result, every 50 mm and at its ends.
fn points(curve: &Value, key: &str) -> Vec<(f64, f64)> {
    let all = curve["points"].as_array().unwrap();
    let get = |p: &Value, k: &str| p[k].as_f64().unwrap();
    let all: Vec<(f64, f64)> = all.iter().map(|p| (get(p, key), get(p, "z_mm"))).collect();
    let last = all.len() - 1;
    let round = |s: f64| (s / 50.0 - (s / 50.0).round()).abs() < 1e-6;
    all.iter().enumerate().filter(|(i, p)| *i == 0 || *i == last || round(p.0)).map(|(_, p)| *p).collect()
}

/// A board as predicted by a build, `higher` times as high as that, with errors of a rule.
fn as_predicted(result: &Value, higher: f64) -> Vec<(f64, f64)> {
    let half = 600.0;
    let error = |i: usize| 0.1 * f64::from((7 * i as i32) % 5 - 2);
    points(&result["released"], "s_mm").iter().enumerate().map(|(i, p)| (p.0 + half, higher * p.1 + error(i))).collect()
}

fn csv(rows: &[(f64, f64)]) -> String {
    rows.iter().map(|(s, z)| format!("{s:.1},{z:.1}\n")).collect()
}

/// Heights of a table every `pitch` from the middle outward, within `range`, interpolated in its points.
fn table_heights(result: &Value, pitch: f64, range: (f64, f64)) -> Vec<(f64, f64)> {
    let all = result["table"]["points"].as_array().unwrap();
    let at: Vec<(f64, f64)> = all.iter().map(|p| (p["x_mm"].as_f64().unwrap(), p["z_mm"].as_f64().unwrap())).collect();
    let height = |x: f64| {
        let i = at.partition_point(|p| p.0 < x).clamp(1, at.len() - 1);
        let (a, b) = (at[i - 1], at[i]);
        a.1 + (b.1 - a.1) * (x - a.0) / (b.0 - a.0)
    };
    let (from, to) = (range.0.max(at[0].0), range.1.min(at[at.len() - 1].0));
    let (first, last) = ((from / pitch).ceil() as i32, (to / pitch).floor() as i32);
    (first..=last).map(|i| pitch * f64::from(i)).map(|x| (x, height(x))).collect()
}

#[track_caller]
fn near(found: f64, expected: f64, within: f64) {
    assert!((found - expected).abs() <= within, "{found} is not {expected} within {within}");
}

/// Birch at 20 % moisture has 0.88 of its modulus at 12 %: applied twice, a board that came out as predicted would give 1.10.
#[test]
fn a_wet_core_that_came_out_as_predicted_has_the_factor_one_and_its_band_holds_it() {
    let wet = JOB.replace("material = \"ash, white\"", "material = \"birch, yellow\"\nmoisture = 0.20");
    assert_ne!(wet, JOB);
    let shop = Shop::with(&wet);
    let before = shop.built();
    shop.write("board.csv", &csv(&as_predicted(&before, 1.0)));
    let board = shop.json(&["calibrate", "job.toml", "board.csv"]);
    near(board["board"]["factor"].as_f64().unwrap(), 1.0, 0.02);
    for share in board["board"]["springback_share"].as_array().unwrap() {
        near(share["predicted"].as_f64().unwrap(), before["stack"]["springback_share"].as_f64().unwrap(), 0.01);
    }
    let needed = board["shims"]["stations"].as_array().unwrap().iter().map(|s| s["needed_mm"].as_f64().unwrap());
    assert!(needed.fold(0.0, f64::max) < 0.4, "{}", board["shims"]);
    let after = shop.built();
    near(after["calibration"]["factor"].as_f64().unwrap(), 1.0, 0.02);
    let band = |p: &str| after["forecast"]["tip_height_mm"][p].as_f64().unwrap();
    // Springback acts on curvature, so that the middle of the band lies a little beside the board without scatter.
    let (tip, width) = (after["released"]["tip_height_mm"].as_f64().unwrap(), band("p95") - band("p05"));
    near(band("p50"), tip, 0.1 * width);
    assert!(band("p05") < tip - 0.25 * width && band("p95") > tip + 0.25 * width, "{tip} {}", after["forecast"]);
}

#[test]
fn a_label_or_remark_that_no_file_can_hold_is_refused_before_anything_is_lost() {
    let shop = Shop::with(JOB);
    shop.write("board.csv", &csv(&as_predicted(&shop.built(), 1.0)));
    let (long, longest) = ("x".repeat(201), "y".repeat(200));
    let cases: [&[&str]; 4] = [&["--remark", &long], &["--remark", ""], &["--label", &long], &["--label", " "]];
    for more in cases {
        let said = shop.says(&[&["calibrate", "job.toml", "board.csv"], more].concat(), 2);
        assert!(said.contains("characters") && said.contains("1 to 200"), "{said}");
    }
    assert!(!shop.path("shop.toml").exists());
    shop.says(&["calibrate", "job.toml", "board.csv", "--label", &longest], 0);
    let said = shop.says(&["calibrate", "job.toml", "board.csv", "--again", &longest], 0);
    assert!(said.contains("y, again") && said.contains("learned from 1 board"), "{said}");
}

#[test]
fn readings_from_the_other_end_are_kept_but_not_learned_from() {
    let shop = Shop::with(JOB);
    let good = as_predicted(&shop.built(), 1.0);
    let turned: Vec<(f64, f64)> = good.iter().map(|(s, z)| (1200.0 - s, *z)).rev().collect();
    shop.write("turned.csv", &csv(&turned));
    let said = shop.says(&["calibrate", "job.toml", "turned.csv", "--label", "turned"], 0);
    assert!(said.contains("say --from tip") && said.contains("not learned from"), "{said}");
    assert_eq!(shop.known(), (1.0, 0));
    // Said as they were read, they are the board; readings may fall from one to the next.
    shop.write("falling.csv", &csv(&turned.into_iter().rev().collect::<Vec<_>>()));
    shop.says(&["calibrate", "job.toml", "falling.csv", "--from", "tip", "--label", "right"], 0);
    let (factor, boards) = shop.known();
    near(factor, 1.0, 0.02);
    assert_eq!(boards, 1);
    shop.says(&["calibrate", "job.toml", "turned.csv", "--label", "anyway", "--learn-anyway"], 0);
    assert_eq!(shop.known().1, 2);
}

#[test]
fn the_same_readings_again_without_a_word_about_the_table_teach_nothing_more() {
    let shop = Shop::with(JOB);
    let before = shop.built();
    shop.write("board.csv", &csv(&as_predicted(&before, 1.12)));
    shop.says(&["calibrate", "job.toml", "board.csv", "--label", "first"], 0);
    let (first, _) = shop.known();
    for label in ["second", "third", "fourth", "fifth"] {
        let said = shop.says(&["calibrate", "job.toml", "board.csv", "--label", label], 0);
        assert!(said.contains("--same-table") && said.contains("`first`"), "{said}");
    }
    assert_eq!(shop.known(), (first, 1));
    // Read a second time, with other errors of the rule, the question stands too.
    let again: Vec<(f64, f64)> =
        as_predicted(&before, 1.12).iter().enumerate().map(|(i, r)| (r.0, r.1 + 0.1 * (i % 2) as f64)).collect();
    shop.write("again.csv", &csv(&again));
    assert!(shop.says(&["calibrate", "job.toml", "again.csv", "--dry-run"], 0).contains("--same-table"));
    let said = shop.says(&["calibrate", "job.toml", "board.csv", "--label", "answered", "--same-table"], 0);
    assert!(said.contains("the last board of Kicked board") && said.contains("learned from 2 boards"), "{said}");
    let file = fs::read_to_string(shop.path("shop.toml")).unwrap();
    let ids: Vec<&str> = file.lines().filter(|l| l.starts_with("table_id")).collect();
    assert!(ids[0] == ids[5] && ids[0] != ids[1] && ids.len() == 6, "{ids:?}");
}

#[test]
fn another_jobs_table_is_never_taken() {
    let shop = Shop::with(JOB);
    shop.write("board.csv", &csv(&as_predicted(&shop.built(), 1.0)));
    shop.says(&["calibrate", "job.toml", "board.csv", "--label", "kicked"], 0);
    shop.write("other.toml", &JOB.replace("Kicked board", "Other board").replace("radius = 3000", "radius = 2500"));
    let said = shop.says(&["calibrate", "other.toml", "board.csv", "--same-table"], 2);
    assert!(said.contains("no board before this one of Other board"), "{said}");
    let said = shop.says(&["shims", "other.toml"], 2);
    assert!(said.contains("no board of Other board was measured"), "{said}");
    let said = shop.says(&["shims", "job.toml"], 0);
    assert!(said.contains("used for `kicked` of Kicked board"), "{said}");
}

#[test]
fn versions_of_one_board_hang_together_and_the_last_one_counts() {
    let shop = Shop::with(JOB);
    let built = shop.built();
    for (name, higher) in [("low.csv", 0.9), ("right.csv", 1.0), ("high.csv", 1.1)] {
        shop.write(name, &csv(&as_predicted(&built, higher)));
    }
    shop.says(&["calibrate", "job.toml", "high.csv", "--label", "one"], 0);
    shop.says(&["calibrate", "job.toml", "low.csv", "--again", "one"], 0);
    shop.says(&["calibrate", "job.toml", "right.csv", "--again", "one"], 0);
    let (factor, boards) = shop.known();
    assert_eq!(boards, 1);
    near(factor, 1.0, 0.02);
    // What is left out by hand no longer stands for the board; new readings of a board that is left out do.
    let file = fs::read_to_string(shop.path("shop.toml")).unwrap();
    shop.write("shop.toml", &file.replace("[[board]]\n", "[[board]]\nleft_out = true\n"));
    assert_eq!(shop.known(), (1.0, 0));
    shop.says(&["calibrate", "job.toml", "right.csv", "--again", "one", "--label", "anew"], 0);
    assert_eq!(shop.known().1, 1);
}

#[test]
fn wild_readings_are_named_and_no_share_is_one_that_no_board_has() {
    let shop = Shop::with(JOB);
    let mut rows = as_predicted(&shop.built(), 1.0);
    rows[7].1 += 14.0;
    rows[17].1 += 9.0;
    shop.write("wild.csv", &csv(&rows));
    let said = shop.says(&["calibrate", "job.toml", "wild.csv", "--error", "0.3", "--dry-run"], 0);
    for line in ["line 8 of wild.csv", "line 18 of wild.csv"] {
        assert!(said.contains(line), "{line} is not in\n{said}");
    }
    let board = shop.json(&["calibrate", "job.toml", "wild.csv", "--error", "0.3", "--dry-run"]);
    for share in board["board"]["springback_share"].as_array().unwrap() {
        let measured = share["measured"].as_f64().unwrap();
        assert!((-0.2..=1.2).contains(&measured), "{share}");
    }
    near(board["board"]["factor"].as_f64().unwrap(), 1.0, 0.05);
}

#[test]
fn main_stack_and_alternative_may_change_places() {
    let other = "[[alternatives]]\nname = \"ALT\"\n";
    let plies = |head: &str, thickness: f64| {
        format!("{head}\nname = \"ply\"\nmodulus = \"10 GPa\"\nmodulus_cv = 0.1\nthickness = {thickness}\nplies = 2\n")
    };
    let (from, to) = (JOB.find("[[layers]]").unwrap(), JOB.find("[pressing").unwrap());
    let core = JOB[from..to].to_owned();
    let as_alternative = core.replace("[[layers]]", "[[alternatives.layers]]");
    let straight = JOB[..from].to_owned() + &plies("[[layers]]", 4.0) + other + &as_alternative + &JOB[to..];
    let swapped = JOB[..to].to_owned() + other + &plies("[[alternatives.layers]]", 4.0) + &JOB[to..];
    let shop = Shop::with(JOB);
    let built = shop.built();
    shop.write("board.csv", &csv(&as_predicted(&built, 1.1)));
    shop.says(&["calibrate", "job.toml", "board.csv"], 0);
    shop.write("table.csv", &csv(&table_heights(&built, 50.0, (-1e4, 1e4))));
    let predicted = |job: &str| {
        shop.write("job.toml", job);
        shop.json(&["predict", "job.toml", "--as-built", "table.csv"])
    };
    let (a, b) = (predicted(&straight), predicted(&swapped));
    for key in ["released", "forecast", "calibration", "checks"] {
        assert_eq!(a[key], b["alternatives"][0][key], "{key}");
        assert_eq!(a["alternatives"][0][key], b[key], "{key}");
    }
    assert_ne!(a["calibration"]["factor"], b["calibration"]["factor"]);
}

#[test]
fn a_table_is_taken_as_far_as_it_was_read() {
    let shop = Shop::with(&fs::read_to_string("examples/sled-runner/job.toml").unwrap());
    let built = shop.built();
    let tip = |v: &Value| v["released"]["tip_height_mm"].as_f64().unwrap();
    for (pitch, within) in [(50.0, 1.0), (100.0, 2.0)] {
        let heights = table_heights(&built, pitch, (-1e4, 1e4));
        shop.write("table.csv", &csv(&heights));
        near(tip(&shop.json(&["predict", "job.toml", "--as-built", "table.csv"])), tip(&built), within);
        // The same stations counted from its first one: the middle has to be said.
        let first = heights[0].0;
        shop.write("ended.csv", &csv(&heights.iter().map(|(x, z)| (x - first, *z)).collect::<Vec<_>>()));
        let middle = format!("{}", -first);
        let counted = shop.json(&["predict", "job.toml", "--as-built", "ended.csv", "--middle", &middle]);
        near(tip(&counted), tip(&shop.json(&["predict", "job.toml", "--as-built", "table.csv"])), 1e-3);
    }
    shop.write("short.csv", &csv(&table_heights(&built, 50.0, (-1e4, 500.0))));
    let said = shop.says(&["predict", "job.toml", "--as-built", "short.csv"], 2);
    // Read to 500 mm, and thought on by one step of 50 mm: a few more along the kick's rising surface.
    let to: f64 = said.split(" to ").nth(1).unwrap().split(" mm").next().unwrap().parse().unwrap();
    assert!(said.contains("does not lie on it") && (550.0..560.0).contains(&to), "{said}");
}

#[test]
fn any_job_beside_its_own_result_has_the_same_table_and_board() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let dir = TempDir::new().unwrap();
    for example in ["hill-board", "street-deck", "sled-runner"] {
        let (job, out) = (format!("examples/{example}/job.toml"), dir.path().join(example));
        let out = out.to_str().unwrap();
        let output = run(root, &["build", &job, "-o", out]);
        assert_eq!(output.status.code(), Some(0), "{}", words(&output));
        let built: Value = serde_json::from_slice(&fs::read(Path::new(out).join("result.json")).unwrap()).unwrap();
        let output = run(root, &["diff", out, &job, "--json"]);
        let json: Value = serde_json::from_slice(&output.stdout).unwrap_or_else(|e| panic!("{e}: {}", words(&output)));
        assert_eq!(json["surface_mm"], 0.0, "{example}");
        for key in ["tip_height_mm", "tail_height_mm"] {
            let of = |v: &Value| v["released"][key].as_f64().unwrap();
            near(of(&json["on_old_table"]), of(&built), 0.01);
        }
        assert!(json["on_old_table"]["checks"].is_array(), "{json:#}");
    }
}

#[test]
fn shims_are_listed_and_common_ones_are_proposed() {
    let shop = Shop::with(JOB);
    shop.write("board.csv", &csv(&as_predicted(&shop.built(), 1.12)));
    shop.says(&["calibrate", "job.toml", "board.csv"], 0);
    let said = shop.says(&["shims", "job.toml"], 0);
    assert!(said.contains("common thicknesses") && said.contains("0.3 mm, 0.5 mm, 1 mm, 2 mm, 5 mm"), "{said}");
    let json = shop.json(&["shims", "job.toml"]);
    let stations = json["shims"]["stations"].as_array().unwrap();
    let rows: Vec<&str> =
        said.lines().skip_while(|l| !l.contains("from middle")).skip(1).take(stations.len()).collect();
    for (row, station) in rows.iter().zip(stations) {
        let cells: Vec<f64> = row.split_whitespace().take(3).map(|c| c.parse().unwrap()).collect();
        near(cells[1], station["at_mm"].as_f64().unwrap(), 0.051);
        near(cells[2], station["needed_mm"].as_f64().unwrap(), 0.0051);
        let pieces = station["pieces_mm"].as_array().unwrap().iter().map(|p| p.as_f64().unwrap());
        assert!(pieces.clone().all(|p| [0.3, 0.5, 1.0, 2.0, 5.0].contains(&p)), "{station}");
    }
    assert!(json["checks"].as_array().unwrap().iter().any(|c| c["code"] == "bag-gap"), "{json:#}");
}

#[test]
fn shims_out_of_reach_say_what_would_do() {
    let shop = Shop::with(JOB);
    let flat: String = (0..=16).map(|i| format!("{},0\n", 100 * i - 800)).collect();
    shop.write("flat.csv", &flat);
    let shims = |sizes: &[&str]| {
        let mut arguments = vec!["shims", "job.toml", "--as-built", "flat.csv"];
        sizes.iter().for_each(|s| arguments.extend(["--shim", s]));
        shop.says(&arguments, 0)
    };
    assert!(shims(&["1"]).contains("six of these shims are too thin; add a thickness of"));
    assert!(shims(&["0.2", "40"]).contains("add a thickness between 0.2 mm and 40 mm"));
    assert!(shims(&["50"]).contains("add a thickness of 0.5 mm or less"));
    assert!(!shims(&["0.3", "0.5", "1", "2", "5", "10", "25", "60"]).contains("watch"));
}

/// Heights every 100 mm say nothing between them: shims are asked for where the table was read.
#[test]
fn a_table_that_was_read_needs_shims_where_it_was_read() {
    let shop = Shop::with(&JOB.replace("station_pitch = 100", "station_pitch = 50"));
    let built = shop.built();
    let read = table_heights(&built, 100.0, (-1e4, 1e4));
    shop.write("table.csv", &csv(&read));
    let json = shop.json(&["shims", "job.toml", "--as-built", "table.csv", "--shim", "0.3"]);
    let stations = json["shims"]["stations"].as_array().unwrap();
    assert_eq!(stations.len(), read.len());
    for (station, (x, _)) in stations.iter().zip(&read) {
        near(station["at_mm"].as_f64().unwrap(), *x, 0.1);
        // It is the wanted table: what is asked for is what a smooth curve through readings to a tenth misses of its jumps.
        assert!(station["needed_mm"].as_f64().unwrap() < 0.35, "{station}");
    }
}

#[test]
fn a_hump_for_a_hollow_is_noticed() {
    let shop = Shop::with(JOB);
    let built = shop.built();
    let downward: Vec<(f64, f64)> = table_heights(&built, 50.0, (-1e4, 1e4)).iter().map(|(x, z)| (*x, -z)).collect();
    shop.write("table.csv", &csv(&downward));
    let json = shop.json(&["predict", "job.toml", "--as-built", "table.csv"]);
    assert!(
        json["checks"].as_array().unwrap().iter().any(|c| c["code"] == "hump-for-hollow" && c["verdict"] == "stop")
    );
    let said = shop.says(&["predict", "job.toml", "--as-built", "table.csv"], 0);
    assert!(said.contains("(hump-for-hollow)"), "{said}");
}

/// A kink in the table that 80 kPa cannot press 8 mm of ash into.
#[test]
fn predict_says_when_the_stack_does_not_lie_down() {
    let shop = Shop::with(JOB);
    let kinked: Vec<(f64, f64)> = (-16..=16).map(|i| 50.0 * f64::from(i)).map(|x| (x, 0.4 * x.abs())).collect();
    shop.write("table.csv", &csv(&kinked));
    let said = shop.says(&["predict", "job.toml", "--as-built", "table.csv"], 0);
    assert!(said.contains("(bag-gap)") && said.contains("look at this before pressing"), "{said}");
}

#[test]
fn bare_shims_are_in_the_unit_of_the_job_wherever_they_stand() {
    let inch = JOB.replace("title =", "units = \"in\"\ntitle =");
    let millimetres = [
        "length = 1200",
        "width = 300",
        "overhang = 150",
        "length = 500",
        "length = 200",
        "radius = 8000",
        "radius = 3000",
        "thickness = 0.8",
        "thickness = 8",
        "skin = 4",
        "side_margin = 60",
        "end_margin = 40",
        "station_pitch = 100",
        "thickness = 18",
        "lowest_height = 60",
    ];
    let mut inch = inch;
    for key in millimetres {
        let (name, value) = key.split_once(" = ").unwrap();
        inch = inch.replace(&format!("{key}\n"), &format!("{name} = \"{value} mm\"\n"));
        inch = inch.replace(&format!("{key} }}"), &format!("{name} = \"{value} mm\" }}"));
        inch = inch.replace(&format!("{key},"), &format!("{name} = \"{value} mm\","));
    }
    let shop = Shop::with(&inch);
    let flat: String = (0..=16).map(|i| format!("{} mm,0\n", 100 * i - 800)).collect();
    shop.write("flat.csv", &flat);
    let arguments = ["shims", "job.toml", "--as-built", "flat.csv"];
    let told = shop.json(&[&arguments[..], &["--shim", "0.3"]].concat());
    shop.write("shop.toml", "shims = [0.3]\n");
    assert_eq!(told["shims"], shop.json(&arguments)["shims"]);
    near(told["shims"]["thicknesses_mm"][0].as_f64().unwrap(), 7.62, 1e-9);
}

#[test]
fn what_is_wrong_in_a_file_is_told_once_at_its_line() {
    let shop = Shop::with(JOB);
    let mut rows = as_predicted(&shop.built(), 1.0);
    rows.swap(4, 9);
    shop.write("swapped.csv", &csv(&rows));
    let said = shop.says(&["calibrate", "job.toml", "swapped.csv"], 2);
    assert_eq!(said.matches("swapped.csv, line 6\n").count(), 1, "{said}");
    assert!(!said.contains("job.toml"), "{said}");
    let mut table = table_heights(&shop.built(), 50.0, (-1e4, 1e4));
    table.swap(4, 9);
    shop.write("table.csv", &csv(&table));
    for command in ["predict", "shims"] {
        let said = shop.says(&[command, "job.toml", "--as-built", "table.csv"], 2);
        assert_eq!(said.matches("table.csv, line 6\n").count(), 1, "{said}");
    }
}

#[test]
fn dates_exist_and_labels_are_given_once() {
    let shop = Shop::with(JOB);
    shop.write("board.csv", &csv(&as_predicted(&shop.built(), 1.0)));
    let said = shop.says(&["calibrate", "job.toml", "board.csv", "--date", "2026-02-30"], 2);
    assert!(said.contains("is not a date"), "{said}");
    shop.says(&["calibrate", "job.toml", "board.csv", "--label", "one", "--date", "2028-02-29"], 0);
    let file = fs::read_to_string(shop.path("shop.toml")).unwrap();
    shop.write("shop.toml", &format!("{file}\n{file}"));
    let said = shop.says(&["check", "job.toml"], 2);
    assert!(said.contains("a board called `one` before this one"), "{said}");
}

#[test]
fn a_kept_board_is_some_thirty_lines() {
    let shop = Shop::with(JOB);
    shop.write("board.csv", &csv(&as_predicted(&shop.built(), 1.0)));
    shop.says(&["calibrate", "job.toml", "board.csv", "--date", "2026-03-01", "--remark", "first of the winter"], 0);
    let file = fs::read_to_string(shop.path("shop.toml")).unwrap();
    assert!(file.lines().count() <= 33, "{} lines\n{file}", file.lines().count());
    let longest = file.lines().map(|l| l.chars().count()).max().unwrap();
    assert!(longest <= 220, "{longest}");
}
