//! A segment in its place, and what segments become.

use super::super::limits;
use crate::curve::Curvature;
use crate::job::{Bend, Segment, SegmentShape};

/// Segments turned into curvature.
#[derive(Debug)]
pub(in crate::rocker) struct Laid {
    /// Curvature from -L/2 to +L/2.
    pub(in crate::rocker) curvature: Curvature,
    /// Where the board rests, mm.
    pub(in crate::rocker) anchor_mm: f64,
}

/// A segment in its place from tail to tip, with the number that it has in the document.
#[derive(Debug, Clone)]
pub(super) struct Part {
    pub(super) number: usize,
    pub(super) length_mm: Option<f64>,
    pub(super) shape: SegmentShape,
}

impl Part {
    pub(super) fn path(&self) -> String {
        let kind = match self.shape {
            SegmentShape::Flat => "flat",
            SegmentShape::Arc(bend) if limits::is_camber(bend) => "camber",
            SegmentShape::Arc(_) => "arc",
            SegmentShape::Easing { .. } => "easing",
        };
        format!("rocker.segments.parts[{}].{kind}", self.number)
    }

    pub(super) fn bend_path(&self, bend: Bend) -> String {
        format!("{}{}", self.path(), limits::key(bend))
    }

    pub(super) fn is_camber(&self) -> bool {
        matches!(self.shape, SegmentShape::Arc(bend) if limits::is_camber(bend))
    }

    /// The part walked the other way.
    pub(super) fn turned(self) -> Self {
        let shape = match self.shape {
            SegmentShape::Easing { from_radius_mm, to_radius_mm } => {
                SegmentShape::Easing { from_radius_mm: to_radius_mm, to_radius_mm: from_radius_mm }
            }
            shape => shape,
        };
        Self { shape, ..self }
    }

    pub(super) fn is_easing(&self) -> bool {
        matches!(self.shape, SegmentShape::Easing { .. })
    }

    pub(super) fn is_solved(&self) -> bool {
        matches!(self.shape, SegmentShape::Arc(Bend::Solved))
    }
}

pub(super) fn part(number: usize, segment: &Segment) -> Part {
    Part { number, length_mm: segment.length_mm, shape: segment.shape }
}
