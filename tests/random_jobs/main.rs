//! Random jobs over all that a table can be built of: what a build writes is whole, closed, simple, and agrees with itself.
//!
//! `OVERBEND_CASES=5000 cargo test --test random_jobs` looks at more of them.
#![allow(clippy::unwrap_used, clippy::disallowed_methods, reason = "tests stop at the first surprise")]

mod claims;
mod document;
mod shapes;

use std::collections::BTreeMap;

use document::{DICE, Dice, document as random_document};
use overbend::document::Document;
use overbend::run;
use proptest::prelude::*;
use proptest::test_runner::{Config, RngAlgorithm, TestError, TestRng, TestRunner};

/// Jobs of an ordinary run of the tests.
const CASES: u32 = 48;

/// What a random job may have that only its geometry shows. Refusals with other codes are a fault of the program: the
/// document was valid.
const IMPOSSIBLE: [&str; 27] = [
    "likely-cause",
    "springback-nearly-all",
    "bend-not-finite",
    "clamp-off-blank",
    "cross-member-too-high",
    "cross-members-meet",
    "curve-straight-length",
    "cutter-too-large",
    "hand-hole-edge",
    "hand-hole-meets",
    "height-out-of-reach",
    "impossible-geometry",
    "not-drawable",
    "parallel-folds",
    "part-exceeds-stock",
    "plate-no-room",
    "plate-too-small",
    "relief-too-large",
    "rib-exceeds-stock",
    "rib-split-impossible",
    "rib-too-thin",
    "ribs-too-wide",
    "rocker-too-tight",
    "rocker-turns-too-far",
    "rod-hole-edge",
    "slots-meet",
    "too-tight",
];

fn cases() -> u32 {
    std::env::var("OVERBEND_CASES").ok().map_or(CASES, |c| c.parse().expect("OVERBEND_CASES is a number"))
}

#[test]
fn whatever_is_built_is_whole_and_agrees_with_itself() {
    let config = Config { cases: cases(), failure_persistence: None, max_shrink_iters: 400, ..Config::default() };
    // The same jobs on every machine; more cases go on where fewer stop.
    let mut runner = TestRunner::new_with_rng(config, TestRng::deterministic_rng(RngAlgorithm::ChaCha));
    let ended = std::cell::RefCell::new(BTreeMap::<String, usize>::new());
    let numbers = prop::collection::vec(0.0..1.0_f64, DICE);
    let done = runner.run(&numbers, |numbers| {
        let text = random_document(&mut Dice::new(&numbers));
        let how = look_at(&text).map_err(|why| TestCaseError::fail(format!("{why}\n{text}")))?;
        *ended.borrow_mut().entry(how).or_default() += 1;
        Ok(())
    });
    let ended = ended.into_inner();
    println!("{ended:#?}");
    match done {
        Ok(()) => {}
        // The numbers behind the document say nothing to a reader.
        Err(TestError::Fail(why, _)) => panic!("{why}"),
        Err(other) => panic!("{other}"),
    }
    let built = ended.get("built").copied().unwrap_or(0) as f64;
    assert!(built >= 0.5 * f64::from(cases()), "only {built} of {} jobs were built: {ended:#?}", cases());
}

/// How a job ended in a word, or what is wrong with what was built.
fn look_at(text: &str) -> Result<String, String> {
    let refused = |problems: overbend::document::Problems| {
        problems.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n")
    };
    let document = Document::parse("random.toml", text).map_err(refused)?;
    let job = document.job().map_err(refused)?;
    match run::build(&job) {
        Ok(outcome) => {
            claims::hold(&job, &outcome)?;
            Ok(if outcome.stops() { "stopped by a check".to_owned() } else { "built".to_owned() })
        }
        Err(faults) => {
            let problems = document.problems(&faults);
            for p in &problems {
                if p.fault.remedy().is_empty() || p.fault.message().contains("NaN") || (p.line, p.column) == (1, 1) {
                    return Err(format!("a refusal that does not help: {p}"));
                }
            }
            match faults.iter().find(|f| !IMPOSSIBLE.contains(&f.code.name)) {
                Some(fault) => Err(format!("a valid job is refused: {fault}")),
                None => Ok(format!("refused: {}", faults[0].code.name)),
            }
        }
    }
}

/// Random jobs are sensible, so what looks like a slip in them is a false alarm: fewer than one job in fifty has one.
#[test]
fn sensible_jobs_hardly_ever_look_like_a_slip() {
    const JOBS: usize = 1000;
    let config = Config { cases: JOBS as u32, failure_persistence: None, ..Config::default() };
    let mut runner = TestRunner::new_with_rng(config, TestRng::deterministic_rng(RngAlgorithm::ChaCha));
    let alarms = std::cell::RefCell::new(BTreeMap::<String, usize>::new());
    let alarmed = std::cell::Cell::new(0);
    let numbers = prop::collection::vec(0.0..1.0_f64, DICE);
    runner
        .run(&numbers, |numbers| {
            let text = random_document(&mut Dice::new(&numbers));
            let job = Document::parse("random.toml", &text).unwrap().job().unwrap();
            let rocker = overbend::rocker::target(&job.rocker, &job.board).map_or(Vec::new(), |t| t.findings());
            let unusual_rocker = rocker.iter().map(|f| f.code.name).filter(|code| *code == "rocker-unusual");
            let codes: Vec<&str> = job.doubts.iter().map(|d| d.finding.code.name).chain(unusual_rocker).collect();
            alarmed.set(alarmed.get() + usize::from(!codes.is_empty()));
            for code in codes {
                *alarms.borrow_mut().entry(code.to_owned()).or_default() += 1;
            }
            Ok(())
        })
        .unwrap();
    println!("{} of {JOBS}: {:#?}", alarmed.get(), alarms.borrow());
    assert!(alarmed.get() * 50 < JOBS, "{} of {JOBS} jobs: {:#?}", alarmed.get(), alarms.borrow());
}

/// Random jobs that a build once did wrong; the first line of each says how.
#[test]
fn jobs_that_went_wrong_once_go_right() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/random_jobs/found");
    let mut looked_at = 0;
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if let Err(why) = look_at(&std::fs::read_to_string(&path).unwrap()) {
            panic!("{}: {why}", path.display());
        }
        looked_at += 1;
    }
    assert!(looked_at >= 6, "only {looked_at} were found");
}
