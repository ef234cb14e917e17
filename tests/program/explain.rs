//! What `overbend explain` prints of each code.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;
use std::process::Command;

use overbend::codes;
use overbend::document::Document;
use overbend::finding::Kind;

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
            assert_eq!(problem.fault.code.kind, Kind::Mistake, "{problem}");
            seen.insert(problem.fault.code.name);
        }
    }
    assert!(seen.len() > 30, "only {} codes", seen.len());
    for name in ["lake-board", "sled-runner", "street-deck"] {
        let text = fs::read_to_string(root.join(format!("examples/{name}/job.toml"))).unwrap();
        let outcome = overbend::run::build(&Document::parse("job", &text).unwrap().job().unwrap()).unwrap();
        for check in outcome.checks {
            assert_eq!(check.code.kind, Kind::Check, "{check:?}");
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
    for e in codes::all() {
        let (code, said, _) = overbend(&["explain", e.name]);
        assert_eq!(code, 0);
        let flat = said.split_whitespace().collect::<Vec<_>>().join(" ");
        for text in [e.meaning, e.computed, e.source, e.remedy] {
            assert!(flat.contains(&text.split_whitespace().collect::<Vec<_>>().join(" ")), "{said}");
        }
        assert!(said.lines().all(|l| l.chars().count() <= 96), "{said}");
    }
    let (code, listed, _) = overbend(&["explain"]);
    assert_eq!(code, 0);
    assert!(codes::all().all(|e| listed.lines().any(|l| l.starts_with(e.name))));
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
