//! Bad documents: one file per mistake, with the exact words that are said about it; and good ones.

use std::fs;
use std::path::{Path, PathBuf};

use overbend::built::Shimming;
use overbend::document::{Document, Inputs, Problem, Problems, STARTERS};
use overbend::run;
use overbend::units::LengthUnit;

fn shown(text: &str, problem: &Problem) -> String {
    assert_ne!((problem.line, problem.column), (1, 1), "{problem}: points at nothing");
    problem.shown(text).to_string()
}

/// What is said about a document; the stages are told that the shop reads other units where some are given.
pub(crate) fn problems_in(name: &str, text: &str, unit: Option<LengthUnit>) -> Problems {
    let document = match Document::parse(name, text) {
        Ok(document) => document,
        Err(found) => return found,
    };
    let mut inputs = Inputs::default();
    for named in document.inputs() {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/documents/bad").join(&named);
        if let Ok(bytes) = fs::read(path) {
            inputs.add(named, Ok(bytes));
        }
    }
    let mut job = match document.job_with(&inputs) {
        Ok(job) => job,
        Err(found) => return found,
    };
    job.unit = unit.unwrap_or(job.unit);
    let done = match name.split_once('/') {
        Some(("predict", _)) => run::predict(&job).map(|_| ()),
        Some(("shims", _)) => run::shim(&job, &Shimming { thicknesses_mm: Vec::new(), planing: false }).map(|_| ()),
        _ => run::build(&job).map(|_| ()),
    };
    let found = done.map_or_else(|faults| document.problems(&faults), |()| Problems::default());
    found.into_iter().map(|p| Problem { fault: p.fault.in_units(job.unit), ..p }).collect()
}

fn problems(name: &str, text: &str) -> Vec<String> {
    problems_in(name, text, None).iter().map(|p| shown(text, p)).collect()
}

/// The bad documents, by their names under their folder.
pub(crate) fn bad_documents() -> Vec<(String, String)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/documents/bad");
    let mut paths = tomls(&folder);
    paths.extend(["predict", "shims"].iter().flat_map(|command| tomls(&folder.join(command))));
    let named = |path: PathBuf| {
        let name = path.strip_prefix(&folder).unwrap().to_str().unwrap().to_owned();
        (name, fs::read_to_string(path).unwrap())
    };
    paths.into_iter().map(named).collect()
}

fn tomls(folder: &Path) -> Vec<PathBuf> {
    let mut found: Vec<PathBuf> = fs::read_dir(folder)
        .unwrap()
        .map(|e| e.unwrap().path())
        .filter(|p| p.extension().is_some_and(|e| e == "toml"))
        .collect();
    found.sort();
    found
}

/// Set `OVERBEND_BLESS=1` to write the words anew after looking at them.
#[test]
fn each_bad_document_is_refused_with_its_place_and_what_would_be_right() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/documents/bad");
    let documents = bad_documents();
    assert!(documents.len() >= 20, "only {} bad documents were found", documents.len());
    let mut different = Vec::new();
    for (name, text) in &documents {
        let found = problems(name, text);
        assert!(!found.is_empty(), "{name} is accepted");
        let words = found.join("\n");
        let expected = folder.join(name).with_extension("expected");
        if std::env::var_os("OVERBEND_BLESS").is_some() {
            fs::write(&expected, &words).unwrap();
        }
        let expected = fs::read_to_string(&expected).unwrap_or_default();
        if words != expected {
            different.push(format!("{name}\n--- expected\n{expected}--- found\n{words}"));
        }
    }
    assert!(different.is_empty(), "{}", different.join("\n"));
}

#[test]
fn several_mistakes_are_all_told_in_one_run() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/documents/bad/several.toml");
    let found = problems("several.toml", &fs::read_to_string(path).unwrap());
    for code in ["unknown-key", "unknown-material", "wrong-unit", "not-a-number", "wrong-choice"] {
        assert!(found.iter().any(|p| p.contains(&format!("({code})"))), "{code} is missing in {found:#?}");
    }
}

#[test]
fn every_starter_is_a_valid_job() {
    for starter in STARTERS {
        let found = problems(starter.name, starter.text);
        assert!(found.is_empty(), "{found:#?}");
        let document = Document::parse(starter.name, starter.text).unwrap();
        let outcome = run::build(&document.job().unwrap()).unwrap();
        assert!(!outcome.stops(), "{}", outcome.summary);
    }
}

#[test]
fn a_document_says_the_same_in_inches_and_in_millimetres() {
    let inches = STARTERS.iter().find(|s| s.name == "deck").unwrap().text;
    let bare = inches.replace(" in\"", "\"");
    let with_units = Document::parse("a", inches).unwrap().job().unwrap();
    let without = Document::parse("b", &bare).unwrap().job().unwrap();
    assert_ne!(inches, bare);
    assert_eq!(with_units.board, without.board);
    assert_eq!(with_units.table, without.table);
    assert_eq!(with_units.rocker, without.rocker);
}
