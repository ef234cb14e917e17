//! The template that the board is trimmed along.

use kurbo::Point;

use super::stations::{Station, StationKind};
use crate::drawing::Contour;
use crate::finding::Fault;
use crate::rocker::Outline;

/// A flat template of the finished board, laid along its base.
#[derive(Debug, Clone, PartialEq)]
pub struct Template {
    /// Outline, mm: x along the base from its middle toward the tip, y to the left seen from the tail.
    pub outline: Contour,
    /// Centres and diameters of the holes that are drilled through it into the board, mm.
    pub holes: Vec<(Point, f64)>,
    /// Stations: number, what it marks, place along the base, and distance of the left and the right edge from the middle
    /// line, each positive to the left, mm.
    pub stations: Vec<(usize, StationKind, f64, (f64, f64))>,
    /// Thickness of its sheet, mm.
    pub thickness_mm: f64,
}

impl Template {
    /// The template of an outline with its stations marked.
    ///
    /// # Errors
    /// A fault where the outline bends too sharply for arcs.
    pub(crate) fn new(outline: &Outline, stations: &[Station], thickness_mm: f64) -> Result<Self, Fault> {
        Ok(Self {
            outline: outline.contour()?,
            holes: outline.holes.iter().map(|h| (Point::new(h.station_mm, h.side_mm), h.diameter_mm)).collect(),
            stations: stations.iter().map(|s| (s.number, s.kind, s.board_mm, outline.edges_mm(s.board_mm))).collect(),
            thickness_mm,
        })
    }
}
