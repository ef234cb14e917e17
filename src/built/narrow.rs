//! Layers that do not fill the width of the board.

use super::stack::laminates;
use crate::codes;
use crate::finding::{Finding, Verdict};
use crate::job::{Job, Layer, Spread};
use crate::laminate::Laminate;
use crate::rocker::{Outline, Target};
use crate::units::{Quantity, phrase};

/// Change of the ends' height from which it is worth a look, mm: a millimetre is what shops call the same board (common
/// practice, no source).
const WATCH_MM: f64 = 1.0;
/// Distance of the places at which widths are compared, mm.
const STEP_MM: f64 = 10.0;

/// A check for each kind of layer that is narrower than the board somewhere: how far the ends would come out otherwise if
/// nothing stood in the place that it leaves.
pub(super) fn findings(job: &Job, board: (&Target, Option<&Outline>), laminate: &Laminate) -> Vec<Finding> {
    let mut entries: Vec<usize> = job.layers.iter().filter(|l| l.width_mm.is_some()).map(|l| l.entry).collect();
    entries.dedup();
    entries.into_iter().filter_map(|entry| finding(job, board, laminate, entry)).collect()
}

fn finding(
    job: &Job,
    (target, outline): (&Target, Option<&Outline>),
    laminate: &Laminate,
    entry: usize,
) -> Option<Finding> {
    let layer = job.layers.iter().find(|l| l.entry == entry)?;
    let width_mm = layer.width_mm?;
    let (from, to) = (target.curvature.start_mm(), target.curvature.end_mm());
    let filled = |s: f64| {
        let board_mm = outline.map_or(job.board.width_mm, |o| o.width_mm(s));
        (s, (width_mm / board_mm.max(f64::MIN_POSITIVE)).min(1.0))
    };
    let count = ((to - from) / STEP_MM).ceil().max(1.0) as usize;
    let places = (0..=count).map(|i| filled(from + (to - from) * i as f64 / count as f64));
    let (at_mm, share) = places.fold((0.0, 1.0), |least, place| if place.1 < least.1 { place } else { least });
    let narrowed = |l: &Layer| {
        let mut l = l.clone();
        if l.entry == entry {
            let modulus = l.material.modulus_mpa;
            l.material.modulus_mpa = Spread { value: share * modulus.value, ..modulus };
        }
        l
    };
    let layers: Vec<Layer> = job.layers.iter().map(narrowed).collect();
    let (without, _) = laminates(job, &layers).ok()?;
    // The board keeps one less its share of the table's curve; what is kept differs in that ratio.
    let kept = |laminate: &Laminate| 1.0 - laminate.section_at(at_mm).springback_share();
    let highest_mm = target.tip_height_mm().abs().max(target.tail_height_mm().abs());
    let change_mm = (kept(&without) / kept(laminate).max(f64::MIN_POSITIVE) - 1.0).abs() * highest_mm;
    let (verdict, held) = Verdict::over(change_mm, (WATCH_MM, f64::INFINITY), Quantity::small);
    let subject =
        phrase!("{} fills {} of the width, least at {}", &layer.name, Quantity::share(share), Quantity::place(at_mm));
    Some(codes::NARROW_LAYER.check(subject, (verdict, held)))
}
