//! Whether every part fits the machine.

use crate::codes;
use crate::drawing::Part;
use crate::finding::{Finding, Held, Verdict};
use crate::jig::FlatPart;
use crate::job::Job;
use crate::units::{Quantity, phrase};

/// Length and width of the part that comes nearest to what the machine takes, or goes beyond it, each with its limit.
pub(super) fn findings(job: &Job, parts: &[FlatPart]) -> Vec<Finding> {
    let Some(machine) = &job.machine else { return Vec::new() };
    let limits_mm = machine.largest_part_mm(job.table.cutting.cutter_mm, &job.stock);
    let sizes: Vec<(f64, f64, &str)> = parts
        .iter()
        .filter_map(|flat| {
            let bounds = flat.part.outline()?.bounds();
            let (a, b) = (bounds.width(), bounds.height());
            Some((a.max(b), a.min(b), flat.part.title.as_str()))
        })
        .collect();
    let long = sizes.iter().map(|s| (s.0, s.2)).max_by(|a, b| a.0.total_cmp(&b.0));
    let wide = sizes.iter().map(|s| (s.1, s.2)).max_by(|a, b| a.0.total_cmp(&b.0));
    [("length", long, limits_mm.0), ("width", wide, limits_mm.1)]
        .into_iter()
        .filter(|(_, _, limit_mm)| limit_mm.is_finite())
        .filter_map(|(what, worst, limit_mm)| {
            let (size_mm, title) = worst?;
            let held = Verdict::over(size_mm, (limit_mm, f64::INFINITY), Quantity::length);
            Some(codes::MACHINE_FITS.check(phrase!("{} of {} on the machine", what, title), held))
        })
        .collect()
}

/// The check for parts that lie on whole sheets only, not on what fits the bed.
pub(super) fn left_out(first: &Part, count: usize) -> Finding {
    let subject = phrase!("parts that are laid out on no sheet that fits the bed, such as {}", &first.title);
    let [count, none] = [count as f64, 0.0].map(Quantity::count);
    codes::MACHINE_FITS.check(subject, (Verdict::Watch, Held::at_most(count, none)))
}
