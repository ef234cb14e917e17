//! Outlines of lines and circular arcs.

use std::fmt;

use kurbo::{Point, Rect, Vec2};

use super::placement::Placement;

/// A corner of an outline and how the outline goes on from it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Vertex {
    /// Position, mm.
    pub point: Point,
    /// Tangent of a quarter of the angle of the arc that leads to the next vertex; 0 for a line, positive for a
    /// counter-clockwise arc (the DXF reference's definition of a bulge).
    pub bulge: f64,
}

impl Vertex {
    /// A vertex that a straight line leaves.
    pub fn line(point: Point) -> Self {
        Self { point, bulge: 0.0 }
    }
}

/// Why vertices do not make an outline.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ContourError {
    /// A closed outline needs two vertices at least (one of them with an arc), an open one two.
    TooFew,
    /// A coordinate or a bulge is not finite (index of the vertex).
    NotFinite(usize),
    /// Two vertices in a row lie in the same place (index of the first).
    ZeroLength(usize),
}

impl fmt::Display for ContourError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::TooFew => f.write_str("it has too few vertices"),
            Self::NotFinite(vertex) => write!(f, "vertex {vertex} is not finite"),
            Self::ZeroLength(vertex) => write!(f, "vertices {vertex} and {} lie in the same place", vertex + 1),
        }
    }
}

impl std::error::Error for ContourError {}

/// An outline of lines and arcs, closed or open.
#[derive(Debug, Clone, PartialEq)]
pub struct Contour {
    vertices: Vec<Vertex>,
    closed: bool,
}

/// Vertices closer than this count as one, mm: a tenth of what any exporter prints.
const SAME_PLACE_MM: f64 = 1e-7;

impl Contour {
    /// A closed outline; the last vertex leads back to the first.
    ///
    /// # Errors
    /// Reports what is wrong with the vertices.
    pub fn closed(vertices: Vec<Vertex>) -> Result<Self, ContourError> {
        Self::new(vertices, true)
    }

    /// An open path; the bulge of its last vertex is not used.
    ///
    /// # Errors
    /// Reports what is wrong with the vertices.
    pub fn open(vertices: Vec<Vertex>) -> Result<Self, ContourError> {
        Self::new(vertices, false)
    }

    fn new(vertices: Vec<Vertex>, closed: bool) -> Result<Self, ContourError> {
        if vertices.len() < 2 {
            return Err(ContourError::TooFew);
        }
        for (i, v) in vertices.iter().enumerate() {
            if !(v.point.is_finite() && v.bulge.is_finite()) {
                return Err(ContourError::NotFinite(i));
            }
            let next = vertices[(i + 1) % vertices.len()];
            let last = i + 1 == vertices.len();
            if (closed || !last) && v.point.distance(next.point) < SAME_PLACE_MM {
                return Err(ContourError::ZeroLength(i));
            }
        }
        Ok(Self { vertices, closed })
    }

    /// A closed polygon.
    ///
    /// # Errors
    /// As [`Contour::closed`].
    pub fn polygon(points: impl IntoIterator<Item = Point>) -> Result<Self, ContourError> {
        Self::closed(points.into_iter().map(Vertex::line).collect())
    }

    /// The vertices in order.
    pub fn vertices(&self) -> &[Vertex] {
        &self.vertices
    }

    /// Whether the last vertex leads back to the first.
    pub(crate) fn is_closed(&self) -> bool {
        self.closed
    }

    /// The segments: start, bulge, end.
    pub fn segments(&self) -> impl Iterator<Item = (Point, f64, Point)> + '_ {
        let n = self.vertices.len();
        let count = if self.closed { n } else { n - 1 };
        (0..count).map(move |i| (self.vertices[i].point, self.vertices[i].bulge, self.vertices[(i + 1) % n].point))
    }

    /// Length along lines and arcs, mm.
    pub fn length_mm(&self) -> f64 {
        self.segments()
            .map(|(a, bulge, b)| {
                let chord = a.distance(b);
                let theta = 4.0 * libm::atan(bulge);
                // sin(theta/2) from the bulge: 2 b / (1 + b^2).
                if theta == 0.0 { chord } else { chord * theta * (1.0 + bulge * bulge) / (4.0 * bulge) }
            })
            .sum()
    }

    /// Enclosed area, mm², positive when walked counter-clockwise; the chord is used to close an open path.
    pub fn signed_area_mm2(&self) -> f64 {
        let n = self.vertices.len();
        let polygon: f64 =
            (0..n).map(|i| self.vertices[i].point.to_vec2().cross(self.vertices[(i + 1) % n].point.to_vec2())).sum();
        let caps: f64 = self
            .segments()
            .map(|(a, bulge, b)| {
                // Circular segment r²(theta - sin theta)/2, signed like the bulge.
                if bulge == 0.0 {
                    return 0.0;
                }
                let theta = 4.0 * libm::atan(bulge);
                let radius = a.distance(b) * (1.0 + bulge * bulge) / (4.0 * bulge);
                0.5 * radius * radius * (theta - libm::sin(theta))
            })
            .sum();
        0.5 * polygon + caps
    }

    /// The smallest upright rectangle around it.
    pub fn bounds(&self) -> Rect {
        let first = self.vertices[0].point;
        let mut rect = Rect::from_points(first, first);
        for (a, bulge, b) in self.segments() {
            rect = rect.union_pt(a).union_pt(b);
            if let Some(arc) = Arc::from_bulge(a, bulge, b) {
                for direction in [Vec2::new(1.0, 0.0), Vec2::new(0.0, 1.0), Vec2::new(-1.0, 0.0), Vec2::new(0.0, -1.0)]
                {
                    if arc.passes(direction) {
                        rect = rect.union_pt(arc.center + direction * arc.radius_mm);
                    }
                }
            }
        }
        rect
    }

    /// The outline walked the other way; no arc leaves the last vertex of an open path.
    #[must_use]
    pub(crate) fn reversed(&self) -> Self {
        let n = self.vertices.len();
        let vertices = (0..n)
            .map(|i| {
                let here = self.vertices[n - 1 - i];
                // The segment that used to arrive here now leaves from here.
                let before = self.vertices[(2 * n - 2 - i) % n];
                let leaves = self.closed || i + 1 < n;
                Vertex { point: here.point, bulge: if leaves { -before.bulge } else { 0.0 } }
            })
            .collect();
        Self { vertices, closed: self.closed }
    }

    /// The outline moved by a placement.
    #[must_use]
    pub fn placed(&self, place: &Placement) -> Self {
        let sign = if place.mirrored { -1.0 } else { 1.0 };
        let moved = |v: &Vertex| Vertex { point: place.apply(v.point), bulge: v.bulge * sign };
        Self { vertices: self.vertices.iter().map(moved).collect(), closed: self.closed }
    }

    /// Points along the outline such that no arc is left by more than `tolerance_mm`; both ends of an open path, each
    /// vertex of a closed one once.
    pub fn flattened(&self, tolerance_mm: f64) -> Vec<Point> {
        let mut points = vec![self.vertices[0].point];
        for (a, bulge, b) in self.segments() {
            if let Some(arc) = Arc::from_bulge(a, bulge, b) {
                let most = 2.0 * libm::acos(1.0 - (tolerance_mm / arc.radius_mm).min(1.0));
                let count = (arc.sweep_rad.abs() / most.max(1e-3)).ceil().max(1.0) as usize;
                points.extend((1..count).map(|i| arc.at(i as f64 / count as f64)));
            }
            points.push(b);
        }
        if self.closed {
            points.pop();
        }
        points
    }
}

/// A circular arc segment, as seen through its bulge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Arc {
    /// Centre, mm.
    pub center: Point,
    /// Radius, mm.
    pub radius_mm: f64,
    /// Direction from the centre to the beginning, rad.
    pub start_rad: f64,
    /// Angle swept, rad, positive counter-clockwise.
    pub sweep_rad: f64,
}

impl Arc {
    /// The arc from `a` to `b`, or `None` for a straight segment.
    pub fn from_bulge(a: Point, bulge: f64, b: Point) -> Option<Self> {
        if bulge == 0.0 {
            return None;
        }
        let chord = b - a;
        // Distance from the chord's middle to the centre, to the left of the chord: c (1 - b²) / (4 b).
        let left = Vec2::new(-chord.y, chord.x);
        let center = a.midpoint(b) + left * ((1.0 - bulge * bulge) / (4.0 * bulge));
        let radius_mm = chord.hypot() * (1.0 + bulge * bulge) / (4.0 * bulge.abs());
        Some(Self { center, radius_mm, start_rad: (a - center).atan2(), sweep_rad: 4.0 * libm::atan(bulge) })
    }

    /// The point at a fraction of the sweep.
    pub fn at(&self, fraction: f64) -> Point {
        self.center + Vec2::from_angle(self.start_rad + self.sweep_rad * fraction) * self.radius_mm
    }

    fn passes(&self, direction: Vec2) -> bool {
        let turn = std::f64::consts::TAU;
        let offset = direction.atan2() - self.start_rad;
        let along = if self.sweep_rad > 0.0 { offset.rem_euclid(turn) } else { (-offset).rem_euclid(turn) };
        along <= self.sweep_rad.abs()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    fn half_disc() -> Contour {
        // From (-10, 0) to (10, 0) counter-clockwise below, then straight back.
        Contour::closed(vec![Vertex { point: Point::new(-10.0, 0.0), bulge: 1.0 }, Vertex::line(Point::new(10.0, 0.0))])
            .unwrap()
    }

    #[test]
    fn a_half_disc_measures_like_one() {
        let c = half_disc();
        assert!((c.length_mm() - (20.0 + 10.0 * PI)).abs() < 1e-9);
        assert!((c.signed_area_mm2() - 50.0 * PI).abs() < 1e-9);
        assert!((c.bounds().y0 + 10.0).abs() < 1e-9 && c.bounds().y1.abs() < 1e-9, "{:?}", c.bounds());
        assert!((c.reversed().signed_area_mm2() + 50.0 * PI).abs() < 1e-9);
        assert_eq!(c.reversed().reversed(), c);
    }

    #[test]
    fn nothing_leaves_the_end_of_an_open_path_walked_back() {
        let [a, b] = [Point::new(0.0, 0.0), Point::new(10.0, 0.0)];
        let vertex = |point, bulge| Vertex { point, bulge };
        let back = Contour::open(vec![vertex(a, 0.3), vertex(b, 0.7)]).unwrap().reversed();
        assert_eq!(back, Contour::open(vec![vertex(b, -0.3), Vertex::line(a)]).unwrap());
    }

    #[test]
    fn the_published_bulge_is_met() {
        // DXF: bulge = tan(theta/4); chord 1000, sagitta 10 gives bulge 0.02 and radius 12505.
        let arc = Arc::from_bulge(Point::new(0.0, 0.0), 0.02, Point::new(1000.0, 0.0)).unwrap();
        assert!((arc.radius_mm - 12_505.0).abs() < 1e-6);
        assert!((arc.at(0.5).y + 10.0).abs() < 1e-9, "a positive bulge lies to the right of its chord");
    }

    #[test]
    fn flattening_keeps_its_tolerance() {
        let area = half_disc().flattened(0.001);
        let n = area.len();
        let polygon: f64 = (0..n).map(|i| area[i].to_vec2().cross(area[(i + 1) % n].to_vec2())).sum::<f64>() * 0.5;
        assert!((polygon - 50.0 * PI).abs() < 0.001 * 31.5);
    }

    #[test]
    fn doubled_vertices_are_refused() {
        let p = Point::new(1.0, 2.0);
        assert_eq!(Contour::polygon([p, p, Point::ORIGIN]), Err(ContourError::ZeroLength(0)));
        assert_eq!(Contour::polygon([p]), Err(ContourError::TooFew));
        // An open path may come back to where it began, a closed one does so by itself.
        let around = [Point::ORIGIN, p, Point::ORIGIN].map(Vertex::line).to_vec();
        assert_eq!(Contour::closed(around.clone()), Err(ContourError::ZeroLength(2)));
        assert!(Contour::open(around).is_ok());
    }

    #[test]
    fn vertices_and_bulges_that_are_no_numbers_are_refused_at_their_place() {
        let good = [(0.0, 0.0), (5.0, 0.0), (5.0, 5.0)].map(|p| Vertex::line(Point::from(p)));
        for at in 0..3 {
            for bad in [f64::NAN, f64::INFINITY] {
                let with = |vertex: Vertex| {
                    let mut all = good;
                    all[at] = vertex;
                    [Contour::closed(all.to_vec()), Contour::open(all.to_vec())]
                };
                let refused = Err(ContourError::NotFinite(at));
                assert!(with(Vertex::line(Point::new(bad, 0.0))).iter().all(|made| *made == refused));
                assert!(with(Vertex { bulge: bad, ..good[at] }).iter().all(|made| *made == refused));
            }
        }
    }

    #[test]
    fn arcs_reach_beyond_their_ends_in_all_four_directions() {
        // Half circles of radius 5 that bulge out of the sides of a square of 10 mm.
        let out = |p: (f64, f64)| Vertex { point: Point::from(p), bulge: 1.0 };
        let around = Contour::closed([(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)].map(out).to_vec()).unwrap();
        let bounds = around.bounds();
        for (found, expected) in [(bounds.x0, -5.0), (bounds.y0, -5.0), (bounds.x1, 15.0), (bounds.y1, 15.0)] {
            assert!((found - expected).abs() < 1e-9, "{bounds:?}");
        }
        // Into the square they stay within it.
        let inside = Contour::open([(0.0, 0.0), (10.0, 0.0)].map(|p| Vertex { point: p.into(), bulge: -1.0 }).to_vec());
        let bounds = inside.unwrap().bounds();
        assert!(bounds.y0.abs() < 1e-9 && (bounds.y1 - 5.0).abs() < 1e-9, "{bounds:?}");
    }

    /// A chord leaves its arc by r (1 - cos(a/2)).
    #[test]
    fn flattening_takes_no_more_points_than_its_tolerance_asks_for() {
        let arc = vec![Vertex { point: Point::ORIGIN, bulge: 1.0 }, Vertex::line(Point::new(200.0, 0.0))];
        let half_circle = Contour::open(arc).unwrap();
        for (tolerance_mm, chords) in [(0.1, 36), (0.5, 16), (100.0 * (1.0 - (PI / 20.0).cos()) + 1e-9, 10)] {
            assert_eq!(half_circle.flattened(tolerance_mm).len(), chords + 1, "{tolerance_mm}");
        }
    }
}
