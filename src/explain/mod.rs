//! What each check and each mistake means: how its figure is found, where the limit comes from, what to do.
//!
//! Findings and faults say what is wrong with one job; this catalogue says the rest once, under the same code.

mod checks;
mod document;
mod jig;
mod rocker;
mod shop;
mod stack;

use crate::finding::nearest;

/// Which kind of message a code belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A check with a verdict, which a shop may accept by this code.
    Check,
    /// A mistake in the document; nothing is computed until it is mended.
    Mistake,
}

impl Kind {
    /// The word in listings.
    pub fn word(self) -> &'static str {
        match self {
            Self::Check => "check",
            Self::Mistake => "mistake",
        }
    }
}

/// The entry of one code.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Explanation {
    /// The code.
    pub code: &'static str,
    /// What carries it.
    pub kind: Kind,
    /// What it tells.
    pub meaning: &'static str,
    /// How the figure is computed, or what is compared.
    pub computed: &'static str,
    /// Where the limit or the formula comes from.
    pub source: &'static str,
    /// What to do.
    pub remedy: &'static str,
}

/// Limits that shops go by.
const PRACTICE: &str = "common practice, no source";
/// Limits of what a document can say.
const RULE: &str = "a rule of the document, so that what is meant is beyond doubt; no figure of the trade";
/// Limits of space.
const GEOMETRY: &str = "plain geometry of the figures given";

const fn check(
    code: &'static str,
    meaning: &'static str,
    computed: &'static str,
    source: &'static str,
    remedy: &'static str,
) -> Explanation {
    Explanation { code, kind: Kind::Check, meaning, computed, source, remedy }
}

const fn mistake(
    code: &'static str,
    meaning: &'static str,
    computed: &'static str,
    source: &'static str,
    remedy: &'static str,
) -> Explanation {
    Explanation { code, kind: Kind::Mistake, meaning, computed, source, remedy }
}

/// All entries: checks first, then mistakes by subject.
pub fn all() -> impl Iterator<Item = &'static Explanation> {
    [checks::ENTRIES, document::ENTRIES, rocker::ENTRIES, stack::ENTRIES, jig::ENTRIES, shop::ENTRIES]
        .into_iter()
        .flatten()
}

/// The entry of a code.
///
/// # Errors
/// The nearest code, if one is near enough to be meant.
pub fn find(code: &str) -> Result<&'static Explanation, Option<&'static str>> {
    let code = code.trim().to_lowercase();
    all().find(|e| e.code == code).ok_or_else(|| nearest(&code, &all().map(|e| e.code).collect::<Vec<_>>()))
}

/// The check of a code, whose verdict a shop may accept.
///
/// # Errors
/// The nearest check, if one is near enough to be meant.
pub fn find_check(code: &str) -> Result<&'static Explanation, Option<&'static str>> {
    let checks: Vec<&Explanation> = all().filter(|e| e.kind == Kind::Check).collect();
    let found = checks.iter().find(|e| e.code == code).copied();
    found.ok_or_else(|| nearest(code, &checks.iter().map(|e| e.code).collect::<Vec<_>>()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_are_explained_once_and_in_whole_sentences() {
        let mut codes: Vec<&str> = all().map(|e| e.code).collect();
        codes.sort_unstable();
        let count = codes.len();
        codes.dedup();
        assert_eq!(codes.len(), count, "a code is explained twice");
        for e in all() {
            for text in [e.meaning, e.computed, e.remedy] {
                assert!(text.ends_with('.') && text.len() > 15, "{}: {text}", e.code);
            }
            assert!(!e.source.is_empty(), "{}", e.code);
        }
    }

    #[test]
    fn a_mistyped_code_finds_its_neighbour_and_a_mistake_cannot_be_accepted() {
        assert_eq!(find("layer-strain").map(|e| e.kind), Ok(Kind::Check));
        assert_eq!(find("layer-strian"), Err(Some("layer-strain")));
        assert_eq!(find("nonsense-of-no-kind"), Err(None));
        assert_eq!(find_check("unknown-key"), Err(None));
        assert_eq!(find_check("bag-gab"), Err(Some("bag-gap")));
    }
}
