//! The drawing of everything that is cut beside the ribs: cross members, plates, panels, bearers.

use kurbo::{Point, Vec2};

use super::ribs::{NOTE_MM, stacked, stroke};
use super::{Finish, FlatPart};
use crate::drawing::{Contour, Drawing, Operation, Part, Placer, Shape};
use crate::jig::{Bearer, CrossMember, Jig, Panel, Plate};
use crate::job::Job;
use crate::units::decimal;

/// Height of capitals of a part's name, mm.
const NAME_MM: f64 = 6.0;
/// Half the size of the cross that marks a screw, mm.
const SCREW_MM: f64 = 3.0;

/// Cross members, plates, panels and bearers, one above the other, and what is cut beside the table (`beside`); `None`
/// where there is none of them.
pub fn members(jig: &Jig, beside: Vec<Part>, job: &Job, origin: &str) -> Option<Drawing> {
    let mut parts: Vec<Part> = member_parts(jig).into_iter().map(|flat| flat.part).collect();
    parts.extend(beside);
    if parts.is_empty() {
        return None;
    }
    Some(Drawing { title: format!("{}: members", job.title), origin: origin.to_owned(), parts: stacked(parts) })
}

/// The same parts, each in its own coordinates.
pub(super) fn member_parts(jig: &Jig) -> Vec<FlatPart> {
    let flat = |part, thickness_mm| FlatPart { part, thickness_mm, is_rib: false, finish: None };
    let mut parts: Vec<FlatPart> =
        jig.cross_members.iter().map(|m| flat(cross_member(m, jig), m.thickness_mm)).collect();
    // Plates come from the ribs' stock.
    parts.extend(jig.plates.iter().flat_map(plate).map(|p| flat(p, jig.rib_thickness_mm)));
    let finish = |b: &Bearer| Some(Finish { height_mm: b.cut_height_mm, bevel_rad: b.bevel_rad });
    let bearers = jig.bearers.iter();
    parts.extend(bearers.map(|b| FlatPart { finish: finish(b), ..flat(bearer(b, jig.bearers.len()), b.thickness_mm) }));
    parts.extend(jig.panels.iter().map(|p| flat(panel(p), p.thickness_mm)));
    parts
}

fn cross_member(member: &CrossMember, jig: &Jig) -> Part {
    let count = jig.cross_members.len();
    let mut part = cut_out(member.id(), format!("Cross member {} of {count}", member.number), &member.outline);
    let near = Point::new(0.0, 0.25 * member.height_mm);
    let words = format!("CROSS {} OF {count}, UP", member.number);
    Placer::of(&part).write(&mut part, &words, NAME_MM, near, f64::INFINITY);
    part
}

/// A part of which nothing but its outline is drawn yet.
fn cut_out(id: String, title: String, outline: &Contour) -> Part {
    let mut part = Part::new(id, title);
    part.add(Operation::CutOutside, Shape::Contour(outline.clone()));
    part
}

/// Both plates of a joint.
fn plate(plate: &Plate) -> Vec<Part> {
    (0..plate.count)
        .map(|i| {
            let side = if i == 0 { "left" } else { "right" };
            let mut part = cut_out(
                format!("plate-{}-{}-{side}", plate.rib, plate.joint),
                format!("Plate {}-{} {side}", plate.rib, plate.joint),
                &plate.outline,
            );
            for (center, diameter) in &plate.holes {
                part.add(Operation::Drill, Shape::Circle { center: *center, radius_mm: 0.5 * diameter });
            }
            name_it(&mut part);
            part
        })
        .collect()
}

/// A bearer seen on its lower face: the blank is cut, the line that its bevel is planed to is marked.
fn bearer(bearer: &Bearer, count: usize) -> Part {
    let title = format!("Bearer {} of {count}", bearer.number);
    let mut part = cut_out(bearer.id(), title.clone(), &bearer.blank);
    part.add(Operation::Mark, Shape::Contour(bearer.face_line.clone()));
    let low = bearer.face_line.bounds().y0;
    // The middle line, for setting it square on the base board.
    stroke(&mut part, Point::ZERO, Point::new(0.0, 0.2 * low));
    let face = if bearer.face_to_tip() { "TIP" } else { "TAIL" };
    let words = [
        (title.to_uppercase(), NAME_MM),
        (format!("THIS FACE TO {face}"), NOTE_MM),
        (format!("BEVEL {} DEG: PLANE TO THE LINE", decimal(bearer.bevel_rad.to_degrees().abs(), 1)), NOTE_MM),
    ];
    let mut placer = Placer::of(&part);
    for (words, height_mm) in words {
        placer.write(&mut part, &words, height_mm, Point::new(0.0, 0.6 * low), f64::INFINITY);
    }
    part
}

fn panel(panel: &Panel) -> Part {
    let mut part = cut_out(panel.id.clone(), panel.title.clone(), &panel.outline);
    for screw in &panel.screws {
        for arm in [Vec2::new(SCREW_MM, 0.0), Vec2::new(0.0, SCREW_MM)] {
            stroke(&mut part, *screw - arm, *screw + arm);
        }
    }
    for line in &panel.lines {
        part.add(Operation::Mark, Shape::Contour(line.clone()));
    }
    let mut placer = Placer::of(&part);
    for (near, words) in &panel.labels {
        placer.write(&mut part, words, NAME_MM, *near, LABEL_REACH_MM);
    }
    let bounds = panel.outline.bounds();
    let near = Point::new(bounds.center().x, bounds.y0 + 0.25 * bounds.height());
    placer.write(&mut part, &panel.title.to_uppercase(), NAME_MM, near, f64::INFINITY);
    part
}

/// How far from what it is about a label of a panel may stand, mm.
const LABEL_REACH_MM: f64 = 60.0;

/// The part's name on it, as near to its middle as there is room.
fn name_it(part: &mut Part) {
    let near = part.outline().map_or(Point::ZERO, |c| c.bounds().center());
    let words = part.title.to_uppercase();
    Placer::of(part).write(part, &words, NAME_MM, near, f64::INFINITY);
}
