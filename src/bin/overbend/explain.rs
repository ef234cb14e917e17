//! `overbend explain`.

use overbend::codes;
use overbend::finding::{Code, Kind};
use serde_json::{Value, json};

use crate::args::Explain;
use crate::exit::Exit;
use crate::report::{failure, print_json, print_result};

/// Widest line of a text, in characters.
const WIDEST: usize = 96;

pub(crate) fn explain(arguments: &Explain) -> Exit {
    let Some(code) = &arguments.code else {
        if arguments.json {
            print_json(&codes::all().map(figures).collect(), true);
        } else {
            print_result(&listing());
        }
        return Exit::Done;
    };
    // Codes are often pasted with their brackets.
    let code = code.trim_matches(['(', ')', '[', ']', '`', '"']).trim();
    match codes::find(code) {
        Ok(found) => {
            if arguments.json {
                print_json(&figures(found), true);
            } else {
                print_result(&words(found));
            }
            Exit::Done
        }
        Err(near) => {
            let hint = near.map_or(String::new(), |n| format!(" Did you mean {n}?"));
            failure(&format!("there is no code {code}.{hint} `overbend explain` lists all codes."));
            Exit::Wrong
        }
    }
}

fn figures(e: &Code) -> Value {
    json!({
        "code": e.name,
        "kind": e.kind.word(),
        "meaning": e.meaning,
        "computed": e.computed,
        "source": e.source,
        "remedy": e.remedy,
    })
}

fn words(e: &Code) -> String {
    let what = match e.kind {
        Kind::Check => "a check; its verdict is ok, watch or stop",
        Kind::Mistake => "a problem in the document",
    };
    let mut out = format!("{}: {what}\n\n{}", e.name, wrapped("", e.meaning));
    for (label, text) in [("computed", e.computed), ("source", e.source), ("what to do", e.remedy)] {
        out.push_str(&format!("\n{label}\n{}", wrapped("  ", text)));
    }
    if e.kind == Kind::Check {
        let how = format!("To build anyway: accept = [\"{}\"] in the document, or --accept {}.", e.name, e.name);
        out.push_str(&format!("\n{}", wrapped("", &how)));
    }
    out
}

fn wrapped(indent: &str, text: &str) -> String {
    let (mut out, mut line) = (String::new(), indent.to_owned());
    for word in text.split_whitespace() {
        if line.chars().count() + word.chars().count() >= WIDEST {
            out.push_str(line.trim_end());
            out.push('\n');
            line = indent.to_owned();
        }
        line.push_str(word);
        line.push(' ');
    }
    out + line.trim_end() + "\n"
}

fn listing() -> String {
    let widest = codes::all().map(|e| e.name.len()).max().unwrap_or(0);
    let mut out = String::new();
    for e in codes::all() {
        let head = format!("{:<widest$}  {:<7}  ", e.name, e.kind.word());
        let room = 140_usize.saturating_sub(head.len());
        let text: String = if e.meaning.chars().count() > room {
            e.meaning.chars().take(room.saturating_sub(3)).chain("...".chars()).collect()
        } else {
            e.meaning.to_owned()
        };
        out.push_str(&format!("{head}{text}\n"));
    }
    out + "\noverbend explain CODE prints how the value is computed, its source, and what to do.\n"
}
