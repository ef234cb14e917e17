//! Reading what the user names.

use std::fs::File;
use std::io::Read;
use std::path::{Path, PathBuf};

use overbend::document::{Document, Inputs, LARGEST_DOCUMENT, Problem};

use crate::exit::Exit;
use crate::report::{failure, problems};

/// Largest file that a document may name, bytes: a drawing with a profile in it is a hundred times smaller.
const LARGEST_INPUT: usize = 50_000_000;

/// Why a document gave nothing; the terminal has been told already.
#[derive(Debug)]
pub(crate) struct Failed {
    /// How the run ends.
    pub(crate) exit: Exit,
    /// What is wrong, a sentence or two each.
    pub(crate) lines: Vec<String>,
}

/// A document as text, not parsed yet.
pub(crate) struct Opened {
    name: String,
    folder: PathBuf,
    text: String,
}

impl Opened {
    /// Reads a document; says on the terminal why not.
    pub(crate) fn read(path: &Path) -> Result<Self, Failed> {
        let text = read_text(path).map_err(|message| {
            failure(&message);
            Failed { exit: Exit::Disk, lines: vec![message] }
        })?;
        let folder = path.parent().unwrap_or_else(|| Path::new("")).to_owned();
        Ok(Self { name: path.display().to_string(), folder, text })
    }

    /// Parses the document, reads the files that it names, and does `work` with both; says on the terminal what is wrong.
    pub(crate) fn with<T>(
        &self,
        work: impl FnOnce(&Document<'_>, &Inputs) -> Result<T, Vec<Problem>>,
    ) -> Result<T, Failed> {
        let done = Document::parse(&self.name, &self.text).and_then(|document| {
            let mut inputs = Inputs::default();
            for name in document.inputs() {
                let contents = read_bytes(&self.folder.join(&name), LARGEST_INPUT);
                inputs.add(name, contents);
            }
            work(&document, &inputs)
        });
        done.map_err(|found| {
            problems(&self.text, &found);
            Failed { exit: Exit::Wrong, lines: found.iter().map(ToString::to_string).collect() }
        })
    }
}

/// Reads a text, or says in one sentence why not.
pub(crate) fn read_text(path: &Path) -> Result<String, String> {
    let bytes = read_bytes(path, LARGEST_DOCUMENT)?;
    String::from_utf8(bytes).map_err(|e| {
        let at = e.utf8_error().valid_up_to();
        format!("{} is not UTF-8 text: byte {at} is not valid. Save it as UTF-8.", path.display())
    })
}

/// Reads a plain file of at most so many bytes, or says in one sentence why not.
fn read_bytes(path: &Path, most: usize) -> Result<Vec<u8>, String> {
    let shown = path.display();
    let metadata = std::fs::metadata(path).map_err(|e| format!("{shown} cannot be read: {e}."))?;
    if !metadata.is_file() {
        return Err(format!("{shown} is not a plain file."));
    }
    let file = open(path).map_err(|e| format!("{shown} cannot be read: {e}."))?;
    // It may be another one by now; what is open is what counts.
    if !file.metadata().is_ok_and(|m| m.is_file()) {
        return Err(format!("{shown} is not a plain file."));
    }
    let mut bytes = Vec::new();
    // One byte more than allowed is enough to know that it is too large.
    file.take(most as u64 + 1).read_to_end(&mut bytes).map_err(|e| format!("{shown} cannot be read: {e}."))?;
    if bytes.len() > most {
        return Err(format!("{shown} is larger than {most} bytes; that is no file of this kind."));
    }
    Ok(bytes)
}

/// Opens for reading without waiting for the other end of a pipe.
#[cfg(target_os = "linux")]
fn open(path: &Path) -> std::io::Result<File> {
    use std::os::unix::fs::OpenOptionsExt;
    File::options().read(true).custom_flags(rustix::fs::OFlags::NONBLOCK.bits() as i32).open(path)
}

#[cfg(not(target_os = "linux"))]
fn open(path: &Path) -> std::io::Result<File> {
    File::open(path)
}
