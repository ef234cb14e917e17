//! Stations: places where heights are listed and ticks are marked.

use kurbo::Point;

use super::demand::Marks;
use crate::curve::{Curve, Parallel, PlaneCurve};

/// What a station marks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StationKind {
    /// A place at the station pitch.
    Plain,
    /// The middle of the finished board.
    Middle,
    /// The finished tail end.
    TailEnd,
    /// The finished tip end.
    TipEnd,
}

/// A place along the table.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Station {
    /// Number from the tail, 1 first.
    pub number: usize,
    /// What it marks.
    pub kind: StationKind,
    /// Place along the finished board's base, 0 in its middle, mm.
    pub board_mm: f64,
    /// Place along the table's surface, mm of its arc length.
    pub table_mm: f64,
    /// Point of the surface in table coordinates (x, z), mm.
    pub surface: Point,
    /// Point of the rib's top edge square below it, mm.
    pub rib_top: Point,
    /// Slope of the surface there, rad, positive when it rises toward the tip.
    pub slope_rad: f64,
    /// Curvature of the surface there, 1/mm.
    pub k_per_mm: f64,
}

/// The stations in order, with their kinds.
pub(super) fn list(surface: &Curve, top: &Parallel<'_>, marks: &Marks) -> Vec<Station> {
    let near = |a: f64, b: f64| (a - b).abs() < 1e-6;
    marks
        .stations
        .iter()
        .enumerate()
        .map(|(i, &(board_mm, table_mm))| {
            let on = surface.at(table_mm);
            let kind = if near(board_mm, marks.finished_base_mm.0) {
                StationKind::TailEnd
            } else if near(board_mm, marks.finished_base_mm.1) {
                StationKind::TipEnd
            } else if near(board_mm, 0.0) {
                StationKind::Middle
            } else {
                StationKind::Plain
            };
            Station {
                number: i + 1,
                kind,
                board_mm,
                table_mm,
                surface: on.point,
                rib_top: top.at(table_mm).point,
                slope_rad: on.angle_rad,
                k_per_mm: on.k_per_mm,
            }
        })
        .collect()
}
