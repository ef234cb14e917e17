//! What the command line says, where, and how it ends: stdout and stderr, JSON, stdin, pipes, exit codes, many documents.

use std::fs;
use std::io::{BufRead, BufReader, Write};
use std::process::{Command, Output, Stdio};

use serde_json::Value;
use tempfile::TempDir;

use crate::support::arc;

const ROOT: &str = env!("CARGO_MANIFEST_DIR");
const JOB: &str = "examples/lake-board/job.toml";
const BAD: &str = "tests/documents/bad/several.toml";

fn command(arguments: &[&str]) -> Command {
    let mut command = Command::new(assert_cmd::cargo::cargo_bin!("overbend"));
    command.current_dir(ROOT).args(arguments);
    command
}

fn overbend(arguments: &[&str]) -> Output {
    command(arguments).output().unwrap()
}

fn fed(arguments: &[&str], text: &str) -> Output {
    assert_cmd::Command::from_std(command(arguments)).write_stdin(text).output().unwrap()
}

fn words(bytes: &[u8]) -> &str {
    std::str::from_utf8(bytes).unwrap()
}

fn parsed(bytes: &[u8]) -> Value {
    serde_json::from_slice(bytes).unwrap_or_else(|e| panic!("{e}:\n{}", words(bytes)))
}

fn lines(bytes: &[u8]) -> Vec<Value> {
    words(bytes).lines().map(|l| parsed(l.as_bytes())).collect()
}

#[track_caller]
fn ends_with(output: &Output, code: i32) {
    let (out, err) = (words(&output.stdout), words(&output.stderr));
    assert_eq!(output.status.code(), Some(code), "stdout:\n{out}\nstderr:\n{err}");
}

/// A job that a check stops: its core is one thick ply, bent hard.
fn stopped() -> String {
    let text = fs::read_to_string(format!("{ROOT}/{JOB}")).unwrap();
    let hard = text.replace("vacuum]\n", "vacuum]\naltitude = 5000\n");
    assert_ne!(hard, text);
    hard
}

#[test]
fn results_go_to_stdout_and_talk_to_stderr() {
    let dir = TempDir::new().unwrap();
    let out = dir.path().join("out");
    let output = overbend(&["build", JOB, "-o", out.to_str().unwrap()]);
    ends_with(&output, 0);
    let summary = overbend(&["check", JOB]);
    ends_with(&summary, 0);
    assert_eq!(words(&summary.stdout), words(&output.stdout));
    assert!(words(&output.stderr).contains("files are in"), "{}", words(&output.stderr));
    assert_eq!(words(&summary.stderr), "");
    let bad = overbend(&["check", BAD]);
    assert_eq!(words(&bad.stdout), "");
}

#[test]
fn quiet_leaves_results_and_mistakes_and_verbose_adds_to_the_talk() {
    let dir = TempDir::new().unwrap();
    let out = dir.path().join("out");
    let shown = out.to_str().unwrap();
    let quiet = overbend(&["build", JOB, "-o", shown, "-q"]);
    ends_with(&quiet, 0);
    assert_eq!(words(&quiet.stderr), "");
    assert!(words(&quiet.stdout).starts_with("Lake board\n"));
    assert!(words(&overbend(&["check", BAD, "-q"]).stderr).contains("5 problems;"));
    let verbose = overbend(&["build", JOB, "-o", shown, "-v"]);
    assert_eq!(words(&verbose.stdout), words(&quiet.stdout));
    for word in ["took", "result.json (", "(layer-strain; "] {
        assert!(words(&verbose.stderr).contains(word), "`{word}` is missing in\n{}", words(&verbose.stderr));
    }
    ends_with(&overbend(&["check", JOB, "-q", "-v"]), 2);
}

#[test]
fn every_reporting_command_speaks_json() {
    let dir = TempDir::new().unwrap();
    let out = dir.path().join("out");
    let built = overbend(&["build", JOB, "-o", out.to_str().unwrap(), "--json"]);
    ends_with(&built, 0);
    let built = lines(&built.stdout);
    assert_eq!(built.len(), 1);
    assert_eq!(built[0]["ended"], "done");
    let files = built[0]["files"].as_array().unwrap();
    assert!(files.iter().all(|f| out.join(f.as_str().unwrap()).is_file()) && files.len() > 5);

    let checked = overbend(&["check", JOB, "--json"]);
    ends_with(&checked, 0);
    assert_eq!(parsed(&checked.stdout), parsed(&fs::read(out.join("result.json")).unwrap()));

    let target = parsed(&overbend(&["target", JOB, "--json"]).stdout);
    for key in ["length_mm", "tip_height_mm", "tail_height_mm", "anchor_mm", "points"] {
        assert_eq!(target["target"][key], parsed(&checked.stdout)["target"][key], "{key}");
    }
    assert_eq!(target["target"]["bumps"], 0);

    let all = parsed(&overbend(&["materials", "--json"]).stdout);
    let one = parsed(&overbend(&["materials", "paulownia", "--json"]).stdout);
    assert!(all.as_array().unwrap().contains(&one));
    assert!(one["facts"].as_array().unwrap().iter().all(|f| f["source"].is_string()));

    let explained = parsed(&overbend(&["explain", "layer-strain", "--json"]).stdout);
    assert!(["meaning", "computed", "source", "remedy"].iter().all(|k| explained[*k].is_string()), "{explained}");
    assert!(parsed(&overbend(&["explain", "--json"]).stdout).as_array().unwrap().contains(&explained));
}

#[test]
fn commands_with_measured_boards_and_tables_speak_json_and_read_stdin() {
    let dir = TempDir::new().unwrap();
    let at = |name: &str| dir.path().join(name).to_str().unwrap().to_owned();
    let text = fs::read_to_string(format!("{ROOT}/{JOB}")).unwrap();
    fs::write(at("table.csv"), arc(1540.0, 47.5)).unwrap();
    fs::write(at("board.csv"), arc(1340.0, 44.6)).unwrap();
    let (table, board) = (at("table.csv"), at("board.csv"));
    let all: [(&[&str], &[&str]); 4] = [
        (&["predict", "-", "--as-built", &table], &["pressed", "released"]),
        (&["shims", "-", "--as-built", &table], &["table", "shims"]),
        (&["calibrate", "-", &board, "--dry-run", "--label", "first"], &["board", "calibration", "shims"]),
        (&["diff", JOB, "-"], &["before", "after", "figures"]),
    ];
    for (arguments, keys) in all {
        let words_said = fed(arguments, &text);
        ends_with(&words_said, 0);
        let asked = [arguments, &["--json"]].concat();
        let output = fed(&asked, &text);
        ends_with(&output, 0);
        assert_eq!(output.stderr, words_said.stderr, "{arguments:?}: the talk is the same");
        let figures = parsed(&output.stdout);
        assert!(keys.iter().all(|k| !figures[*k].is_null()), "{arguments:?}: {figures}");
        // Nobody reads what is printed.
        let mut child =
            command(&asked).stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::null()).spawn().unwrap();
        drop(child.stdout.take());
        child.stdin.take().unwrap().write_all(text.as_bytes()).unwrap();
        assert_eq!(child.wait().unwrap().code(), Some(0), "{arguments:?}");
    }
    ends_with(&fed(&["diff", "-", JOB], &text), 0);
    let twice = fed(&["diff", "-", "-"], &text);
    ends_with(&twice, 2);
    assert!(words(&twice.stderr).contains("one document"), "{}", words(&twice.stderr));
}

#[test]
fn json_of_a_document_with_mistakes_says_so() {
    let dir = TempDir::new().unwrap();
    let out = dir.path().join("out");
    let output = overbend(&["build", BAD, "-o", out.to_str().unwrap(), "--json"]);
    ends_with(&output, 2);
    let said = &lines(&output.stdout)[0];
    assert_eq!((said["ended"].as_str(), said["exit"].as_i64()), (Some("wrong"), Some(2)));
    assert_eq!(said["problems"].as_array().unwrap().len(), 5);
}

#[test]
fn problems_for_editors_name_file_line_column_and_bytes() {
    let output = overbend(&["check", BAD, "--message-format", "json"]);
    ends_with(&output, 2);
    let said = lines(&output.stderr);
    assert_eq!(said.len(), 5, "one object for each problem and nothing else");
    let text = fs::read_to_string(format!("{ROOT}/{BAD}")).unwrap();
    for problem in &said {
        assert_eq!((problem["level"].as_str(), problem["file"].as_str()), (Some("error"), Some(BAD)));
        let at = |key: &str| usize::try_from(problem[key].as_u64().unwrap()).unwrap();
        let piece = &text[at("from_byte")..at("to_byte")];
        let line: Vec<char> = text.lines().nth(at("line") - 1).unwrap().chars().collect();
        if at("line") == at("end_line") {
            let found: String = line[at("column") - 1..at("end_column") - 1].iter().collect();
            assert_eq!(found, piece);
        }
        assert!(problem["rendered"].as_str().unwrap().contains(problem["code"].as_str().unwrap()));
    }
}

#[test]
fn checks_missing_files_and_mistyped_arguments_reach_editors_too() {
    let output = fed(&["check", "-", "--message-format=json"], &stopped());
    ends_with(&output, 1);
    let said = lines(&output.stderr);
    let stop = said.iter().find(|m| m["verdict"] == "stop").unwrap();
    assert_eq!((stop["level"].as_str(), stop["code"].as_str()), (Some("error"), Some("pressure-limit")));
    for arguments in [["check", "no-such.toml", "--message-format", "json"], ["chekc", "x", "--message-format", "json"]]
    {
        let said = lines(&overbend(&arguments).stderr);
        assert_eq!(said.len(), 1);
        assert_eq!(said[0]["level"], "error");
    }
}

#[test]
fn a_document_comes_from_stdin() {
    let text = fs::read_to_string(format!("{ROOT}/{JOB}")).unwrap();
    let output = fed(&["check", "-"], &text);
    ends_with(&output, 0);
    assert_eq!(output.stdout, overbend(&["check", JOB]).stdout);
    ends_with(&fed(&["target", "-"], &text), 0);
    let dir = TempDir::new().unwrap();
    let out = dir.path().join("out");
    ends_with(&fed(&["build", "-", "-o", out.to_str().unwrap()], &text), 0);
    assert!(out.join("book.html").is_file());
    let bad = fed(&["check", "-"], "title = 3\n");
    ends_with(&bad, 2);
    assert!(words(&bad.stderr).contains("stdin, line 1, `title`"), "{}", words(&bad.stderr));
    ends_with(&fed(&["watch", "-", "-o", "x"], &text), 2);
    ends_with(&fed(&["build", "-", JOB, "-o", "x"], &text), 2);
}

#[test]
fn a_reader_that_goes_away_is_no_failure() {
    let all: [&[&str]; 12] = [
        &["--help"],
        &["--version"],
        &["build", "--help"],
        &["check", JOB],
        &["check", JOB, "--json"],
        &["target", JOB],
        &["diff", JOB, JOB],
        &["explain"],
        &["materials"],
        &["schema"],
        &["completions", "bash"],
        &["man"],
    ];
    for arguments in all {
        let mut child = command(arguments).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
        drop(child.stdout.take());
        let output = child.wait_with_output().unwrap();
        assert_eq!(output.status.code(), Some(0), "{arguments:?}: {}", words(&output.stderr));
        assert_eq!(words(&output.stderr), "");
    }
}

#[test]
fn watching_with_json_prints_a_line_for_each_build() {
    let dir = TempDir::new().unwrap();
    let (job, out) = (dir.path().join("job.toml"), dir.path().join("out"));
    let text = fs::read_to_string(format!("{ROOT}/{JOB}")).unwrap();
    fs::write(&job, &text).unwrap();
    let arguments = ["watch", job.to_str().unwrap(), "-o", out.to_str().unwrap(), "--json", "-q"];
    let mut child = command(&arguments).stdout(Stdio::piped()).stderr(Stdio::null()).spawn().unwrap();
    let mut printed = BufReader::new(child.stdout.take().unwrap()).lines();
    let first = parsed(printed.next().unwrap().unwrap().as_bytes());
    assert_eq!((&first["ended"], &first["exit"]), (&"done".into(), &0.into()), "{first}");
    assert!(first["files"].as_array().unwrap().len() > 5 && out.join("ribs.dxf").is_file());
    fs::write(&job, text.replace("width = 400", "width = \"broad\"")).unwrap();
    let second = parsed(printed.next().unwrap().unwrap().as_bytes());
    assert_eq!((&second["ended"], &second["exit"]), (&"wrong".into(), &2.into()), "{second}");
    assert!(second["problems"][0].as_str().is_some_and(|p| p.contains("job.toml, line 8, `width`")), "{second}");
    child.kill().unwrap();
    child.wait().unwrap();
}

#[cfg(target_os = "linux")]
#[test]
fn results_that_cannot_be_written_are_a_failure_of_the_disk() {
    let full = fs::File::options().write(true).open("/dev/full").unwrap();
    let output = command(&["materials"]).stdout(full).stderr(Stdio::piped()).output().unwrap();
    ends_with(&output, 3);
    assert!(words(&output.stderr).contains("cannot be written to stdout"), "{}", words(&output.stderr));
}

#[test]
fn the_exit_codes_are_those_that_help_and_readme_list() {
    let dir = TempDir::new().unwrap();
    let job = dir.path().join("stopped.toml");
    fs::write(&job, stopped()).unwrap();
    let job = job.to_str().unwrap();
    ends_with(&overbend(&["check", JOB]), 0);
    ends_with(&overbend(&["check", job]), 1);
    ends_with(&overbend(&["check", job, "--accept", "pressure-limit"]), 0);
    ends_with(&overbend(&["check", BAD]), 2);
    ends_with(&overbend(&["chekc", JOB]), 2);
    ends_with(&overbend(&["check", "no-such.toml"]), 3);
    let out = dir.path().join("out");
    ends_with(&overbend(&["build", job, "-o", out.to_str().unwrap()]), 1);
    assert!(!out.exists());
    let help = overbend(&["--help"]);
    let guide = fs::read_to_string(format!("{ROOT}/src/guide/scripts.md")).unwrap();
    for line in ["a check says stop", "the document or the arguments are wrong", "a file or folder cannot be read or"] {
        assert!(words(&help.stdout).contains(line), "help lacks: {line}");
        assert!(guide.contains(line), "the guide lacks: {line}");
    }
}

#[test]
fn several_documents_are_built_into_a_folder_each_with_a_line_each() {
    let dir = TempDir::new().unwrap();
    let out = dir.path().join("tables");
    let shown = out.to_str().unwrap();
    let names = ["lake-board", "sled-runner", "street-deck"];
    let jobs = names.map(|n| format!("examples/{n}/job.toml"));
    let output = overbend(&["build", &jobs[0], &jobs[1], &jobs[2], "-o", shown]);
    ends_with(&output, 0);
    let said: Vec<&str> = words(&output.stdout).lines().collect();
    for (name, line) in names.iter().zip(&said) {
        assert!(line.starts_with(&format!("done  {name}")) && line.contains("table: tip"), "{line}");
        assert!(out.join(name).join("book.html").is_file());
        let alone = dir.path().join("alone");
        ends_with(&overbend(&["build", &format!("examples/{name}/job.toml"), "-o", alone.to_str().unwrap()]), 0);
        for entry in fs::read_dir(&alone).unwrap() {
            let entry = entry.unwrap();
            assert_eq!(fs::read(entry.path()).unwrap(), fs::read(out.join(name).join(entry.file_name())).unwrap());
        }
    }
    assert_eq!(said.len(), 5);
    assert!(said[4].starts_with("all 3 documents are built"), "{}", said[4]);
    // Again over what is there.
    ends_with(&overbend(&["build", &jobs[0], &jobs[1], "-o", shown]), 0);
}

#[test]
fn of_several_documents_each_failure_is_told_and_counted_and_the_others_are_built() {
    let dir = TempDir::new().unwrap();
    let at = |name: &str| dir.path().join(name).to_str().unwrap().to_owned();
    fs::write(at("good.toml"), fs::read_to_string(format!("{ROOT}/{JOB}")).unwrap()).unwrap();
    fs::write(at("stopped.toml"), stopped()).unwrap();
    let out = at("tables");
    let bad = format!("{ROOT}/{BAD}");
    let arguments = ["build", &at("good.toml"), &at("stopped.toml"), &bad, &at("missing.toml"), "-o", &out];
    let output = overbend(&arguments);
    ends_with(&output, 3);
    let said = words(&output.stdout);
    for (line, begins) in said.lines().zip(["done  good", "stop  stopped", "wrong several", "disk  missing"]) {
        assert!(line.starts_with(begins), "{line}");
    }
    let count = "1 of 4 documents are built, 3 failed: 1 stopped by a check, 1 wrong, 1 not readable or not writable";
    assert!(said.ends_with(&format!("{count}\n")), "{said}");
    assert!(words(&output.stderr).ends_with("error: 3 of 4 documents failed.\n"), "{}", words(&output.stderr));
    let made: Vec<_> = fs::read_dir(&out).unwrap().map(|e| e.unwrap().file_name()).collect();
    assert_eq!(made, ["good"]);
    let mut asked = arguments.to_vec();
    asked.push("--json");
    let output = overbend(&asked);
    let ended: Vec<_> = lines(&output.stdout).iter().map(|l| l["ended"].as_str().unwrap().to_owned()).collect();
    assert_eq!(ended, ["done", "stop", "wrong", "disk"]);
}

#[test]
fn documents_that_would_share_a_folder_and_folders_of_one_build_are_refused() {
    let dir = TempDir::new().unwrap();
    let out = dir.path().join("out");
    let shown = out.to_str().unwrap();
    ends_with(&overbend(&["build", JOB, JOB, "-o", shown]), 2);
    assert!(!out.exists());
    ends_with(&overbend(&["build", JOB, "-o", shown]), 0);
    ends_with(&overbend(&["build", JOB, "examples/sled-runner/job.toml", "-o", shown]), 2);
}
