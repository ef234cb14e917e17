//! Documents to begin from.

use super::reader::nearest;
use super::whole::Document;

/// A commented document that is itself a valid job.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Starter {
    /// Its name on the command line.
    pub name: &'static str,
    /// What it is, in a few words.
    pub what: &'static str,
    /// Other words that people have for such a thing.
    pub other_names: &'static [&'static str],
    /// The document.
    pub text: &'static str,
}

/// All starters.
pub const STARTERS: &[Starter] = &[
    Starter {
        name: "twin-tip",
        what: "a wide board with one even curve, skins over a core",
        other_names: &["even curve", "wakeboard", "kiteboard", "lake board"],
        text: include_str!("../../templates/starters/twin-tip.toml"),
    },
    Starter {
        name: "long-board",
        what: "a long narrow board with camber between two kicks and a tapered core",
        other_names: &["ski", "skis", "snowboard", "splitboard", "water ski", "camber", "sidecut", "taper"],
        text: include_str!("../../templates/starters/long-board.toml"),
    },
    Starter {
        name: "deck",
        what: "a short board with a kick at each end, hollow across, in inches",
        other_names: &["skateboard", "skate", "skate deck", "kicks", "veneers", "street deck"],
        text: include_str!("../../templates/starters/deck.toml"),
    },
    Starter {
        name: "runner",
        what: "solid plies, straight behind and bent at the front",
        other_names: &["sled", "sledge", "toboggan", "bent in front", "laminations", "bow"],
        text: include_str!("../../templates/starters/runner.toml"),
    },
    Starter {
        name: "panel",
        what: "a curved panel for furniture, on a jig built by hand",
        other_names: &["furniture", "chair", "chair back", "seat", "door", "drawer front", "bent plywood", "plywood"],
        text: include_str!("../../templates/starters/panel.toml"),
    },
];

impl Starter {
    /// The starter of this name, or of another word for such a thing.
    ///
    /// ```
    /// use overbend::document::Starter;
    ///
    /// assert_eq!(Starter::find("Skis").unwrap().name, "long-board");
    /// ```
    pub fn find(name: &str) -> Option<Self> {
        let typed = plain_word(name);
        STARTERS.iter().find(|s| s.words().any(|word| plain_word(word) == typed)).copied()
    }

    /// The starter whose name or other word is nearest to a mistyped one.
    pub fn nearest(name: &str) -> Option<&'static str> {
        let words: Vec<&'static str> = STARTERS.iter().flat_map(Self::words).collect();
        let typed = plain_word(name);
        let begun = words.iter().find(|word| typed.len() >= 3 && plain_word(word).starts_with(&typed));
        begun.copied().or_else(|| nearest(&name.to_lowercase(), &words)).and_then(Self::find).map(|s| s.name)
    }

    fn words(&self) -> impl Iterator<Item = &'static str> {
        std::iter::once(self.name).chain(self.other_names.iter().copied())
    }
}

/// A word without what people write differently: capitals, blanks, hyphens.
fn plain_word(word: &str) -> String {
    word.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect()
}

/// The document with other values behind some of its keys, comments and all else as they were. Keys are written as in
/// `layers[1].thickness`, values as TOML. Keys that the document does not have stay out.
pub fn with_values(text: &str, values: &[(String, String)]) -> String {
    let Ok(document) = Document::parse("", text) else { return text.to_owned() };
    let mut places: Vec<_> =
        values.iter().filter_map(|(path, value)| Some((document.written_at(path)?, value))).collect();
    places.sort_by_key(|(span, _)| std::cmp::Reverse(span.start));
    let mut out = text.to_owned();
    for (span, value) in places {
        out.replace_range(span, value);
    }
    out
}

/// What stands behind a key, as it is written.
pub fn value_in<'t>(text: &'t str, path: &str) -> Option<&'t str> {
    let document = Document::parse("", text).ok()?;
    text.get(document.written_at(path)?)
}

/// The document in another unit of bare lengths, `mm` or `in`; lengths that stood bare get their unit.
pub fn in_unit(text: &str, unit: &str) -> String {
    let Ok(document) = Document::parse("", text) else { return text.to_owned() };
    let old = value_in(text, "units").map_or("mm", |u| u.trim_matches('"'));
    if old == unit {
        return text.to_owned();
    }
    let dressed = |path: String| {
        let number = value_in(text, &path)?;
        let value = format!("\"{number} {old}\"");
        Some((path, value))
    };
    let mut values: Vec<(String, String)> = document.bare_lengths().into_iter().filter_map(dressed).collect();
    values.push(("units".to_owned(), format!("\"{unit}\"")));
    with_values(text, &values)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shape(text: &str) -> String {
        let mut job = Document::parse("job", text).unwrap().job().unwrap();
        job.hash = String::new();
        job.unit = crate::units::LengthUnit::Millimetre;
        format!("{job:?}")
    }

    #[test]
    fn a_starter_is_found_by_any_word_for_it_and_no_word_means_two() {
        let mut words: Vec<String> = STARTERS.iter().flat_map(Starter::words).map(plain_word).collect();
        words.sort();
        assert!(words.windows(2).all(|w| w[0] != w[1]), "{words:?}");
        for starter in STARTERS {
            for word in starter.words() {
                assert_eq!(Starter::find(&word.to_uppercase()), Some(*starter), "{word}");
            }
            assert!(!starter.what.is_empty());
        }
        for (typed, name) in [("Twin tip", "twin-tip"), ("chairback", "panel"), ("LONG BOARD", "long-board")] {
            assert_eq!(Starter::find(typed).map(|s| s.name), Some(name), "{typed}");
        }
        for (typed, name) in [("runer", "runner"), ("snowbord", "long-board"), ("furnitur", "panel")] {
            assert_eq!((Starter::find(typed), Starter::nearest(typed)), (None, Some(name)), "{typed}");
        }
        assert_eq!((Starter::find("surfing"), Starter::nearest("xyzzy")), (None, None));
        assert_eq!(Starter::find(""), None);
    }

    #[test]
    fn values_change_and_comments_stay() {
        let text = "a = 1 # one\n[t]\nlist = [{ b = 2 }, { b = \"3\" }] # two\n";
        let values = [("a".to_owned(), "10".to_owned()), ("t.list[1].b".to_owned(), "\"x\"".to_owned())];
        let changed = with_values(text, &values);
        assert_eq!(changed, "a = 10 # one\n[t]\nlist = [{ b = 2 }, { b = \"x\" }] # two\n");
        assert_eq!(value_in(&changed, "t.list[0].b"), Some("2"));
        assert_eq!(with_values(text, &[("no.such".to_owned(), "1".to_owned())]), text);
    }

    #[test]
    fn a_starter_in_another_unit_is_the_same_board() {
        for starter in STARTERS {
            for unit in ["mm", "in"] {
                let other = in_unit(starter.text, unit);
                assert!(other.contains(&format!("units = \"{unit}\"")), "{other}");
                let (was, is) = (shape(starter.text), shape(&other));
                // What depends on the unit where nothing is said: the paper.
                let paper = |s: &str| s.split("sheets: ").next().unwrap().to_owned();
                assert_eq!(paper(&was), paper(&is), "{} in {unit}", starter.name);
            }
        }
    }
}
