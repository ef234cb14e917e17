//! Closed surfaces of triangles.

/// A closed surface: the outside of each triangle is where its corners run counter-clockwise.
#[derive(Debug, Clone, PartialEq)]
pub struct Mesh {
    /// Corners, mm.
    pub points: Vec<[f64; 3]>,
    /// Numbers of the three corners of each triangle.
    pub triangles: Vec<[usize; 3]>,
}

impl Mesh {
    /// The body under a grid of heights, down to height 0: `rows` of points (x, y, height), all of one length and at least
    /// two each. x grows from row to row, y within a row.
    pub(crate) fn under(rows: &[Vec<[f64; 3]>]) -> Self {
        let wide = rows.first().map_or(0, Vec::len);
        let top = |i: usize, j: usize| i * wide + j;
        let all = rows.len() * wide;
        let mut points: Vec<[f64; 3]> = rows.concat();
        points.extend(rows.iter().flatten().map(|[x, y, _]| [*x, *y, 0.0]));
        let mut triangles = Vec::new();
        let mut quad = |[a, b, c, d]: [usize; 4]| triangles.extend([[a, b, c], [a, c, d]]);
        for i in 1..rows.len() {
            for j in 1..wide {
                let corners = [top(i - 1, j - 1), top(i, j - 1), top(i, j), top(i - 1, j)];
                quad(corners);
                let [a, b, c, d] = corners.map(|p| p + all);
                quad([d, c, b, a]);
            }
            let last = wide - 1;
            quad([top(i - 1, 0) + all, top(i, 0) + all, top(i, 0), top(i - 1, 0)]);
            quad([top(i, last) + all, top(i - 1, last) + all, top(i - 1, last), top(i, last)]);
        }
        for j in 1..wide {
            let last = rows.len() - 1;
            quad([top(0, j) + all, top(0, j - 1) + all, top(0, j - 1), top(0, j)]);
            quad([top(last, j - 1) + all, top(last, j) + all, top(last, j), top(last, j - 1)]);
        }
        Self { points, triangles }
    }

    /// Enclosed volume, mm³: that of the tetrahedra from the origin to each triangle.
    pub fn volume_mm3(&self) -> f64 {
        let corner = |i: usize| self.points[i];
        let signed = |t: &[usize; 3]| {
            let [[ax, ay, az], [bx, by, bz], [cx, cy, cz]] = t.map(corner);
            (ax * (by * cz - bz * cy) - ay * (bx * cz - bz * cx) + az * (bx * cy - by * cx)) / 6.0
        };
        self.triangles.iter().map(signed).sum()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeMap;

    #[test]
    fn a_body_under_a_grid_is_closed_and_has_its_volume() {
        let row = |x: f64, z: f64| (0..4).map(|j| [x, 10.0 * f64::from(j), z]).collect::<Vec<_>>();
        // A wedge of 20 by 30 mm that rises from 5 to 9 mm.
        let mesh = Mesh::under(&[row(0.0, 5.0), row(10.0, 7.0), row(20.0, 9.0)]);
        assert!((mesh.volume_mm3() - 20.0 * 30.0 * 7.0).abs() < 1e-9);
        // Each edge is walked once each way.
        let mut edges: BTreeMap<(usize, usize), i32> = BTreeMap::new();
        for t in &mesh.triangles {
            for (a, b) in [(t[0], t[1]), (t[1], t[2]), (t[2], t[0])] {
                *edges.entry((a.min(b), a.max(b))).or_default() += if a < b { 1 } else { -1 };
                assert!(a != b);
            }
        }
        assert!(edges.values().all(|sum| *sum == 0));
        assert_eq!(mesh.triangles.len(), 2 * (2 * 6 + 2 * 2 + 2 * 3));
    }
}
