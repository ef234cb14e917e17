//! README and guide: their commands run, their blocks are valid, what they show is what the program prints.
//!
//! `OVERBEND_BLESS=1` writes shown output, the list of keys and the picture anew.

use std::fs;
use std::path::{Path, PathBuf};

use assert_cmd::Command;
use overbend::document::{Document, Inputs, STARTERS, Starter, key_page};
use overbend::run;

use crate::help::{place, shell};

const ROOT: &str = env!("CARGO_MANIFEST_DIR");
/// The README's limit, words.
const MOST_WORDS: usize = 1500;

fn readme() -> String {
    fs::read_to_string(Path::new(ROOT).join("README.md")).unwrap()
}

/// The pages of the guide, with their names.
fn pages() -> Vec<(PathBuf, String)> {
    let entries = fs::read_dir(Path::new(ROOT).join("src/guide")).unwrap().map(|e| e.unwrap().path());
    let mut pages: Vec<PathBuf> = entries.filter(|p| p.extension().is_some_and(|e| e == "md")).collect();
    pages.sort();
    assert!(pages.len() >= 9, "{pages:?}");
    pages.into_iter().map(|p| (p.clone(), fs::read_to_string(p).unwrap())).collect()
}

/// One fenced block: what it is fenced as, and its text.
struct Block {
    kind: String,
    text: String,
}

/// The fenced blocks of a page, without the indent of a list that they stand in.
fn blocks(page: &str) -> Vec<Block> {
    let mut blocks = Vec::new();
    let mut open: Option<Block> = None;
    for line in page.lines().map(str::trim_start) {
        match (line.strip_prefix("```"), open.as_mut()) {
            (Some(kind), None) => open = Some(Block { kind: kind.to_owned(), text: String::new() }),
            (Some(_), Some(_)) => blocks.extend(open.take()),
            (None, Some(block)) => block.text += &format!("{line}\n"),
            (None, None) => {}
        }
    }
    assert!(open.is_none(), "a block is not closed");
    blocks
}

/// `new` in the place of what stands in the file, where the author asked for it.
fn bless(path: &Path, found: &str, new: &str) {
    if found != new && std::env::var_os("OVERBEND_BLESS").is_some() {
        fs::write(path, new).unwrap();
        return;
    }
    assert!(found == new, "{} is out of date: OVERBEND_BLESS=1 cargo test --test program guide", path.display());
}

#[test]
fn the_readme_is_short_and_says_first_what_it_is_for() {
    let text = readme();
    let words = text.split_whitespace().count();
    assert!(words <= MOST_WORDS, "{words} words");
    assert!(text.lines().nth(2).unwrap().contains("designs the curved table"));
}

#[test]
fn starters_examples_and_pages_are_named() {
    let text = readme();
    for starter in STARTERS {
        assert!(text.contains(starter.name), "{} is not named", starter.name);
    }
    for entry in fs::read_dir(Path::new(ROOT).join("examples")).unwrap() {
        let entry = entry.unwrap();
        if entry.path().is_dir() {
            let name = entry.file_name().into_string().unwrap();
            assert!(text.contains(&format!("examples/{name}/README.md")), "{name} is not linked");
        }
    }
    let module = fs::read_to_string(Path::new(ROOT).join("src/guide.rs")).unwrap();
    for (path, _) in pages() {
        let name = path.file_name().unwrap().to_str().unwrap();
        assert!(text.contains(&format!("](src/guide/{name})")), "{name} is not linked");
        assert!(
            module.contains(&format!("include_str!(\"guide/{name}\")")),
            "{name} is not in the library's documentation"
        );
    }
}

/// A heading's anchor as GitHub makes it.
fn anchor(heading: &str) -> String {
    let lower = heading.to_lowercase();
    let kept = lower.chars().filter(|c| c.is_alphanumeric() || matches!(c, ' ' | '-' | '_'));
    kept.map(|c| if c == ' ' { '-' } else { c }).collect()
}

#[test]
fn links_lead_to_files_and_headings() {
    let mut all = pages();
    all.push((Path::new(ROOT).join("README.md"), readme()));
    let mut followed = 0;
    for (path, text) in all {
        for link in text.split("](").skip(1).map(|rest| rest.split(')').next().unwrap()) {
            if link.starts_with("https://") {
                continue;
            }
            let (file, heading) = link.split_once('#').unwrap_or((link, ""));
            let target = if file.is_empty() { path.clone() } else { path.parent().unwrap().join(file) };
            assert!(target.exists(), "{}: {link}", path.display());
            if !heading.is_empty() {
                let target = fs::read_to_string(target).unwrap();
                let found = target
                    .lines()
                    .filter(|l| l.starts_with('#'))
                    .any(|l| anchor(l.trim_start_matches(['#', ' '])) == heading);
                assert!(found, "{}: no heading for {link}", path.display());
            }
            followed += 1;
        }
    }
    assert!(followed > 25, "{followed}");
}

/// What a command prints, on either stream.
fn printed(command: &str) -> String {
    let words: Vec<&str> = command.split_whitespace().skip(1).collect();
    let output = Command::cargo_bin("overbend").unwrap().args(words).current_dir(ROOT).output().unwrap();
    String::from_utf8([output.stdout, output.stderr].concat()).unwrap()
}

#[test]
fn output_that_is_shown_is_the_real_one() {
    let mut all = pages();
    all.push((Path::new(ROOT).join("README.md"), readme()));
    let mut shown = 0;
    for (path, text) in all {
        let mut new = String::new();
        let mut parts = text.split("```text\n$ ");
        new.push_str(parts.next().unwrap());
        for part in parts {
            let (block, rest) = part.split_once("```").unwrap();
            let command = block.lines().next().unwrap();
            new.push_str(&format!("```text\n$ {command}\n{}```{rest}", printed(command)));
            shown += 1;
        }
        bless(&path, &text, &new);
    }
    assert!(shown >= 3, "{shown}");
}

#[test]
fn commands_of_the_guide_run() {
    let dir = place();
    let mut ran = 0;
    for (path, text) in pages() {
        for block in blocks(&text).iter().filter(|b| b.kind == "sh") {
            for line in block.text.lines() {
                let output = shell(dir.path(), line);
                let said =
                    format!("{}{}", String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr));
                assert!(output.status.success(), "{}: {line}\n{said}", path.display());
                ran += 1;
            }
        }
    }
    assert!(ran >= 12, "{ran}");
}

/// `fragment` written over `document`. Only one kind of rocker and of pressing may stand in a document.
fn overlay(document: &mut toml::Table, fragment: toml::Table, path: &str) {
    for (key, value) in fragment {
        match (document.get_mut(&key), value) {
            (Some(toml::Value::Table(there)), toml::Value::Table(inner))
                if !matches!(key.as_str(), "rocker" | "pressing") =>
            {
                overlay(there, inner, &format!("{path}{key}."));
            }
            (_, value) => {
                document.insert(key, value);
            }
        }
    }
}

#[test]
fn blocks_of_toml_are_parts_of_jobs_that_build() {
    let mut inputs = Inputs::default();
    inputs.add("profile.dxf", Ok(fs::read(Path::new(ROOT).join("examples/hill-board/profile.dxf")).unwrap()));
    let mut built = 0;
    for (path, text) in pages() {
        for block in blocks(&text).iter().filter(|b| b.kind == "toml") {
            let mut document: toml::Table = toml::from_str(Starter::find("twin-tip").unwrap().text).unwrap();
            overlay(&mut document, toml::from_str(&block.text).unwrap(), "");
            let text = toml::to_string(&document).unwrap();
            let name = format!("{} with\n{}", path.display(), block.text);
            let document = Document::parse(&name, &text).unwrap();
            let said = |p: overbend::document::Problems| format!("{name}: {p:#?}");
            let job = document.job_with(&inputs).map_err(said).unwrap();
            run::build(&job).map_err(|faults| said(document.problems(&faults))).unwrap();
            built += 1;
        }
    }
    assert!(built >= 12, "{built}");
}

#[test]
fn rows_of_verification_that_are_quoted_are_rows_of_its_table() {
    let page = fs::read_to_string(Path::new(ROOT).join("src/guide/evidence.md")).unwrap();
    let place = "tests/verification/TABLE.md";
    assert!(page.contains(&format!("{place})")), "the table is not linked");
    let table = fs::read_to_string(Path::new(ROOT).join(place)).unwrap();
    // Rows of that table have as many columns as its heading.
    let heading = "| quantity | source says | where | computed | error | allowed | why |";
    let (_, after) = page.split_once(heading).unwrap();
    let quoted: Vec<&str> = after.lines().skip(2).take_while(|l| l.starts_with("| ")).collect();
    assert!(quoted.len() >= 3);
    for row in quoted {
        assert!(table.lines().any(|l| l == row), "no row of the table: {row}");
    }
}

/// Keys and values of a block of TOML, as they stand in `document`; an entry of a list is known by its name.
fn values(block: &toml::Table, document: &toml::Table, under: &str) -> Vec<(String, String)> {
    let mut found = Vec::new();
    for (key, value) in block {
        match (value, &document[key]) {
            (toml::Value::Table(inner), toml::Value::Table(there)) => {
                found.extend(values(inner, there, &format!("{under}{key}.")));
            }
            (toml::Value::Array(entries), toml::Value::Array(there)) => {
                for entry in entries {
                    let at = there.iter().position(|t| t["name"] == entry["name"]).unwrap();
                    let (entry, there) = (entry.as_table().unwrap(), there[at].as_table().unwrap());
                    found.extend(values(entry, there, &format!("{under}{key}[{at}].")));
                }
            }
            _ => found.push((format!("{under}{key}"), value.to_string())),
        }
    }
    found
}

#[test]
fn the_first_hour_goes_as_it_is_written() {
    let dir = tempfile::TempDir::new().unwrap();
    let board = dir.path().join("my-board.toml");
    let run = |words: &[&str]| {
        let output = Command::cargo_bin("overbend").unwrap().args(words).current_dir(dir.path()).output().unwrap();
        assert!(output.status.success(), "{words:?}:\n{}", String::from_utf8_lossy(&output.stderr));
        String::from_utf8(output.stdout).unwrap()
    };
    let readme = readme();
    let (_, after) = readme.split_once("## First hour").unwrap();
    let (hour, _) = after.split_once("\n## ").unwrap();
    let (mut ran, mut changed) = (0, 0);
    for block in blocks(hour) {
        match block.kind.as_str() {
            "toml" => {
                let text = fs::read_to_string(&board).unwrap();
                let values = values(&toml::from_str(&block.text).unwrap(), &toml::from_str(&text).unwrap(), "");
                let new = overbend::document::with_values(&text, &values);
                assert_ne!(text, new);
                fs::write(&board, new).unwrap();
                // What the page says of the checks after each change.
                let wanted =
                    ["watch deflection of the table's ends under the bent stack", "all 15 checks are ok"][changed];
                let said = run(&["check", "my-board.toml"]);
                assert!(said.contains(wanted) && hour.contains(wanted), "{said}");
                changed += 1;
            }
            "sh" => {
                for command in block.text.lines().filter(|c| *c != "cargo install --path .") {
                    let words: Vec<&str> = command.split_whitespace().collect();
                    assert_eq!(words[0], "overbend");
                    run(&words[1..]);
                    ran += 1;
                }
            }
            kind => assert!(kind == "text" && block.text.starts_with("$ overbend "), "{kind}"),
        }
    }
    assert!(ran >= 8 && changed == 2, "{ran} commands, {changed} changes");
    assert!(dir.path().join("my-table/book.html").is_file());
}

/// The picture of the README: one of the lake board's book, with the book's colours.
#[test]
fn the_picture_is_the_one_of_the_book() {
    let job = fs::read_to_string(Path::new(ROOT).join("examples/lake-board/job.toml")).unwrap();
    let outcome = run::build(&Document::parse("job", &job).unwrap().job().unwrap()).unwrap();
    let book = outcome.files.iter().find(|f| f.name == "book.html").unwrap();
    let book = std::str::from_utf8(&book.bytes).unwrap();
    let title = book.find(">The table taken apart</title>").unwrap();
    let from = book[..title].rfind("<svg").unwrap();
    let svg = &book[from..from + book[from..].find("</svg>").unwrap()];
    let (tag, inside) = svg.split_once('>').unwrap();
    let style = fs::read_to_string(Path::new(ROOT).join("templates/book.css")).unwrap();
    let colours = style.split_once("}\n").unwrap().0.to_owned() + "}\n";
    let rules: String = style.lines().filter(|l| l.starts_with("svg ")).map(|l| format!("{l}\n")).collect();
    let ground = "svg { background: #fcfcfa; }\n";
    let picture = format!("{tag}>\n<style>\n{colours}{ground}{rules}</style>\n{inside}</svg>\n");
    let path = Path::new(ROOT).join("examples/lake-board/table.svg");
    bless(&path, &fs::read_to_string(&path).unwrap_or_default(), &picture);
}

#[test]
fn the_list_of_keys_is_what_the_declarations_make() {
    let path = Path::new(ROOT).join("src/guide/keys.md");
    let text = fs::read_to_string(&path).unwrap();
    let (before, rest) = text.split_once("<!-- keys -->\n").unwrap();
    let (_, after) = rest.split_once("<!-- end of keys -->").unwrap();
    let new = format!("{before}<!-- keys -->\n{}\n\n<!-- end of keys -->{after}", key_page().trim());
    bless(&path, &text, &new);
}
