//! Path data of an SVG (Scalable Vector Graphics 1.1, chapter 8), with circular arcs kept as arcs.

use kurbo::{Point, Shape, SvgArc, Vec2};
use svgtypes::{PathParser, PathSegment};

use super::stroke::{Spline, Stroke};

/// How closely an arc of an ellipse is followed by cubics, as a part of the drawing's unit.
const ELLIPSE_TOLERANCE: f64 = 1e-5;

/// The strokes of path data; `None` where it cannot be read.
pub(super) fn strokes(data: &str) -> Option<Vec<Stroke>> {
    let mut pen = Pen::default();
    for segment in PathParser::from(data) {
        pen.draw(segment.ok()?)?;
    }
    Some(pen.strokes)
}

/// What a control point belongs to.
#[derive(Clone, Copy, PartialEq)]
enum Degree {
    Cubic,
    Quadratic,
}

#[derive(Default)]
struct Pen {
    at: Point,
    begun: Point,
    /// Control point of the last curve, for the smooth ones.
    last: Option<(Degree, Point)>,
    strokes: Vec<Stroke>,
}

impl Pen {
    fn draw(&mut self, segment: PathSegment) -> Option<()> {
        use PathSegment as P;
        let here = self.at.to_vec2();
        let point = |abs: bool, x: f64, y: f64| Point::new(x, y) + if abs { Vec2::ZERO } else { here };
        let mirrored = |of: Degree, pen: &Self| match pen.last {
            Some((degree, control)) if degree == of => pen.at + (pen.at - control),
            _ => pen.at,
        };
        let mut last = None;
        match segment {
            P::MoveTo { abs, x, y } => {
                self.at = point(abs, x, y);
                self.begun = self.at;
            }
            P::LineTo { abs, x, y } => self.line(point(abs, x, y)),
            P::HorizontalLineTo { abs, x } => self.line(Point::new(point(abs, x, 0.0).x, self.at.y)),
            P::VerticalLineTo { abs, y } => self.line(Point::new(self.at.x, point(abs, 0.0, y).y)),
            P::ClosePath { .. } => self.line(self.begun),
            P::CurveTo { abs, x1, y1, x2, y2, x, y } => {
                let b = point(abs, x2, y2);
                last = Some((Degree::Cubic, b));
                self.curve(vec![self.at, point(abs, x1, y1), b, point(abs, x, y)])?;
            }
            P::SmoothCurveTo { abs, x2, y2, x, y } => {
                let b = point(abs, x2, y2);
                last = Some((Degree::Cubic, b));
                self.curve(vec![self.at, mirrored(Degree::Cubic, self), b, point(abs, x, y)])?;
            }
            P::Quadratic { abs, x1, y1, x, y } => {
                let a = point(abs, x1, y1);
                last = Some((Degree::Quadratic, a));
                self.curve(vec![self.at, a, point(abs, x, y)])?;
            }
            P::SmoothQuadratic { abs, x, y } => {
                let a = mirrored(Degree::Quadratic, self);
                last = Some((Degree::Quadratic, a));
                self.curve(vec![self.at, a, point(abs, x, y)])?;
            }
            P::EllipticalArc { abs, rx, ry, x_axis_rotation, large_arc, sweep, x, y } => self.arc(SvgArc {
                from: self.at,
                to: point(abs, x, y),
                radii: Vec2::new(rx.abs(), ry.abs()),
                x_rotation: x_axis_rotation.to_radians(),
                large_arc,
                sweep,
            })?,
        }
        self.last = last;
        Some(())
    }

    fn line(&mut self, to: Point) {
        if to != self.at {
            self.strokes.push(Stroke::line(self.at, to));
        }
        self.at = to;
    }

    fn curve(&mut self, control: Vec<Point>) -> Option<()> {
        let end = *control.last()?;
        if control.iter().any(|p| *p != end) {
            self.strokes.push(Stroke::Spline(Spline::bezier(control)?));
        }
        self.at = end;
        Some(())
    }

    fn arc(&mut self, arc: SvgArc) -> Option<()> {
        let (from, to) = (arc.from, arc.to);
        if from == to {
            return Some(());
        }
        if arc.radii.x == 0.0 || arc.radii.y == 0.0 {
            self.line(to);
        } else if (arc.radii.x - arc.radii.y).abs() <= 1e-9 * arc.radii.x {
            // Radii too small for the chord are scaled up to it (chapter 8.3.8 and appendix F.6.6).
            let half_sine = (0.5 * from.distance(to) / arc.radii.x).min(1.0);
            let small = 2.0 * libm::asin(half_sine);
            let angle = if arc.large_arc { std::f64::consts::TAU - small } else { small };
            let bulge = libm::tan(0.25 * angle);
            self.strokes.push(Stroke::Arc(from, if arc.sweep { bulge } else { -bulge }, to));
        } else {
            let curves = kurbo::Arc::from_svg_arc(&arc)?;
            for segment in curves.to_path(ELLIPSE_TOLERANCE).segments() {
                let cubic = segment.to_cubic();
                self.strokes.push(Stroke::Spline(Spline::bezier(vec![cubic.p0, cubic.p1, cubic.p2, cubic.p3])?));
            }
        }
        self.at = to;
        Some(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_command_draws_from_where_the_last_one_ended() {
        let drawn =
            strokes("M10-20l5 0h5v.5.5H0Q1 2 3 4t1 1C1,1 2,2 3e0 3s1 1 2 2a5 5 0 0110 0A5 3 0 1 0 0 0z").unwrap();
        for pair in drawn.windows(2) {
            assert!(pair[0].end().distance(pair[1].start()) < 1e-9, "{pair:?}");
        }
        assert_eq!(drawn[0], Stroke::line(Point::new(10.0, -20.0), Point::new(15.0, -20.0)));
        assert_eq!(drawn[3], Stroke::line(Point::new(20.0, -19.5), Point::new(20.0, -19.0)));
        assert!(drawn.last().unwrap().end().distance(Point::new(10.0, -20.0)) < 1e-9);
        let half = drawn.iter().find(|s| s.start() == Point::new(5.0, 5.0) && matches!(s, Stroke::Arc(..))).unwrap();
        assert!(half.end() == Point::new(15.0, 5.0) && (half.length_mm() - 5.0 * std::f64::consts::PI).abs() < 1e-12);
    }

    #[test]
    fn the_larger_arc_is_drawn_where_it_is_asked_for() {
        // Between two ends of a quarter of a circle: that quarter, or the other three.
        for (flag, quarters) in [(0, 1.0), (1, 3.0)] {
            let drawn = strokes(&format!("M 5 0 A 5 5 0 {flag} 1 0 5")).unwrap();
            assert!((drawn[0].length_mm() - quarters * 2.5 * std::f64::consts::PI).abs() < 1e-12);
            assert_eq!((drawn[0].start(), drawn[0].end()), (Point::new(5.0, 0.0), Point::new(0.0, 5.0)));
        }
    }

    fn bezier(control: &[(f64, f64)]) -> Stroke {
        Stroke::Spline(Spline::bezier(control.iter().copied().map(Point::from).collect()).unwrap())
    }

    #[test]
    fn a_smooth_curve_mirrors_the_last_control_point_of_its_own_kind_alone() {
        let drawn = strokes("M0 0 C1 2 8 3 10 0 S18 -4 20 0 Q23 5 30 0 T40 0 T50 1 S58 -4 60 0 T 70 0").unwrap();
        let expected = [
            bezier(&[(0.0, 0.0), (1.0, 2.0), (8.0, 3.0), (10.0, 0.0)]),
            bezier(&[(10.0, 0.0), (12.0, -3.0), (18.0, -4.0), (20.0, 0.0)]),
            bezier(&[(20.0, 0.0), (23.0, 5.0), (30.0, 0.0)]),
            bezier(&[(30.0, 0.0), (37.0, -5.0), (40.0, 0.0)]),
            bezier(&[(40.0, 0.0), (43.0, 5.0), (50.0, 1.0)]),
            // Behind the other kind there is nothing to mirror: the control point lies on the start.
            bezier(&[(50.0, 1.0), (50.0, 1.0), (58.0, -4.0), (60.0, 0.0)]),
            bezier(&[(60.0, 0.0), (60.0, 0.0), (70.0, 0.0)]),
        ];
        assert_eq!(drawn, expected);
        // Nor behind a line.
        let drawn = strokes("M0 0 L10 0 S18 -4 20 0").unwrap();
        assert_eq!(drawn[1], bezier(&[(10.0, 0.0), (10.0, 0.0), (18.0, -4.0), (20.0, 0.0)]));
    }

    #[test]
    fn a_curve_that_stays_where_it_is_draws_nothing() {
        let drawn = strokes("M5 5 C5 5 5 5 5 5 Q5 5 5 5 L10 5").unwrap();
        assert_eq!(drawn, [Stroke::line(Point::new(5.0, 5.0), Point::new(10.0, 5.0))]);
    }

    #[test]
    fn an_arc_leaves_and_arrives_as_its_flags_say() {
        // From (5, 0) to (0, 5) with radius 5: about the origin the short way, about (5, 5) the long one, or the other way
        // round. Directions are square to the radius (by hand).
        let quarter = std::f64::consts::FRAC_PI_2;
        let cases = [
            ("0 1", 1.0 * quarter, 2.0 * quarter),
            ("1 1", 0.0, -quarter),
            ("0 0", 2.0 * quarter, 1.0 * quarter),
            ("1 0", -quarter, 0.0),
        ];
        for (flags, leaves, arrives) in cases {
            let drawn = strokes(&format!("M 5 0 A 5 5 0 {flags} 0 5")).unwrap();
            for (found, expected) in [(drawn[0].start_rad(), leaves), (drawn[0].end_rad(), arrives)] {
                assert!((found - expected).sin().abs() < 1e-12 && (found - expected).cos() > 0.0, "{flags}: {found}");
            }
        }
    }

    #[test]
    fn only_arcs_of_equal_radii_are_circles() {
        // Half of an ellipse of 2 : 1: half of 8 E(m = 3/4) (Abramowitz and Stegun, table 17.1: E = 1.21105 60276).
        let length = |path: &str| strokes(path).unwrap().iter().map(Stroke::length_mm).sum::<f64>();
        assert!((length("M -2 0 A 2 1 0 0 0 2 0") - 4.0 * 1.211_056_027_6).abs() < 1e-3);
        // What is equal but for rounding is one.
        for (a, b) in [("1000", "1000.0000005"), ("0.001", "0.0010000000000005")] {
            let drawn = strokes(&format!("M -{a} 0 A {a} {b} 0 0 0 {a} 0")).unwrap();
            assert!(matches!(drawn[..], [Stroke::Arc(..)]), "{drawn:?}");
        }
    }

    #[test]
    fn what_is_no_path_is_refused() {
        for bad in [
            "M 5e 5",
            "M 5 5e+",
            "10 10",
            "M 1",
            "M 1 1 L 2",
            "M0 0 A 1 1 0 2 0 3 3",
            "M0 0 X",
            "M0 0 z 4 4",
            "M 1 nan",
        ] {
            assert!(strokes(bad).is_none(), "{bad}");
        }
    }
}
