//! The worked examples: each builds, and its files are the expected ones.

use std::fs;
use std::path::{Path, PathBuf};

use overbend::document::{Document, Inputs};
use overbend::run::{self, Outcome};

fn folder(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("examples").join(name)
}

fn build(name: &str) -> Outcome {
    let text = fs::read_to_string(folder(name).join("job.toml")).unwrap();
    let document = Document::parse(name, &text).unwrap_or_else(|p| panic!("{p:#?}"));
    let job = document.job().unwrap_or_else(|p| panic!("{p:#?}"));
    run::build(&job).unwrap_or_else(|f| panic!("{f:#?}"))
}

/// Points to the first line that differs.
fn assert_same(file: &Path, made: &[u8]) {
    let expected = fs::read(file).unwrap();
    if made != expected {
        let [made, expected] = [made, &expected].map(String::from_utf8_lossy);
        let differ = made.lines().zip(expected.lines()).find(|(a, b)| a != b);
        panic!("{}: {differ:?}, {} and {} bytes", file.display(), made.len(), expected.len());
    }
}

/// Set `OVERBEND_BLESS=1` to write the expected files anew after looking at them.
fn compare(name: &str) {
    let outcome = build(name);
    assert!(!outcome.stops(), "{}", outcome.summary);
    let expected = folder(name).join("expected");
    // Packed pages are left out, as nobody reads their difference; tests/library/exports.rs and the readers look at patterns.
    let words = outcome.files.iter().filter(|f| !f.name.ends_with(".pdf"));
    let mut all: Vec<(String, Vec<u8>)> = words.map(|f| (f.name.clone(), f.bytes.clone())).collect();
    all.push(("summary.txt".to_owned(), outcome.summary.clone().into_bytes()));
    if std::env::var_os("OVERBEND_BLESS").is_some() {
        fs::create_dir_all(&expected).unwrap();
        for (file, bytes) in &all {
            fs::write(expected.join(file), bytes).unwrap();
        }
    }
    let mut listed: Vec<String> =
        fs::read_dir(&expected).unwrap().map(|e| e.unwrap().file_name().into_string().unwrap()).collect();
    let mut made: Vec<String> = all.iter().map(|f| f.0.clone()).collect();
    listed.sort();
    made.sort();
    assert_eq!(made, listed, "the files of {name}");
    for (file, bytes) in &all {
        assert_same(&expected.join(file), bytes);
    }
}

#[test]
fn lake_board_comes_out_as_expected() {
    compare("lake-board");
}

#[test]
fn sled_runner_comes_out_as_expected() {
    compare("sled-runner");
}

#[test]
fn street_deck_comes_out_as_expected() {
    compare("street-deck");
}

#[test]
fn ridge_boards_come_out_as_expected() {
    compare("ridge-boards");
}

#[test]
fn lane_deck_comes_out_as_expected() {
    compare("lane-deck");
}

/// The target alone, of an example whose rocker stands in a file: what is said of it and its listing of stations. The whole
/// build must go through.
fn compare_target(name: &str, file: &str) {
    let text = fs::read_to_string(folder(name).join("job.toml")).unwrap();
    let document = Document::parse(name, &text).unwrap_or_else(|p| panic!("{p:#?}"));
    let mut inputs = Inputs::default();
    inputs.add(file, Ok(fs::read(folder(name).join(file)).unwrap()));
    let wanted = document.wanted_with(&inputs).unwrap_or_else(|p| panic!("{p:#?}"));
    let outcome = run::target(&wanted).unwrap_or_else(|f| panic!("{f:#?}"));
    let listing = outcome.files.iter().find(|f| f.name == "target.csv").unwrap();
    let expected = folder(name).join("expected");
    for (file, bytes) in [("target.csv", listing.bytes.as_slice()), ("summary.txt", outcome.summary.as_bytes())] {
        if std::env::var_os("OVERBEND_BLESS").is_some() {
            fs::create_dir_all(&expected).unwrap();
            fs::write(expected.join(file), bytes).unwrap();
        }
        assert_same(&expected.join(file), bytes);
    }
    let job = document.job_with(&inputs).unwrap_or_else(|p| panic!("{p:#?}"));
    let built = run::build(&job).unwrap_or_else(|f| panic!("{f:#?}"));
    assert!(!built.stops(), "{}", built.summary);
}

#[test]
fn a_measured_board_gives_the_expected_target() {
    compare_target("river-board", "board.csv");
}

#[test]
fn a_drawn_board_gives_the_expected_target() {
    compare_target("hill-board", "profile.dxf");
}

#[test]
fn the_same_job_gives_the_same_bytes() {
    assert_eq!(build("street-deck").files, build("street-deck").files);
}

#[test]
fn the_released_board_meets_what_was_wanted() {
    for name in ["lake-board", "sled-runner", "street-deck", "ridge-boards", "lane-deck"] {
        let outcome = build(name);
        let json = &outcome.files.iter().find(|f| f.name == "result.json").unwrap().bytes;
        let result: serde_json::Value = serde_json::from_slice(json).unwrap();
        let error = result["released"]["largest_error_mm"].as_f64().unwrap();
        assert!((0.0..=0.01).contains(&error), "{name}: {error} mm");
    }
}
