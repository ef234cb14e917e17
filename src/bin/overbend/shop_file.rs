//! The shop's file of boards on disk: one run at a time, whole or not at all.

use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};

use crate::folder::{lock, parent_of, sync_folder, write_one};

/// The file, held against other runs until this is dropped.
pub(crate) struct Held {
    path: PathBuf,
    lock_path: PathBuf,
    lock: Option<File>,
}

impl Held {
    /// Waits until no other run holds the file. Where the name is a link, the file behind it is meant.
    pub(crate) fn wait(path: &Path) -> io::Result<Self> {
        let path = fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
        let lock_path = beside(&path, "lock");
        let lock = Some(lock(&lock_path)?);
        Ok(Self { path, lock_path, lock })
    }

    /// Puts `text` in the place of what is there: written beside it, flushed, and renamed in one step. A run that dies on
    /// the way leaves the old file whole.
    pub(crate) fn replace(&self, text: &str) -> io::Result<()> {
        let fresh = beside(&self.path, "new");
        // Whoever holds the lock is alone: what an earlier run left when it was killed can go.
        match fs::remove_file(&fresh) {
            Err(e) if e.kind() != io::ErrorKind::NotFound => return Err(e),
            _ => {}
        }
        let written = write_one(&fresh, text.as_bytes()).and_then(|()| {
            if let Ok(before) = fs::metadata(&self.path) {
                fs::set_permissions(&fresh, before.permissions())?;
            }
            fs::rename(&fresh, &self.path)
        });
        if written.is_err() {
            // Of no use to anyone; the first error is the one to report.
            let _ = fs::remove_file(&fresh);
        }
        written?;
        sync_folder(&parent_of(&self.path));
        Ok(())
    }
}

impl Drop for Held {
    fn drop(&mut self) {
        // Taken away while it is still held, so that nobody who waits for it takes it for a lock that is in use.
        let _ = fs::remove_file(&self.lock_path);
        drop(self.lock.take());
    }
}

fn beside(path: &Path, what: &str) -> PathBuf {
    let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
    parent_of(path).join(format!(".{name}.overbend-{what}"))
}
