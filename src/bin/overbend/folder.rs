//! The output folder: written whole or not at all, and never at the cost of a file that is not ours.
//!
//! The files go into a new folder beside the target and are flushed to disk; one exchange of names puts the new folder
//! in the old one's place. `contents.json` lists what the run wrote, with hashes: a folder without it, or with a file
//! that it does not list or that was changed since, is not ours to replace.

use std::collections::BTreeMap;
use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use overbend::run::OutputFile;

/// Name of the list of files in every folder of ours.
pub(crate) const CONTENTS: &str = "contents.json";

/// Why nothing was written.
#[derive(Debug)]
pub(crate) enum FolderError {
    /// The folder holds something that is not ours.
    NotOurs(String),
    /// The disk refused.
    Disk(String),
}

/// What commands with --force advise.
const WITH_FORCE: &str = "; with --force the whole old folder is kept under a new name";

impl FolderError {
    /// The same for a command that has no --force.
    pub(crate) fn without_force(self) -> Self {
        match self {
            Self::NotOurs(message) => Self::NotOurs(message.replace(WITH_FORCE, "")),
            disk @ Self::Disk(_) => disk,
        }
    }
}

/// Refuses early what [`replace`] would refuse later, so that no work is done in vain.
pub(crate) fn check(target: &Path, force: bool) -> Result<(), FolderError> {
    if !is_there(target)? || force {
        return Ok(());
    }
    let foreign = foreign_files(target).map_err(|e| disk(target, "read", &e))?;
    if foreign.is_empty() { Ok(()) } else { Err(not_ours(target, &foreign)) }
}

/// Whether the folder is there already; an error where none can be.
fn is_there(target: &Path) -> Result<bool, FolderError> {
    let shown = target.display();
    let Some(metadata) = fs::symlink_metadata(target).ok() else {
        let parent = parent_of(target);
        return match fs::metadata(&parent) {
            Ok(m) if m.is_dir() => Ok(false),
            Ok(_) => Err(FolderError::Disk(format!("{} is not a folder.", parent.display()))),
            Err(e) => Err(FolderError::Disk(format!(
                "the folder {} for {shown} cannot be used: {e}. Make it first.",
                parent.display()
            ))),
        };
    };
    if !metadata.is_dir() {
        return Err(FolderError::NotOurs(format!("{shown} is not a folder and was left unchanged. Name a folder.")));
    }
    Ok(true)
}

fn not_ours(target: &Path, foreign: &[String]) -> FolderError {
    let most = 5;
    let mut list: Vec<String> = foreign.iter().take(most).cloned().collect();
    if foreign.len() > most {
        list.push(format!("and {} more", foreign.len() - most));
    }
    FolderError::NotOurs(format!(
        "{} has files that overbend did not write, or that were changed since: {}. Name another folder, or move these \
         files away{WITH_FORCE}.",
        target.display(),
        list.join(", ")
    ))
}

/// Puts a folder with exactly these files in the place of `target`, and with a list of them that names the job they were
/// made from. Returns where an old folder with files of the
/// user's was kept, if there was one.
pub(crate) fn replace(
    target: &Path,
    files: &[OutputFile],
    job_sha256: &str,
    force: bool,
) -> Result<Option<PathBuf>, FolderError> {
    let name = target.file_name().map(|n| n.to_string_lossy().into_owned());
    let Some(name) = name else {
        return Err(FolderError::Disk(format!("{} is not a valid folder name.", target.display())));
    };
    let parent = parent_of(target);
    let lock_path = parent.join(format!(".{name}.overbend-lock"));
    let lock = lock(&lock_path).map_err(|e| disk(&parent, "written to", &e))?;
    // Whoever holds the lock is alone: what an earlier run left when it was killed can go.
    let fresh = parent.join(format!(".{name}.overbend-new"));
    let outcome = remove_tree(&fresh).map_err(|e| disk(&fresh, "removed", &e)).and_then(|()| {
        is_there(target)?;
        if let Err(e) = write_all(&fresh, files, job_sha256) {
            // The half-written folder is of no use to anyone; the first error is the one to report.
            let _ = remove_tree(&fresh);
            return Err(disk(&fresh, "written", &e));
        }
        put_in_place(target, &fresh, force)
    });
    let _ = fs::remove_file(&lock_path);
    drop(lock);
    outcome
}

/// The files of an earlier run in `target` and the hash of the job they were made from, if it holds nothing else.
pub(crate) fn read_back(target: &Path) -> Option<(Vec<OutputFile>, String)> {
    if !foreign_files(target).ok()?.is_empty() {
        return None;
    }
    let read = |name: String| Some(OutputFile { bytes: fs::read(target.join(&name)).ok()?, name });
    let contents: serde_json::Value = serde_json::from_slice(&fs::read(target.join(CONTENTS)).ok()?).ok()?;
    let files: Option<Vec<OutputFile>> = listed(target)?.into_keys().map(read).collect();
    Some((files?, contents["job_sha256"].as_str().unwrap_or_default().to_owned()))
}

fn put_in_place(target: &Path, fresh: &Path, force: bool) -> Result<Option<PathBuf>, FolderError> {
    let parent = parent_of(target);
    if fs::symlink_metadata(target).is_err() {
        fs::rename(fresh, target).map_err(|e| disk(target, "put in place", &e))?;
        sync_folder(&parent);
        return Ok(None);
    }
    // Looked for as late as can be, so that a file that came while ours were written is not lost either.
    let foreign = foreign_files(target).map_err(|e| disk(target, "read", &e))?;
    if !(foreign.is_empty() || force) {
        let _ = remove_tree(fresh);
        return Err(not_ours(target, &foreign));
    }
    exchange(fresh, target).map_err(|e| disk(target, "replaced", &e))?;
    sync_folder(&parent);
    // From here on `fresh` is the name of the old folder.
    if !foreign.is_empty() {
        let kept = (1..10_000)
            .map(|n| parent.join(format!("{}.before-{n}", target.file_name().unwrap_or_default().to_string_lossy())))
            .find(|p| fs::symlink_metadata(p).is_err())
            .ok_or_else(|| FolderError::Disk("no free name is left for the old folder.".to_owned()))?;
        fs::rename(fresh, &kept).map_err(|e| disk(fresh, "renamed", &e))?;
        return Ok(Some(kept));
    }
    remove_tree(fresh).map_err(|e| disk(fresh, "removed", &e))?;
    Ok(None)
}

#[cfg(target_os = "linux")]
fn exchange(a: &Path, b: &Path) -> io::Result<()> {
    use rustix::fs::{CWD, RenameFlags, renameat_with};
    match renameat_with(CWD, a, CWD, b, RenameFlags::EXCHANGE) {
        Ok(()) => Ok(()),
        // Some file systems cannot exchange names.
        Err(rustix::io::Errno::INVAL | rustix::io::Errno::NOSYS) => exchange_by_steps(a, b),
        Err(e) => Err(e.into()),
    }
}

#[cfg(not(target_os = "linux"))]
fn exchange(a: &Path, b: &Path) -> io::Result<()> {
    exchange_by_steps(a, b)
}

/// Three renames where one exchange is not to be had: killed in between, both folders are still there whole.
fn exchange_by_steps(a: &Path, b: &Path) -> io::Result<()> {
    let mut aside = a.as_os_str().to_owned();
    aside.push("-old");
    let aside = PathBuf::from(aside);
    remove_tree(&aside)?;
    fs::rename(b, &aside)?;
    fs::rename(a, b)?;
    fs::rename(&aside, a)
}

/// Files and folders in `target` that the list in it does not account for.
fn foreign_files(target: &Path) -> io::Result<Vec<String>> {
    let listed = listed(target);
    let mut foreign = Vec::new();
    for entry in fs::read_dir(target)? {
        let entry = entry?;
        let name = entry.file_name().to_string_lossy().into_owned();
        let ours = match &listed {
            Some(_) if name == CONTENTS => entry.file_type()?.is_file(),
            Some(hashes) => match hashes.get(&name) {
                Some(hash) if entry.file_type()?.is_file() => {
                    fs::read(entry.path()).is_ok_and(|bytes| overbend::numeric::fingerprint(&bytes) == *hash)
                }
                _ => false,
            },
            None => false,
        };
        if !ours {
            foreign.push(name);
        }
    }
    foreign.sort();
    Ok(foreign)
}

fn listed(target: &Path) -> Option<BTreeMap<String, String>> {
    let path = target.join(CONTENTS);
    // A link would be read elsewhere, a pipe would never end.
    if !fs::symlink_metadata(&path).ok()?.is_file() {
        return None;
    }
    let bytes = fs::read(path).ok()?;
    let value: serde_json::Value = serde_json::from_slice(&bytes).ok()?;
    if value.get("made_by")?.as_str()? != "overbend" {
        return None;
    }
    let files = value.get("files")?.as_array()?;
    let row = |f: &serde_json::Value| {
        let name = f.get("name")?.as_str()?;
        // A list that names files elsewhere is not ours.
        let plain = Path::new(name).file_name().is_some_and(|n| n == name);
        plain.then_some((name.to_owned(), f.get("sha256")?.as_str()?.to_owned()))
    };
    files.iter().map(row).collect()
}

fn write_all(folder: &Path, files: &[OutputFile], job_sha256: &str) -> io::Result<()> {
    fs::create_dir(folder)?;
    let mut written = Vec::with_capacity(files.len() + 1);
    for file in files {
        written.push(write_new(&folder.join(&file.name), &file.bytes)?);
    }
    let list: Vec<serde_json::Value> = files
        .iter()
        .map(|f| serde_json::json!({ "name": f.name, "sha256": overbend::numeric::fingerprint(&f.bytes) }))
        .collect();
    let contents = serde_json::json!({
        "made_by": "overbend",
        "version": env!("CARGO_PKG_VERSION"),
        "job_sha256": job_sha256,
        "files": list,
    });
    let mut text = serde_json::to_vec_pretty(&contents)?;
    text.push(b'\n');
    written.push(write_new(&folder.join(CONTENTS), &text)?);
    // Flushed together: disks take one long list of blocks in much less time than many short ones.
    for file in written {
        file.sync_all()?;
    }
    sync_folder(folder);
    Ok(())
}

fn write_new(path: &Path, bytes: &[u8]) -> io::Result<File> {
    let mut file = File::create_new(path)?;
    file.write_all(bytes)?;
    Ok(file)
}

/// Writes a new file and flushes it. One that was not there and cannot be written whole is not there afterwards either.
pub(crate) fn write_one(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let mut file = File::create_new(path)?;
    let whole = file.write_all(bytes).and_then(|()| file.sync_all());
    if whole.is_err() {
        // Where even this fails, the first error is the one to report.
        let _ = fs::remove_file(path);
    }
    whole
}

/// Flushes a folder's names where the system can; elsewhere the files themselves are flushed already.
pub(crate) fn sync_folder(folder: &Path) {
    if let Ok(handle) = File::open(folder) {
        let _ = handle.sync_all();
    }
}

/// Removes a folder of ours. A link in its place is removed as a link; what it points to stays.
fn remove_tree(path: &Path) -> io::Result<()> {
    match fs::symlink_metadata(path) {
        Err(e) if e.kind() == io::ErrorKind::NotFound => Ok(()),
        Err(e) => Err(e),
        Ok(m) if m.is_dir() => fs::remove_dir_all(path),
        Ok(_) => fs::remove_file(path),
    }
}

/// Waits for the lock of this target. The lock file may vanish between opening and locking, when the run before
/// finishes; then it is made anew.
pub(crate) fn lock(path: &Path) -> io::Result<File> {
    loop {
        let file = lock_options().open(path)?;
        file.lock()?;
        if still_there(&file, path) {
            return Ok(file);
        }
    }
}

/// How a lock is opened: a link in its place is refused, or the file it points to would be made or held.
#[cfg(target_os = "linux")]
fn lock_options() -> fs::OpenOptions {
    use std::os::unix::fs::OpenOptionsExt;
    let mut options = File::options();
    let flags = rustix::fs::OFlags::NOFOLLOW | rustix::fs::OFlags::NONBLOCK;
    options.create(true).truncate(false).write(true).custom_flags(flags.bits() as i32);
    options
}

#[cfg(not(target_os = "linux"))]
fn lock_options() -> fs::OpenOptions {
    let mut options = File::options();
    options.create(true).truncate(false).write(true);
    options
}

#[cfg(unix)]
fn still_there(file: &File, path: &Path) -> bool {
    use std::os::unix::fs::MetadataExt;
    match (file.metadata(), fs::metadata(path)) {
        (Ok(a), Ok(b)) => a.ino() == b.ino() && a.dev() == b.dev(),
        _ => false,
    }
}

#[cfg(not(unix))]
fn still_there(_file: &File, path: &Path) -> bool {
    fs::metadata(path).is_ok()
}

pub(crate) fn parent_of(target: &Path) -> PathBuf {
    match target.parent() {
        Some(p) if !p.as_os_str().is_empty() => p.to_owned(),
        _ => PathBuf::from("."),
    }
}

fn disk(path: &Path, what: &str, error: &io::Error) -> FolderError {
    FolderError::Disk(format!("{} cannot be {what}: {error}. Nothing was changed.", path.display()))
}
