//! The keys of a document for the page's controls, from their declaration.

use overbend::document::{Key, LeftOut, Takes, keys};
use overbend::units::Dimension;
use serde_json::{Map, Value, json};

/// The keys of the document, each table's own under `keys`.
pub(crate) fn tree() -> Value {
    table(&keys(), "")
}

fn table(all: &[Key], path: &str) -> Value {
    all.iter()
        .filter(|k| k.table() == path)
        .map(|k| (k.name().to_owned(), control(all, k)))
        .collect::<Map<_, _>>()
        .into()
}

/// What a control for a key needs to know.
fn control(all: &[Key], key: &Key) -> Value {
    let below = match key.takes {
        Takes::Table => table(all, &key.path),
        Takes::Tables { .. } => table(all, &format!("{}[]", key.path)),
        _ => Value::Null,
    };
    json!({
        "kind": kind(&key.takes),
        "meaning": key.meaning.replace('`', ""),
        "rule": key.rule().replace('`', ""),
        "unit": key.takes.dimension().and_then(unit),
        "options": options(&key.takes),
        "default": if let LeftOut::Default(value) = &key.left_out { json!(value.to_string()) } else { Value::Null },
        "keys": below,
    })
}

/// The unit of a bare number; `length` for that of the document, which the page knows.
fn unit(dimension: Dimension) -> Option<&'static str> {
    match dimension {
        Dimension::Length => Some("length"),
        _ => Some(dimension.unit()).filter(|unit| dimension.takes_bare() && !unit.is_empty()),
    }
}

fn kind(takes: &Takes) -> &'static str {
    match takes {
        Takes::Quantity { .. } | Takes::Count { .. } => "quantity",
        Takes::Number(_) => "number",
        Takes::Text => "text",
        Takes::Flag => "flag",
        Takes::Choice(_) => "choice",
        Takes::List { of, .. } => match **of {
            Takes::Pair(_) | Takes::List { .. } => "pairs",
            Takes::Text | Takes::Choice(_) => "texts",
            _ => "list",
        },
        Takes::Pair(_) => "list",
        Takes::Table => "table",
        Takes::Tables { .. } => "tables",
    }
}

fn options(takes: &Takes) -> Option<Vec<String>> {
    match takes {
        Takes::Choice(words) => Some(words.iter().map(|w| (*w).to_owned()).collect()),
        Takes::Number(numbers) => Some(numbers.iter().map(ToString::to_string).collect()),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_key_that_is_declared_has_a_control() {
        let tree = tree();
        for key in keys() {
            let node = key.path.split('.').fold(&tree, |node, step| {
                let below = if node["keys"].is_object() { &node["keys"] } else { node };
                &below[step.trim_end_matches("[]")]
            });
            assert_eq!(node["meaning"], key.meaning.replace('`', ""), "{}", key.path);
            let several = ["choice", "number"].contains(&node["kind"].as_str().unwrap());
            assert_eq!(several, node["options"].is_array(), "{}", key.path);
        }
    }

    #[test]
    fn only_lengths_are_shown_in_the_unit_of_the_document() {
        let tree = tree();
        let unit = |path: &str| {
            let node = path
                .split('/')
                .fold(&tree, |node, step| if node["keys"].is_object() { &node["keys"][step] } else { &node[step] });
            assert_eq!(node["kind"], "quantity", "{path}");
            node["unit"].clone()
        };
        assert_eq!(unit("board/length"), "length");
        assert_eq!(unit("pressing/vacuum/pressure"), "kPa");
        for none in ["pressing/moisture_in_use", "pressing/weights/mass", "layers/plies", "prices/bolt"] {
            assert_eq!(unit(none), Value::Null, "{none}");
        }
    }

    #[test]
    fn lists_of_readings_are_pairs() {
        let tree = tree();
        assert_eq!(tree["rocker"]["keys"]["measured"]["keys"]["readings"]["kind"], "pairs");
        assert_eq!(tree["pressing"]["keys"]["vacuum"]["keys"]["pressure"]["kind"], "quantity");
    }
}
