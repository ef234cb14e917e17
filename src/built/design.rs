//! A job's table, before anything is cut for it.

use super::causes::with_causes;
use super::narrow;
use super::stack::laminates;
use crate::calibrate::{Known, boards};
use crate::codes;
use crate::curve::{Curve, PlaneCurve};
use crate::finding::{Fault, Faults, Finding};
use crate::jig::{self, Across, Demand, Jig, Marks, Template};
use crate::job::{Below, Board, Concave, Hold, Job};
use crate::laminate::Laminate;
use crate::rocker::{self, Outline, Target};
use crate::table::{self, OverbentTable, Setup, Skin, Span};
use crate::units::{Quantity, phrase};

/// Step of the sum of a blank's area, mm: of a round end a step leaves less than a ten-thousandth of the whole.
const AREA_STEP_MM: f64 = 2.0;
/// Thickness of a trimming template that is wanted for its holes alone, mm: that of a usual sheet (common practice, no source).
const TEMPLATE_MM: f64 = 6.0;

/// The target curve, the stack, and the table that they ask for.
#[derive(Debug, Clone)]
#[non_exhaustive]
pub struct Design {
    /// The job, with the springback that the shop's boards teach.
    pub job: Job,
    /// What the shop's boards say, if it has any.
    pub known: Option<Known>,
    /// The target curve.
    pub target: Target,
    /// The board in plan, where the job says more of it than its width.
    pub outline: Option<Outline>,
    /// The stack, base first.
    pub laminate: Laminate,
    /// The stack as it lies, what is on the table first.
    pub lying: Laminate,
    /// Blank, table ends and load.
    pub setup: Setup,
    /// The table and what comes off it.
    pub table: OverbentTable,
}

/// Designs the table of a job. Makes no jig and simulates nothing: this is what can follow a hand on the curve.
///
/// # Errors
/// Faults with the paths of the keys at fault, where the job is impossible.
pub fn design(job: &Job) -> Result<Design, Faults> {
    let make = || {
        concave_of_one_board(job)?;
        let (job, known) = boards::with_learned_factor(job)?;
        let target = rocker::target(&job.rocker, &job.board)?;
        let outline = rocker::outline(&job.board, (target.curvature.start_mm(), target.curvature.end_mm()))?;
        let (laminate, lying) = laminates(&job, &job.layers)?;
        let setup = table::setup(&job.board, &job.pressing, &laminate, job.table.end_margin_mm);
        let (curve, lies) = (&target.curvature, job.table.lies);
        let table = table::overbend_lying(curve, target.anchor_mm, &laminate, &lying, &setup, lies)?;
        Ok(Design { job, known, target, outline, laminate, lying, setup, table })
    };
    make().map_err(|faults| with_causes(job, faults).in_units(job.unit))
}

impl Design {
    /// Searches how far the stack has to reach beyond the finished ends, and takes the answer into the table's checks.
    pub(super) fn search_overhangs(&mut self) {
        let Self { job, target, laminate, lying, setup, table, .. } = self;
        let again = |setup: &Setup| {
            table::overbend_lying(&target.curvature, target.anchor_mm, laminate, lying, setup, job.table.lies)
        };
        let overhangs = table::overhangs(table, setup, again);
        (table.overhang_needed_mm, table.overhang_leaves_mm) = (overhangs.needed_mm, overhangs.leaves_mm);
    }

    /// The jig that holds the table up.
    ///
    /// # Errors
    /// Faults with the document's paths: a top edge that folds, holes without room, parts that do not fit.
    pub fn jig(&self) -> Result<Jig, Faults> {
        let mut jig = jig::build(&self.table.resting, &self.marks(), &self.demand(), &self.job.table)?;
        let template_mm = self.job.board.outline.as_ref().map_or(TEMPLATE_MM, |o| o.template_mm);
        let outline = self.outline.as_ref().filter(|_| template_mm > 0.0);
        jig.template = outline.map(|outline| Template::new(outline, &jig.stations, template_mm)).transpose()?;
        jig.planing_rails = jig::planing_rails(&self.laminate, (self.table.blank.tail_mm, self.table.blank.tip_mm));
        Ok(jig)
    }

    /// Width of what is pressed at a place along the finished base, mm; beyond its ends that of the end.
    pub(crate) fn pressed_width_mm(&self, base_mm: f64) -> f64 {
        let shaped = self.outline.as_ref().filter(|_| self.job.board.outline.as_ref().is_some_and(|o| o.shaped_blank));
        shaped.map_or(self.job.board.width_mm, |outline| outline.width_mm(base_mm))
    }

    /// The skin of the table.
    pub(crate) fn skin(&self) -> Skin<'_> {
        Skin::of(&self.job.table)
    }

    /// What pushes all blanks down over their finished width, N.
    pub fn closing_force_n(&self) -> f64 {
        let width_mm = self.blank_area_mm2() / (self.table.blank.tip_mm - self.table.blank.tail_mm);
        self.table.closing_force_n(self.job.board.count as f64 * width_mm)
    }

    /// Area of one blank, without what is trimmed off its sides, mm².
    pub(crate) fn blank_area_mm2(&self) -> f64 {
        let (tail, tip) = (self.table.blank.tail_mm, self.table.blank.tip_mm);
        let count = ((tip - tail) / AREA_STEP_MM).ceil().max(1.0);
        let step = (tip - tail) / count;
        let widths = (0..count as usize).map(|i| self.pressed_width_mm(tail + step * (i as f64 + 0.5)));
        step * widths.sum::<f64>()
    }

    /// Area of all blanks with what is trimmed off their sides, m².
    pub(super) fn blanks_m2(&self) -> f64 {
        let trimmed_mm2 = 2.0 * Board::SIDE_TRIM_MM * (self.table.blank.tip_mm - self.table.blank.tail_mm);
        1e-6 * self.job.board.count as f64 * (self.blank_area_mm2() + trimmed_mm2)
    }

    /// Places that are listed and marked on the jig.
    fn marks(&self) -> Marks {
        let at = |s| (s, self.table.table_at_base(s));
        let places = stations(&self.target.curve, self.job.table.station_pitch_mm);
        Marks { finished_base_mm: self.table.finished_base_mm, stations: places.into_iter().map(at).collect() }
    }

    /// What the jig has to carry.
    pub(super) fn demand(&self) -> Demand {
        demand(&self.job, &self.table, &self.laminate)
    }

    /// The checks of the job's figures, its stack and its curve, which need no jig.
    pub fn checks(&self) -> Vec<Finding> {
        let Self { job, target, laminate, lying, setup, .. } = self;
        let mut checks = job.doubt_findings();
        checks.extend(laminate.doubts(&job.layers, (target.curvature.start_mm(), target.curvature.end_mm())));
        checks.extend(self.bending_findings());
        let overhang_mm = job.board.overhang_tip_mm.min(job.board.overhang_tail_mm);
        checks.extend(lying.soft_findings(job.board.length_mm, overhang_mm, setup.load.pressure_mpa));
        checks.extend(target.findings());
        checks.extend(narrow::findings(job, (target, self.outline.as_ref()), laminate));
        checks
    }

    /// Strains of the layers while they lie on the table: along its middle line, along its edges where a curve across varies,
    /// and across.
    fn bending_findings(&self) -> Vec<Finding> {
        let Self { job, lying, table, .. } = self;
        let (across, width_mm) = (across(job, table, &self.laminate), job.board.width_mm);
        let Ok(turning) = table.pressed.turning() else { return Vec::new() };
        let mut found = lying.strain_findings(&turning, "");
        if let Some(edge) = across.edge_curvature(width_mm, &turning) {
            found.extend(lying.strain_findings(&edge, ", along the edges"));
        }
        if !across.is_flat() {
            found.extend(lying.across_finding(across.sharpest_per_mm(width_mm)));
        }
        found
    }

    /// The checks that need neither a jig nor a search: those that can follow a hand on the curve.
    pub fn quick_checks(&self) -> Vec<Finding> {
        let mut checks = self.checks();
        checks.extend(table::quick_checks(&self.table, &self.job.pressing));
        checks
    }
}

/// Refuses a curve across that would run over several boards: each would get another part of it.
fn concave_of_one_board(job: &Job) -> Result<(), Fault> {
    if job.board.count == 1 || job.table.concave.is_none() {
        return Ok(());
    }
    let boards = Quantity::count(job.board.count as f64);
    let message =
        phrase!("the curve across would run over {} boards side by side, and none would be hollow as wanted.", boards);
    Err(codes::CONCAVE_SIDE_BY_SIDE.at("table.concave", message))
}

/// What the job and the bent table ask of the jig.
pub(super) fn demand(job: &Job, bent: &OverbentTable, laminate: &Laminate) -> Demand {
    let (width, all) = (table::width_over_all_mm(&job.board), table::width_of_all_mm(&job.board));
    let (hold, skin) = (&job.pressing.hold, Skin::of(&job.table));
    let clear = |span| table::widest_clear_mm(hold, &bent.load, laminate, &skin, span);
    Demand {
        boards_width_mm: width,
        across: across(job, bent, laminate),
        moments_n_mm: bent.moments_n().into_iter().map(|(s, m)| (s, m * all)).collect(),
        clear_mm: (clear(Span::Across), clear(Span::Along)),
        strain_limit: job.layers.iter().filter_map(|l| l.material.strain_limit).reduce(f64::min),
        pumped: matches!(job.pressing.hold, Hold::Vacuum { below: Below::Vacuum, .. }),
    }
}

/// The table's curve across.
pub(super) fn across(job: &Job, bent: &OverbentTable, laminate: &Laminate) -> Across {
    let width_mm = table::width_over_all_mm(&job.board);
    // A crosswise modulus that is not known is taken as that along: the share depends on ratios between layers only.
    let section = laminate.crosswise_at(0.0).unwrap_or_else(|| laminate.section_at(0.0));
    match &job.table.concave {
        None => Across::flat(),
        Some(Concave::Along(points)) => {
            let on_table = points.iter().map(|(s, rise)| (bent.table_at_base(*s), *rise)).collect();
            Across::new(&Concave::Along(on_table), width_mm, &section, job.table.lies)
        }
        Some(wanted) => Across::new(wanted, width_mm, &section, job.table.lies),
    }
}

/// Places along the base that are listed: both ends, the middle, and every pitch from the middle outwards.
pub(crate) fn stations(target: &Curve, pitch_mm: f64) -> Vec<f64> {
    let (from, to) = target.range_mm();
    let mut places = vec![from];
    let first = (from / pitch_mm).ceil();
    let last = (to / pitch_mm).floor();
    let mut i = first;
    while i <= last {
        let s = i * pitch_mm;
        // A station that falls on an end is the end.
        if s - from > 1e-6 && to - s > 1e-6 {
            places.push(s);
        }
        i += 1.0;
    }
    places.push(to);
    places
}
