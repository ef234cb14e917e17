//! What changes from one job or result to another, as the command line tells it.

use std::fs;
use std::process::Command;

use serde_json::Value;
use tempfile::TempDir;

const JOB: &str = "examples/lake-board/job.toml";

fn diff(arguments: &[&str]) -> (i32, String, String) {
    let mut command = Command::new(assert_cmd::cargo::cargo_bin!("overbend"));
    let output = command.current_dir(env!("CARGO_MANIFEST_DIR")).arg("diff").args(arguments).output().unwrap();
    let words = |b: Vec<u8>| String::from_utf8(b).unwrap();
    (output.status.code().unwrap(), words(output.stdout), words(output.stderr))
}

#[test]
fn a_job_beside_its_own_result_is_the_same_and_its_table_serves() {
    let (code, said, _) = diff(&["examples/lake-board/expected", JOB, "--within", "0.001"]);
    assert_eq!(code, 0, "{said}");
    assert!(said.contains("no changes"), "{said}");
    // Pressed on that table, the board comes out as its own build predicts.
    let (_, json, _) = diff(&["examples/lake-board/expected", JOB, "--json"]);
    let json: Value = serde_json::from_str(&json).unwrap();
    let built: Value = serde_json::from_str(
        &fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/examples/lake-board/expected/result.json")).unwrap(),
    )
    .unwrap();
    assert_eq!(json["surface_mm"], 0.0);
    let height = |v: &Value| v["released"]["tip_height_mm"].as_f64().unwrap();
    // The old table is known by points 10 mm apart, with curvature linear in between.
    assert!(
        (height(&json["on_old_table"]) - height(&built)).abs() < 0.05,
        "{} {}",
        json["on_old_table"]["released"]["tip_height_mm"],
        height(&built)
    );
}

#[test]
fn a_thicker_core_changes_springback_and_table_and_the_old_one_does_not_serve() {
    let dir = TempDir::new().unwrap();
    let text = fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/examples/lake-board/job.toml")).unwrap();
    let thick = text.replace("thickness = 4\n", "thickness = 6\n");
    assert_ne!(text, thick);
    let new = dir.path().join("new.toml");
    fs::write(&new, thick).unwrap();
    let new = new.to_str().unwrap();
    let (code, said, talk) = diff(&[JOB, new, "--within", "0.01"]);
    assert_eq!(code, 1, "{said}{talk}");
    for word in [
        "stack",
        "springback",
        "table tip",
        "Largest difference of the table surfaces",
        "The new stack on the old table",
    ] {
        assert!(said.contains(word), "`{word}` is missing in\n{said}");
    }
    assert!(talk.contains("does not serve within 0.01 mm."), "{talk}");
    let (_, forth, _) = diff(&[JOB, new, "--json"]);
    let (_, back, _) = diff(&[new, JOB, "--json"]);
    let (forth, back): (Value, Value) = (serde_json::from_str(&forth).unwrap(), serde_json::from_str(&back).unwrap());
    assert_eq!(forth["surface_mm"], back["surface_mm"]);
    assert_eq!(forth["figures"][0]["before"], back["figures"][0]["after"]);
}

#[test]
fn what_is_no_result_is_told() {
    let dir = TempDir::new().unwrap();
    let no = dir.path().join("no.json");
    fs::write(&no, "{}").unwrap();
    let (code, _, said) = diff(&[no.to_str().unwrap(), JOB]);
    assert!(code == 2 && said.contains("not a build result"), "{said}");
    assert_eq!(diff(&[dir.path().to_str().unwrap(), JOB]).0, 3);
    assert_eq!(diff(&[JOB, JOB, "--within", "wide"]).0, 2);
}

#[test]
fn a_shop_that_reads_inches_gives_and_gets_inches() {
    let deck = "examples/street-deck/job.toml";
    for (within, shown) in [("0.5", "0.5 in"), ("1/64 in", "0.0156 in"), ("25.4 mm", "1 in")] {
        let (code, said, talk) = diff(&[deck, deck, "--within", within]);
        assert_eq!((code, talk.trim()), (0, format!("The old table serves within {shown}.").as_str()), "{said}");
    }
    let (code, _, talk) = diff(&[deck, deck, "--within", "wide"]);
    assert!(code == 2 && talk.contains("`wide` is not a length"), "{talk}");
}

#[test]
fn a_shorter_board_of_the_same_bend_is_served_by_the_table_of_the_longer_one() {
    let dir = TempDir::new().unwrap();
    let text = fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/examples/lake-board/job.toml")).unwrap();
    let job = |length: u32, radius: u32| {
        let bent = text
            .replace("height = 45 ", &format!("radius = {radius} #"))
            .replace("length = 1340", &format!("length = {length}"));
        assert_ne!(bent, text);
        let path = dir.path().join(format!("{length}-{radius}.toml"));
        fs::write(&path, bent).unwrap();
        path.to_str().unwrap().to_owned()
    };
    let long = job(1340, 5000);
    let (code, json, talk) = diff(&[&long, &job(1200, 5000), "--within", "0.05", "--json"]);
    let served: Value = serde_json::from_str(&json).unwrap();
    let left_mm = |of: &Value| of["on_old_table"]["released"]["largest_error_mm"].as_f64().unwrap();
    assert!(code == 0 && left_mm(&served) < 0.05, "{json}{talk}");
    let (code, json, talk) = diff(&[&long, &job(1200, 4000), "--within", "0.05", "--json"]);
    assert!(code == 1 && left_mm(&serde_json::from_str(&json).unwrap()) > 1.0, "{json}{talk}");
}
