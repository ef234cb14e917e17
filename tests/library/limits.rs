//! The limits that DEVELOPERS.md states, each gone beyond by one: refused with its number, at once, and nothing is made.

use overbend::document::{Document, Inputs};
use overbend::run;

const LAKE: &str = include_str!("../../examples/lake-board/job.toml");
const DEVELOPERS: &str = include_str!("../../DEVELOPERS.md");

/// The number that the page states in the row that begins with `what`.
#[track_caller]
fn stated(what: &str) -> usize {
    let row = DEVELOPERS.lines().find_map(|l| l.strip_prefix(&format!("| {what} | ")));
    row.unwrap_or_else(|| panic!("no row `{what}`")).trim_end_matches(" |").parse().unwrap()
}

/// What is said about a document, in checking or in building it.
fn said(text: &str) -> String {
    let words = |p: overbend::document::Problems| p.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n");
    let document = match Document::parse("job.toml", text) {
        Ok(document) => document,
        Err(problems) => return words(problems),
    };
    match document.job() {
        Err(problems) => words(problems),
        Ok(job) => run::build(&job).map_or_else(|f| words(document.problems(&f)), |_| "built".to_owned()),
    }
}

#[track_caller]
fn with(from: &str, to: &str) -> String {
    assert!(LAKE.contains(from), "`{from}` is not in the example");
    LAKE.replacen(from, to, 1)
}

/// `text` is refused for going beyond what the row states.
#[track_caller]
fn beyond(what: &str, text: impl Fn(usize) -> String) {
    let most = stated(what);
    let found = said(&text(most + 1));
    assert!(found.contains(&most.to_string()), "{what}: `{most}` is not in\n{found}");
    let codes = ["too-many", "out-of-range", "wrong-shape", "document-too-large", "not-drawable"];
    assert!(codes.iter().any(|code| found.contains(&format!("; {code})"))), "{what}:\n{found}");
    // At the limit itself nothing is said about it.
    let found = said(&text(most));
    assert!(!found.contains("too-many") && !found.contains("too large"), "{what}, at its limit:\n{found}");
}

fn list(count: usize, row: impl Fn(usize) -> String) -> String {
    (0..count).map(row).collect::<Vec<_>>().join(", ")
}

/// A document that says nothing right: its limits alone are looked at.
const ARC: &str = "[rocker.arc]\nheight = 45             # tip and tail stand this high with the middle on the floor";

#[test]
fn each_limit_of_the_document_is_the_one_that_is_stated() {
    beyond("job document, bytes", |n| format!("{LAKE}\n#{}", " ".repeat(n - LAKE.len() - 2)));
    beyond("layers of a stack, plies counted singly", |n| {
        with("plies = 2", &format!("plies = {}", n - 2)) + "[forecast]\ndraws = 0\n"
    });
    beyond("boards side by side", |n| {
        with("width = 400", &format!("width = 400\ncount = {n}")) + "[forecast]\ndraws = 0\n"
    });
    beyond("stations of a taper", |n| {
        let rows = list(n, |i| format!("[{}, 4]", i as f64 * 5.0 - 500.0));
        with("thickness = 4\n", &format!("taper = [{rows}]\n")) + "[forecast]\ndraws = 0\n"
    });
    beyond("stacks that are compared", |n| {
        let other =
            "[[alternatives]]\nname = \"o\"\n[[alternatives.layers]]\nmaterial = \"balsa\"\nthickness = 4\nplies = 2\n";
        format!("{LAKE}\n{}\n[forecast]\ndraws = 0\n", other.repeat(n))
    });
    beyond("own materials in one list", |n| {
        let one = |i| format!("[[materials]]\nname = \"m{i}\"\nlike = \"balsa\"\n");
        format!("{LAKE}\n{}\n[forecast]\ndraws = 0\n", (0..n).map(one).collect::<String>())
    });
    beyond("segments of a rocker", |n| {
        with(ARC, &format!("[rocker.segments]\nparts = [{}]", list(n, |_| "{ flat = { length = 6.7 } }".to_owned())))
    });
    beyond("points of a listed curvature", |n| {
        let rows = list(n, |i| format!("{{ station = {}, curvature = 0.2 }}", 1340.0 * i as f64 / (n - 1) as f64));
        with(ARC, &format!("[rocker.curve]\npoints = [{rows}]")) + "[forecast]\ndraws = 0\n"
    });
    beyond("readings of a board", |n| {
        let rows = list(n, |i| format!("[{}, 10]", 1340.0 * i as f64 / (n - 1) as f64));
        with(ARC, &format!("[rocker.measured]\nerror = 1\nreadings = [{rows}]")) + "[forecast]\ndraws = 0\n"
    });
    let bag = "[pressing.vacuum]\npressure = \"85 kPa\"";
    beyond("clamps", |n| with(bag, &format!("[pressing.clamps]\ncount = {n}\nforce = \"50 N\"")));
    beyond("ribs", |n| with("pitch = 110\nthickness = 17.8 ", &format!("count = {n}\nthickness = 1 ")));
    beyond("rods", |n| with("count = 4", &format!("count = {n}")));
    let rods = "[table.rods]\ndiameter = \"10 mm\"\ncount = 4";
    beyond("members across", |n| {
        with(rods, &format!("[table.cross_members]\ncount = {n}\nthickness = 2\nheight = 30"))
    });
    let deck = include_str!("../../examples/street-deck/job.toml");
    beyond("thicknesses of packing", |n| {
        let sizes = list(n, |i| format!("\"{} mm\"", 0.5 + 0.1 * i as f64));
        deck.replacen("packing = [\"1/16 in\", \"1/32 in\", \"1/64 in\"]", &format!("packing = [{sizes}]"), 1)
    });
    beyond("kinds of sheets, kinds of bars", |n| {
        LAKE.to_owned()
            + &"[[stock]]\nlength = 2000\nwidth = 1000\nthickness = 9\n".repeat(n - 1)
            + "[forecast]\ndraws = 0\n"
    });
    let draws = stated("simulated boards");
    let found = said(&format!("{LAKE}\n[forecast]\ndraws = {}\n", draws + 1));
    assert!(found.contains("; out-of-range)") && found.contains(&draws.to_string()), "{found}");
}

#[test]
fn work_that_grows_with_several_numbers_is_bounded_by_their_product() {
    // Layers times metres of blank times boards.
    let work = stated("simulated boards times layers times metres of blank") as f64;
    let most = (work / (4.0 * 1.46) / 100.0).floor() * 100.0;
    let found = said(&format!("{LAKE}\n[forecast]\ndraws = {}\n", most + 100.0));
    assert!(found.contains("; too-many)") && found.contains(&format!("draws = {most}")), "{found}");
    // Ticks and holes on all ribs.
    let drawn = stated("ticks, holes, slots and windows on all ribs together");
    let ribs = with("pitch = 110\nthickness = 17.8 ", "count = 450\nthickness = 1 ");
    let found = said(&(ribs.replace("station_pitch = 100", "station_pitch = 5") + "[forecast]\ndraws = 0\n"));
    assert!(found.contains("; too-many)") && found.contains(&drawn.to_string()), "{found}");
    // Sheets of paper of many ribs, none of which is like another.
    let sheets = stated("sheets of paper in one file of patterns");
    let hollow = with("pitch = 110\nthickness = 17.8 ", "count = 150\nthickness = 2 ")
        .replace("[table.ribs]", "[table.concave]\nradius = 3000\n[table.ribs]");
    let small = "[files]\npaper_width = 135\npaper_height = 135\n[forecast]\ndraws = 0\n";
    let found = said(&(hollow + small));
    assert!(found.contains("; not-drawable)") && found.contains(&sheets.to_string()), "{found}");
}

#[test]
fn a_kilometre_of_board_gets_a_hint_and_no_million_pages() {
    let longest = stated("any length, mm");
    let found = said(&with("length = 1340", "length = \"1340 m\""));
    assert!(found.contains("was \"1340 mm\" meant?") && found.contains(&longest.to_string()), "{found}");
    let found = said(&with("units = \"mm\"", "units = \"in\""));
    assert!(found.contains("was \"1340 mm\" meant?"), "{found}");
}

#[test]
fn the_file_of_boards_has_its_own_limits() {
    use overbend::document::shop;
    let most = stated("boards in it");
    let found = shop::read("shop.toml", &"[[board]]\n".repeat(most + 1)).unwrap_err();
    let named = |p: &overbend::document::Problem| {
        p.fault.code.name == "too-many" && p.fault.remedy().contains(&most.to_string())
    };
    assert!(found.iter().any(named));
    assert_eq!(shop::LARGEST, stated("file of boards, bytes"));
}

#[test]
fn nesting_a_hundred_thousand_deep_is_a_mistake_and_no_overflow() {
    for (open, close) in [("[", "]"), ("{ a = ", " }")] {
        let deep = format!("title = {}1{}\n", open.repeat(100_000), close.repeat(100_000));
        assert!(said(&deep).contains("; syntax)"), "{open}");
    }
    let dotted = format!("{}a = 1\n", "a.".repeat(100_000));
    assert_ne!(said(&dotted), "built");
}

#[test]
fn a_drawn_profile_may_have_as_many_lines_as_is_stated() {
    let most = stated("lines, arcs and splines of a drawn profile");
    let said_of = |lines: usize| {
        let at = |i: usize| -670.0 + 1340.0 * i as f64 / lines as f64;
        let points: Vec<String> = (0..=lines).map(|i| format!("{:.6},{:.9}", at(i), -1e-4 * at(i).powi(2))).collect();
        let svg = format!(
            "<svg xmlns='http://www.w3.org/2000/svg' width='2000mm' height='200mm' viewBox='0 0 2000 200'>\
             <polyline points='{}'/></svg>",
            points.join(" ")
        );
        let text = with(ARC, "[rocker.drawing]\nfile = \"base.svg\"");
        let document = Document::parse("job.toml", &text).unwrap();
        let mut inputs = Inputs::default();
        inputs.add("base.svg", Ok(svg.into_bytes()));
        let wanted = document.wanted_with(&inputs).unwrap();
        run::target(&wanted).map_or_else(|faults| faults.to_string(), |_| "a profile".to_owned())
    };
    let found = said_of(most + 1);
    assert!(found.contains("drawing-too-long") && found.contains(&most.to_string()), "{found}");
    let found = said_of(most);
    assert!(!found.contains("drawing-too-long"), "{found}");
}

#[test]
fn a_sweep_takes_as_many_variations_as_stated() {
    assert_eq!(stated("variations of one run of a sweep"), run::MOST_VARIATIONS);
    let sweep = |count: usize| {
        // More steps of one key than allowed are refused where they are read; two keys go beyond it together.
        let vary = [format!("board.length=1000..{}/1", 999 + count / 2), "board.width=400..401/1".to_owned()];
        let vary: Vec<run::Vary> = vary.iter().map(|v| v.parse().unwrap()).collect();
        run::sweep(("job", LAKE), &Inputs::default(), &vary, run::SweepPart::WHOLE, &|_| ())
    };
    let said = sweep(run::MOST_VARIATIONS + 2).unwrap_err().to_string();
    assert!(said.contains(&format!("at most {}", run::MOST_VARIATIONS)), "{said}");
}
