//! The JSON Schema of a job document, made from its keys.

use serde_json::{Map, Value as Json, json};

use super::keys::{Key, LeftOut, Range, Takes, Value};
use super::whole::keys;
use crate::job::LONGEST_TEXT;
use crate::units::{Dimension, MM_PER_INCH};

/// The schema of a job document, for editors: draft 2020-12 of JSON Schema. TOML's values are JSON's, dates left aside. Each
/// table is a definition that has the path of its first place; others that take the same keys point there.
pub fn schema() -> Json {
    let mut tables = Tables { keys: keys(), definitions: Map::new() };
    let document = tables.table("");
    let mut root = object(json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Job document of overbend",
        "description": "A board that is to be pressed: its rocker, its layers, its pressing, and its table.",
    }));
    root.extend(document);
    root.insert("$defs".to_owned(), Json::Object(tables.definitions));
    Json::Object(root)
}

/// The keys, and the tables that were defined so far.
struct Tables {
    keys: Vec<Key>,
    definitions: Map<String, Json>,
}

impl Tables {
    /// The rules of the table at a path.
    fn table(&mut self, path: &str) -> Map<String, Json> {
        let mut properties = Map::new();
        let mut required = Vec::new();
        let keys: Vec<Key> = self.keys.iter().filter(|k| k.table() == path).cloned().collect();
        for key in &keys {
            let mut rules = object(json!({ "description": description(key) }));
            rules.extend(match &key.takes {
                Takes::Table => self.reference(&key.path),
                Takes::Tables { entries } => list(Json::Object(self.reference(&format!("{}[]", key.path))), *entries),
                takes => rules_of(takes),
            });
            match &key.left_out {
                LeftOut::Required => required.push(key.name()),
                LeftOut::Default(value) => {
                    rules.insert("default".to_owned(), literal(value));
                }
                LeftOut::Says(_) | LeftOut::Nothing => {}
            }
            properties.insert(key.name().to_owned(), Json::Object(rules));
        }
        let mut rules = object(json!({ "type": "object", "additionalProperties": false, "properties": properties }));
        if !required.is_empty() {
            rules.insert("required".to_owned(), json!(required));
        }
        rules
    }

    /// Points to the definition of the table at a path.
    fn reference(&mut self, path: &str) -> Map<String, Json> {
        let rules = Json::Object(self.table(path));
        let known = self.definitions.iter().find(|d| *d.1 == rules).map(|d| d.0.clone());
        let name = known.unwrap_or_else(|| path.replace("[]", ""));
        let reference = object(json!({ "$ref": format!("#/$defs/{name}") }));
        self.definitions.insert(name, rules);
        reference
    }
}

fn description(key: &Key) -> String {
    match key.takes {
        Takes::Table | Takes::Tables { .. } => key.meaning.to_owned(),
        _ => {
            let units = key.units().map_or(String::new(), |units| format!(" {units}"));
            format!("{}\n\n{}{units}", key.meaning, key.rule())
        }
    }
}

/// A default as it is written in a document.
fn literal(value: &Value) -> Json {
    match value {
        Value::Number(number) if number.fract() == 0.0 => json!(*number as i64),
        Value::Number(number) => json!(number),
        Value::Text(text) => json!(text),
        Value::Flag(flag) => json!(flag),
    }
}

fn object(value: Json) -> Map<String, Json> {
    if let Json::Object(map) = value { map } else { Map::new() }
}

fn list(items: Json, (least, most): (usize, usize)) -> Map<String, Json> {
    object(json!({ "type": "array", "items": items, "minItems": least, "maxItems": most }))
}

/// The rules of a value.
fn rules_of(takes: &Takes) -> Map<String, Json> {
    object(match takes {
        Takes::Quantity { dimension, range, word } => quantity(*dimension, *range, *word),
        Takes::Count { least, most, or_zero } => {
            let whole = json!({ "type": "integer", "minimum": least, "maximum": most });
            if *or_zero { json!({ "anyOf": [whole, { "const": 0 }] }) } else { whole }
        }
        Takes::Number(numbers) => json!({ "type": "integer", "enum": numbers }),
        Takes::Text => json!({ "type": "string", "minLength": 1, "maxLength": LONGEST_TEXT }),
        Takes::Flag => json!({ "type": "boolean" }),
        Takes::Choice(words) => json!({ "type": "string", "enum": words }),
        Takes::List { of, entries } => return list(Json::Object(rules_of(of)), *entries),
        Takes::Pair(pair) => {
            let (first, second) = (rules_of(&pair.0), rules_of(&pair.1));
            json!({ "type": "array", "prefixItems": [first, second], "minItems": 2, "maxItems": 2 })
        }
        Takes::Table | Takes::Tables { .. } => json!({}),
    })
}

/// A bare number within its bounds, or a text that begins with a number.
fn quantity(dimension: Dimension, range: Range, word: Option<&str>) -> Json {
    let (least, most) = range.ends();
    // The product of a bound and a unit may be off by the last bit.
    let bare = |value: f64| (dimension.to_bare(value) * 1e9).round() / 1e9;
    // A bare length may be in inches: then a bound above zero is a smaller number.
    let least = if dimension == Dimension::Length && least > 0.0 { least / MM_PER_INCH } else { bare(least) };
    let number = match range {
        Range::UpTo(_) => json!({ "type": "number", "exclusiveMinimum": 0, "maximum": bare(most) }),
        Range::Within(..) => json!({ "type": "number", "minimum": least, "maximum": bare(most) }),
        Range::NotZero(_) => {
            json!({ "type": "number", "minimum": least, "maximum": bare(most), "not": { "const": 0 } })
        }
    };
    let mut choices = vec![json!({ "type": "string", "pattern": r"^\s*[-+]?\.?[0-9]" })];
    if dimension.takes_bare() {
        choices.insert(0, number);
    }
    choices.extend(word.map(|w| json!({ "const": w })));
    json!({ "anyOf": choices })
}
