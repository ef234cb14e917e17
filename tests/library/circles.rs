//! Files of one module do not import each other in circles.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

/// Names of nested modules, outermost first; empty for the crate itself.
type Module = Vec<String>;

/// What a file imports by `use` and by paths in its code, and what it hands on by `pub use`.
#[derive(Default)]
struct Imports {
    used: Vec<Module>,
    handed_on: Vec<Module>,
}

fn modules(folder: &Path, inside: &Module, found: &mut BTreeMap<Module, String>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let stem = path.file_stem().unwrap().to_str().unwrap().to_owned();
        let named = || inside.iter().cloned().chain([stem.clone()]).collect::<Module>();
        if path.is_dir() && stem != "bin" {
            modules(&path, &named(), found);
        } else if path.extension().is_some_and(|e| e == "rs") {
            let text = fs::read_to_string(&path).unwrap();
            let code = text.split("#[cfg(test)]").next().unwrap_or_default();
            let code: Vec<&str> = code.lines().filter(|l| !l.trim_start().starts_with("//")).collect();
            let module = if stem == "mod" || stem == "lib" { inside.clone() } else { named() };
            found.insert(module, code.join("\n"));
        }
    }
}

/// The paths of a tree such as `a::{b, c::{d, e}}`.
fn paths(tree: &str, before: &str, found: &mut Vec<Module>) {
    let (mut depth, mut start) = (0_usize, 0);
    let mut branches = Vec::new();
    for (i, c) in tree.char_indices() {
        match c {
            '{' => depth += 1,
            '}' => depth -= 1,
            ',' if depth == 0 => {
                branches.push(&tree[start..i]);
                start = i + 1;
            }
            _ => {}
        }
    }
    branches.push(&tree[start..]);
    for branch in branches.into_iter().map(str::trim).filter(|b| !b.is_empty()) {
        match branch.split_once('{') {
            Some((head, inner)) => paths(inner.trim_end().trim_end_matches('}'), &format!("{before}{head}"), found),
            None => {
                let name = branch.split(" as ").next().unwrap_or_default();
                found.push(format!("{before}{name}").split("::").map(|s| s.trim().to_owned()).collect());
            }
        }
    }
}

fn imports(code: &str) -> Imports {
    let mut all = Imports::default();
    let mut rest = String::new();
    for statement in code.split_inclusive(';') {
        let begin = statement.find("use ").filter(|i| {
            let before = statement[..*i].lines().last().unwrap_or_default().trim();
            let tree = |c: char| c.is_alphanumeric() || c.is_whitespace() || "_:{},*;".contains(c);
            (before.is_empty() || before.starts_with("pub")) && statement[*i..].chars().all(tree)
        });
        match begin {
            Some(i) => {
                let handed_on = statement[..i].lines().last().unwrap_or_default().contains("pub");
                let into = if handed_on { &mut all.handed_on } else { &mut all.used };
                paths(statement[i + 4..].trim_end_matches(';'), "", into);
            }
            None => rest.push_str(statement),
        }
    }
    for start in ["super::", "crate::"] {
        for (at, _) in rest.match_indices(start) {
            let path = rest[at..].split(|c: char| !(c.is_alphanumeric() || matches!(c, '_' | ':'))).next();
            let before = rest[..at].chars().last();
            if before.is_none_or(|c| !matches!(c, ':' | ' ') || !rest[..at].ends_with("(in ")) {
                all.used.push(path.unwrap_or_default().split("::").map(str::to_owned).collect());
            }
        }
    }
    all
}

/// The file that a path leads to, seen from a module.
fn leads_to(from: &Module, path: &[String], all: &BTreeMap<Module, Imports>, steps: usize) -> Option<Module> {
    let mut at = from.clone();
    let mut rest = path;
    match rest.first().map(String::as_str) {
        Some("crate") => (at, rest) = (Module::new(), &rest[1..]),
        Some("self") => rest = &rest[1..],
        Some("super") => {
            while rest.first().is_some_and(|s| s == "super") {
                at.pop();
                rest = &rest[1..];
            }
        }
        _ => {
            let child: Module = at.iter().cloned().chain(rest.first().cloned()).collect();
            all.get(&child)?;
        }
    }
    for name in rest {
        let child: Module = at.iter().cloned().chain([name.clone()]).collect();
        if all.contains_key(&child) {
            at = child;
            continue;
        }
        let through = all.get(&at)?.handed_on.iter().find(|p| p.last() == Some(name));
        return match through {
            Some(path) if steps < 5 => leads_to(&at, path, all, steps + 1),
            _ => Some(at),
        };
    }
    all.contains_key(&at).then_some(at)
}

#[test]
fn files_of_a_module_import_each_other_in_no_circle() {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut code = BTreeMap::new();
    modules(&src, &Module::new(), &mut code);
    assert!(code.len() > 150, "only {} files were found", code.len());
    let all: BTreeMap<Module, Imports> = code.iter().map(|(module, code)| (module.clone(), imports(code))).collect();
    let mut left: BTreeMap<&Module, BTreeSet<Module>> = BTreeMap::new();
    for (module, of) in &all {
        let targets = of.used.iter().filter_map(|path| leads_to(module, path, &all, 0));
        let of_its_own = |t: &Module| t != module && t.first() == module.first();
        left.insert(module, targets.filter(of_its_own).collect());
    }
    assert!(left.values().map(BTreeSet::len).sum::<usize>() > 200, "the imports were not understood");
    // Files whose imports are all gone go themselves, until none goes: what is left stands in circles, or leads to one.
    loop {
        let gone: Vec<Module> = left.iter().filter(|(_, to)| to.is_empty()).map(|(m, _)| (*m).clone()).collect();
        if gone.is_empty() {
            break;
        }
        left.retain(|m, _| !gone.contains(m));
        left.values_mut().for_each(|to| to.retain(|t| !gone.contains(t)));
    }
    let shown: Vec<String> = left
        .iter()
        .map(|(m, to)| {
            let to: Vec<String> = to.iter().map(|t| t.join("/")).collect();
            format!("{} imports {}", m.join("/"), to.join(", "))
        })
        .collect();
    assert!(shown.is_empty(), "{}", shown.join("\n"));
}
