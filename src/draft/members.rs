//! Marks on everything that is cut beside the ribs: cross members, plates, panels, bearers.

use kurbo::{Point, Vec2};

use super::ribs::{NOTE_MM, stroke};
use crate::drawing::{Operation, Part, Placer, Shape};
use crate::jig::{Bearer, CrossMember, Panel};
use crate::units::decimal;

/// Height of capitals of a part's name, mm.
const NAME_MM: f64 = 6.0;
/// Half the size of the cross that marks a screw, mm.
const SCREW_MM: f64 = 3.0;

pub(super) fn dress_cross_member(part: &mut Part, member: &CrossMember, count: usize) {
    let near = Point::new(0.0, 0.25 * member.height_mm);
    let words = format!("CROSS {} OF {count}, UP", member.number);
    Placer::of(part).write(part, &words, NAME_MM, near, f64::INFINITY);
}

/// A bearer seen on its lower face: the blank is cut, the line that its bevel is planed to is marked.
pub(super) fn dress_bearer(part: &mut Part, bearer: &Bearer) {
    part.add(Operation::Mark, Shape::Contour(bearer.face_line.clone()));
    let low = bearer.face_line.bounds().y0;
    // The middle line, for setting it square on the base board.
    stroke(part, Point::ZERO, Point::new(0.0, 0.2 * low));
    let face = if bearer.face_to_tip() { "TIP" } else { "TAIL" };
    let words = [
        (part.title.to_uppercase(), NAME_MM),
        (format!("THIS FACE TO {face}"), NOTE_MM),
        (format!("BEVEL {} DEG: PLANE TO THE LINE", decimal(bearer.bevel_rad.to_degrees().abs(), 1)), NOTE_MM),
    ];
    let mut placer = Placer::of(part);
    for (words, height_mm) in words {
        placer.write(part, &words, height_mm, Point::new(0.0, 0.6 * low), f64::INFINITY);
    }
}

pub(super) fn dress_panel(part: &mut Part, panel: &Panel) {
    for screw in &panel.screws {
        for arm in [Vec2::new(SCREW_MM, 0.0), Vec2::new(0.0, SCREW_MM)] {
            stroke(part, *screw - arm, *screw + arm);
        }
    }
    for line in &panel.lines {
        part.add(Operation::Mark, Shape::Contour(line.clone()));
    }
    let mut placer = Placer::of(part);
    for (near, words) in &panel.labels {
        placer.write(part, words, NAME_MM, *near, LABEL_REACH_MM);
    }
    let bounds = panel.outline.bounds();
    let near = Point::new(bounds.center().x, bounds.y0 + 0.25 * bounds.height());
    placer.write(part, &panel.title.to_uppercase(), NAME_MM, near, f64::INFINITY);
}

/// How far from what it is about a label of a panel may stand, mm.
const LABEL_REACH_MM: f64 = 60.0;

/// The part's name on it, as near to its middle as there is room.
pub(super) fn dress_plate(part: &mut Part) {
    let near = part.outline().map_or(Point::ZERO, |c| c.bounds().center());
    let words = part.title.to_uppercase();
    Placer::of(part).write(part, &words, NAME_MM, near, f64::INFINITY);
}
