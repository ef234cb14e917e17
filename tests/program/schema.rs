//! Schema, parser, starters and examples say the same.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use overbend::document::{Document, Inputs, STARTERS, schema};
use overbend::finding::Fault;
use overbend::job::Job;
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
    inputs
}

fn job(document: &Value) -> Result<Job, Vec<Fault>> {
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
    assert_eq!(fs::read_to_string(&path).unwrap(), made, "look at it, then OVERBEND_BLESS=1 cargo test --test schema");
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

/// A key of a document with its rules.
struct Key {
    /// The type and the name, such as `Board.length`.
    id: String,
    /// As faults name it.
    path: String,
    /// As JSON pointers name it.
    pointer: String,
    rules: Value,
}

impl Key {
    fn says(&self) -> &str {
        let text = self.rules["description"].as_str().unwrap_or_default();
        text.split("Takes ")
            .nth(1)
            .unwrap_or_default()
            .split(". A bare")
            .next()
            .unwrap_or_default()
            .trim_end_matches('.')
    }

    /// A bound as it may be written: least and most, in the unit of the sentence.
    fn bounds(&self) -> Option<(Option<f64>, f64, String)> {
        let says = self.says().split("; ").next()?.split(" or `").next()?.trim_end_matches(" but not 0");
        if says.starts_with("a whole number") || says.starts_with("a list") {
            return None;
        }
        let split = |text: &str| {
            let (number, unit) = text.split_once(' ').unwrap_or((text, ""));
            Some((number.parse::<f64>().ok()?, unit.to_owned()))
        };
        if let Some((_, most)) = says.split_once(" over 0 up to ") {
            let (most, unit) = split(most)?;
            return Some((None, most, unit));
        }
        let (least, most) = says.split_once(" from ")?.1.split_once(" to ")?;
        let (most, unit) = split(most)?;
        Some((Some(least.parse().ok()?), most, unit))
    }
}

fn definition<'s>(schema: &'s Value, rules: &Value) -> Option<(&'s str, &'s Value)> {
    let name = rules["$ref"].as_str()?.strip_prefix("#/$defs/")?;
    schema["$defs"].as_object()?.get_key_value(name).map(|(k, v)| (k.as_str(), v))
}

fn walk(schema: &Value, table: (&str, &Value), value: &Value, at: (&str, &str), found: &mut Vec<Key>) {
    for (name, inner) in value.as_object().unwrap() {
        let rules = &table.1["properties"][name];
        assert!(rules.is_object(), "{}.{name} is not in the schema", table.0);
        let path = if at.0.is_empty() { name.clone() } else { format!("{}.{name}", at.0) };
        let pointer = format!("{}/{name}", at.1);
        if let Some(next) = definition(schema, rules) {
            walk(schema, next, inner, (&path, &pointer), found);
        } else if let Some(next) = definition(schema, &rules["items"]) {
            for (i, entry) in inner.as_array().unwrap().iter().enumerate() {
                walk(schema, next, entry, (&format!("{path}[{i}]"), &format!("{pointer}/{i}")), found);
            }
        }
        found.push(Key { id: format!("{}.{name}", table.0), path, pointer, rules: rules.clone() });
    }
}

/// The documents with all keys, and the keys in them.
fn documents() -> Vec<(Value, Vec<Key>)> {
    let schema = schema();
    let mut all = Vec::new();
    for (_, text) in tomls("tests/documents/keys") {
        let value = value(&text);
        let mut keys = Vec::new();
        walk(&schema, ("Document", &schema), &value, ("", ""), &mut keys);
        all.push((value, keys));
    }
    all
}

fn with(document: &Value, key: &Key, new: Value) -> Value {
    let mut changed = document.clone();
    *changed.pointer_mut(&key.pointer).unwrap() = new;
    changed
}

fn without(document: &Value, key: &Key) -> Value {
    let mut changed = document.clone();
    let (parent, name) = key.pointer.rsplit_once('/').unwrap();
    changed.pointer_mut(parent).unwrap().as_object_mut().unwrap().shift_remove(name);
    changed
}

fn told(document: &Value, key: &Key, code: Option<&str>) -> bool {
    let at = |f: &Fault| f.path == key.path && code.is_none_or(|c| f.code.name == c);
    job(document).err().is_some_and(|faults| faults.iter().any(at))
}

#[test]
fn the_documents_with_all_keys_are_jobs_and_have_all_keys() {
    let schema = schema();
    let mut have = BTreeSet::new();
    for (document, keys) in documents() {
        shape(&document);
        have.extend(keys.into_iter().map(|k| k.id));
    }
    let mut all = BTreeSet::new();
    let tables = schema["$defs"].as_object().unwrap().iter().map(|(k, v)| (k.as_str(), v));
    for (table, rules) in tables.chain([("Document", &schema)]) {
        all.extend(rules["properties"].as_object().unwrap().keys().map(|k| format!("{table}.{k}")));
    }
    let missing: Vec<_> = all.difference(&have).collect();
    assert!(missing.is_empty(), "no document has {missing:?}");
}

#[test]
fn the_parser_keeps_the_bounds_that_the_schema_states() {
    let (mut tried, mut seen) = (0, BTreeSet::new());
    for (document, keys) in documents() {
        for key in &keys {
            let Some((least, most, unit)) = key.bounds() else { continue };
            if !seen.insert(key.id.clone()) {
                continue;
            }
            let text = |x: f64| json!(format!("{x} {unit}").trim());
            let hint = format!("{} takes {}", key.path, key.says());
            let beyond = most + 0.001 * most.abs().max(0.001);
            assert!(
                told(&with(&document, key, text(beyond)), key, Some("out-of-range")),
                "above is not refused: {hint}"
            );
            assert!(!told(&with(&document, key, text(most)), key, Some("out-of-range")), "the most is refused: {hint}");
            let below = least.map_or(0.0, |l| l - 0.001 * l.abs().max(0.001));
            assert!(
                told(&with(&document, key, text(below)), key, Some("out-of-range")),
                "below is not refused: {hint}"
            );
            if let Some(least) = least {
                let said = told(&with(&document, key, text(least)), key, Some("out-of-range"));
                // No radius is 0, although the range of radii goes through it.
                assert!(!said, "the least is refused: {hint}");
            }
            let number = key.rules["anyOf"][0]["maximum"].as_f64().unwrap();
            let bare = json!(number + 0.001 * number.abs().max(0.001));
            assert!(told(&with(&document, key, bare), key, Some("out-of-range")), "bare numbers differ: {hint}");
            tried += 1;
        }
        for key in &keys {
            let (Some(least), Some(most)) = (key.rules["minimum"].as_i64(), key.rules["maximum"].as_i64()) else {
                continue;
            };
            assert!(told(&with(&document, key, json!(most + 1)), key, None), "{} above {most}", key.path);
            assert!(told(&with(&document, key, json!(least - 1)), key, None), "{} below {least}", key.path);
            assert!(!told(&with(&document, key, json!(most)), key, Some("out-of-range")), "{} at {most}", key.path);
            tried += 1;
        }
    }
    assert!(tried > 100, "only {tried} bounds were tried");
}

/// The keys themselves and the first entries of their lists, each with what its number may be.
fn numbers(key: &Key) -> Vec<(Key, Value)> {
    let inner = |at: &str, path: &str, rules: &Value| Key {
        id: format!("{}{path}", key.id),
        path: format!("{}{path}", key.path),
        pointer: format!("{}{at}", key.pointer),
        rules: rules.clone(),
    };
    let items = &key.rules["items"];
    let single = match items["prefixItems"].as_array() {
        Some(pair) => vec![inner("/0/0", "[0][0]", &pair[0]), inner("/0/1", "[0][1]", &pair[1])],
        None if items.is_object() => vec![inner("/0", "[0]", items)],
        None => vec![inner("", "", &key.rules)],
    };
    let number = |k: Key| {
        let rules = if k.rules["anyOf"].is_array() { k.rules["anyOf"][0].clone() } else { k.rules.clone() };
        (rules["maximum"].is_number()).then_some((k, rules))
    };
    single.into_iter().filter_map(number).collect()
}

/// Numbers just inside and just outside of what a number may be, and whether they are to be read as inches.
fn edges(rules: &Value) -> Vec<(f64, bool, bool)> {
    let whole = rules["type"] == "integer";
    let step = |x: f64| if whole { 1.0 } else { 1e-3 * x.abs().max(1e-3) };
    let most = rules["maximum"].as_f64().unwrap();
    let mut all = vec![(most, true, false), (most + step(most), false, false)];
    if let Some(least) = rules["minimum"].as_f64() {
        // Bounds of bare lengths above zero are those of the smaller numbers that inches make.
        let inches =
            !whole && least > 0.0 && (least * 25.4 * 1e6).round() != (least * 1e6).round() && least.fract() != 0.0;
        let inside = if inches { least * (1.0 + 1e-9) } else { least };
        all.extend([(inside, true, inches), (least - step(least), false, inches)]);
    }
    if rules["exclusiveMinimum"].is_number() {
        all.extend([(1e-6 * most.min(1.0), true, false), (0.0, false, false)]);
    }
    if rules["not"]["const"] == 0 {
        all.push((0.0, false, false));
    }
    all
}

#[test]
fn schema_and_program_agree_on_both_sides_of_every_edge() {
    let validator = jsonschema::draft202012::new(&schema()).unwrap();
    let mut seen = BTreeSet::new();
    for (document, keys) in documents() {
        for (key, rules) in keys.iter().flat_map(numbers) {
            if document.pointer(&key.pointer).is_none() || !seen.insert(key.id.clone()) {
                continue;
            }
            let length = key.rules.to_string().contains("document's `units`")
                || keys.iter().any(|k| key.id.starts_with(&k.id) && k.rules.to_string().contains("document's `units`"));
            for (number, inside, inches) in edges(&rules) {
                // Where there are fewer readings, fewer can be excluded.
                if key.path.ends_with(".exclude[0]") && number > 1.0 {
                    continue;
                }
                let value = if rules["type"] == "integer" { json!(number as i64) } else { json!(number) };
                let mut changed = with(&document, &key, value);
                if inches && length {
                    changed["units"] = json!("in");
                }
                let refused = told(&changed, &key, Some("out-of-range"));
                let invalid = validator.iter_errors(&changed).any(|e| e.instance_path().to_string() == key.pointer);
                let what = format!("{} = {number}: {}", key.path, key.rules);
                assert_eq!(refused, !inside, "the program: {what}");
                assert_eq!(invalid, !inside, "the schema: {what}");
            }
        }
    }
    assert!(seen.len() > 130, "only {} edges were tried", seen.len());
    let draws = |n: i64| validator.is_valid(&json!({ "title": "t", "forecast": { "draws": n } }));
    assert!(draws(0) && draws(100) && !draws(50));
}

#[test]
fn words_that_the_schema_lists_are_taken_and_no_others() {
    for (document, keys) in documents() {
        for key in &keys {
            let Some(words) = key.rules["enum"].as_array() else { continue };
            for word in words {
                let changed = with(&document, key, word.clone());
                assert!(!told(&changed, key, Some("wrong-choice")), "{} refuses {word}", key.path);
            }
            assert!(told(&with(&document, key, json!("nonsense")), key, Some("wrong-choice")), "{}", key.path);
        }
    }
}

#[test]
fn defaults_are_what_a_key_left_out_means() {
    let mut tried = BTreeSet::new();
    for (document, keys) in documents() {
        for key in &keys {
            let Some(default) = key.rules.get("default") else { continue };
            let (out, said) = (without(&document, key), with(&document, key, default.clone()));
            // A key that others lean on cannot go alone.
            if job(&out).is_err() {
                continue;
            }
            assert_eq!(shape(&out), shape(&said), "{} = {default}", key.path);
            tried.insert(key.id.clone());
        }
    }
    assert!(tried.len() > 45, "only {} defaults were tried: {tried:?}", tried.len());
}

#[test]
fn keys_that_must_be_given_are_missed() {
    let mut tried = BTreeSet::new();
    for (document, keys) in documents() {
        for key in keys.iter().filter(|k| k.says().ends_with("; must be given")) {
            assert!(told(&without(&document, key), key, Some("missing-key")), "{} may be left out", key.path);
            tried.insert(key.id.clone());
        }
    }
    assert!(tried.len() > 25, "only {tried:?}");
}
