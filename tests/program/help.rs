//! Help that can be followed: its examples run as they stand, and shells complete what the program takes.

use std::fs;
use std::path::Path;
use std::process::{Command, Output, Stdio};

use tempfile::TempDir;

use crate::support::arc;

const ROOT: &str = env!("CARGO_MANIFEST_DIR");
const COMMANDS: [&str; 14] = [
    "build",
    "check",
    "watch",
    "target",
    "new",
    "predict",
    "diff",
    "explain",
    "calibrate",
    "shims",
    "schema",
    "completions",
    "man",
    "materials",
];

fn program() -> &'static Path {
    Path::new(env!("CARGO_BIN_EXE_overbend"))
}

fn said(arguments: &[&str]) -> String {
    let output = Command::new(program()).args(arguments).output().unwrap();
    assert!(output.status.success(), "{arguments:?}: {}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

pub(crate) fn shell(folder: &Path, line: &str) -> Output {
    let path = format!("{}:{}", program().parent().unwrap().display(), std::env::var("PATH").unwrap());
    Command::new("sh")
        .args(["-c", line])
        .current_dir(folder)
        .env("PATH", path)
        .env("HOME", folder)
        .stdin(Stdio::null())
        .output()
        .unwrap()
}

fn copy(from: &str, to: &Path) {
    fs::create_dir_all(to.parent().unwrap()).unwrap();
    fs::copy(Path::new(ROOT).join(from), to).unwrap_or_else(|e| panic!("{from}: {e}"));
}

/// The files that the examples name.
pub(crate) fn place() -> TempDir {
    let dir = TempDir::new().unwrap();
    let at = |name: &str| dir.path().join(name);
    let lake = "examples/lake-board/job.toml";
    for name in [lake, "job.toml", "boards/one.toml", "boards/two.toml", "a.toml", "b.toml", "new-job.toml"] {
        copy(lake, &at(name));
    }
    let built = shell(dir.path(), "overbend build job.toml -o old-table -q");
    assert!(built.status.success(), "{built:?}");
    // The surface of the table as somebody measured it, and the board that came off it.
    fs::write(at("table.csv"), arc(1540.0, 47.5)).unwrap();
    fs::write(at("measured.csv"), arc(1340.0, 44.6)).unwrap();
    fs::create_dir_all(at("etc/bash_completion.d")).unwrap();
    fs::create_dir_all(at(".config/fish/completions")).unwrap();
    fs::create_dir_all(at("usr/local/share/man/man1")).unwrap();
    dir
}

#[test]
fn every_command_has_an_example_and_the_examples_run() {
    let dir = place();
    let mut run = 0;
    for command in COMMANDS {
        let help = said(&[command, "--help"]);
        let short = said(&[command, "-h"]);
        assert!(short.lines().count() < help.lines().count(), "{command}: the short help is no shorter");
        let examples = help.split_once("Example").map(|(_, rest)| rest.to_owned()).unwrap_or_default();
        let examples: Vec<&str> = examples.lines().map(str::trim).filter(|l| l.contains("overbend ")).collect();
        assert!(!examples.is_empty(), "{command} has no example:\n{help}");
        for example in examples {
            // What asks on a terminal or never ends is tried elsewhere; other people's programs may be missing here.
            if matches!(example, "overbend new") || example.starts_with("overbend watch") {
                continue;
            }
            let line =
                example.replace("generate |", "cat job.toml |").replace(" /etc", " etc").replace(" /usr", " usr");
            let line = line.split(" | jq").next().unwrap().split(" | man").next().unwrap().to_owned();
            let output = shell(dir.path(), &line);
            assert!(
                output.status.success(),
                "{example}\n{}{}",
                String::from_utf8_lossy(&output.stdout),
                String::from_utf8_lossy(&output.stderr)
            );
            run += 1;
        }
    }
    assert!(run >= 16, "only {run} examples");
}

/// Whether a shell is here. CI may not skip any.
fn is_here(shell: &str) -> bool {
    let here = Command::new(shell).args(["-c", "exit"]).output().is_ok();
    if !here {
        assert!(std::env::var_os("CI").is_none(), "CI must have `{shell}`");
        println!("skipped: there is no `{shell}` here");
    }
    here
}

/// What is typed, and what must be among the words that a shell offers to go on with.
const BEGUN: [(&str, &str); 3] = [
    ("overbend pre", "predict"),
    ("overbend check --mess", "--message-format"),
    ("overbend new --starter run", "runner"),
];

/// What a shell's own script prints, its complaints behind it.
fn printed(shell: &str, own_files: &str, script: &str, home: &Path) -> String {
    let output = Command::new(shell).args([own_files, "-c", script]).env("HOME", home).output().unwrap();
    format!("{}{}", String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr))
}

fn completions(dir: &Path, shell: &str) -> String {
    let file = dir.join(format!("overbend.{shell}"));
    fs::write(&file, said(&["completions", shell])).unwrap();
    file.display().to_string()
}

#[test]
fn bash_completes_commands_options_and_starters() {
    if !is_here("bash") {
        return;
    }
    let dir = TempDir::new().unwrap();
    let file = completions(dir.path(), "bash");
    for (words, wanted) in BEGUN {
        let before = words.split(' ').count();
        let script = format!(
            "source {file}; COMP_WORDS=({words}); COMP_CWORD={}; COMPREPLY=(); \
             $(complete -p overbend | sed 's/.*-F \\([^ ]*\\).*/\\1/') overbend {} {}; echo \"${{COMPREPLY[@]}}\"",
            before - 1,
            words.rsplit(' ').next().unwrap(),
            words.rsplit(' ').nth(1).unwrap()
        );
        let out = printed("bash", "--norc", &script, dir.path());
        assert!(out.split_whitespace().any(|w| w == wanted), "{out}");
    }
}

#[test]
fn fish_completes_commands_options_and_starters() {
    if !is_here("fish") {
        return;
    }
    let dir = TempDir::new().unwrap();
    let file = completions(dir.path(), "fish");
    for (words, wanted) in BEGUN {
        let script = format!("source {file}; complete -C '{words}'");
        let out = printed("fish", "--no-config", &script, dir.path());
        assert!(out.split_whitespace().any(|w| w == wanted), "{out}");
    }
}

/// zsh completes for people only; a terminal of its own (`zpty`, which comes with it) is one.
#[test]
fn zsh_completes_commands_options_and_starters() {
    if !is_here("zsh") {
        return;
    }
    let dir = TempDir::new().unwrap();
    completions(dir.path(), "zsh");
    fs::rename(dir.path().join("overbend.zsh"), dir.path().join("_overbend")).unwrap();
    for (words, wanted) in [
        ("overbend pre", "overbend predict"),
        ("overbend check --mess", "--message-format"),
        ("overbend new --starter run", "--starter runner"),
    ] {
        let script = format!(
            "zmodload zsh/zpty; zpty shell zsh -f -i; \
             zpty -w shell \"PS1=; fpath=({0} \\$fpath); autoload -U compinit; compinit -u -d {0}/dump; print ready\"; \
             zpty -r shell said '*ready*'; zpty -r shell said '*ready*'; \
             zpty -w -n shell $'{words}\\t'; zpty -r -m shell said '*{wanted}*' && print found; zpty -d shell",
            dir.path().display()
        );
        let output = Command::new("timeout").args(["20", "zsh", "-f", "-c", &script]).output().unwrap();
        let out = String::from_utf8_lossy(&output.stdout);
        assert!(out.contains("found"), "{words}: {out}{}", String::from_utf8_lossy(&output.stderr));
    }
}

#[test]
fn completions_for_all_five_shells_name_every_command() {
    for shell in ["bash", "zsh", "fish", "powershell", "elvish"] {
        let script = said(&["completions", shell]);
        for command in COMMANDS {
            assert!(script.contains(command), "{shell}: {command}");
        }
    }
    let powershell = said(&["completions", "powershell"]);
    assert!(powershell.contains("Register-ArgumentCompleter -Native -CommandName 'overbend'"), "{powershell}");
    let opened = powershell.matches('{').count();
    assert_eq!(opened, powershell.matches('}').count());
}

#[test]
fn manual_pages_are_there_for_every_command_and_are_set_without_a_complaint() {
    let dir = TempDir::new().unwrap();
    said(&["man", "-q", "-o", dir.path().to_str().unwrap()]);
    for command in COMMANDS {
        let page = dir.path().join(format!("overbend-{command}.1"));
        assert!(page.is_file(), "{}", page.display());
        let Ok(output) = Command::new("groff").args(["-man", "-Tutf8", "-ww", "-z"]).arg(&page).output() else {
            assert!(std::env::var_os("CI").is_none(), "CI must have `groff`");
            println!("skipped: there is no `groff` here");
            return;
        };
        assert_eq!(String::from_utf8_lossy(&output.stderr), "", "{command}");
    }
}
