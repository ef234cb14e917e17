//! Boards side by side on one table: what grows with their number, and what must not change.

use overbend::document::Document;
use overbend::run::{self, Outcome};
use serde_json::Value;

const LAKE: &str = include_str!("../../examples/lake-board/job.toml");
/// Two gaps of 20 mm are what the shop does not say.
const THREE: &str = "width = 400\ncount = 3\n";

fn built(changes: &[(&str, &str)]) -> Outcome {
    let mut text = format!("{LAKE}\n[forecast]\ndraws = 0\n");
    for (from, to) in changes {
        assert!(text.contains(from), "{from} is not in the example");
        text = text.replacen(from, to, 1);
    }
    let document = Document::parse("job", &text).unwrap_or_else(|p| panic!("{p:#?}"));
    run::build(&document.job().unwrap_or_else(|p| panic!("{p:#?}"))).unwrap_or_else(|f| panic!("{f:#?}"))
}

fn result(outcome: &Outcome) -> Value {
    serde_json::from_slice(&outcome.files.iter().find(|f| f.name == "result.json").unwrap().bytes).unwrap()
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("{value} is not a number"))
}

#[track_caller]
fn near(found: &Value, expected: f64) {
    let found = number(found);
    assert!((found - expected).abs() < 1e-6 * expected.abs().max(1.0), "{found} is not {expected}");
}

#[test]
fn three_boards_press_three_times_as_hard_on_a_table_as_wide_as_all_and_bend_as_one_does() {
    let (one, three) = (result(&built(&[])), result(&built(&[("width = 400\n", THREE)])));
    assert_eq!(one["boards"], Value::Null);
    let boards = &three["boards"];
    assert_eq!(boards["count"], 3);
    near(&boards["over_all_mm"], 1240.0);
    let middles: Vec<f64> = boards["middles_mm"].as_array().unwrap().iter().map(number).collect();
    assert_eq!(middles, [-420.0, 0.0, 420.0]);
    // The curve and its board are those of one strip.
    for same in ["target", "table", "released", "stack"] {
        assert_eq!(one[same], three[same], "{same}");
    }
    let pressed = |of: &Value, key: &str| of["pressed"][key].clone();
    near(&pressed(&three, "closing_force_n"), 3.0 * number(&pressed(&one, "closing_force_n")));
    near(&pressed(&three, "pressure_kpa"), number(&pressed(&one, "pressure_kpa")));
    let load = |of: &Value, key: &str| of["pressed"]["table_load"][key]["value"].clone();
    for key in ["push_n_per_mm", "moment_n_m"] {
        near(&load(&three, key), 3.0 * number(&load(&one, key)));
    }
    // 60 mm of table at each side; nine ribs keep the pitch of 110 mm over 520 mm, one rib and 1342 mm more.
    let ribs = three["ribs"].as_array().unwrap();
    let outer = [&ribs[0], &ribs[ribs.len() - 1]].map(|r| number(&r["y_mm"]));
    assert!((outer[1] - outer[0] + 17.8 - 1360.0).abs() < 1e-6, "{outer:?}");
    near(&three["consumables"]["film"]["width_mm"], number(&one["consumables"]["film"]["width_mm"]) + 840.0);
}

#[test]
fn the_gap_moves_boards_apart_and_nothing_else() {
    let boards = |gap: &str| result(&built(&[("width = 400\n", &format!("width = 400\ncount = 2\ngap = {gap}\n"))]));
    let (near_by, apart) = (boards("10"), boards("\"9 cm\""));
    assert_eq!(near_by["boards"]["middles_mm"], serde_json::json!([-205.0, 205.0]));
    assert_eq!(apart["boards"]["middles_mm"], serde_json::json!([-245.0, 245.0]));
    near(&near_by["pressed"]["closing_force_n"], number(&apart["pressed"]["closing_force_n"]));
}

#[test]
fn the_outline_of_each_board_is_marked_on_the_table_skin_and_one_template_serves_them_all() {
    let outline = "[board.outline]\npoints = [[-670, 0], [-400, 400], [0, 360], [400, 400], [670, 0]]\n\n[rocker.arc]";
    let outcome = built(&[("width = 400\n", THREE), ("[rocker.arc]", outline)]);
    let file = |name: &str| &outcome.files.iter().find(|f| f.name == name).unwrap().bytes;
    let text = |name: &str| std::str::from_utf8(file(name)).unwrap();
    // Closed marks on the skin: outline and blank of each board; on the blank its outline alone.
    let plan = text("plan.svg");
    let marked = plan.split("<g ").filter(|g| g.contains("id=\"skin\"")).count();
    assert!(marked > 0, "{plan}");
    assert_eq!(plan.matches("BLANK, 3 ALIKE").count(), 1);
    assert_eq!(text("cutlist.csv").matches("template").count(), 1);
    let book = text("book.html");
    assert!(book.contains("3 boards side by side, 20.0 mm apart, each 1340.0 mm long"), "{book}");
    assert!(book.contains("board 3: tip, right") && book.contains("for each of 3 boards"));
    assert!(outcome.summary.contains("3 side by side, 20.0 mm apart, 1240.0 mm over all"), "{}", outcome.summary);
}
