//! Planing templates: rails between which a layer is planed to its taper.

use kurbo::Point;

use super::ribs::stroke;
use crate::drawing::{Contour, Operation, Part, Placer, Shape};
use crate::job::{Layer, Thickness};
use crate::laminate::Laminate;

/// Height of the rails below the layer: thickness of the board that the layer lies on between them, mm (common practice,
/// no source: a usual sheet, and rails that do not bend).
pub(super) const BED_MM: f64 = 18.0;
/// Height of capitals, mm.
const TEXT_MM: f64 = 4.0;
/// How far from its place a text may stand, mm.
const TEXT_REACH_MM: f64 = 60.0;
/// Length of a tick, mm.
const TICK_MM: f64 = 5.0;

/// A layer whose thickness changes along the board.
pub(super) struct Taper<'a> {
    /// The layer.
    pub(super) layer: &'a Layer,
    /// Its place in the stack, base first, from 0.
    pub(super) index: usize,
    /// How many plies are planed like this.
    pub(super) plies: usize,
    /// Stations from its tail end to its tip end along the flat blank, mm from the middle, with its thickness there, mm.
    pub(super) points: Vec<(f64, f64)>,
}

/// Every tapered entry of the stack within the blank, with its plies, base first.
pub(super) fn tapers(laminate: &Laminate, (tail_mm, tip_mm): (f64, f64)) -> Vec<Taper<'_>> {
    let mut tapers: Vec<Taper<'_>> = Vec::new();
    for (index, layer) in laminate.layers().iter().enumerate() {
        let Thickness::Tapered(stations) = &layer.thickness else { continue };
        if let Some(same) = tapers.iter_mut().find(|t| t.layer.entry == layer.entry) {
            same.plies += 1;
            continue;
        }
        let (from, to) = layer.extent_mm.map_or((tail_mm, tip_mm), |(a, b)| (a.max(tail_mm), b.min(tip_mm)));
        let inner = stations.iter().map(|s| s.0).filter(|s| *s > from && *s < to);
        let places = std::iter::once(from).chain(inner).chain(std::iter::once(to));
        let points: Vec<(f64, f64)> = places.map(|s| (s, laminate.layer_thickness_mm(index, s))).collect();
        if to > from {
            tapers.push(Taper { layer, index, plies: 1, points });
        }
    }
    tapers
}

/// The rails' outlines, one part for each taper; two of each are cut.
pub fn planing_templates(laminate: &Laminate, blank_mm: (f64, f64)) -> Vec<Part> {
    tapers(laminate, blank_mm).iter().enumerate().filter_map(|(i, taper)| rail(taper, i + 1)).collect()
}

fn rail(taper: &Taper<'_>, number: usize) -> Option<Part> {
    let (tail, tip) = (taper.points.first()?.0, taper.points.last()?.0);
    let top = taper.points.iter().rev().map(|(s, t)| Point::new(*s, BED_MM + t));
    let outline = Contour::polygon([Point::new(tail, 0.0), Point::new(tip, 0.0)].into_iter().chain(top)).ok()?;
    let mut part = Part::new(format!("planing-{number}"), format!("Planing rail {number}, cut 2"));
    part.add(Operation::CutOutside, Shape::Contour(outline));
    for (s, t) in taper.points.iter().filter(|p| p.0 > tail && p.0 < tip) {
        stroke(&mut part, Point::new(*s, BED_MM + t), Point::new(*s, BED_MM + t - TICK_MM));
    }
    if tail < 0.0 && tip > 0.0 {
        stroke(&mut part, Point::ZERO, Point::new(0.0, TICK_MM));
    }
    let mut placer = Placer::of(&part);
    for (words, x_mm) in [("TIP", tip - 12.0), ("MIDDLE", 16.0), (&format!("PLANING RAIL {number}"), 0.5 * tail)] {
        placer.write(&mut part, words, TEXT_MM, Point::new(x_mm.clamp(tail, tip), 0.5 * BED_MM), TEXT_REACH_MM);
    }
    Some(part)
}
