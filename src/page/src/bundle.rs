//! Joins script modules into one script, because browsers load no modules from disk.
//!
//! Each module under `templates/page` becomes a function that returns what it exports. The modules import names only, one
//! statement to a line, `import { a, b } from "./c.js";`, in no circle; they export functions, classes and constants where they
//! are declared.

use std::collections::BTreeSet;
use std::fmt::Write;
use std::fs;
use std::path::Path;

/// The module `entry` of `folder` behind all that it imports.
///
/// # Errors
/// A module that cannot be read, in words.
pub(crate) fn bundle(folder: &Path, entry: &str) -> Result<String, String> {
    let mut joined = String::from("\"use strict\";\n");
    add(folder, entry, &mut BTreeSet::new(), &mut joined)?;
    // The script stands inside an element of HTML, which these letters would end.
    Ok(joined.replace("</script", "<\\/script"))
}

fn add(folder: &Path, name: &str, added: &mut BTreeSet<String>, joined: &mut String) -> Result<(), String> {
    if !added.insert(name.to_owned()) {
        return Ok(());
    }
    let text = fs::read_to_string(folder.join(name)).map_err(|e| format!("{name}: {e}"))?;
    let (mut own, mut exports) = (String::new(), Vec::new());
    for line in text.lines() {
        if let Some((names, from)) = line.strip_prefix("import ").and_then(|l| l.split_once(" from ")) {
            let from = from.trim_matches(['"', ';', '.', '/']);
            add(folder, from, added, joined)?;
            own.push_str(&format!("const {names} = {};\n", variable(from)));
        } else if let Some(declared) = line.strip_prefix("export ") {
            exports.extend(declared_name(declared));
            own.push_str(declared);
            own.push('\n');
        } else {
            own.push_str(line);
            own.push('\n');
        }
    }
    // Writing to a String cannot fail.
    let _ = writeln!(joined, "const {} = (() => {{\n{own}return {{ {} }};\n}})();", variable(name), exports.join(", "));
    Ok(())
}

/// The name under which a module's exports are kept.
fn variable(file: &str) -> String {
    format!("module_{}", file.trim_end_matches(".js").replace('-', "_"))
}

/// The name that a declaration gives: `async function name(...)`, `class Name`, `const name =`.
fn declared_name(declaration: &str) -> Option<&str> {
    let words = declaration.split(|c: char| !(c.is_alphanumeric() || c == '_'));
    words.filter(|w| !w.is_empty()).find(|w| !["async", "function", "class", "const"].contains(w))
}

#[cfg(test)]
mod tests {
    use super::declared_name;

    #[test]
    fn declarations_give_their_names() {
        for (text, name) in [("async function a(b) {", "a"), ("const B = 1;", "B"), ("class C extends D {}", "C")] {
            assert_eq!(declared_name(text), Some(name));
        }
    }
}
