//! Parts, and drawings made of them.

use kurbo::{Point, Rect, Vec2};

use super::contour::Contour;
use super::placement::Placement;

/// The operation along a shape.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Operation {
    /// Cut a hole, slot or window on its inner side; done first.
    CutInside,
    /// Drill a round hole.
    Drill,
    /// Scribe, engrave or pencil; do not cut through.
    Mark,
    /// A note; not machined.
    Note,
    /// Cut the part free; done last.
    CutOutside,
}

impl Operation {
    /// All operations in machining order.
    pub(crate) const ALL: [Self; 5] = [Self::CutInside, Self::Drill, Self::Mark, Self::Note, Self::CutOutside];
}

/// Anchor of a text.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TextAnchor {
    /// Its left end.
    Start,
    /// Its middle.
    Middle,
    /// Its right end.
    End,
}

/// A line of text on its base line.
#[derive(Debug, Clone, PartialEq)]
pub struct Text {
    /// Position of the anchor on the base line, mm.
    pub at: Point,
    /// Height of capitals, mm.
    pub height_mm: f64,
    /// Angle of the base line to the x axis, rad.
    pub angle_rad: f64,
    /// Which point is at `at`.
    pub anchor: TextAnchor,
    /// The text; one line.
    pub content: String,
}

/// Geometry of one operation.
#[derive(Debug, Clone, PartialEq)]
pub enum Shape {
    /// An outline or an open path.
    Contour(Contour),
    /// A full circle.
    Circle {
        /// Centre, mm.
        center: Point,
        /// Radius, mm.
        radius_mm: f64,
    },
    /// A line of text.
    Text(Text),
}

impl Shape {
    /// Axis-aligned bounding box; of a text, its anchor only.
    pub(crate) fn bounds(&self) -> Rect {
        match self {
            Self::Contour(c) => c.bounds(),
            Self::Circle { center, radius_mm } => Rect::from_center_size(*center, (2.0 * radius_mm, 2.0 * radius_mm)),
            Self::Text(t) => Rect::from_points(t.at, t.at),
        }
    }

    /// The shape moved by a placement. Letters are never mirrored; a mirrored text changes its anchor instead, so that it
    /// covers the same area.
    #[must_use]
    pub fn placed(&self, place: &Placement) -> Self {
        match self {
            Self::Contour(c) => Self::Contour(c.placed(place)),
            Self::Circle { center, radius_mm } => Self::Circle { center: place.apply(*center), radius_mm: *radius_mm },
            Self::Text(t) => {
                let turned = if place.mirrored { -t.angle_rad } else { t.angle_rad } + place.turn_rad;
                let anchor = match (place.mirrored, t.anchor) {
                    (true, TextAnchor::Start) => TextAnchor::End,
                    (true, TextAnchor::End) => TextAnchor::Start,
                    (_, anchor) => anchor,
                };
                Self::Text(Text { at: place.apply(t.at), angle_rad: turned, anchor, ..t.clone() })
            }
        }
    }
}

/// A shape with its operation.
#[derive(Debug, Clone, PartialEq)]
pub struct Work {
    /// The operation.
    pub operation: Operation,
    /// The shape.
    pub shape: Shape,
}

/// A part to cut: outline, holes and marks.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// Short unique name of ASCII letters, digits and hyphens, such as `rib-3`: names groups and files.
    pub id: String,
    /// Name for people.
    pub title: String,
    /// All operations; exporters bring them into machining order.
    pub works: Vec<Work>,
}

impl Part {
    /// A part without operations.
    pub fn new(id: impl Into<String>, title: impl Into<String>) -> Self {
        Self { id: id.into(), title: title.into(), works: Vec::new() }
    }

    /// Adds an operation.
    pub fn add(&mut self, operation: Operation, shape: Shape) {
        self.works.push(Work { operation, shape });
    }

    /// Axis-aligned bounding box of everything but notes.
    pub(crate) fn bounds(&self) -> Option<Rect> {
        let boxes = self.works.iter().filter(|w| w.operation != Operation::Note).map(|w| w.shape.bounds());
        boxes.reduce(|a, b| a.union(b))
    }

    /// The outline, if it has one.
    pub fn outline(&self) -> Option<&Contour> {
        self.works.iter().find_map(|w| match &w.shape {
            Shape::Contour(c) if w.operation == Operation::CutOutside => Some(c),
            _ => None,
        })
    }

    /// Net area after all cuts, mm².
    pub(crate) fn net_area_mm2(&self) -> f64 {
        let area = |w: &Work| match &w.shape {
            Shape::Contour(c) if c.is_closed() => c.signed_area_mm2().abs(),
            Shape::Circle { radius_mm, .. } => std::f64::consts::PI * radius_mm * radius_mm,
            _ => 0.0,
        };
        let signed = |w: &Work| match w.operation {
            Operation::CutOutside => area(w),
            Operation::CutInside | Operation::Drill => -area(w),
            Operation::Mark | Operation::Note => 0.0,
        };
        self.works.iter().map(signed).sum()
    }

    /// The part moved by a placement.
    #[must_use]
    pub fn placed(&self, place: &Placement) -> Self {
        let works = self.works.iter().map(|w| Work { operation: w.operation, shape: w.shape.placed(place) }).collect();
        Self { id: self.id.clone(), title: self.title.clone(), works }
    }

    /// Operations in machining order: inside cuts, drilling, marks and notes, then the outline; otherwise as added.
    pub(crate) fn in_order(&self) -> Vec<&Work> {
        let mut works: Vec<&Work> = self.works.iter().collect();
        works.sort_by_key(|w| w.operation);
        works
    }
}

/// Parts in one plane, for any file format.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawing {
    /// Title.
    pub title: String,
    /// Program version and job hash, written into every file for tracing.
    pub origin: String,
    /// The placed parts.
    pub parts: Vec<Part>,
}

impl Drawing {
    /// Axis-aligned bounding box including notes, or `None` for an empty drawing. A text contributes its start, as high as
    /// its capitals.
    pub(crate) fn bounds(&self) -> Option<Rect> {
        let around = |w: &Work| match &w.shape {
            Shape::Text(t) => {
                let up = Vec2::from_angle(t.angle_rad + std::f64::consts::FRAC_PI_2) * t.height_mm;
                Rect::from_points(t.at, t.at + up)
            }
            other => other.bounds(),
        };
        self.parts.iter().flat_map(|p| &p.works).map(around).reduce(|a, b| a.union(b))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drawing::Vertex;

    #[test]
    fn a_mirrored_part_keeps_its_size_and_flips_its_arcs() {
        let contour = Contour::closed(vec![
            Vertex { point: Point::new(0.0, 0.0), bulge: 0.3 },
            Vertex::line(Point::new(40.0, 0.0)),
            Vertex::line(Point::new(10.0, 25.0)),
        ])
        .unwrap();
        let place = Placement { mirrored: true, turn_rad: 0.7, shift: Vec2::new(3.0, -8.0) };
        let moved = contour.placed(&place);
        assert!((moved.signed_area_mm2() + contour.signed_area_mm2()).abs() < 1e-9);
        assert!((moved.length_mm() - contour.length_mm()).abs() < 1e-9);
    }

    #[test]
    fn what_is_left_weighs_without_holes_and_marks() {
        let square = Contour::polygon([(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)].map(Point::from)).unwrap();
        let mut part = Part::new("a", "A");
        part.add(Operation::Drill, Shape::Circle { center: Point::new(5.0, 5.0), radius_mm: 0.5 });
        part.add(Operation::Mark, Shape::Circle { center: Point::new(5.0, 5.0), radius_mm: 3.0 });
        part.add(Operation::CutOutside, Shape::Contour(square.clone()));
        // An open path takes nothing away, whatever it is cut with.
        let open = Contour::open([(1.0, 1.0), (2.0, 1.0), (2.0, 2.0)].map(|p| Vertex::line(Point::from(p))).to_vec());
        part.add(Operation::CutInside, Shape::Contour(open.unwrap()));
        assert!((part.net_area_mm2() - (100.0 - 0.25 * std::f64::consts::PI)).abs() < 1e-9);
        assert_eq!(part.outline(), Some(&square));
    }

    #[test]
    fn inside_cuts_come_before_the_outline() {
        let circle = |operation| Work { operation, shape: Shape::Circle { center: Point::ORIGIN, radius_mm: 2.0 } };
        let part = Part {
            works: vec![circle(Operation::CutOutside), circle(Operation::Mark), circle(Operation::CutInside)],
            ..Part::new("a", "A")
        };
        let order: Vec<_> = part.in_order().iter().map(|w| w.operation).collect();
        assert_eq!(order, [Operation::CutInside, Operation::Mark, Operation::CutOutside]);
    }

    fn text(at: Point, angle_rad: f64, height_mm: f64) -> Shape {
        Shape::Text(Text { at, angle_rad, height_mm, anchor: TextAnchor::Start, content: "words".to_owned() })
    }

    #[track_caller]
    fn lies(found: Rect, expected: [f64; 4]) {
        for (a, b) in [found.x0, found.y0, found.x1, found.y1].into_iter().zip(expected) {
            assert!((a - b).abs() < 1e-9, "{found:?} is not {expected:?}");
        }
    }

    #[test]
    fn a_place_mirrors_then_turns_then_shifts() {
        let quarter = std::f64::consts::FRAC_PI_2;
        let place = |mirrored: bool, turn_rad: f64| Placement { mirrored, turn_rad, shift: Vec2::new(100.0, 20.0) };
        for (place, expected, angle_rad) in [
            (place(false, 0.0), (103.0, 21.0), 0.3),
            (place(true, 0.0), (97.0, 21.0), -0.3),
            (place(false, quarter), (99.0, 23.0), 0.3 + quarter),
            (place(true, quarter), (99.0, 17.0), quarter - 0.3),
            (place(false, -quarter), (101.0, 17.0), 0.3 - quarter),
        ] {
            let Shape::Text(moved) = text(Point::new(3.0, 1.0), 0.3, 5.0).placed(&place) else { panic!("no text") };
            assert!(moved.at.distance(Point::from(expected)) < 1e-12, "{place:?}: {:?}", moved.at);
            assert!((moved.angle_rad - angle_rad).abs() < 1e-12, "{place:?}: {}", moved.angle_rad);
            let anchor = if place.mirrored { TextAnchor::End } else { TextAnchor::Start };
            assert_eq!(moved.anchor, anchor, "a mirrored text covers the other side of its anchor");
        }
        // Without turn the digits stay as they are.
        assert_eq!(Placement::shift(1.0, 2.0).apply(Point::new(0.1, 0.2)), Point::new(0.1, 0.2) + Vec2::new(1.0, 2.0));
    }

    #[test]
    fn a_part_reaches_as_far_as_its_work_and_a_drawing_as_its_notes_too() {
        let mut part = Part::new("a", "A");
        assert_eq!(part.bounds(), None);
        part.add(Operation::Drill, Shape::Circle { center: Point::new(10.0, 20.0), radius_mm: 4.0 });
        part.add(Operation::Mark, text(Point::new(30.0, 17.0), 0.0, 5.0));
        part.add(Operation::Note, text(Point::new(40.0, 30.0), 0.0, 6.0));
        // A text counts with its anchor in the part, and as high as it stands in the drawing.
        lies(part.bounds().unwrap(), [6.0, 16.0, 30.0, 24.0]);
        let drawing = |part: &Part| Drawing { title: String::new(), origin: String::new(), parts: vec![part.clone()] };
        lies(drawing(&part).bounds().unwrap(), [6.0, 16.0, 40.0, 36.0]);
        let turned =
            part.placed(&Placement { mirrored: false, turn_rad: 0.5 * std::f64::consts::PI, shift: Vec2::ZERO });
        lies(drawing(&turned).bounds().unwrap(), [-36.0, 6.0, -16.0, 40.0]);
    }

    #[test]
    fn only_what_is_cut_outside_is_the_outline() {
        let square = |side: f64| {
            let corners = [(0.0, 0.0), (side, 0.0), (side, side), (0.0, side)].map(Point::from);
            Contour::polygon(corners).unwrap()
        };
        let mut part = Part::new("a", "A");
        part.add(Operation::CutInside, Shape::Contour(square(5.0)));
        assert_eq!(part.outline(), None);
        part.add(Operation::CutOutside, Shape::Contour(square(10.0)));
        assert_eq!(part.outline(), Some(&square(10.0)));
    }
}
