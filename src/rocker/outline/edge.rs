//! An edge of a board in plan that is given by points.

use kurbo::Point;

use crate::curve::{PlaneCurve, Sample};
use crate::numeric::Monotone;

/// An edge from tail to tip. Between its points it is a monotone cubic; from a point at the middle line to its neighbour it is
/// a conic, so that the end is round.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Edge {
    ends_mm: (f64, f64),
    /// Stations of the points, mm.
    stations_mm: Vec<f64>,
    /// The part between the round ends; `None` where they meet.
    between: Option<Monotone>,
    /// Round ends at tail and tip.
    noses: [Option<Nose>; 2],
    /// +1 left of the middle line, -1 right of it.
    side: f64,
}

/// A round end: the distance from the middle line squared is `a d + b d²` at the distance `d` from the end, up to `length_mm`.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Nose {
    length_mm: f64,
    a: f64,
    b: f64,
}

impl Nose {
    /// From the end on the middle line to a point `reach_mm` off it with a slope. The slope is taken as half of the secant
    /// at most: from there on the end would become hollow.
    fn new(length_mm: f64, reach_mm: f64, slope: f64) -> (Self, f64) {
        let slope = slope.clamp(0.0, 0.5 * reach_mm / length_mm);
        let secant = reach_mm * reach_mm / length_mm;
        let b = (2.0 * reach_mm * slope - secant) / length_mm;
        (Self { length_mm, a: secant - b * length_mm, b }, slope)
    }

    /// Distance from the middle line at the distance `d` from the end, mm.
    fn reach_mm(&self, d: f64) -> f64 {
        (d * (self.a + self.b * d)).max(0.0).sqrt()
    }

    /// Distance from the end and from the middle line with first and second derivatives, by the parameter `q` whose square
    /// over the length is that distance: with it the round end is smooth.
    fn at(&self, q: f64) -> [(f64, f64); 3] {
        let (c0, c1) = (self.a / self.length_mm, self.b / (self.length_mm * self.length_mm));
        let g = (c0 + c1 * q * q).max(f64::MIN_POSITIVE);
        [
            (q * q / self.length_mm, q * g.sqrt()),
            (2.0 * q / self.length_mm, (c0 + 2.0 * c1 * q * q) / g.sqrt()),
            (2.0 / self.length_mm, c1 * q * (3.0 * c0 + 2.0 * c1 * q * q) / libm::pow(g, 1.5)),
        ]
    }
}

impl Edge {
    /// Through at least two points (station, distance from the middle line); only the first and the last may lie on that line.
    pub(super) fn new(points: &[(f64, f64)], side: f64) -> Self {
        let last = points.len() - 1;
        let whole = Monotone::through(points, (None, None));
        let (tail, tip) = (points[0].1 == 0.0, points[last].1 == 0.0);
        let nose = |end: usize, inner: usize, toward: f64| {
            let length_mm = (points[inner].0 - points[end].0).abs();
            Nose::new(length_mm, points[inner].1, toward * whole.slope(inner))
        };
        let tail = tail.then(|| nose(0, 1, 1.0));
        let tip = tip.then(|| nose(last, last - 1, -1.0));
        let inner = &points[usize::from(tail.is_some())..=last - usize::from(tip.is_some())];
        let slopes = (tail.map(|n| n.1), tip.map(|n| -n.1));
        Self {
            ends_mm: (points[0].0, points[last].0),
            stations_mm: points.iter().map(|p| p.0).collect(),
            between: (inner.len() > 1).then(|| Monotone::through(inner, slopes)),
            noses: [tail.map(|n| n.0), tip.map(|n| n.0)],
            side,
        }
    }

    /// Distance from the middle line at a station, mm; that of the nearest end beyond the ends.
    pub(super) fn reach_mm(&self, s_mm: f64) -> f64 {
        let (tail, tip) = self.ends_mm;
        let s_mm = s_mm.clamp(tail, tip);
        match &self.noses {
            [Some(nose), _] if s_mm - tail <= nose.length_mm => nose.reach_mm(s_mm - tail),
            [_, Some(nose)] if tip - s_mm <= nose.length_mm => nose.reach_mm(tip - s_mm),
            _ => self.between.as_ref().map_or(0.0, |curve| curve.at(s_mm)[0]),
        }
    }
}

impl PlaneCurve for Edge {
    fn range_mm(&self) -> (f64, f64) {
        self.ends_mm
    }

    fn at(&self, s_mm: f64) -> Sample {
        let (tail, tip) = self.ends_mm;
        let s_mm = s_mm.clamp(tail, tip);
        // In a round end the parameter is that of the round end, elsewhere the station.
        let [(x, y), (dx, dy), (ddx, ddy)] = match self.noses {
            [Some(nose), _] if s_mm - tail <= nose.length_mm => {
                let [(d, y), first, second] = nose.at(s_mm - tail);
                [(tail + d, y), first, second]
            }
            [_, Some(nose)] if tip - s_mm <= nose.length_mm => {
                let [(d, y), (dd, dy), (ddd, ddy)] = nose.at(tip - s_mm);
                [(tip - d, y), (dd, -dy), (-ddd, ddy)]
            }
            _ => {
                let [y, slope, second] = self.between.as_ref().map_or([0.0; 3], |curve| curve.at(s_mm));
                [(s_mm, y), (1.0, slope), (0.0, second)]
            }
        };
        let (y, dy, ddy) = (self.side * y, self.side * dy, self.side * ddy);
        Sample {
            s_mm,
            point: Point::new(x, y),
            angle_rad: libm::atan2(dy, dx),
            k_per_mm: (dx * ddy - dy * ddx) / libm::hypot(dx, dy).powi(3),
        }
    }

    fn breaks_mm(&self) -> Vec<f64> {
        self.stations_mm.clone()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_edge_with_two_round_ends_and_one_point_between_is_an_ellipse() {
        let edge = Edge::new(&[(-600.0, 0.0), (0.0, 200.0), (600.0, 0.0)], 1.0);
        for i in 0..=60 {
            let at = edge.at(-600.0 + 20.0 * f64::from(i));
            let (x, y) = (at.point.x / 600.0, at.point.y / 200.0);
            assert!((x * x + y * y - 1.0).abs() < 1e-12, "{:?}", at.point);
            // Curvature of an ellipse: a b / (a² sin² + b² cos²)^(3/2).
            let k = 600.0 * 200.0 / ((600.0 * y).powi(2) + (200.0 * x).powi(2)).powf(1.5);
            assert!((at.k_per_mm + k).abs() < 1e-12, "{} is not {k}", at.k_per_mm);
        }
        assert_eq!((edge.at(-600.0).angle_rad, edge.at(600.0).angle_rad), (0.5 * PI, -0.5 * PI));
    }

    #[test]
    fn directions_and_curvature_are_those_of_the_points_of_an_edge() {
        let points = [(-700.0, 0.0), (-600.0, 120.0), (-420.0, 140.0), (0.0, 120.0), (400.0, 138.0), (700.0, 60.0)];
        for side in [1.0, -1.0] {
            let edge = Edge::new(&points, side);
            for (s, reach) in points {
                assert!((edge.at(s).point.y - side * reach).abs() < 1e-12 && (edge.at(s).point.x - s).abs() < 1e-12);
            }
            for i in 0..139 {
                let s = -695.0 + 10.0 * f64::from(i);
                let step = 1e-3;
                let (a, b) = (edge.at(s - step), edge.at(s + step));
                let chord = b.point - a.point;
                assert!((chord.atan2() - edge.at(s).angle_rad).abs() < 1e-6, "{s}");
                let turned = (b.angle_rad - a.angle_rad) / chord.hypot();
                assert!((turned - edge.at(s).k_per_mm).abs() < 1e-6, "{s}: {turned}");
            }
        }
    }

    use std::f64::consts::PI;
}
