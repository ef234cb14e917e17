//! Whether one factor explains a board, and whether it would if its readings were taken from the other end.

use super::{BoardFactor, OffTable, fit_board};
use crate::finding::Fault;
use crate::job::{Origin, Readings};
use crate::numeric::robust_std_dev;

/// What is left over, in standard deviations of readings and table together, beyond which no factor explains a board: of
/// twenty-odd honest readings fewer than one set in a thousand is that far off (chi-square distribution).
const MOST: f64 = 1.5;
/// A reading further from the model than this many robust deviations of all is wild: no honest one in a million is (normal
/// distribution).
const WILD: f64 = 5.0;
/// Share of the readings that may be wild: of more it is the board that is not explained (our choice, no source).
const MOST_WILD: f64 = 0.15;

impl BoardFactor {
    /// Root of the mean square of what is left over, mm, without the few readings that are wild.
    pub(crate) fn left_over_mm(&self) -> f64 {
        let wild = self.wild_rows();
        let left =
            self.rows.iter().enumerate().filter(|(i, _)| !wild.contains(i)).map(|(_, r)| r.residual_mm().powi(2));
        // Factor, height and tilt were found from them.
        (left.sum::<f64>() / (self.rows.len() as f64 - wild.len() as f64 - 3.0).max(1.0)).sqrt()
    }

    /// The most that may be left over, mm, of a board off a table that is known within `table_error_mm`.
    pub(crate) fn most_left_over_mm(&self, table_error_mm: f64) -> f64 {
        MOST * libm::hypot(self.error_mm, table_error_mm)
    }

    /// Numbers of the rows that lie far from where all others put them; none where they are many, as those are no slips.
    pub(crate) fn wild_rows(&self) -> Vec<usize> {
        let left: Vec<f64> = self.rows.iter().map(super::ReadRow::residual_mm).collect();
        let scatter_mm = if left.is_empty() { 0.0 } else { robust_std_dev(&left) };
        let limit_mm = WILD * scatter_mm.max(self.error_mm);
        let wild: Vec<usize> = (0..left.len()).filter(|i| left[*i].abs() > limit_mm).collect();
        if wild.len() as f64 > MOST_WILD * left.len() as f64 { Vec::new() } else { wild }
    }
}

/// The readings as if their stations had been counted from the other end.
pub fn mirrored(readings: &Readings) -> Readings {
    let mut other = readings.clone();
    match readings.origin {
        Origin::Tail => other.origin = Origin::Tip,
        Origin::Tip => other.origin = Origin::Tail,
        Origin::Middle => other.readings.iter_mut().for_each(|r| r.station_mm = -r.station_mm),
    }
    other
}

/// What the mirrored readings leave over, mm, where one factor explains them.
pub(crate) fn explained_mirrored(off: &OffTable, readings: &Readings, table_error_mm: f64) -> Option<f64> {
    let found: Result<BoardFactor, Fault> = fit_board(off, &mirrored(readings), "");
    let found = found.ok()?;
    let left_mm = found.left_over_mm();
    (left_mm <= found.most_left_over_mm(table_error_mm) && found.is_springback()).then_some(left_mm)
}
