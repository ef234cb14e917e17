//! A parallel projection of the table, seen from its tail end, from the left and from above.
//!
//! Faces are painted the hindmost first. The order is proven by planes, not by sorting distances: of two bodies with a
//! plane between them, the one on the reader's side can hide the other and never the other way round. Ribs, bays, nuts
//! lie in slabs between planes across (y), what stands in a bay between planes along (x), base boards under the plane
//! z = 0, end panels beyond the planes of the table's ends. The one body that no plane parts from the ribs is the skin:
//! it lies on them, a surface over (x, y). A line from a point of it to the reader stays over it as long as the reader
//! looks down steeper than the surface rises toward the reader, so nothing under it can hide it; `View::over` turns
//! the view until that holds.

use kurbo::Point;

/// A place in table coordinates, mm: along, across, up.
pub(super) type Place = (f64, f64, f64);

/// Height of the reader over the horizon, rad.
const ELEVATION_RAD: f64 = 0.56;
/// Turn of the reader from straight at the table's left side toward its tail, rad, for gentle tables.
const AZIMUTH_RAD: f64 = 0.50;
/// How much steeper than the surface the reader looks down, rad.
const MARGIN_RAD: f64 = 0.06;

/// From where the reader looks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct View {
    right: (f64, f64),
    up: Place,
    /// Direction toward the reader.
    pub(super) toward: Place,
}

impl View {
    /// A view from which no part of a surface that rises no steeper than `steepest_rad` along the table hides another.
    pub(super) fn over(steepest_rad: f64) -> Self {
        let slope = libm::tan((steepest_rad + MARGIN_RAD).clamp(0.0, 1.5));
        // Seen along the table, the line to the reader rises by tan(elevation) / sin(azimuth).
        let most = if slope > 0.0 { libm::asin((libm::tan(ELEVATION_RAD) / slope).min(1.0)) } else { AZIMUTH_RAD };
        let azimuth = AZIMUTH_RAD.min(most);
        let (sin_a, cos_a) = libm::sincos(azimuth);
        let (sin_e, cos_e) = libm::sincos(ELEVATION_RAD);
        Self {
            right: (cos_a, -sin_a),
            up: (sin_e * sin_a, sin_e * cos_a, cos_e),
            toward: (-cos_e * sin_a, -cos_e * cos_a, sin_e),
        }
    }

    /// Where a place is seen, mm on the picture's plane.
    pub(super) fn at(&self, (x, y, z): Place) -> Point {
        Point::new(x * self.right.0 + y * self.right.1, x * self.up.0 + y * self.up.1 + z * self.up.2)
    }
}

/// The outline of all points: the smallest convex polygon around them (monotone chain).
pub(super) fn hull(mut points: Vec<Point>) -> Vec<Point> {
    points.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    let turn = |o: Point, a: Point, b: Point| (a - o).cross(b - o);
    let half = |points: &mut dyn Iterator<Item = Point>| {
        let mut chain: Vec<Point> = Vec::new();
        for p in points {
            while chain.len() > 1 && turn(chain[chain.len() - 2], chain[chain.len() - 1], p) <= 0.0 {
                chain.pop();
            }
            chain.push(p);
        }
        chain.pop();
        chain
    };
    let mut lower = half(&mut points.iter().copied());
    lower.extend(half(&mut points.iter().rev().copied()));
    lower
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_view_is_square_and_looks_down_steeper_than_the_table_rises() {
        for steepest in [0.0, 0.3, 0.9, 1.39] {
            let view = View::over(steepest);
            let (r, u, t) = ((view.right.0, view.right.1, 0.0), view.up, view.toward);
            let dot = |a: Place, b: Place| a.0 * b.0 + a.1 * b.1 + a.2 * b.2;
            for (a, b, expected) in [(r, r, 1.0), (u, u, 1.0), (t, t, 1.0), (r, u, 0.0), (r, t, 0.0), (u, t, 0.0)] {
                assert!((dot(a, b) - expected).abs() < 1e-12, "{steepest}");
            }
            assert!(t.2 / t.0.abs() > steepest.tan(), "{steepest}");
        }
    }

    #[test]
    fn a_line_to_the_reader_stays_over_a_surface_that_is_no_steeper() {
        // A hollow table of radius 400 to slopes of 55 degrees.
        let steepest = 55f64.to_radians();
        let view = View::over(steepest);
        let reach = 400.0 * steepest.sin();
        let surface = |x: f64| 400.0 - (400.0f64 * 400.0 - x * x).sqrt();
        for i in -20..=20 {
            let x = reach * f64::from(i) / 20.0;
            for j in 1..200 {
                let t = f64::from(j) * 4.0;
                let (lx, lz) = (x + t * view.toward.0, surface(x) + t * view.toward.2);
                if lx.abs() <= reach {
                    assert!(lz > surface(lx), "from {x} at {lx}");
                }
            }
        }
    }

    #[test]
    fn a_hull_leaves_inner_points_out() {
        let p = |x: f64, y: f64| Point::new(x, y);
        assert_eq!(hull(vec![p(0.0, 0.0), p(2.0, 0.0), p(1.0, 0.5), p(2.0, 2.0), p(0.0, 2.0)]).len(), 4);
    }
}
