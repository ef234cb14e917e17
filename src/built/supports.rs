//! What carries the stack, for the checks of the table.

use crate::jig::Jig;
use crate::job::{Frame, Job};
use crate::table::{self, Skin, Span};
use crate::units::{LengthUnit, MM_PER_INCH};

/// What carries the stack, for the checks of the table.
pub(super) fn carrying<'j>(job: &'j Job, jig: &Jig, ribs_mm4: &'j [(f64, f64)]) -> table::Build<'j> {
    let mut places: Vec<f64> = jig.ribs.iter().map(|r| r.y_mm).collect();
    places.sort_by(f64::total_cmp);
    let widest = |places: &[f64]| places.windows(2).map(|w| w[1] - w[0]).reduce(f64::max);
    let bearers: Vec<f64> = jig.bearers.iter().map(|b| b.x_mm).collect();
    let (spacing, thickness_mm, all_mm, span) = match &job.table.frame {
        Frame::Ribs(_) => (widest(&places), jig.rib_thickness_mm, table::width_over_all_mm(&job.board), Span::Across),
        Frame::Bearers(b) => (widest(&bearers), b.thickness_mm, job.board.length_mm, Span::Along),
    };
    table::Build {
        skin: Skin::of(&job.table),
        edges: jig.across.edge_curvature(jig.width_mm, jig.surface.curvature()).map(|k| k.extremes().into()),
        ribs_mm4,
        ribs: job.table.rib_material.as_ref(),
        clear_mm: spacing.map(|p| p - thickness_mm),
        spacing_mm: spacing.unwrap_or(all_mm),
        pitch_step_mm: match job.unit {
            LengthUnit::Millimetre => 5.0,
            LengthUnit::Inch { .. } => 0.25 * MM_PER_INCH,
        },
        span,
        fasteners: job.table.fasteners,
    }
}
