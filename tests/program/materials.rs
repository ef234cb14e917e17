//! The catalogue on the command line.

use assert_cmd::Command;
use overbend::document::materials::Catalogue;

fn run(more: &[&str]) -> (i32, String, String) {
    let output = Command::cargo_bin("overbend").unwrap().arg("materials").args(more).output().unwrap();
    let words = |bytes| String::from_utf8(bytes).unwrap();
    (output.status.code().unwrap(), words(output.stdout), words(output.stderr))
}

#[test]
fn every_material_is_listed_once() {
    let (code, said, _) = run(&[]);
    assert_eq!(code, 0);
    for entry in Catalogue::builtin().entries() {
        let name = &entry.material.name;
        let lines = said.lines().filter(|l| l.split("  ").next() == Some(name.as_str())).count();
        assert_eq!(lines, 1, "{name} in\n{said}");
    }
}

#[test]
fn a_material_is_explained_with_the_source_of_every_figure() {
    let (code, said, _) = run(&["Poplar"]);
    assert_eq!(code, 0);
    let entry = Catalogue::builtin().entry("yellow-poplar").unwrap();
    for fact in &entry.facts {
        assert!(said.contains(&format!("{} {}: {}", fact.key, fact.value, fact.source)), "{} in\n{said}", fact.key);
    }
    // 1.58 Mpsi as printed, a tenth more without shear.
    assert!(said.contains("11.983 GPa for pure bending"), "{said}");
}

#[test]
fn an_unknown_material_gets_the_nearest_names() {
    let (code, said, wrong) = run(&["pawlonia"]);
    assert!(code == 2 && said.is_empty() && wrong.contains("Nearest: `paulownia`"), "{wrong}");
}
