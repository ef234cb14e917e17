//! Exit codes.

use std::process::ExitCode;

/// How a run ended. The numbers are part of the interface.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[repr(u8)]
pub(crate) enum Exit {
    /// Everything was done.
    Done = 0,
    /// A check says stop; nothing was written.
    Stopped = 1,
    /// The document or the arguments are wrong; nothing was written.
    Wrong = 2,
    /// A file or folder could not be read or written; what was there before is still there.
    Disk = 3,
}

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> Self {
        Self::from(exit as u8)
    }
}
