//! Schema, parser, starters and examples say the same.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use overbend::document::{Document, Inputs, Key, LeftOut, Range, STARTERS, Takes, Value as Default, keys, schema};
use overbend::finding::{Fault, Faults};
use overbend::job::Job;
use overbend::units::{Dimension, LengthUnit, parse_quantity};
use serde_json::{Value, json};

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn tomls(folder: &str) -> Vec<(PathBuf, String)> {
    let entries = fs::read_dir(root().join(folder)).unwrap().map(|e| e.unwrap().path());
    let mut files: Vec<PathBuf> = entries.filter(|p| p.extension().is_some_and(|e| e == "toml")).collect();
    files.sort();
    files.into_iter().map(|p| (p.clone(), fs::read_to_string(p).unwrap())).collect()
}

fn value(text: &str) -> Value {
    serde_json::to_value(toml::from_str::<toml::Table>(text).unwrap()).unwrap()
}

/// The files that the documents with all keys name.
fn inputs() -> Inputs {
    let mut inputs = Inputs::default();
    inputs.add("materials.toml", Ok(b"[[materials]]\nname = \"oak of May\"\nlike = \"ash, white\"\n".to_vec()));
    inputs.add("shop.toml", Ok(Vec::new()));
    inputs.add("board.csv", Ok(b"0,40\n300,10\n600,0\n900,10\n1200,40\n".to_vec()));
    inputs.add("profile.svg", Ok(b"<svg xmlns=\"http://www.w3.org/2000/svg\"/>".to_vec()));
    inputs.add("core.csv", Ok(b"station_from_tail_mm,thickness_mm\n0,2\n600,6\n1200,2\n".to_vec()));
    let core = "<svg xmlns='http://www.w3.org/2000/svg' width='1300mm' height='20mm' viewBox='0 0 1300 20'>\
                <path id='core' d='M 0 10 L 1300 10 L 1300 8 L 650 4 L 0 8 Z'/></svg>";
    inputs.add("core.svg", Ok(core.as_bytes().to_vec()));
    inputs
}

fn job(document: &Value) -> Result<Job, Faults> {
    let text = toml::to_string(document).unwrap();
    let document = Document::parse("job", &text).unwrap();
    document.job_with(&inputs()).map_err(|p| p.into_iter().map(|p| p.fault).collect())
}

/// The job without what tells one text from another.
fn shape(document: &Value) -> String {
    let mut job = job(document).unwrap_or_else(|f| panic!("{f:?}\n{}", toml::to_string(document).unwrap()));
    job.hash = String::new();
    format!("{job:?}")
}

#[test]
fn the_shipped_schema_is_the_one_that_the_program_prints() {
    let path = root().join("templates/job.schema.json");
    let made = format!("{:#}\n", schema());
    if std::env::var_os("OVERBEND_BLESS").is_some() {
        fs::write(&path, &made).unwrap();
    }
    assert_eq!(fs::read_to_string(&path).unwrap(), made, "look at it, then OVERBEND_BLESS=1 cargo test schema");
    let printed = assert_cmd::Command::cargo_bin("overbend").unwrap().arg("schema").output().unwrap();
    assert_eq!(String::from_utf8(printed.stdout).unwrap(), made);
}

#[test]
fn starters_examples_and_documents_with_all_keys_are_valid() {
    let validator = jsonschema::draft202012::new(&schema()).unwrap();
    let mut all: Vec<(String, String)> = STARTERS.iter().map(|s| (s.name.to_owned(), s.text.to_owned())).collect();
    for entry in fs::read_dir(root().join("examples")).unwrap() {
        let path = entry.unwrap().path().join("job.toml");
        if path.is_file() {
            all.push((path.display().to_string(), fs::read_to_string(&path).unwrap()));
        }
    }
    assert!(all.len() >= 6);
    all.extend(tomls("tests/documents/keys").into_iter().map(|(p, t)| (p.display().to_string(), t)));
    for (name, text) in all {
        let document = value(&text);
        let wrong: Vec<String> =
            validator.iter_errors(&document).map(|e| format!("{}: {e}", e.instance_path())).collect();
        assert!(wrong.is_empty(), "{name}: {wrong:#?}");
    }
    for starter in STARTERS {
        assert!(starter.text.starts_with("#:schema job.schema.json\n"), "{}", starter.name);
    }
}

#[test]
fn mistakes_of_form_are_mistakes_for_editors_too() {
    let validator = jsonschema::draft202012::new(&schema()).unwrap();
    for name in ["unknown-key", "unknown-dialect", "wrong-shape", "negative-thickness", "not-a-number", "zero-length"] {
        let text = fs::read_to_string(root().join(format!("tests/documents/bad/{name}.toml"))).unwrap();
        assert!(!validator.is_valid(&value(&text)), "{name}");
    }
}

/// A key as it is written in a document.
#[derive(Clone)]
struct Written {
    /// As [`Key`] names it.
    key: String,
    /// As faults name it.
    path: String,
    /// As JSON pointers name it.
    pointer: String,
    takes: Takes,
    left_out: LeftOut,
}

impl Written {
    /// An entry of its list, or a value of its pair.
    fn inside(&self, i: usize, takes: &Takes) -> Self {
        Self {
            path: format!("{}[{i}]", self.path),
            pointer: format!("{}/{i}", self.pointer),
            takes: takes.clone(),
            ..self.clone()
        }
    }

    /// The key itself, or the values in the first entry of its list.
    fn values(&self) -> Vec<Self> {
        match &self.takes {
            Takes::List { of, .. } => self.inside(0, of).values(),
            Takes::Pair(pair) => [&pair.0, &pair.1].iter().enumerate().map(|(i, t)| self.inside(i, t)).collect(),
            _ => vec![self.clone()],
        }
    }
}

fn walk(all: &[Key], value: &Value, at: (&str, &str, &str), found: &mut Vec<Written>) {
    for (name, inner) in value.as_object().unwrap() {
        let join = |path: &str| if path.is_empty() { name.clone() } else { format!("{path}.{name}") };
        let (pattern, path, pointer) = (join(at.0), join(at.1), format!("{}/{name}", at.2));
        let key = all.iter().find(|k| k.path == pattern).unwrap_or_else(|| panic!("{pattern} is no key"));
        match key.takes {
            Takes::Table => walk(all, inner, (&pattern, &path, &pointer), found),
            Takes::Tables { .. } => {
                for (i, entry) in inner.as_array().unwrap().iter().enumerate() {
                    let at = (format!("{pattern}[]"), format!("{path}[{i}]"), format!("{pointer}/{i}"));
                    walk(all, entry, (&at.0, &at.1, &at.2), found);
                }
            }
            _ => {}
        }
        let (takes, left_out) = (key.takes.clone(), key.left_out.clone());
        found.push(Written { key: pattern, path, pointer, takes, left_out });
    }
}

/// The documents with all keys, and the keys in them.
fn documents() -> Vec<(Value, Vec<Written>)> {
    let all = keys();
    let read = |(_, text): (PathBuf, String)| {
        let value = value(&text);
        let mut found = Vec::new();
        walk(&all, &value, ("", "", ""), &mut found);
        (value, found)
    };
    tomls("tests/documents/keys").into_iter().map(read).collect()
}

fn with(document: &Value, key: &Written, new: Value) -> Value {
    let mut changed = document.clone();
    *changed.pointer_mut(&key.pointer).unwrap() = new;
    changed
}

fn without(document: &Value, key: &Written) -> Value {
    let mut changed = document.clone();
    let (parent, name) = key.pointer.rsplit_once('/').unwrap();
    changed.pointer_mut(parent).unwrap().as_object_mut().unwrap().shift_remove(name);
    changed
}

fn reports(document: &Value, key: &Written, code: &str) -> bool {
    let at = |f: &Fault| f.path == key.path && f.code.name == code;
    job(document).err().is_some_and(|faults| faults.iter().any(at))
}

/// One way of several to the same keys: a surface is said as a rocker is, other stacks as the stack, and all parts alike.
fn common(key: &str) -> String {
    let ways = [
        ("existing_table.surface", "rocker"),
        ("alternatives[].layers", "layers"),
        ("rocker.segments.parts[].arc", "rocker.arc"),
        ("rocker.segments.parts[].camber", "rocker.arc"),
        ("rocker.segments.parts[].easing.length", "rocker.arc.length"),
        ("bars.rods", "bars.spacers"),
    ];
    ways.iter().fold(key.to_owned(), |key, (way, other)| key.replacen(way, other, 1))
}

#[test]
fn every_key_is_described_and_listed_once() {
    let all = keys();
    assert!(all.len() > 250, "only {} keys", all.len());
    let mut paths = BTreeSet::new();
    let rules = schema();
    for key in &all {
        assert!(key.meaning.len() > 5 && key.meaning.ends_with('.'), "{}: {}", key.path, key.meaning);
        assert!(paths.insert(&key.path), "{} is listed twice", key.path);
        let inner = key.path.split('.').fold(json!({ "properties": rules["properties"] }), |table, part| {
            let inner = &table["properties"][part.trim_end_matches("[]")];
            let inner = if part.ends_with("[]") { &inner["items"] } else { inner };
            let definition = inner["$ref"].as_str().and_then(|r| rules.pointer(r.trim_start_matches('#')));
            definition.unwrap_or(inner).clone()
        });
        let of_table = key.takes == Takes::Table;
        assert!(inner.get("type").or(inner.get("anyOf")).is_some(), "{} takes anything: {inner}", key.path);
        assert!(of_table || inner["description"].as_str().is_some_and(|d| d.starts_with(key.meaning)), "{}", key.path);
    }
}

#[test]
fn the_documents_with_all_keys_are_jobs_and_have_all_keys() {
    let mut have = BTreeSet::new();
    for (document, found) in documents() {
        shape(&document);
        have.extend(found.iter().map(|k| common(&k.key)));
    }
    let all: BTreeSet<String> = keys().iter().map(|k| common(&k.path)).collect();
    let missing: Vec<_> = all.difference(&have).collect();
    assert!(missing.is_empty(), "no document has {missing:?}");
}

/// A number just inside or just outside of what is taken, in the library's own unit.
struct Edge {
    number: f64,
    inside: bool,
    /// Whether it is at the lower end, and that is above zero.
    lower: bool,
}

fn edges(takes: &Takes) -> Vec<Edge> {
    let edge = |number, inside| Edge { number, inside, lower: false };
    let beyond = |x: f64| 1e-3 * x.abs().max(1e-6);
    match takes {
        Takes::Quantity { range, .. } => {
            let (least, most) = range.ends();
            let lower = |number, inside| Edge { number, inside, lower: least > 0.0 };
            let mut all = vec![edge(most, true), edge(most + beyond(most), false)];
            all.extend(match range {
                Range::UpTo(most) => [edge(1e-6 * most, true), edge(0.0, false)],
                _ => [lower(least, true), lower(least - beyond(least), false)],
            });
            all.extend(matches!(range, Range::NotZero(_)).then(|| edge(0.0, false)));
            all
        }
        Takes::Count { least, most, or_zero } => {
            let (least, most) = (*least as f64, *most as f64);
            let zero = edge(0.0, *or_zero || least == 0.0);
            vec![edge(least, true), edge(least - 1.0, false), edge(most, true), edge(most + 1.0, false), zero]
        }
        _ => Vec::new(),
    }
}

#[test]
fn schema_and_program_agree_on_both_sides_of_every_edge() {
    let validator = jsonschema::draft202012::new(&schema()).unwrap();
    let (mut seen, mut tried) = (BTreeSet::new(), 0);
    for (document, found) in documents() {
        for key in found.iter().flat_map(Written::values) {
            if document.pointer(&key.pointer).is_none() || !seen.insert((common(&key.key), key.takes.words())) {
                continue;
            }
            for Edge { number, inside, lower } in edges(&key.takes) {
                // Where there are fewer readings, fewer can be excluded.
                if key.path.ends_with(".exclude[0]") && number > 1.0 {
                    continue;
                }
                let dimension = key.takes.dimension();
                // The schema cannot know the unit of bare lengths: a bound above zero is that of the smaller inches.
                let inches = lower && dimension == Some(Dimension::Length);
                let bare = match dimension {
                    None => json!(number as i64),
                    Some(_) if inches => json!(number / 25.4 * (1.0 + 1e-12)),
                    Some(d) => json!((d.to_bare(number) * 1e9).round() / 1e9),
                };
                let mut changed = with(&document, &key, bare.clone());
                if inches {
                    changed["units"] = json!("in");
                }
                let what = format!("{} = {bare} takes {}", key.path, key.takes.words());
                let invalid = validator.iter_errors(&changed).any(|e| e.instance_path().to_string() == key.pointer);
                if dimension.is_none_or(Dimension::takes_bare) {
                    assert_eq!(reports(&changed, &key, "out-of-range"), !inside, "the program: {what}");
                    assert_eq!(invalid, !inside, "the schema: {what}");
                } else {
                    assert!(invalid && reports(&changed, &key, "wrong-unit"), "{what}, not bare");
                }
                if let Some(d) = dimension {
                    let text = json!(format!("{} {}", d.to_bare(number), d.unit()).trim());
                    // The last bit may be lost on the way into a unit and back.
                    let lost = parse_quantity(text.as_str().unwrap(), d, LengthUnit::Millimetre).unwrap() != number;
                    let said = reports(&with(&document, &key, text.clone()), &key, "out-of-range");
                    assert!(lost || said != inside, "{text}: {what}");
                }
                tried += 1;
            }
        }
    }
    assert!(tried > 600, "only {tried} edges were tried");
    let draws = |n: i64| validator.is_valid(&json!({ "title": "t", "forecast": { "draws": n } }));
    assert!(!draws(50), "50 draws are no simulation");
}

#[test]
fn words_that_the_schema_lists_are_taken_and_no_others() {
    let mut tried = 0;
    for (document, found) in documents() {
        for key in &found {
            let words: Vec<Value> = match &key.takes {
                Takes::Choice(words) => words.iter().map(|w| json!(w)).collect(),
                Takes::Number(numbers) => numbers.iter().map(|n| json!(n)).collect(),
                _ => continue,
            };
            for word in &words {
                assert!(
                    !reports(&with(&document, key, word.clone()), key, "wrong-choice"),
                    "{} refuses {word}",
                    key.path
                );
            }
            assert!(reports(&with(&document, key, json!("nonsense")), key, "wrong-choice"), "{}", key.path);
            tried += words.len();
        }
    }
    assert!(tried > 60, "only {tried} words");
}

#[test]
fn defaults_are_what_a_key_left_out_means() {
    let mut tried = BTreeSet::new();
    for (document, found) in documents() {
        for key in &found {
            let LeftOut::Default(default) = &key.left_out else { continue };
            let default = match default {
                Default::Number(n) => json!(n),
                Default::Text(text) => json!(text),
                Default::Flag(flag) => json!(flag),
            };
            let (out, said) = (without(&document, key), with(&document, key, default.clone()));
            // A key that others lean on cannot go alone.
            if job(&out).is_err() {
                continue;
            }
            assert_eq!(shape(&out), shape(&said), "{} = {default}", key.path);
            tried.insert(key.key.clone());
        }
    }
    assert!(tried.len() > 45, "only {} defaults were tried: {tried:?}", tried.len());
}

#[test]
fn keys_that_must_be_given_are_missed() {
    let mut tried = BTreeSet::new();
    for (document, found) in documents() {
        for key in found.iter().filter(|k| k.left_out == LeftOut::Required) {
            assert!(reports(&without(&document, key), key, "missing-key"), "{} may be left out", key.path);
            tried.insert(key.key.clone());
        }
    }
    assert!(tried.len() > 25, "only {tried:?}");
}
