//! Reading what the user names.

use std::fs::File;
use std::io::Read;
use std::path::{Path, PathBuf};

use overbend::document::{Document, Inputs, LARGEST_DOCUMENT, Problems};
use overbend::finding::ProblemText;

use crate::exit::Exit;
use crate::report::{failure, problems};

/// Largest file that a document may name, bytes: a drawing with a profile in it is a hundred times smaller.
const LARGEST_INPUT: usize = 50_000_000;

/// The name that stands for stdin.
pub(crate) const STDIN: &str = "-";

/// Why a document gave nothing.
#[derive(Debug)]
pub(crate) enum Failed {
    /// It holds mistakes.
    Problems {
        /// The document.
        text: String,
        /// What is wrong in it.
        problems: Problems,
    },
    /// Something else, a sentence or two each.
    Sentences(Exit, Vec<String>),
}

impl Failed {
    /// Something that is said in one sentence.
    pub(crate) fn sentence(exit: Exit, message: &str) -> Self {
        Self::Sentences(exit, vec![message.to_owned()])
    }

    /// How the run ends.
    pub(crate) fn exit(&self) -> Exit {
        match self {
            Self::Problems { problems, .. } if problems.iter().any(|p| p.fault.code == "file-not-read") => Exit::Disk,
            Self::Problems { .. } => Exit::Wrong,
            Self::Sentences(exit, _) => *exit,
        }
    }

    /// What is wrong, in words.
    pub(crate) fn lines(&self) -> Vec<String> {
        match self {
            Self::Problems { problems, .. } => problems.iter().map(ToString::to_string).collect(),
            Self::Sentences(_, lines) => lines.clone(),
        }
    }

    /// What is wrong, as the head of a page shows it.
    pub(crate) fn shown(&self) -> Vec<ProblemText> {
        match self {
            Self::Problems { text, problems } => problems.iter().map(|p| p.shown(text)).collect(),
            Self::Sentences(_, lines) => lines.iter().map(|l| ProblemText::sentence(l)).collect(),
        }
    }

    /// Says it on the terminal.
    pub(crate) fn print(&self) -> Exit {
        match self {
            Self::Problems { text, problems: found } => problems(text, found),
            Self::Sentences(_, lines) => lines.iter().for_each(|l| failure(l)),
        }
        self.exit()
    }
}

/// A document as text, not parsed yet.
pub(crate) struct Opened {
    name: String,
    folder: PathBuf,
    text: String,
}

impl Opened {
    /// Reads a document.
    pub(crate) fn read(path: &Path) -> Result<Self, Failed> {
        let text = read_text(path).map_err(|message| Failed::sentence(Exit::Disk, &message))?;
        let folder = path.parent().unwrap_or_else(|| Path::new("")).to_owned();
        Ok(Self { name: path.display().to_string(), folder, text })
    }

    /// What the document is called in messages.
    pub(crate) fn name(&self) -> &str {
        &self.name
    }

    /// What stands in it.
    pub(crate) fn text(&self) -> &str {
        &self.text
    }

    /// The files that the document names, if it can be read.
    pub(crate) fn named(&self) -> Option<Vec<PathBuf>> {
        let document = Document::parse(&self.name, &self.text).ok()?;
        Some(document.inputs().into_iter().map(|name| self.folder.join(name)).collect())
    }

    /// Where the document's shop keeps its boards, if it names a file.
    pub(crate) fn shop_file(&self) -> Result<Option<PathBuf>, Exit> {
        let document = Document::parse(&self.name, &self.text).map_err(|found| {
            problems(&self.text, &found);
            Exit::Wrong
        })?;
        Ok(document.shop_file().map(|name| self.folder.join(name)))
    }

    /// Parses the document, reads the files that it names, and does `work` with both.
    pub(crate) fn with<T>(
        &self,
        work: impl FnOnce(&Document<'_>, &Inputs) -> Result<T, Problems>,
    ) -> Result<T, Failed> {
        let done = Document::parse(&self.name, &self.text).and_then(|document| {
            let mut inputs = Inputs::default();
            let shop = document.shop_file();
            for name in document.inputs() {
                // Before the first board there is no file of boards yet.
                if shop.as_ref() == Some(&name) && is_absent(&self.folder.join(&name)) {
                    inputs.add(name, Ok(Vec::new()));
                    continue;
                }
                let contents = read_bytes(&self.folder.join(&name), LARGEST_INPUT);
                inputs.add(name, contents);
            }
            work(&document, &inputs)
        });
        done.map_err(|problems| Failed::Problems { text: self.text.clone(), problems })
    }
}

/// Whether there is no file of this name yet. A link that leads round in a circle, or a folder that may not be looked
/// into, is not the same.
pub(crate) fn is_absent(path: &Path) -> bool {
    std::fs::metadata(path).is_err_and(|e| e.kind() == std::io::ErrorKind::NotFound)
}

/// Reads a text, or says in one sentence why not.
pub(crate) fn read_text(path: &Path) -> Result<String, String> {
    read_text_of(path, LARGEST_DOCUMENT)
}

/// Reads a text of at most so many bytes, or says in one sentence why not.
pub(crate) fn read_text_of(path: &Path, most: usize) -> Result<String, String> {
    let bytes = read_bytes(path, most)?;
    String::from_utf8(bytes).map_err(|e| {
        let at = e.utf8_error().valid_up_to();
        format!("{} is not UTF-8 text: byte {at} is not valid. Save it as UTF-8.", path.display())
    })
}

/// Reads a plain file of at most so many bytes, or says in one sentence why not.
fn read_bytes(path: &Path, most: usize) -> Result<Vec<u8>, String> {
    if path == Path::new(STDIN) {
        return up_to(std::io::stdin().lock(), "stdin", most);
    }
    let shown = path.display().to_string();
    let metadata = std::fs::metadata(path).map_err(|e| format!("{shown} cannot be read: {e}."))?;
    if !metadata.is_file() {
        return Err(format!("{shown} is not a plain file."));
    }
    let file = open(path).map_err(|e| format!("{shown} cannot be read: {e}."))?;
    // It may be another one by now; what is open is what counts.
    if !file.metadata().is_ok_and(|m| m.is_file()) {
        return Err(format!("{shown} is not a plain file."));
    }
    up_to(file, &shown, most)
}

fn up_to(source: impl Read, shown: &str, most: usize) -> Result<Vec<u8>, String> {
    let mut bytes = Vec::new();
    // One byte more than allowed is enough to know that it is too large.
    source.take(most as u64 + 1).read_to_end(&mut bytes).map_err(|e| format!("{shown} cannot be read: {e}."))?;
    if bytes.len() > most {
        return Err(format!("{shown} is larger than {most} bytes, which no file of this kind is."));
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
