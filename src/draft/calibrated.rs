//! What a measured board shows, in words and values.

use std::fmt::Write as _;

use serde_json::{Value, json};

use super::json::{checks_json, figure};
use super::learned::{learned_json, learned_line, set_aside_words};
use super::lines::looked_at;
use super::shims::{shims_json, shims_lines};
use crate::calibrate::{BoardFactor, Cause, Known, ShareAt, ShimSchedule};
use crate::finding::Finding;
use crate::job::Job;
use crate::units::{LengthUnit, Quantity, decimal};

/// All that is said about one measured board.
#[derive(Debug, Clone, Copy)]
pub struct Calibrated<'a> {
    /// What the shop calls it.
    pub label: &'a str,
    /// Its factor.
    pub found: &'a BoardFactor,
    /// Hours after release at which it was read, where that was said, and springback then over that of a day after.
    pub read_after: Option<(f64, f64)>,
    /// Shares along it.
    pub shares: &'a [ShareAt],
    /// What the shop knows with it.
    pub known: &'a Known,
    /// Which table it was taken to come off, in words.
    pub table: &'a str,
    /// Whether it is kept without being learned from.
    pub left_out: bool,
    /// What is to be asked and looked at.
    pub checks: &'a [Finding],
    /// What the table needs.
    pub schedule: &'a ShimSchedule,
}

/// What a builder wants to know first of a measured board.
// Long, because it is one list of lines in reading order.
pub(crate) fn calibration_summary(job: &Job, all: &Calibrated<'_>) -> String {
    let mut out = format!("{}: {}\n", job.title, all.label);
    let mut line = |label: &str, words: String| {
        // Writing to a String cannot fail.
        let _ = writeln!(out, "  {label:<10} {words}");
    };
    let found = all.found;
    let (low, high) = found.band();
    line("table", all.table.to_owned());
    line(
        "board",
        format!(
            "{}springback {} times the layers' own (9 in 10: {} to {})",
            if found.factor_per_closing_in > 0.0 { "with closing in as computed, " } else { "" },
            decimal(found.factor, 2),
            decimal(low, 2),
            decimal(high, 2)
        ),
    );
    let how = if found.error_stated { "stated" } else { "estimated" };
    line(
        "readings",
        format!(
            "{}; residual {} times their error of {} ({how})",
            found.rows.len(),
            decimal(found.misfit, 1),
            Quantity::fine(found.error_mm).text(job.unit)
        ),
    );
    if let Some((hours, shown)) = all.read_after {
        line(
            "read",
            format!(
                "{} h after release, where springback is {} of its value after a day (power law of creep)",
                decimal(hours, 2),
                Quantity::share(shown).text(job.unit)
            ),
        );
    }
    line("fit", explained(found, job.unit));
    if !all.shares.is_empty() {
        let percent = |share: f64| decimal(100.0 * share, 1);
        let at = |s: &ShareAt| format!("{} % at {}", percent(s.measured), Quantity::place(s.s_mm).text(job.unit));
        let first = percent(all.shares[0].measured);
        let words = if all.shares.iter().all(|s| percent(s.measured) == first) {
            format!("{first} % all along")
        } else {
            all.shares.iter().map(at).collect::<Vec<_>>().join(", ")
        };
        line("share", format!("{words}; {} % by the layers alone", percent(middle(all.shares))));
    }
    let (label, words) = learned_line(&all.known.learned, all.known.boards.len());
    line(label, words);
    let learned = &all.known.learned;
    if found.factor_per_closing_in > 0.0 {
        let multiple = learned.closing_in.multiple;
        line(
            "closing in",
            format!(
                "{} times the computed value, standard error {}; a board shows closing in and springback together ({} of these \
                 factors for the computed closing in), and only the expected values tell them apart",
                decimal(multiple.value, 2),
                decimal(multiple.sd, 2),
                decimal(found.factor_per_closing_in, 2)
            ),
        );
    }
    let scatter = if learned.scatter_found { "estimated" } else { "assumed" };
    line("scatter", format!("{} from board to board ({scatter})", decimal(learned.scatter, 2)));
    for words in all.known.boards.iter().filter_map(set_aside_words) {
        line("set aside", words);
    }
    if all.left_out {
        line("kept", "but not learned from; see below".to_owned());
    }
    for (label, words) in shims_lines(all.schedule, job.unit) {
        line(label, words);
    }
    out + &looked_at(all.checks, &[], "check this:", job.unit)
}

pub(super) fn middle(shares: &[ShareAt]) -> f64 {
    shares.iter().min_by(|a, b| a.s_mm.abs().total_cmp(&b.s_mm.abs())).map_or(f64::NAN, |s| s.predicted)
}

pub(super) fn explained(found: &BoardFactor, unit: LengthUnit) -> String {
    if let Some(local) = &found.local {
        let bends = if local.angle_rad < 0.0 { "flatter" } else { "more bent" };
        let cause = match local.cause {
            Cause::DrySpot => "look for a dry spot or a void in the glue",
            Cause::LiftOff => "check that the stack lay down on the table",
            Cause::Thickness => "measure the board's thickness and the table's height",
        };
        return format!(
            "one factor does not fit: {bends} by {} ± {} deg about {} from the middle, {} at the end; {cause}",
            decimal(local.angle_rad.abs().to_degrees(), 2),
            decimal(local.deviation_rad.to_degrees(), 2),
            Quantity::place(local.s_mm).text(unit),
            Quantity::fine(local.end_mm.abs()).text(unit)
        );
    }
    if !found.is_springback() {
        return "not springback: the board is more bent than its table; check the table's heights, the datum of the readings, \
                and their unit; thin plies with a water-based glue close in: state it as glue under [pressing]"
            .to_owned();
    }
    if found.is_explained() {
        "one factor fits, within the error of the readings".to_owned()
    } else {
        "one factor fits badly, at no single place; the readings may be less accurate than assumed".to_owned()
    }
}

/// `calibration.json`.
pub(crate) fn calibration_json(all: &Calibrated<'_>, unit: LengthUnit, origin: &str) -> Value {
    let found = all.found;
    let (low, high) = found.band();
    let rows = found.rows.iter().map(|r| {
        json!({
            "station_mm": figure(r.station_mm),
            "s_mm": figure(r.s_mm),
            "height_mm": figure(r.height_mm),
            "explained_mm": figure(r.explained_mm),
            "weight": figure(r.weight),
        })
    });
    let shares = all.shares.iter().map(|s| {
        json!({
            "s_mm": figure(s.s_mm),
            "predicted": figure(s.predicted),
            "measured": figure(s.measured),
            "deviation": figure(s.deviation),
        })
    });
    let local = found.local.map(|l| {
        json!({
            "s_mm": figure(l.s_mm),
            "half_length_mm": figure(l.half_mm),
            "angle_deg": figure(l.angle_rad.to_degrees()),
            "deviation_deg": figure(l.deviation_rad.to_degrees()),
            "at_end_mm": figure(l.end_mm),
            "may_be": match l.cause {
                Cause::DrySpot => "dry spot",
                Cause::LiftOff => "lift-off",
                Cause::Thickness => "thickness or table",
            },
        })
    });
    json!({
        "made_by": origin,
        "board": {
            "label": all.label,
            "hours_after_release": all.read_after.map(|(hours, _)| figure(hours)),
            "springback_then_over_a_day": all.read_after.map(|(_, shown)| figure(shown)),
            "factor": figure(found.factor),
            "factor_p05": figure(low),
            "factor_p95": figure(high),
            "reading_error_mm": figure(found.error_mm),
            "misfit": figure(found.misfit),
            "one_factor_explains": found.is_explained(),
            "left_out": all.left_out,
            "table": all.table,
            "local": local,
            "iterations": found.iterations,
            "readings": rows.collect::<Vec<_>>(),
            "springback_share": shares.collect::<Vec<_>>(),
        },
        "calibration": learned_json(&all.known.learned, &all.known.boards),
        "shims": shims_json(all.schedule),
        "checks": checks_json(all.checks, unit),
    })
}
