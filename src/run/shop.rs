//! What the shop's boards say of this job's stack.

use crate::calibrate::{BoardFactor, Evidence, Learnt, NINE_IN_TEN, OffTable, Prior, Sensitivities, fit_board, learn};
use crate::curve::{Curvature, Piece};
use crate::draft::{Foretold, ToldBoard};
use crate::finding::Fault;
use crate::forecast::end_heights_mm;
use crate::job::{Ends, Job, KeptBoard, Layer, LengthAlong, PressedAs, Share, Shop};
use crate::laminate::Laminate;
use crate::press::{Blank, LineForce, Load};
use crate::rocker::measured::{FitOptions, fit};

/// What is known of the factor for one stack.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Known {
    /// What prior and boards say together.
    pub(super) learnt: Learnt,
    /// The boards that were learnt from, oldest first.
    pub(super) boards: Vec<ToldBoard>,
}

/// Key of the document that names the shop's file.
const KEY: &str = "shop";

/// Boards at the end of the history that are told with what was expected of them: more would fill a page, not a mind.
const HISTORY: usize = 24;

/// The job as the shop's boards teach to take it, and what they say; the job itself where there are none.
pub(super) fn taught(job: &Job) -> Result<(Job, Option<Known>), Vec<Fault>> {
    let Some(shop) = job.shop.as_ref().filter(|s| s.counted().next().is_some()) else {
        return Ok((job.clone(), None));
    };
    let known = known(job, shop)?;
    let learnt = &known.learnt;
    let mut taught = job.clone();
    taught.forecast.springback = Share { value: learnt.factor, sd: learnt.next_deviation };
    Ok((taught, Some(known)))
}

/// What all boards of a shop say of the stack of a job.
pub(super) fn known(job: &Job, shop: &Shop) -> Result<Known, Vec<Fault>> {
    let now = Sensitivities::of(&Laminate::new(&job.layers, job.pressing.cure_above_room_k)?);
    let boards: Vec<Recomputed> = shop.counted().map(recomputed).collect::<Result<_, _>>()?;
    let of_shops = job.forecast.springback;
    let all = evidence(&boards, &now, shop.halve_after);
    let learnt = learn(&prior(of_shops, &now), &all);
    let first = boards.len().saturating_sub(HISTORY);
    let told = boards.iter().zip(&all).zip(&learnt.standing).enumerate().map(|(i, ((board, said), standing))| {
        // What the shop could have known before this board was pressed.
        let before = (i >= first).then(|| {
            let stack = &board.sensitivities;
            learn(&prior(of_shops, stack), &evidence(&boards[..i], stack, shop.halve_after))
        });
        board.told(said.deviation, *standing, of_shops.value, before.as_ref())
    });
    Ok(Known { boards: told.collect(), learnt })
}

/// What is known of a stack before a board was measured.
fn prior(of_shops: Share, stack: &Sensitivities) -> Prior {
    Prior {
        factor: of_shops.value,
        deviation: of_shops.sd.hypot(of_shops.value * stack.shared_deviation()).max(LEAST_PRIOR),
        scatter: stack.board_scatter(),
    }
}

/// What boards say of a stack: less, the less alike theirs is, and the older they are.
fn evidence(boards: &[Recomputed], stack: &Sensitivities, halve_after: Option<f64>) -> Vec<Evidence> {
    let one = |(i, board): (usize, &Recomputed)| {
        let unlike = board.sensitivities.unlikeness(stack).deviation;
        let newer = (boards.len() - 1 - i) as f64;
        Evidence {
            factor: board.found.factor,
            deviation: board.found.deviation.hypot(board.found.factor * unlike),
            weight: halve_after.map_or(1.0, |n| 0.5_f64.powf(newer / n)),
        }
    };
    boards.iter().enumerate().map(one).collect()
}

/// A kept board, computed anew.
struct Recomputed<'a> {
    kept: &'a KeptBoard,
    off: OffTable,
    found: BoardFactor,
    sensitivities: Sensitivities,
}

impl Recomputed<'_> {
    /// Heights (tail, tip) of the board of a shop with this factor.
    fn heights_mm(&self, factor: f64) -> Option<(f64, f64)> {
        self.off.released(factor).map(|r| end_heights_mm(&r.base, self.off.finished_mm(), 0.0))
    }

    /// Heights (tail, tip) as they were read: of the smoothest curve through the readings where there is one, else of the
    /// model that comes nearest to them.
    fn measured_mm(&self) -> Option<(f64, f64)> {
        let (from, to) = self.off.finished_mm();
        let options = FitOptions {
            length_mm: to - from,
            length_along: LengthAlong::Base,
            ends: Ends::Free,
            path: KEY.to_owned(),
        };
        match fit(&self.kept.readings, &options) {
            Ok(through) => Some(end_heights_mm(&through.curvature, self.off.finished_mm(), 0.0)),
            Err(_) => self.heights_mm(self.found.factor),
        }
    }

    fn told(&self, deviation: f64, counts: f64, of_layers: f64, before: Option<&Learnt>) -> ToldBoard {
        let history = before.and_then(|before| {
            let reach = NINE_IN_TEN * before.next_deviation;
            let ends = [before.factor + reach, before.factor - reach].map(|f| self.heights_mm(f.max(0.0)));
            let [lowest, highest] = ends;
            Some(Foretold {
                by_layers_mm: self.heights_mm(of_layers)?,
                foretold_mm: self.heights_mm(before.factor)?,
                lowest_mm: lowest?,
                highest_mm: highest?,
                measured_mm: self.measured_mm()?,
            })
        });
        ToldBoard {
            label: self.kept.label.clone(),
            date: self.kept.date.clone(),
            factor: self.found.factor,
            deviation,
            counts,
            history,
        }
    }
}

/// Least standard deviation of the prior: a shop that states its factor exactly still learns from boards.
const LEAST_PRIOR: f64 = 0.01;

/// A kept board with its factor, from what was kept of it.
fn recomputed(board: &KeptBoard) -> Result<Recomputed<'_>, Vec<Fault>> {
    let elsewhere = |message: String, remedy: String| {
        let message = format!("the board `{}` that the shop kept: {message}", board.label);
        vec![Fault::new("kept-board", KEY, message, remedy)]
    };
    let of_fault = |f: Fault| elsewhere(f.message, f.remedy);
    let pressed = &board.pressed;
    let laminate = Laminate::new(&pressed.layers, pressed.cure_above_room_k)
        .map_err(|mut faults| of_fault(faults.swap_remove(0)))?;
    let off = off_table(pressed, &laminate)
        .map_err(|why| elsewhere(why, "Mend its entry, or leave it out with left_out = true.".to_owned()))?;
    let found = fit_board(&off, &board.readings, KEY).map_err(of_fault)?.on_table_within(&off, table_error_mm(pressed));
    Ok(Recomputed { kept: board, off, found, sensitivities: Sensitivities::of(&laminate) })
}

/// How near the table is taken to be to what is kept of it, mm (standard deviation at the ends of the board).
pub(super) fn table_error_mm(pressed: &PressedAs) -> f64 {
    if pressed.table_heights_mm.is_empty() { BUILT_MM } else { READ_MM }
}

/// A table built to its drawing: cut ribs, a skin, and a frame that stands on a floor (our choice, no source).
const BUILT_MM: f64 = 0.5;
/// A table whose heights were read off it: a few tenths for each reading, a curve through twenty (our choice, no source).
const READ_MM: f64 = 0.2;

/// The stack on its table, as it was pressed.
pub(super) fn off_table(pressed: &PressedAs, laminate: &Laminate) -> Result<OffTable, String> {
    let table = surface(&pressed.table).ok_or("its table is no curve.")?;
    let load = Load {
        pressure_mpa: pressed.pressure_mpa,
        forces: pressed
            .forces
            .iter()
            .map(|&(blank_mm, force_n_per_mm)| LineForce { blank_mm, force_n_per_mm })
            .collect(),
        caul_stiffness_n_mm: pressed.caul_stiffness_n_mm,
        matched: pressed.matched,
    };
    let blank = Blank { tail_mm: pressed.blank_mm.0, tip_mm: pressed.blank_mm.1 };
    OffTable::new(&table, laminate, blank, &load, pressed.finished_mm)
        .map_err(|e| format!("it cannot be pressed again ({e:?})."))
}

/// Curvature through nodes, with a jump where two stand at one place.
pub(super) fn surface(nodes: &[(f64, f64)]) -> Option<Curvature> {
    let piece = |w: &[(f64, f64)]| Piece { start_mm: w[0].0, end_mm: w[1].0, k_start: w[0].1, k_end: w[1].1 };
    Curvature::new(nodes.windows(2).filter(|w| w[1].0 > w[0].0).map(piece).collect()).ok()
}

/// The nodes of a curvature, as [`surface`] reads them. Pieces too short to be told apart in the shop's file are left
/// out, and so are nodes that lie on the straight line between their neighbours.
pub(super) fn nodes(table: &Curvature) -> Vec<(f64, f64)> {
    let mut nodes: Vec<(f64, f64)> = Vec::new();
    let mut add = |node: (f64, f64)| {
        if nodes.last() == Some(&node) {
            return;
        }
        if let [.., a, b] = nodes[..] {
            let straight = a.1 + (node.1 - a.1) * (b.0 - a.0) / (node.0 - a.0);
            if a.0 < b.0 && b.0 < node.0 && (straight - b.1).abs() < STRAIGHT_PER_MM {
                nodes.pop();
            }
        }
        nodes.push(node);
    };
    for p in table.pieces().iter().filter(|p| p.length_mm() > SHORTEST_MM) {
        add((p.start_mm, p.k_start));
        add((p.end_mm, p.k_end));
    }
    nodes
}

/// Shortest piece of a table that is kept, mm.
const SHORTEST_MM: f64 = 1e-3;
/// How near a straight line counts as on it, 1/mm: over a board of 2 m this moves its end by a hundredth of a micrometre
/// for each node left out.
const STRAIGHT_PER_MM: f64 = 1e-12;

/// Layers whose moduli and relaxation are taken as they are: boards of the shop have told how far the springback is from
/// what these say, and the factor's own deviation holds what is still open.
pub(super) fn settled(layers: &[Layer]) -> Vec<Layer> {
    let settle = |l: &Layer| {
        let mut layer = l.clone();
        layer.material.modulus_mpa.cv = 0.0;
        layer.material.relaxed.sd = 0.0;
        layer.relaxed.sd = 0.0;
        layer.thickness_sd_mm = 0.0;
        layer.sag_test = None;
        layer
    };
    layers.iter().map(settle).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nodes_give_the_curvature_back_and_leave_out_what_says_nothing() {
        let piece = |start_mm: f64, end_mm: f64, k_start: f64, k_end: f64| Piece { start_mm, end_mm, k_start, k_end };
        let table = Curvature::new(vec![
            piece(-700.0, -300.0, 0.0, 2e-4),
            piece(-300.0, 100.0, 3e-4, 3e-4),
            piece(100.0, 700.0, 3e-4, 1e-4),
        ]);
        let fine = table.unwrap().refined(7.0);
        let found = nodes(&fine);
        assert_eq!(found.len(), 5, "{found:?}");
        let back = surface(&found).unwrap();
        for s in [-700.0, -512.3, -300.0, -299.9, 0.0, 333.0, 700.0] {
            assert!((back.at(s) - fine.at(s)).abs() < 1e-15, "{s}");
        }
    }
}
