//! Slots, notches and joints as pieces of an outline.

use kurbo::{Point, Vec2};

use crate::drawing::Vertex;
use crate::job::Relief;

/// A corner of a path with the radius that rounds it, mm; 0 for a sharp one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Corner {
    pub(super) at: Point,
    pub(super) radius_mm: f64,
}

impl Corner {
    pub(super) fn sharp(x: f64, y: f64) -> Self {
        Self { at: Point::new(x, y), radius_mm: 0.0 }
    }

    pub(super) fn round(x: f64, y: f64, radius_mm: f64) -> Self {
        Self { at: Point::new(x, y), radius_mm }
    }
}

/// A path through corners, rounded where they say so. The rounds must fit: tangent lengths of neighbours together no
/// longer than the line between them.
pub(super) fn rounded(corners: &[Corner]) -> Vec<Vertex> {
    let mut out = Vec::new();
    for (i, corner) in corners.iter().enumerate() {
        if i == 0 || i + 1 == corners.len() || corner.radius_mm <= 0.0 {
            out.push(Vertex::line(corner.at));
            continue;
        }
        let into = (corner.at - corners[i - 1].at).normalize();
        let away = (corners[i + 1].at - corner.at).normalize();
        let turn = libm::atan2(into.cross(away), into.dot(away));
        let reach = corner.radius_mm * libm::tan(0.5 * turn).abs();
        out.push(Vertex { point: corner.at - into * reach, bulge: libm::tan(0.25 * turn) });
        out.push(Vertex::line(corner.at + away * reach));
    }
    out
}

/// The same path moved to its right by `distance_mm`, rounds adjusted so that the gap is the same everywhere.
pub(super) fn moved_right(corners: &[Corner], distance_mm: f64) -> Vec<Corner> {
    let right = |d: Vec2| Vec2::new(d.y, -d.x);
    (0..corners.len())
        .map(|i| {
            let corner = corners[i];
            let into = (i > 0).then(|| (corner.at - corners[i - 1].at).normalize());
            let away = (i + 1 < corners.len()).then(|| (corners[i + 1].at - corner.at).normalize());
            match (into, away) {
                (Some(a), Some(b)) => {
                    let turn = libm::atan2(a.cross(b), a.dot(b));
                    // The mitre: halfway between both normals, longer by 1/cos of half the turn.
                    let mitre = (right(a) + right(b)) / (1.0 + a.dot(b));
                    let radius_mm = match corner.radius_mm {
                        r if r <= 0.0 => 0.0,
                        r if turn > 0.0 => r + distance_mm,
                        r => (r - distance_mm).max(0.0),
                    };
                    Corner { at: corner.at + mitre * distance_mm, radius_mm }
                }
                (Some(d), None) | (None, Some(d)) => Corner { at: corner.at + right(d) * distance_mm, ..corner },
                (None, None) => corner,
            }
        })
        .collect()
}

/// A slot cut upward into an edge that runs in the direction of +x: from its left mouth to its right one.
///
/// The relief is a round of the cutter's diameter: through the corner on its diagonal (`Bone`), or into the wall just
/// below the corner (`Tee`).
pub(super) fn slot_up(left: f64, right: f64, mouth: f64, floor: f64, relief: Relief, cutter_mm: f64) -> Vec<Vertex> {
    let r = 0.5 * cutter_mm;
    let mut out = vec![Vertex::line(Point::new(left, mouth))];
    match relief {
        _ if r <= 0.0 => {
            out.push(Vertex::line(Point::new(left, floor)));
            out.push(Vertex::line(Point::new(right, floor)));
        }
        Relief::None => {
            out.push(Vertex::line(Point::new(left, floor)));
            out.push(Vertex::line(Point::new(right, floor)));
        }
        Relief::Bone => {
            let d = r * std::f64::consts::SQRT_2;
            out.push(Vertex { point: Point::new(left, floor - d), bulge: -1.0 });
            out.push(Vertex::line(Point::new(left + d, floor)));
            out.push(Vertex { point: Point::new(right - d, floor), bulge: -1.0 });
            out.push(Vertex::line(Point::new(right, floor - d)));
        }
        Relief::Tee => {
            out.push(Vertex { point: Point::new(left, floor - 2.0 * r), bulge: -1.0 });
            out.push(Vertex::line(Point::new(left, floor)));
            out.push(Vertex { point: Point::new(right, floor), bulge: -1.0 });
            out.push(Vertex::line(Point::new(right, floor - 2.0 * r)));
        }
    }
    out.push(Vertex::line(Point::new(right, mouth)));
    out
}

/// How far the relief reaches beyond the slot sideways, mm.
pub(super) fn relief_reach(relief: Relief, cutter_mm: f64) -> f64 {
    match relief {
        Relief::None => 0.0,
        Relief::Bone => 0.5 * cutter_mm * (1.0 - std::f64::consts::FRAC_1_SQRT_2),
        Relief::Tee => 0.5 * cutter_mm,
    }
}

/// Width and depth that a slot must exceed so that its two reliefs meet neither each other nor its mouth, mm.
pub(super) fn relief_room(relief: Relief, cutter_mm: f64) -> (f64, f64) {
    match relief {
        Relief::None => (0.0, 0.0),
        Relief::Bone => (cutter_mm * std::f64::consts::SQRT_2, cutter_mm * std::f64::consts::FRAC_1_SQRT_2),
        Relief::Tee => (0.0, cutter_mm),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drawing::Contour;

    #[test]
    fn a_moved_path_keeps_its_gap_everywhere() {
        let key = [
            Corner::sharp(0.0, 0.0),
            Corner::round(0.0, 40.0, 4.0),
            Corner::round(30.0, 30.0, 4.0),
            Corner::round(30.0, 70.0, 4.0),
            Corner::round(0.0, 60.0, 4.0),
            Corner::sharp(0.0, 100.0),
        ];
        let gap = 0.3;
        let a = Contour::open(rounded(&key)).unwrap().flattened(1e-4);
        let b = Contour::open(rounded(&moved_right(&key, gap))).unwrap().flattened(1e-4);
        let to_path = |p: Point, path: &[Point]| {
            path.windows(2)
                .map(|w| kurbo::Line::new(w[0], w[1]))
                .map(|l| kurbo::ParamCurveNearest::nearest(&l, p, 1e-9).distance_sq.sqrt())
                .fold(f64::INFINITY, f64::min)
        };
        for p in &b[1..b.len() - 1] {
            let distance = to_path(*p, &a);
            assert!((distance - gap).abs() < 5e-4, "{p:?}: {distance}");
        }
    }

    #[test]
    fn a_sharp_corner_stays_sharp_where_its_path_is_moved() {
        let corner = [Corner::sharp(0.0, 0.0), Corner::sharp(0.0, 10.0), Corner::sharp(20.0, 10.0)];
        let moved = moved_right(&corner, 2.0);
        assert_eq!(moved, [Corner::sharp(2.0, 0.0), Corner::sharp(2.0, 8.0), Corner::sharp(20.0, 8.0)]);
        let points = [(2.0, 0.0), (2.0, 8.0), (20.0, 8.0)];
        assert_eq!(rounded(&moved), points.map(|p| Vertex::line(Point::from(p))));
        // A single corner has no side to move to.
        assert_eq!(moved_right(&corner[..1], 2.0), corner[..1]);
    }

    #[test]
    fn reliefs_let_a_sharp_corner_in_and_have_the_cutters_radius() {
        for relief in [Relief::Bone, Relief::Tee] {
            let slot = slot_up(10.0, 28.0, 0.0, 40.0, relief, 6.0);
            let arcs: Vec<_> = slot.windows(2).filter(|w| w[0].bulge != 0.0).collect();
            assert_eq!(arcs.len(), 2);
            for w in arcs {
                let arc = crate::drawing::Arc::from_bulge(w[0].point, w[0].bulge, w[1].point).unwrap();
                assert!((arc.radius_mm - 3.0).abs() < 1e-12);
                let corner = Point::new(if w[0].point.x < 19.0 { 10.0 } else { 28.0 }, 40.0);
                assert!(corner.distance(arc.center) <= 3.0 + 1e-12, "{relief:?} leaves material in the corner");
            }
        }
    }
}
