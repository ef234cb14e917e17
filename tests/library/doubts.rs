//! Slips that make a job that can be built: each is told, with where the limit comes from and what to look at.

use overbend::document::{Document, STARTERS};
use overbend::finding::{Finding, Verdict};
use overbend::run;

const LAKE: &str = include_str!("../../examples/lake-board/job.toml");
const RUNNER: &str = include_str!("../../examples/sled-runner/job.toml");
const DECK: &str = include_str!("../../examples/street-deck/job.toml");

const CODES: [&str; 6] =
    ["unit-mistaken", "modulus-unusual", "rocker-unusual", "skins-over-core", "springback-large", "pressure-unusual"];

/// The findings about slips in a job. Simulated boards are left out: they take time and say nothing here.
#[track_caller]
fn doubts(text: &str) -> Vec<Finding> {
    let text = format!("{text}\n[forecast]\ndraws = 0\n");
    let job = Document::parse("job.toml", &text).unwrap().job().unwrap_or_else(|p| panic!("{p:#?}"));
    let outcome = run::build(&job).unwrap_or_else(|f| panic!("{f:#?}"));
    outcome.checks.into_iter().filter(|c| CODES.contains(&c.code)).collect()
}

/// What is told of `text` with `from` replaced by `to`: codes and subjects.
#[track_caller]
fn told(text: &str, from: &str, to: &str) -> Vec<(&'static str, String)> {
    assert!(text.contains(from), "`{from}` is not in the example");
    let found = doubts(&text.replacen(from, to, 1));
    for f in &found {
        assert!(f.verdict == Verdict::Watch && !f.source.is_empty() && !f.remedy.is_empty(), "{f:#?}");
    }
    found.into_iter().map(|f| (f.code, f.subject.text(Default::default()))).collect()
}

#[test]
fn starters_and_examples_look_like_no_slip() {
    for text in [LAKE, RUNNER, DECK].into_iter().chain(STARTERS.iter().map(|s| s.text)) {
        assert_eq!(doubts(text), []);
    }
}

#[test]
fn inches_taken_for_millimetres_and_the_other_way_round_are_told_at_the_key() {
    for (text, from, to, subject) in [
        (LAKE, "width = 400", "width = 15.75", "board.width; 400.05 mm would be usual"),
        (LAKE, "thickness = 17.8  ", "thickness = 0.7  ", "table.ribs.thickness; 17.78 mm would be usual"),
        (DECK, "width = \"8 1/4\"", "width = 210", "board.width; 210 mm would be usual"),
        (DECK, "pitch = \"4 in\"", "pitch = 70", "table.bearers.pitch; 70 mm would be usual"),
    ] {
        assert_eq!(told(text, from, to), [("unit-mistaken", subject.to_owned())], "{from} -> {to}");
    }
}

#[test]
fn a_rocker_in_the_other_unit_does_not_fit_its_length() {
    let flat = told(LAKE, "height = 45", "height = 1.77");
    assert!(flat.len() == 1 && flat[0].0 == "rocker-unusual", "{flat:?}");
    let scoop = told(LAKE, "height = 45             #", "height = 350 #");
    assert!(scoop.iter().any(|f| f.0 == "rocker-unusual"), "{scoop:?}");
}

#[test]
fn a_modulus_ten_times_the_catalogues_is_told_in_layers_alternatives_and_own_materials() {
    let ten_times = "material = \"paulownia\"\nmodulus = \"44 GPa\"";
    let found = told(LAKE, "material = \"paulownia\"", ten_times);
    assert!(found.iter().any(|f| f.0 == "modulus-unusual" && f.1.starts_with("layers[1].modulus, beside the ")));
    // A modulus in psi taken for MPa, and a material of the shop's own that is like another.
    let own = "\n[[materials]]\nname = \"our paulownia\"\nlike = \"paulownia\"\nmodulus = \"638000 MPa\"\n";
    let found = told(&(LAKE.to_owned() + own), "material = \"paulownia\"", "material = \"our paulownia\"");
    assert!(found.iter().any(|f| f.0 == "modulus-unusual" && f.1.starts_with("materials[0].modulus")), "{found:?}");
    let other = "\n[[alternatives]]\nname = \"other\"\n[[alternatives.layers]]\nmaterial = \"balsa\"\nmodulus = \"40 GPa\"\nthickness = 4\n";
    let found = doubts(&(LAKE.to_owned() + other));
    assert!(
        found.iter().any(|f| f.subject.text(Default::default()).starts_with("alternatives[0].layers[0].modulus")),
        "{found:?}"
    );
}

#[test]
fn stacks_that_nobody_builds_are_told() {
    let skins = LAKE.replace("thickness = 0.8", "thickness = 4.5");
    let found = doubts(&skins);
    assert!(found.iter().any(|f| f.code == "skins-over-core"), "{found:?}");
    let one_piece = LAKE.replace("thickness = 0.8", "thickness = 0.15").replace("plies = 2", "plies = 1");
    let found = doubts(&one_piece.replace("thickness = 4\n", "thickness = 14\n"));
    assert!(found.iter().any(|f| f.code == "springback-large" && f.si().unwrap().0 > 60.0), "{found:?}");
}

#[test]
fn pressures_beyond_what_presses_so_are_told() {
    let found = told(RUNNER, "force = \"4 kN\"", "force = \"80 kN\"");
    assert!(found.iter().any(|f| f.0 == "pressure-unusual"), "{found:?}");
    let weights = LAKE.replace("[pressing.vacuum]\npressure = \"85 kPa\"", "[pressing.weights]\nmass = \"9000 kg\"");
    assert!(doubts(&weights).iter().any(|f| f.code == "pressure-unusual"));
}
