//! What the stack has to be pressed to, place by place, so that it comes off as wanted.

use crate::curve::{Curvature, Piece};
use crate::finding::Fault;
use crate::laminate::{Laminate, Section};

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
        self.stiffness_n_mm() * self.turn_per_mm - self.section.wet_offset_n
    }

    /// The same place bent so that wet stack and caul carry a moment.
    pub(super) fn carrying(self, moment_n: f64) -> Self {
        Self { turn_per_mm: (moment_n + self.section.wet_offset_n) / self.stiffness_n_mm(), ..self }
    }

    /// Length along the table over length of blank.
    pub(super) fn stretch(&self) -> f64 {
        1.0 + self.turn_per_mm * self.section.neutral_mm
    }

    /// Curvature of the table, 1/mm.
    pub(super) fn table_per_mm(&self) -> f64 {
        self.turn_per_mm / self.stretch()
    }
}

/// An element of the design.
#[derive(Debug, Clone, Copy)]
pub(super) struct Span {
    /// Its ends on the flat blank, mm.
    pub(super) blank_mm: [f64; 2],
    /// The pressed stack at its ends.
    pub(super) ends: [Bent; 2],
}

impl Span {
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
) -> Result<Vec<Span>, Vec<Fault>> {
    let mut spans = Vec::new();
    let mut blank = 0.0;
    for piece in outward(target, sign) {
        let nudge = 1e-7 * piece.length_mm();
        let bent = |k: f64, blank: f64, base: f64| {
            bent_for(k, laminate, sign * blank, sign * base).map(|b| Bent { caul_n_mm, ..b })
        };
        let from = bent(piece.k_start, blank + nudge, piece.start_mm)?;
        let guess = blank + (1.0 - piece.k_start * from.section.neutral_mm) * piece.length_mm();
        let to = bent(piece.k_end, guess - nudge, piece.end_mm)?;
        let shrink = |k: f64, b: &Bent| 1.0 - k * b.section.neutral_mm;
        let next = blank + 0.5 * (shrink(piece.k_start, &from) + shrink(piece.k_end, &to)) * piece.length_mm();
        spans.push(Span { blank_mm: [blank, next], ends: [from, to] });
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
fn bent_for(k_per_mm: f64, laminate: &Laminate, blank_mm: f64, base_mm: f64) -> Result<Bent, Vec<Fault>> {
    let section = laminate.section_at(blank_mm);
    let stretch = 1.0 - k_per_mm * section.neutral_mm;
    // Beyond this the base would be bent around a point inside the stack.
    if stretch < 0.1 {
        return Err(vec![too_tight(base_mm)]);
    }
    match section.pressed_curvature(k_per_mm / stretch) {
        Some(turn_per_mm) if 1.0 + turn_per_mm * section.neutral_mm > 0.1 => {
            Ok(Bent { turn_per_mm, section, caul_n_mm: 0.0 })
        }
        Some(_) => Err(vec![too_tight(base_mm)]),
        None => Err(vec![Fault::new(
            "no-bend-stays",
            "layers",
            format!("At {base_mm:.0} mm the stack is one piece: it springs back all the way."),
            "Split it into two or more layers that are glued while they are bent.",
        )]),
    }
}

/// The fault of a curve that leaves no room for the stack.
pub(super) fn too_tight(at_mm: f64) -> Fault {
    Fault::new(
        "too-tight",
        "rocker",
        format!("At {at_mm:.0} mm the curve is tighter than the stack is thick."),
        "Ease the curve there, or thin the stack.",
    )
}
