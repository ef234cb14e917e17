//! Slips that make a job that can be built: each is named, with where the limit comes from and what to look at.

use overbend::document::{Document, Inputs, STARTERS};
use overbend::finding::{Finding, Verdict};
use overbend::run;

const LAKE: &str = include_str!("../../examples/lake-board/job.toml");
const RUNNER: &str = include_str!("../../examples/sled-runner/job.toml");
const DECK: &str = include_str!("../../examples/street-deck/job.toml");

const RIVER: &str = include_str!("../../examples/river-board/job.toml");
const CODES: [&str; 14] = [
    "unit-mistaken",
    "modulus-unusual",
    "rocker-unusual",
    "skins-over-core",
    "springback-large",
    "pressure-unusual",
    "material-unusual",
    "skin-thin",
    "fabric-unusual",
    "plies-forgotten",
    "stations-disagree",
    "cure-unusual",
    "datum-mistaken",
    "kerf-unusual",
];

/// The findings about slips in a job. Simulated boards are left out: they take time and say nothing here.
#[track_caller]
fn doubts(text: &str) -> Vec<Finding> {
    let text = format!("{text}\n[forecast]\ndraws = 0\n");
    let job = Document::parse("job.toml", &text).unwrap().job().unwrap_or_else(|p| panic!("{p:#?}"));
    let outcome = run::build(&job).unwrap_or_else(|f| panic!("{f:#?}"));
    outcome.checks.into_iter().filter(|c| CODES.contains(&c.code.name)).collect()
}

/// What is doubted in `text` with `from` replaced by `to`: codes and subjects.
#[track_caller]
fn doubts_of(text: &str, from: &str, to: &str) -> Vec<(&'static str, String)> {
    assert!(text.contains(from), "`{from}` is not in the example");
    let found = doubts(&text.replacen(from, to, 1));
    for f in &found {
        assert!(f.verdict == Verdict::Watch && !f.remedy.is_empty(), "{f:#?}");
    }
    found.into_iter().map(|f| (f.code.name, f.subject.text(Default::default()))).collect()
}

/// Holds that `text` with `from` replaced by `to` gets a warning of this code about this key that names the likely cause.
#[track_caller]
fn named(text: &str, from: &str, to: &str, code: &str, key: &str, cause: &str) {
    assert!(text.contains(from), "`{from}` is not in the example");
    let document = text.replacen(from, to, 1);
    let mut inputs = Inputs::default();
    inputs.add("board.csv", Ok(include_bytes!("../../examples/river-board/board.csv").to_vec()));
    let job = Document::parse("job.toml", &document).unwrap().job_with(&inputs).unwrap_or_else(|p| panic!("{p:#?}"));
    let of_rocker = overbend::rocker::target(&job.rocker, &job.board).map_or(Vec::new(), |t| t.findings());
    let found: Vec<Finding> = job.doubts.into_iter().map(|d| d.finding).chain(of_rocker).collect();
    let hit = found.iter().find(|f| f.code.name == code && f.subject.text(Default::default()).starts_with(key));
    let hit = hit.unwrap_or_else(|| panic!("{to}: no {code} about {key} in {found:#?}"));
    assert!(hit.verdict == Verdict::Watch && hit.remedy.text(Default::default()).contains(cause), "{to}: {hit:#?}");
}

#[test]
fn lengths_in_centimetres_are_told() {
    named(LAKE, "height = 45 ", "height = 4.5 ", "rocker-unusual", "rise of 4.5 mm", "in centimetres (45 mm)");
    named(LAKE, "width = 400", "width = 40", "unit-mistaken", "board.width", "400 mm (centimetres)");
    named(
        LAKE,
        "length = 1340",
        "length = 134",
        "unit-mistaken",
        "board.length",
        "1340 mm (the number in centimetres)",
    );
    let in_cm = "readings = [[0, 4.4], [150, 2.8], [300, 1.6], [450, 0.7], [600, 0.2], [750, 0], [900, 0.2], [1050, 0.7], \
                 [1200, 1.6], [1350, 2.8], [1500, 4.4]]";
    named(RIVER, "file = \"board.csv\"", in_cm, "rocker-unusual", "rise of", "in centimetres (4");
}

#[test]
fn figures_of_a_layer_that_nothing_has_are_told_with_the_likely_cause() {
    let core = "material = \"paulownia\"";
    named(LAKE, core, "modulus = \"4.4 MPa\"", "modulus-unusual", "layers[1].modulus", "Were 4.4 GPa meant?");
    named(
        LAKE,
        core,
        "modulus = \"9000 GPa\"".replace("9000", "900").as_str(),
        "modulus-unusual",
        "layers[1].modulus",
        "Were 0.9 GPa",
    );
    let with = |key: &str| format!("{core}\n{key}");
    named(LAKE, core, &with("relaxed = 0.5"), "material-unusual", "layers[1].relaxed", "0.05 (a tenth)");
    named(LAKE, core, &with("expansion = 4e-6"), "material-unusual", "layers[1].expansion", "millionths per kelvin");
    named(LAKE, core, &with("expansion = 400"), "material-unusual", "layers[1].expansion", "power of ten");
    named(LAKE, core, &with("density = 0.28"), "material-unusual", "layers[1].density", "g/cm3");
    named(LAKE, core, &with("density = 2800"), "material-unusual", "layers[1].density", "power of ten");
    named(LAKE, "thickness = 0.8", "thickness = 0.08", "skin-thin", "layers[0].thickness", "Were 0.8 mm meant?");
    let light = "thickness = 0.8\nfabric = 75";
    named(LAKE, "thickness = 0.8", light, "fabric-unusual", "layers[0].fabric", "dry mass of one ply");
    let other = "thickness = 0.8\nfabric = \"75 oz/yd2\"";
    named(LAKE, "thickness = 0.8", other, "fabric-unusual", "layers[0].fabric", "dry mass of one ply");
    named(LAKE, "plies = 2\n", "", "plies-forgotten", "layers[1].thickness", "plies = 2");
}

#[test]
fn a_layer_that_says_its_plies_or_lists_them_one_by_one_has_not_forgotten_them() {
    let codes = |text: &str| -> Vec<&str> {
        let job = Document::parse("job", text).unwrap().job().unwrap();
        job.doubts.iter().map(|d| d.finding.code.name).collect()
    };
    assert_eq!(codes(&LAKE.replace("plies = 2", "plies = 1")), [""; 0]);
    let ply = "[[layers]]\nname = \"core\"\nmaterial = \"paulownia\"\nthickness = 4\n";
    assert_eq!(codes(&LAKE.replace("plies = 2\n", &format!("\n{ply}"))), [""; 0]);
    assert_eq!(codes(&LAKE.replace("plies = 2\n", "")), ["plies-forgotten"]);
}

#[test]
fn stations_from_the_other_end_are_told() {
    let taper = |more: &str| format!("taper = [[0, 3], [400, 4], [900, 4], [1340, 3]]\n{more}plies = 2");
    let core = "thickness = 4\nplies = 2";
    named(LAKE, core, &taper(""), "stations-disagree", "layers[1].taper", "counted from the middle unless");
    let other =
        "\nmaterial = \"glass fabric\"\nthickness = 0.3\nfrom = 100\nto = 900\nstations_from = \"tail\"\n[[layers]]\n";
    let text = LAKE.replace("[[layers]]\nname = \"deck skin\"", &format!("[[layers]]{other}name = \"deck skin\""));
    named(&text, core, &taper("stations_from = \"tip\"\n"), "stations-disagree", "layers[1].taper", "from the tail");
    let fair = text.replace(core, &taper("stations_from = \"tail\"\n"));
    assert!(Document::parse("job", &fair).unwrap().job().unwrap().doubts.is_empty());
}

#[test]
fn pressures_in_other_units_are_told_with_what_they_would_be() {
    let bag = "pressure = \"85 kPa\"";
    let key = "pressing.vacuum.pressure";
    named(
        LAKE,
        bag,
        "pressure = \"15 kPa\"",
        "pressure-unusual",
        key,
        "absolute pressure in the bag (the gauge then shows 86.3 kPa)",
    );
    named(LAKE, bag, "pressure = 25", "pressure-unusual", key, "25 inHg (84.7 kPa)");
    named(LAKE, bag, "pressure = 12", "pressure-unusual", key, "12 psi (82.7 kPa)");
    let press = "[pressing.press]\npressure = 12";
    named(
        LAKE,
        &format!("[pressing.vacuum]\n{bag}"),
        press,
        "pressure-unusual",
        "pressing.press.pressure",
        "12 psi (82.7 kPa)",
    );
}

#[test]
fn altitude_cure_kerf_and_datum_that_were_mistaken_are_told() {
    let bag = "pressure = \"85 kPa\"\n";
    let high = |metres: &str| format!("pressure = \"60 kPa\"\naltitude = {metres}\n");
    named(LAKE, bag, &high("1.5"), "unit-mistaken", "pressing.vacuum.altitude", "1500 m (kilometres)");
    named(LAKE, bag, &high("5280"), "unit-mistaken", "pressing.vacuum.altitude", "write \"5280 ft\"");
    let glue = "glue = \"epoxy\"\n";
    let cure = |keys: &str| format!("{glue}{keys}\n");
    named(LAKE, glue, &cure("cure_above_room = 80"), "cure-unusual", "pressing.cure_above_room", "Then it is 60.");
    let both = cure("cure_above_room = 50\ncure_temperature = 50");
    named(LAKE, glue, &both, "cure-unusual", "pressing.cure_above_room", "Then it is 30.");
    named(
        LAKE,
        "[pressing.vacuum]\n",
        "[files]\nkerf = 8\n[pressing.vacuum]\n",
        "kerf-unusual",
        "files.kerf",
        "table.cutter = \"8 mm\"",
    );
    let file = "file = \"board.csv\"";
    let edge = "readings = [[0, 0], [150, 12], [300, 22], [450, 30], [600, 35], [750, 37], [900, 35], [1050, 30], [1200, 22], \
                [1350, 12], [1500, 0]]";
    named(RIVER, file, edge, "datum-mistaken", "rocker.measured", "datum = \"straightedge\"");
    let lifted = "readings = [[0, 60], [150, 48], [300, 38], [450, 30], [600, 25], [750, 23], [900, 25], [1050, 30], [1200, 38], \
                  [1350, 48], [1500, 60]]";
    named(RIVER, file, lifted, "datum-mistaken", "rocker.measured", "straightedge");
}

#[test]
fn starters_and_examples_look_like_no_slip() {
    for text in [LAKE, RUNNER, DECK].into_iter().chain(STARTERS.iter().map(|s| s.text)) {
        assert_eq!(doubts(text), []);
    }
}

#[test]
fn inches_taken_for_millimetres_and_the_other_way_round_are_told_at_the_key() {
    for (text, from, to, key, meant) in [
        (LAKE, "width = 400", "width = 15.75", "board.width", "400 mm (the number in inches)"),
        (LAKE, "thickness = 17.8  ", "thickness = 0.7  ", "table.ribs.thickness", "17.8 mm (the number in inches)"),
        (DECK, "width = \"8 1/4\"", "width = 210", "board.width", "210 mm (taken for inches)"),
        (DECK, "pitch = \"4 in\"", "pitch = 70", "table.bearers.pitch", "70 mm (taken for inches)"),
    ] {
        named(text, from, to, "unit-mistaken", key, meant);
    }
}

#[test]
fn a_rocker_in_the_other_unit_does_not_fit_its_length() {
    let flat = doubts_of(LAKE, "height = 45", "height = 1.77");
    assert!(flat.len() == 1 && flat[0].0 == "rocker-unusual", "{flat:?}");
    let scoop = doubts_of(LAKE, "height = 45             #", "height = 350 #");
    assert!(scoop.iter().any(|f| f.0 == "rocker-unusual"), "{scoop:?}");
}

#[test]
fn a_modulus_ten_times_the_catalogues_is_told_in_layers_alternatives_and_own_materials() {
    let ten_times = "material = \"paulownia\"\nmodulus = \"44 GPa\"";
    let found = doubts_of(LAKE, "material = \"paulownia\"", ten_times);
    assert!(
        found
            .iter()
            .any(|f| f.0 == "modulus-unusual" && f.1.starts_with("layers[1].modulus, where the catalogue has "))
    );
    // A modulus in psi taken for MPa, and a material of the shop's own that is like another.
    let own = "\n[[materials]]\nname = \"our paulownia\"\nlike = \"paulownia\"\nmodulus = \"638000 MPa\"\n";
    let found = doubts_of(&(LAKE.to_owned() + own), "material = \"paulownia\"", "material = \"our paulownia\"");
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
    assert!(found.iter().any(|f| f.code.name == "skins-over-core"), "{found:?}");
    let one_piece = LAKE.replace("thickness = 0.8", "thickness = 0.15").replace("plies = 2", "plies = 1");
    let found = doubts(&one_piece.replace("thickness = 4\n", "thickness = 14\n"));
    assert!(found.iter().any(|f| f.code.name == "springback-large" && f.si().unwrap().0 > 60.0), "{found:?}");
}

#[test]
fn pressures_beyond_what_presses_so_are_told() {
    let found = doubts_of(RUNNER, "force = \"4 kN\"", "force = \"80 kN\"");
    assert!(found.iter().any(|f| f.0 == "pressure-unusual"), "{found:?}");
    let weights = LAKE.replace("[pressing.vacuum]\npressure = \"85 kPa\"", "[pressing.weights]\nmass = \"9000 kg\"");
    assert!(doubts(&weights).iter().any(|f| f.code.name == "pressure-unusual"));
}
