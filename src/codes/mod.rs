//! The code of every check and every mistake, declared once: what it means, how its figure is found, where the limit comes
//! from, what to do. Findings and faults carry it and add what is so in one job; [`find`] gives it by its name.

/// Declares codes as constants, and the list of them.
macro_rules! codes {
    ($table:ident: $($name:ident = $kind:ident($code:literal, $meaning:literal, $computed:expr, $source:expr, $remedy:expr $(,)?)),* $(,)?) => {
        $(
            #[doc = $meaning]
            pub(crate) const $name: &$crate::finding::Code = &$kind($code, $meaning, $computed, $source, $remedy);
        )*
        pub(super) const $table: &[&$crate::finding::Code] = &[$($name),*];
    };
}

mod checks;
mod document;
mod jig;
mod rocker;
mod shop;
mod stack;

pub(crate) use checks::*;
pub(crate) use document::*;
pub(crate) use jig::*;
pub(crate) use rocker::*;
pub(crate) use shop::*;
pub(crate) use stack::*;

use crate::finding::{Code, Fault, Kind, nearest};
use crate::units::Phrase;

/// Limits that shops go by.
const PRACTICE: &str = "common practice, no source";
/// Limits of what a document can say.
const RULE: &str = "a rule of the document, so that what is meant is beyond doubt; no figure of the trade";
/// Limits of space.
const GEOMETRY: &str = "plain geometry of the figures given";

const fn check(
    name: &'static str,
    meaning: &'static str,
    computed: &'static str,
    source: &'static str,
    remedy: &'static str,
) -> Code {
    Code { name, kind: Kind::Check, meaning, computed, source, remedy }
}

const fn mistake(
    name: &'static str,
    meaning: &'static str,
    computed: &'static str,
    source: &'static str,
    remedy: &'static str,
) -> Code {
    Code { name, kind: Kind::Mistake, meaning, computed, source, remedy }
}

/// The tables, checks first, then mistakes by subject.
const TABLES: [&[&Code]; 6] = [CHECKS, OF_DOCUMENTS, OF_ROCKERS, OF_STACKS, OF_JIGS, OF_SHOPS];

// Two codes of one name do not compile.
const _: () = {
    let (mut table, mut entry) = (0, 0);
    while table < TABLES.len() {
        if entry == TABLES[table].len() {
            (table, entry) = (table + 1, 0);
            continue;
        }
        assert!(stands_once(TABLES[table][entry].name), "two codes have one name");
        entry += 1;
    }
};

const fn stands_once(name: &str) -> bool {
    let (mut table, mut entry, mut count) = (0, 0, 0);
    while table < TABLES.len() {
        if entry == TABLES[table].len() {
            (table, entry) = (table + 1, 0);
            continue;
        }
        count += is_same(TABLES[table][entry].name.as_bytes(), name.as_bytes()) as usize;
        entry += 1;
    }
    count == 1
}

const fn is_same(a: &[u8], b: &[u8]) -> bool {
    let mut i = 0;
    while i < a.len() && i < b.len() && a[i] == b[i] {
        i += 1;
    }
    i == a.len() && i == b.len()
}

/// All codes: checks first, then mistakes by subject.
pub fn all() -> impl Iterator<Item = &'static Code> {
    TABLES.into_iter().flatten().copied()
}

/// The code of this name.
///
/// # Errors
/// The nearest name, if one is near enough to be meant.
pub fn find(name: &str) -> Result<&'static Code, Option<&'static str>> {
    of_this_name(all(), &name.trim().to_lowercase())
}

/// The check of this name, whose verdict a shop may accept.
///
/// # Errors
/// The nearest check, if one is near enough to be meant.
pub fn find_check(name: &str) -> Result<&'static Code, Option<&'static str>> {
    of_this_name(all().filter(|c| c.kind == Kind::Check), name)
}

/// A fault in what was given beside the document; `key` is the key that it stands for.
pub fn of_argument(key: &str, message: impl Into<Phrase>, remedy: impl Into<Phrase>) -> Fault {
    Fault::new(ARGUMENT, key, message, remedy)
}

fn of_this_name(codes: impl Iterator<Item = &'static Code>, name: &str) -> Result<&'static Code, Option<&'static str>> {
    let codes: Vec<&Code> = codes.collect();
    let found = codes.iter().find(|c| c.name == name).copied();
    found.ok_or_else(|| nearest(name, &codes.iter().map(|c| c.name).collect::<Vec<_>>()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_are_explained_in_whole_sentences() {
        for c in all() {
            for text in [c.meaning, c.computed, c.remedy] {
                assert!(text.ends_with('.') && text.len() > 10, "{}: {text}", c.name);
            }
            assert!(!c.source.is_empty(), "{}", c.name);
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
