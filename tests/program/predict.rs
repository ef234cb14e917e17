//! What comes off a table that is there already.

use assert_cmd::Command;
use overbend::document::{Document, Inputs};
use overbend::run::{self, Prediction};

const JOB: &str = r#"
title = "Two plies"
[board]
length = 1200
width = 300
overhang = 150
[rocker.arc]
radius = 6000
[[layers]]
name = "ply"
modulus = "10 GPa"
thickness = 4
plies = 2
[pressing.vacuum]
pressure = "80 kPa"
[existing_table]
length = 1600
[existing_table.surface.arc]
radius = 4500
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

const MORE_PLIES: &str = r#"
[[alternatives]]
name = "four thin plies"
[[alternatives.layers]]
modulus = "10 GPa"
thickness = 2
plies = 4
"#;

fn predicted(text: &str) -> Result<Prediction, Vec<String>> {
    let document = Document::parse("job", text).unwrap();
    let job = document.job().map_err(|p| p.iter().map(ToString::to_string).collect::<Vec<_>>())?;
    run::predict(&job).map_err(|f| document.problems(&f).iter().map(ToString::to_string).collect())
}

/// n equal plies give back 1/n² of the curvature of the neutral axis (closed form); the overhang lets the finished part
/// lie down, so that the base is an arc.
fn tip_height_mm(table_radius_mm: f64, thickness_mm: f64, plies: f64) -> f64 {
    let neutral = 0.5 * thickness_mm;
    let radius = (table_radius_mm - neutral) / (1.0 - 1.0 / (plies * plies)) + neutral;
    radius * (1.0 - (600.0 / radius).cos())
}

#[test]
fn equal_plies_come_off_an_arc_as_the_closed_form_says() {
    let json = predicted(&format!("{JOB}{MORE_PLIES}")).unwrap().json;
    for (board, plies) in [(&json, 2.0), (&json["alternatives"][0], 4.0)] {
        let expected = tip_height_mm(4500.0, 8.0, plies);
        for key in ["tip_height_mm", "tail_height_mm"] {
            let found = board["released"][key].as_f64().unwrap();
            assert!((found - expected).abs() < 0.005, "{plies} plies, {key}: {found} is not {expected}");
        }
        let band = &board["forecast"]["tip_height_mm"];
        assert!(band["p05"].as_f64().unwrap() < expected && band["p95"].as_f64().unwrap() > expected, "{band}");
    }
}

#[test]
fn the_stack_that_comes_nearest_to_what_is_wanted_is_named() {
    let both = predicted(&format!("{JOB}{MORE_PLIES}")).unwrap();
    // Wanted: a radius of 6 m. Two plies give 4.5 m · 4/3, four only 4.5 m · 16/15.
    assert_eq!(both.json["nearest"], "Two plies");
    assert!(both.summary.contains("nearest to the wanted rocker: Two plies"), "{}", both.summary);
    let tight = format!("{JOB}{MORE_PLIES}").replace("radius = 6000", "radius = 4800");
    assert_eq!(predicted(&tight).unwrap().json["nearest"], "four thin plies");
}

#[test]
fn figures_have_the_keys_of_a_build() {
    let json = predicted(JOB).unwrap().json;
    let lying = json["pressed"]["points"].as_array().unwrap();
    assert!(lying.len() > 100);
    for key in ["s_mm", "gap_mm", "curvature_per_m"] {
        assert!(lying.iter().all(|p| p[key].is_f64()), "{key}");
    }
    let released = json["released"]["points"].as_array().unwrap();
    for key in ["s_mm", "x_mm", "z_mm", "curvature_per_m"] {
        assert!(released.iter().all(|p| p[key].is_f64()), "{key}");
    }
}

#[test]
fn what_is_wrong_with_the_table_is_said_at_its_key() {
    let without = JOB.replace("[existing_table]\nlength = 1600\n[existing_table.surface.arc]\nradius = 4500\n", "");
    let cases = [
        (without, "no-existing-table"),
        (JOB.replace("length = 1600", "length = 1300"), "line 17, `length` in [existing_table]; blank-off-table)"),
        (JOB.replace("length = 1600", ""), "`length` is missing"),
        (
            JOB.replace("radius = 4500", "radius = 5"),
            "line 19, `radius` in [existing_table.surface.arc]; rocker-too-tight)",
        ),
        (
            JOB.replace("radius = 4500", "radios = 4500"),
            "line 19, `radios` in [existing_table.surface.arc]; unknown-key)",
        ),
    ];
    for (text, expected) in cases {
        let found = predicted(&text).unwrap_err().join("\n");
        assert!(found.contains(expected), "{expected} is not in\n{found}");
    }
}

const HUMP: &str = "[existing_table.surface.segments]\nparts = [{ camber = { radius = 4500 } }]";

#[test]
fn a_board_that_lies_on_its_deck_comes_off_a_hump_as_the_closed_form_says() {
    // The hump of 4.5 m carries the deck; the neutral axis lies half a thickness outside of it, and so does the base again.
    let text = JOB.replace("[existing_table.surface.arc]\nradius = 4500", HUMP);
    let text = text.replace("[table]\n", "[table]\nboard_lies = \"deck down\"\n");
    let json = predicted(&text).unwrap().json;
    let radius = (4500.0 + 4.0) * 4.0 / 3.0 + 4.0;
    let expected = radius * (1.0 - (600.0_f64 / radius).cos());
    for key in ["tip_height_mm", "tail_height_mm"] {
        let found = json["released"][key].as_f64().unwrap();
        assert!((found - expected).abs() < 0.005, "{key}: {found} is not {expected}");
    }
    let band = &json["forecast"]["tip_height_mm"];
    assert!(band["p05"].as_f64().unwrap() < expected && band["p95"].as_f64().unwrap() > expected, "{band}");
}

#[test]
fn a_blank_without_overhang_is_pressed_whichever_way_the_board_bends() {
    for surface in ["[existing_table.surface.arc]\nradius = 4500", HUMP] {
        let text = JOB.replace("[existing_table.surface.arc]\nradius = 4500", surface);
        let text = text.replace("overhang = 150", "overhang = 0");
        let points = predicted(&text).unwrap().json["released"]["points"].as_array().unwrap().len();
        assert!(points > 100, "{surface}: {points}");
    }
}

/// Heights of an arc of 4.5 m over its chord's middle, every 50 mm, rounded to a tenth as a ruler reads.
fn heights() -> String {
    let mut text = "station_mm,height_mm\n".to_owned();
    for i in 0..=32 {
        let x = 50.0 * f64::from(i) - 800.0;
        let z = 4500.0 - (4500.0_f64 * 4500.0 - x * x).sqrt();
        text.push_str(&format!("{},{:.1}\n", x + 800.0, z + 60.0));
    }
    text
}

#[test]
fn the_command_prints_a_summary_or_figures_of_a_stated_or_measured_table() {
    let folder = tempfile::tempdir().unwrap();
    let (job, csv, bad) =
        (folder.path().join("job.toml"), folder.path().join("table.csv"), folder.path().join("bad.csv"));
    for (path, text) in [(&job, JOB), (&csv, heights().as_str()), (&bad, "0,1\n100,2 kPa\n")] {
        #[expect(clippy::disallowed_methods, reason = "the command reads files")]
        std::fs::write(path, text).unwrap();
    }
    let run = |more: &[&str]| {
        let output = Command::cargo_bin("overbend").unwrap().arg("predict").arg(&job).args(more).output().unwrap();
        let words = |bytes| String::from_utf8(bytes).unwrap();
        (output.status.code().unwrap(), words(output.stdout), words(output.stderr))
    };
    let (code, said, _) = run(&[]);
    assert!(code == 0 && said.contains("predicted  tip 30."), "{said}");
    let (code, said, wrong) = run(&["--json", "--as-built", csv.to_str().unwrap()]);
    assert_eq!(code, 0, "{wrong}");
    let json: serde_json::Value = serde_json::from_str(&said).unwrap();
    let tip = json["released"]["tip_height_mm"].as_f64().unwrap();
    // Readings to a tenth of a millimetre tell the end of the board to a few tenths.
    assert!((tip - tip_height_mm(4500.0, 8.0, 2.0)).abs() < 0.3, "{tip}");
    let (code, _, wrong) = run(&["--as-built", bad.to_str().unwrap()]);
    assert!(code == 2 && wrong.contains(".csv, line 2\n"), "{code} {wrong}");
}

#[test]
fn materials_may_stand_in_a_file_of_the_shop() {
    let text = JOB.replace("modulus = \"10 GPa\"", "material = \"our ash\"");
    let text = text.replace("title =", "materials_file = \"ours.toml\"\ntitle =");
    let document = Document::parse("job", &text).unwrap();
    assert_eq!(document.inputs(), ["ours.toml"]);
    let with = |file: &str| {
        let mut inputs = Inputs::default();
        inputs.add("ours.toml", Ok(file.as_bytes().to_vec()));
        document.job_with(&inputs).map_err(|p| p.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"))
    };
    let job = with("[[materials]]\nname = \"our ash\"\nlike = \"ash, white\"\nmodulus = \"11 GPa\"\n").unwrap();
    assert_eq!(job.layers[0].material.modulus_mpa.value, 11_000.0);
    let wrong = with("[[materials]]\nname = \"our ash\"\nlike = \"ash, white\"\nmodulus = \"11 mm\"\n").unwrap_err();
    assert!(wrong.contains("Line 4 of ours.toml: `mm` is not a unit for"), "{wrong}");
    assert!(document.job().unwrap_err()[0].to_string().contains("file-not-read"));
}
