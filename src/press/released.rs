//! The board as it comes off the table.

use crate::curve::{Curvature, CurvatureError, Piece, parallel_curvature, parallel_stretch};

use super::{Pressed, Station};
use crate::laminate::Section;

/// The released blank.
#[derive(Debug, Clone, PartialEq)]
pub struct Released {
    /// Curvature of the base over its own arc length, 0 in the middle of the board, 1/mm.
    pub base: Curvature,
    /// For every node of the pressed stack: its place along the released base, mm.
    pub base_mm: Vec<f64>,
}

/// What one end of an element becomes.
#[derive(Debug, Clone, Copy)]
pub(crate) struct ReleasedEnd {
    /// Length of the blank over that of the table under it.
    blank: f64,
    /// Length of the released base over that of the blank.
    stretch: f64,
    k_per_mm: f64,
}

impl ReleasedEnd {
    /// From the curvatures of the table and of the pressed base, 1/mm, and the gap between them, mm.
    #[inline]
    pub(crate) fn of(section: &Section, table_per_mm: f64, base_per_mm: f64, gap_mm: f64) -> Self {
        // The base of a stack that hangs over a curved table is shorter than the table below it.
        let over = 1.0 - table_per_mm * gap_mm;
        let blank = over * parallel_stretch(base_per_mm, section.neutral_mm);
        let free = section.free_curvature(parallel_curvature(base_per_mm, section.neutral_mm));
        let stretch = parallel_stretch(free, -section.neutral_mm);
        Self { blank, stretch, k_per_mm: free / stretch }
    }
}

/// Lets the bonded stack go: every layer gives back what it kept, as a whole board.
///
/// # Errors
/// [`CurvatureError`] where the released curve has a NaN, as with a stack that would fold.
pub fn release(pressed: &Pressed) -> Result<Released, CurvatureError> {
    release_ends(&pressed.stations, |i| {
        let one = |j: usize| {
            let gap_mm = pressed.contact.gap_mm[i + j];
            ReleasedEnd::of(&pressed.sections[i][j], pressed.table_per_mm[i][j], pressed.base_per_mm[i][j], gap_mm)
        };
        [one(0), one(1)]
    })
}

/// As [`release`], with both ends of each element between the nodes.
///
/// # Errors
/// As [`release`].
pub(crate) fn release_ends(
    stations: &[Station],
    mut ends_of: impl FnMut(usize) -> [ReleasedEnd; 2],
) -> Result<Released, CurvatureError> {
    let count = stations.len() - 1;
    let middle = stations.partition_point(|s| s.table_mm < 0.0).min(count);
    let mut base_mm = vec![stations[middle].blank_mm; count + 1];
    let mut pieces = Vec::with_capacity(count);
    for i in 0..count {
        let [start, end] = ends_of(i);
        let blank_mm = 0.5 * (start.blank + end.blank) * (stations[i + 1].table_mm - stations[i].table_mm);
        // Each piece begins at 0 until the lengths of all are known.
        let end_mm = blank_mm * 0.5 * (start.stretch + end.stretch);
        pieces.push(Piece { start_mm: 0.0, end_mm, k_start_per_mm: start.k_per_mm, k_end_per_mm: end.k_per_mm });
    }
    for i in middle..count {
        base_mm[i + 1] = base_mm[i] + pieces[i].end_mm;
    }
    for i in (0..middle).rev() {
        base_mm[i] = base_mm[i + 1] - pieces[i].end_mm;
    }
    for (i, piece) in pieces.iter_mut().enumerate() {
        (piece.start_mm, piece.end_mm) = (base_mm[i], base_mm[i + 1]);
    }
    Ok(Released { base: Curvature::new(pieces)?, base_mm })
}
