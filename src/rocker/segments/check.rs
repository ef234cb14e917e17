//! Checks of segments before anything is computed.

use super::part::{Part, part};
use crate::codes;
use crate::finding::{Fault, Faults};
use crate::job::{SegmentShape, Segments};
use crate::rocker::limits;
use crate::units::{Quantity, phrase};

/// Faults of single parts and of their order.
pub(super) fn segments(segments: &Segments) -> Result<(), Faults> {
    let numbered: Vec<Part> = segments.parts.iter().enumerate().map(|(i, s)| part(i, s)).collect();
    if numbered.is_empty() {
        return Err(codes::SEGMENTS_NONE.at("rocker.segments.parts", "there is no part.").into());
    }
    let mut faults = Faults::default();
    for part in &numbered {
        if let Some(length) = part.length_mm
            && !(length > 0.0 && length.is_finite())
        {
            faults.push(
                codes::SEGMENT_LENGTH.at(
                    format!("{}.length", part.path()),
                    phrase!("a part cannot be {} long.", Quantity::exact(length)),
                ),
            );
        }
        if let SegmentShape::Arc(bend) = part.shape
            && let Err(fault) = limits::check_bend(bend, &part.bend_path(bend))
        {
            faults.push(fault);
        }
        if let SegmentShape::Easing { from_radius_mm, to_radius_mm } = part.shape {
            for (radius, key) in [(from_radius_mm, "from_radius"), (to_radius_mm, "to_radius")] {
                let path = format!("{}.{key}", part.path());
                faults.extend(radius.and_then(|r| limits::check_radius(r, &path).err()));
            }
        }
    }
    let mut open = numbered.iter().filter(|p| p.length_mm.is_none());
    if let (Some(first), Some(second)) = (open.next(), open.next()) {
        faults.push(codes::SEGMENT_OPEN.at(
            second.path(),
            format!("part {} has no length either, so the rest cannot be shared out.", first.number + 1),
        ));
    }
    for pair in numbered.windows(2) {
        if let SegmentShape::Easing { to_radius_mm: None, .. } = pair[0].shape
            && let SegmentShape::Easing { from_radius_mm: None, .. } = pair[1].shape
        {
            faults.push(Fault::new(
                codes::EASING_NEIGHBOURS,
                pair[1].path(),
                "two easings lie next to each other, so neither knows where its curvature is to go.",
                "Give one of them its own radius there, put another part between them, or make them one.",
            ));
        }
    }
    let unknowing = matches!(numbered[0].shape, SegmentShape::Easing { from_radius_mm: None, to_radius_mm: None });
    if (numbered.len() == 1 && unknowing) || (segments.mirrored && numbered[0].is_easing()) {
        faults.push(Fault::new(
            codes::EASING_NEIGHBOURS,
            numbered[0].path(),
            "an easing needs a neighbour whose curvature it leads to.",
            "Begin with a flat, an arc or a camber.",
        ));
    }
    heights(segments, &numbered, &mut faults);
    faults.or(())
}

/// Each prescribed height of an end needs exactly one arc to solve for.
fn heights(segments: &Segments, numbered: &[Part], faults: &mut Faults) {
    let asked = [("tip_height", segments.tip_height_mm), ("tail_height", segments.tail_height_mm)];
    for (key, height) in asked {
        if let Some(height) = height
            && !(height >= 0.0 && height.is_finite())
        {
            faults.push(codes::END_HEIGHT.at(
                format!("rocker.segments.{key}"),
                phrase!("an end cannot be {} over the lowest point.", Quantity::exact(height)),
            ));
        }
    }
    let given: Vec<&str> = asked.iter().filter(|a| a.1.is_some()).map(|a| a.0).collect();
    let solved: Vec<&Part> = numbered.iter().filter(|p| p.is_solved()).collect();
    if segments.mirrored && given.len() == 2 {
        faults.push(Fault::new(
            codes::END_HEIGHT,
            "rocker.segments.tail_height",
            "tip and tail of a mirrored board are of one height.",
            "Keep tip_height only.",
        ));
    } else if let Some(extra) = solved.get(given.len()) {
        let what =
            if given.is_empty() { "nothing says what to solve it for" } else { "one height cannot fix two arcs" };
        faults.push(
            codes::SOLVE_FOR_NOTHING.at(extra.path(), format!("the bend of this arc is to be solved for, but {what}.")),
        );
    } else if solved.len() < given.len() {
        faults.push(Fault::new(
            codes::NOTHING_TO_SOLVE,
            format!("rocker.segments.{}", given[solved.len()]),
            "the parts already fix this height.",
            "Write radius = \"solve\" in the arc that is to give it, or take the height out.",
        ));
    }
}
