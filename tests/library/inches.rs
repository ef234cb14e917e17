//! A shop that reads inches gets nothing in millimetres, newtons or kilopascals.
//!
//! Every length, force, pressure and temperature is converted, also one that was typed in another unit; only the job's
//! own texts (titles, names) stand as they were typed. Files for other programs (`result.json`, listings) carry
//! millimetres and inches side by side, with the unit in the key or column.

use std::fs;

use overbend::document::Document;
use overbend::finding::Held;
use overbend::job::Job;
use overbend::run::{self, Outcome};
use overbend::units::{LengthUnit, Quantity};

use crate::documents::{bad_documents, problems_in};

fn job(name: &str) -> Job {
    let text = fs::read_to_string(format!("{}/examples/{name}/job.toml", env!("CARGO_MANIFEST_DIR"))).unwrap();
    Document::parse("job", &text).unwrap_or_else(|p| panic!("{p:#?}")).job().unwrap_or_else(|p| panic!("{p:#?}"))
}

fn built(job: &Job) -> Outcome {
    run::build(job).unwrap_or_else(|f| panic!("{f:#?}"))
}

/// What stands between tags, and the words of a drawing.
fn words(html: &str) -> String {
    let mut out = String::new();
    let mut inside = false;
    for part in html.split_inclusive(['<', '>']) {
        let tag_begins = part.ends_with('<');
        if !inside {
            out.push_str(part.trim_end_matches('<'));
            out.push(' ');
        }
        inside = tag_begins;
    }
    out
}

/// Metric units that follow a number, and millimetres in words.
fn metric(text: &str) -> Vec<String> {
    let pieces: Vec<&str> = text.split_whitespace().collect();
    let is_number = |word: &str| word.trim_start_matches(['(', '-', '±']).starts_with(|c: char| c.is_ascii_digit());
    let bare = |word: &str| word.trim_end_matches(['.', ',', ';', ':', ')']).to_owned();
    let units = ["mm", "N", "kN", "kPa", "MPa", "GPa", "N/mm", "g", "m", "m2", "m²", "g/m²", "g/m2", "K", "°C", "1/m"];
    let in_words = pieces.iter().filter(|w| w.contains("millimet")).map(|w| (*w).to_owned());
    let behind_number = pieces.windows(2).filter(|w| is_number(w[0]) && units.contains(&bare(w[1]).as_str()));
    behind_number.map(|w| w.join(" ")).chain(in_words).collect()
}

fn holds(name: &str, outcome: &Outcome) {
    assert_eq!(metric(&outcome.summary), [""; 0], "summary of {name}");
    for check in &outcome.checks {
        let said = [check.subject.text(outcome.unit), check.remedy.text(outcome.unit), check.code.source.to_owned()];
        let held = check.held.map(|h| h.words(outcome.unit)).unwrap_or_default();
        assert_eq!(metric(&format!("{} {} {}", said.join(" "), held.0, held.1)), [""; 0], "{}", check.code.name);
    }
    let mut seen = 0;
    for file in &outcome.files {
        let ending = file.name.rsplit('.').next().unwrap_or_default();
        if !["html", "svg", "dxf"].contains(&ending) {
            continue;
        }
        seen += 1;
        let text = String::from_utf8_lossy(&file.bytes);
        let text = if ending == "dxf" { text.into_owned() } else { words(&text) };
        // The sizes of an SVG's page are in its tags.
        assert_eq!(metric(&text), [""; 0], "{} of {name}", file.name);
    }
    assert!(seen >= 3, "{name} has only {seen} files with words");
}

#[test]
fn the_inch_example_says_nothing_in_metric_units() {
    holds("street-deck", &built(&job("street-deck")));
}

#[test]
fn a_job_in_millimetres_whose_shop_reads_inches_says_nothing_in_metric_units() {
    let mut job = job("lake-board");
    job.unit = LengthUnit::Inch { denominator: 64 };
    holds("lake-board in inches", &built(&job));
}

/// The words of a fault without what it quotes from the document.
fn unquoted(text: &str) -> String {
    let own = |mark| move |text: String| text.split(mark).step_by(2).collect::<Vec<_>>().join(" ");
    own('"')(own('`')(text.to_owned()))
}

#[test]
fn no_fault_of_a_shop_that_reads_inches_is_told_in_metric_units() {
    let inch = LengthUnit::Inch { denominator: 64 };
    let (mut faults, mut metric_words) = (0, Vec::new());
    for (name, text) in bad_documents() {
        // The same job for a shop that reads inches, and a document whose bare numbers are inches.
        let in_inches = format!("units = \"in\"\n{}", text.replace("units = \"mm\"\n", ""));
        for found in [problems_in(&name, &text, Some(inch)), problems_in(&name, &in_inches, None)] {
            for problem in found.iter().filter(|p| p.fault.unit == inch) {
                faults += 1;
                let fault = &problem.fault;
                let found = metric(&unquoted(&format!("{} {}", fault.message(), fault.remedy())));
                if !found.is_empty() {
                    metric_words.push(format!("{name}: {found:?} {problem}"));
                }
            }
        }
    }
    assert!(faults > 150, "only {faults} faults");
    assert!(metric_words.is_empty(), "{metric_words:#?}");
}

#[test]
fn a_value_over_its_limit_is_shown_so_in_every_unit() {
    for unit in [LengthUnit::Millimetre, LengthUnit::Inch { denominator: 64 }] {
        let held = Held::at_most(Quantity::fine(0.050_000_4), Quantity::fine(0.05));
        let (value, limit) = held.words(unit);
        let limit = limit.strip_prefix("at most ").unwrap();
        assert_ne!(value, limit);
        assert!(!held.is_kept());
    }
    assert_eq!(Quantity::force(0.4).text(LengthUnit::Millimetre), "0.4 N");
    assert_eq!(Quantity::fine(0.002).text(LengthUnit::Millimetre), "0.002 mm");
}
