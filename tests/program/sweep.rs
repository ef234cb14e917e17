//! Sweeps: keys of a document over ranges of values, as the command line lists them.

use std::fs;
use std::process::Command;

use serde_json::Value;
use tempfile::TempDir;

const JOB: &str = "examples/lake-board/job.toml";

fn overbend(arguments: &[&str]) -> (i32, String, String) {
    let mut command = Command::new(assert_cmd::cargo::cargo_bin!("overbend"));
    let output = command.current_dir(env!("CARGO_MANIFEST_DIR")).args(arguments).output().unwrap();
    let words = |b: Vec<u8>| String::from_utf8(b).unwrap();
    (output.status.code().unwrap(), words(output.stdout), words(output.stderr))
}

fn sweep(arguments: &[&str]) -> (i32, String, String) {
    overbend(&[&["sweep", JOB], arguments].concat())
}

/// The rows of a listing, each with its cells.
fn rows(csv: &str) -> Vec<Vec<String>> {
    csv.lines().skip(1).map(|l| l.split(',').map(str::to_owned).collect()).collect()
}

#[test]
fn a_variation_is_what_check_says_of_the_document_with_these_values() {
    let vary = ["--vary", "layers.core.thickness=3..4/0.5", "--vary", "rocker.arc.height=40..50/10"];
    let (code, csv, said) = sweep(&vary);
    assert_eq!(code, 0, "{said}");
    assert!(csv.starts_with("layers.core.thickness,rocker.arc.height,table_tip_mm,"), "{csv}");
    let rows = rows(&csv);
    assert_eq!(rows.len(), 6);
    let text = fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/", "examples/lake-board/job.toml")).unwrap();
    let text = text.replace("thickness = 4\n", "thickness = 3.5\n").replace("height = 45 ", "height = 50 ");
    let dir = TempDir::new().unwrap();
    let job = dir.path().join("job.toml");
    fs::write(&job, text).unwrap();
    let (_, json, said) = overbend(&["check", job.to_str().unwrap(), "--json"]);
    let json: Value = serde_json::from_str(&json).unwrap_or_else(|e| panic!("{e}: {said}"));
    let row = &rows[3];
    assert_eq!(row[..2], ["3.5", "50"]);
    let near = |cell: &str, value: &Value, within: f64| {
        let (cell, value) = (cell.parse::<f64>().unwrap(), value.as_f64().unwrap());
        assert!((cell - value).abs() <= within, "{cell} beside {value}");
    };
    // Half of the last printed digit.
    near(&row[2], &json["table"]["tip_height_mm"], 0.0006);
    near(&row[3], &json["table"]["tail_height_mm"], 0.0006);
    near(&row[4], &json["released"]["tip_height_mm"], 0.0006);
    let share = Value::from(100.0 * json["stack"]["springback_share"].as_f64().unwrap());
    near(&row[6], &share, 0.0006);
    let tip = &json["forecast"]["tip_height_mm"];
    let band = tip["p95"].as_f64().unwrap() - tip["p05"].as_f64().unwrap();
    // Of 2000 simulated boards a band is good to some three percent, and it is not quite normal.
    near(&row[7], &Value::from(band), 0.1 * band);
}

#[test]
fn parts_are_the_whole_and_a_folder_holds_listing_and_chart() {
    let vary = ["--vary", "rocker.arc.height=40..46/2", "--vary", "layers.core.thickness=3..5/1 mm"];
    let (_, whole, _) = sweep(&vary);
    let part = |part: &str| rows(&sweep(&[&vary[..], &["--part", part]].concat()).1);
    let parts: Vec<_> = ["1/3", "2/3", "3/3"].into_iter().flat_map(part).collect();
    assert_eq!(parts, rows(&whole));
    assert!(whole.contains("\r\n42,4,"), "{whole}");
    let dir = TempDir::new().unwrap();
    let folder = dir.path().join("sweep");
    let (code, out, said) = sweep(&[&vary[..], &["-o", folder.to_str().unwrap()]].concat());
    assert_eq!((code, out.as_str()), (0, ""), "{said}");
    assert!(said.contains("12 variations are in "), "{said}");
    assert_eq!(fs::read_to_string(folder.join("sweep.csv")).unwrap(), whole);
    let chart = fs::read_to_string(folder.join("sweep.svg")).unwrap();
    let document = roxmltree::Document::parse(&chart).unwrap();
    let texts: Vec<&str> = document.descendants().filter_map(|n| n.text()).collect();
    for words in
        ["tip on the table, mm", "springback, %", "rocker.arc.height", "core.thickness 3 mm", "core.thickness 5 mm"]
    {
        assert!(texts.iter().any(|t| t.contains(words)), "`{words}` is not in {texts:?}");
    }
}

#[test]
fn a_combination_without_a_table_says_why_and_others_stay() {
    let (code, csv, said) = sweep(&["--vary", "rocker.arc.height=45..19045/9500"]);
    assert_eq!(code, 0, "{said}");
    let rows = rows(&csv);
    assert!(rows[0][1].starts_with("47."), "{csv}");
    let last = rows.last().unwrap();
    assert!(last[1].is_empty() && last[9].len() > 20, "{csv}");
}

#[test]
fn what_cannot_be_varied_is_said_with_what_to_do() {
    for (vary, words) in [
        ("rocker.arc.hight=40..60/5", "does not write the key `rocker.arc.hight`. Did you mean `rocker.arc.height`?"),
        ("table.gap=1..2/1", "does not write the key `table.gap`."),
        ("rocker.arc=40..60/5", "`rocker.arc` is a table or a list"),
        ("rocker.arc.height=60..40/5", "Write the lower value first, such as 40..60/5"),
        ("rocker.arc.height=40..60/0", "is too small"),
        ("rocker.arc.height", "Write KEY=FROM..TO/STEP"),
    ] {
        let (code, out, said) = sweep(&["--vary", vary]);
        assert_eq!((code, out.as_str()), (2, ""), "{vary}: {said}");
        assert!(said.contains(words), "{vary}: {said}");
    }
    // A unit that the key does not take is a mistake in the varied document, told as any other.
    let (code, out, said) = sweep(&["--vary", "rocker.arc.height=40..60/5 kPa"]);
    assert_eq!((code, out.as_str()), (2, ""), "{said}");
    assert!(said.contains("job.toml, line 12") && said.contains("40 kPa"), "{said}");
    let (code, _, said) = sweep(&["--vary", "rocker.arc.height=40..60/5", "--part", "4/3"]);
    assert!(code == 2 && said.contains("`4/3` is no part"), "{said}");
    let (code, _, said) =
        sweep(&["--vary", "rocker.arc.height=40..60/0.001", "--vary", "layers.core.thickness=3..5/0.001"]);
    assert!(code == 2 && said.contains("at most 100000 are computed"), "{said}");
}
