//! Placement of texts on a part, clear of cuts, holes, marks and other texts.

use std::ops::RangeInclusive;

use kurbo::{Point, Rect, Vec2};

use super::part::{Operation, Part, Shape, Text, TextAnchor};
use super::{is_inside, sides, touches};

/// Clear space around a text, mm: a pencil line beside a cut stays readable.
const CLEAR_MM: f64 = 1.0;
/// Spacing of trial positions, mm.
const STEP_MM: f64 = 3.0;
/// Smallest readable height of capitals on wood, mm.
const SMALLEST_MM: f64 = 2.5;
/// Trial sizes of a text, as shares of the requested size.
const SIZES: [f64; 3] = [1.0, 0.75, 0.5];

impl Text {
    /// Width that the text takes at most, mm: stroke letters advance by their height, Helvetica's capitals by less on
    /// average.
    pub fn width_mm(&self) -> f64 {
        self.content.chars().count() as f64 * self.height_mm
    }
}

/// Finds room for texts on one part and keeps track of the room taken.
#[derive(Debug)]
pub struct Placer {
    /// Straight segments of everything on the part but texts.
    lines: Vec<(Point, Point)>,
    /// The outline and the holes, flattened.
    rings: Vec<Vec<Point>>,
    within: Rect,
    /// What is in the way in each strip across the part, [`STRIP_MM`] wide, the first at its left end.
    strips: Vec<Strip>,
}

/// Segments and rooms taken that reach into one strip: a rib with a thousand stations has thousands of them.
#[derive(Debug, Clone, Default)]
struct Strip {
    lines: Vec<(Point, Point)>,
    taken: Vec<Rect>,
}

const STRIP_MM: f64 = 50.0;

impl Placer {
    /// The free room of a part; none without an outline.
    pub(crate) fn of(part: &Part) -> Self {
        let within = part.outline().map_or(Rect::ZERO, super::Contour::bounds);
        let strips = vec![Strip::default(); (within.width() / STRIP_MM) as usize + 1];
        let mut placer = Self { lines: Vec::new(), rings: Vec::new(), within, strips };
        for work in &part.works {
            let points = match &work.shape {
                Shape::Contour(c) => c.flattened(FLAT_MM),
                Shape::Circle { center, radius_mm } => {
                    let at =
                        |i: i32| *center + Vec2::from_angle(f64::from(i) * std::f64::consts::TAU / 32.0) * *radius_mm;
                    (0..32).map(at).collect()
                }
                Shape::Text(_) => continue,
            };
            placer.lines.extend(points.windows(2).map(|w| (w[0], w[1])));
            let closed = !matches!(&work.shape, Shape::Contour(c) if !c.is_closed());
            if closed {
                placer.lines.push((points[points.len() - 1], points[0]));
            }
            if closed && !matches!(work.operation, Operation::Mark | Operation::Note) {
                placer.rings.push(points);
            }
        }
        for line in placer.lines.clone() {
            let reached = placer.reached(line.0.x.min(line.1.x), line.0.x.max(line.1.x));
            placer.strips[reached].iter_mut().for_each(|strip| strip.lines.push(line));
        }
        placer
    }

    /// The strips between two places along the part.
    fn reached(&self, from: f64, to: f64) -> RangeInclusive<usize> {
        let strip = |x: f64| (((x - self.within.x0) / STRIP_MM).max(0.0) as usize).min(self.strips.len() - 1);
        strip(from)..=strip(to)
    }

    /// Whether a straight line stays on the part and crosses nothing.
    pub(crate) fn line_is_clear(&self, a: Point, b: Point) -> bool {
        self.on_the_part(a.midpoint(b)) && self.lines.iter().all(|l| !crosses((a, b), *l))
    }

    /// Takes a free rectangle whose middle is as close as possible to `near`, within `reach_mm`.
    pub(crate) fn room(&mut self, (width_mm, height_mm): (f64, f64), near: Point, reach_mm: f64) -> Option<Rect> {
        let size = (width_mm + 2.0 * CLEAR_MM, height_mm + 2.0 * CLEAR_MM);
        let reach = reach_mm.min((self.within.center() - near).hypot() + self.within.size().to_vec2().hypot());
        let rings = (reach / STEP_MM) as i32;
        let found = (0..=rings)
            .flat_map(ring)
            .map(|(i, j)| Rect::from_center_size(near + Vec2::new(f64::from(i), f64::from(j)) * STEP_MM, size))
            .find(|room| self.is_free(*room))?;
        let reached = self.reached(found.x0, found.x1);
        self.strips[reached].iter_mut().for_each(|strip| strip.taken.push(found));
        Some(found.inset(-CLEAR_MM))
    }

    /// Places a text with its middle near a point, smaller if necessary. Returns whether it fits.
    pub(crate) fn write(&mut self, part: &mut Part, words: &str, height_mm: f64, near: Point, reach_mm: f64) -> bool {
        for share in SIZES.iter().filter(|s| **s == 1.0 || *s * height_mm >= SMALLEST_MM) {
            let mut text = Text {
                at: near,
                height_mm: share * height_mm,
                angle_rad: 0.0,
                anchor: TextAnchor::Middle,
                content: words.to_owned(),
            };
            if let Some(room) = self.room((text.width_mm(), text.height_mm), near, reach_mm) {
                text.at = Point::new(room.center().x, room.y0);
                part.add(Operation::Mark, Shape::Text(text));
                return true;
            }
        }
        false
    }

    fn is_free(&self, room: Rect) -> bool {
        room.x0 >= self.within.x0
            && room.x1 <= self.within.x1
            && room.y0 >= self.within.y0
            && room.y1 <= self.within.y1
            && self.strips[self.reached(room.x0, room.x1)].iter().all(|strip| {
                let apart = |t: &Rect| t.x0 >= room.x1 || t.x1 <= room.x0 || t.y0 >= room.y1 || t.y1 <= room.y0;
                strip.taken.iter().all(apart) && strip.lines.iter().all(|l| !touches(room, *l))
            })
            && self.on_the_part(room.center())
    }

    /// Whether a point is inside the outline and outside all holes.
    fn on_the_part(&self, p: Point) -> bool {
        self.rings.iter().filter(|ring| is_inside(p, sides(ring))).count() == 1
    }
}

/// Flattening tolerance of arcs in the search for room, mm.
const FLAT_MM: f64 = 0.1;

/// Points of a square grid `n` steps from its middle, the nearest first: those straight below, above and beside it.
fn ring(n: i32) -> impl Iterator<Item = (i32, i32)> {
    (0..=n).flat_map(move |k| {
        // At the middle of a side both signs are one point, at a corner both sides.
        let both = [(-k, -n), (-k, n), (k, -n), (k, n), (-n, -k), (n, -k), (-n, k), (n, k)];
        let middle = [(0, -n), (0, n), (-n, 0), (n, 0)];
        let points = if k == 0 { &middle[..if n == 0 { 1 } else { 4 }] } else { &both[..if k == n { 4 } else { 8 }] };
        points.to_vec()
    })
}

fn crosses((a, b): (Point, Point), (c, d): (Point, Point)) -> bool {
    let side = |p: Point, q: Point, r: Point| (q - p).cross(r - p);
    side(a, b, c) * side(a, b, d) <= 0.0 && side(c, d, a) * side(c, d, b) <= 0.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drawing::Contour;

    fn plate() -> Part {
        let mut part = Part::new("a", "A");
        let corners = [(0.0, 0.0), (100.0, 0.0), (100.0, 40.0), (0.0, 40.0)].map(Point::from);
        part.add(Operation::CutOutside, Shape::Contour(Contour::polygon(corners).unwrap()));
        part.add(Operation::Drill, Shape::Circle { center: Point::new(50.0, 20.0), radius_mm: 12.0 });
        part
    }

    #[test]
    fn a_text_moves_off_a_hole_and_off_the_text_before() {
        let mut part = plate();
        let mut placer = Placer::of(&part);
        for _ in 0..2 {
            assert!(placer.write(&mut part, "NAME", 6.0, Point::new(50.0, 20.0), 200.0));
        }
        let rooms: Vec<Rect> = part
            .works
            .iter()
            .filter_map(|w| match &w.shape {
                Shape::Text(t) => Some(Rect::new(t.at.x - 12.0, t.at.y, t.at.x + 12.0, t.at.y + 6.0)),
                _ => None,
            })
            .collect();
        let [a, b] = rooms[..] else { panic!("{rooms:?}") };
        assert!(a.intersect(b).is_zero_area());
        for room in [a, b] {
            let nearest = Point::new(50.0_f64.clamp(room.x0, room.x1), 20.0_f64.clamp(room.y0, room.y1));
            assert!(nearest.distance(Point::new(50.0, 20.0)) > 12.5, "{room:?}");
            assert!(room.x0 > 0.5 && room.y0 > 0.5 && room.x1 < 99.5 && room.y1 < 39.5, "{room:?}");
        }
    }

    #[test]
    fn a_text_without_room_is_made_smaller_and_then_left_out() {
        let mut part = plate();
        let mut placer = Placer::of(&part);
        // Beside the hole 38 mm are left, 10 letters of 4 mm need 40.
        assert!(placer.write(&mut part, "TEN LETTER", 4.0, Point::new(16.0, 20.0), 5.0));
        let Shape::Text(text) = &part.works[2].shape else { panic!() };
        assert_eq!(text.height_mm, 3.0);
        assert!(!placer.write(&mut part, "TWENTY LETTERS HERE ", 4.0, Point::new(16.0, 20.0), 5.0));
    }

    #[test]
    fn a_ring_holds_each_of_its_points_once_with_distances_increasing() {
        for n in 0..6 {
            let points: Vec<(i32, i32)> = ring(n).collect();
            let mut apart = points.clone();
            apart.sort_unstable();
            apart.dedup();
            assert_eq!((apart.len(), points.len()), (points.len(), if n == 0 { 1 } else { 8 * n as usize }));
            assert!(points.iter().all(|(i, j)| i.abs().max(j.abs()) == n));
            assert!(points.is_sorted_by_key(|(i, j)| i * i + j * j));
        }
    }

    #[test]
    fn no_room_is_found_within_a_hole_or_outside() {
        let mut placer = Placer::of(&plate());
        assert_eq!(placer.room((4.0, 4.0), Point::new(50.0, 20.0), 3.0), None);
        assert_eq!(placer.room((4.0, 4.0), Point::new(-20.0, 20.0), 3.0), None);
        assert!(!placer.line_is_clear(Point::new(30.0, 20.0), Point::new(45.0, 20.0)));
        assert!(placer.line_is_clear(Point::new(10.0, 20.0), Point::new(30.0, 20.0)));
    }
}
