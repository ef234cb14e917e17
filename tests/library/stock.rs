//! What is cut from what: sheets, bars and the list of parts of whole jobs.

use overbend::document::Document;
use overbend::run::{self, Outcome};
use serde_json::Value;

const LAKE_BOARD: &str = include_str!("../../examples/lake-board/job.toml");
const SLED_RUNNER: &str = include_str!("../../examples/sled-runner/job.toml");

fn built(text: &str, changes: &[(&str, &str)]) -> Outcome {
    let mut text = text.to_owned();
    for (from, to) in changes {
        assert!(text.contains(from), "`{from}` is not in the document");
        text = text.replacen(from, to, 1);
    }
    let job = Document::parse("test", &text).unwrap().job().unwrap_or_else(|p| panic!("{p:#?}"));
    run::build(&job).unwrap_or_else(|f| panic!("{f:#?}"))
}

fn text(outcome: &Outcome, name: &str) -> String {
    let file = outcome.files.iter().find(|f| f.name == name).unwrap_or_else(|| panic!("{name} is missing"));
    String::from_utf8(file.bytes.clone()).unwrap()
}

fn result(outcome: &Outcome) -> Value {
    serde_json::from_str(&text(outcome, "result.json")).unwrap()
}

fn names(outcome: &Outcome) -> Vec<&str> {
    outcome.files.iter().map(|f| f.name.as_str()).collect()
}

/// The document without what begins at `mark`.
fn without(text: &str, mark: &str) -> String {
    text[..text.find(mark).unwrap()].to_owned()
}

#[test]
fn without_stock_there_is_a_list_of_parts_and_no_sheet() {
    let outcome = built(&without(LAKE_BOARD, "[[stock]]"), &[]);
    assert!(names(&outcome).contains(&"cutlist.csv"));
    assert!(!names(&outcome).iter().any(|n| n.starts_with("sheet-") || *n == "cutting.csv"));
    assert!(result(&outcome).get("sheets").is_none());
}

#[test]
fn every_flat_part_lies_on_one_sheet_of_its_thickness() {
    let outcome =
        built(SLED_RUNNER, &[("height = 60\n", "height = 60\nthickness = 12\n"), ("thickness = 18\nheight", "height")]);
    // The cross members are thinner now and have no stock; the ribs' pieces have.
    let result = result(&outcome);
    let mut on_sheets: Vec<&str> = result["sheets"]
        .as_array()
        .unwrap()
        .iter()
        .flat_map(|s| s["parts"].as_array().unwrap())
        .map(|p| p.as_str().unwrap())
        .collect();
    on_sheets.sort_unstable();
    assert_eq!(on_sheets, ["rib-1a", "rib-1b", "rib-2a", "rib-2b", "rib-3a", "rib-3b", "rib-4a", "rib-4b"]);
    let drawn = text(&outcome, "sheet-01.svg");
    assert!(drawn.contains("id=\"rib-1a-outside-cut\"") && drawn.contains("id=\"sheet-note\""));
}

#[test]
fn sheets_and_bars_that_run_out_are_told() {
    let outcome = built(
        LAKE_BOARD,
        &[
            ("width = 1220\n", "width = 400\nquantity = 1\n"),
            ("stock = [{ length = 2000 }]", "stock = [{ length = 2000, quantity = 1 }]"),
        ],
    );
    let found: Vec<&str> = outcome.checks.iter().map(|c| c.code.name).collect();
    assert!(found.contains(&"sheets-short") && found.contains(&"bars-short"), "{found:?}");
    assert!(!outcome.stops());
    // Three ribs by pairs of hollows lie on 400 mm; the spacers still have their bars.
    let result = result(&outcome);
    assert_eq!(result["sheets"].as_array().unwrap().len(), 1);
    assert_eq!(result["cutting"].as_array().unwrap().len(), 1);
}

#[test]
fn the_list_of_parts_counts_and_weighs() {
    let outcome = built(LAKE_BOARD, &[]);
    let list = text(&outcome, "cutlist.csv");
    let row = |part: &str| -> Vec<String> {
        let line = list.lines().find(|l| l.contains(part)).unwrap_or_else(|| panic!("{part} is not listed:\n{list}"));
        line.split(',').map(str::to_owned).collect()
    };
    let ribs = row("rib-1 rib-2 rib-3 rib-4 rib-5 rib-6");
    assert_eq!((ribs[2].as_str(), ribs[3].as_str()), ("6", "birch plywood"));
    // Area over the sheet's is the utilisation; 680 kg/m3; less four holes of 11 mm in each rib.
    let sheet = &result(&outcome)["sheets"][0];
    let area = sheet["utilisation"].as_f64().unwrap() * 2440.0 * 1220.0;
    let holes = 6.0 * 4.0 * std::f64::consts::PI * 5.5 * 5.5;
    let weight = (area - holes) * 17.8 * 680e-9;
    assert!((ribs[10].parse::<f64>().unwrap() - weight).abs() < 0.002, "{} is not {weight}", ribs[10]);
    assert_eq!(row("spacer stock")[2], "20");
    assert_eq!(row("threaded rod")[2], "4");
    assert_eq!(row("nut and washer")[2], "8");
    assert_eq!(row("table skin")[6], "4.00");
}

#[test]
fn cuts_off_bars_add_up() {
    let outcome = built(LAKE_BOARD, &[]);
    let cuts = text(&outcome, "cutting.csv");
    assert!(cuts.contains("20 x 82.64"), "{cuts}");
    let spacers = &result(&outcome)["cutting"][0];
    assert_eq!((&spacers["for"], &spacers["bars"], &spacers["proven"]), (&"spacers".into(), &1.into(), &true.into()));
    // 20 x 82.64 mm and 19 cuts of 2.5 mm do not go on 1000 mm: the bar of 2400 mm is the least.
    assert_eq!(spacers["stock_mm"], 2400.0);
}
