//! The table as a sequence of elements from the blank's tail end to its tip end.

use crate::curve::{Curvature, CurvatureError, Piece};
use crate::finding::Faults;
use crate::laminate::Laminate;
use crate::press::{Blank, Load};

use super::run_out::RunOut;
use super::wanted::{Bent, BentSpan, wanted_spans};

/// Part of the pressure that the run-out is designed for. What is left keeps the blank down where pressure or stiffness
/// are a little off, for 5 % more of run-out.
pub(super) const PRESSURE_USED: f64 = 0.9;
/// Elements of a run-out.
const RUN_OUT_ELEMENTS: u32 = 24;

/// What the stack is to be pressed to all along the blank.
#[derive(Debug, Clone)]
pub(super) struct Design {
    /// Elements from tail to tip; a joint lies at 0, at the finished ends and at the blank's ends.
    pub(super) spans: Vec<BentSpan>,
    /// Finished ends (tail, tip) on the flat blank, mm.
    pub(super) finished_mm: (f64, f64),
    /// The blank.
    pub(super) blank: Blank,
    /// Overhangs (tail, tip) that would lie down all along, mm.
    pub(super) overhang_needed_mm: (f64, f64),
}

impl Design {
    /// The wanted bend over the finished length, and a run-out beyond it as far as the blank reaches.
    pub(super) fn new(
        target: &Curvature,
        laminate: &Laminate,
        overhangs_mm: (f64, f64),
        load: &Load,
    ) -> Result<Self, Faults> {
        let tip = half(target, laminate, overhangs_mm.1, load, 1.0)?;
        let tail = half(target, laminate, overhangs_mm.0, load, -1.0)?;
        Ok(Self {
            spans: tail.spans.iter().rev().map(BentSpan::mirrored).chain(tip.spans).collect(),
            finished_mm: (-tail.finished_mm, tip.finished_mm),
            blank: Blank { tail_mm: -tail.finished_mm - overhangs_mm.0, tip_mm: tip.finished_mm + overhangs_mm.1 },
            overhang_needed_mm: (tail.needed_mm, tip.needed_mm),
        })
    }

    /// The table's surface with a flat margin beyond the blank, and the finished ends (tail, tip) along it, mm.
    pub(super) fn surface(&self, margin_mm: f64) -> Result<(Curvature, (f64, f64)), CurvatureError> {
        let middle = self.spans.iter().position(|s| s.blank_mm[0] >= 0.0).unwrap_or(self.spans.len());
        let lengths: Vec<f64> =
            self.spans.iter().map(|s| 0.5 * (s.ends[0].stretch() + s.ends[1].stretch()) * s.length_mm()).collect();
        let mut joints = vec![-lengths[..middle].iter().sum::<f64>()];
        for (i, length) in lengths.iter().enumerate() {
            // The middle of the board is the zero of both lengths, without rounding.
            joints.push(if i + 1 == middle { 0.0 } else { joints[i] + length });
        }
        let mut pieces = Vec::with_capacity(self.spans.len() + 2);
        let mut finished = (joints[0], joints[joints.len() - 1]);
        let (first, last) = (joints[0], joints[joints.len() - 1]);
        let flat = |start_mm: f64, end_mm: f64| Piece { start_mm, end_mm, k_start_per_mm: 0.0, k_end_per_mm: 0.0 };
        if margin_mm > 0.0 {
            pieces.push(flat(first - margin_mm, first));
        }
        for (s, w) in self.spans.iter().zip(joints.windows(2)) {
            let [k_start_per_mm, k_end_per_mm] = s.ends.map(|e| e.table_per_mm());
            pieces.push(Piece { start_mm: w[0], end_mm: w[1], k_start_per_mm, k_end_per_mm });
            if s.blank_mm[0] == self.finished_mm.0 {
                finished.0 = w[0];
            }
            if s.blank_mm[1] == self.finished_mm.1 {
                finished.1 = w[1];
            }
        }
        if margin_mm > 0.0 {
            pieces.push(flat(last, last + margin_mm));
        }
        Ok((Curvature::new(pieces)?, finished))
    }
}

struct Half {
    spans: Vec<BentSpan>,
    finished_mm: f64,
    needed_mm: f64,
}

fn half(target: &Curvature, laminate: &Laminate, overhang_mm: f64, load: &Load, sign: f64) -> Result<Half, Faults> {
    let mut spans = wanted_spans(target, laminate, load.caul_stiffness_n_mm, sign)?;
    let Some(last) = spans.last().copied() else {
        return Ok(Half { spans, finished_mm: 0.0, needed_mm: 0.0 });
    };
    let finished_mm = last.blank_mm[1];
    let moments = last.ends.map(|e| e.moment_n());
    let slope = (moments[1] - moments[0]) / last.length_mm();
    // Where there is no even pressure the run-out is only a beginning for what the clamps can do.
    let even = load.pressure_mpa.max(1e-3 * MOST_PRESSURE_MPA);
    let run = RunOut::new(moments[1], slope, PRESSURE_USED * even);
    // A matching form holds the blank's end whatever its curvature.
    let needed_mm = if load.matched { 0.0 } else { run.length_mm };
    let moment = |x: f64| if load.matched { moments[1] } else { run.moment_n(x) };
    let mut places = vec![0.0];
    let bent_mm = if load.matched { overhang_mm } else { needed_mm.min(overhang_mm) };
    places.extend((1..=RUN_OUT_ELEMENTS).map(|i| bent_mm * f64::from(i) / f64::from(RUN_OUT_ELEMENTS)));
    places.push(overhang_mm);
    places.dedup_by(|b, a| *b - *a < 1e-6);
    for w in places.windows(2) {
        let inside = 1e-7 * (w[1] - w[0]);
        let bent = |x: f64, inside: f64| {
            let section = laminate.section_at(sign * (finished_mm + x + inside));
            Bent { turn_per_mm: 0.0, section, caul_n_mm: load.caul_stiffness_n_mm }.carrying(moment(x))
        };
        spans.push(BentSpan {
            blank_mm: [finished_mm + w[0], finished_mm + w[1]],
            ends: [bent(w[0], inside), bent(w[1], -inside)],
        });
    }
    Ok(Half { spans, finished_mm, needed_mm })
}

/// One atmosphere, roughly: a scale for pressures, MPa.
const MOST_PRESSURE_MPA: f64 = 0.1;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::{Layer, Material, MaterialKind, Thickness};

    /// Two layers that taper toward tip and tail, under one of 2 mm that ends at these places.
    fn stack(extent_mm: (f64, f64)) -> Laminate {
        let wood = Material::of_modulus("given", MaterialKind::WoodAlong, 10_000.0);
        let mut layers = vec![Layer::flat("layer", wood, 2.0); 3];
        layers[1].thickness = Thickness::Tapered(vec![(-600.0, 1.0), (0.0, 7.0), (600.0, 4.0)]);
        layers[2].extent_mm = Some(extent_mm);
        Laminate::new(&layers, 0.0).unwrap()
    }

    #[test]
    fn the_run_out_is_bent_as_the_stack_that_lies_there_asks() {
        // On a flat board lengths on base and blank are alike. The form's run-out has elements of 2 mm, and the upper
        // layer ends between two of them, or just where the run-out begins.
        let flat = Curvature::constant(-400.0, 400.0, 0.0).unwrap();
        let load = Load { matched: true, ..Load::even(0.08) };
        for (tail_mm, tip_mm) in [(-410.0, 420.0), (-400.0, 402.0), (-446.0, 400.0)] {
            let design = Design::new(&flat, &stack((tail_mm, tip_mm)), (48.0, 48.0), &load).unwrap();
            assert_eq!(
                (design.finished_mm, design.blank.tail_mm, design.blank.tip_mm),
                ((-400.0, 400.0), -448.0, 448.0)
            );
            let run_outs = design.spans.iter().filter(|s| s.blank_mm[0] < -400.0 || s.blank_mm[1] > 400.0);
            assert_eq!(run_outs.clone().count(), 48);
            for span in run_outs {
                let upper = if span.blank_mm[0] >= tail_mm && span.blank_mm[1] <= tip_mm { 2.0 } else { 0.0 };
                for (blank, end) in span.blank_mm.iter().zip(span.ends) {
                    let taper = 7.0 - if *blank > 0.0 { 3.0 } else { 6.0 } * blank.abs() / 600.0;
                    let thick = 2.0 + taper + upper;
                    assert!((end.section.thickness_mm - thick).abs() < 1e-6, "{blank}: {:?} {thick}", end.section);
                }
            }
        }
    }

    #[test]
    fn the_run_out_takes_up_moment_and_slope_of_the_board_s_end() {
        // On an even stack a curvature that runs straight makes a moment that does, but for thickness over radius.
        let wood = Material::of_modulus("given", MaterialKind::WoodAlong, 10_000.0);
        let laminate = Laminate::new(&vec![Layer::flat("layer", wood, 4.0); 2], 0.0).unwrap();
        // Two plies of 4 mm: 2 E t^3/12 wet, of which a quarter is given back.
        let (wet, p) = (2.0 * 10_000.0 * 64.0 / 12.0, 0.9 * 0.02);
        let moment = |k: f64| wet * k / 0.75;
        for (tail, tip) in [(2e-4, 6e-4), (6e-4, 2e-4)] {
            let target = Curvature::through(&[(-400.0, tail), (400.0, tip)]).unwrap();
            let design = Design::new(&target, &laminate, (200.0, 200.0), &Load::even(0.02)).unwrap();
            // The parabola that falls from moment and slope to nothing without pulling: M + m x - p x^2/2 = 0.
            let length = |end: f64, other: f64| {
                let slope = (moment(end) - moment(other)) / 800.0;
                (slope + (slope * slope + 2.0 * p * moment(end)).sqrt()) / p
            };
            let (found, expected) = (design.overhang_needed_mm, (length(tail, tip), length(tip, tail)));
            assert!((found.0 / expected.0 - 1.0).abs() < 5e-3, "{found:?} {expected:?}");
            assert!((found.1 / expected.1 - 1.0).abs() < 5e-3, "{found:?} {expected:?}");
        }
    }
}
