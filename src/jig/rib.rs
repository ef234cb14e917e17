//! The rib's profile.

use kurbo::{Point, Rect};

use super::cross::{RibSlot, place_at};
use super::slots::slot_up;
use super::split::Cut;
use super::{RodHole, Station};
use crate::codes;
use crate::curve::{DEFAULT_TOLERANCE_MM, Parallel, ParallelFolds, PlaneCurve, fit_arcs};
use crate::drawing::{Contour, Vertex};
use crate::finding::{Fault, Faults};
use crate::job::{Feet, Relief, RibFrame};
use crate::units::{Quantity, decimal, phrase};

/// What is cut out of the stock for a rib: all of it, or the piece between two joints.
#[derive(Debug, Clone, PartialEq)]
pub struct RibPiece {
    /// Its outline in table coordinates (x, z).
    pub outline: Contour,
    /// From where to where its top edge carries the skin, mm along the table.
    pub top_mm: (f64, f64),
}

/// One rib: a flat base, upright ends, and a top edge parallel to the table's surface.
#[derive(Debug, Clone, PartialEq)]
pub struct Rib {
    /// Number from the left, 1 first.
    pub number: usize,
    /// Where its middle plane stands across the table, mm.
    pub y_mm: f64,
    /// Outline of the whole rib in table coordinates (x, z), counter-clockwise from the tail end of the base.
    pub outline: Contour,
    /// What is cut out of the stock: the whole rib, or its pieces from the tail.
    pub pieces: Vec<RibPiece>,
    /// Holes that the rods go through.
    pub holes: Vec<RodHole>,
    /// Bolt holes of its joints.
    pub bolts: Vec<RodHole>,
    /// Round windows.
    pub windows: Vec<RodHole>,
    /// Holes to carry the table by.
    pub hand_holes: Vec<Contour>,
    /// Stations whose ticks it carries.
    pub stations: Vec<Station>,
    /// Height of its base edge between feet, mm; 0 without feet.
    pub floor_mm: f64,
    /// Length of its base, mm.
    pub length_mm: f64,
    /// Height of its highest place, mm.
    pub height_mm: f64,
}

impl Rib {
    /// Short name of ASCII letters, digits and hyphens; the pieces of a split rib carry letters from the tail.
    pub fn id(&self, piece: usize) -> String {
        if self.pieces.len() == 1 {
            return format!("rib-{}", self.number);
        }
        format!("rib-{}{}", self.number, char::from(b'a' + (piece % 26) as u8))
    }

    /// Number of the rib, with the letter of the piece where it is split.
    pub(crate) fn piece_name(&self, piece: usize) -> String {
        self.id(piece).trim_start_matches("rib-").to_ascii_uppercase()
    }

    /// What the shop calls it.
    pub fn title(&self) -> String {
        format!("Rib {}", self.number)
    }
}

/// What is cut into the base edge.
#[derive(Debug, Clone)]
pub(super) struct BaseEdge {
    features: Vec<Feature>,
    /// Height of the edge between the feet, mm.
    pub(super) floor_mm: f64,
}

#[derive(Debug, Clone, Copy)]
enum Feature {
    Slot(RibSlot),
    /// From, to and height of the relieved stretch between two feet.
    Recess(f64, f64, f64),
}

impl BaseEdge {
    /// The base edge of ribs between two ends, with slots for cross members and feet.
    pub(super) fn new(tail: f64, tip: f64, slots: &[RibSlot], feet: Option<Feet>) -> Self {
        let mut features: Vec<Feature> = slots.iter().copied().map(Feature::Slot).collect();
        let floor_mm = feet.map_or(0.0, |f| f.height_mm);
        if let Some(feet) = feet {
            let around =
                |s: &RibSlot| (s.x_mm - s.reach_mm - 0.5 * feet.length_mm, s.x_mm + s.reach_mm + 0.5 * feet.length_mm);
            let mut standing: Vec<(f64, f64)> = slots.iter().map(around).collect();
            standing.push((tail, tail + feet.length_mm));
            standing.push((tip - feet.length_mm, tip));
            standing.sort_by(|a, b| a.0.total_cmp(&b.0));
            let mut stands_to = f64::NEG_INFINITY;
            for (from, to) in standing {
                // The slopes at both ends of a relieved stretch rise at 45 degrees: no inner corner to clean out.
                if from - stands_to > 3.0 * feet.height_mm && stands_to.is_finite() {
                    features.push(Feature::Recess(stands_to, from, feet.height_mm));
                }
                // The foot of a slot near an end may reach beyond the foot of the end.
                stands_to = stands_to.max(to);
            }
        }
        let start = |f: &Feature| match f {
            Feature::Slot(s) => s.x_mm,
            Feature::Recess(from, ..) => *from,
        };
        features.sort_by(|a, b| start(a).total_cmp(&start(b)));
        Self { features, floor_mm }
    }

    /// Stretches where a joint may not start, because the edge is not at its floor there.
    pub(super) fn standing(&self, tail: f64, tip: f64) -> Vec<(f64, f64)> {
        if self.floor_mm == 0.0 {
            return Vec::new();
        }
        let mut from = tail;
        let mut out = Vec::new();
        for f in &self.features {
            if let Feature::Recess(a, b, h) = f {
                out.push((from, a + h));
                from = b - h;
            }
        }
        out.push((from, tip));
        out
    }

    /// Vertices of the edge between two places, from left to right, without the places themselves.
    fn between(&self, from: f64, to: f64, relief: Relief, cutter_mm: f64) -> Vec<Vertex> {
        let mut out = Vec::new();
        for feature in &self.features {
            match *feature {
                Feature::Slot(s) if s.x_mm > from && s.x_mm < to => {
                    let half = 0.5 * s.width_mm;
                    out.extend(slot_up(s.x_mm - half, s.x_mm + half, 0.0, s.floor_mm, relief, cutter_mm));
                }
                Feature::Recess(a, b, h) => {
                    let corners = [(a, 0.0), (a + h, h), (b - h, h), (b, 0.0)];
                    let inside = |c: &&(f64, f64)| c.0 > from && c.0 < to;
                    out.extend(corners.iter().filter(inside).map(|c| Vertex::line(Point::new(c.0, c.1))));
                }
                Feature::Slot(_) => {}
            }
        }
        out
    }
}

/// The fault for a top edge that would fold over.
pub(super) fn fold_fault(folds: &ParallelFolds, path: &str) -> Fault {
    codes::PARALLEL_FOLDS.at(
        path,
        phrase!(
            "the rib's top edge would fold over: {} below the table's surface there is no room inside its radius of \
             {}, {} from the middle of the table.",
            Quantity::exact(folds.distance_mm.abs()),
            Quantity::exact(folds.radius_mm),
            Quantity::place(folds.s_mm)
        ),
    )
}

/// How a rib is shaped, apart from its top edge.
#[derive(Debug, Clone, Copy)]
pub(super) struct Shape<'a> {
    pub(super) base: &'a BaseEdge,
    pub(super) relief: Relief,
    pub(super) cutter_mm: f64,
    /// Planes in which all ribs end, mm along the table.
    pub(super) ends: (f64, f64),
}

/// Outline of a whole rib under its top edge.
pub(super) fn profile(top: &Parallel<'_>, shape: Shape<'_>) -> Result<Contour, Fault> {
    steepness(top)?;
    Ok(piece(top, shape, None, None)?.outline)
}

/// Refuses a surface that upright ends cannot carry.
pub(super) fn steepness(top: &Parallel<'_>) -> Result<(), Fault> {
    let steepest = top.breaks_mm().iter().map(|s| top.at(*s).angle_rad.abs()).fold(0.0, f64::max);
    if steepest > STEEPEST_RAD {
        let message = format!(
            "the table's surface rises to {} degrees; a rib with upright ends carries up to {}.",
            decimal(steepest.to_degrees(), 1),
            decimal(STEEPEST_RAD.to_degrees(), 0)
        );
        let fault = fault(&message);
        return Err(if top.varies() {
            let remedy = "Let the concave fade over a longer way, or use a gentler rocker.".into();
            Fault { path: "table.concave.along".into(), remedy, ..fault }
        } else {
            fault
        });
    }
    Ok(())
}

/// Outline of a rib, or of its piece between two joints.
pub(super) fn piece(
    top: &Parallel<'_>,
    shape: Shape<'_>,
    after: Option<&Cut>,
    before: Option<&Cut>,
) -> Result<RibPiece, Fault> {
    let (first, last) = (place_at(top, shape.ends.0), place_at(top, shape.ends.1));
    let from = after.map_or(first, |cut| place_at(top, cut.top_at().1));
    let to = before.map_or(last, |cut| place_at(top, cut.top_at().0));
    let path = fit_arcs(top, from, to, DEFAULT_TOLERANCE_MM)
        .map_err(|e| fault(&format!("the rib's top edge cannot be drawn ({e}).")))?;
    let edge = Contour::open(path.nodes.iter().map(|n| Vertex { point: n.point, bulge: n.bulge }).collect())
        .map_err(|e| fault(&format!("the rib's top edge cannot be drawn ({e}).")))?
        .reversed();
    let bounds: Rect = edge.bounds();
    if bounds.y0 <= shape.base.floor_mm {
        return Err(fault("the rib's top edge reaches its base."));
    }
    let (tail, tip) = (top.at(from).point.x, top.at(to).point.x);
    let mut vertices = Vec::new();
    if after.is_none() {
        vertices.push(Vertex::line(Point::new(tail, 0.0)));
    }
    let left = after.map_or(tail, |c| c.start_of_tip_piece()[0].point.x);
    let right = before.map_or(tip, |c| c.end_of_tail_piece()[0].point.x);
    vertices.extend(shape.base.between(left, right, shape.relief, shape.cutter_mm));
    match before {
        None => vertices.push(Vertex::line(Point::new(tip, 0.0))),
        Some(cut) => {
            let mut up = cut.end_of_tail_piece();
            up.pop();
            vertices.extend(up);
        }
    }
    vertices.extend_from_slice(edge.vertices());
    if let Some(cut) = after {
        let up = Contour::open(cut.start_of_tip_piece())
            .map_err(|e| fault(&format!("the joint's edge cannot be drawn ({e}).")))?;
        vertices.extend_from_slice(&up.reversed().vertices()[1..]);
    }
    let outline = Contour::closed(vertices).map_err(|e| fault(&format!("the rib's outline does not close ({e}).")))?;
    Ok(RibPiece { outline, top_mm: (tail, tip) })
}

fn fault(what: &str) -> Fault {
    Fault::new(codes::IMPOSSIBLE_GEOMETRY, "table.ribs", what, "Use a gentler rocker or a shorter table.")
}

/// Steepest surface that a rib with a flat base and upright ends can carry, rad.
const STEEPEST_RAD: f64 = 80.0 / 180.0 * std::f64::consts::PI;

/// What keeps the profile from being cut out of the stock. The pieces of a split rib need not have its length.
pub(super) fn stock_faults(profile: &Contour, frame: &RibFrame) -> Faults {
    let ribs = &frame.ribs;
    let bounds = profile.bounds();
    let mut faults = Faults::default();
    if ribs.lowest_height_mm < ribs.thickness_mm {
        faults.push(codes::RIB_TOO_THIN.at(
            "table.ribs.lowest_height",
            phrase!(
                "the rib is {} high at its lowest place, less than its stock is thick ({}).",
                Quantity::exact(ribs.lowest_height_mm),
                Quantity::exact(ribs.thickness_mm)
            ),
        ));
    }
    let length = frame.split.as_ref().map_or(bounds.width(), |s| bounds.width().min(s.longest_mm));
    let mut exceeds = |key: &str, needs: f64, has: Option<f64>, what: &str| {
        if let Some(has) = has.filter(|has| needs > *has) {
            faults.push(codes::RIB_EXCEEDS_STOCK.at(
                format!("table.ribs.{key}"),
                phrase!("the ribs are {} {}, the stock {}.", Quantity::exact(needs), what, Quantity::exact(has)),
            ));
        }
    };
    let (long, short) = (length.max(bounds.height()), length.min(bounds.height()));
    let (stock_long, stock_short) = match (ribs.stock_length_mm, ribs.stock_width_mm) {
        (Some(l), Some(w)) => (Some(l.max(w)), Some(l.min(w))),
        other => other,
    };
    exceeds("stock_length", long, stock_long, "long");
    exceeds("stock_width", short, stock_short, "high");
    faults
}
