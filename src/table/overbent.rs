//! From the wanted base curve to the table.

use crate::codes;
use crate::curve::{Curvature, CurvatureError, Curve, PlaneCurve, resting_pose};
use crate::finding::{Fault, Faults};
use crate::job::Lies;
use crate::laminate::Laminate;
use crate::numeric::between;
use crate::press::{Blank, Load, PressError, Pressed, Released, Station, press, release};
use crate::units::{Quantity, phrase};

use super::design::Design;
use super::faces::OtherFace;
use super::feasible;
use super::wanted::too_tight;

/// Distance of the places at which two curves are compared, mm.
const STEP_MM: f64 = 5.0;
/// Error of the released board, mm, from which it is worth looking for a table that leaves less over.
const WORTH_MM: f64 = 0.002;
/// Height of an end on the table from which the part of it that the board loses is told, mm: of less, it says little.
const RAISED_MM: f64 = 1.0;
/// Intervals between the places at which shares of springback are compared.
const SHARES: u32 = 200;

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
    /// Error that the present overhangs leave on the finished board over what those needed would, mm; known once
    /// [`super::overhangs`] has looked for it.
    pub overhang_leaves_mm: f64,
    /// What pushes the stack down.
    pub load: Load,
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

/// A place of the pressed stack.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PressedPoint {
    /// Along the released board's face that lay on the table, 0 in the middle, mm.
    pub face_mm: f64,
    /// Along the table's surface, mm.
    pub table_mm: f64,
    /// Gap between table and stack, mm.
    pub gap_mm: f64,
    /// Pressure between table and stack, MPa; a force at one place is spread over the neighbouring elements.
    pub contact_mpa: f64,
    /// Curvature of the table, 1/mm.
    pub table_per_mm: f64,
    /// Curvature of the stack's face on the table, 1/mm.
    pub pressed_per_mm: f64,
}

impl OverbentTable {
    /// Place along the table's surface of a place along the finished base, mm.
    pub fn table_at_base(&self, base_mm: f64) -> f64 {
        let table: Vec<f64> = self.pressed.stations.iter().map(|s| s.table_mm).collect();
        let lying_mm = self.deck.as_ref().map_or(base_mm, |d| d.opposite(base_mm));
        between(&self.released.base_mm, &table, lying_mm)
    }

    /// Place on the flat blank of a place along the finished base, mm.
    pub(crate) fn blank_at_base(&self, base_mm: f64) -> f64 {
        let blank: Vec<f64> = self.pressed.stations.iter().map(|s| s.blank_mm).collect();
        let lying_mm = self.deck.as_ref().map_or(base_mm, |d| d.opposite(base_mm));
        between(&self.released.base_mm, &blank, lying_mm)
    }

    /// Largest gap under the finished length and where on the table it is, mm.
    pub fn largest_gap_mm(&self) -> (f64, f64) {
        largest_gap_mm(&self.pressed, self.finished_table_mm)
    }

    /// The pressed stack from its tail end to its tip end.
    pub(crate) fn profile(&self) -> Vec<PressedPoint> {
        let pressed = &self.pressed;
        let last = pressed.stations.len() - 1;
        let point = |(i, station): (usize, &Station)| {
            let reach = pressed.stations[(i + 1).min(last)].table_mm - pressed.stations[i.saturating_sub(1)].table_mm;
            // Where curvature jumps, the side toward the tip.
            let (element, end) = if i < last { (i, 0) } else { (last - 1, 1) };
            PressedPoint {
                face_mm: self.released.base_mm[i],
                table_mm: station.table_mm,
                gap_mm: pressed.contact.gap_mm[i],
                contact_mpa: pressed.contact.reaction_n_per_mm[i] / (0.5 * reach),
                table_per_mm: pressed.table_per_mm[element][end],
                pressed_per_mm: pressed.base_per_mm[element][end],
            }
        };
        pressed.stations.iter().enumerate().map(point).collect()
    }

    /// What pushes the whole blank down, N, for a board of a width.
    pub(crate) fn closing_force_n(&self, width_mm: f64) -> f64 {
        let forces: f64 = self.load.forces.iter().map(|f| f.force_n_per_mm).sum();
        width_mm * (self.load.pressure_mpa * (self.blank.tip_mm - self.blank.tail_mm) + forces)
    }

    /// What is wrong with the table: the error of the board and the gap that glue has to fill weigh the same.
    fn left_over_mm(&self) -> f64 {
        self.error_mm + self.largest_gap_mm().0
    }

    /// Places along the table's surface, mm, and the bending moment of the pressed stack there, N mm per mm of width.
    pub fn moments_n(&self) -> Vec<(f64, f64)> {
        let ends = self.pressed.sections.iter().zip(&self.pressed.base_per_mm);
        ends.enumerate()
            .flat_map(|(i, (sections, base))| {
                [0, 1].map(|j| {
                    let turn = base[j] / (1.0 - base[j] * sections[j].neutral_mm);
                    let stiffness = sections[j].wet_stiffness_n_mm + self.load.caul_stiffness_n_mm;
                    let moment = stiffness * turn - sections[j].natural_moment_n;
                    (self.pressed.stations[i + j].table_mm, moment)
                })
            })
            .collect()
    }

    /// Heights of the finished ends (tail, tip) on the table's surface, mm: above its lowest place or, where the board
    /// lies on its deck, below the highest place of the hump as it would stand with the board turned onto its base, and so
    /// negative.
    pub fn table_heights_mm(&self) -> (f64, f64) {
        if self.deck.is_some() {
            return depths_mm(&self.surface, self.crown_mm, self.finished_table_mm);
        }
        let height = |s: f64| self.resting.at(s).point.y;
        (height(self.finished_table_mm.0), height(self.finished_table_mm.1))
    }

    /// Heights of the ends (tail, tip) of the predicted board above its lowest place, mm.
    pub fn predicted_heights_mm(&self) -> (f64, f64) {
        let (tail, tip) = self.predicted.range_mm();
        (self.predicted.at(tail).point.y, self.predicted.at(tip).point.y)
    }
}

impl OverbentTable {
    /// Parts of the heights of tail and tip on the table that the board loses on release; `None` for an end that is hardly
    /// raised. Of a board that lies on its deck they are those of the deck.
    pub(crate) fn lost_shares(&self) -> (Option<f64>, Option<f64>) {
        let (tail, tip) = if self.deck.is_some() { self.face_heights_mm() } else { self.predicted_heights_mm() };
        let on_table = self.table_heights_mm();
        let share = |board: f64, table: f64| (table.abs() >= RAISED_MM).then(|| 1.0 - board / table);
        (share(tail, on_table.0), share(tip, on_table.1))
    }

    /// The same of the released face that lay on the hump.
    fn face_heights_mm(&self) -> (f64, f64) {
        let table: Vec<f64> = self.pressed.stations.iter().map(|s| s.table_mm).collect();
        let face = |table_mm: f64| between(&table, &self.released.base_mm, table_mm);
        let (tail, tip) = self.finished_table_mm;
        depths_mm(&self.released.base, face(self.crown_mm), (face(tail), face(tip)))
    }

    /// Smallest and largest share of the pressed curvature that the stack (from the base on) loses within the finished
    /// length.
    pub(crate) fn share_range(&self, laminate: &Laminate) -> (f64, f64) {
        let (from, to) = self.finished_base_mm;
        let places = (0..=SHARES).map(|i| from + (to - from) * f64::from(i) / f64::from(SHARES));
        let shares = places.map(|s| laminate.section_at(s).springback_share());
        shares.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), share| (a.min(share), b.max(share)))
    }
}

/// How far two places of a hump lie below its highest place, mm, as negative heights: it is turned as a board on its base
/// stands, with its anchor opposite `anchor_mm`.
fn depths_mm(hump: &Curvature, anchor_mm: f64, (tail, tip): (f64, f64)) -> (f64, f64) {
    let turned = resting_pose(&Curve::new(hump.upside_down()), anchor_mm);
    (-turned.at(tail).point.y, -turned.at(tip).point.y)
}

/// Largest gap under a stack between two places on its table, and where it is, mm.
pub(super) fn largest_gap_mm(pressed: &Pressed, (from, to): (f64, f64)) -> (f64, f64) {
    let gaps = pressed.stations.iter().zip(&pressed.contact.gap_mm);
    let inside = gaps.filter(|(s, _)| (from..=to).contains(&s.table_mm));
    inside.fold((0.0, 0.0), |most, (s, gap)| if *gap > most.0 { (*gap, s.table_mm) } else { most })
}

/// The table on which a board of base curvature `target` is pressed, as it comes out of the model, and the check of it
/// through pressing and release.
///
/// `target` runs over the finished base, 0 in its middle; `anchor_mm` is where the board rests on the floor.
///
/// ```
/// use overbend::document::{Document, Starter};
/// use overbend::{laminate::Laminate, rocker, table};
///
/// let job = Document::parse("board", Starter::find("twin-tip").unwrap().text).unwrap().job().unwrap();
/// let target = rocker::target(&job.rocker, &job.board).unwrap();
/// let laminate = Laminate::new(&job.layers, 0.0).unwrap();
/// let setup = table::setup(&job.board, &job.pressing, &laminate, job.table.end_margin_mm);
/// let bent = table::overbend(&target.curvature, target.anchor_mm, &laminate, &setup).unwrap();
/// let (_, tip_mm) = bent.table_heights_mm();
/// assert!(tip_mm > target.tip_height_mm(), "the table is bent more than the board");
/// ```
///
/// # Errors
/// [`Fault`]s: a stack that keeps no bend, a curve too tight for the stack, a blank without pressure.
pub fn overbend(
    target: &Curvature,
    anchor_mm: f64,
    laminate: &Laminate,
    setup: &Setup,
) -> Result<OverbentTable, Faults> {
    check(setup)?;
    let laminate = &laminate.glued_under(setup.load.pressure_mpa);
    let overhangs = (setup.overhang_tail_mm, setup.overhang_tip_mm);
    let design = Design::new(target, laminate, overhangs, &setup.load)?;
    check_forces(&setup.load, design.blank)?;
    let table = tried(&design, target, anchor_mm, laminate, setup)?;
    if setup.load.matched || table.error_mm <= WORTH_MM {
        return Ok(table);
    }
    // A camber hangs between two places.
    let held = (target.at(anchor_mm) >= 0.0).then_some(anchor_mm);
    // The load cannot hold the stack down on that table: look for the nearest bend that it can hold.
    let Some(nearest) = feasible::nearest(&design, &setup.load, held) else { return Ok(table) };
    match tried(&nearest, target, anchor_mm, laminate, setup) {
        Ok(other) if other.left_over_mm() < table.left_over_mm() => Ok(other),
        _ => Ok(table),
    }
}

/// The table of a design, with what pressing on it and release make of the board.
fn tried(
    design: &Design,
    target: &Curvature,
    anchor_mm: f64,
    laminate: &Laminate,
    setup: &Setup,
) -> Result<OverbentTable, Faults> {
    let tight = |_| too_tight(anchor_mm);
    let (surface, finished_table_mm) = design.surface(setup.end_margin_mm).map_err(tight)?;
    let pressed = press(&surface, laminate, design.blank, &setup.load).map_err(press_fault)?;
    let released = release(&pressed).map_err(tight)?;
    let finished_base_mm = (target.start_mm(), target.end_mm());
    let finished = released.base.between(finished_base_mm.0, finished_base_mm.1).map_err(tight)?;
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
        finished_table_mm,
        finished_base_mm,
        blank: design.blank,
        overhang_needed_mm: design.overhang_needed_mm,
        overhang_leaves_mm: 0.0,
        load: setup.load.clone(),
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
) -> Result<OverbentTable, Faults> {
    if lies == Lies::BaseDown {
        return overbend(target, anchor_mm, lying, setup);
    }
    let tight = |_| too_tight(anchor_mm);
    let deck = OtherFace::new(target, |s| laminate.section_at(s).thickness_mm).map_err(tight)?;
    let table = overbend(&deck.curvature.upside_down(), deck.opposite(anchor_mm), lying, setup)?;
    Ok(table.of_deck(target, anchor_mm, laminate, deck).map_err(tight)?)
}

impl OverbentTable {
    /// A table that was designed for the deck, with its board turned back on its base: `target` is the wanted base.
    ///
    /// # Errors
    /// [`CurvatureError`] where the released deck is tighter than the board is thick.
    fn of_deck(
        self,
        target: &Curvature,
        anchor_mm: f64,
        laminate: &Laminate,
        deck: OtherFace,
    ) -> Result<Self, CurvatureError> {
        let upright = self.predicted.curvature().upside_down();
        let base = deck.base_under(&upright, |s| laminate.section_at(s).thickness_mm)?;
        let wanted = resting_pose(&Curve::new(target.clone()), anchor_mm);
        let predicted = resting_pose(&Curve::new(base), anchor_mm);
        let (error_mm, error_at_mm) = largest_distance(&wanted, &predicted);
        let finished_base_mm = (target.start_mm(), target.end_mm());
        Ok(Self { finished_base_mm, wanted, predicted, error_mm, error_at_mm, deck: Some(deck), ..self })
    }
}

/// Largest distance between two curves at the same place along them, and that place, mm.
pub(super) fn largest_distance(wanted: &Curve, predicted: &Curve) -> (f64, f64) {
    let places = wanted.samples(STEP_MM);
    let apart = places.iter().map(|w| (w.point.distance(predicted.at(w.s_mm).point), w.s_mm));
    apart.fold((0.0, 0.0), |most, here| if here.0 > most.0 { here } else { most })
}

fn check(setup: &Setup) -> Result<(), Faults> {
    let mut faults = Faults::default();
    let lengths = [
        (setup.overhang_tail_mm, "board.overhang_tail"),
        (setup.overhang_tip_mm, "board.overhang_tip"),
        (setup.end_margin_mm, "table.end_margin"),
    ];
    for (value, path) in lengths {
        if !(value.is_finite() && value >= 0.0) {
            faults.push(codes::LENGTH.at(path, phrase!("{} is not a length above zero.", Quantity::exact(value))));
        }
    }
    let p = setup.load.pressure_mpa;
    if !(p.is_finite() && p > 0.0) {
        let message = phrase!("A pressure of {} does not press the stack down.", Quantity::pressure(p));
        faults.push(codes::PRESSURE.at("pressing.pressure", message));
    }
    faults.or(())
}

fn check_forces(load: &Load, blank: Blank) -> Result<(), Faults> {
    let off = |s: f64| !(blank.tail_mm..=blank.tip_mm).contains(&s);
    let fault = |(i, at): (usize, f64)| {
        codes::CLAMP_OFF_BLANK.at(
            format!("pressing.clamps.stations[{i}]"),
            phrase!(
                "A clamp at {} is not on the blank, which reaches from {} to {}.",
                Quantity::place(at),
                Quantity::place(blank.tail_mm),
                Quantity::place(blank.tip_mm)
            ),
        )
    };
    let faults: Faults =
        load.forces.iter().map(|f| f.blank_mm).enumerate().filter(|(_, s)| off(*s)).map(fault).collect();
    faults.or(())
}

fn press_fault(error: PressError) -> Fault {
    match error {
        PressError::TooTight(at) => too_tight(at),
        PressError::Blank(at) => Fault::new(
            codes::BLANK_OFF_TABLE,
            "board.overhang_tip",
            phrase!("The blank's end at {} does not lie on the table.", Quantity::place(at)),
            "Shorten the overhang or lengthen the table.",
        ),
        PressError::Contact(reason) => {
            codes::CONTACT.at("pressing", format!("How the stack lies on the table could not be computed ({reason})."))
        }
    }
}

#[cfg(test)]
mod tests;
