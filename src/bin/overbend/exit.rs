//! Exit codes.

use std::process::ExitCode;

/// Outcome of a run. The numbers are part of the interface; with several documents the highest counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
#[repr(u8)]
pub(crate) enum Exit {
    /// Everything was done.
    Done = 0,
    /// A check says stop and nothing was written, or a comparison found more than allowed.
    Stopped = 1,
    /// The document or the arguments are wrong; nothing was written.
    Wrong = 2,
    /// A file or folder could not be read or written; what was there before is still there.
    Disk = 3,
}

impl Exit {
    /// The word in listings.
    pub(crate) fn word(self) -> &'static str {
        match self {
            Self::Done => "done",
            Self::Stopped => "stop",
            Self::Wrong => "wrong",
            Self::Disk => "disk",
        }
    }
}

/// Their list in the help.
pub(crate) const EXIT_CODES: &str = "\
Exit codes:
  0  done
  1  a check says stop, or diff finds more than --within allows
  2  the document or the arguments are wrong
  3  a file or folder cannot be read or written
With several documents, the highest code counts. Files are written only on success.";

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> Self {
        Self::from(exit as u8)
    }
}
