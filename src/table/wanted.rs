//! What the stack has to be pressed to, place by place, so that it comes off as wanted.

use crate::codes;
use crate::curve::{Curvature, Piece, parallel_stretch};
use crate::finding::{Fault, Faults};
use crate::laminate::{Laminate, Section};
use crate::units::{Quantity, phrase};

/// Longest element of the design, mm: the table's curvature runs linearly within it.
const STEP_MM: f64 = 5.0;

/// A place of the pressed stack.
#[derive(Debug, Clone, Copy)]
pub(super) struct Bent {
    /// Curvature per length of blank when pressed, 1/mm.
    pub(super) turn_per_mm: f64,
    /// The stack there.
    pub(super) section: Section,
    /// Stiffness of the caul that bends with it, N mm.
    pub(super) caul_n_mm: f64,
}

impl Bent {
    /// Stiffness of wet stack and caul, N mm.
    pub(super) fn stiffness_n_mm(&self) -> f64 {
        self.section.wet_stiffness_n_mm + self.caul_n_mm
    }

    /// Moment of wet stack and caul per mm of width, N.
    pub(super) fn moment_n(&self) -> f64 {
        self.stiffness_n_mm() * self.turn_per_mm - self.section.natural_moment_n
    }

    /// The same place bent so that wet stack and caul carry a moment.
    pub(super) fn carrying(self, moment_n: f64) -> Self {
        Self { turn_per_mm: (moment_n + self.section.natural_moment_n) / self.stiffness_n_mm(), ..self }
    }

    /// Length along the table over length of blank.
    pub(super) fn stretch(&self) -> f64 {
        parallel_stretch(self.turn_per_mm, -self.section.neutral_mm)
    }

    /// Curvature of the table, 1/mm.
    pub(super) fn table_per_mm(&self) -> f64 {
        self.turn_per_mm / self.stretch()
    }
}

/// An element of the design.
#[derive(Debug, Clone, Copy)]
pub(super) struct BentSpan {
    /// Its ends on the flat blank, mm.
    pub(super) blank_mm: [f64; 2],
    /// The pressed stack at its ends.
    pub(super) ends: [Bent; 2],
}

impl BentSpan {
    /// The same element seen from the other end of the board.
    pub(super) fn mirrored(&self) -> Self {
        Self { blank_mm: [-self.blank_mm[1], -self.blank_mm[0]], ends: [self.ends[1], self.ends[0]] }
    }

    /// Length on the blank, mm.
    pub(super) fn length_mm(&self) -> f64 {
        self.blank_mm[1] - self.blank_mm[0]
    }
}

/// From the middle of the board to its finished end: elements with lengths counted outward, toward the tip for `sign`
/// 1 and toward the tail for -1.
pub(super) fn wanted_spans(
    target: &Curvature,
    laminate: &Laminate,
    caul_n_mm: f64,
    sign: f64,
) -> Result<Vec<BentSpan>, Faults> {
    let mut spans = Vec::new();
    let mut blank = 0.0;
    for piece in outward(target, sign) {
        let nudge = 1e-7 * piece.length_mm();
        let bent = |k: f64, blank: f64, base: f64| {
            bent_for(k, laminate, sign * blank, sign * base).map(|b| Bent { caul_n_mm, ..b })
        };
        let from = bent(piece.k_start_per_mm, blank + nudge, piece.start_mm)?;
        let guess = blank + parallel_stretch(piece.k_start_per_mm, from.section.neutral_mm) * piece.length_mm();
        let to = bent(piece.k_end_per_mm, guess - nudge, piece.end_mm)?;
        let shrink = |k: f64, b: &Bent| parallel_stretch(k, b.section.neutral_mm);
        let next =
            blank + 0.5 * (shrink(piece.k_start_per_mm, &from) + shrink(piece.k_end_per_mm, &to)) * piece.length_mm();
        spans.push(BentSpan { blank_mm: [blank, next], ends: [from, to] });
        blank = next;
    }
    Ok(spans)
}

/// The target's pieces from the middle outward, cut short, with lengths counted outward.
fn outward(target: &Curvature, sign: f64) -> Vec<Piece> {
    let turned = if sign > 0.0 { target.clone() } else { target.reversed() };
    match turned.between(0.0, turned.end_mm()) {
        Ok(half) => half.refined(STEP_MM).pieces().to_vec(),
        Err(_) => Vec::new(),
    }
}

/// How a section has to be bent so that its base has curvature `k_per_mm` after release.
fn bent_for(k_per_mm: f64, laminate: &Laminate, blank_mm: f64, base_mm: f64) -> Result<Bent, Faults> {
    let section = laminate.section_at(blank_mm);
    let stretch = parallel_stretch(k_per_mm, section.neutral_mm);
    // Beyond this the base would be bent around a point inside the stack.
    if stretch < 0.1 {
        return Err(too_tight(base_mm).into());
    }
    match section.pressed_curvature(k_per_mm / stretch) {
        Some(turn_per_mm) if parallel_stretch(turn_per_mm, -section.neutral_mm) > 0.1 => {
            Ok(Bent { turn_per_mm, section, caul_n_mm: 0.0 })
        }
        Some(_) => Err(too_tight(base_mm).into()),
        None => Err(codes::NO_BEND_STAYS
            .at(
                "layers",
                phrase!("At {} the stack is one piece: it springs back all the way.", Quantity::place(base_mm)),
            )
            .into()),
    }
}

/// The fault of a curve that leaves no room for the stack.
pub(super) fn too_tight(at_mm: f64) -> Fault {
    Fault::new(
        codes::TOO_TIGHT,
        "rocker",
        phrase!("At {} the curve is tighter than the stack is thick.", Quantity::place(at_mm)),
        "Ease the curve there, or thin the stack.",
    )
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use crate::job::{Layer, Material, MaterialKind, Thickness};

    /// A made-up section of two sliding layers: what it carries wet (stiffness and offset), and which part of that
    /// bend it gives back.
    pub(in crate::table) fn section(wet_stiffness_n_mm: f64, natural_moment_n: f64, springback: f64) -> Section {
        Section {
            thickness_mm: 8.0,
            neutral_mm: 4.0,
            wet_stiffness_n_mm,
            natural_moment_n,
            bonded_stiffness_n_mm: 4.0 * wet_stiffness_n_mm,
            kept_stiffness_n_mm: springback * 4.0 * wet_stiffness_n_mm,
            kept_offset_n: 0.0,
            squeezed_stiffness_n_mm: 0.0,
            thermal_curvature_per_mm: 0.0,
            closed_in: 1.0,
            kept_lever: 1.0,
        }
    }

    fn layer(thickness: Thickness) -> Layer {
        let wood = Material::of_modulus("given", MaterialKind::WoodAlong, 10_000.0);
        Layer { thickness, ..Layer::flat("layer", wood, 1.0) }
    }

    /// Two layers of 4 mm, the upper one between two places only.
    fn stopping_short(extent_mm: (f64, f64)) -> Laminate {
        let upper = Layer { extent_mm: Some(extent_mm), ..layer(Thickness::Constant(4.0)) };
        Laminate::new(&[layer(Thickness::Constant(2.0)), layer(Thickness::Constant(2.0)), upper], 0.0).unwrap()
    }

    #[test]
    fn stack_and_caul_bend_together_against_what_the_layers_bring_along() {
        let bent = Bent { turn_per_mm: 1e-3, section: section(300.0, 0.25, 0.2), caul_n_mm: 100.0 };
        assert_eq!(bent.stiffness_n_mm(), 400.0);
        // 400 N mm times 1/1000 per mm is 0.4 N, of which the layers do 0.25 N by themselves.
        assert!((bent.moment_n() - 0.15).abs() < 1e-15);
        // To carry nothing they lie as they would by themselves.
        assert!((bent.carrying(0.0).turn_per_mm - 0.25 / 400.0).abs() < 1e-18);
        assert!((bent.carrying(0.75).turn_per_mm - 1.0 / 400.0).abs() < 1e-18);
    }

    #[test]
    fn elements_that_meet_where_a_layer_ends_have_it_on_one_side_only() {
        // On a flat board lengths on base and blank are alike, and elements are 5 mm long.
        let flat = Curvature::constant(-400.0, 400.0, 0.0).unwrap();
        let laminate = stopping_short((-150.0, 250.0));
        for (sign, end_mm) in [(1.0, 250.0), (-1.0, 150.0)] {
            let spans = wanted_spans(&flat, &laminate, 0.0, sign).unwrap();
            assert!((spans.len(), spans[0].blank_mm[0], spans[79].blank_mm[1]) == (80, 0.0, 400.0));
            for span in spans {
                let thick = if span.blank_mm[1] <= end_mm { 8.0 } else { 4.0 };
                assert_eq!(span.ends.map(|e| e.section.thickness_mm), [thick; 2], "{sign} {:?}", span.blank_mm);
            }
        }
    }

    #[test]
    fn sections_of_a_taper_are_those_of_the_place_on_the_blank() {
        let target = Curvature::constant(-400.0, 400.0, 1.0 / 500.0).unwrap();
        let taper = layer(Thickness::Tapered(vec![(-500.0, 1.0), (0.0, 6.0), (500.0, 4.0)]));
        let laminate = Laminate::new(&[layer(Thickness::Constant(2.0)), taper], 0.0).unwrap();
        for (sign, per_mm) in [(1.0, 2.0 / 500.0), (-1.0, 5.0 / 500.0)] {
            let spans = wanted_spans(&target, &laminate, 0.0, sign).unwrap();
            for span in &spans {
                for (blank, end) in span.blank_mm.iter().zip(span.ends) {
                    let thick = 8.0 - per_mm * blank;
                    assert!((end.section.thickness_mm - thick).abs() < 1e-5, "{sign} {blank}: {:?}", end.section);
                }
            }
            // The neutral line of a rocker is shorter than its base, by its height above the base times the angle turned.
            let heights: f64 = spans.iter().map(|s| s.ends[0].section.neutral_mm + s.ends[1].section.neutral_mm).sum();
            let mean_mm = 0.5 * heights / spans.len() as f64;
            assert!((400.0 - spans[spans.len() - 1].blank_mm[1] - mean_mm * 400.0 / 500.0).abs() < 1e-9);
        }
    }

    #[test]
    fn a_base_tighter_than_nine_tenths_of_the_neutral_line_s_height_is_refused_at_its_place() {
        let laminate = stopping_short((-1000.0, 1000.0));
        assert_eq!(laminate.section_at(0.0).neutral_mm, 4.0);
        for (share, stays) in [(0.85, true), (0.95, false), (1.1, false)] {
            assert_eq!(bent_for(share / 4.0, &laminate, 0.0, 0.0).is_ok(), stays, "{share}");
        }
        let piece = |start_mm, end_mm, k| Piece { start_mm, end_mm, k_start_per_mm: k, k_end_per_mm: k };
        let target = |tail: f64, tip: f64| {
            Curvature::new(vec![piece(-400.0, -300.0, tail), piece(-300.0, 200.0, 0.0), piece(200.0, 400.0, tip)])
        };
        for (tail, tip, sign, place) in [(0.24, 0.0, -1.0, "At -300 mm"), (0.0, 0.24, 1.0, "At 200 mm")] {
            let target = target(tail, tip).unwrap();
            assert!(wanted_spans(&target, &laminate, 0.0, -sign).is_ok());
            let faults = wanted_spans(&target, &laminate, 0.0, sign).unwrap_err();
            assert!(faults[0].code.name == "too-tight" && faults[0].message().starts_with(place), "{faults:?}");
        }
    }
}
