//! A closed line of a drawing, as an outline.

use kurbo::{Affine, Point, Vec2};

use super::chain::{self, end, start};
use super::found::PATH;
use super::lines::strokes;
use super::stroke::Stroke;
use crate::codes;
use crate::drawing::{Contour, Vertex};
use crate::finding::Fault;
use crate::job::{Direction, DrawingFormat, DrawnLines};
use crate::units::{Quantity, phrase};

/// How far an outline may miss the board's length, mm: what a tape shows.
const LENGTH_MM: f64 = 0.5;
/// How far an arc that stands for a piece of a spline may lie off it, mm.
const ARC_MM: f64 = 2e-3;
/// Most lines and arcs of an outline: each is held against each other.
const MOST_SIDES: usize = 4000;

/// The closed line of a drawing with the tip to the right, its ends where they are wanted and its middle on the middle line.
///
/// # Errors
/// What is wrong with the drawing, with its key within the table that names it.
pub(crate) fn ring(lines: &DrawnLines, tip: Direction, (tail_mm, tip_mm): (f64, f64)) -> Result<Contour, Fault> {
    let shape = closed(lines, tip)?;
    let bounds = shape.bounds();
    let long_mm = tip_mm - tail_mm;
    if (bounds.width() - long_mm).abs() > LENGTH_MM {
        let (drawn, wanted) = (Quantity::exact(bounds.width()), Quantity::exact(long_mm));
        return Err(codes::DRAWING_LENGTH
            .at(PATH, phrase!("the outline is {} long and the board {} along its base.", drawn, wanted)));
    }
    let middle = Point::new(0.5 * (tail_mm + tip_mm), 0.0);
    let shift = middle - bounds.center();
    let moved = |v: &Vertex| Vertex { point: v.point + shift, ..*v };
    Contour::closed(shape.vertices().iter().map(moved).collect())
        .map_err(|_| codes::OUTLINE_OPEN.at(PATH, "the line encloses nothing."))
}

/// The closed line of a drawing in millimetres with the tip to the right, walked counter-clockwise.
///
/// # Errors
/// As [`ring`].
pub(crate) fn closed(lines: &DrawnLines, tip: Direction) -> Result<Contour, Fault> {
    let strokes = strokes(lines, |unit_mm| upright(lines.format, tip) * Affine::scale(unit_mm))?;
    let line = chain::single(strokes, lines.gap_mm)?;
    let gap_mm = start(&line).distance(end(&line));
    if gap_mm > lines.gap_mm {
        return Err(
            codes::OUTLINE_OPEN.at(PATH, phrase!("the ends of the line are {} apart.", Quantity::exact(gap_mm)))
        );
    }
    let mut vertices: Vec<Vertex> = Vec::new();
    for stroke in &line {
        arcs(stroke, &mut vertices);
        if vertices.len() > MOST_SIDES {
            return Err(
                codes::DRAWING_TOO_LONG.at(PATH, format!("the outline has more than {MOST_SIDES} lines and arcs."))
            );
        }
    }
    let shape = Contour::closed(vertices).map_err(|_| codes::OUTLINE_OPEN.at(PATH, "the line encloses nothing."))?;
    let shape = if shape.signed_area_mm2() < 0.0 { shape.reversed() } else { shape };
    if crosses_itself(&shape.flattened(ARC_MM)) {
        return Err(codes::OUTLINE_CROSSES.at(PATH, "the outline crosses itself."));
    }
    Ok(shape)
}

/// The motion that turns the drawing, as it is seen, so that the tip is at the right.
fn upright(format: DrawingFormat, tip: Direction) -> Affine {
    // The page of an SVG points down.
    let seen = if format == DrawingFormat::Svg { Affine::FLIP_Y } else { Affine::IDENTITY };
    let quarters = match tip {
        Direction::PlusX => 0.0,
        Direction::PlusY => -1.0,
        Direction::MinusX => 2.0,
        Direction::MinusY => 1.0,
    };
    Affine::rotate(quarters * std::f64::consts::FRAC_PI_2) * seen
}

/// The stroke as lines and arcs, each from its first point.
fn arcs(stroke: &Stroke, out: &mut Vec<Vertex>) {
    match stroke {
        Stroke::Arc(a, bulge, _) => out.push(Vertex { point: *a, bulge: *bulge }),
        Stroke::Spline(spline) => {
            let spans = 16_u32;
            let at = |share: f64| spline.point(share);
            for i in 0..spans {
                halved(&at, (f64::from(i) / f64::from(spans), f64::from(i + 1) / f64::from(spans)), 7, out);
            }
        }
    }
}

/// Arcs through the middle of each piece, halved until they lie near enough.
fn halved(at: &dyn Fn(f64) -> Point, (from, to): (f64, f64), depth: u32, out: &mut Vec<Vertex>) {
    let share = |part: f64| from + part * (to - from);
    let (a, middle, b) = (at(from), at(share(0.5)), at(to));
    let bulge = bulge_through(a, middle, b);
    let off = [0.25, 0.75].map(|part| off_arc_mm(at(share(part)), (a, bulge, b))).into_iter().fold(0.0, f64::max);
    if depth == 0 || off <= ARC_MM {
        out.push(Vertex { point: a, bulge });
    } else {
        halved(at, (from, share(0.5)), depth - 1, out);
        halved(at, (share(0.5), to), depth - 1, out);
    }
}

/// Bulge of the arc from `a` through `m` to `b`: the angle at `m` is half of what is left of the circle.
fn bulge_through(a: Point, m: Point, b: Point) -> f64 {
    let (first, second) = (m - a, b - m);
    let turned = libm::atan2(first.cross(second), first.dot(second));
    let bulge = libm::tan(0.5 * turned);
    if bulge.abs() < 1e-9 { 0.0 } else { bulge }
}

fn off_arc_mm(p: Point, (a, bulge, b): (Point, f64, Point)) -> f64 {
    match crate::drawing::Arc::from_bulge(a, bulge, b) {
        Some(arc) => (p.distance(arc.center) - arc.radius_mm).abs(),
        None => {
            let along: Vec2 = b - a;
            (along.cross(p - a) / along.hypot().max(f64::MIN_POSITIVE)).abs()
        }
    }
}

/// Whether two sides that are no neighbours meet.
fn crosses_itself(ring: &[Point]) -> bool {
    let n = ring.len();
    let side = |i: usize| (ring[i], ring[(i + 1) % n]);
    // Sides in the order of their left ends: only those that overlap along x are compared.
    let mut order: Vec<usize> = (0..n).collect();
    let reach = |i: usize| {
        let (a, b) = side(i);
        (a.x.min(b.x), a.x.max(b.x))
    };
    order.sort_by(|i, j| reach(*i).0.total_cmp(&reach(*j).0));
    order.iter().enumerate().any(|(place, &i)| {
        let (_, right) = reach(i);
        order[place + 1..].iter().take_while(|&&j| reach(j).0 <= right).any(|&j| {
            let neighbours = (i + 1) % n == j || (j + 1) % n == i;
            !neighbours && meet(side(i), side(j))
        })
    })
}

fn meet((a, b): (Point, Point), (c, d): (Point, Point)) -> bool {
    let turn = |p: Point, q: Point, r: Point| (q - p).cross(r - p);
    turn(a, b, c) * turn(a, b, d) <= 0.0 && turn(c, d, a) * turn(c, d, b) <= 0.0
}

#[cfg(test)]
mod tests {
    use super::*;

    fn svg(path: &str) -> DrawnLines {
        let text = format!(
            "<svg xmlns='http://www.w3.org/2000/svg' width='3000mm' height='3000mm' viewBox='0 0 3000 3000'><path d='{path}'/></svg>"
        );
        DrawnLines { bytes: text.into_bytes(), format: DrawingFormat::Svg, layer: None, unit_mm: None, gap_mm: 0.05 }
    }

    /// A board with the tip to the right, as it is seen: 240 mm wide at its square tail, at its tip 80 mm wide at the left.
    const SEEN: [(f64, f64); 4] = [(0.0, -120.0), (1200.0, 40.0), (1200.0, 120.0), (0.0, 120.0)];

    #[test]
    fn a_drawing_is_turned_so_that_the_tip_lies_to_the_right_and_never_mirrored() {
        for tip in [Direction::PlusX, Direction::PlusY, Direction::MinusX, Direction::MinusY] {
            let turned = |(x, y): (f64, f64)| match tip {
                Direction::PlusX => (x, y),
                Direction::PlusY => (-y, x),
                Direction::MinusX => (-x, -y),
                Direction::MinusY => (y, -x),
            };
            // The page points down, and begins left of and above the drawing.
            let corners = SEEN.map(turned).map(|(x, y)| format!("{} {}", 1500.0 + x, 1500.0 - y)).join(" L ");
            let made = ring(&svg(&format!("M {corners} Z")), tip, (-600.0, 600.0)).unwrap();
            let expected = Contour::polygon(SEEN.map(|(x, y)| Point::new(x - 600.0, y))).unwrap();
            assert!((made.signed_area_mm2() - expected.signed_area_mm2()).abs() < 1e-6);
            for corner in expected.vertices() {
                let near = |v: &Vertex| v.point.distance(corner.point) < 1e-9;
                assert!(made.vertices().iter().any(near), "{tip:?}: {:?} is not in {made:?}", corner.point);
            }
        }
    }

    #[test]
    fn a_drawn_ellipse_becomes_few_arcs_that_lie_on_it() {
        let path = "M 100 500 A 600 150 0 0 1 1300 500 A 600 150 0 0 1 100 500 Z";
        let made = ring(&svg(path), Direction::PlusX, (-600.0, 600.0)).unwrap();
        assert!(made.vertices().len() < 400, "{}", made.vertices().len());
        for p in made.flattened(1e-4) {
            // Distance to first order: how far the ellipse's equation is off, over its gradient.
            let (u, v) = (p.x / 600.0, p.y / 150.0);
            let gradient = Vec2::new(2.0 * u / 600.0, 2.0 * v / 150.0).hypot();
            assert!(((u * u + v * v - 1.0) / gradient).abs() < 3e-3, "{p:?}");
        }
        assert!((made.signed_area_mm2() - std::f64::consts::PI * 600.0 * 150.0).abs() < 2.0);
    }

    #[test]
    fn what_is_no_ring_is_refused_at_the_key_of_the_file() {
        let code = |path: &str| {
            let fault = ring(&svg(path), Direction::PlusX, (-600.0, 600.0)).unwrap_err();
            assert_eq!(fault.path, "file");
            fault.code.name
        };
        assert_eq!(code("M 0 0 L 1200 0 L 1200 200 L 0 200"), "outline-open");
        assert_eq!(code("M 0 0 L 1200 200 L 1200 0 L 0 200 Z"), "outline-crosses");
        assert_eq!(code("M 0 0 L 1100 0 L 1100 200 L 0 200 Z"), "drawing-length");
        assert_eq!(code("M 0 0 L 1200 0 L 1200 200 Z M 0 300 L 9 300"), "drawing-gap");
        assert_eq!(code("M 0 0 Z"), "drawing-empty");
    }
}
