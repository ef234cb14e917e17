//! The drawing of everything that is cut beside the ribs: cross members, plates, panels, bearers.

use kurbo::{Point, Vec2};

use super::ribs::{small, stacked, stroke};
use crate::drawing::{Contour, Drawing, Operation, Part, Shape, Text, TextAnchor};
use crate::jig::{Bearer, CrossMember, Jig, Panel, Plate};
use crate::job::Job;
use crate::units::{LengthUnit, Quantity, decimal};

/// Height of capitals of a part's name, mm.
const NAME_MM: f64 = 6.0;
/// Half the size of the cross that marks a screw, mm.
const SCREW_MM: f64 = 3.0;

/// Cross members, plates, panels and bearers, one above the other; `None` where the table has none of them.
pub fn members(jig: &Jig, job: &Job, origin: &str) -> Option<Drawing> {
    let parts = member_parts(jig, job.unit);
    if parts.is_empty() {
        return None;
    }
    Some(Drawing { title: format!("{}: members", job.title), origin: origin.to_owned(), parts: stacked(parts) })
}

/// The same parts, each in its own coordinates.
pub(super) fn member_parts(jig: &Jig, unit: LengthUnit) -> Vec<Part> {
    members_of_thickness(jig, unit).into_iter().map(|(part, _)| part).collect()
}

/// The same parts with the thickness of their stock, mm.
pub(super) fn members_of_thickness(jig: &Jig, unit: LengthUnit) -> Vec<(Part, f64)> {
    let mut parts: Vec<(Part, f64)> =
        jig.cross_members.iter().map(|m| (cross_member(m, jig), m.thickness_mm)).collect();
    // Plates come from the ribs' stock.
    parts.extend(jig.plates.iter().flat_map(plate).map(|p| (p, jig.rib_thickness_mm)));
    parts.extend(jig.bearers.iter().map(|b| (bearer(b, jig.bearers.len(), unit), b.thickness_mm)));
    parts.extend(jig.panels.iter().map(|p| (panel(p), p.thickness_mm)));
    parts
}

fn cross_member(member: &CrossMember, jig: &Jig) -> Part {
    let count = jig.cross_members.len();
    let mut part = Part::new(member.id(), format!("Cross member {} of {count}", member.number));
    name(&mut part, &format!("CROSS {} OF {count}", member.number), &member.outline);
    part.add(Operation::Mark, small("UP", Point::new(-0.5 * member.length_mm + 6.0, 3.0), TextAnchor::Start));
    part.add(Operation::CutOutside, Shape::Contour(member.outline.clone()));
    part
}

/// Both plates of a joint.
fn plate(plate: &Plate) -> Vec<Part> {
    (0..plate.count)
        .map(|i| {
            let side = if i == 0 { "left" } else { "right" };
            let mut part = Part::new(
                format!("plate-{}-{}-{side}", plate.rib, plate.joint),
                format!("Plate, {side} of rib {}, joint {}", plate.rib, plate.joint),
            );
            for (center, diameter) in &plate.holes {
                part.add(Operation::Drill, Shape::Circle { center: *center, radius_mm: 0.5 * diameter });
            }
            name(&mut part, &format!("PLATE {}-{}", plate.rib, plate.joint), &plate.outline);
            part.add(Operation::CutOutside, Shape::Contour(plate.outline.clone()));
            part
        })
        .collect()
}

fn bearer(bearer: &Bearer, count: usize, unit: LengthUnit) -> Part {
    let mut part = Part::new(bearer.id(), format!("Bearer {} of {count}", bearer.number));
    name(&mut part, &format!("BEARER {} OF {count}", bearer.number), &bearer.outline);
    let words = format!(
        "BEVEL {} DEG, BLANK {} HIGH",
        decimal(bearer.bevel_rad.to_degrees(), 1),
        Quantity::length(bearer.blank_height_mm).text(unit)
    );
    let bounds = bearer.outline.bounds();
    part.add(Operation::Mark, small(&words, Point::new(bounds.x0 + 6.0, 4.0), TextAnchor::Start));
    // The middle line, for setting it square on the base board.
    stroke(&mut part, Point::new(0.0, 0.0), Point::new(0.0, 0.2 * bounds.height()));
    part.add(Operation::CutOutside, Shape::Contour(bearer.outline.clone()));
    part
}

fn panel(panel: &Panel) -> Part {
    let mut part = Part::new(panel.id.clone(), panel.title.clone());
    for screw in &panel.screws {
        for arm in [Vec2::new(SCREW_MM, 0.0), Vec2::new(0.0, SCREW_MM)] {
            stroke(&mut part, *screw - arm, *screw + arm);
        }
    }
    name(&mut part, &panel.title.to_uppercase(), &panel.outline);
    part.add(Operation::CutOutside, Shape::Contour(panel.outline.clone()));
    part
}

/// A part's name a little above its lower edge, right of the middle.
fn name(part: &mut Part, words: &str, outline: &Contour) {
    let bounds = outline.bounds();
    let at = Point::new(bounds.center().x + 6.0, bounds.y0 + 0.25 * bounds.height() - 0.5 * NAME_MM);
    let height_mm = NAME_MM.min(0.3 * bounds.height());
    part.add(
        Operation::Mark,
        Shape::Text(Text { at, height_mm, angle_rad: 0.0, anchor: TextAnchor::Start, content: words.to_owned() }),
    );
}
