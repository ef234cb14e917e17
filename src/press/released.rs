//! The board as it comes off the table.

use crate::curve::{Curvature, CurvatureError, Piece, parallel_curvature, parallel_stretch};

use super::Pressed;

/// The released blank.
#[derive(Debug, Clone, PartialEq)]
pub struct Released {
    /// Curvature of the base over its own arc length, 0 in the middle of the board, 1/mm.
    pub base: Curvature,
    /// For every node of the pressed stack: its place along the released base, mm.
    pub base_mm: Vec<f64>,
}

/// Lets the bonded stack go: every layer gives back what it kept, as a whole board.
///
/// # Errors
/// [`CurvatureError`] where the released curve has a NaN, as with a stack that would fold.
pub fn release(pressed: &Pressed) -> Result<Released, CurvatureError> {
    let count = pressed.sections.len();
    let mut lengths = Vec::with_capacity(count);
    let mut curvatures = Vec::with_capacity(count);
    for i in 0..count {
        let sections = &pressed.sections[i];
        let (from, to) = (pressed.stations[i], pressed.stations[i + 1]);
        let end = |j: usize| {
            let (section, table, base) = (&sections[j], pressed.table_per_mm[i][j], pressed.base_per_mm[i][j]);
            // The base of a stack that hangs over a curved table is shorter than the table below it.
            let over = 1.0 - table * pressed.contact.gap_mm[i + j];
            let blank = over * parallel_stretch(base, section.neutral_mm);
            let free = section.free_curvature(parallel_curvature(base, section.neutral_mm));
            let stretch = parallel_stretch(free, -section.neutral_mm);
            (blank, stretch, free / stretch)
        };
        let ends = [end(0), end(1)];
        let blank_mm = 0.5 * (ends[0].0 + ends[1].0) * (to.table_mm - from.table_mm);
        lengths.push(blank_mm * 0.5 * (ends[0].1 + ends[1].1));
        curvatures.push(ends.map(|e| e.2));
    }
    let middle = pressed.stations.partition_point(|s| s.table_mm < 0.0).min(count);
    let mut base_mm = vec![pressed.stations[middle].blank_mm; count + 1];
    for i in middle..count {
        base_mm[i + 1] = base_mm[i] + lengths[i];
    }
    for i in (0..middle).rev() {
        base_mm[i] = base_mm[i + 1] - lengths[i];
    }
    let pieces = (0..count).map(|i| Piece {
        start_mm: base_mm[i],
        end_mm: base_mm[i + 1],
        k_start_per_mm: curvatures[i][0],
        k_end_per_mm: curvatures[i][1],
    });
    Ok(Released { base: Curvature::new(pieces.collect())?, base_mm })
}
