use super::*;
use crate::job::{LengthAlong, PlanOutline};

const PI: f64 = std::f64::consts::PI;

fn board(width_mm: f64, shape: Option<OutlineShape>, holes: Vec<BoardHole>) -> Board {
    let outline = shape.map(|shape| PlanOutline { shape, shaped_blank: false, template_mm: 6.0 });
    Board {
        length_mm: 1200.0,
        length_along: LengthAlong::Base,
        width_mm,
        count: 1,
        gap_mm: Board::USUAL_GAP_MM,
        overhang_tip_mm: 40.0,
        overhang_tail_mm: 40.0,
        outline,
        holes,
    }
}

fn widths(points: &[(f64, f64)], from: Origin) -> Option<OutlineShape> {
    Some(OutlineShape::Widths { points: points.to_vec(), from })
}

fn hole(station_mm: f64, side_mm: f64, diameter_mm: f64) -> BoardHole {
    BoardHole { name: None, station_mm, side_mm, diameter_mm }
}

fn made(board: &Board) -> Outline {
    outline(board, (-600.0, 600.0)).unwrap_or_else(|f| panic!("{f:?}")).unwrap()
}

fn codes_of(board: &Board) -> Vec<(&'static str, String)> {
    outline(board, (-600.0, 600.0)).unwrap_err().into_iter().map(|f| (f.code.name, f.path)).collect()
}

#[test]
fn an_ellipse_has_its_area_and_its_widths() {
    let ellipse = made(&board(300.0, widths(&[(-600.0, 0.0), (0.0, 300.0), (600.0, 0.0)], Origin::Middle), Vec::new()));
    // Edges within 0.01 mm of the ellipse, whose girth is below 2.6 m.
    assert!((ellipse.area_mm2() - PI * 600.0 * 150.0).abs() < 26.0, "{}", ellipse.area_mm2());
    for s in [-600.0, -599.0, -450.0, 0.0, 133.0, 580.0, 600.0_f64] {
        let width = 300.0 * (1.0 - (s / 600.0).powi(2)).sqrt();
        let found = ellipse.width_mm(s);
        // Where the edge is steep, a hundredth across is more along.
        assert!((found - width).abs() < 0.02 * (1.0 + 150.0 / width.max(15.0)), "{s}: {found} is not {width}");
    }
    assert_eq!(ellipse.sidecut(), None);
    let contour = ellipse.contour().unwrap();
    assert!(contour.vertices().len() < 60, "{}", contour.vertices().len());
}

#[test]
fn a_circle_cut_out_of_both_sides_is_found_as_the_sidecut() {
    // Radius 9 m through the middle, 260 mm wide there; three points make a parabola, which is 0.03 mm off the circle.
    let at = |s: f64| 260.0 + 2.0 * (9000.0 - (9000.0_f64 * 9000.0 - s * s).sqrt());
    let points: Vec<(f64, f64)> = (-6..=6).map(|i| 100.0 * f64::from(i)).map(|s| (s, at(s))).collect();
    let outline = made(&board(at(600.0), widths(&points, Origin::Middle), Vec::new()));
    let sidecut = outline.sidecut().unwrap();
    assert!((sidecut.radius_mm - 9000.0).abs() < 20.0, "{sidecut:?}");
    assert!((sidecut.depth_mm - 20.02).abs() < 0.03 && sidecut.waist_mm.abs() < 3.0, "{sidecut:?}");
    assert!((outline.edge_radius_mm(-100.0, 0.0, 100.0).unwrap() - 9000.0).abs() < 40.0);
    assert!((sidecut.widest_mm.0 + 600.0).abs() < 1e-6 && (sidecut.widest_mm.1 - 600.0).abs() < 1e-6);
}

#[test]
fn stations_from_either_end_give_the_same_board_and_its_mirror_image() {
    let points = [(0.0, 0.0), (150.0, 240.0), (600.0, 200.0), (1200.0, 120.0)];
    let from = |origin| made(&board(240.0, widths(&points, origin), Vec::new()));
    let (tail, tip) = (from(Origin::Tail), from(Origin::Tip));
    for s in [-590.0, -450.0, -10.0, 300.0, 600.0] {
        assert!((tail.width_mm(s) - tip.width_mm(-s)).abs() < 0.03, "{s}");
    }
    assert!((tail.area_mm2() - tip.area_mm2()).abs() < 24.0);
}

#[test]
fn two_sides_stand_where_they_are_given() {
    let left = vec![(-600.0, 100.0), (0.0, 120.0), (600.0, 80.0)];
    let right = vec![(-600.0, 60.0), (600.0, 60.0)];
    let sides = OutlineShape::Sides { left, right, from: Origin::Middle };
    let outline = made(&board(180.0, Some(sides), Vec::new()));
    let (left, right) = outline.edges_mm(0.0);
    assert!((left - 120.0).abs() < 0.01 && (right + 60.0).abs() < 0.01, "{left} {right}");
    assert!(outline.contour().unwrap().signed_area_mm2() > 0.0);
}

#[test]
fn arcs_widths_and_lines_are_of_one_edge() {
    let left = vec![(-600.0, 0.0), (-520.0, 90.0), (0.0, 100.0), (450.0, 125.0), (600.0, 40.0)];
    let right = vec![(-600.0, 30.0), (-300.0, 118.0), (200.0, 100.0), (600.0, 0.0)];
    let doubled: Vec<(f64, f64)> = left.iter().map(|(s, w)| (*s, 2.0 * w)).collect();
    let uneven = OutlineShape::Sides { left, right, from: Origin::Middle };
    for (wide_mm, shape) in [(214.2, Some(uneven)), (250.0, widths(&doubled, Origin::Middle))] {
        let outline = made(&board(wide_mm, shape, Vec::new()));
        let arcs = Outline::new(Shape::Contour(outline.contour().unwrap()), Vec::new()).unwrap();
        // The arcs stay within 0.01 mm of the edge, and the lines within a fiftieth of that.
        for p in outline.flattened(FLAT_MM) {
            let off_mm = distance_mm(p, arcs.sides());
            assert!(off_mm < 0.01 + FLAT_MM, "{p:?}: {off_mm}");
        }
        for s in [-560.0, -500.0, -123.0, 0.0, 333.0, 520.0] {
            let ((l, r), (on_arcs_l, on_arcs_r)) = (outline.edges_mm(s), arcs.edges_mm(s));
            assert!(
                (l - on_arcs_l).abs() < 0.02 && (r - on_arcs_r).abs() < 0.02,
                "{s}: {l} {on_arcs_l} {r} {on_arcs_r}"
            );
        }
        assert!((outline.area_mm2() - arcs.area_mm2()).abs() < 26.0);
        assert_eq!(outline.ends_mm(), (-600.0, 600.0));
        let (b, on_arcs) = (outline.bounds(), arcs.bounds());
        assert!((b.y0 - on_arcs.y0).abs() < 0.011 && (b.y1 - on_arcs.y1).abs() < 0.011, "{b:?} {on_arcs:?}");
    }
}

#[test]
fn a_board_alike_on_both_sides_is_cut_so_to_the_last_bit() {
    let points = [(-600.0, 0.0), (-450.0, 240.0), (0.0, 200.0), (600.0, 120.0)];
    let contour = made(&board(240.0, widths(&points, Origin::Middle), Vec::new())).contour().unwrap();
    let across = |v: &Vertex| (v.point.x, v.point.y.abs());
    for v in contour.vertices().iter().filter(|v| v.point.y != 0.0) {
        let mirrored = contour.vertices().iter().filter(|w| across(w) == across(v) && w.point.y == -v.point.y);
        assert_eq!(mirrored.count(), 1, "{v:?}");
    }
}

#[test]
fn holes_alone_ask_for_a_rectangle_and_are_taken_off_its_area() {
    let outline = made(&board(250.0, None, vec![hole(200.0, -80.0, 20.0)]));
    assert!((outline.area_mm2() - (1200.0 * 250.0 - 100.0 * PI)).abs() < 1e-6);
    assert_eq!(super::outline(&board(250.0, None, Vec::new()), (-600.0, 600.0)), Ok(None));
}

#[test]
fn mistakes_are_told_at_their_keys() {
    let at = |code, path: &str| (code, path.to_owned());
    let short = widths(&[(-500.0, 200.0), (600.0, 250.0)], Origin::Middle);
    assert_eq!(codes_of(&board(250.0, short, Vec::new())), [at("outline-ends", "board.outline.points[0]")]);
    let gone = widths(&[(-600.0, 200.0), (0.0, 0.0), (600.0, 250.0)], Origin::Middle);
    assert_eq!(codes_of(&board(250.0, gone, Vec::new())), [at("outline-no-width", "board.outline.points[1]")]);
    let none = widths(&[(-600.0, 0.0), (600.0, 0.0)], Origin::Middle);
    assert_eq!(codes_of(&board(250.0, none, Vec::new())), [at("outline-no-width", "board.outline.points[0]")]);
    let wide = widths(&[(-600.0, 200.0), (600.0, 250.0)], Origin::Middle);
    assert_eq!(codes_of(&board(240.0, wide.clone(), Vec::new())), [at("outline-width", "board.outline")]);
    let holes = vec![hole(0.0, 0.0, 20.0), hole(10.0, 0.0, 8.0), hole(0.0, 115.0, 20.0), hole(0.0, 400.0, 20.0)];
    let expected = [
        at("board-holes-meet", "board.holes[1]"),
        at("board-hole-outside", "board.holes[2]"),
        at("board-hole-outside", "board.holes[3]"),
    ];
    assert_eq!(codes_of(&board(250.0, wide, holes)), expected);
}
