//! Bad luck and bad will around a run: other runs, odd names, odd environments, links and pipes, no network.

use std::collections::BTreeMap;
use std::fs;
use std::os::unix::fs::symlink;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use tempfile::TempDir;

const LAKE: &str = include_str!("../../examples/lake-board/job.toml");

fn overbend() -> Command {
    let mut command = Command::new(assert_cmd::cargo::cargo_bin!("overbend"));
    command.current_dir(env!("CARGO_MANIFEST_DIR"));
    command
}

fn build(job: &Path, out: &Path) -> Output {
    overbend().arg("build").arg(job).arg("-o").arg(out).output().unwrap()
}

#[track_caller]
fn ends_with(output: &Output, code: i32, words: &str) {
    let said = format!("{}{}", String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr));
    assert_eq!(output.status.code(), Some(code), "{said}");
    assert!(said.contains(words), "`{words}` is not in\n{said}");
}

/// A folder of its own with a job in it.
fn place() -> (TempDir, PathBuf) {
    let dir = TempDir::new().unwrap();
    let job = dir.path().join("job.toml");
    fs::write(&job, LAKE).unwrap();
    (dir, job)
}

fn contents(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let entries = fs::read_dir(folder).unwrap().map(|e| e.unwrap());
    entries.map(|e| (e.file_name().into_string().unwrap(), fs::read(e.path()).unwrap())).collect()
}

fn fifo(at: &Path) {
    assert!(Command::new("mkfifo").arg(at).status().unwrap().success());
}

#[test]
fn runs_at_once_into_one_folder_leave_one_of_them_whole() {
    let (dir, job) = place();
    let other = dir.path().join("other.toml");
    fs::write(&other, LAKE.replace("height = 45", "height = 40")).unwrap();
    let (out, alone) = (dir.path().join("out"), dir.path().join("alone"));
    let mut whole = Vec::new();
    for job in [&job, &other] {
        ends_with(&build(job, &alone), 0, "files are in");
        whole.push(contents(&alone));
    }
    for _ in 0..3 {
        let begin = |job: &Path| overbend().arg("build").arg(job).arg("-o").arg(&out).spawn().unwrap();
        let runs: Vec<_> = [&job, &other, &job, &other].into_iter().map(|j| begin(j)).collect();
        for mut run in runs {
            assert!(run.wait().unwrap().success());
        }
        assert!(whole.contains(&contents(&out)), "a mix of two runs");
    }
    let mut left: Vec<_> = fs::read_dir(dir.path()).unwrap().map(|e| e.unwrap().file_name()).collect();
    left.sort();
    assert_eq!(left, ["alone", "job.toml", "other.toml", "out"], "something is left beside the folder");
}

#[test]
fn names_with_blanks_other_letters_and_two_hundred_characters_are_names_like_others() {
    let (dir, job) = place();
    // 255 bytes are the most that Linux allows; the new folder's own name adds some to it.
    let names = ["with blanks", "Brett für den Süden", "доска-板", "-o", "a\"b'c;$(x)`", &"n".repeat(200)];
    for name in names {
        let folder = dir.path().join(name);
        fs::create_dir(&folder).unwrap();
        let own = folder.join(format!("{}.toml", if name.len() > 100 { "job" } else { name }));
        fs::copy(&job, &own).unwrap();
        ends_with(&build(&own, &folder.join(name)), 0, "files are in");
        assert!(folder.join(name).join("ribs.dxf").exists());
    }
    let too_long = dir.path().join("n".repeat(256));
    ends_with(&build(&job, &too_long), 3, "name");
}

#[test]
fn a_folder_that_vanishes_is_told() {
    let (dir, job) = place();
    let gone = dir.path().join("gone");
    fs::create_dir(&gone).unwrap();
    fs::remove_dir(&gone).unwrap();
    ends_with(&build(&job, &gone.join("out")), 3, "Make it first");
    // The folder in which a run stands may vanish as well.
    fs::create_dir(&gone).unwrap();
    let script = format!("cd {0} && rmdir {0} && exec \"$0\" build {1} -o out", gone.display(), job.display());
    let output = Command::new("sh").args(["-c", &script]).arg(assert_cmd::cargo::cargo_bin!("overbend")).output();
    let output = output.unwrap();
    assert_eq!(output.status.code(), Some(3), "{}", String::from_utf8_lossy(&output.stderr));
}

#[test]
fn clock_language_and_home_change_no_byte() {
    let (dir, job) = place();
    let plain = dir.path().join("plain");
    ends_with(&build(&job, &plain), 0, "files are in");
    let expected = contents(&plain);
    // The library reads no clock at all (.clippy.toml); what programs usually take the time or the language from is set
    // to odd values here.
    let odd = dir.path().join("odd");
    let output = overbend()
        .env_clear()
        .envs([
            ("LC_ALL", "tr_TR.UTF-8"),
            ("LANG", "de_DE"),
            ("LC_NUMERIC", "de_DE.UTF-8"),
            ("TZ", "Pacific/Kiritimati"),
        ])
        .envs([("SOURCE_DATE_EPOCH", "-1"), ("HOME", "/nowhere"), ("TMPDIR", "/nowhere"), ("COLUMNS", "0")])
        .arg("build")
        .arg(&job)
        .arg("-o")
        .arg(&odd)
        .output()
        .unwrap();
    ends_with(&output, 0, "files are in");
    assert_eq!(contents(&odd), expected);
    // A file from the future is a file.
    assert!(Command::new("touch").args(["-d", "2099-01-01"]).arg(odd.join("ribs.dxf")).status().unwrap().success());
    ends_with(&build(&job, &odd), 0, "files are in");
    assert_eq!(contents(&odd), expected);
}

/// The guide promises exit code 3 for whatever cannot be read.
#[test]
fn a_file_that_the_document_names_and_that_cannot_be_read_ends_with_3() {
    let (dir, job) = place();
    let out = dir.path().join("out");
    let with = |line: &str| fs::write(&job, LAKE.replacen("units =", &format!("{line}\nunits ="), 1)).unwrap();
    with("materials_file = \"nowhere.toml\"");
    ends_with(&build(&job, &out), 3, "nowhere.toml cannot be read");
    fs::create_dir(dir.path().join("folder.toml")).unwrap();
    with("shop = \"folder.toml\"");
    ends_with(&build(&job, &out), 3, "is not a plain file");
    // Before the first board there is no file; a link that leads round in a circle is no such case.
    with("shop = \"boards.toml\"");
    ends_with(&overbend().arg("check").arg(&job).output().unwrap(), 0, "");
    symlink("boards.toml", dir.path().join("boards.toml")).unwrap();
    ends_with(&build(&job, &out), 3, "boards.toml cannot be read");
    // What can be read and is wrong is another matter.
    fs::write(dir.path().join("nowhere.toml"), "materials = 1").unwrap();
    with("materials_file = \"nowhere.toml\"");
    ends_with(&build(&job, &out), 2, "wrong-shape");
    assert!(!out.exists());
}

#[test]
fn no_control_character_of_a_document_reaches_the_terminal() {
    let (_dir, job) = place();
    for (from, to) in [
        ("title = \"Lake board\"", "title = \"Lake\\u001B[31m board\""),
        ("units = \"mm\"", "units = \"mm\"\n\"sho\\u009Bp\" = 1"),
        ("pressure = \"85 kPa\"", "pressure = \"85 k\\u0007Pa\""),
        ("title = \"Lake board\"", "title = \"Lake \u{1B}[31mboard\""),
    ] {
        fs::write(&job, LAKE.replacen(from, to, 1)).unwrap();
        let output = overbend().arg("check").arg(&job).output().unwrap();
        assert_eq!(output.status.code(), Some(2), "{to:?}");
        let said = String::from_utf8([output.stdout, output.stderr].concat()).unwrap();
        assert!(said.chars().all(|c| !c.is_control() || c == '\n'), "{said:?}");
    }
}

#[test]
fn links_in_the_output_folder_are_not_followed() {
    let (dir, job) = place();
    let (out, outside) = (dir.path().join("out"), dir.path().join("outside.txt"));
    fs::write(&outside, "mine").unwrap();
    ends_with(&build(&job, &out), 0, "files are in");
    // A file of ours replaced by a link to one of the user's.
    fs::remove_file(out.join("ribs.dxf")).unwrap();
    symlink(&outside, out.join("ribs.dxf")).unwrap();
    ends_with(&build(&job, &out), 2, "ribs.dxf");
    ends_with(
        &overbend().args(["build", "--force"]).arg(&job).arg("-o").arg(&out).output().unwrap(),
        0,
        "The old folder is now",
    );
    assert_eq!(fs::read_to_string(&outside).unwrap(), "mine");
    // The folder itself a link: refused, whether it points anywhere or not.
    let link = dir.path().join("link");
    symlink(&out, &link).unwrap();
    ends_with(&build(&job, &link), 2, "is not a folder");
    let dangling = dir.path().join("dangling");
    symlink(dir.path().join("nowhere"), &dangling).unwrap();
    ends_with(&build(&job, &dangling), 2, "is not a folder");
    // The lock's name a link: nothing is made where it points to.
    let made = dir.path().join("made-by-a-link");
    symlink(&made, dir.path().join(".fresh.overbend-lock")).unwrap();
    ends_with(&build(&job, &dir.path().join("fresh")), 3, "cannot be");
    assert!(!made.exists());
}

#[test]
fn a_list_of_contents_that_is_no_list_of_ours_is_neither_followed_nor_believed() {
    let (dir, job) = place();
    let out = dir.path().join("out");
    fs::create_dir(&out).unwrap();
    // A pipe that nobody writes to must not hold the run up.
    fifo(&out.join("contents.json"));
    ends_with(&build(&job, &out), 2, "contents.json");
    fs::remove_file(out.join("contents.json")).unwrap();
    let secret = dir.path().join("secret.txt");
    fs::write(&secret, "secret").unwrap();
    let hash = overbend::numeric::fingerprint(b"secret");
    for name in ["../secret.txt", "/etc/passwd", "..", "a/b"] {
        let list = format!("{{\"made_by\":\"overbend\",\"files\":[{{\"name\":\"{name}\",\"sha256\":\"{hash}\"}}]}}");
        fs::write(out.join("contents.json"), list).unwrap();
        ends_with(&build(&job, &out), 2, "contents.json");
    }
    assert_eq!(fs::read_to_string(&secret).unwrap(), "secret");
}

#[test]
fn only_plain_files_are_read() {
    let (dir, job) = place();
    let pipe = dir.path().join("pipe.toml");
    fifo(&pipe);
    for odd in [&pipe, dir.path(), Path::new("/dev/zero")] {
        ends_with(&overbend().arg("check").arg(odd).output().unwrap(), 3, "is not a plain file");
    }
    fifo(&dir.path().join("pipe.csv"));
    fs::create_dir(dir.path().join("folder.csv")).unwrap();
    for name in ["pipe.csv", "folder.csv", "/dev/stdin", "/dev/zero"] {
        let rocker = format!("[rocker.measured]\nfile = \"{name}\"");
        fs::write(&job, LAKE.replace("[rocker.arc]\nheight = 45", &rocker)).unwrap();
        ends_with(&overbend().arg("check").arg(&job).output().unwrap(), 3, "is not a plain file");
    }
}

/// Linux alone lets a process give up the network. CI may not skip this.
#[test]
fn a_build_needs_no_network() {
    let (dir, job) = place();
    let out = dir.path().join("out");
    let program = assert_cmd::cargo::cargo_bin!("overbend");
    let alone = Command::new("unshare").args(["-rn"]).arg("true").output();
    if !alone.is_ok_and(|o| o.status.success()) {
        assert!(std::env::var_os("CI").is_none(), "CI must have `unshare` and be allowed to use it");
        println!("skipped: this user may not leave the network");
        return;
    }
    let output =
        Command::new("unshare").args(["-rn"]).arg(program).arg("build").arg(&job).arg("-o").arg(&out).output().unwrap();
    ends_with(&output, 0, "files are in");
    // The same bytes as with a network.
    let with = dir.path().join("with");
    ends_with(&build(&job, &with), 0, "files are in");
    assert_eq!(contents(&out), contents(&with));
}

/// Every path that a build opens, makes, renames or removes, as the kernel saw it. CI may not skip this.
#[test]
fn a_build_touches_its_folder_and_what_the_document_names_and_nothing_else() {
    let (dir, job) = place();
    fs::write(dir.path().join("board.csv"), "0,40\n300,11\n670,0\n1040,11\n1340,41\n").unwrap();
    fs::write(dir.path().join("bystander.csv"), "0,40\n1340,41\n").unwrap();
    let rocker = "[rocker.measured]\nfile = \"board.csv\"\nerror = 0.5";
    fs::write(&job, LAKE.replace("[rocker.arc]\nheight = 45", rocker)).unwrap();
    let (out, log) = (dir.path().join("out"), dir.path().join("log"));
    let calls = "trace=open,openat,creat,mkdir,mkdirat,rename,renameat,renameat2,unlink,unlinkat,rmdir,link,linkat,\
                 symlink,symlinkat,truncate,chmod,fchmodat,chown,fchownat,mknod,mknodat,socket,connect";
    let traced = Command::new("strace")
        // A program whose lines are counted writes what it counted, wherever it is told to.
        .env("LLVM_PROFILE_FILE", "/dev/null")
        .args(["-f", "-q", "-e", calls, "-o"])
        .arg(&log)
        .arg(assert_cmd::cargo::cargo_bin!("overbend"))
        .arg("build")
        .arg(&job)
        .arg("-o")
        .arg(&out)
        .output();
    let Ok(output) = traced else {
        assert!(std::env::var_os("CI").is_none(), "CI must have `strace`");
        println!("skipped: there is no `strace` here");
        return;
    };
    ends_with(&output, 0, "files are in");

    // The program's own start (libraries, what the machine offers) and the hour for the files.
    // Where memory is given back, the C library asks how freely it is lent.
    let of_the_system = [
        "/lib",
        "/usr",
        "/etc/ld.so",
        "/etc/localtime",
        "/proc/self/",
        "/sys/fs/cgroup",
        "/dev/null",
        "/proc/sys/vm/overcommit_memory",
    ];
    let (mut read, mut written) = (Vec::new(), Vec::new());
    for line in fs::read_to_string(&log).unwrap().lines().filter(|l| l.contains('(') && !l.contains("= -1 ENOENT")) {
        assert!(!line.contains("socket(") && !line.contains("connect("), "{line}");
        let opens = line.contains("open(") || line.contains("openat(");
        let writes = !opens || ["O_WRONLY", "O_RDWR", "O_CREAT", "O_TRUNC"].iter().any(|w| line.contains(w));
        // Paths are what stands in quotes.
        for path in line.split('"').skip(1).step_by(2).map(PathBuf::from) {
            if writes && path != Path::new("/dev/null") {
                written.push(path);
            } else if !of_the_system.iter().any(|s| path.starts_with(s) || path.to_string_lossy().starts_with(s)) {
                read.push(path);
            }
        }
    }
    for path in &written {
        let aside = path.strip_prefix(dir.path()).is_ok_and(|p| p.to_string_lossy().starts_with(".out.overbend-"));
        assert!(path == &out || path.starts_with(&out) || aside, "wrote {}", path.display());
    }
    assert!(written.len() > 10, "{written:?}");
    for path in &read {
        let named = [job.as_path(), &dir.path().join("board.csv"), dir.path()].contains(&path.as_path());
        assert!(named || written.contains(path), "read {}", path.display());
    }
    assert!(read.contains(&job) && read.contains(&dir.path().join("board.csv")), "{read:?}");
}

#[test]
fn texts_of_the_document_become_no_markup_and_no_formula() {
    let (dir, job) = place();
    let evil = "<script>alert(1)</script><img src=x onerror=y>]]>&amp;\\\"'";
    let text = LAKE
        .replace("title = \"Lake board\"", &format!("title = \"{evil}\""))
        .replace("name = \"core\"", &format!("name = \"{evil}\""))
        .replace("name = \"birch plywood\"", "name = \"=cmd|' /C calc'!A0\"");
    fs::write(&job, text).unwrap();
    let out = dir.path().join("out");
    ends_with(&build(&job, &out), 0, "files are in");
    for (name, bytes) in contents(&out) {
        let Ok(text) = String::from_utf8(bytes) else { continue };
        if name.ends_with(".html") || name.ends_with(".svg") {
            assert!(!text.contains("<script>alert") && !text.contains("<img src=x"), "{name}");
        }
        if name.ends_with(".svg") {
            roxmltree::Document::parse(&text).unwrap_or_else(|e| panic!("{name}: {e}"));
        }
        if name.ends_with(".csv") {
            for cell in text.lines().flat_map(|l| l.split(',')) {
                let first = cell.trim_matches('"').chars().next().unwrap_or(' ');
                let formula = matches!(first, '=' | '@' | '\t') || (matches!(first, '+' | '-') && !is_number(cell));
                assert!(!formula, "{name}: the cell {cell} is a formula");
            }
        }
    }
}

/// A number or an inch fraction with a sign.
fn is_number(cell: &str) -> bool {
    cell.chars().skip(1).all(|c| c.is_ascii_digit() || matches!(c, '.' | ' ' | '/'))
}
