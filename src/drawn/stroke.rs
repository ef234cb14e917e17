//! One drawn line, arc or spline.

use std::f64::consts::FRAC_PI_2;

use kurbo::{Affine, Point, Vec2};

use crate::drawing::Arc;
use crate::numeric::quadrature::gauss10;

/// Longest piece of a spline that is taken for one of linear curvature, mm.
const PIECE_MM: f64 = 2.0;
/// Fewest and most pieces of each span of a spline.
const PIECES: (f64, f64) = (8.0, 2000.0);

/// One drawn line, arc or spline.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Stroke {
    /// Line or arc from one point to another, with the arc's bulge (0 for a line).
    Arc(Point, f64, Point),
    /// Spline.
    Spline(Spline),
}

/// A B-spline over its knots, polynomial or rational.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Spline {
    degree: usize,
    knots: Vec<f64>,
    control: Vec<Point>,
    /// Weight of every control point; empty where all are alike.
    weights: Vec<f64>,
}

/// Control points of the derivatives of order 0, 1 and 2.
type Derivatives = [Vec<Vec2>; 3];

/// The spline in homogeneous coordinates: points times weights, and the weights where they differ.
struct Homogeneous {
    points: Derivatives,
    weights: Option<Derivatives>,
}

impl Spline {
    /// `None` where degree, knots and control points do not belong together.
    pub(crate) fn new(degree: usize, knots: Vec<f64>, control: Vec<Point>) -> Option<Self> {
        let fits = (1..=10).contains(&degree) && control.len() > degree && knots.len() == control.len() + degree + 1;
        let rising = knots.windows(2).all(|w| w[0] <= w[1]);
        let spans = fits && rising && knots[degree] < knots[control.len()];
        spans.then_some(Self { degree, knots, control, weights: Vec::new() })
    }

    /// The same with weights; `None` where they are not one positive number for each control point.
    pub(crate) fn weighted(self, weights: &[f64]) -> Option<Self> {
        let fits = weights.len() == self.control.len() && weights.iter().all(|w| w.is_finite() && *w > 0.0);
        let alike = weights.windows(2).all(|w| (w[0] - w[1]).abs() <= 1e-9 * w[0].abs());
        fits.then(|| Self { weights: if alike { Vec::new() } else { weights.to_vec() }, ..self })
    }

    /// The part of an ellipse between two parameters (its eccentric angles), as what it is exactly: a rational spline of
    /// degree 2, whose middle control points of each piece have the cosine of half the piece's angle as their weight
    /// (projective geometry of conics, from memory).
    pub(crate) fn ellipse(center: Point, major: Vec2, minor: Vec2, from: f64, sweep: f64) -> Option<Self> {
        let pieces = (sweep.abs() / FRAC_PI_2 - 1e-9).ceil().max(1.0);
        let half = 0.5 * sweep / pieces;
        let on = |angle: f64, scale: f64| center + (major * libm::cos(angle) + minor * libm::sin(angle)) * scale;
        let (mut control, mut weights, mut knots) = (vec![on(from, 1.0)], vec![1.0], vec![0.0; 3]);
        for i in 0..pieces as usize {
            let start = from + 2.0 * half * i as f64;
            control.extend([on(start + half, 1.0 / libm::cos(half)), on(start + 2.0 * half, 1.0)]);
            weights.extend([libm::cos(half), 1.0]);
            knots.extend([i as f64 + 1.0; 2]);
        }
        knots.push(pieces);
        Self::new(2, knots, control)?.weighted(&weights)
    }

    /// A Bezier curve.
    pub(crate) fn bezier(control: Vec<Point>) -> Option<Self> {
        let order = control.len();
        Self::new(order.checked_sub(1)?, [vec![0.0; order], vec![1.0; order]].concat(), control)
    }

    /// Spans between different knots.
    fn spans(&self) -> impl Iterator<Item = usize> + '_ {
        (self.degree..self.control.len()).filter(|&i| self.knots[i] < self.knots[i + 1])
    }

    /// Value of the spline of the given degree and control points at `u` in span `span` (de Boor's recurrence).
    fn value(&self, span: usize, degree: usize, control: &[Vec2], u: f64) -> Vec2 {
        // The derivatives live on the same knots with one dropped at each end for each order.
        let dropped = self.degree - degree;
        let knots = &self.knots[dropped..self.knots.len() - dropped];
        let span = span - dropped;
        let mut d: Vec<Vec2> = control[span - degree..=span].to_vec();
        for r in 1..=degree {
            for j in (r..=degree).rev() {
                let (left, right) = (knots[j + span - degree], knots[j + 1 + span - r]);
                let share = (u - left) / (right - left);
                d[j] = d[j - 1] * (1.0 - share) + d[j] * share;
            }
        }
        d[degree]
    }

    fn homogeneous(&self) -> Homogeneous {
        let weight = |i: usize| self.weights.get(i).copied().unwrap_or(1.0);
        let points = self.control.iter().enumerate().map(|(i, p)| p.to_vec2() * weight(i)).collect();
        let weights = (!self.weights.is_empty())
            .then(|| self.derivatives(self.weights.iter().map(|w| Vec2::new(*w, 0.0)).collect()));
        Homogeneous { points: self.derivatives(points), weights }
    }

    fn derivatives(&self, zero: Vec<Vec2>) -> Derivatives {
        let next = |control: &[Vec2], order: usize| -> Vec<Vec2> {
            if order > self.degree {
                return Vec::new();
            }
            let degree = self.degree + 1 - order;
            let knots = &self.knots[order - 1..];
            let step = |i: usize| {
                let width = knots[i + degree + 1] - knots[i + 1];
                if width > 0.0 { (control[i + 1] - control[i]) * (degree as f64 / width) } else { Vec2::ZERO }
            };
            (0..control.len() - 1).map(step).collect()
        };
        let one = next(&zero, 1);
        let two = next(&one, 2);
        [zero, one, two]
    }

    /// Point, first and second derivative at `u` in a span.
    fn at(&self, span: usize, homogeneous: &Homogeneous, u: f64) -> [Vec2; 3] {
        let each = |d: &Derivatives| {
            [0, 1, 2].map(|order| {
                if order > self.degree { Vec2::ZERO } else { self.value(span, self.degree - order, &d[order], u) }
            })
        };
        let points = each(&homogeneous.points);
        let Some(weights) = &homogeneous.weights else { return points };
        // Quotient rule: C = A/w, C' = (A' - w' C)/w, C'' = (A'' - 2 w' C' - w'' C)/w.
        let [w, w1, w2] = each(weights).map(|v| v.x);
        let zero = points[0] / w;
        let one = (points[1] - zero * w1) / w;
        [zero, one, (points[2] - one * (2.0 * w1) - zero * w2) / w]
    }

    /// First and second derivative at `u` in a span.
    fn slopes(&self, span: usize, homogeneous: &Homogeneous, u: f64) -> (Vec2, Vec2) {
        let [_, first, second] = self.at(span, homogeneous, u);
        (first, second)
    }

    /// The first or last span and the knot at which the spline begins or ends.
    fn outermost(&self, at_end: bool) -> (usize, f64) {
        // There is a span: the outer knots differ.
        let span = if at_end { self.spans().last() } else { self.spans().next() }.unwrap_or(self.degree);
        (span, self.knots[span + usize::from(at_end)])
    }

    fn direction(&self, at_end: bool) -> Vec2 {
        let (span, u) = self.outermost(at_end);
        let slope = self.slopes(span, &self.homogeneous(), u).0;
        if slope.hypot() > 0.0 {
            return slope;
        }
        // A control point on the end: the direction is that of the chord to the next different one.
        let points: Vec<Point> =
            if at_end { self.control.iter().rev().copied().collect() } else { self.control.clone() };
        let away = points.iter().find(|p| **p != points[0]).map_or(Vec2::ZERO, |p| *p - points[0]);
        if at_end { -away } else { away }
    }

    fn end(&self, at_end: bool) -> Point {
        let (span, u) = self.outermost(at_end);
        self.at(span, &self.homogeneous(), u)[0].to_point()
    }

    /// The point at a share of the way from the first knot to the last.
    pub(crate) fn point(&self, share: f64) -> Point {
        let (from, to) = (self.outermost(false).1, self.outermost(true).1);
        let u = from + share * (to - from);
        let span = self.spans().find(|&span| u < self.knots[span + 1]).unwrap_or(self.outermost(true).0);
        self.at(span, &self.homogeneous(), u)[0].to_point()
    }

    fn pieces(&self) -> Vec<(f64, f64, f64)> {
        let homogeneous = self.homogeneous();
        let mut pieces = Vec::new();
        for span in self.spans() {
            let (from, to) = (self.knots[span], self.knots[span + 1]);
            let length = |a: f64, b: f64| gauss10(a, b, |u| [self.slopes(span, &homogeneous, u).0.hypot()])[0];
            let bend = |u: f64| {
                let (first, second) = self.slopes(span, &homogeneous, u);
                first.cross(second) / first.hypot().powi(3)
            };
            let count = (length(from, to) / PIECE_MM).ceil().clamp(PIECES.0, PIECES.1);
            let mut i = 0.0;
            while i < count {
                let (a, b) = (from + (to - from) * i / count, from + (to - from) * (i + 1.0) / count);
                // Just inside the span: at its very ends a cusp of the parameter has no curvature.
                let inside = 1e-9 * (b - a);
                pieces.push((length(a, b), bend(a + inside), bend(b - inside)));
                i += 1.0;
            }
        }
        pieces
    }
}

impl Stroke {
    pub(crate) fn line(a: Point, b: Point) -> Self {
        Self::Arc(a, 0.0, b)
    }

    pub(crate) fn start(&self) -> Point {
        match self {
            Self::Arc(a, ..) => *a,
            Self::Spline(s) => s.end(false),
        }
    }

    pub(crate) fn end(&self) -> Point {
        match self {
            Self::Arc(.., b) => *b,
            Self::Spline(s) => s.end(true),
        }
    }

    /// Direction of travel at the start, rad.
    pub(crate) fn start_rad(&self) -> f64 {
        match self {
            // Half the arc's angle before the chord; an arc turns through four times the angle whose tangent is its bulge.
            Self::Arc(a, bulge, b) => (*b - *a).atan2() - 2.0 * libm::atan(*bulge),
            Self::Spline(s) => s.direction(false).atan2(),
        }
    }

    /// Direction of travel at the end, rad.
    pub(crate) fn end_rad(&self) -> f64 {
        match self {
            Self::Arc(a, bulge, b) => (*b - *a).atan2() + 2.0 * libm::atan(*bulge),
            Self::Spline(s) => s.direction(true).atan2(),
        }
    }

    pub(crate) fn reversed(&self) -> Self {
        match self {
            Self::Arc(a, bulge, b) => Self::Arc(*b, -bulge, *a),
            Self::Spline(s) => Self::Spline(Spline {
                degree: s.degree,
                knots: s.knots.iter().rev().map(|k| -k).collect(),
                control: s.control.iter().rev().copied().collect(),
                weights: s.weights.iter().rev().copied().collect(),
            }),
        }
    }

    /// The stroke moved by a similarity (turn, shift, mirror, even scale).
    pub(crate) fn placed(&self, place: Affine) -> Self {
        match self {
            Self::Arc(a, bulge, b) => Self::Arc(place * *a, bulge * place.determinant().signum(), place * *b),
            Self::Spline(s) => {
                Self::Spline(Spline { control: s.control.iter().map(|p| place * *p).collect(), ..s.clone() })
            }
        }
    }

    pub(crate) fn is_finite(&self) -> bool {
        match self {
            Self::Arc(a, bulge, b) => a.is_finite() && b.is_finite() && bulge.is_finite(),
            Self::Spline(s) => s.control.iter().all(|p| p.is_finite()) && s.knots.iter().all(|k| k.is_finite()),
        }
    }

    pub(crate) fn is_line(&self) -> bool {
        matches!(self, Self::Arc(_, bulge, _) if *bulge == 0.0)
    }

    /// Points that divide an arc or a spline into pieces of about `pitch_mm`, its end being the last; of a line its end.
    pub(crate) fn divided(&self, pitch_mm: f64) -> Vec<Point> {
        let count = if self.is_line() { 1.0 } else { (self.length_mm() / pitch_mm).ceil().clamp(1.0, 1000.0) };
        let at = |i: f64| match self {
            Self::Arc(a, bulge, b) => match Arc::from_bulge(*a, *bulge, *b) {
                Some(arc) => {
                    let turned = Affine::rotate_about(arc.sweep_rad * i / count, arc.center);
                    turned * *a
                }
                None => a.lerp(*b, i / count),
            },
            Self::Spline(s) => s.point(i / count),
        };
        let mut points: Vec<Point> = Vec::new();
        let mut i = 1.0;
        while i < count {
            points.push(at(i));
            i += 1.0;
        }
        points.push(self.end());
        points
    }

    pub(crate) fn length_mm(&self) -> f64 {
        self.curvature().iter().map(|p| p.0).sum()
    }

    /// Pieces of linear curvature: length, mm, and curvature at both ends, 1/mm.
    pub(crate) fn curvature(&self) -> Vec<(f64, f64, f64)> {
        match self {
            Self::Arc(a, bulge, b) => match Arc::from_bulge(*a, *bulge, *b) {
                Some(arc) => {
                    let k = 1.0_f64.copysign(*bulge) / arc.radius_mm;
                    vec![(arc.radius_mm * arc.sweep_rad.abs(), k, k)]
                }
                None => vec![(a.distance(*b), 0.0, 0.0)],
            },
            Self::Spline(s) => s.pieces().into_iter().filter(|p| p.0 > 0.0).collect(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_spline_is_its_polynomial() {
        // x = u, y = u³/6 on two spans: curvature u/(1 + u⁴/4)^1.5, and u³/6 at the end.
        let blossom = |a: f64, b: f64, c: f64| Point::new((a + b + c) / 3.0, a * b * c / 6.0);
        let knots = vec![0.0, 0.0, 0.0, 0.0, 1.0, 2.0, 2.0, 2.0, 2.0];
        let control = (1..6).map(|i| blossom(knots[i], knots[i + 1], knots[i + 2])).collect();
        let stroke = Stroke::Spline(Spline::new(3, knots, control).unwrap());
        assert!(stroke.end().distance(Point::new(2.0, 8.0 / 6.0)) < 1e-12);
        assert!((stroke.end_rad() - 2.0_f64.atan()).abs() < 1e-12);
        let pieces = stroke.curvature();
        let last = pieces[pieces.len() - 1].2;
        assert!((last - 2.0 / 5.0_f64.powf(1.5)).abs() < 1e-7, "{last}");
        let turned: f64 = pieces.iter().map(|p| 0.5 * p.0 * (p.1 + p.2)).sum();
        assert!((turned - 2.0_f64.atan()).abs() < 1e-2, "{turned}");
        let back = stroke.reversed();
        assert!(back.start().distance(stroke.end()) < 1e-12);
        assert!((back.length_mm() - stroke.length_mm()).abs() < 1e-9);
    }

    #[test]
    fn an_ellipse_is_exact() {
        // Half axes a and b: curvature a b/(a² sin² t + b² cos² t)^1.5; perimeter of 2 : 1 by the complete elliptic integral,
        // 4 a E(m = 3/4) = 9.688448220547675 for a = 2 (Abramowitz and Stegun, table 17.1: E = 1.21105 60276).
        let spline =
            Spline::ellipse(Point::ORIGIN, Vec2::new(2.0, 0.0), Vec2::new(0.0, 1.0), 0.0, 4.0 * FRAC_PI_2).unwrap();
        let stroke = Stroke::Spline(spline);
        assert!((stroke.length_mm() - 8.0 * 1.211_056_027_6).abs() < 1e-8, "{}", stroke.length_mm());
        let pieces = stroke.curvature();
        assert!((pieces[0].1 - 2.0).abs() < 1e-6 && (pieces[pieces.len() / 4].1 - 0.25).abs() < 1e-6);
        let turned: f64 = pieces.iter().map(|p| 0.5 * p.0 * (p.1 + p.2)).sum();
        assert!((turned - 4.0 * FRAC_PI_2).abs() < 0.05, "{turned}");
        // A circle is one of them.
        let circle = Spline::ellipse(Point::new(3.0, 4.0), Vec2::new(5.0, 0.0), Vec2::new(0.0, 5.0), 0.3, 1.7).unwrap();
        for (_, a, b) in Stroke::Spline(circle).curvature() {
            assert!((a - 0.2).abs() < 1e-9 && (b - 0.2).abs() < 1e-9, "{a} {b}");
        }
    }

    #[test]
    fn a_control_point_on_an_end_leaves_the_direction_to_the_next_one() {
        let corners = [(0.0, 0.0), (400.0, 30.0), (900.0, 10.0)].map(Point::from);
        let [a, b, c] = corners;
        let begins = Stroke::Spline(Spline::bezier(vec![a, a, b, c]).unwrap());
        let ends = Stroke::Spline(Spline::bezier(vec![a, b, c, c]).unwrap());
        assert_eq!(begins.start_rad(), (b - a).atan2());
        assert_eq!(ends.end_rad(), (c - b).atan2());
        assert_eq!((begins.end_rad(), ends.start_rad()), ((c - b).atan2(), (b - a).atan2()));
    }

    #[test]
    fn a_rational_spline_has_the_derivatives_of_the_circle_that_it_is() {
        // x = (1 - u²)/(1 + u²), y = 2u/(1 + u²): the angle is 2 atan u, its rates w = 2/(1 + u²) and w' = -4u/(1 + u²)².
        let control = [(1.0, 0.0), (1.0, 1.0), (0.0, 1.0)].map(Point::from).to_vec();
        let spline = Spline::bezier(control).unwrap().weighted(&[1.0, 1.0, 2.0]).unwrap();
        let homogeneous = spline.homogeneous();
        for u in [0.0, 0.3, 0.8, 1.0_f64] {
            let out = Vec2::from_angle(2.0 * u.atan());
            let along = Vec2::new(-out.y, out.x);
            let (w, dw) = (2.0 / (1.0 + u * u), -4.0 * u / (1.0 + u * u).powi(2));
            let found = spline.at(2, &homogeneous, u);
            for (found, exact) in found.into_iter().zip([out, along * w, along * dw - out * (w * w)]) {
                assert!((found - exact).hypot() < 1e-13, "{u}: {found:?} is not {exact:?}");
            }
        }
    }

    #[test]
    fn weights_count_by_their_ratios_alone() {
        let spline = |scale: f64| {
            let control = [(0.0, 0.0), (30.0, 0.0), (60.0, 40.0)].map(Point::from).to_vec();
            Stroke::Spline(Spline::bezier(control).unwrap().weighted(&[1.0, 2.0, 1.0].map(|w| w * scale)).unwrap())
        };
        let one = spline(1.0);
        for scale in [1e-6, 1e-3, 1e3, 1e6] {
            assert!((spline(scale).length_mm() - one.length_mm()).abs() < 1e-9, "{scale}");
        }
    }

    #[test]
    fn a_spline_whose_knots_run_evenly_begins_between_its_control_points() {
        // Uniform cubic: it begins at (a + 4 b + c)/6 in the direction from a to c, and ends likewise (blossoming by hand).
        let control = [(0.0, 0.0), (100.0, 40.0), (200.0, -10.0), (330.0, 70.0)].map(Point::from);
        let [a, b, c, d] = control.map(Point::to_vec2);
        let stroke = Stroke::Spline(Spline::new(3, (0..8).map(f64::from).collect(), control.to_vec()).unwrap());
        let between = |a: Vec2, b: Vec2, c: Vec2| ((a + b * 4.0 + c) / 6.0).to_point();
        assert!(stroke.start().distance(between(a, b, c)) < 1e-12);
        assert!(stroke.end().distance(between(b, c, d)) < 1e-12);
        assert!((stroke.start_rad() - (c - a).atan2()).abs() < 1e-12, "{}", stroke.start_rad());
        assert!((stroke.end_rad() - (d - b).atan2()).abs() < 1e-12, "{}", stroke.end_rad());
    }

    #[test]
    fn a_spline_of_degree_one_is_its_polygon() {
        let corners = [(0.0, 0.0), (300.0, 0.0), (300.0, 400.0)].map(Point::from);
        let stroke = Stroke::Spline(Spline::new(1, vec![0.0, 0.0, 1.0, 2.0, 2.0], corners.to_vec()).unwrap());
        assert!((stroke.length_mm() - 700.0).abs() < 1e-9, "{}", stroke.length_mm());
        assert!(stroke.curvature().iter().all(|p| (p.1, p.2) == (0.0, 0.0)));
        assert_eq!((stroke.start_rad(), stroke.end_rad()), (0.0, FRAC_PI_2));
    }

    #[test]
    fn weights_that_are_alike_change_nothing_and_others_must_be_positive_numbers() {
        let spline = Spline::bezier([(0.0, 0.0), (1.0, 0.0), (2.0, 1.0)].map(Point::from).to_vec()).unwrap();
        assert_eq!(spline.clone().weighted(&[3.0, 3.0, 3.0]), Some(spline.clone()));
        assert_ne!(spline.clone().weighted(&[1.0, 2.0, 1.0]), Some(spline.clone()));
        for bad in
            [&[1.0, 1.0][..], &[1.0, 0.0, 1.0], &[1.0, -1.0, 1.0], &[1.0, f64::NAN, 1.0], &[1.0, f64::INFINITY, 1.0]]
        {
            assert_eq!(spline.clone().weighted(bad), None, "{bad:?}");
        }
    }

    #[test]
    fn strokes_are_finite_when_all_their_numbers_are() {
        let [a, b] = [Point::new(0.0, 0.0), Point::new(5.0, 0.0)];
        assert!(Stroke::Arc(a, 0.1, b).is_finite());
        let far = Point::new(f64::INFINITY, 0.0);
        for bad in [Stroke::Arc(far, 0.1, b), Stroke::Arc(a, 0.1, far), Stroke::Arc(a, f64::NAN, b)] {
            assert!(!bad.is_finite(), "{bad:?}");
        }
        let spline =
            |end: f64, to: Point| Stroke::Spline(Spline::new(1, vec![0.0, 0.0, end, end], vec![a, to]).unwrap());
        assert!(spline(1.0, b).is_finite() && !spline(1.0, far).is_finite() && !spline(f64::INFINITY, b).is_finite());
    }

    #[test]
    fn knots_that_do_not_fit_are_refused() {
        let points = |n: i32| (0..n).map(|i| Point::new(f64::from(i), 0.0)).collect();
        assert!(Spline::new(0, vec![0.0, 1.0], points(1)).is_none(), "degree 0");
        assert!(Spline::new(11, [vec![0.0; 12], vec![1.0; 12]].concat(), points(12)).is_none(), "degree 11");
        assert!(Spline::new(3, vec![0.0, 0.0, 0.0, 1.0, 1.0, 1.0, 1.0], points(3)).is_none(), "too few points");
        assert!(Spline::new(1, vec![0.0, 0.0, 2.0, 1.0, 3.0, 3.0], points(4)).is_none(), "knots that fall");
        assert!(Spline::new(3, vec![0.0; 8], points(4)).is_none());
        assert!(Spline::new(3, vec![0.0, 0.0, 1.0, 1.0], points(4)).is_none());
        assert!(Spline::bezier(points(4)).is_some());
    }
}
