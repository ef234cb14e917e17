//! What feet, slots, holes and windows leave of a rib, for its stiffness.

use kurbo::Point;

use super::record::Jig;
use super::rib::Rib;

/// Distance between the places where ribs are cut, mm.
const STEP_MM: f64 = 2.0;
/// How far a polygon may run off an outline's arcs, mm: a thousandth of a low rib's height.
const FLAT_MM: f64 = 0.05;

impl Rib {
    /// Outlines of the rib and of all holes in it, as polygons.
    fn polygons(&self) -> Vec<Vec<Point>> {
        let round = |center: Point, diameter_mm: f64| {
            let corner = |i: u32| {
                let angle = f64::from(i) / 48.0 * std::f64::consts::TAU;
                center + 0.5 * diameter_mm * kurbo::Vec2::from_angle(angle)
            };
            (0..48).map(corner).collect()
        };
        let holes = self.holes.iter().chain(&self.bolts).chain(&self.windows);
        let flat = std::iter::once(&self.outline).chain(&self.hand_holes).map(|c| c.flattened(FLAT_MM));
        flat.chain(holes.map(|h| round(h.center, h.diameter_mm))).collect()
    }
}

impl Jig {
    /// Places along the table (x, mm, in order) and the second moment of area of all ribs together from there to the next,
    /// mm⁴: of what feet, slots, holes and windows leave, about its own axis in each rib. Empty without ribs.
    ///
    /// Joints of split ribs are taken as whole, and feet as part of the rib that they stand under.
    pub(crate) fn ribs_mm4(&self) -> Vec<(f64, f64)> {
        let mut sum: Vec<(f64, f64)> = Vec::new();
        let mut twin: Option<(&Rib, Vec<(f64, f64)>)> = None;
        for rib in &self.ribs {
            let alike = |of: &Rib| of.outline == rib.outline && of.bolts == rib.bolts;
            let sections = match twin.take() {
                Some((of, sections)) if alike(of) => sections,
                _ => sections(&rib.polygons()),
            };
            if sum.is_empty() {
                sum = sections.iter().map(|s| (s.0, 0.0)).collect();
            }
            for (all, one) in sum.iter_mut().zip(&sections) {
                all.1 += self.rib_thickness_mm * one.1;
            }
            twin = Some((rib, sections));
        }
        sum
    }
}

/// Places along a rib and the second moment of area over its thickness from there to the next, mm³.
fn sections(polygons: &[Vec<Point>]) -> Vec<(f64, f64)> {
    let along = polygons.first().into_iter().flatten().map(|p| p.x);
    let (from, to) = along.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), x| (a.min(x), b.max(x)));
    let count = ((to - from) / STEP_MM).ceil().max(1.0);
    let step = (to - from) / count;
    (0..count as usize)
        .map(|i| from + step * i as f64)
        .map(|x| (x, second_moment_mm3(&mut crossings(polygons, x + 0.5 * step))))
        .collect()
}

/// Heights at which an upright line crosses the polygons.
fn crossings(polygons: &[Vec<Point>], x_mm: f64) -> Vec<f64> {
    let mut found = Vec::new();
    for polygon in polygons {
        let before = polygon.iter().cycle().skip(polygon.len().saturating_sub(1));
        for (a, b) in before.zip(polygon) {
            if (a.x <= x_mm) != (b.x <= x_mm) {
                found.push(a.y + (b.y - a.y) * (x_mm - a.x) / (b.x - a.x));
            }
        }
    }
    found
}

/// Second moment, about its own axis, of what lies between the first and second of these heights, the third and fourth, and
/// so on.
fn second_moment_mm3(heights_mm: &mut [f64]) -> f64 {
    heights_mm.sort_by(f64::total_cmp);
    let (mut area, mut first, mut second) = (0.0, 0.0, 0.0);
    for part in heights_mm.chunks_exact(2) {
        let (a, b) = (part[0], part[1]);
        area += b - a;
        first += 0.5 * (b * b - a * a);
        second += (b.powi(3) - a.powi(3)) / 3.0;
    }
    if area > 0.0 { second - first * first / area } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rectangle(from: (f64, f64), to: (f64, f64)) -> Vec<Point> {
        [(from.0, from.1), (to.0, from.1), (to.0, to.1), (from.0, to.1)].map(Point::from).to_vec()
    }

    #[test]
    fn what_a_window_leaves_is_two_chords_about_their_common_axis() {
        let rib = rectangle((-100.0, 0.0), (100.0, 60.0));
        let window = rectangle((-20.0, 15.0), (30.0, 50.0));
        let found = sections(&[rib, window]);
        assert!((found[0].0 + 100.0).abs() < 1e-12 && found.len() == 100);
        for (x, i) in found {
            // Chords of 15 and 10 mm, their middles 47.5 mm apart, by Steiner.
            let net = (15_f64.powi(3) + 10_f64.powi(3)) / 12.0 + 15.0 * 10.0 / 25.0 * 47.5 * 47.5;
            let expected = if (-20.0..30.0).contains(&x) { net } else { 60_f64.powi(3) / 12.0 };
            assert!((i / expected - 1.0).abs() < 1e-12, "{x}: {i} is not {expected}");
        }
    }

    #[test]
    fn between_feet_a_rib_is_as_stiff_as_what_is_left_above_them() {
        let outline = [(0.0, 0.0), (60.0, 0.0), (60.0, 20.0), (340.0, 20.0), (340.0, 0.0), (400.0, 0.0)];
        let outline = outline.into_iter().chain([(400.0, 60.0), (0.0, 60.0)]).map(Point::from).collect();
        for (x, i) in sections(&[outline]) {
            let height: f64 = if (60.0..340.0).contains(&x) { 40.0 } else { 60.0 };
            assert!((i / (height.powi(3) / 12.0) - 1.0).abs() < 1e-12, "{x}");
        }
    }
}
