//! The parts that are cut from flat stock: outlines, openings and holes, without marks.

use super::bearers::Bearer;
use super::record::Jig;
use super::rib::Rib;
use super::rods::RodHole;
use super::split::Plate;
use crate::drawing::{Contour, Operation, Part, Shape};

/// A part that is cut from flat stock.
#[derive(Debug, Clone, PartialEq)]
pub struct FlatPart {
    /// The part in its own coordinates; nothing is marked on it.
    pub part: Part,
    /// What it is.
    pub kind: PartKind,
    /// Thickness of its stock, mm.
    pub thickness_mm: f64,
    /// What is still to be done to the blank once it is cut, where something is.
    pub finish: Option<Finish>,
}

/// What a flat part is: indices in the lists of the jig.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PartKind {
    /// A piece of a rib.
    Rib {
        /// Index of the rib.
        rib: usize,
        /// Index of the piece from the tail.
        piece: usize,
    },
    /// A cross member.
    CrossMember(usize),
    /// A plate over a joint.
    Plate,
    /// A bearer.
    Bearer(usize),
    /// A panel of a box, or a base board.
    Panel(usize),
    /// A rail for planing.
    PlaningRail(usize),
    /// The trimming template.
    Template,
}

/// How a bearer is finished.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Finish {
    /// Height at its middle, mm.
    pub height_mm: f64,
    /// Bevel of its top, rad, positive when it rises toward the tip.
    pub bevel_rad: f64,
}

impl Jig {
    /// All parts that are cut from flat stock, each once: ribs, cross members, plates, bearers, panels, planing rails, the
    /// trimming template.
    pub fn flat_parts(&self) -> Vec<FlatPart> {
        let mut parts = self.rib_parts();
        let flat = |part, kind, thickness_mm| FlatPart { part, kind, thickness_mm, finish: None };
        let count = self.cross_members.len();
        parts.extend(self.cross_members.iter().enumerate().map(|(i, m)| {
            let title = format!("Cross member {} of {count}", m.number);
            flat(cut_out(m.id(), title, &m.outline), PartKind::CrossMember(i), m.thickness_mm)
        }));
        // Plates come from the ribs' stock.
        parts
            .extend(self.plates.iter().flat_map(plates).map(|part| flat(part, PartKind::Plate, self.rib_thickness_mm)));
        parts.extend(self.bearers.iter().enumerate().map(|(i, b)| self.bearer_part(i, b)));
        parts.extend(self.panels.iter().enumerate().map(|(i, p)| {
            flat(cut_out(p.id.clone(), p.title.clone(), &p.outline), PartKind::Panel(i), p.thickness_mm)
        }));
        let rail_mm = self.bearers.first().map_or(self.rib_thickness_mm, |b| b.thickness_mm);
        parts.extend(self.planing_rails.iter().enumerate().flat_map(|(i, rails)| {
            let rail = |side: &str| {
                let (id, title) =
                    (format!("planing-{}-{side}", rails.number), format!("Planing rail {} {side}", rails.number));
                flat(cut_out(id, title, &rails.outline), PartKind::PlaningRail(i), rail_mm)
            };
            ["left", "right"].map(rail)
        }));
        parts.extend(self.template.as_ref().map(|template| {
            let mut part = cut_out("template".to_owned(), "Trimming template".to_owned(), &template.outline);
            for (center, diameter) in &template.holes {
                part.add(Operation::Drill, Shape::Circle { center: *center, radius_mm: 0.5 * diameter });
            }
            flat(part, PartKind::Template, template.thickness_mm)
        }));
        parts
    }

    /// The ribs or their pieces, in table coordinates.
    pub fn rib_parts(&self) -> Vec<FlatPart> {
        let pieces = |(rib, of): (usize, &Rib)| (0..of.pieces.len()).map(move |piece| (rib, piece)).collect::<Vec<_>>();
        let part = |(rib, piece)| FlatPart {
            part: self.rib_part(rib, piece),
            kind: PartKind::Rib { rib, piece },
            thickness_mm: self.rib_thickness_mm,
            finish: None,
        };
        self.ribs.iter().enumerate().flat_map(pieces).map(part).collect()
    }

    fn rib_part(&self, rib: usize, piece: usize) -> Part {
        let (rib, count) = (&self.ribs[rib], self.ribs.len());
        let outline = &rib.pieces[piece].outline;
        let title = format!("Rib {} of {count}", rib.piece_name(piece));
        let mut part = cut_out(rib.id(piece), title, outline);
        let bounds = outline.bounds();
        let here = |x: f64| x > bounds.x0 && x < bounds.x1;
        let round = |hole: &RodHole| Shape::Circle { center: hole.center, radius_mm: 0.5 * hole.diameter_mm };
        for window in rib.windows.iter().filter(|w| here(w.center.x)) {
            part.add(Operation::CutInside, round(window));
        }
        for hole in rib.hand_holes.iter().filter(|h| here(h.bounds().center().x)) {
            part.add(Operation::CutInside, Shape::Contour(hole.clone()));
        }
        for hole in rib.holes.iter().chain(&rib.bolts).filter(|h| here(h.center.x)) {
            part.add(Operation::Drill, round(hole));
        }
        part
    }

    fn bearer_part(&self, index: usize, bearer: &Bearer) -> FlatPart {
        let title = format!("Bearer {} of {}", bearer.number, self.bearers.len());
        FlatPart {
            part: cut_out(bearer.id(), title, &bearer.blank),
            kind: PartKind::Bearer(index),
            thickness_mm: bearer.thickness_mm,
            finish: Some(Finish { height_mm: bearer.cut_height_mm, bevel_rad: bearer.bevel_rad }),
        }
    }
}

/// A part of which nothing but its outline is there yet.
fn cut_out(id: String, title: String, outline: &Contour) -> Part {
    let mut part = Part::new(id, title);
    part.add(Operation::CutOutside, Shape::Contour(outline.clone()));
    part
}

/// Both plates of a joint.
fn plates(plate: &Plate) -> Vec<Part> {
    (0..plate.count)
        .map(|i| {
            let side = if i == 0 { "left" } else { "right" };
            let id = format!("plate-{}-{}-{side}", plate.rib, plate.joint);
            let mut part = cut_out(id, format!("Plate {}-{} {side}", plate.rib, plate.joint), &plate.outline);
            for (center, diameter) in &plate.holes {
                part.add(Operation::Drill, Shape::Circle { center: *center, radius_mm: 0.5 * diameter });
            }
            part
        })
        .collect()
}
