//! The machine's bed: ribs in pieces that it takes, sheets in stretches, and whether all parts fit.

use overbend::built::{self, Built};
use overbend::document::Document;
use overbend::finding::Verdict;
use overbend::job::{Frame, Joint};
use overbend::run;
use overbend::stock::SetUp;

const LAKE: &str = include_str!("../../examples/lake-board/job.toml");
const SMALL: &str = "[machine]\nbed_length = 900\nbed_width = 620\n";

fn built(changes: &[(&str, &str)], more: &str) -> Built {
    let mut text = LAKE.to_owned();
    for (from, to) in changes {
        assert!(text.contains(from), "`{from}` is not in the example");
        text = text.replacen(from, to, 1);
    }
    let text = format!("{text}\n{more}\n[forecast]\ndraws = 0\n");
    let document = Document::parse("job", &text).unwrap_or_else(|p| panic!("{p:#?}"));
    built::compute(&document.job().unwrap_or_else(|p| panic!("{p:#?}"))).unwrap_or_else(|f| panic!("{f:#?}"))
}

fn longest_mm(built: &Built) -> f64 {
    let pieces = built.jig.ribs.iter().flat_map(|r| &r.pieces).map(|p| p.outline.bounds().width());
    pieces.fold(0.0, f64::max)
}

fn verdicts(built: &Built) -> Vec<Verdict> {
    built.checks.iter().filter(|c| c.code.name == "machine-fits").map(|c| c.verdict).collect()
}

#[test]
fn ribs_that_are_longer_than_the_bed_come_in_pieces_that_are_not() {
    let whole = built(&[], "");
    assert!(longest_mm(&whole) > 1500.0 && verdicts(&whole).is_empty());
    let small = built(&[], SMALL);
    // Two dowels of 8 mm take 16 mm at either end of a stretch.
    assert!(longest_mm(&small) <= 900.0 - 32.0 && longest_mm(&small) > 400.0, "{}", longest_mm(&small));
    assert_eq!(verdicts(&small), [Verdict::Ok; 2]);
    // A bed that takes the whole rib leaves it whole.
    let large = built(&[], "[machine]\nbed_length = 2500\nbed_width = 1300\n");
    assert_eq!((longest_mm(&large), large.layout.sheets.clone()), (longest_mm(&whole), whole.layout.sheets));
}

#[test]
fn the_joint_is_the_one_that_the_document_names() {
    let plates = "[table.ribs.split]\nplates = { length = 160, bolt = \"6 mm\" }\n\n[table.rods]";
    let small = built(&[("[table.rods]", plates), ("lowest_height = 60", "lowest_height = 90")], SMALL);
    let Frame::Ribs(frame) = &small.design.job.table.frame else { panic!() };
    let split = frame.split.unwrap();
    assert!(matches!(split.joint, Joint::Plates { .. }) && split.longest_mm == 868.0, "{split:?}");
    assert!(!small.jig.plates.is_empty());
    // What the document allows is kept where it is shorter.
    let shorter = plates.replace("plates", "longest = 700\nplates");
    let small = built(&[("[table.rods]", &shorter), ("lowest_height = 60", "lowest_height = 90")], SMALL);
    assert!(longest_mm(&small) <= 700.0);
}

#[test]
fn a_part_that_the_saw_does_not_take_is_looked_at() {
    let saw = |throat: u32| built(&[], &format!("[machine]\nlongest = 1600\nthroat = {throat}\n"));
    let high = saw(300).jig.ribs[0].height_mm;
    assert!((60.0..200.0).contains(&high));
    assert_eq!(verdicts(&saw(300)), [Verdict::Ok; 2]);
    let narrow = saw(high as u32 - 1);
    assert_eq!(verdicts(&narrow), [Verdict::Ok, Verdict::Watch]);
    let check = narrow.checks.iter().find(|c| c.code.name == "machine-fits" && c.verdict == Verdict::Watch).unwrap();
    let (value, limit, unit) = check.si().unwrap();
    assert!((value - high).abs() < 1e-9 && limit == f64::from(high as u32 - 1) && unit == "mm", "{check:?}");
}

#[test]
fn stretches_of_a_sheet_hold_each_part_once_and_share_their_dowels() {
    let small = built(&[], SMALL);
    let sheets = &small.layout.sheets;
    let mut placed: Vec<usize> = sheets.iter().flat_map(|s| s.nested.placed.iter().map(|p| p.part)).collect();
    placed.sort_unstable();
    let flat: Vec<usize> = (0..small.layout.parts.len()).collect();
    assert_eq!(placed, flat);
    // They are numbered as they are cut: each stretch stands on the dowel holes of the one before.
    let cut = |s: &overbend::stock::Sheet| s.set_up.as_ref().map(|u| (s.nested.stock, u.sheet, u.strip.0, u.stretch.0));
    assert!(sheets.is_sorted_by_key(cut) && sheets.iter().zip(1..).all(|(s, number)| s.number == number), "{sheets:?}");
    let mut shared = 0;
    for sheet in sheets {
        let set_up = sheet.set_up.as_ref().unwrap();
        assert!(sheet.stock.length_mm <= 900.0 && sheet.stock.width_mm <= 620.0, "{:?}", sheet.stock);
        assert_eq!(set_up.strip.1, 2, "1220 mm are ripped once");
        // Dowels keep clear of every part.
        for placed in &sheet.nested.placed {
            let bounds = small.layout.parts[placed.part].part.placed(&placed.placement).outline().unwrap().bounds();
            let clear = |d: &kurbo::Point| d.x + 4.0 < bounds.x0 || d.x - 4.0 > bounds.x1;
            assert!(set_up.holes.iter().chain(&set_up.stands_on).all(clear), "{bounds:?} {set_up:?}");
        }
        // The holes at its end are those at the beginning of the next stretch of the same strip.
        let next = sheets
            .iter()
            .filter_map(|s| s.set_up.as_ref())
            .find(|n| (n.sheet, n.strip, n.stretch.0) == (set_up.sheet, set_up.strip, set_up.stretch.0 + 1));
        let on_sheet = |s: &SetUp, d: &[kurbo::Point]| d.iter().map(|d| (s.from_mm + d.x, d.y)).collect::<Vec<_>>();
        if let Some(next) = next {
            assert_eq!(on_sheet(set_up, &set_up.holes), on_sheet(next, &next.stands_on));
            shared += 1;
        }
    }
    assert!(shared > 0, "{sheets:?}");
    let outcome = run::files(small).unwrap();
    assert!(outcome.summary.contains("set-ups"), "{}", outcome.summary);
    let sheet = outcome.files.iter().find(|f| f.name == "sheet-01.svg").unwrap();
    assert!(std::str::from_utf8(&sheet.bytes).unwrap().contains("dowels"));
}

#[test]
fn a_template_that_is_longer_than_the_bed_is_left_to_the_shop_with_a_word() {
    let outline = "[board.outline]\npoints = [[-670, 0], [-400, 400], [0, 360], [400, 400], [670, 0]]\n\n[rocker.arc]";
    let any = ("thickness = 17.8\ndensity", "density");
    let changes: &[(&str, &str)] = &[("[rocker.arc]", outline), any];
    let small = built(changes, SMALL);
    let on_sheets: usize = small.layout.sheets.iter().map(|s| s.nested.placed.len()).sum();
    assert_eq!(on_sheets, small.layout.parts.len() - 1);
    let words: Vec<String> = small
        .checks
        .iter()
        .filter(|c| c.code.name == "machine-fits")
        .map(|c| c.subject.text(Default::default()))
        .collect();
    assert!(words.iter().any(|w| w.contains("such as Trimming template")), "{words:?}");
    // A sheet that is too small for it altogether is a mistake as ever.
    let text = format!("{LAKE}\n{SMALL}\n")
        .replace(any.0, any.1)
        .replace("[rocker.arc]", outline)
        .replace("length = 2440", "length = 1200");
    let job = Document::parse("job", &text).unwrap().job().unwrap();
    let faults = built::compute(&job).unwrap_err();
    assert!(faults.iter().any(|f| f.code.name == "part-exceeds-stock"), "{faults:?}");
}
