//! Tables that cannot be built from what the document asks: the build says which key, and what would be right.

use overbend::document::Document;
use overbend::finding::Verdict;
use overbend::run;

const LAKE_BOARD: &str = include_str!("../../examples/lake-board/job.toml");

/// What the build of a document says: codes and keys of what it refuses.
fn refused(text: &str) -> Vec<(&'static str, String)> {
    let document = Document::parse("job.toml", text).unwrap_or_else(|p| panic!("{p:#?}"));
    let job = document.job().unwrap_or_else(|p| panic!("{p:#?}"));
    let faults = run::build(&job).err().unwrap_or_default();
    for fault in &faults {
        assert!(!fault.message().is_empty() && !fault.remedy().is_empty(), "{fault:?}");
    }
    // What is unusual in the document stands beside every refusal; here only the refusals count.
    faults.into_iter().filter(|f| f.code.name != "likely-cause").map(|f| (f.code.name, f.path)).collect()
}

/// The lake board with lines changed.
fn changed(changes: &[(&str, &str)]) -> String {
    changes.iter().fold(LAKE_BOARD.to_owned(), |text, (from, to)| {
        assert!(text.contains(from), "`{from}` is not in the document");
        text.replacen(from, to, 1)
    })
}

/// The lake board with tables before its rods, on ribs of so many millimetres at their lowest place.
fn with_tables(lowest_mm: u32, tables: &str) -> String {
    changed(&[
        ("lowest_height = 60", &format!("lowest_height = {lowest_mm}")),
        ("[table.rods]", &format!("{tables}\n[table.rods]")),
    ])
}

/// The lake board on bearers instead of ribs.
fn on_bearers(lines: &str) -> String {
    let start = LAKE_BOARD.find("[table.ribs]").unwrap();
    format!("{}[table.bearers]\n{lines}\n", &LAKE_BOARD[..start])
}

#[track_caller]
fn only(text: &str, code: &str, path: &str) {
    let found = refused(text);
    assert!(!found.is_empty(), "nothing is refused where `{code}` was expected");
    for (found_code, found_path) in &found {
        assert_eq!((*found_code, found_path.as_str()), (code, path), "{found:?}");
    }
}

#[test]
fn cross_members_without_room_are_refused_at_their_key() {
    let members = |lines: &str| with_tables(90, &format!("[table.cross_members]\nthickness = 17.8\n{lines}"));
    assert_eq!(refused(&members("count = 4\nheight = 44")), []);
    let at = "table.cross_members.stations[1]";
    only(&members("stations = [0, 5000]\nheight = 44"), "cross-member-outside", at);
    only(&members("stations = [-5000, 0]\nheight = 44"), "cross-member-outside", "table.cross_members.stations[0]");
    only(&members("stations = [0]\nheight = 150"), "cross-member-too-high", "table.cross_members.height");
    only(&members("stations = [0, 20]\nheight = 44"), "cross-members-meet", "table.cross_members");
    let cutter = changed(&[
        ("lowest_height = 60", "lowest_height = 90"),
        ("station_pitch = 100", "station_pitch = 100\ncutter = 20"),
        (
            "[table.rods]",
            "[table.cross_members]\ncount = 3\nthickness = 17.8\nheight = 44\nrelief = \"none\"\n[table.rods]",
        ),
    ]);
    only(&cutter, "cutter-too-large", "table.cutter");
}

#[test]
fn slots_without_room_for_the_cutters_reliefs_are_refused_at_the_relief() {
    let slots = |relief: &str, rib_mm: f64, height_mm: u32| {
        let members = format!(
            "[table.cross_members]\ncount = 3\nthickness = 17.8\nheight = {height_mm}\nrelief = \"{relief}\"\n[table.rods]"
        );
        changed(&[
            ("lowest_height = 60", "lowest_height = 90"),
            ("station_pitch = 100", "station_pitch = 100\ncutter = 6"),
            ("thickness = 17.8", &format!("thickness = {rib_mm}")),
            ("[table.rods]", &members),
        ])
    };
    assert_eq!(refused(&slots("tee", 17.8, 44)), []);
    assert_eq!(refused(&slots("bone", 17.8, 44)), []);
    let at = "table.cross_members.relief";
    // The ribs' slots are half as deep as the members are high: no deeper than the cutter is wide.
    only(&slots("tee", 17.8, 11), "relief-too-large", at);
    // The members' slots are as wide as the ribs are thick: two rounds of the cutter meet in them.
    only(&slots("bone", 8.0, 44), "relief-too-large", at);
    assert_eq!(refused(&slots("none", 8.0, 44)), []);
}

#[test]
fn ribs_no_higher_than_their_feet_are_refused() {
    let feet = |height: u32| with_tables(40, &format!("[table.ribs.feet]\nlength = 60\nheight = {height}"));
    assert_eq!(refused(&feet(5)), []);
    only(&feet(45), "impossible-geometry", "table.ribs");
}

#[test]
fn rods_near_an_edge_are_refused_at_what_puts_them_there() {
    let rods = |lines: &str| changed(&[("count = 4", lines)]);
    let message = |text: &str| {
        let job = Document::parse("job.toml", text).unwrap().job().unwrap();
        run::build(&job).map(|_| ()).unwrap_err().remove(0).message()
    };
    assert_eq!(refused(&rods("count = 4\nheight = 20")), []);
    // A hole of 11 mm keeps 16.5 mm from its centre; at 5 mm it breaks the edge.
    only(&rods("count = 4\nheight = 9"), "rod-hole-edge", "table.rods.height");
    assert!(message(&rods("count = 4\nheight = 9")).ends_with(" mm high, comes too near an edge."));
    only(&rods("count = 4\nheight = 5"), "rod-hole-outside", "table.rods.height");
    assert!(message(&rods("count = 4\nheight = 5")).ends_with(" mm high, lies outside the rib or breaks its edge."));
    let listed = refused(&rods("stations = [0, 300]\nheight = 9"));
    assert_eq!(listed, [0, 1].map(|i| ("rod-hole-edge", format!("table.rods.stations[{i}]"))));
}

#[test]
fn ribs_in_pieces_without_room_for_their_joint_are_refused() {
    let split = |lowest: u32, lines: &str| with_tables(lowest, &format!("[table.ribs.split]\n{lines}"));
    assert_eq!(refused(&split(90, "longest = 1000\nkey = { gap = 0.15 }")), []);
    assert_eq!(refused(&split(90, "longest = 1000\nplates = { length = 200, bolt = 8 }")), []);
    // Ribs that are short enough stay whole, whatever their joint would be.
    assert_eq!(refused(&split(90, "longest = 5000\nplates = { length = 60, bolt = 16 }")), []);
    only(&split(300, "longest = 200\nkey = { gap = 0.15 }"), "rib-split-impossible", "table.ribs.split.longest");
    only(
        &split(90, "longest = 1000\nplates = { length = 60, bolt = 12 }"),
        "plate-too-small",
        "table.ribs.split.plates",
    );
    // Long enough for its bolts, but too low for two rows of them.
    only(
        &split(40, "longest = 1000\nplates = { length = 300, bolt = 16 }"),
        "plate-too-small",
        "table.ribs.split.plates",
    );
    // Plates longer than the pieces that they join reach beyond the ends of the rib, wherever they are put.
    let without_rods = changed(&[
        ("lowest_height = 60", "lowest_height = 90"),
        (
            "[table.rods]\ndiameter = \"10 mm\"\ncount = 4\n",
            "[table.ribs.split]\nlongest = 400\nplates = { length = 1000, bolt = 8 }\n",
        ),
    ]);
    only(&without_rods, "rib-split-impossible", "table.ribs.split.longest");
    let cutter = changed(&[
        ("lowest_height = 60", "lowest_height = 90"),
        ("station_pitch = 100", "station_pitch = 100\ncutter = 40"),
        ("[table.rods]", "[table.ribs.split]\nlongest = 1000\nkey = { gap = 0.15 }\n[table.rods]"),
    ]);
    only(&cutter, "cutter-too-large", "table.cutter");
}

#[test]
fn bearers_that_are_too_many_too_near_or_too_low_are_refused() {
    let bearers = |pitch: &str, thickness: u32, rest: &str| {
        refused(&on_bearers(&format!("pitch = {pitch}\nthickness = {thickness}\n{rest}")))
    };
    let one = |code: &'static str, key: &str| vec![(code, format!("table.bearers.{key}"))];
    assert_eq!(bearers("150", 38, "lowest_height = 60"), []);
    let long =
        on_bearers("pitch = 20\nthickness = 10\nlowest_height = 60").replacen("length = 1340", "length = 15000", 1);
    assert_eq!(refused(&long), one("too-many", "pitch"));
    assert_eq!(bearers("40", 38, "lowest_height = 60"), one("bearers-meet", "pitch"));
    assert_eq!(bearers("150", 38, "lowest_height = 6"), one("bearer-too-low", "lowest_height"));
}

#[test]
fn more_ribs_than_a_shop_builds_are_refused_at_what_asks_for_them() {
    only(&changed(&[("width = 400", "width = 3000"), ("pitch = 110", "pitch = 5")]), "too-many", "table.ribs.pitch");
}

#[test]
fn a_joint_is_judged_by_the_stress_that_its_stock_may_bear() {
    let verdict = |stress: &str| {
        let lines = format!("[table.ribs.split]\nlongest = 1000\nkey = {{ gap = 0.15 }}\nstress = \"{stress}\"");
        let job = Document::parse("job.toml", &with_tables(90, &lines)).unwrap().job().unwrap();
        let checks = run::build(&job).unwrap().checks;
        let joint = checks.into_iter().find(|c| c.code.name == "rib-joint").unwrap();
        assert_eq!(joint.remedy.is_empty(), joint.verdict == Verdict::Ok);
        (joint.si().unwrap().0, joint.verdict)
    };
    let (stress_mpa, _) = verdict("9 MPa");
    assert!(stress_mpa > 0.01, "{stress_mpa} MPa");
    for (part, expected) in [(0.9, Verdict::Stop), (1.5, Verdict::Watch), (2.5, Verdict::Ok)] {
        assert_eq!(verdict(&format!("{:.6} MPa", part * stress_mpa)), (stress_mpa, expected));
    }
}
