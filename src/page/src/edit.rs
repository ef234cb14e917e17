//! Changes of single keys in a document, with its comments and its order kept.

use std::fmt;

use serde::Deserialize;
use serde_json::Value as Json;
use toml_edit::{Array, ArrayOfTables, DocumentMut, Item, Table, TableLike, Value};

/// What a typed text stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Kind {
    /// A name or a sentence.
    Text,
    /// A number, or a text with a unit or a word.
    Quantity,
    /// `true` or `false`.
    Flag,
    /// Quantities with commas between them.
    List,
    /// Texts with commas between them.
    Texts,
    /// Pairs of quantities with a comma between them, one pair to a line.
    Pairs,
}

/// One change.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(tag = "edit", rename_all = "kebab-case")]
pub enum Edit {
    /// A key gets the value that was typed; an empty text takes the key out.
    Set {
        /// The key, as in `layers[1].thickness`.
        path: String,
        /// What was typed.
        value: String,
        /// What it stands for.
        kind: Kind,
    },
    /// A key, a table or an entry of a list is taken out.
    Remove {
        /// Its path.
        path: String,
    },
    /// A table gets these contents in place of what it had.
    Put {
        /// Its path.
        path: String,
        /// TOML of the contents.
        toml: String,
    },
    /// A list gets one more entry.
    Insert {
        /// The list.
        path: String,
        /// Before which entry.
        index: usize,
        /// TOML of the entry's contents.
        toml: String,
    },
    /// An entry of a list changes its place.
    Move {
        /// The list.
        path: String,
        /// Its place.
        from: usize,
        /// Its new place.
        to: usize,
    },
}

/// Why a document was not changed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum EditError {
    /// The document, or the contents to be put in, is not valid TOML.
    Syntax(String),
    /// There is no such place in the document.
    Place(String),
}

impl fmt::Display for EditError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Syntax(why) => write!(f, "this is not valid TOML: {why}"),
            Self::Place(path) => write!(f, "the document has no place for `{path}`"),
        }
    }
}

impl std::error::Error for EditError {}

/// A step of a path.
#[derive(Debug, Clone, PartialEq)]
enum Step<'p> {
    Key(&'p str),
    Index(usize),
}

/// The document after these changes.
///
/// # Errors
/// The first change that cannot be made; then none is.
pub fn apply(text: &str, edits: &[Edit]) -> Result<String, EditError> {
    let mut document: DocumentMut = text.parse().map_err(|e: toml_edit::TomlError| syntax(&e))?;
    for edit in edits {
        change(document.as_item_mut(), edit)?;
    }
    Ok(document.to_string())
}

/// The values of a document as they would be typed, in its own structure; nothing where it is not valid TOML.
pub(crate) fn values(text: &str) -> Json {
    text.parse::<DocumentMut>().map_or(Json::Null, |d| typed(d.as_item()))
}

/// How a length is written at `path`, so that a new one can be written alike: the unit behind its number, if it has one.
pub(crate) fn unit_at(text: &str, path: &str) -> Option<String> {
    let written = value_at(text, path)?;
    let written = written.as_str()?;
    let unit = written.trim_start_matches(|c: char| !c.is_alphabetic() && c != '"').trim();
    (!unit.is_empty()).then(|| unit.to_owned())
}

/// What stands at `path`.
pub(crate) fn value_at(text: &str, path: &str) -> Option<Item> {
    let document: DocumentMut = text.parse().ok()?;
    let mut item = document.as_item();
    for step in steps(path)? {
        item = match step {
            Step::Key(key) => item.get(key)?,
            Step::Index(index) => item.get(index)?,
        };
    }
    Some(item.clone())
}

fn syntax(error: &toml_edit::TomlError) -> EditError {
    EditError::Syntax(error.message().to_owned())
}

fn typed(item: &Item) -> Json {
    match item {
        Item::Table(table) => of_table(table),
        Item::ArrayOfTables(list) => list.iter().map(|t| of_table(t)).collect(),
        Item::Value(value) => of_value(value),
        Item::None => Json::Null,
    }
}

fn of_table(table: &dyn TableLike) -> Json {
    Json::Object(table.iter().map(|(key, item)| (key.to_owned(), typed(item))).collect())
}

fn of_value(value: &Value) -> Json {
    match value {
        Value::InlineTable(table) => of_table(table),
        Value::Array(list) => list.iter().map(of_value).collect(),
        Value::String(text) => Json::String(text.value().clone()),
        Value::Boolean(flag) => Json::Bool(*flag.value()),
        Value::Integer(number) => Json::String(number.display_repr().into_owned()),
        Value::Float(number) => Json::String(number.display_repr().into_owned()),
        Value::Datetime(date) => Json::String(date.display_repr().into_owned()),
    }
}

/// The steps of a path; `None` where it is not one.
fn steps(path: &str) -> Option<Vec<Step<'_>>> {
    let mut steps = Vec::new();
    for part in path.split('.') {
        let (key, mut rest) = part.split_at(part.find('[').unwrap_or(part.len()));
        if !key.is_empty() {
            steps.push(Step::Key(key));
        }
        while let Some((index, after)) = rest.strip_prefix('[').and_then(|r| r.split_once(']')) {
            steps.push(Step::Index(index.parse().ok()?));
            rest = after;
        }
        if !rest.is_empty() {
            return None;
        }
    }
    (!steps.is_empty()).then_some(steps)
}

fn change(root: &mut Item, edit: &Edit) -> Result<(), EditError> {
    let (Edit::Set { path, .. }
    | Edit::Remove { path }
    | Edit::Put { path, .. }
    | Edit::Insert { path, .. }
    | Edit::Move { path, .. }) = edit;
    let nowhere = || EditError::Place(path.clone());
    match edit {
        Edit::Set { value, kind, .. } => match written(value, *kind) {
            Some(value) => set(root, path, Item::Value(value)).ok_or_else(nowhere),
            None => remove(root, path).map(drop).ok_or_else(nowhere),
        },
        Edit::Remove { .. } => remove(root, path).map(drop).ok_or_else(nowhere),
        Edit::Put { toml, .. } => set(root, path, Item::Table(contents(toml)?)).ok_or_else(nowhere),
        Edit::Insert { index, toml, .. } => insert(root, path, *index, contents(toml)?).ok_or_else(nowhere),
        Edit::Move { from, to, .. } => relocate(root, path, *from, *to).ok_or_else(nowhere),
    }
}

fn contents(toml: &str) -> Result<Table, EditError> {
    let document: DocumentMut = toml.parse().map_err(|e: toml_edit::TomlError| syntax(&e))?;
    let mut table = document.as_table().clone();
    forget_place(&mut table);
    Ok(table)
}

/// The value that was typed; nothing where it is empty.
fn written(typed: &str, kind: Kind) -> Option<Value> {
    let typed = typed.trim();
    if typed.is_empty() {
        return None;
    }
    Some(match kind {
        Kind::Text => Value::from(typed),
        Kind::Flag => Value::from(typed == "true"),
        Kind::Quantity => quantity(typed),
        Kind::List => Value::Array(between_commas(typed).map(quantity).collect()),
        Kind::Texts => Value::Array(between_commas(typed).map(Value::from).collect()),
        Kind::Pairs => {
            let pairs = typed.split(['\n', ';']).filter(|line| !line.trim().is_empty());
            Value::Array(pairs.map(|line| between_commas(line).map(quantity).collect::<Array>()).collect())
        }
    })
}

fn between_commas(list: &str) -> impl Iterator<Item = &str> {
    list.split(',').map(str::trim).filter(|part| !part.is_empty())
}

/// A number where the text is one, as it was typed; else the text, which the document's reader judges.
fn quantity(typed: &str) -> Value {
    let plain = typed.parse::<f64>().is_ok_and(f64::is_finite);
    let number = if plain { typed.trim_start_matches('+').parse::<Value>().ok() } else { None };
    number.filter(|v| v.is_integer() || v.is_float()).unwrap_or_else(|| Value::from(typed))
}

/// What stands at a path, tables on the way made where they are missing.
fn at<'i>(root: &'i mut Item, steps: &[Step<'_>]) -> Option<&'i mut Item> {
    let mut item = root;
    for step in steps {
        item = match step {
            Step::Key(key) => {
                let inline = item.is_inline_table();
                let table = item.as_table_like_mut()?;
                if table.get(key).is_none_or(Item::is_none) {
                    table.insert(key, empty_table(inline));
                }
                table.get_mut(key)?
            }
            Step::Index(index) => item.get_mut(*index)?,
        };
    }
    Some(item)
}

/// A table in braces inside of another one, else one whose heading is written only if it has keys of its own.
fn empty_table(inline: bool) -> Item {
    if inline {
        return Item::Value(Value::InlineTable(toml_edit::InlineTable::new()));
    }
    let mut table = Table::new();
    table.set_implicit(true);
    Item::Table(table)
}

fn set(root: &mut Item, path: &str, mut new: Item) -> Option<()> {
    let steps = steps(path)?;
    let (last, before) = steps.split_last()?;
    let parent = at(root, before)?;
    match last {
        Step::Index(index) => {
            let old = parent.get_mut(*index)?;
            *old = aligned(old, new);
        }
        Step::Key(key) => {
            if parent.is_inline_table() {
                new = Item::Value(new.into_value().ok()?);
            }
            let table = parent.as_table_like_mut()?;
            match table.get_mut(key) {
                Some(old) if !old.is_none() => *old = aligned(old, new),
                _ => drop(table.insert(key, new)),
            }
        }
    }
    Some(())
}

/// The new item with the spaces and comments of the old one.
fn aligned(old: &Item, mut new: Item) -> Item {
    match (old, &mut new) {
        (Item::Value(old), Item::Value(new)) => *new.decor_mut() = old.decor().clone(),
        (Item::Table(old), Item::Table(new)) => {
            *new.decor_mut() = old.decor().clone();
            new.set_position(old.position());
        }
        _ => {}
    }
    new
}

fn remove(root: &mut Item, path: &str) -> Option<Item> {
    let steps = steps(path)?;
    let (last, before) = steps.split_last()?;
    let parent = at(root, before)?;
    match last {
        Step::Key(key) => Some(parent.as_table_like_mut()?.remove(key).unwrap_or(Item::None)),
        Step::Index(index) => match parent {
            Item::ArrayOfTables(list) if *index < list.len() => {
                list.remove(*index);
                Some(Item::None)
            }
            Item::Value(Value::Array(list)) if *index < list.len() => Some(Item::Value(list.remove(*index))),
            _ => None,
        },
    }
}

fn insert(root: &mut Item, path: &str, index: usize, entry: Table) -> Option<()> {
    let steps = steps(path)?;
    let (last, before) = steps.split_last()?;
    let Step::Key(key) = last else { return None };
    let table = at(root, before)?.as_table_like_mut()?;
    let list = match table.get_mut(key) {
        Some(list) => list,
        None => {
            table.insert(key, Item::ArrayOfTables(ArrayOfTables::new()));
            table.get_mut(key)?
        }
    };
    match list {
        Item::ArrayOfTables(list) => {
            let mut all: Vec<Table> = list.iter().cloned().collect();
            all.insert(index.min(all.len()), entry);
            *list = in_order(all);
        }
        Item::Value(Value::Array(list)) => {
            let index = index.min(list.len());
            list.insert(index, Value::InlineTable(entry.into_inline_table()));
        }
        _ => return None,
    }
    Some(())
}

fn relocate(root: &mut Item, path: &str, from: usize, to: usize) -> Option<()> {
    match at(root, &steps(path)?)? {
        Item::ArrayOfTables(list) if from < list.len() && to < list.len() => {
            let mut all: Vec<Table> = list.iter().cloned().collect();
            let entry = all.remove(from);
            all.insert(to, entry);
            *list = in_order(all);
            Some(())
        }
        Item::Value(Value::Array(list)) if from < list.len() && to < list.len() => {
            let entry = list.remove(from);
            list.insert(to, entry);
            Some(())
        }
        _ => None,
    }
}

/// A list whose entries are written in this order, where the first of them stood: a table remembers its place.
fn in_order(mut all: Vec<Table>) -> ArrayOfTables {
    let first = all.iter().filter_map(Table::position).min();
    for table in &mut all {
        forget_place(table);
    }
    if let Some(table) = all.first_mut() {
        table.set_position(first);
    }
    all.into_iter().collect()
}

fn forget_place(table: &mut Table) {
    table.set_position(None);
    for (_, item) in table.iter_mut() {
        match item {
            Item::Table(table) => forget_place(table),
            Item::ArrayOfTables(list) => list.iter_mut().for_each(forget_place),
            _ => {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = "# A board.\ntitle = \"One\"  # its name\n\n[board]\nlength = 1400   # along the base\n\n\
                        [rocker.arc]\nheight = 50\n\n[[layers]] # base\nname = \"a\"\n\n[[layers]]\nname = \"b\"\n\
                        sag_test = { span = 600 }\n\n[table]\nskin = 4\n";

    fn set(path: &str, value: &str, kind: Kind) -> Edit {
        Edit::Set { path: path.into(), value: value.into(), kind }
    }

    fn edited(edits: &[Edit]) -> String {
        apply(TEXT, edits).unwrap()
    }

    #[test]
    fn a_value_changes_and_its_comment_stays() {
        let text = edited(&[set("board.length", "1/2 in", Kind::Quantity), set("title", "Two", Kind::Text)]);
        let expected = TEXT.replace("1400", "\"1/2 in\"").replace("One", "Two");
        assert_eq!(text, expected);
    }

    #[test]
    fn numbers_stay_as_typed_and_all_else_is_a_text() {
        for (typed, written) in [
            ("5", "5"),
            ("5.50", "5.50"),
            ("-3e2", "-3e2"),
            ("+4", "4"),
            ("nan", "\"nan\""),
            ("5 mm", "\"5 mm\""),
            ("1,5", "\"1,5\""),
            ("2020-01-01", "\"2020-01-01\""),
            ("\"#", "'\"#'"),
        ] {
            assert_eq!(quantity(typed).to_string(), written, "{typed}");
        }
        let text =
            edited(&[set("board.list", "1, 2 in", Kind::List), set("board.pairs", "0, 1\n5, 2 mm", Kind::Pairs)]);
        assert!(text.contains("list = [1, \"2 in\"]\npairs = [[0, 1], [5, \"2 mm\"]]"), "{text}");
    }

    #[test]
    fn missing_tables_are_made_and_an_empty_text_takes_a_key_out() {
        let text = edited(&[
            set("table.ribs.pitch", "110", Kind::Quantity),
            set("layers[1].sag_test.load", "1 kg", Kind::Quantity),
            set("board.length", "  ", Kind::Quantity),
        ]);
        assert!(text.contains("[table]\nskin = 4\n\n[table.ribs]\npitch = 110\n"), "{text}");
        assert!(
            text.contains("sag_test = { span = 600 , load = \"1 kg\" }") || text.contains("load = \"1 kg\""),
            "{text}"
        );
        assert!(!text.contains("length"), "{text}");
    }

    #[test]
    fn entries_are_added_moved_and_taken_out_where_they_stand() {
        let names = |text: &str| -> Vec<String> {
            text.lines().filter_map(|l| l.strip_prefix("name = ")).map(str::to_owned).collect()
        };
        let list = || "layers".to_owned();
        let added = edited(&[Edit::Insert { path: list(), index: 1, toml: "name = \"c\"\n".into() }]);
        assert_eq!(names(&added), ["\"a\"", "\"c\"", "\"b\""]);
        assert!(added.find("\"c\"") < added.find("[table]") && added.find("[rocker") < added.find("\"a\""), "{added}");
        let moved = edited(&[Edit::Move { path: list(), from: 1, to: 0 }]);
        assert_eq!(names(&moved), ["\"b\"", "\"a\""]);
        assert!(moved.contains("[[layers]] # base\nname = \"a\""), "{moved}");
        let removed = edited(&[Edit::Remove { path: "layers[0]".into() }]);
        assert_eq!(names(&removed), ["\"b\""]);
    }

    #[test]
    fn one_choice_takes_the_place_of_another() {
        let text = edited(&[
            Edit::Remove { path: "rocker.arc".into() },
            Edit::Put { path: "rocker.segments".into(), toml: "parts = [{ flat = {} }]".into() },
        ]);
        let (rocker, layers) = (text.find("[rocker.segments]\nparts = [{ flat = {} }]"), text.find("[[layers]]"));
        assert!(rocker.is_some() && rocker < layers && !text.contains("rocker.arc"), "{text}");
    }

    #[test]
    fn what_cannot_be_done_changes_nothing_and_says_why() {
        assert_eq!(apply("a = ", &[]).map_err(|e| matches!(e, EditError::Syntax(_))), Err(true));
        for path in ["title.more", "layers[7].name", "layers[x]", "", "board[0]"] {
            let error = apply(TEXT, &[set(path, "1", Kind::Quantity)]).unwrap_err();
            assert_eq!(error, EditError::Place(path.to_owned()), "{path}");
        }
    }

    #[test]
    fn values_come_back_as_they_would_be_typed() {
        let values = values("a = 1.50 # one\nb = \"1/2 in\"\nc = true\n[d]\ne = [[0, 1]]\n");
        assert_eq!(values, serde_json::json!({ "a": "1.50", "b": "1/2 in", "c": true, "d": { "e": [["0", "1"]] } }));
        assert_eq!(unit_at("a = \"1 1/2 in\"", "a").as_deref(), Some("in"));
        assert_eq!(unit_at("a = 12", "a"), None);
    }
}
