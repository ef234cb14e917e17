//! What only happens on a terminal: colour, progress, questions. The terminal is a pseudo-terminal of this test's own.

use std::fs::{self, File};
use std::io::{Read, Write};
use std::os::fd::OwnedFd;
use std::path::Path;
use std::process::{Command, Stdio};

use rustix::fs::{Mode, OFlags, open};
use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};
use tempfile::TempDir;

/// Both ends of a pseudo-terminal: the one that a person sits at, and the one that a program sees.
fn terminal() -> (File, OwnedFd) {
    let person = openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY | OpenptFlags::CLOEXEC).unwrap();
    grantpt(&person).unwrap();
    unlockpt(&person).unwrap();
    let name = ptsname(&person, Vec::new()).unwrap();
    let program = open(name.as_c_str(), OFlags::RDWR | OFlags::NOCTTY | OFlags::CLOEXEC, Mode::empty()).unwrap();
    (File::from(person), program)
}

fn overbend(folder: &Path, arguments: &[&str]) -> Command {
    let mut command = Command::new(assert_cmd::cargo::cargo_bin!("overbend"));
    command.current_dir(folder).args(arguments).env_remove("NO_COLOR").stdin(Stdio::null()).stdout(Stdio::null());
    command
}

/// Runs a program whose stderr is a terminal, and returns its exit code and what stood there.
fn seen(mut command: Command, typed: &str) -> (i32, String) {
    let (mut person, program) = terminal();
    if !typed.is_empty() {
        command.stdin(Stdio::from(program.try_clone().unwrap()));
    }
    let mut child = command.stderr(Stdio::from(program)).spawn().unwrap();
    drop(command);
    person.write_all(typed.as_bytes()).unwrap();
    let mut all = Vec::new();
    let mut piece = [0_u8; 4096];
    // The terminal hangs up, with an error, when the last program that has it open ends.
    while let Ok(count) = person.read(&mut piece) {
        if count == 0 {
            break;
        }
        all.extend_from_slice(&piece[..count]);
    }
    let code = child.wait().unwrap().code().unwrap();
    (code, String::from_utf8_lossy(&all).into_owned())
}

const ROOT: &str = env!("CARGO_MANIFEST_DIR");
const BAD: &str = "tests/documents/bad/unknown-material.toml";

#[test]
fn colour_is_for_terminals_and_can_be_declined() {
    let (code, said) = seen(overbend(Path::new(ROOT), &["check", BAD]), "");
    assert!(code == 2 && said.contains("\x1b[") && said.contains("pawlonia"), "{said}");
    let mut plain = overbend(Path::new(ROOT), &["check", BAD]);
    plain.env("NO_COLOR", "1");
    let (_, said) = seen(plain, "");
    assert!(!said.contains('\x1b') && said.contains("pawlonia"), "{said}");
    let piped = overbend(Path::new(ROOT), &["check", BAD]).stderr(Stdio::piped()).output().unwrap();
    assert!(!piped.stderr.contains(&0x1b));
}

#[test]
fn long_work_shows_how_it_comes_on_and_cleans_up_but_only_on_a_terminal() {
    // A second and more on any machine of today.
    let long = ["sweep", "examples/lake-board/job.toml", "--vary", "rocker.arc.height=40..50/0.01"];
    let sweep = |more: &[&str]| overbend(Path::new(ROOT), &[&long, more].concat());
    let (code, said) = seen(sweep(&[]), "");
    assert_eq!(code, 0, "{said}");
    assert!(said.contains("variations") && said.contains("/1001"), "{said}");
    assert!(said.ends_with("\r\x1b[K"), "{said:?}");
    let (_, said) = seen(sweep(&["-q"]), "");
    assert_eq!(said, "");
    let piped = sweep(&[]).stderr(Stdio::piped()).output().unwrap();
    assert_eq!(String::from_utf8(piped.stderr).unwrap(), "");
}

#[test]
fn new_asks_on_a_terminal_and_needs_its_arguments_without() {
    let dir = TempDir::new().unwrap();
    // What a document does not take is asked again, with the reason.
    let answers = "surfboard\nrunner\nmm\nTest sled\n-3\n1500\n\n\n\npine-apple\n\n\n\n\n\n\n";
    let (code, said) = seen(overbend(dir.path(), &["new"]), answers);
    assert_eq!(code, 0, "{said}");
    assert!(said.contains("There is no surfboard."), "{said}");
    assert!(said.matches("How long is it").count() == 2 && said.matches("pine-apple").count() == 2, "{said}");
    let text = fs::read_to_string(dir.path().join("test-sled.toml")).unwrap();
    assert!(text.contains("title = \"Test sled\"") && text.contains("length = 1500"), "{text}");
    assert!(text.lines().filter(|l| l.contains('#')).count() > 5, "a commented document: {text}");
    let built = overbend(dir.path(), &["build", "test-sled.toml", "-o", "out"]).stderr(Stdio::null()).status().unwrap();
    assert!(built.success() && dir.path().join("out/book.html").is_file());

    let output = overbend(dir.path(), &["new"]).stderr(Stdio::piped()).output().unwrap();
    assert_eq!(output.status.code(), Some(2));
    assert!(String::from_utf8(output.stderr).unwrap().contains("name the document"));
}

#[test]
fn questions_that_are_broken_off_leave_nothing() {
    let dir = TempDir::new().unwrap();
    // The end of input, as typed.
    let (code, said) = seen(overbend(dir.path(), &["new"]), "runner\nmm\nTest sled\n\u{4}");
    assert!(code == 2 && said.contains("Nothing was written."), "{said}");
    // The key that interrupts reaches programs of the terminal's own session only, and not those that were begun deaf to it.
    let mut command = Command::new("env");
    command
        .args(["--default-signal", "setsid", "--ctty", "--wait"])
        .arg(assert_cmd::cargo::cargo_bin!("overbend"))
        .arg("new");
    command.current_dir(dir.path()).stdout(Stdio::null());
    let (mut person, program) = terminal();
    command.stdin(Stdio::from(program.try_clone().unwrap())).stderr(Stdio::from(program));
    let mut child = command.spawn().unwrap();
    drop(command);
    let mut said = String::new();
    let mut piece = [0_u8; 4096];
    while !said.contains("What kind of board") {
        let count = person.read(&mut piece).unwrap();
        said.push_str(&String::from_utf8_lossy(&piece[..count]));
    }
    person.write_all(b"runner\n\x03").unwrap();
    while person.read(&mut piece).is_ok_and(|count| count > 0) {}
    assert!(!child.wait().unwrap().success());
    assert_eq!(fs::read_dir(dir.path()).unwrap().count(), 0);
}
