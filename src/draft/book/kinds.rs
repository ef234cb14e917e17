//! The kinds of parts, marked with letters in the pictures.

use super::say::Say;
use crate::built::{Built, Design};

/// Which part a mark stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum KindOf {
    /// The skin that the board lies on.
    Skin,
    /// Ribs of one shape: which shape, from 0.
    Rib(usize),
    /// Members across.
    Cross,
    /// Spacers.
    Spacer,
    /// Threaded rods.
    Rod,
    /// Nuts and washers.
    Nut,
    /// Plates over joints.
    Plate,
    /// A panel: which, from 0.
    Panel(usize),
    /// Bearers.
    Bearer,
    /// Packing under bearers.
    Packing,
}

/// A line of the list of parts.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Kind {
    /// Its letters in the pictures: parts have numbers of their own.
    pub(super) letters: String,
    /// Which part.
    pub(super) of: KindOf,
    pub(super) name: String,
    pub(super) count: usize,
    pub(super) size: String,
    pub(super) stock: String,
}

/// Ribs of one shape: the first, and the numbers of all.
pub(super) fn shapes(built: &Built) -> Vec<(usize, Vec<usize>)> {
    let ribs = &built.jig.ribs;
    let mut shapes: Vec<(usize, Vec<usize>)> = Vec::new();
    for (i, rib) in ribs.iter().enumerate() {
        let same = |first: &usize| {
            let other = &ribs[*first];
            other.outline == rib.outline && other.pieces == rib.pieces && other.holes == rib.holes
        };
        match shapes.iter_mut().find(|s| same(&s.0)) {
            Some(shape) => shape.1.push(rib.number),
            None => shapes.push((i, vec![rib.number])),
        }
    }
    shapes
}

/// The list of parts, marked as in the pictures.
// Long, because it is one table, row by row.
pub(super) fn kinds(built: &Built, say: Say) -> Vec<Kind> {
    let Design { job, .. } = &built.design;
    let Built { jig, .. } = built;
    let mut kinds: Vec<Kind> = Vec::new();
    let mut add = |of, name: String, count: usize, size: String, stock: String| {
        kinds.push(Kind { letters: letters(kinds.len()), of, name, count, size, stock });
    };
    let by = |a: f64, b: f64| format!("{} × {}", say.length(a), say.length(b));
    let thick = |mm: f64| format!("{} thick", say.fine(mm));
    let arc = jig.surface.curvature().length_mm();
    let sheets = job.table.skin_sheets.count;
    let sheet_mm = built.design.skin().sheet_mm();
    add(KindOf::Skin, "table skin".to_owned(), sheets, by(arc, jig.width_mm), thick(sheet_mm));
    for (i, (first, numbers)) in shapes(built).into_iter().enumerate() {
        let rib = &jig.ribs[first];
        let all = if numbers.len() == jig.ribs.len() && numbers.len() > 1 {
            format!("ribs 1 to {}", numbers.len())
        } else {
            let words: Vec<String> = numbers.iter().map(ToString::to_string).collect();
            format!("rib {}", words.join(", "))
        };
        let pieces = if rib.pieces.len() > 1 { format!(", in {} pieces", rib.pieces.len()) } else { String::new() };
        let size = format!("{}{pieces}", by(rib.length_mm, rib.height_mm));
        add(KindOf::Rib(i), all, numbers.len(), size, thick(jig.rib_thickness_mm));
    }
    if let Some(member) = jig.cross_members.first() {
        let size = by(member.length_mm, member.height_mm);
        add(KindOf::Cross, "cross member".to_owned(), jig.cross_members.len(), size, thick(member.thickness_mm));
    }
    let schedule = &jig.spacers;
    let count: usize = schedule.bays.iter().map(|b| b.count).sum();
    if let Some(first) = schedule.bays.first() {
        let same = schedule.bays.iter().all(|b| (b.spacer_length_mm - first.spacer_length_mm).abs() < 0.005);
        let size =
            if same { format!("{} long", say.length(first.spacer_length_mm)) } else { "see the schedule".to_owned() };
        let stock = format!("tube or block, bored {}", say.fine(rod_hole_mm(built)));
        add(KindOf::Spacer, "spacer".to_owned(), count, size, stock);
    }
    if schedule.rod_count > 0 {
        let diameter = format!("threaded rod, {}", say.fine(schedule.rod_diameter_mm));
        let size = format!("{} long", say.length(schedule.rod_length_mm));
        add(KindOf::Rod, "rod".to_owned(), schedule.rod_count, size, diameter);
        let fits = format!("for {} rod", say.fine(schedule.rod_diameter_mm));
        add(KindOf::Nut, "nut with washer".to_owned(), 2 * schedule.rod_count, "one at each rod end".to_owned(), fits);
    }
    if let Some(plate) = jig.plates.first() {
        let bounds = plate.outline.bounds();
        let count = jig.plates.iter().map(|p| p.count).sum();
        let size = by(bounds.width(), bounds.height());
        add(KindOf::Plate, "joint plate".to_owned(), count, size, "rib stock or as the joint asks".to_owned());
    }
    for (i, panel) in jig.panels.iter().enumerate() {
        let bounds = panel.outline.bounds();
        let size = by(bounds.width(), bounds.height());
        add(KindOf::Panel(i), panel.title.to_lowercase(), 1, size, thick(panel.thickness_mm));
    }
    if let Some(bearer) = jig.bearers.first() {
        let size = format!("{} long, heights as listed", say.length(bearer.length_mm));
        add(KindOf::Bearer, "bearer".to_owned(), jig.bearers.len(), size, thick(bearer.thickness_mm));
        let packing = jig.bearers.iter().map(|b| b.packing_mm.len()).sum();
        if packing > 0 {
            let size = by(bearer.length_mm, bearer.thickness_mm);
            add(KindOf::Packing, "packing".to_owned(), packing, size, "thicknesses as listed".to_owned());
        }
    }
    kinds
}

/// Hole for the rods, mm.
fn rod_hole_mm(built: &Built) -> f64 {
    built.jig.rods.first().map_or(built.jig.spacers.rod_diameter_mm, |r| r.hole.diameter_mm)
}

/// A to Z, then AA, AB and so on.
fn letters(index: usize) -> String {
    let last = char::from(b'A' + (index % 26) as u8);
    match index / 26 {
        0 => last.to_string(),
        before => letters(before - 1) + &last.to_string(),
    }
}
