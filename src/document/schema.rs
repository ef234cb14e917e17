//! The JSON Schema of a job document, made from the very types that read it.
//!
//! What a key takes stands in the last sentence of its description, which people read in their editor as it is:
//! `Takes a length from 0 to 2000 mm; \`40 mm\` when left out.` Here that sentence becomes types, bounds and defaults. Tests
//! try the parser at every such bound and default, so the sentence cannot say what the parser does not do.

use schemars::generate::SchemaSettings;
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde_json::{Map, Value, json};

use super::RawDocument;
use super::quantity::Quantity;
use crate::units::{Dimension, MM_PER_INCH};

impl JsonSchema for Quantity {
    fn inline_schema() -> bool {
        true
    }

    fn schema_name() -> std::borrow::Cow<'static, str> {
        "Quantity".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({})
    }
}

/// What measured kinds are called, and the unit of a bare number.
const KINDS: [(&str, Dimension, &str); 15] = [
    ("length", Dimension::Length, "mm"),
    ("pressure", Dimension::Pressure, "kPa"),
    ("modulus", Dimension::Modulus, "MPa"),
    ("strength", Dimension::Strength, "MPa"),
    ("force", Dimension::Force, "N"),
    ("angle", Dimension::Angle, "deg"),
    ("temperature difference", Dimension::TemperatureDifference, "K"),
    ("temperature", Dimension::Temperature, "°C"),
    ("ratio", Dimension::Ratio, ""),
    ("density", Dimension::Density, "kg/m3"),
    ("mass per area", Dimension::AreaMass, "g/m2"),
    ("curvature", Dimension::Curvature, "1/m"),
    ("expansion", Dimension::Expansion, "1e-6/K"),
    ("altitude", Dimension::Altitude, "m"),
    ("time", Dimension::Time, "h"),
];

/// The schema of a job document, for editors: draft 2020-12 of JSON Schema. TOML's values are JSON's, dates left aside.
pub fn schema() -> Value {
    let generator = SchemaSettings::draft2020_12().into_generator();
    let mut root = generator.into_root_schema_for::<RawDocument>().to_value();
    tidy(&mut root);
    root["title"] = json!("Job document of overbend");
    root["description"] = json!("A board that is to be pressed: its rocker, its layers, its pressing, and its table.");
    // The types' own names begin with a word that says something to readers of the code only.
    let text = root.to_string().replace("/Raw", "/").replace("\"Raw", "\"");
    serde_json::from_str(&text).unwrap_or(root)
}

/// Takes out what stands for Rust's optional values, and turns sentences into rules, all the way down.
fn tidy(schema: &mut Value) {
    match schema {
        Value::Object(object) => {
            without_null(object);
            rule(object);
            if let Some(Value::Object(properties)) = object.get("properties") {
                let required: Vec<&String> = properties
                    .iter()
                    .filter(|(_, p)| sentence(p).is_some_and(|s| s.ends_with(REQUIRED)))
                    .map(|p| p.0)
                    .collect();
                if !required.is_empty() {
                    let required = json!(required);
                    object.insert("required".to_owned(), required);
                }
            }
            object.values_mut().for_each(tidy);
        }
        Value::Array(list) => list.iter_mut().for_each(tidy),
        _ => {}
    }
}

/// Ending of the sentence of a key that must be there.
const REQUIRED: &str = "; must be given.";

/// A document has no `null`: what may be left out is left out.
fn without_null(object: &mut Map<String, Value>) {
    if let Some(Value::Array(kinds)) = object.get_mut("type") {
        kinds.retain(|k| k != "null");
        if let [only] = &kinds[..] {
            let only = only.clone();
            object.insert("type".to_owned(), only);
        }
    }
    if let Some(Value::Array(choices)) = object.get_mut("anyOf") {
        choices.retain(|c| c["type"] != "null");
        if let [Value::Object(only)] = &choices[..] {
            let only = only.clone();
            object.remove("anyOf");
            object.extend(only);
        }
    }
}

/// The last sentence of a description, if it says what the key takes.
fn sentence(schema: &Value) -> Option<&str> {
    schema["description"].as_str()?.rsplit("\n\n").next().filter(|s| s.starts_with("Takes "))
}

/// Turns the sentence of a key into types, bounds and a default.
fn rule(object: &mut Map<String, Value>) {
    let whole = Value::Object(object.clone());
    let Some(text) = sentence(&whole) else { return };
    let text = text.trim_start_matches("Takes ").trim_end_matches('.');
    let (takes, after) = text.split_once("; ").unwrap_or((text, ""));
    let Some((rules, units)) = kind(takes) else { return };
    for key in ["type", "items", "anyOf"] {
        object.remove(key);
    }
    object.extend(rules);
    if let Some(default) = after.strip_prefix('`').and_then(|a| a.strip_suffix("` when left out")) {
        object.insert("default".to_owned(), literal(default, takes));
    }
    if let (Some(units), Some(Value::String(description))) = (units, object.get_mut("description")) {
        description.push_str(&units);
    }
}

/// A default as it is written in a document.
fn literal(text: &str, takes: &str) -> Value {
    let number = text.parse::<f64>().ok().filter(|_| {
        takes.starts_with("one of the numbers") || !(takes.starts_with("one of") || takes.starts_with("a text"))
    });
    match (text, number) {
        ("true", _) => json!(true),
        ("false", _) => json!(false),
        (_, Some(n)) if n.fract() == 0.0 => json!(n as i64),
        (_, Some(n)) => json!(n),
        _ => json!(text),
    }
}

/// The rules of what a key takes, and a sentence about its units.
fn kind(takes: &str) -> Option<(Map<String, Value>, Option<String>)> {
    let object = |value: Value| value.as_object().cloned();
    if let Some(numbers) = takes.strip_prefix("one of the numbers ") {
        let numbers: Option<Vec<i64>> = numbers.split(", ").map(|n| n.parse().ok()).collect();
        return Some((object(json!({ "type": "integer", "enum": numbers? }))?, None));
    }
    if let Some(words) = takes.strip_prefix("one of ") {
        let words: Vec<&str> = words.split(", ").map(|w| w.trim_matches('`')).collect();
        return Some((object(json!({ "type": "string", "enum": words }))?, None));
    }
    if let Some(rest) = takes.strip_prefix("a list of ") {
        if let Some((first, second)) = rest.strip_prefix("pairs of ").and_then(|pair| pair.split_once(" and ")) {
            let ((first, units), (second, _)) = (kind(first)?, kind(second)?);
            let pair = json!({ "type": "array", "prefixItems": [first, second], "minItems": 2, "maxItems": 2 });
            return Some((object(json!({ "type": "array", "items": pair }))?, units));
        }
        let (of, range) = rest.split_once(" from ").map_or((rest, ""), |(of, range)| (of, range));
        let single = format!("a {}", of.trim_end_matches('s'));
        let (item, units) = kind(&if range.is_empty() { single } else { format!("{single} from {range}") })?;
        return Some((object(json!({ "type": "array", "items": item }))?, units));
    }
    match takes {
        "a text" => return Some((object(json!({ "type": "string", "minLength": 1, "maxLength": 200 }))?, None)),
        "true or false" => return Some((object(json!({ "type": "boolean" }))?, None)),
        "a whole number" => return Some((object(json!({ "type": "integer" }))?, None)),
        _ => {}
    }
    if let Some(range) = takes.strip_prefix("a whole number from ") {
        let (range, or_zero) = range.strip_suffix(", or 0").map_or((range, false), |range| (range, true));
        let (least, most) = range.split_once(" to ")?;
        let (least, most): (i64, i64) = (least.parse().ok()?, most.parse().ok()?);
        let whole = json!({ "type": "integer", "minimum": least, "maximum": most });
        let rules = if or_zero { json!({ "anyOf": [whole, { "const": 0 }] }) } else { whole };
        return Some((object(rules)?, None));
    }
    quantity(takes)
}

/// The rules of a quantity: a bare number within its bounds, or a text that begins with a number.
fn quantity(takes: &str) -> Option<(Map<String, Value>, Option<String>)> {
    let (takes, word) = match takes.split_once(" or `") {
        Some((takes, word)) => (takes, Some(word.trim_end_matches('`'))),
        None => (takes, None),
    };
    let words = takes.strip_prefix("a ").or_else(|| takes.strip_prefix("an "))?;
    let (_, dimension, unit, range) = KINDS.iter().find_map(|(name, dimension, unit)| {
        let range = words.strip_prefix(name)?;
        (range.is_empty() || range.starts_with(" over ") || range.starts_with(" from "))
            .then(|| (*name, *dimension, *unit, range.trim_start()))
    })?;
    let mut number = Map::from_iter([("type".to_owned(), json!("number"))]);
    let (range, not_zero) = range.strip_suffix(" but not 0").map_or((range, false), |range| (range, true));
    if not_zero {
        number.insert("not".to_owned(), json!({ "const": 0 }));
    }
    let range = range.strip_suffix(unit).unwrap_or(range).trim_end();
    // Bare moduli are in GPa, their ranges in the MPa of their sheets.
    let bare = if dimension == Dimension::Modulus { 1e-3 } else { 1.0 };
    let parsed = |text: &str| text.parse::<f64>().ok().map(|x| bare * x);
    if let Some(most) = range.strip_prefix("over 0 up to ") {
        number.insert("exclusiveMinimum".to_owned(), json!(0));
        number.insert("maximum".to_owned(), json!(parsed(most)?));
    } else if let Some((least, most)) = range.strip_prefix("from ").and_then(|r| r.split_once(" to ")) {
        let least = parsed(least)?;
        // A bare length may be in inches: then a bound above zero is a smaller number.
        let bound = if dimension == Dimension::Length && least > 0.0 { least / MM_PER_INCH } else { least };
        number.insert("minimum".to_owned(), json!(bound));
        number.insert("maximum".to_owned(), json!(parsed(most)?));
    } else {
        return None;
    }
    let mut choices = vec![Value::Object(number), json!({ "type": "string", "pattern": r"^\s*[-+]?\.?[0-9]" })];
    choices.extend(word.map(|w| json!({ "const": w })));
    let bare = match dimension {
        Dimension::Length => "the document's `units`".to_owned(),
        Dimension::Modulus => "GPa".to_owned(),
        Dimension::Ratio => return Some((Map::from_iter([("anyOf".to_owned(), json!(choices))]), None)),
        _ => unit.to_owned(),
    };
    let units = format!(" A bare number is in {bare}; texts take {}.", dimension.units());
    Some((Map::from_iter([("anyOf".to_owned(), json!(choices))]), Some(units)))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn properties<'s>(schema: &'s Value, found: &mut Vec<(String, &'s Value)>) {
        if let Some(object) = schema.as_object() {
            if let Some(list) = object.get("properties").and_then(Value::as_object) {
                found.extend(list.iter().map(|(k, v)| (k.clone(), v)));
            }
            object.values().for_each(|v| properties(v, found));
        }
    }

    #[test]
    fn every_key_is_described_and_every_value_has_rules() {
        let schema = schema();
        let mut all = Vec::new();
        properties(&schema, &mut all);
        assert!(all.len() > 180, "only {} keys", all.len());
        for (key, rules) in all {
            assert!(rules["description"].as_str().is_some_and(|d| d.len() > 5), "{key} is not described");
            let table = rules.get("$ref").is_some() || rules["items"].get("$ref").is_some();
            assert_eq!(table, sentence(rules).is_none(), "{key}: {rules}");
            let ruled = ["type", "anyOf", "$ref"].iter().any(|k| rules.get(k).is_some());
            assert!(ruled, "{key} takes anything: {rules}");
            assert!(!rules.to_string().contains("\"null\""), "{key}: {rules}");
            // A default that is a value, not that of another key.
            let typed = sentence(rules).is_some_and(|s| s.contains("; `") && s.contains("` when left out"));
            assert_eq!(typed, rules.get("default").is_some(), "{key}: {rules}");
        }
    }
}
