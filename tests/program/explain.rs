//! Every code that a check or a mistake carries is explained, and nothing is explained that no code carries.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use overbend::document::Document;
use overbend::explain::{self, Kind};

fn files(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            files(&path, found);
        } else if path.extension().is_some_and(|e| e == "rs") && path.file_stem().is_some_and(|s| s != "tests") {
            found.push(path);
        }
    }
}

/// Code without comments and tests, on one line.
fn code(path: &Path) -> String {
    let text = fs::read_to_string(path).unwrap();
    let text = text.split("#[cfg(test)]").next().unwrap();
    text.lines().filter(|l| !l.trim_start().starts_with("//")).collect::<Vec<_>>().join(" ")
}

/// What stands in code just before the text of a code: how findings and faults are made here.
const MADE_BY: [&str; 6] = ["code: ", "Fault::new( ", "fault( ", "finding( ", "check( ", "note( "];

/// Texts in the code that look like codes and stand where a code stands.
fn carried() -> BTreeMap<String, PathBuf> {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut all = Vec::new();
    files(&src, &mut all);
    let mut found = BTreeMap::new();
    for path in all {
        let inside = path.strip_prefix(&src).unwrap();
        // Explanations, drawings and the command line carry no codes of their own.
        if ["explain", "bin", "draft", "export"].iter().any(|r| inside.starts_with(r)) {
            continue;
        }
        let text = code(&path).split_whitespace().collect::<Vec<_>>().join(" ").replace("( ", "(").replace('(', "( ");
        for (at, _) in text.match_indices('"') {
            let Some((word, _)) = text[at + 1..].split_once('"') else { continue };
            let like = !word.is_empty() && word.chars().all(|c| c.is_ascii_lowercase() || c == '-');
            let chosen = word.contains('-') && text[..at].ends_with("{ ( ");
            if like && (chosen || MADE_BY.iter().any(|m| text[..at].ends_with(m))) {
                found.insert(word.to_owned(), inside.to_owned());
            }
        }
    }
    found
}

#[test]
fn every_code_is_explained_and_every_explanation_has_its_code() {
    let carried = carried();
    // `fault("patterns", ...)` names a file, not a code.
    let not_codes = ["patterns"];
    let used: BTreeSet<&str> = carried.keys().map(String::as_str).filter(|c| !not_codes.contains(c)).collect();
    let known: BTreeSet<&str> = explain::all().map(|e| e.code).collect();
    let missing: Vec<_> = used.difference(&known).map(|c| format!("{c} in {}", carried[*c].display())).collect();
    assert!(missing.is_empty(), "not explained: {missing:#?}");
    let stale: Vec<_> = known.difference(&used).collect();
    assert!(stale.is_empty(), "explained, but said nowhere: {stale:?}");
    assert!(used.len() > 100, "only {} codes were found", used.len());
}

/// Faults are made with a code that stands there in plain text, so that the search above cannot miss one.
#[test]
fn codes_are_written_where_they_are_used() {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut all = Vec::new();
    files(&src, &mut all);
    let mut elsewhere = BTreeSet::new();
    for path in all {
        let text = code(&path);
        for piece in text.split("Fault::new(").skip(1) {
            if !piece.trim_start().starts_with('"') {
                let argument = piece.split(',').next().unwrap().trim().to_owned();
                elsewhere.insert(format!("{}: {argument}", path.strip_prefix(&src).unwrap().display()));
            }
        }
    }
    let helpers = [
        "calibrate/factor.rs: code",
        "document/own_materials.rs: at.fault.code",
        "document/shop.rs: p.fault.code",
        "jig/rods.rs: code",
        "laminate/stack.rs: code",
        "rocker/drawn/svg_in.rs: code",
    ];
    assert_eq!(elsewhere, helpers.map(str::to_owned).into());
}

#[test]
fn codes_that_bad_documents_and_examples_bring_up_are_explained_as_what_they_are() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut seen = BTreeSet::new();
    for entry in fs::read_dir(root.join("tests/documents/bad")).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_none_or(|e| e != "toml") {
            continue;
        }
        let text = fs::read_to_string(&path).unwrap();
        let problems = Document::parse("bad", &text).and_then(|d| {
            let job = d.job()?;
            overbend::run::build(&job).map_err(|f| d.problems(&f))
        });
        for problem in problems.err().unwrap_or_default() {
            let found = explain::find(problem.fault.code).unwrap_or_else(|_| panic!("{problem}"));
            assert_eq!(found.kind, Kind::Mistake, "{problem}");
            seen.insert(problem.fault.code);
        }
    }
    assert!(seen.len() > 30, "only {} codes", seen.len());
    for name in ["lake-board", "sled-runner", "street-deck"] {
        let text = fs::read_to_string(root.join(format!("examples/{name}/job.toml"))).unwrap();
        let outcome = overbend::run::build(&Document::parse("job", &text).unwrap().job().unwrap()).unwrap();
        for check in outcome.checks {
            assert_eq!(explain::find_check(check.code).unwrap().code, check.code);
        }
    }
}

fn overbend(arguments: &[&str]) -> (i32, String, String) {
    let output = Command::new(assert_cmd::cargo::cargo_bin!("overbend")).args(arguments).output().unwrap();
    let words = |b: Vec<u8>| String::from_utf8(b).unwrap();
    (output.status.code().unwrap(), words(output.stdout), words(output.stderr))
}

#[test]
fn explain_tells_meaning_computation_source_and_remedy() {
    for e in explain::all() {
        let (code, said, _) = overbend(&["explain", e.code]);
        assert_eq!(code, 0);
        let flat = said.split_whitespace().collect::<Vec<_>>().join(" ");
        for text in [e.meaning, e.computed, e.source, e.remedy] {
            assert!(flat.contains(&text.split_whitespace().collect::<Vec<_>>().join(" ")), "{said}");
        }
        assert!(said.lines().all(|l| l.chars().count() <= 96), "{said}");
    }
    let (code, listed, _) = overbend(&["explain"]);
    assert_eq!(code, 0);
    assert!(explain::all().all(|e| listed.lines().any(|l| l.starts_with(e.code))));
    assert_eq!(overbend(&["explain", "(unknown-key)"]).0, 0);
    let (code, _, said) = overbend(&["explain", "layer-strian"]);
    assert!(code == 2 && said.contains("Did you mean layer-strain?"), "{said}");
}

#[test]
fn a_mistyped_code_to_accept_is_told_not_ignored() {
    let (code, _, said) = overbend(&["check", "examples/lake-board/job.toml", "--accept", "left-oven"]);
    assert!(code == 2 && said.contains("Did you mean left-over?"), "{said}");
    let document = Document::parse("job", "accept = [\"bag-gab\"]\n").unwrap();
    let problems = document.job().unwrap_err();
    let found = problems.iter().find(|p| p.fault.path == "accept[0]").unwrap();
    assert!(found.fault.remedy().contains("Did you mean \"bag-gap\"?"), "{found}");
}
