//! The questions of `overbend new`: the answers go into a starter, which keeps its comments.
//!
//! Every answer is tried in the document at once, so what a key takes is known in one place only: the parser.

use std::io::{self, BufRead, Write};

use overbend::document::{Document, STARTERS, Starter, in_unit, value_in, with_values};

/// A document from answers.
#[derive(Debug)]
pub(crate) struct Answered {
    /// Name of the file.
    pub(crate) name: String,
    /// The document.
    pub(crate) text: String,
}

/// A question and the keys that its answer goes behind. The first of them tells the usual answer.
struct Question {
    words: &'static str,
    paths: &'static [&'static str],
}

const fn question(words: &'static str, paths: &'static [&'static str]) -> Question {
    Question { words, paths }
}

const BOARD: [Question; 3] = [
    question("What is the board called?", &["title"]),
    question("How long is it, finished?", &["board.length"]),
    question("How wide?", &["board.width"]),
];
const TWIN_TIP: [Question; 6] = [
    question("Height of tip and tail, with the middle on the floor?", &["rocker.arc.height"]),
    question("Material of the skins?", &["layers[0].material", "layers[2].material"]),
    question("Thickness of each skin?", &["layers[0].thickness", "layers[2].thickness"]),
    question("Material of the core?", &["layers[1].material"]),
    question("Thickness of each ply of the core?", &["layers[1].thickness"]),
    question("How many plies has the core?", &["layers[1].plies"]),
];
const RUNNER: [Question; 5] = [
    question("Radius of the bend at the front?", &["rocker.segments.parts[2].arc.radius"]),
    question("Length of that bend?", &["rocker.segments.parts[2].arc.length"]),
    question("Material of the laminations?", &["layers[0].material"]),
    question("Thickness of each one?", &["layers[0].thickness"]),
    question("How many?", &["layers[0].plies"]),
];
const LONG_BOARD: [Question; 8] = [
    question("Height of the camber?", &["rocker.segments.parts[2].camber.height"]),
    question("Radius of the tip's kick?", &["rocker.segments.parts[4].arc.radius"]),
    question("Radius of the tail's kick?", &["rocker.segments.parts[0].arc.radius"]),
    question("Material of the skins?", &["layers[0].material", "layers[2].material"]),
    question("Thickness of each skin?", &["layers[0].thickness", "layers[2].thickness"]),
    question("Material of the core?", &["layers[1].material"]),
    question(
        "Thickness of each ply of the core that tapers, in the middle?",
        &["layers[1].taper[2][1]", "layers[1].taper[3][1]"],
    ),
    question("Thickness of its upper ply, which does not taper?", &["layers[1].thickness"]),
];
const PANEL: [Question; 4] = [
    question("Radius of the curve?", &["rocker.arc.radius"]),
    question("Material of the veneers?", &["layers[0].material"]),
    question("Thickness of each one?", &["layers[0].thickness"]),
    question("How many?", &["layers[0].plies"]),
];
const DECK: [Question; 5] = [
    question("Angle of the tail's kick, degrees?", &["rocker.segments.parts[0].arc.angle"]),
    question("Angle of the nose's kick, degrees?", &["rocker.segments.parts[8].arc.angle"]),
    question("Material of the veneers?", &["layers[0].material"]),
    question("Thickness of each one?", &["layers[0].thickness"]),
    question("How many?", &["layers[0].plies"]),
];

/// Asks until every answer is one that the document takes; an empty answer keeps what stands in brackets.
///
/// # Errors
/// When there are no more answers, or the questions cannot be shown.
pub(crate) fn ask(starter: Option<&str>, answers: &mut dyn BufRead, out: &mut dyn Write) -> io::Result<Answered> {
    writeln!(out, "Press Enter to take the value in brackets. Lengths may have a unit: 55 in, 0.8 mm, 1/2 in.")?;
    let starter = match starter.and_then(Starter::find) {
        Some(starter) => starter,
        None => {
            STARTERS.iter().try_for_each(|s| writeln!(out, "  {:<11} {}", s.name, s.what))?;
            kind_of(answers, out)?
        }
    };
    let usual = value_in(starter.text, "units").map_or("mm", |u| u.trim_matches('"'));
    let unit = one_of("Do bare lengths mean mm or in?", &["mm", "in"], usual, answers, out)?;
    let mut text = in_unit(starter.text, &unit);
    let layers: &[Question] = match starter.name {
        "runner" => &RUNNER,
        "deck" => &DECK,
        "long-board" => &LONG_BOARD,
        "panel" => &PANEL,
        _ => &TWIN_TIP,
    };
    for question in BOARD.iter().chain(layers) {
        text = answered(&text, question, answers, out)?;
    }
    text = machine(text, &unit, answers, out)?;
    text = paper(text, &unit, answers, out)?;
    let title = value_in(&text, "title").unwrap_or_default().trim_matches('"').to_lowercase();
    let words: Vec<&str> = title.split(|c: char| !c.is_alphanumeric()).filter(|w| !w.is_empty()).collect();
    let name = line(&format!("Name of the document? [{}.toml]", words.join("-")), answers, out)?;
    let name = if name.is_empty() { words.join("-") } else { name };
    Ok(Answered { name, text })
}

fn line(words: &str, answers: &mut dyn BufRead, out: &mut dyn Write) -> io::Result<String> {
    write!(out, "{words} ")?;
    out.flush()?;
    let mut answer = String::new();
    if answers.read_line(&mut answer)? == 0 {
        writeln!(out)?;
        return Err(io::Error::new(io::ErrorKind::UnexpectedEof, "the answers ended"));
    }
    Ok(answer.trim().to_owned())
}

fn one_of(
    words: &str,
    choices: &[&str],
    usual: &str,
    answers: &mut dyn BufRead,
    out: &mut dyn Write,
) -> io::Result<String> {
    loop {
        let answer = line(&format!("{words} {} [{usual}]", choices.join(", ")), answers, out)?;
        if answer.is_empty() {
            return Ok(usual.to_owned());
        }
        if choices.contains(&answer.as_str()) {
            return Ok(answer);
        }
        writeln!(out, "  Answer one of {}.", choices.join(", "))?;
    }
}

/// The starter that is wanted, by its name or another word for it.
fn kind_of(answers: &mut dyn BufRead, out: &mut dyn Write) -> io::Result<Starter> {
    loop {
        let answer = line(&format!("What kind of board, or what else is bent? [{}]", STARTERS[0].name), answers, out)?;
        if answer.is_empty() {
            return Ok(STARTERS[0]);
        }
        if let Some(starter) = Starter::find(&answer) {
            return Ok(starter);
        }
        match Starter::nearest(&answer) {
            Some(near) => writeln!(out, "  There is no {answer}. Was {near} meant?")?,
            None => writeln!(out, "  There is no {answer}. Answer with a name from the list.")?,
        }
    }
}

/// An answer as TOML: a plain number as it is, all else as a text.
fn toml(answer: &str) -> String {
    let plain = answer.parse::<f64>().is_ok() && answer.starts_with(|c: char| c.is_ascii_digit() || c == '-');
    if plain { answer.to_owned() } else { serde_json::Value::from(answer).to_string() }
}

/// What is wrong with the document at one of these keys.
fn wrong(text: &str, paths: &[&str]) -> Option<String> {
    let problems = match Document::parse("", text) {
        Ok(document) => document.job().err().unwrap_or_default(),
        Err(problems) => problems,
    };
    let here = problems.into_iter().find(|p| p.fault.path.is_empty() || paths.contains(&p.fault.path.as_str()))?;
    Some(format!("{} {}", here.fault.message(), here.fault.remedy()))
}

fn answered(text: &str, question: &Question, answers: &mut dyn BufRead, out: &mut dyn Write) -> io::Result<String> {
    let usual = value_in(text, question.paths[0]).unwrap_or_default().trim_matches('"').to_owned();
    loop {
        let answer = line(&format!("{} [{usual}]", question.words), answers, out)?;
        if answer.is_empty() {
            return Ok(text.to_owned());
        }
        let values: Vec<(String, String)> = question.paths.iter().map(|p| ((*p).to_owned(), toml(&answer))).collect();
        let changed = with_values(text, &values);
        match wrong(&changed, question.paths) {
            None => return Ok(changed),
            Some(why) => writeln!(out, "  {why}")?,
        }
    }
}

/// The document with a key of [table] or [files]: behind the others of its table, or with a table of its own at the end.
fn with_key(text: &str, table: &str, key: &str, value: &str) -> String {
    let path = format!("{table}.{key}");
    if value_in(text, &path).is_some() {
        return with_values(text, &[(path, value.to_owned())]);
    }
    let heading = format!("[{table}]");
    let mut out = String::new();
    let mut put = false;
    for line in text.lines() {
        out.push_str(line);
        out.push('\n');
        if !put && line.split('#').next().is_some_and(|l| l.trim() == heading) {
            out.push_str(&format!("{key} = {value}\n"));
            put = true;
        }
    }
    if !put {
        out.push_str(&format!("\n{heading}\n{key} = {value}\n"));
    }
    out
}

fn machine(text: String, unit: &str, answers: &mut dyn BufRead, out: &mut dyn Write) -> io::Result<String> {
    let words = "What cuts the parts?";
    let (table, key, words, usual) = match one_of(words, &["router", "laser", "saw"], "saw", answers, out)?.as_str() {
        "router" => ("table", "cutter", "Diameter of its cutter?", if unit == "in" { "1/4 in" } else { "6" }),
        "laser" => ("files", "kerf", "Width of its cut?", if unit == "in" { "0.008 in" } else { "0.2" }),
        _ => return Ok(text),
    };
    let path = format!("{table}.{key}");
    loop {
        let answer = line(&format!("{words} [{usual}]"), answers, out)?;
        let answer = if answer.is_empty() { usual.to_owned() } else { answer };
        let changed = with_key(&text, table, key, &toml(&answer));
        match wrong(&changed, &[&path, "nesting.gap"]) {
            None => return Ok(changed),
            Some(why) => writeln!(out, "  {why}")?,
        }
    }
}

fn paper(text: String, unit: &str, answers: &mut dyn BufRead, out: &mut dyn Write) -> io::Result<String> {
    let usual = if unit == "in" { "letter" } else { "a4" };
    loop {
        let words = format!("Paper for full-size patterns: a0 to a4, letter, legal, tabloid, none? [{usual}]");
        let answer = line(&words, answers, out)?;
        let answer = if answer.is_empty() { usual.to_owned() } else { answer };
        let changed = with_key(&text, "files", "paper", &toml(&answer));
        match wrong(&changed, &["files.paper"]) {
            None => return Ok(changed),
            Some(why) => writeln!(out, "  {why}")?,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn asked(starter: Option<&str>, answers: &str) -> (io::Result<Answered>, String) {
        let mut out = Vec::new();
        let answered = ask(starter, &mut answers.as_bytes(), &mut out);
        (answered, String::from_utf8(out).unwrap())
    }

    fn job(answered: &Answered) -> overbend::job::Job {
        let found = Document::parse("new", &answered.text).unwrap().job();
        found.unwrap_or_else(|p| panic!("{p:?}\n{}", answered.text))
    }

    #[test]
    fn empty_answers_give_each_starter_as_it_is_but_for_its_paper() {
        for starter in STARTERS {
            let (answered, _) = asked(Some(starter.name), &"\n".repeat(20));
            let answered = answered.unwrap();
            let plain = Document::parse("starter", starter.text).unwrap().job().unwrap();
            let job = job(&answered);
            assert_eq!((job.layers, job.rocker, job.board), (plain.layers, plain.rocker, plain.board));
            assert!(answered.text.lines().filter(|l| l.contains('#')).count() > 10, "the comments are gone");
        }
    }

    #[test]
    fn answers_stand_in_the_document_and_wrong_ones_are_asked_again() {
        let answers = "twin-tip\nin\nDay board\n55 parsecs\n55\n16 1/2 in\n2\nglas fabric\nglass fabric\n0.03\n\n0.16 in\n2.5\n2\n\
                       router\n\na3\nmine\n";
        let (answered, said) = asked(None, answers);
        let answered = answered.unwrap();
        let job = job(&answered);
        assert_eq!((answered.name.as_str(), job.title.as_str()), ("mine", "Day board"));
        assert!((job.board.length_mm - 55.0 * 25.4).abs() < 1e-9 && (job.board.width_mm - 16.5 * 25.4).abs() < 1e-9);
        assert!((job.table.cutting.cutter_mm - 6.35).abs() < 1e-9);
        assert_eq!(job.layers.len(), 4);
        assert_eq!(job.files.sheets.unwrap().name, "a3");
        for word in ["parsecs", "glass fabric", "whole number"] {
            assert!(said.contains(word), "{said}");
        }
    }

    #[test]
    fn another_word_for_a_thing_begins_with_its_starter() {
        let (answered, said) = asked(None, &format!("surfbord\nskis\n{}", "\n".repeat(20)));
        assert_eq!(job(&answered.unwrap()).title, "My long board");
        for starter in STARTERS {
            assert!(said.contains(starter.what), "{said}");
        }
        assert!(said.contains("There is no surfbord."), "{said}");
    }

    #[test]
    fn answers_that_end_early_give_nothing() {
        assert_eq!(asked(None, "runner\nmm\n").0.unwrap_err().kind(), io::ErrorKind::UnexpectedEof);
    }
}
