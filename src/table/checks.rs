//! Will blank, bag and table do it? Checks of a designed table, each with what to do.

use crate::codes;
use crate::finding::{Finding, Held, Verdict};
use crate::job::{Hold, Pressing};
use crate::laminate::Laminate;
use crate::press::{Load, Pressed, Released, atmosphere_mpa};
use crate::units::{Phrase, Quantity, phrase};

use super::OverbentTable;
use super::carried::{Build, Carried, Fastening, SAG_MM, Sag, Skin, Span};
use super::overbent::largest_gap_mm;
use crate::numeric::between;

/// Gap that glue fills without harm, and one in which it leaves voids, mm: common practice, no source.
const GAP_MM: (f64, f64) = (0.05, 0.5);
/// Error of the board that nobody measures with a straightedge, and one that everybody does, mm: common practice, no
/// source.
const ERROR_MM: (f64, f64) = (0.25, 1.5);
/// What the table may give back under the stack, mm: as the error of the board.
const GIVE_MM: (f64, f64) = (0.25, 1.5);
/// Part of the local atmosphere that shop pumps and bags reach in the long run: common practice, no source.
const PUMP_SHARE: f64 = 0.95;
/// Times the allowed pull at which fasteners are taken to tear out in the end: what is allowed is a fifth of what tears
/// out at once, and wood that is pulled for long bears about six tenths of that (from memory).
const TORN: f64 = 3.0;
/// Pressure that the densest woods are glued with, MPa: Wood Handbook chapter 10 (from memory).
const MOST_GLUING_MPA: f64 = 1.7;
/// Part of a strain limit from which a bend is worth a second look, as for the layers.
const STRAIN_WATCH: f64 = 0.6;

/// Minimum bend radii of dry plywood by thickness: thickness, radius across and along the face grain, all mm. APA, The
/// Engineered Wood Association (three agreeing copies).
const BEND_RADII_MM: [(f64, f64, f64); 6] = [
    (6.4, 610.0, 1524.0),
    (7.9, 610.0, 1829.0),
    (9.5, 915.0, 2438.0),
    (12.7, 1829.0, 3658.0),
    (15.9, 2438.0, 4877.0),
    (19.1, 3658.0, 6096.0),
];

/// Smallest radius to which dry plywood of a thickness bends across its face grain and along it, mm; of the listed
/// thicknesses the next above counts. Thinner panels than listed bend to the same strain (own scaling). `None` beyond the
/// list and for what is no thickness.
pub fn plywood_radius_mm(thickness_mm: f64) -> Option<(f64, f64)> {
    if thickness_mm.is_nan() || thickness_mm <= 0.0 {
        return None;
    }
    // A tenth: panels are sold by rounded thickness.
    let (listed, across, along) = *BEND_RADII_MM.iter().find(|row| row.0 + 0.1 >= thickness_mm)?;
    let thin = if listed == BEND_RADII_MM[0].0 { (thickness_mm / listed).min(1.0) } else { 1.0 };
    Some((across * thin, along * thin))
}

/// All checks of pressing and of the table under it.
pub fn checks(
    bent: &OverbentTable,
    pressing: &Pressing,
    lying: &Laminate,
    build: &Build<'_>,
    carried: &Carried,
) -> Vec<Finding> {
    let mut found = blank_checks(bent, pressing);
    found.extend(skin_bend(bent, build));
    found.extend(skin_sag(carried, build.span));
    found.extend((build.skin.thickness_mm > 0.0).then(|| fasteners(carried, build.span)));
    found.extend(give(carried));
    found.extend(void(&bent.pressed, bent.finished_table_mm, &bent.load, lying));
    found
}

/// Those of all checks that need no jig.
pub(crate) fn checks_without_jig(bent: &OverbentTable, pressing: &Pressing, lying: &Laminate) -> Vec<Finding> {
    let mut found = blank_checks(bent, pressing);
    found.extend(void(&bent.pressed, bent.finished_table_mm, &bent.load, lying));
    found
}

/// The checks of the board, its blank and what presses it.
fn blank_checks(bent: &OverbentTable, pressing: &Pressing) -> Vec<Finding> {
    let mut found = curve_checks(bent);
    found.extend(overhangs(bent, &bent.load));
    found.extend(pressing_checks(bent, pressing));
    found
}

/// Those of them that need no search.
pub(crate) fn quick_checks(bent: &OverbentTable, pressing: &Pressing) -> Vec<Finding> {
    let mut found = curve_checks(bent);
    found.extend(pressing_checks(bent, pressing));
    found
}

fn curve_checks(bent: &OverbentTable) -> Vec<Finding> {
    vec![gap(bent.largest_gap_mm()), left_over(bent)]
}

fn pressing_checks(bent: &OverbentTable, pressing: &Pressing) -> Vec<Finding> {
    let mut found = Vec::from_iter(pressure(&pressing.hold));
    found.extend(unusual_pressure(&pressing.hold, &bent.load, bent.blank.tip_mm - bent.blank.tail_mm));
    found.extend(cure(pressing));
    found
}

/// The checks of a stack on an existing table: how it lies on it between the ends `finished_mm` (along its face on the
/// table), voids in its glue, pressure and cure.
pub(crate) fn lying_checks(
    (pressed, released): (&Pressed, &Released),
    finished_mm: (f64, f64),
    pressing: &Pressing,
    load: &Load,
    lying: &Laminate,
) -> Vec<Finding> {
    let table: Vec<f64> = pressed.stations.iter().map(|s| s.table_mm).collect();
    let on_table = |face_mm: f64| between(&released.base_mm, &table, face_mm);
    let ends = (on_table(finished_mm.0), on_table(finished_mm.1));
    let blank_mm = pressed.stations.last().map_or(0.0, |s| s.blank_mm) - pressed.stations[0].blank_mm;
    let mut found = vec![gap(largest_gap_mm(pressed, ends))];
    found.extend(pressure(&pressing.hold));
    found.extend(unusual_pressure(&pressing.hold, load, blank_mm));
    found.extend(cure(pressing));
    found.extend(void(pressed, ends, load, lying));
    found
}

/// The check of what an existing table leaves of the wanted board.
pub(crate) fn left_over_there(error_mm: f64) -> Finding {
    codes::LEFT_OVER
        .check("predicted board beside the wanted one", Verdict::over(error_mm, ERROR_MM, Quantity::fine))
        .with_remedy("Correct the table (`overbend shims`), take another stack, or build a table of its own.")
}

fn gap((gap_mm, at_mm): (f64, f64)) -> Finding {
    codes::BAG_GAP.check(
        phrase!("gap under the board, {} from the middle of the table", Quantity::place(at_mm)),
        Verdict::over(gap_mm, GAP_MM, Quantity::fine),
    )
}

fn left_over(bent: &OverbentTable) -> Finding {
    codes::LEFT_OVER
        .check(
            phrase!("predicted board beside the wanted one, {} from the middle", Quantity::place(bent.error_at_mm)),
            Verdict::over(bent.error_mm, ERROR_MM, Quantity::fine),
        )
        .with_remedy(match longer_ends(bent) {
            ends if ends.is_empty() => "Press harder, use thinner plies, or ease the ends.".into(),
            ends => phrase!(
                "Lengthen the blank (overhang of {}), press harder, use thinner plies, or ease the ends.",
                Phrase::join(ends, ", ")
            ),
        })
}

/// The overhangs that would hold the board all along, of the ends that have less.
fn longer_ends(bent: &OverbentTable) -> Vec<Phrase> {
    let short = overhangs_mm(bent).into_iter().filter(|(_, has_mm, needed_mm)| has_mm < needed_mm);
    short.map(|(end, _, needed_mm)| phrase!("{} at the {}", Quantity::fine(needed_mm.ceil()), end)).collect()
}

/// For each end its name, the blank beyond the finished board, and how much of it would lie down all along, mm.
fn overhangs_mm(bent: &OverbentTable) -> [(&'static str, f64, f64); 2] {
    let (base, blank) = (bent.pressed.stations.len() - 1, &bent.blank);
    let stations = &bent.pressed.stations;
    let on_blank = |table_mm: f64| {
        let i = stations.partition_point(|s| s.table_mm < table_mm).clamp(1, base);
        let (a, b) = (stations[i - 1], stations[i]);
        a.blank_mm + (b.blank_mm - a.blank_mm) * (table_mm - a.table_mm) / (b.table_mm - a.table_mm)
    };
    let has = (on_blank(bent.finished_table_mm.0) - blank.tail_mm, blank.tip_mm - on_blank(bent.finished_table_mm.1));
    // Rounding is no overhang.
    let real = |mm: f64| if mm < 1e-6 { 0.0 } else { mm };
    [("tail", real(has.0), bent.overhang_needed_mm.0), ("tip", real(has.1), bent.overhang_needed_mm.1)]
}

fn overhangs(bent: &OverbentTable, load: &Load) -> Vec<Finding> {
    if load.matched {
        return Vec::new();
    }
    let check = |(end, has_mm, needed_mm): (&str, f64, f64)| {
        // The search under clamps knows its answer to 2 mm.
        let enough_mm = (needed_mm - if load.forces.is_empty() { 0.5 } else { 2.0 }).max(0.0);
        let short = has_mm < enough_mm;
        codes::BLANK_OVERHANG
            .check(
                phrase!("blank beyond the {}", end),
                (
                    if short { Verdict::Watch } else { Verdict::Ok },
                    Held::at_least(Quantity::fine(has_mm), Quantity::fine(enough_mm)),
                ),
            )
            .with_remedy(if short {
                let clamps = if load.forces.is_empty() { "" } else { ", with the outermost clamp moved out as far" };
                phrase!(
                    "An overhang of {}{} holds it all the way; the shorter blank leaves {} more on the finished board.",
                    Quantity::fine(needed_mm.ceil()),
                    clamps,
                    Quantity::fine(bent.overhang_leaves_mm)
                )
            } else {
                Phrase::default()
            })
    };
    overhangs_mm(bent).into_iter().map(check).collect()
}

fn pressure(hold: &Hold) -> Option<Finding> {
    let Hold::Vacuum { reading_mpa, altitude_m, .. } = hold else { return None };
    let local = atmosphere_mpa(*altitude_m);
    let asked = reading_mpa.unwrap_or(local);
    Some(
        codes::PRESSURE_LIMIT
            .check(
                phrase!("vacuum at {} above sea level", Quantity::altitude(*altitude_m)),
                Verdict::over(
                    asked,
                    // Full vacuum is asked for on purpose; only a reading can be more than there is.
                    (local * if reading_mpa.is_some() { PUMP_SHARE } else { 1.0 }, local * (1.0 + 1e-9)),
                    Quantity::pressure,
                ),
            )
            .with_remedy(phrase!(
                "The air there presses with {} at most: look at the gauge and the altitude.",
                Quantity::pressure(local)
            )),
    )
}

/// A mean pressure beyond what weights or wood have: a bag cannot have it, and is refused before.
fn unusual_pressure(hold: &Hold, load: &Load, blank_mm: f64) -> Option<Finding> {
    let most_mpa = match hold {
        Hold::Vacuum { .. } => return None,
        // Ten tonnes on a square metre.
        Hold::Weights { .. } => atmosphere_mpa(0.0),
        Hold::Press { .. } | Hold::Clamps { .. } => MOST_GLUING_MPA,
    };
    let forces_n_per_mm: f64 = load.forces.iter().map(|f| f.force_n_per_mm).sum();
    let mean_mpa = load.pressure_mpa + forces_n_per_mm / blank_mm;
    (mean_mpa > most_mpa).then(|| {
        codes::PRESSURE_UNUSUAL.check(
            "mean pressure on the blank",
            (Verdict::Watch, Held::at_most(Quantity::pressure(mean_mpa), Quantity::pressure(most_mpa))),
        )
    })
}

fn cure(pressing: &Pressing) -> Vec<Finding> {
    let Some(resin) = pressing.resin else { return Vec::new() };
    let check = |limit: Option<f64>, hold: fn(Quantity, Quantity) -> Held, remedy: &str| {
        let held = hold(Quantity::temperature(resin.cure_c), Quantity::temperature(limit?));
        let outside = !held.is_kept();
        Some(
            codes::CURE_TEMPERATURE
                .check(
                    "temperature of the glue lines while they cure",
                    (if outside { Verdict::Stop } else { Verdict::Ok }, held),
                )
                .with_remedy(remedy),
        )
    };
    let cold = check(resin.least_c, Held::at_least, "Warm the table or the room, or use a faster hardener.");
    let warm = check(resin.most_c, Held::at_most, "Cure cooler and longer, or use a resin for that heat.");
    cold.into_iter().chain(warm).collect()
}

fn skin_bend(bent: &OverbentTable, build: &Build<'_>) -> Option<Finding> {
    let sheet_mm = build.skin.sheet_mm();
    if sheet_mm <= 0.0 {
        return None;
    }
    let (low, high) = bent.surface.extremes();
    let sharper = |a: (f64, f64), b: (f64, f64)| if b.1.abs() > a.1.abs() { b } else { a };
    let (at_mm, k) = build.edges.into_iter().flatten().fold(sharper(high, low), sharper);
    if k == 0.0 {
        return None;
    }
    let what = if build.skin.sheets.count == 1 { "the table skin" } else { "each sheet of the table skin" };
    let subject = |figure: &str| phrase!("{} of {}, {} from the middle", figure, what, Quantity::place(at_mm));
    if let Some(limit) = build.skin.material.and_then(|m| m.strain_limit) {
        let strain = |sheet_mm: f64| 0.5 * sheet_mm * k.abs();
        let (verdict, held) = Verdict::over(strain(sheet_mm), (STRAIN_WATCH * limit, limit), Quantity::share);
        let remedy = match verdict {
            Verdict::Ok => Phrase::default(),
            _ => {
                let thinner = thinner_sheets(build.skin, |sheet_mm| strain(sheet_mm) <= STRAIN_WATCH * limit);
                phrase!("Turn the grain, use a more flexible sheet, or {}.", thinner)
            }
        };
        return Some(codes::SKIN_STRAIN.check(subject("strain"), (verdict, held)).with_remedy(remedy));
    }
    let (across, along) = plywood_radius_mm(sheet_mm)?;
    let (verdict, held) = Verdict::under(1.0 / k.abs(), (along, across), Quantity::fine);
    let bends = |sheet_mm: f64| plywood_radius_mm(sheet_mm).is_some_and(|(_, along)| 1.0 / k.abs() >= along);
    let remedy = match verdict {
        Verdict::Ok => Phrase::default(),
        Verdict::Watch => {
            phrase!("If it is plywood, run its face grain across the board, or {}.", thinner_sheets(build.skin, bends))
        }
        Verdict::Stop => {
            phrase!("Name the sheet as `table.skin_material`, or {}.", thinner_sheets(build.skin, bends))
        }
    };
    Some(codes::SKIN_RADIUS.check(subject("radius"), (verdict, held)).with_remedy(remedy))
}

/// The fewest sheets of a skin as thick as this one that bend as `bends` asks of one sheet's thickness, mm, as advice.
fn thinner_sheets(skin: Skin<'_>, bends: impl Fn(f64) -> bool) -> Phrase {
    let now = skin.sheets.count;
    let found = (now + 1..=MOST_SHEETS).find(|count| bends(skin.thickness_mm / *count as f64));
    match found {
        Some(count) => phrase!(
            "bend {} sheets of {} over each other (`table.skin_sheets` = {})",
            Quantity::count(count as f64),
            Quantity::fine(skin.thickness_mm / count as f64),
            Quantity::count(count as f64)
        ),
        None => "make the skin thinner".into(),
    }
}

/// Most sheets of a skin that are advised.
const MOST_SHEETS: usize = 4;

fn skin_sag(carried: &Carried, span: Span) -> Option<Finding> {
    let Sag { clear_mm, sag_mm, widest_mm } = carried.sag?;
    let supports = span.supports();
    Some(
        codes::SKIN_SAG
            .check(
                phrase!("sag of the table skin between {} {} apart", supports, Quantity::fine(clear_mm)),
                Verdict::over(sag_mm, SAG_MM, Quantity::fine),
            )
            .with_remedy(phrase!(
                "Leave at most {} between {}, or use a thicker skin.",
                Quantity::fine(widest_mm.floor()),
                supports
            )),
    )
}

fn give(carried: &Carried) -> Option<Finding> {
    let (tail, tip) = carried.gives_mm?;
    Some(codes::TABLE_STIFFNESS.check(
        "deflection of the table's ends under the bent stack",
        Verdict::over(tail.abs().max(tip.abs()), GIVE_MM, Quantity::fine),
    ))
}

fn fasteners(carried: &Carried, span: Span) -> Finding {
    let Fastening { allowed_n, pitch_mm, stated, widest_mm, pull_n } = carried.fastening;
    let supports = span.supports();
    // Where the shop has not said how it fastens there is nothing to stop yet.
    let most = if stated { TORN * allowed_n } else { f64::INFINITY };
    codes::FASTENER_PULL
        .check(
            phrase!(
                "pull on a fastener of the skin, {} apart on the {}, {} from the middle",
                Quantity::fine(pitch_mm),
                supports,
                Quantity::place(pull_n.table_mm)
            ),
            Verdict::over(pull_n.value, (allowed_n, most), Quantity::force),
        )
        .with_remedy(match widest_mm {
            Some(pitch) => phrase!("Set them {} apart.", Quantity::fine(pitch)),
            None => phrase!(
                "Glue the skin to the {} as well, use stronger fasteners or more {}, or make the skin of thinner sheets \
                 (`table.skin_sheets`).",
                supports,
                supports
            ),
        })
}

fn void(pressed: &Pressed, finished_table_mm: (f64, f64), load: &Load, lying: &Laminate) -> Option<Finding> {
    let found = match pressed.largest_void(lying, load, finished_table_mm) {
        Ok(found) => found?,
        Err(reason) => {
            let subject = phrase!("gap between layers, which could not be computed ({})", format!("{reason:?}"));
            let finding = codes::GLUE_VOID.verdict(subject, Verdict::Watch);
            return Some(finding.with_remedy("Press a test piece and cut it open near its end."));
        }
    };
    let names = lying.sliding_names();
    Some(codes::GLUE_VOID.check(
        phrase!(
            "gap above {}, layer {} from the table, {} from the middle of the table",
            *names.get(found.above).unwrap_or(&"the layer"),
            found.above + 1,
            Quantity::place(found.table_mm)
        ),
        Verdict::over(found.gap_mm, GAP_MM, Quantity::fine),
    ))
}

#[cfg(test)]
mod tests;
