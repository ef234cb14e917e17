//! Tells the program which commit it is built from: from git in a clone, from the package's own note in a package.
#![allow(
    clippy::disallowed_methods,
    clippy::print_stdout,
    reason = "a build script reads the disk and the environment, and talks to cargo on stdout"
)]

use std::path::Path;
use std::process::Command;
use std::{env, fs};

fn main() {
    let root = env::var("CARGO_MANIFEST_DIR").unwrap_or_default();
    let version = env::var("CARGO_PKG_VERSION").unwrap_or_default();
    let root = Path::new(&root);
    println!("cargo::rerun-if-changed=src/bin/overbend/build_script.rs");
    let commit = packaged(root).or_else(|| cloned(root));
    let whole = commit.map_or(version.clone(), |c| format!("{version} ({c})"));
    println!("cargo::rustc-env=OVERBEND_VERSION={whole}");
}

/// The commit that `cargo package` notes.
fn packaged(root: &Path) -> Option<String> {
    let note = root.join(".cargo_vcs_info.json");
    let text = fs::read_to_string(note).ok()?;
    let (_, after) = text.split_once("\"sha1\"")?;
    let commit: String =
        after.chars().skip_while(|c| !c.is_ascii_hexdigit()).take_while(char::is_ascii_hexdigit).collect();
    short(&commit)
}

/// The commit that is checked out. A folder inside of another repository is none of its commits.
fn cloned(root: &Path) -> Option<String> {
    let git = |arguments: &[&str]| {
        let output = Command::new("git").current_dir(root).args(arguments).output().ok()?;
        output.status.success().then(|| String::from_utf8_lossy(&output.stdout).trim().to_owned())
    };
    let top = git(&["rev-parse", "--show-toplevel"])?;
    if fs::canonicalize(top).ok()? != fs::canonicalize(root).ok()? {
        return None;
    }
    // HEAD's own log changes with every commit, checkout and merge.
    for file in ["HEAD", "logs/HEAD"] {
        let path = git(&["rev-parse", "--git-path", file])?;
        let path = root.join(path);
        if path.exists() {
            println!("cargo::rerun-if-changed={}", path.display());
        }
    }
    short(&git(&["rev-parse", "HEAD"])?)
}

/// As many digits as tell commits of a project of this size apart.
fn short(commit: &str) -> Option<String> {
    commit.get(..10).map(str::to_owned)
}
