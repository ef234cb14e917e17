//! Files as a whole: written from a sample of parts, the same on every run, and left in the target folder for the
//! programs of other people that `tests/readers/samples.py` asks.

use std::fs;
use std::path::PathBuf;

use kurbo::{Point, Vec2};
use overbend::curve::{Curvature, Curve, DEFAULT_TOLERANCE_MM, Piece, PlaneCurve, fit_arcs};
use overbend::drawing::{Contour, Drawing, Operation, Paper, Part, Placement, Shape, Text, TextAnchor, Vertex};
use overbend::export::{
    DxfOptions, DxfVersion, RollOptions, Ruler, SheetOptions, SvgOptions, offset_to_waste, with_stroke_text, write_dxf,
    write_roll, write_sheets, write_svg,
};

/// Curvature pieces of the sample's top edge: start, end, curvature at both, mm and 1/mm. The reader script has the same
/// figures and integrates them by itself.
const TOP: [(f64, f64, f64, f64); 5] = [
    (-720.0, -560.0, 1.0 / 700.0, 1.0 / 700.0),
    (-560.0, -380.0, 1.0 / 700.0, 1.0 / 9000.0),
    (-380.0, 300.0, 1.0 / 9000.0, 1.0 / 9000.0),
    (300.0, 520.0, 1.0 / 9000.0, 1.0 / 550.0),
    (520.0, 720.0, 1.0 / 550.0, 1.0 / 550.0),
];

/// Height of the rib where the top edge begins to be measured (s = 0), mm.
const LOWEST_MM: f64 = 60.0;

fn top() -> Curve {
    let pieces = TOP.map(|(start_mm, end_mm, k_start_per_mm, k_end_per_mm)| Piece {
        start_mm,
        end_mm,
        k_start_per_mm,
        k_end_per_mm,
    });
    Curve::new(Curvature::new(pieces.to_vec()).unwrap())
}

/// A rib under the sample's curve: base at y = 0, two corners, the fitted top walked from tip to tail.
fn rib(id: &str, title: &str, hole_mm: f64) -> Part {
    let curve = top();
    let path = fit_arcs(&curve, -720.0, 720.0, DEFAULT_TOLERANCE_MM).unwrap();
    let up = Vec2::new(0.0, LOWEST_MM);
    let mut nodes = path.nodes.clone();
    nodes.reverse();
    let mut vertices = vec![
        Vertex::line(Point::new(curve.at(-720.0).point.x, 0.0)),
        Vertex::line(Point::new(curve.at(720.0).point.x, 0.0)),
    ];
    for (i, node) in nodes.iter().enumerate() {
        // Walked the other way, a piece's bulge belongs to its other end.
        let bulge = nodes.get(i + 1).map_or(0.0, |next| -next.bulge);
        vertices.push(Vertex { point: node.point + up, bulge });
    }
    let mut part = Part::new(id, title);
    part.add(Operation::CutOutside, Shape::Contour(Contour::closed(vertices).unwrap()));
    for x in [-500.0, 0.0, 500.0] {
        let center = Point::new(x, 30.0);
        part.add(Operation::Drill, Shape::Circle { center, radius_mm: 0.5 * hole_mm });
    }
    let slot = [(-250.0, 20.0, 0.0), (-200.0, 20.0, 1.0), (-200.0, 40.0, 0.0), (-250.0, 40.0, 1.0)];
    let vertices = slot.map(|(x, y, bulge)| Vertex { point: Point::new(x, y), bulge });
    part.add(Operation::CutInside, Shape::Contour(Contour::closed(vertices.to_vec()).unwrap()));
    for x in [-600.0, -300.0, 300.0, 600.0] {
        let line = [Point::new(x, 0.0), Point::new(x, 12.0)].map(Vertex::line);
        part.add(Operation::Mark, Shape::Contour(Contour::open(line.to_vec()).unwrap()));
    }
    let text = Text {
        at: Point::new(60.0, 20.0),
        height_mm: 12.0,
        angle_rad: 0.0,
        anchor: TextAnchor::Start,
        content: format!("{title}, tip →"),
    };
    part.add(Operation::Mark, Shape::Text(text));
    part
}

fn sample() -> Drawing {
    let ribs = [rib("rib-1", "Rib 1", 10.5), rib("rib-2", "Rib 2", 10.5), rib("rib-3", "Rib 3", 13.0)];
    let parts = ribs.iter().zip(0..).map(|(rib, i)| rib.placed(&Placement::shift(0.0, 220.0 * f64::from(i)))).collect();
    Drawing { title: "Sample ribs".into(), origin: "overbend sample job 0123456789abcdef".into(), parts }
}

/// A part longer than a PDF page can be in points.
fn long() -> Drawing {
    let corners = [(0.0, 0.0), (6_000.0, 0.0), (6_000.0, 90.0), (0.0, 90.0)];
    let mut part = Part::new("beam", "Beam");
    part.add(Operation::CutOutside, Shape::Contour(Contour::polygon(corners.map(Point::from)).unwrap()));
    Drawing { title: "Long".into(), origin: "overbend sample job 0123456789abcdef".into(), parts: vec![part] }
}

fn everything() -> Vec<(&'static str, Vec<u8>)> {
    let drawing = sample();
    let r12 = DxfOptions { version: DxfVersion::R12 };
    let hairline = SvgOptions { hairline: true, ..SvgOptions::default() };
    let kerf = offset_to_waste(&drawing, 1.5, false).unwrap();
    assert!(kerf.unreached.is_empty(), "{:?}", kerf.unreached);
    let a4 = SheetOptions::on(Paper::named("a4").unwrap());
    let corrected = SheetOptions { printed_square_mm: Some((99.0, 101.0)), ..a4 };
    let letter = SheetOptions { ruler: Ruler::Inches, ..SheetOptions::on(Paper::named("letter").unwrap()) };
    let a1 = SheetOptions::on(Paper::named("a1").unwrap());
    vec![
        ("ribs.dxf", write_dxf(&drawing, &DxfOptions::default()).unwrap()),
        ("ribs-r12.dxf", write_dxf(&drawing, &r12).unwrap()),
        ("ribs-strokes.dxf", write_dxf(&with_stroke_text(&drawing), &DxfOptions::default()).unwrap()),
        ("ribs-kerf.dxf", write_dxf(&kerf.drawing, &DxfOptions::default()).unwrap()),
        ("ribs.svg", write_svg(&drawing, &SvgOptions::default()).unwrap()),
        ("ribs-hairline.svg", write_svg(&drawing, &hairline).unwrap()),
        ("sheets-a4.pdf", write_sheets(&drawing, &a4).unwrap().bytes),
        ("sheets-a4-corrected.pdf", write_sheets(&drawing, &corrected).unwrap().bytes),
        ("sheets-letter.pdf", write_sheets(&drawing, &letter).unwrap().bytes),
        ("sheets-a1.pdf", write_sheets(&drawing, &a1).unwrap().bytes),
        ("roll.pdf", write_roll(&drawing, &RollOptions::on(914.0)).unwrap().bytes),
        ("roll-long.pdf", write_roll(&long(), &RollOptions::on(610.0)).unwrap().bytes),
    ]
}

#[test]
fn the_same_drawing_gives_the_same_bytes() {
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("readers");
    fs::create_dir_all(&folder).unwrap();
    for ((name, first), (_, second)) in everything().into_iter().zip(everything()) {
        assert!(first == second, "{name} differs between two runs");
        fs::write(folder.join(name), first).unwrap();
    }
}

#[test]
fn every_file_says_where_it_comes_from() {
    for (name, bytes) in everything() {
        let origin = b"overbend sample job 0123456789abcdef";
        assert!(bytes.windows(origin.len()).any(|w| w == origin), "{name} does not name its job");
    }
}

#[test]
fn ribs_cut_alike_are_printed_once() {
    let paper = Paper::named("a4").unwrap();
    let all = write_sheets(&sample(), &SheetOptions::on(paper)).unwrap();
    let one = Drawing { parts: sample().parts.split_off(2), ..sample() };
    let third = write_sheets(&one, &SheetOptions::on(paper)).unwrap();
    // A check page, a page map and twice the sheets of one rib, not three times.
    assert_eq!(all.pages, 2 + 2 * (third.pages - 2));
    assert!(all.missing.is_empty());
}

#[test]
fn settings_that_cannot_be_used_are_refused_with_their_name() {
    let a4 = SheetOptions::on(Paper::named("a4").unwrap());
    let says = |options: &SheetOptions| write_sheets(&sample(), options).unwrap_err().to_string();
    assert!(
        says(&SheetOptions { printed_square_mm: Some((50.0, 100.0)), ..a4 }).starts_with("printed square is 50 mm")
    );
    assert!(says(&SheetOptions { margin_mm: f64::NAN, ..a4 }).starts_with("margin is n/a"));
    assert!(says(&SheetOptions { overlap_mm: -1.0, ..a4 }).starts_with("overlap is -1 mm"));
    let card = Paper { width_mm: 105.0, height_mm: 148.0 };
    assert!(says(&SheetOptions { paper: card, ..a4 }).starts_with("paper is 105 mm"));
    let narrow = write_roll(&sample(), &RollOptions::on(120.0)).unwrap_err().to_string();
    assert!(narrow.starts_with("roll width is 120 mm"), "{narrow}");
}

#[test]
fn names_in_patterns_never_become_commands() {
    let mut drawing = sample();
    drawing.title = ") Tj ET Q (木 \\ \0 endstream".into();
    drawing.parts[0].title = "( Rib %%EOF".into();
    let sheets = write_sheets(&drawing, &SheetOptions::on(Paper::named("a4").unwrap())).unwrap();
    assert_eq!(sheets.missing, ['木'], "what the letters lack is told");
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("readers");
    fs::create_dir_all(&folder).unwrap();
    // The readers check that this file is sound, too.
    fs::write(folder.join("names.pdf"), sheets.bytes).unwrap();
}
