//! What turns a table that is there into the one that a job designs.

use super::design::{Design, stations};
use crate::calibrate::{ShimOptions, ShimSchedule, boards, shims as schedule, surface_through};
use crate::codes;
use crate::curve::{Curvature, Curve, PlaneCurve, resting_pose};
use crate::finding::{Fault, Faults};
use crate::jig::{self, Marks};
use crate::job::{Frame, Job, KeptBoard};
use crate::rocker::Target;
use crate::units::{LengthUnit, MM_PER_INCH};

/// Largest curvature left by shims, 1/mm: a tenth per metre is a dent of half a millimetre between three stations a
/// hand apart, which a skin of plywood spans without a bump that is seen (our choice, no source).
const MOST_KINK_PER_MM: f64 = 1e-4;
/// Ends of two boards that are the same within this were pressed on the same table, mm.
const SAME_MM: f64 = 0.5;
/// Shims that are proposed where the shop names none, mm: card, veneer and plywood, or fractions of an inch and a card
/// (common practice, no source).
const COMMON_MM: [f64; 5] = [0.3, 0.5, 1.0, 2.0, 5.0];
const COMMON_INCH_MM: [f64; 5] =
    [0.01 * MM_PER_INCH, MM_PER_INCH / 32.0, MM_PER_INCH / 16.0, MM_PER_INCH / 8.0, MM_PER_INCH / 4.0];

/// How the shop wants to correct a table.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Shimming {
    /// Thicknesses of shim, mm; with none, those of the shop's file, else the packing of the job's bearers, else common ones.
    pub thicknesses_mm: Vec<f64>,
    /// Whether wood may be planed off the table too.
    pub planing: bool,
}

/// The shop's last board of this job and of these ends, if it has one: its table is likely to be there still.
pub(crate) fn last_of<'j>(job: &'j Job, target: &Target) -> Option<&'j KeptBoard> {
    let ends = (target.curvature.start_mm(), target.curvature.end_mm());
    let same = |b: &&KeptBoard| {
        let of = b.pressed.finished_mm;
        (of.0 - ends.0).abs() < SAME_MM && (of.1 - ends.1).abs() < SAME_MM
    };
    boards::last_of(job).filter(same)
}

/// The surface of a kept table.
pub(crate) fn surface_of_kept(nodes: &[(f64, f64)]) -> Result<Curvature, Faults> {
    surface_through(nodes).ok_or_else(|| {
        Fault::new(codes::KEPT_BOARD, "shop", "the heights of the kept table make no curve.", "Check its heights.")
            .into()
    })
}

/// What turns the table `built` into `wanted`: at the bearers, else at the stations `read_at` where it was read, so that
/// nothing is asked for between two readings, else at the stations of the job.
pub(crate) fn scheduled(
    design: &Design,
    wishes: &Shimming,
    (built, read_at): (&Curvature, &[f64]),
) -> Result<ShimSchedule, Faults> {
    let Design { job, target, table: wanted, .. } = design;
    let built = resting_pose(&Curve::new(built.clone()), target.anchor_mm);
    let (places, packing, square) = match &job.table.frame {
        Frame::Ribs(_) if !read_at.is_empty() => (read_at.to_vec(), Vec::new(), true),
        Frame::Ribs(_) => {
            let places = stations(&target.curve, job.table.station_pitch_mm);
            let x = places.into_iter().map(|s| wanted.resting.at(wanted.table_at_base(s)).point.x).collect();
            (x, Vec::new(), true)
        }
        Frame::Bearers(bearers) => {
            let marks = Marks { finished_base_mm: wanted.finished_base_mm, stations: Vec::new() };
            let jig = jig::build(&wanted.resting, &marks, &design.demand(), &job.table)?;
            (jig.bearers.iter().map(|b| b.x_mm).collect::<Vec<f64>>(), bearers.packing_mm.clone(), false)
        }
    };
    let reach = |curve: &Curve| {
        let (from, to) = curve.range_mm();
        (curve.at(from).point.x - 1e-6, curve.at(to).point.x + 1e-6)
    };
    let (a, b) = (reach(&built), reach(&wanted.resting));
    let places: Vec<f64> = places.into_iter().filter(|x| *x >= a.0.max(b.0) && *x <= a.1.min(b.1)).collect();
    let of_shop = job.shop.as_ref().map_or(&[][..], |s| &s.shims_mm);
    let common = match job.unit {
        LengthUnit::Millimetre => COMMON_MM,
        LengthUnit::Inch { .. } => COMMON_INCH_MM,
    };
    let named = [&wishes.thicknesses_mm[..], of_shop, &packing].into_iter().find(|t| !t.is_empty());
    let options = ShimOptions {
        thicknesses_mm: named.unwrap_or(&common).to_vec(),
        planing: wishes.planing,
        square,
        most_kink_per_mm: MOST_KINK_PER_MM,
    };
    Ok(ShimSchedule { proposed: named.is_none(), ..schedule(&built, &wanted.resting, &places, &options) })
}
