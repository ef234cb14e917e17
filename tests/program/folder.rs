//! The output folder when things go wrong: killed at any moment, disk full, nothing may be written.

use std::collections::BTreeSet;
use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::time::{Duration, Instant};

use overbend::numeric::fingerprint;
use tempfile::TempDir;

const JOBS: [&str; 2] = ["examples/lake-board/job.toml", "examples/street-deck/job.toml"];

fn build(job: &str, out: &Path) -> Command {
    let mut command = Command::new(assert_cmd::cargo::cargo_bin!("overbend"));
    command.current_dir(env!("CARGO_MANIFEST_DIR")).args(["build", job, "-o"]).arg(out);
    command.stdout(Stdio::null()).stderr(Stdio::piped());
    command
}

fn words(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).unwrap()
}

/// The hash of a folder that is whole: every file that its list names is there with its hash, and nothing else is.
fn whole(folder: &Path) -> String {
    let list = fs::read(folder.join("contents.json")).unwrap_or_else(|e| panic!("no list of contents: {e}"));
    let contents: serde_json::Value = serde_json::from_slice(&list).unwrap();
    let mut names = BTreeSet::from(["contents.json".to_owned()]);
    assert_eq!(contents["job_sha256"].as_str().map(str::len), Some(64), "the job is named");
    for file in contents["files"].as_array().unwrap() {
        let name = file["name"].as_str().unwrap().to_owned();
        let bytes = fs::read(folder.join(&name)).unwrap_or_else(|e| panic!("{name}: {e}"));
        assert_eq!(fingerprint(&bytes), file["sha256"].as_str().unwrap(), "{name} is not the file that was written");
        names.insert(name);
    }
    let there: BTreeSet<String> =
        fs::read_dir(folder).unwrap().map(|e| e.unwrap().file_name().into_string().unwrap()).collect();
    assert_eq!(there, names, "the folder is a mix");
    fingerprint(&list)
}

#[test]
fn killed_at_any_moment_the_old_folder_or_the_new_one_is_there() {
    let dir = TempDir::new().unwrap();
    let out = dir.path().join("out");
    let mut known = Vec::new();
    let mut span = Duration::ZERO;
    for job in JOBS {
        let begin = Instant::now();
        assert!(build(job, &out).status().unwrap().success());
        span = span.max(begin.elapsed());
        known.push(whole(&out));
    }
    // The lake board's folder stands first, so that every run would change what is there.
    assert!(build(JOBS[0], &out).status().unwrap().success());
    let mut now = 0;
    let (mut kept, mut replaced) = (0, 0);
    // Moments from a fixed sequence (Numerical Recipes' quick generator) within a span that follows the machine's load:
    // it shrinks when a run was done before its end came, and grows when it was not.
    let mut seed: u32 = 20_241;
    for _ in 0..80 {
        seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        let share = f64::from(seed >> 8) / f64::from(1 << 24);
        let mut child = build(JOBS[1 - now], &out).spawn().unwrap();
        std::thread::sleep(span.mul_f64(share));
        // SIGKILL; the run may have ended already.
        let _ = child.kill();
        child.wait().unwrap();
        let found = whole(&out);
        assert!(known.contains(&found), "neither the old folder nor the new one");
        if found == known[now] {
            kept += 1;
            span = span.mul_f64(1.1);
        } else {
            replaced += 1;
            span = span.mul_f64(0.9);
            now = 1 - now;
        }
    }
    assert!(kept >= 10 && replaced >= 10, "{kept} old and {replaced} new folders: the moments missed the point");
    // What killed runs left behind is gone after the next whole one.
    assert!(build(JOBS[0], &out).status().unwrap().success());
    let left: Vec<_> = fs::read_dir(dir.path()).unwrap().map(|e| e.unwrap().file_name()).collect();
    assert_eq!(left, ["out"]);
}

/// A file system in memory, unmounted when dropped.
struct Mount(PathBuf);

impl Mount {
    /// `None` where this user may not mount, as on most people's own machines; `.ci/run` may.
    fn new(at: &Path, options: &str) -> Option<Self> {
        let done = Command::new("mount").args(["-t", "tmpfs", "-o", options, "overbend-test"]).arg(at).output();
        done.is_ok_and(|o| o.status.success()).then(|| Self(at.to_owned()))
    }

    fn again(&self, options: &str) {
        let done = Command::new("mount").args(["-o", &format!("remount,{options}")]).arg(&self.0).status();
        assert!(done.unwrap().success());
    }
}

impl Drop for Mount {
    fn drop(&mut self) {
        let _ = Command::new("umount").arg(&self.0).status();
    }
}

#[test]
fn a_full_disk_is_told_and_the_old_folder_stays() {
    let dir = TempDir::new().unwrap();
    let Some(disk) = Mount::new(dir.path(), "size=16m") else {
        println!("skipped: this user may not mount a small disk");
        return;
    };
    let out = disk.0.join("out");
    assert!(build(JOBS[0], &out).status().unwrap().success());
    let before = whole(&out);
    // Fills the disk and takes back room for a part of the next folder only.
    let mut filler = fs::File::create(disk.0.join("filler")).unwrap();
    let mut filled = 0;
    while filler.write_all(&[0_u8; 4096]).is_ok() {
        filled += 4096;
    }
    filler.set_len(filled - 10 * 4096).unwrap();
    drop(filler);
    let output = build(JOBS[1], &out).output().unwrap();
    assert_eq!(output.status.code(), Some(3), "{}", words(&output));
    assert!(words(&output).contains("space"), "{}", words(&output));
    assert_eq!(whole(&out), before);
    let left: BTreeSet<String> =
        fs::read_dir(&disk.0).unwrap().map(|e| e.unwrap().file_name().into_string().unwrap()).collect();
    assert_eq!(left, BTreeSet::from(["filler".to_owned(), "out".to_owned()]), "nothing half-written is left");
    fs::remove_file(disk.0.join("filler")).unwrap();
    assert!(build(JOBS[1], &out).status().unwrap().success());
}

#[test]
fn a_disk_that_may_not_be_written_is_told_and_the_old_folder_stays() {
    let dir = TempDir::new().unwrap();
    let Some(disk) = Mount::new(dir.path(), "size=16m") else {
        println!("skipped: this user may not mount a small disk");
        return;
    };
    let out = disk.0.join("out");
    assert!(build(JOBS[0], &out).status().unwrap().success());
    let before = whole(&out);
    disk.again("ro");
    for target in [&out, &disk.0.join("new")] {
        let output = build(JOBS[1], target).output().unwrap();
        assert_eq!(output.status.code(), Some(3), "{}", words(&output));
        assert!(words(&output).to_lowercase().contains("read-only"), "{}", words(&output));
    }
    assert_eq!(whole(&out), before);
}
