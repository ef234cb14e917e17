//! Documents to begin from.

use super::reader::nearest;

/// A commented document that is itself a valid job.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Starter {
    /// Its name on the command line.
    pub name: &'static str,
    /// The document.
    pub text: &'static str,
}

/// All starters.
pub const STARTERS: &[Starter] = &[
    Starter { name: "twin-tip", text: include_str!("../../templates/starters/twin-tip.toml") },
    Starter { name: "runner", text: include_str!("../../templates/starters/runner.toml") },
    Starter { name: "deck", text: include_str!("../../templates/starters/deck.toml") },
];

impl Starter {
    /// The starter of this name.
    pub fn find(name: &str) -> Option<Self> {
        STARTERS.iter().find(|s| s.name == name).copied()
    }

    /// The name nearest to a mistyped one.
    pub fn nearest(name: &str) -> Option<&'static str> {
        let names: Vec<&str> = STARTERS.iter().map(|s| s.name).collect();
        nearest(name, &names)
    }
}
