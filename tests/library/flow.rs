//! The one-way rule: a module imports only modules that stand before it in the flow.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

/// Modules in the order of the flow. A module may import those before it.
const MODULES: [&str; 22] = [
    "units",
    "finding",
    "codes",
    "numeric",
    "curve",
    "drawing",
    "job",
    "drawn",
    "document",
    "rocker",
    "laminate",
    "press",
    "table",
    "forecast",
    "jig",
    "stock",
    "calibrate",
    "built",
    "draft",
    "export",
    "run",
    "guide",
];

/// Narrower than the order: these modules must not know these, although they stand before them.
const APART: [(&str, &str); 13] = [
    // Data that later modules share carries no knowledge of how it is written down.
    ("rocker", "document"),
    ("laminate", "document"),
    ("press", "document"),
    ("table", "document"),
    ("jig", "document"),
    ("stock", "document"),
    ("calibrate", "document"),
    ("built", "document"),
    ("draft", "document"),
    ("export", "document"),
    // The forward problem does not know what was wanted.
    ("press", "rocker"),
    // Exporters know drawings, not jigs.
    ("export", "jig"),
    ("numeric", "units"),
];

fn files(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            files(&path, found);
        } else if path.extension().is_some_and(|e| e == "rs") {
            found.push(path);
        }
    }
}

fn module_of(path: &Path, src: &Path) -> Option<String> {
    let first = path.strip_prefix(src).unwrap().components().next()?.as_os_str().to_str()?.to_owned();
    let module = first.trim_end_matches(".rs").to_owned();
    // The guide is text alone.
    (!["lib", "bin", "page", "guide"].contains(&module.as_str())).then_some(module)
}

fn imports(text: &str) -> BTreeSet<String> {
    // Doc comments may point anywhere; code may not.
    let code: String = text.lines().filter(|l| !l.trim_start().starts_with("//")).collect::<Vec<_>>().join("\n");
    let mut modules = BTreeSet::new();
    for piece in code.split("crate::").skip(1) {
        if let Some(group) = piece.strip_prefix('{') {
            let inside = group.split('}').next().unwrap_or_default();
            for item in inside.split(',') {
                modules.insert(item.trim().split("::").next().unwrap_or_default().to_owned());
            }
        } else {
            modules.insert(piece.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect());
        }
    }
    modules
}

#[test]
fn modules_import_only_modules_before_them() {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut all = Vec::new();
    files(&src, &mut all);
    assert!(all.len() > 30, "only {} source files were found", all.len());
    let mut wrong = Vec::new();
    for path in all {
        let Some(module) = module_of(&path, &src) else { continue };
        let shown = path.strip_prefix(&src).unwrap().display().to_string();
        let Some(own) = MODULES.iter().position(|r| *r == module) else {
            wrong.push(format!("{shown}: the module `{module}` is not in the table"));
            continue;
        };
        for used in imports(&fs::read_to_string(&path).unwrap()) {
            // What tests compare numbers with.
            if used == "close" {
                continue;
            }
            let Some(other) = MODULES.iter().position(|r| *r == used) else {
                wrong.push(format!("{shown} imports `{used}`, which is no module"));
                continue;
            };
            if other > own || APART.contains(&(module.as_str(), used.as_str())) {
                wrong.push(format!("{shown} imports `{used}`"));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn only_the_document_module_reads_toml() {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut all = Vec::new();
    files(&src, &mut all);
    for path in all {
        let module = module_of(&path, &src);
        let text = fs::read_to_string(&path).unwrap();
        if module.as_deref() != Some("document") && module.is_some() {
            assert!(!text.contains("toml::"), "{} knows toml", path.display());
        }
    }
}

/// What words results: a unit behind a value there is the job's, and only `units` knows it.
#[test]
fn units_are_written_behind_values_by_the_units_module_alone() {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut all = Vec::new();
    files(&src, &mut all);
    let words = ["draft", "run", "forecast", "table/checks.rs", "finding.rs"];
    let units = ["mm", "N", "kN", "kPa", "MPa", "GPa", "N/mm", "K", "°C", "psi", "lbf"];
    let mut wrong = Vec::new();
    let mut looked_at = 0;
    for path in all {
        let shown = path.strip_prefix(&src).unwrap().display().to_string();
        if !words.iter().any(|w| shown.starts_with(w)) {
            continue;
        }
        looked_at += 1;
        let text = fs::read_to_string(&path).unwrap();
        let code = text.split("#[cfg(test)]").next().unwrap_or_default();
        for line in code.lines().filter(|l| !l.trim_start().starts_with("//")) {
            let behind = line.split('}').skip(1).map(|rest| rest.trim_start());
            let is_unit = |rest: &str| {
                let word = rest.split(|c: char| !(c.is_alphanumeric() || matches!(c, '/' | '°'))).next();
                word.is_some_and(|w| units.contains(&w))
            };
            if line.contains('"') && behind.into_iter().any(is_unit) {
                wrong.push(format!("{shown}: {}", line.trim()));
            }
        }
    }
    assert!(looked_at > 30, "only {looked_at} files were looked at");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn the_library_alone_brings_no_command_line_packages() {
    let output = Command::new(env!("CARGO"))
        .args(["tree", "--offline", "--locked", "--edges", "normal", "--prefix", "none", "--no-default-features"])
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .output()
        .unwrap();
    let tree = String::from_utf8(output.stdout).unwrap();
    assert!(tree.contains("kurbo v"), "{tree}{}", String::from_utf8_lossy(&output.stderr));
    let manifest = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("Cargo.toml")).unwrap();
    let optional = manifest.lines().filter(|l| l.contains("optional = true")).filter_map(|l| l.split(' ').next());
    for package in optional {
        assert!(!tree.lines().any(|l| l.starts_with(&format!("{package} v"))), "{package} is in the library's tree");
    }
}

/// The one file that may open a socket, and the one that may use it.
const SERVER: &str = "bin/overbend/serve.rs";
const WATCH: &str = "bin/overbend/watch.rs";

#[test]
fn only_the_open_book_of_watch_opens_a_socket_and_only_to_this_machine() {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut all = Vec::new();
    files(&src, &mut all);
    let mut opens = 0;
    for path in all {
        let shown = path.strip_prefix(&src).unwrap().display().to_string();
        let text = fs::read_to_string(&path).unwrap();
        let words =
            ["std::net", "std::os::unix::net", "rustix::net", "TcpListener", "TcpStream", "UdpSocket", "UnixStream"];
        if shown != SERVER {
            for word in words {
                assert!(!text.contains(word), "{shown} knows {word}");
            }
        }
        if shown != SERVER && shown != WATCH {
            assert!(!text.contains("serve::"), "{shown} uses the server");
        }
        if shown == SERVER {
            opens = text.matches("::bind(").count();
            assert!(
                text.contains("TcpListener::bind(SocketAddr::from((Ipv4Addr::LOCALHOST, 0)))"),
                "{shown} listens elsewhere"
            );
            assert!(!text.contains("::connect"), "{shown} calls out");
        }
    }
    assert_eq!(opens, 1, "sockets that listen");
    let manifest = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("Cargo.toml")).unwrap();
    for package in ["hyper", "reqwest", "ureq", "tokio", "socket2", "mio", "curl", "\"net\""] {
        assert!(!manifest.contains(package), "Cargo.toml asks for {package}");
    }
}
