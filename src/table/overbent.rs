//! From the wanted base curve to the table.

use crate::curve::{Curvature, Curve, Piece, PlaneCurve, resting_pose};
use crate::finding::Fault;
use crate::job::Lies;
use crate::laminate::{Laminate, Section};
use crate::press::{Blank, Load, PressError, Pressed, Released, press, release};

use super::run_out::RunOut;
use super::{OtherFace, upside_down};

/// Longest element of the design, mm: the table's curvature runs linearly within it.
const STEP_MM: f64 = 5.0;
/// Part of the pressure that the run-out is designed for. What is left keeps the blank down where pressure or stiffness
/// are a little off, for 5 % more of run-out.
const PRESSURE_USED: f64 = 0.9;
/// Pieces of a run-out.
const RUN_OUT_PIECES: u32 = 24;

/// What surrounds the finished board while it is pressed.
#[derive(Debug, Clone, PartialEq)]
pub struct Setup {
    /// Blank beyond the finished tail, mm.
    pub overhang_tail_mm: f64,
    /// Blank beyond the finished tip, mm.
    pub overhang_tip_mm: f64,
    /// Table beyond the blank at each end, mm.
    pub end_margin_mm: f64,
    /// What pushes the stack down.
    pub load: Load,
}

/// A table and what comes off it.
#[derive(Debug, Clone, PartialEq)]
pub struct OverbentTable {
    /// Curvature of the table's surface over its arc length, 0 in the middle of the board, 1/mm.
    pub surface: Curvature,
    /// Place along the table's surface that carries the board's anchor, mm.
    pub crown_mm: f64,
    /// The surface as the board on it would rest on the floor: lowest place at height 0.
    pub resting: Curve,
    /// Finished ends (tail, tip) along the table's surface, mm.
    pub finished_table_mm: (f64, f64),
    /// Finished ends (tail, tip) along the base of the finished board, mm.
    pub finished_base_mm: (f64, f64),
    /// The blank on the flat.
    pub blank: Blank,
    /// Blank beyond the finished ends (tail, tip) that would lie down all along the board, mm.
    pub overhang_needed_mm: (f64, f64),
    /// The pressed stack.
    pub pressed: Pressed,
    /// The released blank.
    pub released: Released,
    /// The wanted curve as it rests.
    pub wanted: Curve,
    /// The released curve over the finished length as it rests.
    pub predicted: Curve,
    /// Largest distance between these two at the same place along the base, mm.
    pub error_mm: f64,
    /// Where on the base it is, mm.
    pub error_at_mm: f64,
    /// The wanted deck opposite the wanted base, where the board lies on its deck: the pressed and the released shape
    /// are then those of the deck, seen upside down.
    pub deck: Option<OtherFace>,
}

impl OverbentTable {
    /// Place along the table's surface of a place along the finished base, mm.
    pub fn table_at_base(&self, base_mm: f64) -> f64 {
        let table: Vec<f64> = self.pressed.stations.iter().map(|s| s.table_mm).collect();
        let lying_mm = self.deck.as_ref().map_or(base_mm, |d| d.opposite(base_mm));
        between(&self.released.base_mm, &table, lying_mm)
    }

    /// Places along the table's surface, mm, and the bending moment of the pressed stack there, N mm per mm of width.
    pub fn moments_n(&self) -> Vec<(f64, f64)> {
        let ends = self.pressed.sections.iter().zip(&self.pressed.base_per_mm);
        ends.enumerate()
            .flat_map(|(i, (sections, base))| {
                [0, 1].map(|j| {
                    let turn = base[j] / (1.0 - base[j] * sections[j].neutral_mm);
                    let moment = sections[j].wet_stiffness_n_mm * turn - sections[j].wet_offset_n;
                    (self.pressed.stations[i + j].table_mm, moment)
                })
            })
            .collect()
    }

    /// Heights of the finished ends (tail, tip) on the table's surface, mm: over its lowest place or, where the board
    /// lies on its deck, over the place that carries the board's anchor; on a hump they are negative.
    pub fn table_heights_mm(&self) -> (f64, f64) {
        let height = |s: f64| self.resting.at(s).point.y;
        let datum = if self.deck.is_some() { height(self.crown_mm) } else { 0.0 };
        (height(self.finished_table_mm.0) - datum, height(self.finished_table_mm.1) - datum)
    }

    /// Heights of the ends (tail, tip) of the predicted board over its lowest place, mm.
    pub fn predicted_heights_mm(&self) -> (f64, f64) {
        let (tail, tip) = self.predicted.range_mm();
        (self.predicted.at(tail).point.y, self.predicted.at(tip).point.y)
    }

    /// Place along the finished base of a place along the table's surface, mm.
    pub fn base_at_table(&self, table_mm: f64) -> f64 {
        let table: Vec<f64> = self.pressed.stations.iter().map(|s| s.table_mm).collect();
        between(&table, &self.released.base_mm, table_mm)
    }
}

/// Linear interpolation in increasing `x`; beyond the ends it runs on with slope 1, as lengths do.
pub(super) fn between(x: &[f64], y: &[f64], at: f64) -> f64 {
    let last = x.len() - 1;
    if at <= x[0] {
        return y[0] + at - x[0];
    }
    if at >= x[last] {
        return y[last] + at - x[last];
    }
    let i = x.partition_point(|v| *v <= at) - 1;
    y[i] + (y[i + 1] - y[i]) * (at - x[i]) / (x[i + 1] - x[i])
}

/// The table on which a board of base curvature `target` is pressed, as it comes out of the model, and the check of it
/// through pressing and release.
///
/// `target` runs over the finished base, 0 in its middle; `anchor_mm` is where the board rests on the floor.
///
/// # Errors
/// [`Fault`]s: a stack that keeps no bend, a curve too tight for the stack, a blank without pressure.
pub fn overbend(
    target: &Curvature,
    anchor_mm: f64,
    laminate: &Laminate,
    setup: &Setup,
) -> Result<OverbentTable, Vec<Fault>> {
    check(setup)?;
    let tip = Half::design(target, laminate, setup, setup.overhang_tip_mm, 1.0)?;
    let tail = Half::design(target, laminate, setup, setup.overhang_tail_mm, -1.0)?;
    let pieces = tail.pieces().chain(tip.pieces()).collect();
    let surface = Curvature::new(pieces).map_err(|_| vec![too_tight(0.0)])?;
    let blank = Blank { tail_mm: -tail.blank_end_mm, tip_mm: tip.blank_end_mm };
    let pressed = press(&surface, laminate, blank, &setup.load).map_err(|e| vec![press_fault(e)])?;
    let released = release(&pressed).map_err(|_| vec![too_tight(0.0)])?;
    let finished_base_mm = (target.start_mm(), target.end_mm());
    let finished =
        released.base.between(finished_base_mm.0, finished_base_mm.1).map_err(|_| vec![too_tight(anchor_mm)])?;
    let wanted = resting_pose(&Curve::new(target.clone()), anchor_mm);
    let table: Vec<f64> = pressed.stations.iter().map(|s| s.table_mm).collect();
    let crown_mm = between(&released.base_mm, &table, anchor_mm);
    let resting = resting_pose(&Curve::new(surface.clone()), crown_mm);
    let predicted = resting_pose(&Curve::new(finished), anchor_mm);
    let (error_mm, error_at_mm) = largest_distance(&wanted, &predicted);
    Ok(OverbentTable {
        surface,
        crown_mm,
        resting,
        finished_table_mm: (-tail.finished_table_mm, tip.finished_table_mm),
        finished_base_mm,
        blank,
        overhang_needed_mm: (tail.overhang_needed_mm, tip.overhang_needed_mm),
        pressed,
        released,
        wanted,
        predicted,
        error_mm,
        error_at_mm,
        deck: None,
    })
}

/// As [`overbend`], for a board that lies on either face. `lying` is the stack from the face that touches the table on;
/// for a board that lies on its base that is `laminate` itself.
///
/// # Errors
/// As [`overbend`], and a board thicker than its deck's radius.
pub fn overbend_lying(
    target: &Curvature,
    anchor_mm: f64,
    laminate: &Laminate,
    lying: &Laminate,
    setup: &Setup,
    lies: Lies,
) -> Result<OverbentTable, Vec<Fault>> {
    if lies == Lies::BaseDown {
        return overbend(target, anchor_mm, lying, setup);
    }
    let tight = |_| vec![too_tight(anchor_mm)];
    let deck = OtherFace::new(target, |s| laminate.section_at(s).thickness_mm, 1.0).map_err(tight)?;
    let face = upside_down(&deck.curvature).map_err(tight)?;
    let table = overbend(&face, deck.opposite(anchor_mm), lying, setup)?;
    table.of_deck(target, anchor_mm, laminate, deck).map_err(tight)
}

/// Largest distance between two curves at the same place along them, and that place, mm.
pub(super) fn largest_distance(wanted: &Curve, predicted: &Curve) -> (f64, f64) {
    let places = wanted.samples(STEP_MM);
    let apart = places.iter().map(|w| (w.point.distance(predicted.at(w.s_mm).point), w.s_mm));
    apart.fold((0.0, 0.0), |most, here| if here.0 > most.0 { here } else { most })
}

fn check(setup: &Setup) -> Result<(), Vec<Fault>> {
    let mut faults = Vec::new();
    let lengths = [
        (setup.overhang_tail_mm, "board.overhang_tail"),
        (setup.overhang_tip_mm, "board.overhang_tip"),
        (setup.end_margin_mm, "table.end_margin"),
    ];
    for (value, path) in lengths {
        if !(value.is_finite() && value >= 0.0) {
            faults.push(Fault::new("length", path, format!("{value} mm is no length."), "Give zero or more."));
        }
    }
    let p = setup.load.pressure_mpa;
    if !(p.is_finite() && p > 0.0) {
        let message = format!("A pressure of {p} MPa does not press the stack down.");
        faults.push(Fault::new("pressure", "pressing.pressure", message, "Give a pressure above zero."));
    }
    if faults.is_empty() { Ok(()) } else { Err(faults) }
}

fn too_tight(at_mm: f64) -> Fault {
    Fault::new(
        "too-tight",
        "rocker",
        format!("At {at_mm:.0} mm the curve is tighter than the stack is thick."),
        "Ease the curve there, or thin the stack.",
    )
}

fn press_fault(error: PressError) -> Fault {
    match error {
        PressError::TooTight(at) => too_tight(at),
        PressError::Blank(at) => Fault::new(
            "blank-off-table",
            "board.overhang_tip",
            format!("The blank's end at {at:.0} mm does not lie on the table."),
            "Shorten the overhang or lengthen the table.",
        ),
        PressError::Contact(reason) => Fault::new(
            "contact",
            "pressing",
            format!("How the stack lies on the table could not be computed ({reason:?})."),
            "Check stack and pressure for values far outside of what boards have.",
        ),
    }
}

/// One end of the bend at a place of the design.
#[derive(Debug, Clone, Copy)]
struct Bent {
    /// Curvature per length of blank when pressed, 1/mm.
    turn_per_mm: f64,
    section: Section,
}

impl Bent {
    fn moment_n(&self) -> f64 {
        self.section.wet_stiffness_n_mm * self.turn_per_mm - self.section.wet_offset_n
    }

    /// Of moment `moment_n`.
    fn of_moment(moment_n: f64, section: Section) -> Self {
        Self { turn_per_mm: (moment_n + section.wet_offset_n) / section.wet_stiffness_n_mm, section }
    }

    fn stretch(&self) -> f64 {
        1.0 + self.turn_per_mm * self.section.neutral_mm
    }
}

/// An element of the design; lengths are counted outward from the middle of the board.
#[derive(Debug, Clone, Copy)]
struct Span {
    blank_mm: [f64; 2],
    ends: [Bent; 2],
}

/// The design from the middle of the board outward.
struct Half {
    sign: f64,
    spans: Vec<Span>,
    table_mm: Vec<f64>,
    finished_table_mm: f64,
    blank_end_mm: f64,
    overhang_needed_mm: f64,
    margin_mm: f64,
}

impl Half {
    fn design(
        target: &Curvature,
        laminate: &Laminate,
        setup: &Setup,
        overhang_mm: f64,
        sign: f64,
    ) -> Result<Self, Vec<Fault>> {
        let (mut spans, finished_blank_mm) = wanted_spans(target, laminate, sign)?;
        let blank_end_mm = finished_blank_mm + overhang_mm;
        let pressure = PRESSURE_USED * setup.load.pressure_mpa;
        let needed = |spans: &[Span]| spans.last().map_or(0.0, |s| run_out(s, pressure).length_mm);
        let overhang_needed_mm = needed(&spans);
        // A short blank runs out inside the finished length: drop elements until what is left of the blank will do.
        let mut cut = finished_blank_mm;
        while spans.len() > 1 && cut + needed(&spans) > blank_end_mm {
            cut = spans[spans.len() - 1].blank_mm[0];
            spans.pop();
        }
        if let Some(last) = spans.last().copied() {
            let run = run_out(&last, pressure);
            let bent = |x: f64, inside: f64| {
                let section = laminate.section_at(sign * (cut + x + inside));
                Bent::of_moment(run.moment_n(x), section)
            };
            let steps = if run.length_mm > 0.0 { RUN_OUT_PIECES } else { 0 };
            let place = |i: u32| run.length_mm * f64::from(i) / f64::from(RUN_OUT_PIECES);
            for i in 0..steps {
                let (from, to) = (place(i), place(i + 1));
                let nudge = 1e-7 * (to - from);
                spans.push(Span { blank_mm: [cut + from, cut + to], ends: [bent(from, nudge), bent(to, -nudge)] });
            }
        }
        let mut table_mm = vec![0.0];
        let mut finished_table_mm = 0.0;
        for s in &spans {
            let from = table_mm[table_mm.len() - 1];
            let length = s.blank_mm[1] - s.blank_mm[0];
            let to = from + 0.5 * (s.ends[0].stretch() + s.ends[1].stretch()) * length;
            if s.blank_mm[0] <= finished_blank_mm {
                let part = ((finished_blank_mm - s.blank_mm[0]) / length).min(1.0);
                finished_table_mm = from + part * (to - from);
            }
            table_mm.push(to);
        }
        Ok(Self {
            sign,
            spans,
            table_mm,
            finished_table_mm,
            blank_end_mm,
            overhang_needed_mm,
            margin_mm: setup.end_margin_mm,
        })
    }

    /// Pieces of the table's surface from tail to tip.
    fn pieces(&self) -> impl Iterator<Item = Piece> {
        let mut pieces = Vec::with_capacity(self.spans.len() + 1);
        for (s, t) in self.spans.iter().zip(self.table_mm.windows(2)) {
            let k = s.ends.map(|e| e.turn_per_mm / e.stretch());
            pieces.push(Piece { start_mm: t[0], end_mm: t[1], k_start: k[0], k_end: k[1] });
        }
        let (Some(bent), Some(span)) = (self.table_mm.last(), self.spans.last()) else { return pieces.into_iter() };
        let beyond = (self.blank_end_mm - span.blank_mm[1]).max(0.0) + self.margin_mm;
        if beyond > 0.0 {
            pieces.push(Piece { start_mm: *bent, end_mm: bent + beyond, k_start: 0.0, k_end: 0.0 });
        }
        if self.sign < 0.0 {
            for p in &mut pieces {
                *p = Piece { start_mm: -p.end_mm, end_mm: -p.start_mm, k_start: p.k_end, k_end: p.k_start };
            }
            pieces.reverse();
        }
        pieces.into_iter()
    }
}

/// The run-out beyond the outer end of an element.
fn run_out(last: &Span, pressure_mpa: f64) -> RunOut {
    let moments = last.ends.map(|e| e.moment_n());
    let slope = (moments[1] - moments[0]) / (last.blank_mm[1] - last.blank_mm[0]);
    RunOut::new(moments[1], slope, pressure_mpa)
}

/// What the stack must be pressed to from the middle of the board outward, and the finished end on the blank, mm.
fn wanted_spans(target: &Curvature, laminate: &Laminate, sign: f64) -> Result<(Vec<Span>, f64), Vec<Fault>> {
    let mut spans = Vec::new();
    let mut blank = 0.0;
    for piece in outward(target, sign) {
        let nudge = 1e-7 * piece.length_mm();
        let from = bent_for(piece.k_start, laminate, sign * (blank + nudge), sign * piece.start_mm)?;
        let guess = blank + (1.0 - piece.k_start * from.section.neutral_mm) * piece.length_mm();
        let to = bent_for(piece.k_end, laminate, sign * (guess - nudge), sign * piece.end_mm)?;
        let shrink = |k: f64, b: &Bent| 1.0 - k * b.section.neutral_mm;
        let next = blank + 0.5 * (shrink(piece.k_start, &from) + shrink(piece.k_end, &to)) * piece.length_mm();
        spans.push(Span { blank_mm: [blank, next], ends: [from, to] });
        blank = next;
    }
    Ok((spans, blank))
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
        Some(turn_per_mm) if 1.0 + turn_per_mm * section.neutral_mm > 0.1 => Ok(Bent { turn_per_mm, section }),
        Some(_) => Err(vec![too_tight(base_mm)]),
        None => Err(vec![Fault::new(
            "no-bend-stays",
            "layers",
            format!("At {base_mm:.0} mm the stack is one piece: it springs back all the way."),
            "Split it into two or more layers that are glued while they are bent.",
        )]),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::{Layer, Material, MaterialKind, Thickness};

    fn layer(thickness_mm: f64, modulus_mpa: f64) -> Layer {
        Layer::flat("layer", Material::of_modulus("given", MaterialKind::WoodAlong, modulus_mpa), thickness_mm)
    }

    /// Two glass skins on a core of two plies.
    fn stack() -> Vec<Layer> {
        vec![layer(0.8, 18_600.0), layer(4.0, 10_890.0), layer(4.0, 10_890.0), layer(0.8, 18_600.0)]
    }

    fn setup(overhang_mm: f64) -> Setup {
        Setup {
            overhang_tail_mm: overhang_mm,
            overhang_tip_mm: overhang_mm,
            end_margin_mm: 30.0,
            load: Load::even(0.08),
        }
    }

    fn table(target: &Curvature, layers: &[Layer], setup: &Setup) -> OverbentTable {
        overbend(target, 0.0, &Laminate::new(layers, 0.0).unwrap(), setup).unwrap()
    }

    #[test]
    fn an_arc_is_pressed_and_released_to_the_wanted_arc() {
        let target = Curvature::constant(-700.0, 700.0, 1.0 / 5000.0).unwrap();
        let t = table(&target, &stack(), &setup(150.0));
        assert!(t.error_mm < 0.001, "{} at {}", t.error_mm, t.error_at_mm);
    }

    #[test]
    fn kicked_ends_and_a_tapered_core_come_out_as_wanted() {
        let target = Curvature::through(&[
            (-600.0, 1.0 / 600.0),
            (-520.0, 1.0 / 600.0),
            (-400.0, 0.0),
            (300.0, -0.0001),
            (420.0, 0.001),
            (600.0, 0.0025),
        ])
        .unwrap();
        let mut layers = stack();
        layers[1].thickness = Thickness::Tapered(vec![(-500.0, 1.5), (0.0, 5.0), (450.0, 1.8)]);
        let t = table(&target, &layers, &setup(150.0));
        assert!(t.error_mm < 0.01, "{} at {}", t.error_mm, t.error_at_mm);
    }

    #[test]
    fn a_jump_of_curvature_leaves_something_over_and_says_so() {
        let p = |start_mm, end_mm, k| Piece { start_mm, end_mm, k_start: k, k_end: k };
        let target =
            Curvature::new(vec![p(-700.0, -300.0, 1.0 / 1500.0), p(-300.0, 300.0, 0.0), p(300.0, 700.0, 1.0 / 1200.0)])
                .unwrap();
        let t = table(&target, &stack(), &setup(150.0));
        // The stack bridges the jump: what is left over is real, and said.
        assert!(t.error_mm > 0.01 && t.error_mm < 0.05, "{} at {}", t.error_mm, t.error_at_mm);
    }

    #[test]
    fn a_short_overhang_says_how_long_it_should_be_and_what_is_left_over() {
        let target = Curvature::constant(-700.0, 700.0, 1.0 / 1500.0).unwrap();
        let t = table(&target, &stack(), &setup(10.0));
        assert!(t.overhang_needed_mm.0 > 30.0 && t.error_mm > 0.01);
        let longer = table(&target, &stack(), &setup(t.overhang_needed_mm.0 + 0.1));
        assert!(longer.error_mm < 0.01, "{}", longer.error_mm);
    }

    #[test]
    fn a_stack_of_one_piece_is_refused_with_what_would_help() {
        let target = Curvature::constant(-700.0, 700.0, 1.0 / 5000.0).unwrap();
        let one = Laminate::new(&[layer(9.0, 10_000.0)], 0.0).unwrap();
        let faults = overbend(&target, 0.0, &one, &setup(100.0)).unwrap_err();
        assert_eq!((faults[0].code, faults[0].path.as_str()), ("no-bend-stays", "layers"));
    }
}
