//! Rails between which a layer is planed to its taper.

use kurbo::Point;

use crate::drawing::Contour;
use crate::job::{EffectiveLayer, Thickness};
use crate::laminate::Laminate;

/// Height of the rails below the layer: thickness of the board that the layer lies on between them, mm (common practice,
/// no source: a usual sheet, and rails that do not bend).
pub(crate) const BED_MM: f64 = 18.0;

/// The pair of rails for a layer whose thickness changes along the board.
#[derive(Debug, Clone, PartialEq)]
pub struct PlaningRails {
    /// Number, 1 first from the base.
    pub number: usize,
    /// Name of the layer.
    pub layer: String,
    /// Its place in the stack, base first, from 0.
    pub index: usize,
    /// Which plies of the layer are planed like this, counted from its lowest, from 1.
    pub plies: Vec<usize>,
    /// How many plies the layer has.
    pub of: usize,
    /// Stations from the layer's tail end to its tip end along the flat blank, mm from the middle, with its thickness there,
    /// mm.
    pub points: Vec<(f64, f64)>,
    /// Outline of each rail: x along the blank from its middle, y up from the bench, mm.
    pub outline: Contour,
}

impl PlaningRails {
    /// The plies that are planed like this: `ply 2`, `plies 1 and 2`.
    pub(crate) fn plies_in_words(&self) -> String {
        let numbers: Vec<String> = self.plies.iter().map(usize::to_string).collect();
        match &numbers[..] {
            [one] => format!("ply {one}"),
            [before @ .., last] => format!("plies {} and {last}", before.join(", ")),
            [] => String::new(),
        }
    }
}

/// Rails for every tapered entry of the stack within the blank, which reaches from `tail_mm` to `tip_mm`, base first.
pub(crate) fn planing_rails(laminate: &Laminate, (tail_mm, tip_mm): (f64, f64)) -> Vec<PlaningRails> {
    let mut all: Vec<PlaningRails> = Vec::new();
    let mut entries: Vec<usize> = Vec::new();
    for (index, layer) in laminate.layers().iter().enumerate() {
        let Thickness::Tapered(stations) = &layer.thickness else { continue };
        let alike = |l: &&EffectiveLayer| l.entry == layer.entry;
        let number_in_entry = laminate.layers()[..=index].iter().filter(alike).count();
        if let Some(same) = entries.iter().position(|e| *e == layer.entry) {
            all[same].plies.push(number_in_entry);
            continue;
        }
        let (from, to) = layer.extent_mm.map_or((tail_mm, tip_mm), |(a, b)| (a.max(tail_mm), b.min(tip_mm)));
        let inner = stations.iter().map(|s| s.0).filter(|s| *s > from && *s < to);
        let places = std::iter::once(from).chain(inner).chain(std::iter::once(to));
        let points: Vec<(f64, f64)> = places.map(|s| (s, laminate.layer_thickness_mm(index, s))).collect();
        let top = points.iter().rev().map(|(s, t)| Point::new(*s, BED_MM + t));
        // A layer that ends before it begins has no outline.
        let Ok(outline) = Contour::polygon([Point::new(from, 0.0), Point::new(to, 0.0)].into_iter().chain(top)) else {
            continue;
        };
        if to > from {
            entries.push(layer.entry);
            let of = laminate.layers().iter().filter(alike).count();
            let (number, layer, plies) = (all.len() + 1, layer.name.clone(), vec![number_in_entry]);
            all.push(PlaningRails { number, layer, index, plies, of, points, outline });
        }
    }
    all
}
