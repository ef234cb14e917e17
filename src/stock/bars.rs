//! Pieces that are cut off bars.

use super::cutting::{CutBar, CuttingPlan, Piece};
use crate::jig::Jig;
use crate::job::{BarStock, Job};

/// Pieces that are to be cut off bars.
#[derive(Debug, Clone, PartialEq)]
pub struct BarCuts {
    /// What they are: `spacers` or `rods`, as the document calls them.
    pub what: &'static str,
    /// The pieces.
    pub pieces: Vec<Piece>,
    /// What they are cut from.
    pub stock: BarStock,
}

impl BarCuts {
    /// What the job has bars for.
    pub(crate) fn of(job: &Job, jig: &Jig) -> Vec<Self> {
        let stock = |what| match what {
            "rods" => job.stock.rod_bars.clone(),
            _ => job.stock.spacer_bars.clone(),
        };
        let pieces = bar_pieces(jig).into_iter();
        pieces.filter_map(|(what, pieces)| Some(Self { what, pieces, stock: stock(what)? })).collect()
    }
}

/// Pieces off bars with the plan.
#[derive(Debug, Clone, PartialEq)]
pub struct Cuts {
    /// What is cut from what.
    pub of: BarCuts,
    /// The plan.
    pub plan: CuttingPlan,
}

impl Cuts {
    /// Bars that are cut alike, with how many there are of them.
    pub(crate) fn alike(&self) -> Vec<(usize, &CutBar)> {
        let mut groups: Vec<(usize, &CutBar)> = Vec::new();
        for bar in &self.plan.bars {
            match groups.iter_mut().find(|(_, b)| **b == *bar) {
                Some((times, _)) => *times += 1,
                None => groups.push((1, bar)),
            }
        }
        groups
    }
}

/// What is cut off bars, `spacers` and `rods`, as far as there is any of it.
pub(super) fn bar_pieces(jig: &Jig) -> Vec<(&'static str, Vec<Piece>)> {
    let rods =
        Piece { label: "threaded rod".to_owned(), length_mm: jig.spacers.rod_length_mm, count: jig.spacers.rod_count };
    let all = [("spacers", spacer_pieces(jig)), ("rods", vec![rods])];
    all.into_iter().filter(|(_, pieces)| pieces.iter().any(|p| p.count > 0)).collect()
}

/// Spacers by their length.
pub(super) fn spacer_pieces(jig: &Jig) -> Vec<Piece> {
    let mut pieces: Vec<Piece> = Vec::new();
    for bay in jig.spacers.bays.iter().filter(|b| b.count > 0) {
        let same = |p: &&mut Piece| (p.length_mm - bay.spacer_length_mm).abs() < 1e-6;
        match pieces.iter_mut().find(same) {
            Some(piece) => piece.count += bay.count,
            None => {
                let label = "spacer".to_owned();
                pieces.push(Piece { label, length_mm: bay.spacer_length_mm, count: bay.count });
            }
        }
    }
    pieces
}
