//! What the README shows is what the program does.

use std::fs;
use std::path::Path;

use assert_cmd::Command;

fn readme() -> String {
    fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("README.md")).unwrap()
}

/// The block fenced as `text` that follows `mark`.
fn block_after<'t>(text: &'t str, mark: &str) -> &'t str {
    let from = text.find(mark).unwrap_or_else(|| panic!("`{mark}` is not in the README"));
    let rest = &text[from..];
    let start = rest.find("```text\n").unwrap() + "```text\n".len();
    let end = rest[start..].find("```").unwrap();
    &rest[start..start + end]
}

fn run(arguments: &[&str]) -> (String, String) {
    let output = Command::cargo_bin("overbend")
        .unwrap()
        .args(arguments)
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .output()
        .unwrap();
    (String::from_utf8(output.stdout).unwrap(), String::from_utf8(output.stderr).unwrap())
}

#[test]
fn the_output_shown_is_the_real_one() {
    let (said, _) = run(&["check", "examples/lake-board/job.toml"]);
    assert_eq!(block_after(&readme(), "## What it says"), said);
}

#[test]
fn the_mistake_shown_is_really_told_like_that() {
    let (_, said) = run(&["check", "tests/documents/bad/unknown-material.toml"]);
    assert_eq!(block_after(&readme(), "all mistakes in one run"), said);
}

#[test]
fn every_starter_and_every_example_is_named() {
    let text = readme();
    for starter in overbend::document::STARTERS {
        assert!(text.contains(starter.name), "{} is not named", starter.name);
    }
    for entry in fs::read_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join("examples")).unwrap() {
        let entry = entry.unwrap();
        if entry.path().is_dir() {
            let name = entry.file_name().into_string().unwrap();
            assert!(text.contains(&format!("examples/{name}/README.md")), "{name} is not linked");
        }
    }
}

#[test]
fn the_first_command_is_the_one_that_is_tested() {
    assert!(readme().contains("cargo run --release -- build examples/lake-board/job.toml -o out"));
}

#[test]
fn the_rows_of_verification_quoted_are_rows_of_its_table() {
    let text = readme();
    let place = "tests/verification/TABLE.md";
    assert!(text.contains(&format!("]({place})")), "the table is not linked");
    let table = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(place)).unwrap();
    let (_, after) = text.split_once("## Why you may trust the numbers").unwrap();
    let quoted: Vec<&str> =
        after.split("\n## ").next().unwrap().lines().filter(|l| l.starts_with("| ")).skip(1).collect();
    assert_eq!(quoted.len(), 3);
    for row in quoted {
        assert!(table.lines().any(|l| l == row), "no row of the table: {row}");
    }
}

/// The blocks between two headings, each with what it is fenced as.
fn blocks<'t>(text: &'t str, from: &str, to: &str) -> Vec<(&'t str, &'t str)> {
    let (_, after) = text.split_once(from).unwrap();
    let (part, _) = after.split_once(to).unwrap();
    part.split("```").skip(1).step_by(2).map(|b| b.split_once('\n').unwrap()).collect()
}

/// Keys and values of a block of TOML, as they stand in `document`; an entry of a list is known by its name.
fn values(block: &toml::Table, document: &toml::Table, under: &str) -> Vec<(String, String)> {
    let mut found = Vec::new();
    for (key, value) in block {
        match (value, &document[key]) {
            (toml::Value::Table(inner), toml::Value::Table(there)) => {
                found.extend(values(inner, there, &format!("{under}{key}.")));
            }
            (toml::Value::Array(entries), toml::Value::Array(there)) => {
                for entry in entries {
                    let at = there.iter().position(|t| t["name"] == entry["name"]).unwrap();
                    let (entry, there) = (entry.as_table().unwrap(), there[at].as_table().unwrap());
                    found.extend(values(entry, there, &format!("{under}{key}[{at}].")));
                }
            }
            _ => found.push((format!("{under}{key}"), value.to_string())),
        }
    }
    found
}

#[test]
fn the_first_hour_goes_as_it_is_written() {
    let dir = tempfile::TempDir::new().unwrap();
    let board = dir.path().join("first-board.toml");
    let run = |words: &[&str]| {
        let output = Command::cargo_bin("overbend").unwrap().args(words).current_dir(dir.path()).output().unwrap();
        assert!(output.status.success(), "{words:?}:\n{}", String::from_utf8_lossy(&output.stderr));
        String::from_utf8(output.stdout).unwrap()
    };
    let readme = readme();
    let blocks = blocks(&readme, "## The first hour", "\n## Your own board");
    let (mut ran, mut changed) = (0, 0);
    for (kind, block) in blocks {
        if kind == "toml" {
            let text = fs::read_to_string(&board).unwrap();
            let values = values(&toml::from_str(block).unwrap(), &toml::from_str(&text).unwrap(), "");
            let new = overbend::document::with_values(&text, &values);
            assert_ne!(text, new);
            fs::write(&board, new).unwrap();
            changed += 1;
            // What the page says that the checks say before its last change and after it.
            let said = run(&["check", "first-board.toml"]);
            let wanted = ["watch ends of the table under the bent stack [table-stiffness]", "all 15 checks are ok"];
            assert!(said.contains(wanted[changed - 1]), "{said}");
            continue;
        }
        assert_eq!(kind, "sh");
        for command in block.lines().filter(|c| *c != "cargo install --path .") {
            let (command, file) = command.split_once(" > ").map_or((command, None), |(c, f)| (c, Some(f)));
            let words: Vec<&str> = command.split_whitespace().collect();
            assert_eq!(words[0], "overbend");
            let said = run(&words[1..]);
            if let Some(file) = file {
                fs::write(dir.path().join(file), said).unwrap();
            }
            ran += 1;
        }
    }
    assert!(ran >= 10 && changed == 2, "{ran} commands, {changed} changes");
    assert!(dir.path().join("first-table/book.html").is_file());
    let made = fs::read_to_string(dir.path().join("job.schema.json")).unwrap();
    assert_eq!(made, format!("{:#}\n", overbend::document::schema()));
    for (file, word) in [("overbend.bash", "complete"), ("overbend.1", ".TH overbend 1")] {
        assert!(fs::read_to_string(dir.path().join(file)).unwrap().contains(word), "{file}");
    }
}
