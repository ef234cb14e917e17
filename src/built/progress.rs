//! Progress of a computation.

/// How far a build has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Progress {
    /// What is being done, in a word or two.
    pub stage: &'static str,
    /// How many of its steps are done.
    pub done: usize,
    /// How many steps it has.
    pub of: usize,
}
