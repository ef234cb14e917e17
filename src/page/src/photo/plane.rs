//! From pixels of a photograph to millimetres in the plane of the board.

/// A pair of coordinates: pixels with y down, or millimetres.
pub(super) type Point = [f64; 2];

/// A projective map of the plane, as a 3 by 3 matrix by rows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Plane([[f64; 3]; 3]);

/// A determinant below this share of the area of the marks means that three of them lie on a line.
const FLAT_SHARE: f64 = 1e-3;

impl Plane {
    /// The map of a camera that looks straight at the board: two marks `distance_mm` apart give the scale.
    pub(super) fn of_two(marks: [Point; 2], distance_mm: f64) -> Option<Self> {
        let pixels = distance(marks[0], marks[1]);
        let scale = distance_mm / pixels;
        scale.is_finite().then_some(Self([[scale, 0.0, 0.0], [0.0, -scale, 0.0], [0.0, 0.0, 1.0]]))
    }

    /// The map that sends four marks to the corners of a rectangle, in the order in which one walks around it, the first side
    /// `sides_mm.0` long. `None` where three of them lie on a line or the marks cross over.
    ///
    /// The map of the unit square onto a quadrilateral has a closed form (Heckbert, Fundamentals of texture mapping and image
    /// warping, 1989, section 2.2.3, from memory; the tests check it on a camera); this is its inverse.
    pub(super) fn of_four(marks: [Point; 4], sides_mm: (f64, f64)) -> Option<Self> {
        let [p0, p1, p2, p3] = marks;
        if !convex(marks) {
            return None;
        }
        let (d1, d2) = (minus(p1, p2), minus(p3, p2));
        let sum = [p0[0] - p1[0] + p2[0] - p3[0], p0[1] - p1[1] + p2[1] - p3[1]];
        let den = cross(d1, d2);
        let (g, h) = (cross(sum, d2) / den, cross(d1, sum) / den);
        let row = |i: usize| [p1[i] - p0[i] + g * p1[i], p3[i] - p0[i] + h * p3[i], p0[i]];
        let (width, height) = sides_mm;
        let inverse = adjugate([row(0), row(1), [g, h, 1.0]]);
        let scaled = [inverse[0].map(|v| v * width), inverse[1].map(|v| v * height), inverse[2]];
        scaled.iter().flatten().all(|v| v.is_finite()).then_some(Self(scaled))
    }

    /// Where a point goes; `None` at and beyond the horizon.
    pub(super) fn map(&self, p: Point) -> Option<Point> {
        let [x, y, w] = self.0.map(|r| r[0] * p[0] + r[1] * p[1] + r[2]);
        let mapped = [x / w, y / w];
        mapped.iter().all(|v| v.is_finite() && v.abs() < 1e6).then_some(mapped)
    }

    /// The map back.
    pub(super) fn inverse(&self) -> Self {
        Self(adjugate(self.0))
    }
}

pub(super) fn minus(a: Point, b: Point) -> Point {
    [a[0] - b[0], a[1] - b[1]]
}

pub(super) fn cross(a: Point, b: Point) -> f64 {
    a[0] * b[1] - a[1] * b[0]
}

pub(super) fn distance(a: Point, b: Point) -> f64 {
    libm::hypot(a[0] - b[0], a[1] - b[1])
}

/// Whether one turns the same way at each of the four corners, by more than rounding.
fn convex(marks: [Point; 4]) -> bool {
    let turn = |i: usize| {
        let [a, b, c] = [marks[i], marks[(i + 1) % 4], marks[(i + 2) % 4]];
        cross(minus(b, a), minus(c, b))
    };
    let turns = [0, 1, 2, 3].map(turn);
    let area = 0.5 * cross(minus(marks[2], marks[0]), minus(marks[3], marks[1])).abs();
    turns.iter().all(|t| t.abs() > FLAT_SHARE * area && t.signum() == turns[0].signum())
}

/// The inverse times the determinant, which a projective map may be scaled by.
fn adjugate(m: [[f64; 3]; 3]) -> [[f64; 3]; 3] {
    let minor = |r: [usize; 2], c: [usize; 2]| m[r[0]][c[0]] * m[r[1]][c[1]] - m[r[0]][c[1]] * m[r[1]][c[0]];
    let others = [[1, 2], [2, 0], [0, 1]];
    [0, 1, 2].map(|i| [0, 1, 2].map(|j| minor(others[j], others[i])))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pinhole_camera_is_undone() {
        // A camera that looks down, sideways and is rolled: a rotation, a distance, a focal length, by the pinhole's own rule.
        let seen = |x: f64, z: f64| {
            let (yaw, pitch) = (0.2_f64, -0.12_f64);
            let (a, b) = (x * yaw.cos(), x * yaw.sin());
            let (c, d) = (z * pitch.cos() - b * pitch.sin(), z * pitch.sin() + b * pitch.cos());
            let far = 2600.0 + d;
            [1500.0 + 2800.0 * (a + 0.03 * c) / far, 1000.0 - 2800.0 * (c - 0.03 * a) / far]
        };
        let corners = [(-650.0, 20.0), (650.0, 20.0), (650.0, 420.0), (-650.0, 420.0)];
        let plane = Plane::of_four(corners.map(|(x, z)| seen(x, z)), (1300.0, 400.0)).unwrap();
        for (x, z) in [(0.0, 0.0), (-700.0, 45.0), (700.0, 45.0), (123.0, 321.0)] {
            let [u, v] = plane.map(seen(x, z)).unwrap();
            assert!((u - (x + 650.0)).abs() < 1e-6 && (v - (z - 20.0)).abs() < 1e-6, "{x} {z}: {u} {v}");
            let back = plane.inverse().map([u, v]).unwrap();
            assert!(distance(back, seen(x, z)) < 1e-6);
        }
    }

    #[test]
    fn marks_that_cross_over_or_lie_on_a_line_give_no_map() {
        let square = [[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0]];
        assert!(Plane::of_four(square, (1.0, 1.0)).is_some());
        assert_eq!(Plane::of_four([square[0], square[2], square[1], square[3]], (1.0, 1.0)), None);
        assert_eq!(Plane::of_four([square[0], square[1], [5.0, 0.0], square[3]], (1.0, 1.0)), None);
        assert_eq!(Plane::of_two([[5.0, 5.0]; 2], 100.0), None);
    }
}
