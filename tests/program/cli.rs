//! The command line as a user meets it.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Output;

use assert_cmd::Command;
use tempfile::TempDir;

fn overbend(arguments: &[&str]) -> Output {
    Command::cargo_bin("overbend").unwrap().args(arguments).current_dir(env!("CARGO_MANIFEST_DIR")).output().unwrap()
}

fn words(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}

#[track_caller]
fn ends_with(output: &Output, code: i32) {
    let (out, err) = (words(&output.stdout), words(&output.stderr));
    assert_eq!(output.status.code(), Some(code), "stdout:\n{out}\nstderr:\n{err}");
}

fn folder() -> (TempDir, PathBuf, String) {
    let dir = TempDir::new().unwrap();
    let out = dir.path().join("out");
    let shown = out.to_str().unwrap().to_owned();
    (dir, out, shown)
}

const JOB: &str = "examples/lake-board/job.toml";

fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> =
        fs::read_dir(folder).unwrap().map(|e| e.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    names
}

#[test]
fn the_first_command_of_the_readme_makes_a_complete_folder() {
    let (_dir, out, shown) = folder();
    let output = overbend(&["build", JOB, "-o", &shown]);
    ends_with(&output, 0);
    let found = names(&out);
    for file in ["ribs.dxf", "ribs.svg", "stations.csv", "spacers.csv", "result.json"] {
        assert!(found.iter().any(|n| n == file), "{file} is missing in {found:?}");
    }
    let said = words(&output.stdout);
    for word in ["wanted", "springback", "table", "ribs", "longest", "highest"] {
        assert!(said.contains(word), "`{word}` is missing in\n{said}");
    }
}

#[test]
fn a_folder_of_ours_is_replaced_whole() {
    let (dir, out, shown) = folder();
    ends_with(&overbend(&["build", JOB, "-o", &shown]), 0);
    let first = fs::read(out.join("ribs.dxf")).unwrap();
    ends_with(&overbend(&["build", "examples/sled-runner/job.toml", "-o", &shown]), 0);
    assert_ne!(first, fs::read(out.join("ribs.dxf")).unwrap());
    assert_eq!(names(dir.path()), ["out"], "nothing is left beside the folder");
}

#[test]
fn a_folder_with_files_of_the_user_is_refused_and_kept_with_force() {
    let (dir, out, shown) = folder();
    ends_with(&overbend(&["build", JOB, "-o", &shown]), 0);
    fs::write(out.join("notes.txt"), "mine").unwrap();
    let refused = overbend(&["build", JOB, "-o", &shown]);
    ends_with(&refused, 2);
    assert!(words(&refused.stderr).contains("notes.txt"), "{}", words(&refused.stderr));
    assert_eq!(fs::read_to_string(out.join("notes.txt")).unwrap(), "mine");
    ends_with(&overbend(&["build", JOB, "-o", &shown, "--force"]), 0);
    assert!(!out.join("notes.txt").exists());
    assert_eq!(fs::read_to_string(dir.path().join("out.before-1/notes.txt")).unwrap(), "mine");
}

#[test]
fn a_file_of_ours_that_the_user_changed_counts_as_the_users() {
    let (_dir, out, shown) = folder();
    ends_with(&overbend(&["build", JOB, "-o", &shown]), 0);
    fs::write(out.join("stations.csv"), "changed by hand").unwrap();
    ends_with(&overbend(&["build", JOB, "-o", &shown]), 2);
    assert_eq!(fs::read_to_string(out.join("stations.csv")).unwrap(), "changed by hand");
}

#[test]
fn an_existing_file_in_the_folders_place_is_refused() {
    let (_dir, out, shown) = folder();
    fs::write(&out, "a file").unwrap();
    ends_with(&overbend(&["build", JOB, "-o", &shown, "--force"]), 2);
    assert_eq!(fs::read_to_string(&out).unwrap(), "a file");
}

#[test]
fn a_missing_parent_is_a_clear_refusal() {
    let (dir, ..) = folder();
    let deep = dir.path().join("no/such/out");
    let output = overbend(&["build", JOB, "-o", deep.to_str().unwrap()]);
    ends_with(&output, 3);
    assert!(words(&output.stderr).contains("Make it first"));
}

#[test]
fn a_bad_document_points_at_its_line_and_writes_nothing() {
    let (_dir, out, shown) = folder();
    let output = overbend(&["build", "tests/documents/bad/several.toml", "-o", &shown]);
    ends_with(&output, 2);
    let said = words(&output.stderr);
    assert!(said.contains("tests/documents/bad/several.toml, line 5, `units`"), "{said}");
    assert!(said.contains("paulownia"), "{said}");
    assert!(said.contains("5 problems;"), "{said}");
    assert!(!out.exists());
}

#[test]
fn a_missing_document_is_told_in_a_sentence() {
    let output = overbend(&["check", "no-such-file.toml"]);
    ends_with(&output, 3);
    assert!(words(&output.stderr).contains("no-such-file.toml cannot be read"));
}

#[test]
fn check_writes_nothing() {
    let before = names(Path::new(env!("CARGO_MANIFEST_DIR")));
    ends_with(&overbend(&["check", JOB]), 0);
    assert_eq!(before, names(Path::new(env!("CARGO_MANIFEST_DIR"))));
}

#[test]
fn a_starter_is_written_once_and_is_itself_a_job() {
    let dir = TempDir::new().unwrap();
    for starter in overbend::document::STARTERS {
        let path = dir.path().join(starter.name);
        let shown = path.to_str().unwrap();
        ends_with(&overbend(&["new", shown, "--starter", starter.name]), 0);
        let written = format!("{shown}.toml");
        ends_with(&overbend(&["check", &written]), 0);
        fs::write(&written, "mine").unwrap();
        ends_with(&overbend(&["new", shown, "--starter", starter.name]), 2);
        assert_eq!(fs::read_to_string(&written).unwrap(), "mine");
    }
}

#[test]
fn a_mistyped_starter_gets_the_nearest_name() {
    let output = overbend(&["new", "x", "--starter", "runer"]);
    ends_with(&output, 2);
    assert!(words(&output.stderr).contains("Did you mean runner?"));
    // Each starter is listed with what it is.
    assert!(overbend::document::STARTERS.iter().all(|s| words(&output.stderr).contains(s.what)));
}

#[test]
fn another_word_for_a_thing_finds_its_starter() {
    let dir = TempDir::new().unwrap();
    let path = dir.path().join("chair.toml");
    ends_with(&overbend(&["new", path.to_str().unwrap(), "--starter", "Chair back"]), 0);
    assert!(fs::read_to_string(path).unwrap().contains("title = \"My panel\""));
}

#[test]
fn the_wanted_rocker_can_be_looked_at_alone() {
    let (dir, out, shown) = folder();
    let job = dir.path().join("board.toml");
    let csv: String = (0..=24)
        .map(|i| 50.0 * f64::from(i))
        .map(|s| format!("{s},{:.1}\n", (s - 600.0_f64).powi(2) / 5000.0))
        .collect();
    fs::write(dir.path().join("board.csv"), csv).unwrap();
    let text = "title = \"Old board\"\n[board]\nlength = 1200\nwidth = 250\n[rocker.measured]\nfile = \"board.csv\"\n";
    fs::write(&job, text).unwrap();
    let output = overbend(&["target", job.to_str().unwrap(), "-o", &shown]);
    ends_with(&output, 0);
    for word in ["Old board", "heights", "fairness", "readings", "along base"] {
        assert!(words(&output.stdout).contains(word), "`{word}` is missing in\n{}", words(&output.stdout));
    }
    assert_eq!(
        names(&out),
        ["contents.json", "profile.dxf", "profile.svg", "readings.csv", "target.csv", "target.svg"]
    );
    fs::remove_file(dir.path().join("board.csv")).unwrap();
    let output = overbend(&["target", job.to_str().unwrap()]);
    ends_with(&output, 3);
    assert!(words(&output.stderr).contains("board.csv cannot be read"), "{}", words(&output.stderr));
}
