//! A design in a few figures, for comparing many of them.

use super::Design;
use super::certainty;
use crate::finding::{Code, Verdict};
use crate::table;

/// Chosen results of a design.
#[derive(Debug, Clone, PartialEq)]
pub struct Figures {
    /// Heights of the finished ends (tail, tip) on the table, mm.
    pub on_table_mm: (f64, f64),
    /// Heights of the ends (tail, tip) of the predicted board, mm.
    pub board_mm: (f64, f64),
    /// Springback share of the stack in the middle of the board.
    pub springback_share: f64,
    /// Width of the band that holds nine of ten boards at the end that scatters more, mm, computed as
    /// [`forecast::band_mm`](crate::forecast::band_mm) says. `None` where it cannot be computed.
    pub band_mm: Option<f64>,
    /// The worst verdict of the checks that need no jig.
    pub verdict: Verdict,
    /// The first check with this verdict, unless all are ok.
    pub worst: Option<&'static Code>,
}

/// A document with other values behind some of its keys, and what comes out.
#[derive(Debug, Clone, PartialEq)]
pub struct Variation {
    /// The value of each varied key, in the order of the keys.
    pub values: Vec<f64>,
    /// The results, or the reason why there is no such table.
    pub figures: Result<Figures, String>,
}

impl Design {
    /// The figures of this design. Simulates nothing and makes no jig.
    pub(crate) fn figures(&self) -> Figures {
        let Self { job, laminate, lying, table, .. } = self;
        let mut checks = self.checks();
        checks.extend(table::checks_without_jig(table, &job.pressing, lying));
        // Of several maxima `max_by_key` takes the last.
        let worst = checks.iter().rev().max_by_key(|c| c.verdict);
        let verdict = worst.map_or(Verdict::Ok, |c| c.verdict);
        Figures {
            on_table_mm: table.table_heights_mm(),
            board_mm: table.predicted_heights_mm(),
            springback_share: laminate.section_at(0.0).springback_share(),
            band_mm: certainty::band_mm(self),
            verdict,
            worst: worst.filter(|_| verdict != Verdict::Ok).map(|c| c.code),
        }
    }
}
