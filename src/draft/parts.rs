//! Parts with their marks, and the drawings that hold them.

use super::members::{dress_bearer, dress_cross_member, dress_panel, dress_plate};
use super::plan::dress_template;
use super::ribs::dress_rib;
use super::template::dress_planing_rail;
use crate::drawing::{Drawing, Part, Placement};
use crate::jig::{FlatPart, Jig, PartKind};

/// Clear space between parts, mm: room for a cutter of 12 mm.
const GAP_MM: f64 = 16.0;
/// Ribs or their pieces, one above the other, tip to the right; `None` where there is none.
pub fn ribs(parts: Vec<Part>, title: &str, origin: &str) -> Option<Drawing> {
    drawing(parts, format!("{title}: ribs"), origin)
}

/// Parts that are cut beside the ribs, one above the other; `None` where there is none.
pub fn members(parts: Vec<Part>, title: &str, origin: &str) -> Option<Drawing> {
    drawing(parts, format!("{title}: members"), origin)
}

fn drawing(parts: Vec<Part>, title: String, origin: &str) -> Option<Drawing> {
    (!parts.is_empty()).then(|| Drawing { title, origin: origin.to_owned(), parts: stacked(parts) })
}

/// Parts moved so that they stand one above the other.
fn stacked(parts: Vec<Part>) -> Vec<Part> {
    let mut y = 0.0;
    parts
        .into_iter()
        .map(|part| {
            let Some(bounds) = part.bounds() else { return part };
            let placed = part.placed(&Placement::shift(0.0, y - bounds.y0));
            y += bounds.height() + GAP_MM;
            placed
        })
        .collect()
}

/// A part of the jig with all its marks.
pub fn dressed(flat: &FlatPart, jig: &Jig) -> Part {
    let mut part = flat.part.clone();
    match flat.kind {
        PartKind::Rib { rib, piece } => dress_rib(&mut part, jig, &jig.ribs[rib], piece),
        PartKind::CrossMember(i) => dress_cross_member(&mut part, &jig.cross_members[i], jig.cross_members.len()),
        PartKind::Plate => dress_plate(&mut part),
        PartKind::Bearer(i) => dress_bearer(&mut part, &jig.bearers[i]),
        PartKind::Panel(i) => dress_panel(&mut part, &jig.panels[i]),
        PartKind::PlaningRail(i) => dress_planing_rail(&mut part, &jig.planing_rails[i]),
        PartKind::Template => {
            if let Some(template) = &jig.template {
                dress_template(&mut part, template);
            }
        }
    }
    part
}
