//! Profiles as drawing programs write them: every unit, transform and shape that is read, and what is refused.

use overbend::document::{Document, Inputs};
use overbend::rocker::{self, Target};

/// One arc of 2500 mm radius: half its angle, rad.
const HALF_RAD: f64 = 0.24;
const RADIUS_MM: f64 = 2500.0;

/// The target drawn in a file for a board 1200 mm long, or the codes of what is refused.
fn drawn(name: &str, bytes: &str, more: &str) -> Result<Target, Vec<&'static str>> {
    let mut inputs = Inputs::default();
    inputs.add(name, Ok(bytes.as_bytes().to_vec()));
    let text = format!(
        "title = \"Board\"\n[board]\nlength = 1200\nwidth = 250\n[rocker.drawing]\nfile = \"{name}\"\n{more}\n"
    );
    let document = Document::parse("job.toml", &text).unwrap();
    let wanted = document.wanted_with(&inputs).unwrap_or_else(|p| panic!("{p:#?}"));
    rocker::target(&wanted.rocker, &wanted.board).map_err(|faults| {
        for fault in &faults {
            assert!(fault.path.starts_with("rocker.drawing") && !fault.remedy().is_empty(), "{fault:?}");
        }
        faults.iter().map(|f| f.code.name).collect()
    })
}

/// The target is that arc.
#[track_caller]
fn is_the_arc(target: &Result<Target, Vec<&'static str>>) {
    let target = target.as_ref().unwrap_or_else(|f| panic!("{f:?}"));
    let rise = RADIUS_MM * (1.0 - HALF_RAD.cos());
    assert!((target.tip_height_mm() - rise).abs() < 1e-3, "{}", target.tip_height_mm());
    assert!((target.tail_height_mm() - rise).abs() < 1e-3, "{}", target.tail_height_mm());
    assert!((target.curvature.at(100.0) * RADIUS_MM - 1.0).abs() < 1e-4, "{}", target.curvature.at(100.0));
}

/// Half the chord and the rise of the arc in units of so many millimetres.
fn arc(unit_mm: f64) -> (f64, f64, f64) {
    (RADIUS_MM * HALF_RAD.sin() / unit_mm, RADIUS_MM * (1.0 - HALF_RAD.cos()) / unit_mm, RADIUS_MM / unit_mm)
}

/// The arc as SVG path data in units of so many millimetres, y down.
fn path(unit_mm: f64) -> String {
    let (x, rise, r) = arc(unit_mm);
    format!("M {} {} A {r} {r} 0 0 0 {x} {}", -x, -rise, -rise)
}

fn svg(head: &str, inside: &str) -> String {
    format!("<svg xmlns='http://www.w3.org/2000/svg' {head}>{inside}</svg>")
}

/// A page whose user unit is a millimetre.
const PAGE: &str = "width='3000mm' height='300mm' viewBox='0 0 3000 300'";

#[test]
fn an_svg_page_may_be_measured_in_any_absolute_unit() {
    // Units by CSS Values and Units Level 3, section 5.2.
    let pixel = 25.4 / 96.0;
    let cases =
        [("mm", 1.0), ("cm", 10.0), ("in", 25.4), ("pt", 25.4 / 72.0), ("pc", 25.4 / 6.0), ("px", pixel), ("", pixel)];
    for (unit, mm) in cases {
        let head = format!("width='300{unit}' height='30{unit}' viewBox='0 0 600 60'");
        is_the_arc(&drawn("a.svg", &svg(&head, &format!("<path d='{}'/>", path(0.5 * mm))), ""));
    }
    // Without a page a user unit is a pixel, and a view box that is none makes no page.
    for head in
        ["", "width='300mm' viewBox='0 0 600'", "width='300mm' viewBox='0 0 0 60'", "width='300mm' viewBox='all'"]
    {
        is_the_arc(&drawn("a.svg", &svg(head, &format!("<path d='{}'/>", path(pixel))), ""));
    }
    // A share of the window is no length; the document's unit stands in for it.
    for width in ["100%", "30em", "0mm", "wide"] {
        let head = format!("width='{width}' viewBox='0 0 600 60'");
        let file = svg(&head, &format!("<path d='{}'/>", path(1.0)));
        assert_eq!(drawn("a.svg", &file, "").unwrap_err(), ["drawing-unit"], "{width}");
        is_the_arc(&drawn("a.svg", &file, "units = \"mm\""));
    }
}

#[test]
fn svg_transforms_that_keep_shapes_are_followed_and_others_refused() {
    let placed = |transform: &str, unit_mm: f64| {
        drawn("a.svg", &svg(PAGE, &format!("<g transform='{transform}'><path d='{}'/></g>", path(unit_mm))), "")
    };
    for transform in [
        "translate(700)",
        "translate(700, 20)",
        "translate(5 6) scale(1)",
        "rotate(0)",
        "rotate(180) rotate(180, 30, 40)",
        "rotate(360 12 7)",
        "matrix(1 0 0 1 8 9)",
        "scale(-1, -1) rotate(180)",
    ] {
        is_the_arc(&placed(transform, 1.0));
    }
    is_the_arc(&placed("scale(2)", 2.0));
    is_the_arc(&placed("scale(0.5, 0.5)", 0.5));
    for transform in ["scale(2, 1)", "matrix(1 0 0.3 1 0 0)", "matrix(1 0.2 0 1 0 0)"] {
        assert_eq!(placed(transform, 1.0).unwrap_err(), ["drawing-stretched"], "{transform}");
    }
    for transform in ["rotate(1, 2)", "translate", "translate(a)", "scale(1 2 3)"] {
        assert_eq!(placed(transform, 1.0).unwrap_err(), ["drawing-transform"], "{transform}");
    }
}

#[test]
fn svg_lines_make_a_flat_board_and_shapes_that_are_no_base_are_refused() {
    let shown = |inside: &str| drawn("a.svg", &svg(PAGE, inside), "");
    for flat in [
        "<line x1='10' y1='50' x2='1210' y2='50'/>",
        "<line x1='1200'/>",
        "<polyline points='0,5 600,5 1200,5'/>",
        "<path d='M 0 0 h 600 H 1200'/>",
        "<path d='m 0 0 600 0 600 0'/>",
        "<path d='M 0 0 600 0 1200 0'/>",
        // Nothing is drawn by arcs without length and by curves that stay where they are; arcs without radius are lines.
        "<path d='M 0 0 A 5 5 0 0 1 0 0 C 0 0 0 0 0 0 A 0 5 0 0 1 600 0 A 5 0 0 0 1 1200 0'/>",
        // A smooth curve after a line bends from where the pen is.
        "<path d='M 0 0 L 300 0 S 500 0 600 0 T 900 0 T 1200 0'/>",
        // Definitions are not drawn.
        "<defs><path d='M 0 0 L 5 5'/></defs><line x1='1200'/>",
    ] {
        let target = shown(flat).unwrap_or_else(|f| panic!("{flat}: {f:?}"));
        assert!(target.tip_height_mm().abs() < 1e-9 && target.tail_height_mm().abs() < 1e-9, "{flat}");
    }
    for (inside, code) in [
        ("<line x1='a' x2='1200'/>", "drawing-path"),
        ("<line y2='?'/>", "drawing-path"),
        ("<polyline points='0,0 x'/>", "drawing-path"),
        ("<path d='L'/>", "drawing-path"),
        ("<path d='5 5'/>", "drawing-path"),
        ("<path d='M 0 0 Z 5 5'/>", "drawing-path"),
        ("<path d='M 0 0 B 5 5'/>", "drawing-path"),
        ("<path d='M 0 0 A 5 5 0 2 0 9 9'/>", "drawing-path"),
        ("<polygon points='0,0 600,0 600,100'/>", "drawing-closed"),
        ("<circle r='5'/>", "drawing-entity"),
        ("<use href='#a'/>", "drawing-entity"),
        ("<text>base</text>", "drawing-empty"),
    ] {
        assert_eq!(shown(inside).unwrap_err(), [code], "{inside}");
    }
    let named = svg(PAGE, &format!("<path id='rim' d='M 0 0 h 5'/><path id='base' d='{}'/>", path(1.0)));
    is_the_arc(&drawn("a.svg", &named, "layer = \"base\""));
    assert_eq!(drawn("a.svg", &named, "layer = \"bass\"").unwrap_err(), ["drawing-layer"]);
}

/// A DXF in a unit (DXF reference, header variable $INSUNITS) of entities written as lines of code and value.
fn dxf(units: u32, blocks: &str, entities: &str) -> String {
    format!(
        "0\nSECTION\n2\nHEADER\n9\n$ACADVER\n1\nAC1015\n9\n$INSUNITS\n70\n{units}\n0\nENDSEC\n\
         0\nSECTION\n2\nBLOCKS\n{blocks}0\nENDSEC\n0\nSECTION\n2\nENTITIES\n{entities}0\nENDSEC\n0\nEOF\n"
    )
}

/// The arc in units of so many millimetres, as a polyline of two vertices with a bulge: old style.
fn old_polyline(unit_mm: f64, flags: u32) -> String {
    let (x, rise, _) = arc(unit_mm);
    let bulge = (0.5 * HALF_RAD).tan();
    format!(
        "0\nPOLYLINE\n8\nbase\n66\n1\n70\n{flags}\n0\nVERTEX\n8\nbase\n10\n{}\n20\n{rise}\n42\n{bulge}\n\
         0\nVERTEX\n8\nbase\n10\n{x}\n20\n{rise}\n0\nSEQEND\n8\nbase\n",
        -x
    )
}

#[test]
fn an_old_polyline_is_read_in_every_unit_a_dxf_can_state() {
    for (units, mm) in [(1, 25.4), (2, 304.8), (4, 1.0), (5, 10.0), (6, 1000.0)] {
        is_the_arc(&drawn("a.dxf", &dxf(units, "", &old_polyline(mm, 0)), ""));
    }
    let file = dxf(0, "", &old_polyline(1.0, 0));
    assert_eq!(drawn("a.dxf", &file, "").unwrap_err(), ["drawing-unit"]);
    is_the_arc(&drawn("a.dxf", &file, "units = \"mm\""));
}

#[test]
fn what_encloses_an_area_in_a_dxf_is_refused_and_words_are_passed_over() {
    let text = "0\nTEXT\n8\nbase\n10\n0\n20\n0\n40\n5\n1\nbase\n";
    is_the_arc(&drawn("a.dxf", &dxf(4, "", &format!("{text}{}", old_polyline(1.0, 0))), ""));
    let closed = drawn("a.dxf", &dxf(4, "", &old_polyline(1.0, 1)), "").unwrap_err();
    assert_eq!(closed, ["drawing-closed"]);
    let circle = "0\nCIRCLE\n8\nbase\n10\n0\n20\n0\n40\n5\n";
    let both = dxf(4, "", &format!("{circle}{}", old_polyline(1.0, 0)));
    assert_eq!(drawn("a.dxf", &both, "").unwrap_err(), ["drawing-entity"]);
    let ellipse = |ratio: f64, to: f64| {
        let entity = format!("0\nELLIPSE\n8\nbase\n10\n0\n20\n0\n11\n900\n21\n0\n40\n{ratio}\n41\n0\n42\n{to}\n");
        drawn("a.dxf", &dxf(4, "", &entity), "").unwrap_err()
    };
    assert_eq!(ellipse(0.5, 0.0), ["drawing-entity"]);
    assert_eq!(ellipse(0.0, 1.0), ["drawing-entity"]);
    let point = "0\nELLIPSE\n8\nbase\n10\n0\n20\n0\n11\n0\n21\n0\n40\n0.5\n41\n0\n42\n1\n";
    assert_eq!(drawn("a.dxf", &dxf(4, "", point), "").unwrap_err(), ["drawing-entity"]);
}

#[test]
fn what_was_drawn_from_behind_is_seen_from_the_front() {
    // An entity whose normal points down has its own x running the other way (DXF reference, arbitrary axis algorithm).
    let (x, rise, r) = arc(1.0);
    let degrees = HALF_RAD.to_degrees();
    let arc_entity = |normal: i32, from: f64, to: f64| {
        format!("0\nARC\n8\nbase\n10\n100\n20\n{r}\n40\n{r}\n50\n{from}\n51\n{to}\n210\n0\n220\n0\n230\n{normal}\n")
    };
    let line = |a: f64, b: f64| format!("0\nLINE\n8\nbase\n10\n{a}\n20\n0\n11\n{b}\n21\n0\n");
    // The right half of the arc, then what leads to it from the left, as it is seen; its centre lies at -100.
    let half = arc_entity(-1, 270.0 - degrees, 270.0);
    let flat_mm = 1200.0 - RADIUS_MM * HALF_RAD;
    let target = drawn("a.dxf", &dxf(4, "", &format!("{half}{}", line(-100.0 - flat_mm, -100.0))), "").unwrap();
    assert!((target.tip_height_mm() - rise).abs() < 1e-3 && target.tail_height_mm().abs() < 1e-9);
    assert!(target.curvature.at(500.0) * r > 0.999 && target.curvature.at(-500.0).abs() < 1e-12);
    is_the_arc(&drawn("a.dxf", &dxf(4, "", &arc_entity(-1, 270.0 - degrees, 270.0 + degrees)), ""));
    // A circle drawn as an ellipse; about a normal that points down its parameter runs clockwise.
    for (normal, quarters) in [(1, 3.0), (-1, 1.0)] {
        let lowest = quarters * std::f64::consts::FRAC_PI_2;
        let entity = format!(
            "0\nELLIPSE\n8\nbase\n10\n{x}\n20\n{r}\n11\n{r}\n21\n0\n40\n1\n41\n{}\n42\n{}\n210\n0\n220\n0\n230\n{normal}\n",
            lowest - HALF_RAD,
            lowest + HALF_RAD
        );
        is_the_arc(&drawn("a.dxf", &dxf(4, "", &entity), ""));
    }
}

/// A spline of degree 2 over three control points with knots, control points and weights as given.
fn spline(knots: &[&str], points: &[(&str, &str)], weights: &[&str]) -> String {
    let mut text = format!("0\nSPLINE\n8\nbase\n70\n0\n71\n2\n72\n{}\n73\n{}\n74\n0\n", knots.len(), points.len());
    knots.iter().for_each(|k| text += &format!("40\n{k}\n"));
    weights.iter().for_each(|w| text += &format!("41\n{w}\n"));
    points.iter().for_each(|(x, y)| text += &format!("10\n{x}\n20\n{y}\n30\n0\n"));
    text
}

#[test]
fn a_spline_with_weights_is_the_conic_that_it_stands_for() {
    // A circular arc: the middle control point where the end tangents meet, with the cosine of half the angle as weight
    // (projective geometry of conics, from memory).
    let (x, rise, _) = arc(1.0);
    let meet = format!("{}", rise - x * HALF_RAD.tan());
    let (left, right, rise) = (format!("{}", -x), format!("{x}"), format!("{rise}"));
    let points = [(&left[..], &rise[..]), ("0", &meet[..]), (&right[..], &rise[..])];
    let knots = ["0", "0", "0", "1", "1", "1"];
    let weight = format!("{}", HALF_RAD.cos());
    let read = |knots: &[&str], weights: &[&str]| drawn("a.dxf", &dxf(4, "", &spline(knots, &points, weights)), "");
    is_the_arc(&read(&knots, &["1", &weight, "1"]));
    for weights in [&["1", "-1", "1"][..], &["1", "1"], &["1", "0", "1"]] {
        assert_eq!(read(&knots, weights).unwrap_err(), ["drawing-spline"], "{weights:?}");
    }
    for knots in [&["0", "0", "0", "1", "1"][..], &["0", "0", "1", "0", "1", "1"], &["0"; 6]] {
        assert_eq!(read(knots, &[]).unwrap_err(), ["drawing-spline"], "{knots:?}");
    }
}

#[test]
fn numbers_beyond_all_bounds_are_refused() {
    let line = "0\nLINE\n8\nbase\n10\n0\n20\n0\n11\n1e999\n21\n0\n";
    assert_eq!(drawn("a.dxf", &dxf(4, "", line), "").unwrap_err(), ["drawing-not-finite"]);
    let knots = ["0", "0", "0", "1", "1", "1"];
    let far = spline(&knots, &[("0", "0"), ("600", "-1e999"), ("1200", "0")], &[]);
    assert_eq!(drawn("a.dxf", &dxf(4, "", &far), "").unwrap_err(), ["drawing-not-finite"]);
}

#[test]
fn teeth_that_no_base_has_are_refused_as_corners() {
    // 2 mm up and down every 5 mm: short lines, but not along any curve.
    let teeth: Vec<String> = (0..=240).map(|i| format!("{},{}", 5 * i, 2 * (i % 2))).collect();
    let file = svg(PAGE, &format!("<polyline points='{}'/>", teeth.join(" ")));
    assert_eq!(drawn("a.svg", &file, "").unwrap_err(), ["drawing-corner"]);
}

#[test]
fn a_profile_may_be_as_long_as_its_board_is_straight() {
    let (x, _, _) = arc(1.0);
    let file = svg(PAGE, &format!("<path d='{}'/>", path(1.0)));
    let along = |length: f64| {
        let mut inputs = Inputs::default();
        inputs.add("a.svg", Ok(file.clone().into_bytes()));
        let text = format!(
            "title = \"Board\"\n[board]\nlength = {length}\nlength_along = \"straight\"\nwidth = 250\n\
             [rocker.drawing]\nfile = \"a.svg\"\n"
        );
        let wanted =
            Document::parse("job.toml", &text).unwrap().wanted_with(&inputs).unwrap_or_else(|p| panic!("{p:#?}"));
        rocker::target(&wanted.rocker, &wanted.board)
    };
    is_the_arc(&along(2.0 * x).map_err(|_| Vec::new()));
    let fault = along(1200.0).unwrap_err().remove(0);
    assert_eq!((fault.code.name, fault.path.as_str()), ("drawing-length", "rocker.drawing.file"));
    assert!(fault.message().contains("mm long straight from tail to tip and the board 1200 mm"), "{fault:?}");
}

#[test]
fn blocks_that_cannot_be_followed_are_refused_and_empty_ones_passed_over() {
    let insert = |name: &str, more: &str| format!("0\nINSERT\n8\nbase\n2\n{name}\n10\n0\n20\n0\n{more}");
    let block =
        |name: &str, inside: &str| format!("0\nBLOCK\n8\n0\n2\n{name}\n70\n0\n10\n0\n20\n0\n{inside}0\nENDBLK\n8\n0\n");
    let profile = block("profile", &old_polyline(1.0, 0));
    let said = |blocks: &str, entities: &str| drawn("a.dxf", &dxf(4, blocks, entities), "");
    is_the_arc(&said(&profile, &insert("profile", "")));
    assert_eq!(said(&profile, &insert("other", "")).unwrap_err(), ["drawing-block"]);
    assert_eq!(said(&profile, &insert("profile", "70\n3\n44\n50\n")).unwrap_err(), ["drawing-block"]);
    assert_eq!(said(&profile, &insert("profile", "71\n2\n45\n50\n")).unwrap_err(), ["drawing-block"]);
    assert_eq!(said(&profile, &insert("profile", "41\n0\n42\n0\n")).unwrap_err(), ["drawing-block"]);
    let endless = block("profile", &insert("profile", ""));
    assert_eq!(said(&endless, &insert("profile", "")).unwrap_err(), ["drawing-block"]);
    let empty = block("empty", "");
    is_the_arc(&said(&empty, &format!("{}{}", insert("empty", ""), old_polyline(1.0, 0))));
}
