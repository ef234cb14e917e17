//! What the table has to carry while the stack is pressed: line loads, pull on its fasteners, sag of its skin, and how far
//! it gives.
//!
//! A stack under a pressure p that carries the moment M presses on the skin with p + M″. What reaches skin and ribs depends
//! on what is below the skin, so the ways of pressing are kept apart.

use crate::curve::{Curvature, PlaneCurve};
use crate::job::{Below, Board, Fasteners, Hold, Material, SkinSheets, Table};
use crate::laminate::Laminate;
use crate::press::Load;

use super::{OverbentTable, width_of_all_mm};
use crate::numeric::between;

/// What the table is made of, as far as it is known when the stack is laid on it.
#[derive(Debug, Clone, Copy)]
pub struct Build<'a> {
    /// The skin.
    pub skin: Skin<'a>,
    /// Where the skin is bent down and up the most along its edges (place along the surface, curvature), mm and 1/mm, where
    /// a curve across that varies bends them otherwise than its middle line.
    pub edges: Option<[(f64, f64); 2]>,
    /// Places along the table (x, mm, in order) and the second moment of area of all ribs together from there to the next,
    /// mm⁴; empty for a table without ribs.
    pub ribs_mm4: &'a [(f64, f64)],
    /// What the ribs are, where stated.
    pub ribs: Option<&'a Material>,
    /// Largest clear distance between the supports of the skin, mm, where there are several.
    pub clear_mm: Option<f64>,
    /// Distance of the supports from middle to middle, mm; of a single one, the width or length that it carries.
    pub spacing_mm: f64,
    /// Step between the pitches of fasteners that are tried, mm: round in the shop's unit.
    pub pitch_step_mm: f64,
    /// Which way the skin spans between them.
    pub span: Span,
    /// What fastens the skin to them.
    pub fasteners: Fasteners,
}

/// The skin of a table.
///
/// Sheets that lie on each other slide while they are bent, so each is strained by half of its own thickness times the
/// curvature, and together they want to be flat as `count` thin sheets do: with one over the square of their number of
/// the moment of one thick sheet. Glued while they are bent, they carry loads as one sheet.
#[derive(Debug, Clone, Copy)]
pub struct Skin<'a> {
    /// Thickness of all sheets together, mm; 0 for none.
    pub thickness_mm: f64,
    /// What sheets it is made of.
    pub sheets: SkinSheets,
    /// What they are, with the modulus along the board, where stated.
    pub material: Option<&'a Material>,
}

impl<'a> Skin<'a> {
    /// The skin of a job's table.
    pub(crate) fn of(table: &'a Table) -> Self {
        Self { thickness_mm: table.skin_mm, sheets: table.skin_sheets, material: table.skin_material.as_ref() }
    }

    /// Thickness of one sheet, mm.
    pub(crate) fn sheet_mm(&self) -> f64 {
        self.thickness_mm / self.sheets.count as f64
    }

    /// Stiffness of sheets of this modulus (MPa) as they slide on each other, N mm.
    fn sliding_n_mm(&self, modulus_mpa: f64) -> f64 {
        self.sheets.count as f64 * modulus_mpa * self.sheet_mm().powi(3) / 12.0
    }

    /// Stiffness against the pressure on the table, N mm: that of one sheet where they are glued.
    fn carrying_n_mm(&self, modulus_mpa: f64) -> f64 {
        if self.sheets.glued { modulus_mpa * self.thickness_mm.powi(3) / 12.0 } else { self.sliding_n_mm(modulus_mpa) }
    }

    /// Part of its curve that the skin loses by itself when nothing holds it any more: one over the square of the number
    /// of glued sheets, as of any laminate of equal layers; all of it where they are not glued.
    pub(crate) fn springback_share(&self) -> f64 {
        if self.sheets.glued { (self.sheets.count as f64).powi(-2) } else { 1.0 }
    }
}

/// Which way the skin spans from one support to the next.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Span {
    /// Across the board, between ribs.
    Across,
    /// Along the board, between bearers.
    Along,
}

impl Span {
    /// What the supports are called.
    pub(crate) fn supports(self) -> &'static str {
        match self {
            Self::Across => "ribs",
            Self::Along => "bearers",
        }
    }
}

/// What presses, as the table feels it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LoadCase {
    /// A bag sealed to the skin of a table that is open below: the air presses on the skin from below as well.
    OpenBackedBag,
    /// A bag over a box that is pumped, or a table in the bag as a whole: nothing presses from below.
    SealedBox,
    /// A press with an upper form that matches the table.
    MatchingForm,
    /// Clamps.
    Clamps,
    /// Weights.
    Weights,
}

impl LoadCase {
    /// The case of a way of pressing.
    pub(crate) fn of(hold: &Hold) -> Self {
        match hold {
            Hold::Vacuum { below: Below::Air, .. } => Self::OpenBackedBag,
            Hold::Vacuum { below: Below::Vacuum, .. } => Self::SealedBox,
            Hold::Press { .. } => Self::MatchingForm,
            Hold::Clamps { .. } => Self::Clamps,
            Hold::Weights { .. } => Self::Weights,
        }
    }

    /// Its name in every output.
    pub(crate) fn words(self) -> &'static str {
        match self {
            Self::OpenBackedBag => "bag on a table open below",
            Self::SealedBox => "bag on an evacuated box",
            Self::MatchingForm => "press with a matching form",
            Self::Clamps => "clamps",
            Self::Weights => "weights",
        }
    }
}

/// A largest value and where along the table's surface it is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Peak {
    /// The value, in the unit of the field.
    pub value: f64,
    /// Where, mm from the middle of the board along the table's surface.
    pub table_mm: f64,
}

/// How the skin is fastened to what carries it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fastening {
    /// Pull that one fastener is to bear, N.
    pub allowed_n: f64,
    /// Distance between fasteners along a rib, or across on a bearer, mm: as the shop states it, or the widest that
    /// keeps the pull within what is allowed.
    pub pitch_mm: f64,
    /// Whether the shop states it.
    pub stated: bool,
    /// The widest distance that keeps the pull within what is allowed, mm; `None` where none does.
    pub widest_mm: Option<f64>,
    /// Largest pull on one fastener at that distance, N, and where.
    pub pull_n: Peak,
}

/// How the skin sags between its supports.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sag {
    /// Clear distance between the supports, mm.
    pub clear_mm: f64,
    /// Its sag, mm.
    pub sag_mm: f64,
    /// Clear distance up to which the sag does not show, mm; infinite where nothing presses on the skin.
    pub widest_mm: f64,
}

/// What the table carries.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Carried {
    /// What presses.
    pub case: LoadCase,
    /// Pressure that the skin carries between its supports where the stack lies down, MPa.
    pub skin_pressure_mpa: f64,
    /// Largest line load of the stack on the skin over the whole width of the boards, N/mm, less what presses from below;
    /// averaged over [`AVERAGED_MM`].
    pub push_n_per_mm: Peak,
    /// Largest line load that lifts the skin off its supports, N/mm, taken in the same way; zero where none does.
    pub pull_n_per_mm: Peak,
    /// How the skin is fastened.
    pub fastening: Fastening,
    /// Sag of the skin, where there are several supports.
    pub sag: Option<Sag>,
    /// Largest bending moment that the stack exerts on the table over its whole width, N mm; positive where it straightens
    /// a hollow.
    pub moment_n_mm: Peak,
    /// How far the finished ends (tail, tip) of the table go down against its middle under the stack, mm: what the
    /// table gives back of its curve. `None` where its ribs do not carry it alone or a cut leaves nothing of them.
    pub gives_mm: Option<(f64, f64)>,
}

/// Modulus taken for sheets that are not stated: medium-density fibreboard, the softest of the usual stock, 3.6 GPa
/// (Wood Handbook, Table 12-1, from memory).
const SOFT_SHEET_MPA: f64 = 3_600.0;
/// Sag of the skin between ribs that shows in a base, and one that is felt, mm: common practice, no source.
pub(super) const SAG_MM: (f64, f64) = (0.1, 0.5);
/// Length over which line loads are averaged, mm: a stack that rests on a line does so over no length at all, and the
/// skin spreads what is nearer than half of its supports' distance.
pub const AVERAGED_MM: f64 = 50.0;
/// Widest distance between fasteners where nothing pulls, mm: common practice, no source.
const WIDEST_PITCH_MM: f64 = 150.0;
/// Narrowest distance that is offered, mm: nearer, they split the edge of a rib (common practice, no source).
const NARROWEST_PITCH_MM: f64 = 25.0;
/// Length of rib over which moment and section are taken as one, mm: half of the step at which ribs are cut.
const GIVE_STEP_MM: f64 = 1.0;
/// Step between the places that are looked at, mm.
const STEP_MM: f64 = 5.0;

impl Carried {
    /// What the table carries under the stack that was pressed on it.
    pub fn new(bent: &OverbentTable, board: &Board, hold: &Hold, lying: &Laminate, build: &Build<'_>) -> Self {
        let stack = Loads::of_stack(bent, hold);
        let width_mm = width_of_all_mm(board);
        let line = |sign: f64| {
            let found = stack.largest(AVERAGED_MM, sign);
            Peak { value: sign * found.value.max(0.0) * width_mm / AVERAGED_MM, ..found }
        };
        let (push, pull) = (line(1.0), line(-1.0));
        let moment = bent.moments_n().into_iter().fold(Peak { value: 0.0, table_mm: 0.0 }, |most, (s, m)| {
            if m.abs() > most.value.abs() { Peak { value: m, table_mm: s } } else { most }
        });
        Self {
            case: LoadCase::of(hold),
            skin_pressure_mpa: skin_pressure_mpa(hold, &bent.load),
            push_n_per_mm: push,
            pull_n_per_mm: Peak { value: pull.value.abs(), ..pull },
            fastening: fastening(&stack.clone().with_skin(&bent.surface, build), build),
            sag: sag(hold, &bent.load, lying, build),
            moment_n_mm: Peak { value: moment.value * width_mm, ..moment },
            gives_mm: gives_mm(bent, &stack, board, build),
        }
    }
}

/// Pressure between the ribs that the table's skin has to carry, MPa.
///
/// Under a bag that is sealed to the skin of an open table the air presses from below as hard as the stack from above,
/// and nothing is left to carry where the stack lies down.
fn skin_pressure_mpa(hold: &Hold, load: &Load) -> f64 {
    match LoadCase::of(hold) {
        LoadCase::OpenBackedBag => 0.0,
        _ => load.pressure_mpa,
    }
}

/// What acts on the skin along the table, per mm of width.
#[derive(Debug, Clone)]
struct Loads {
    /// Places and moments of the stack there, N; twice at each node.
    moments_n: Vec<(f64, f64)>,
    /// The skin's own stiffness, N mm, and the curve it is bent to, where it counts.
    skin: Option<(f64, Curvature)>,
    /// Pressure on the skin, less what presses from below, MPa, over the blank.
    pressure_mpa: f64,
    /// Forces at places, N/mm.
    forces: Vec<(f64, f64)>,
    /// Ends of the table's surface, mm.
    ends_mm: (f64, f64),
}

impl Loads {
    fn of_stack(bent: &OverbentTable, hold: &Hold) -> Self {
        let (blank, table): (Vec<f64>, Vec<f64>) =
            bent.pressed.stations.iter().map(|s| (s.blank_mm, s.table_mm)).unzip();
        let forces = bent.load.forces.iter().map(|f| (between(&blank, &table, f.blank_mm), f.force_n_per_mm));
        Self {
            moments_n: bent.moments_n(),
            skin: None,
            pressure_mpa: skin_pressure_mpa(hold, &bent.load),
            forces: forces.collect(),
            ends_mm: (bent.surface.start_mm(), bent.surface.end_mm()),
        }
    }

    /// With the skin itself, which wants to be flat.
    fn with_skin(self, surface: &Curvature, build: &Build<'_>) -> Self {
        let modulus = build.skin.material.map_or(SOFT_SHEET_MPA, |m| m.modulus_mpa.value);
        Self { skin: Some((build.skin.sliding_n_mm(modulus), surface.clone())), ..self }
    }

    /// Moment of stack and skin just beside a place, N; none beyond their ends.
    fn moment_n(&self, s_mm: f64) -> f64 {
        let next = self.moments_n.partition_point(|m| m.0 < s_mm);
        let stack = match (next.checked_sub(1).map(|i| self.moments_n[i]), self.moments_n.get(next)) {
            (Some(a), Some(b)) => a.1 + (b.1 - a.1) * (s_mm - a.0) / (b.0 - a.0),
            _ => 0.0,
        };
        let inside = s_mm > self.ends_mm.0 && s_mm < self.ends_mm.1;
        let skin = self.skin.as_ref().filter(|_| inside).map_or(0.0, |(stiffness, k)| stiffness * k.at(s_mm));
        stack + skin
    }

    /// Force on a support at a place whose neighbours are `pitch_mm` away, N per mm of width, as if the skin were hinged
    /// over each: every load goes to the two supports beside it by the lever rule. A moment M then gives its
    /// second difference over the pitch, which holds for jumps of M as well (own derivation).
    fn force_n_per_mm(&self, s_mm: f64, pitch_mm: f64) -> f64 {
        let bent = self.moment_n(s_mm + pitch_mm) - 2.0 * self.moment_n(s_mm) + self.moment_n(s_mm - pitch_mm);
        let share = |at: f64| (1.0 - (at - s_mm).abs() / pitch_mm).max(0.0);
        let forces: f64 = self.forces.iter().map(|(at, force)| force * share(*at)).sum();
        let (from, to) = match (self.moments_n.first(), self.moments_n.last()) {
            (Some(a), Some(b)) => (a.0, b.0),
            _ => (0.0, 0.0),
        };
        // Integral of the lever rule from its foot on the left to a place.
        let until = |at: f64| {
            let u = ((at - s_mm) / pitch_mm).clamp(-1.0, 1.0);
            pitch_mm * if u < 0.0 { 0.5 * (1.0 + u).powi(2) } else { 1.0 - 0.5 * (1.0 - u).powi(2) }
        };
        bent / pitch_mm + self.pressure_mpa * (until(to) - until(from)) + forces
    }

    /// Largest force on a support, `sign` 1 for one that presses on it and -1 for one that pulls, N per mm of width, and
    /// where.
    fn largest(&self, pitch_mm: f64, sign: f64) -> Peak {
        let (from, to) = self.ends_mm;
        let count = ((to - from) / STEP_MM).ceil().max(1.0);
        // Where moments jump or bend the force does too; it is looked at on both sides.
        let beside = 1e-6 * pitch_mm;
        let nodes = self.moments_n.iter().step_by(2).flat_map(|m| [m.0 - beside, m.0 + beside]);
        let even = (0..=count as usize).map(|i| from + (to - from) * i as f64 / count);
        let places = even.chain(nodes).chain(self.forces.iter().map(|f| f.0)).chain([from + beside, to - beside]);
        places.fold(Peak { value: 0.0, table_mm: 0.0 }, |most, s| {
            let value = sign * self.force_n_per_mm(s, pitch_mm);
            if value > most.value { Peak { value, table_mm: s } } else { most }
        })
    }
}

fn fastening(loads: &Loads, build: &Build<'_>) -> Fastening {
    let Fasteners { pull_n: allowed_n, pitch_mm: stated } = build.fasteners;
    // Fasteners of a rib are a pitch apart along the moment; those of a bearer share what it carries over its width.
    let across = match build.span {
        Span::Across => None,
        Span::Along => Some(loads.largest(build.spacing_mm, -1.0)),
    };
    let pull = |pitch_mm: f64| {
        let (found, width_mm) = match across {
            None => (loads.largest(pitch_mm, -1.0), build.spacing_mm),
            Some(found) => (found, pitch_mm),
        };
        Peak { value: found.value * width_mm, ..found }
    };
    let step_mm = build.pitch_step_mm;
    // Rounded, as the bounds are whole steps in millimetres.
    let most_mm = step_mm * (WIDEST_PITCH_MM / step_mm + 1e-9).floor();
    let steps = ((most_mm - NARROWEST_PITCH_MM) / step_mm + 1e-9).floor() as usize;
    let mut least = (most_mm, pull(most_mm));
    let mut widest_mm = (least.1.value <= allowed_n).then_some(most_mm);
    for i in 1..=steps {
        if widest_mm.is_some() {
            break;
        }
        let pitch_mm = most_mm - step_mm * i as f64;
        let found = pull(pitch_mm);
        if found.value <= allowed_n {
            widest_mm = Some(pitch_mm);
        }
        // A jump of moment pulls the harder the nearer the fasteners are.
        if found.value < least.1.value {
            least = (pitch_mm, found);
        }
    }
    let pitch_mm = stated.or(widest_mm).unwrap_or(least.0);
    Fastening { allowed_n, pitch_mm, stated: stated.is_some(), widest_mm, pull_n: pull(pitch_mm) }
}

/// Widest clear distance between supports that handling the table allows where its skin carries no pressure, mm: a hand
/// that leans on the skin is not to dent it (common practice, no source).
pub(super) const HANDLING_MM: f64 = 150.0;

/// Widest clear distance between the supports of a skin at which its sag does not show, mm; at most
/// 150 mm, for handling.
pub fn widest_clear_mm(hold: &Hold, load: &Load, lying: &Laminate, skin: &Skin<'_>, span: Span) -> f64 {
    let per_mm4 = sag_per_mm4(hold, load, lying, skin, span);
    // Without pressure the distance is infinite, without skin and stack zero; both are bounded here.
    libm::pow(SAG_MM.0 / per_mm4, 0.25).min(HANDLING_MM)
}

/// Sag of the skin over the fourth power of its clear span, 1/mm³: built in over its supports, w s⁴/(384 E I) (standard
/// beam tables). The wet layers on it bend with it.
fn sag_per_mm4(hold: &Hold, load: &Load, lying: &Laminate, skin: &Skin<'_>, span: Span) -> f64 {
    let sheet = skin.material;
    let (modulus, stack) = match span {
        Span::Across => (
            sheet.map_or(SOFT_SHEET_MPA, |m| m.cross_modulus_mpa.unwrap_or(m.modulus_mpa.value)),
            lying.crosswise_at(0.0).map_or(0.0, |s| s.wet_stiffness_n_mm),
        ),
        Span::Along => {
            (sheet.map_or(SOFT_SHEET_MPA, |m| m.modulus_mpa.value), lying.section_at(0.0).wet_stiffness_n_mm)
        }
    };
    skin_pressure_mpa(hold, load) / (384.0 * (skin.carrying_n_mm(modulus) + stack))
}

fn sag(hold: &Hold, load: &Load, lying: &Laminate, build: &Build<'_>) -> Option<Sag> {
    let clear_mm = build.clear_mm.filter(|_| build.skin.thickness_mm > 0.0)?;
    let per_mm4 = sag_per_mm4(hold, load, lying, &build.skin, build.span);
    let widest_mm = libm::pow(SAG_MM.0 / per_mm4, 0.25);
    Some(Sag { clear_mm, sag_mm: per_mm4 * clear_mm.powi(4), widest_mm })
}

/// How far the finished ends (tail, tip) of the table go down against its middle under the moments of the stack, mm: each
/// short length of the ribs turns by M/(E I) of its own section, and carries the end down by its distance to it.
fn gives_mm(bent: &OverbentTable, stack: &Loads, board: &Board, build: &Build<'_>) -> Option<(f64, f64)> {
    let modulus = build.ribs.map_or(SOFT_SHEET_MPA, |m| m.modulus_mpa.value);
    let second_moment = |s_mm: f64| {
        let x_mm = bent.resting.at(s_mm).point.x;
        let next = build.ribs_mm4.partition_point(|rib| rib.0 <= x_mm);
        build.ribs_mm4.get(next.saturating_sub(1)).map(|rib| rib.1)
    };
    let sink = |end_mm: f64| {
        let count = (end_mm.abs() / GIVE_STEP_MM).ceil().max(1.0);
        let step = end_mm / count;
        let mut sink = 0.0;
        for i in 0..count as usize {
            let s = step * (i as f64 + 0.5);
            sink += stack.moment_n(s) / second_moment(s)? * (end_mm - s) * step;
        }
        Some(sink * width_of_all_mm(board) / modulus).filter(|mm| mm.is_finite())
    };
    sink(bent.finished_table_mm.0).zip(sink(bent.finished_table_mm.1))
}

#[cfg(test)]
mod tests;
