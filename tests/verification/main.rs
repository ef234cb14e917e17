//! Each physical and geometric claim beside a published value, a closed form or another program.
//!
//! One file per source. The rows are written to `TABLE.md`; the committed copy must be the one that the tests write.
//! After looking at what changed: `OVERBEND_BLESS=1 cargo test --test verification`.
#![allow(clippy::unwrap_used, clippy::disallowed_methods, reason = "tests read files and stop at the first surprise")]

mod bench;
mod program;
mod wrong;

mod sources;

use std::fs;
use std::path::Path;
use std::sync::LazyLock;

use bench::{Kind, Source};
use program::Program;
use wrong::Trial;

fn committed() -> std::path::PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/verification/TABLE.md")
}

/// All sources, computed once for all tests of this program.
fn measured() -> &'static [Source] {
    static MEASURED: LazyLock<Vec<Source>> = LazyLock::new(|| sources::all(&Program::ours()));
    &MEASURED
}

/// All formulas made wrong, once for all tests.
fn trials() -> &'static [Trial] {
    static TRIALS: LazyLock<Vec<Trial>> = LazyLock::new(wrong::trials);
    &TRIALS
}

#[test]
fn every_claim_stands_beside_its_source() {
    let sources = measured();
    for source in sources {
        println!("{}", source.listing());
    }
    let complaints: Vec<String> = sources.iter().flat_map(Source::complaints).collect();
    assert!(complaints.is_empty(), "\n{}", complaints.join("\n"));
}

#[test]
fn sources_have_names_of_their_own_and_every_kind_is_there() {
    let sources = measured();
    for (i, source) in sources.iter().enumerate() {
        assert!(sources[..i].iter().all(|s| s.name != source.name), "{} is there twice", source.name);
    }
    for kind in [Kind::Published, Kind::ClosedForm, Kind::OtherProgram, Kind::Measured, Kind::Invariant] {
        assert!(sources.iter().any(|s| s.kind == kind), "nothing of the kind {}", kind.words());
    }
}

#[test]
fn every_formula_made_wrong_on_purpose_fails_its_rows() {
    let trials = trials();
    for trial in trials {
        println!("{}", trial.line());
    }
    let missed: Vec<String> = trials.iter().filter(|t| !t.is_caught()).map(Trial::line).collect();
    assert!(missed.is_empty(), "not noticed:\n{}", missed.join("\n"));
}

#[test]
fn the_committed_table_is_what_the_tests_write() {
    let written = bench::table(measured(), trials());
    if std::env::var_os("OVERBEND_BLESS").is_some() {
        fs::write(committed(), &written).unwrap();
    }
    let kept = fs::read_to_string(committed()).unwrap();
    for (line, (a, b)) in kept.lines().zip(written.lines()).enumerate() {
        assert_eq!(a, b, "line {} of TABLE.md is no longer what the tests write", line + 1);
    }
    assert_eq!(kept.len(), written.len(), "TABLE.md has more or fewer lines than the tests write");
}
