//! Will blank, bag and table do it? Checks of a designed table, each with what would mend it.

use crate::finding::{Finding, Verdict};
use crate::job::{Below, Board, Hold, Material, Pressing};
use crate::laminate::Laminate;
use crate::press::{Load, atmosphere_mpa};

use super::OverbentTable;

/// What the table is made of, as far as it is known when the stack is laid on it.
#[derive(Debug, Clone, Copy)]
pub struct Build<'a> {
    /// Thickness of the skin, mm.
    pub skin_mm: f64,
    /// What the skin is, its modulus along the board, where stated.
    pub skin: Option<&'a Material>,
    /// Second moment of area of all ribs together where they are lowest, mm⁴; `None` for a table without ribs.
    pub ribs_mm4: Option<f64>,
    /// What the ribs are, where stated.
    pub ribs: Option<&'a Material>,
    /// Largest clear distance between the supports of the skin, mm, where there are several.
    pub clear_mm: Option<f64>,
    /// Which way the skin spans between them.
    pub span: Span,
}

/// Modulus taken for sheets that are not stated: medium-density fibreboard, the softest of the usual stock, 3.6 GPa
/// (Wood Handbook, Table 12-1, from memory).
const SOFT_SHEET_MPA: f64 = 3_600.0;
/// Gap that glue fills without harm, and one that starves the joint, mm: common practice, no source.
const GAP_MM: (f64, f64) = (0.05, 0.5);
/// Error of the board that nobody measures with a straightedge, and one that everybody does, mm: common practice, no
/// source.
const ERROR_MM: (f64, f64) = (0.25, 1.5);
/// What the table may give back under the stack, mm: as the error of the board.
const GIVE_MM: (f64, f64) = (0.25, 1.5);
/// Sag of the skin between ribs that shows in a base, and one that is felt, mm: common practice, no source.
const SAG_MM: (f64, f64) = (0.1, 0.5);
/// Part of the local atmosphere that shop pumps and bags reach in the long run: common practice, no source.
const PUMP_SHARE: f64 = 0.95;
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

/// Pressure between the ribs that the table's skin has to carry, MPa.
///
/// Under a bag that is sealed to the skin of an open table the air presses from below as hard as the stack from above,
/// and nothing is left to carry where the stack lies down.
pub fn skin_pressure_mpa(hold: &Hold, load: &Load) -> f64 {
    match hold {
        Hold::Vacuum { below: Below::Air, .. } => 0.0,
        _ => load.pressure_mpa,
    }
}

/// All checks of pressing and of the table under it.
pub fn checks(
    bent: &OverbentTable,
    board: &Board,
    pressing: &Pressing,
    lying: &Laminate,
    build: &Build<'_>,
) -> Vec<Finding> {
    let load = &bent.load;
    let mut found = vec![gap(bent), left_over(bent)];
    found.extend(overhangs(bent, load));
    found.extend(pressure(&pressing.hold));
    found.extend(unusual_pressure(&pressing.hold, load, bent.blank.tip_mm - bent.blank.tail_mm));
    found.extend(cure(pressing));
    found.extend(skin_bend(bent, build));
    found.extend(skin_sag(&pressing.hold, load, lying, build));
    found.extend(give(bent, board, build));
    found.extend(void(bent, load, lying));
    found
}

/// Verdict and the limit to show for a value with a limit for each verdict.
fn judge(value: f64, limits: (f64, f64)) -> (Verdict, f64) {
    if value > limits.1 {
        (Verdict::Stop, limits.1)
    } else if value > limits.0 {
        (Verdict::Watch, limits.0)
    } else {
        (Verdict::Ok, limits.0)
    }
}

fn finding(
    code: &'static str,
    subject: impl Into<String>,
    value: f64,
    limits: (f64, f64),
    unit: &'static str,
    source: &'static str,
    remedy: impl Into<String>,
) -> Finding {
    let (verdict, limit) = judge(value, limits);
    let remedy = if verdict == Verdict::Ok { String::new() } else { remedy.into() };
    Finding { code, subject: subject.into(), value, limit, unit, verdict, source, remedy }
}

const PRACTICE: &str = "common practice, no source";

fn gap(bent: &OverbentTable) -> Finding {
    let (gap_mm, at_mm) = bent.largest_gap_mm();
    finding(
        "bag-gap",
        format!("gap under the board, {at_mm:.0} mm from the middle of the table"),
        gap_mm,
        GAP_MM,
        "mm",
        PRACTICE,
        "Press harder, use thinner plies, lengthen the blank, or ease the rocker there.",
    )
}

fn left_over(bent: &OverbentTable) -> Finding {
    finding(
        "left-over",
        format!("predicted board beside the wanted one, {:.0} mm from the middle", bent.error_at_mm),
        bent.error_mm,
        ERROR_MM,
        "mm",
        PRACTICE,
        format!(
            "Lengthen the blank (overhang of {:.0} mm at the tail, {:.0} mm at the tip), press harder, use thinner \
             plies, or ease the ends.",
            bent.overhang_needed_mm.0.ceil(),
            bent.overhang_needed_mm.1.ceil()
        ),
    )
}

fn overhangs(bent: &OverbentTable, load: &Load) -> Vec<Finding> {
    // Clamps at stations hold where they are; how much blank they need is for the left-over to say.
    if !load.forces.is_empty() || load.matched {
        return Vec::new();
    }
    let (base, blank) = (bent.pressed.stations.len() - 1, &bent.blank);
    let stations = &bent.pressed.stations;
    let on_blank = |table_mm: f64| {
        let i = stations.partition_point(|s| s.table_mm < table_mm).clamp(1, base);
        let (a, b) = (stations[i - 1], stations[i]);
        a.blank_mm + (b.blank_mm - a.blank_mm) * (table_mm - a.table_mm) / (b.table_mm - a.table_mm)
    };
    let has = (on_blank(bent.finished_table_mm.0) - blank.tail_mm, blank.tip_mm - on_blank(bent.finished_table_mm.1));
    let ends = [("tail", has.0, bent.overhang_needed_mm.0), ("tip", has.1, bent.overhang_needed_mm.1)];
    let check = |(end, has_mm, needed_mm): (&str, f64, f64)| {
        let short = has_mm + 0.5 < needed_mm;
        Finding {
            code: "blank-overhang",
            subject: format!("blank beyond the {end}"),
            value: has_mm,
            limit: needed_mm,
            unit: "mm",
            verdict: if short { Verdict::Watch } else { Verdict::Ok },
            source: "moment that a free end cannot hold",
            remedy: if short {
                format!("An overhang of {:.0} mm lies down all the way.", needed_mm.ceil())
            } else {
                String::new()
            },
        }
    };
    ends.into_iter().map(check).collect()
}

fn pressure(hold: &Hold) -> Option<Finding> {
    let Hold::Vacuum { reading_mpa, altitude_m, .. } = hold else { return None };
    let local = atmosphere_mpa(*altitude_m);
    let asked = reading_mpa.unwrap_or(local);
    Some(finding(
        "pressure-limit",
        format!("vacuum at {altitude_m:.0} m over the sea"),
        1e3 * asked,
        // Full vacuum is asked for on purpose; only a reading can be more than there is.
        (1e3 * local * if reading_mpa.is_some() { PUMP_SHARE } else { 1.0 }, 1e3 * local * (1.0 + 1e-9)),
        "kPa",
        "ISO 2533 standard atmosphere; pumps reach 95 % of it in the long run (common practice)",
        format!("The air there presses with {:.1} kPa at most: look at the gauge and the altitude.", 1e3 * local),
    ))
}

/// A mean pressure beyond what weights or wood have: a bag cannot have it, and is refused before.
fn unusual_pressure(hold: &Hold, load: &Load, blank_mm: f64) -> Option<Finding> {
    let (most_mpa, source) = match hold {
        Hold::Vacuum { .. } => return None,
        Hold::Weights { .. } => (atmosphere_mpa(0.0), "ten tonnes on a square metre: one atmosphere, ISO 2533"),
        Hold::Press { .. } | Hold::Clamps { .. } => {
            (MOST_GLUING_MPA, "gluing pressure of the densest woods, Wood Handbook chapter 10 (from memory)")
        }
    };
    let forces_n_per_mm: f64 = load.forces.iter().map(|f| f.force_n_per_mm).sum();
    let mean_mpa = load.pressure_mpa + forces_n_per_mm / blank_mm;
    (mean_mpa > most_mpa).then(|| Finding {
        code: "pressure-unusual",
        subject: "mean pressure on the blank".to_owned(),
        value: 1e3 * mean_mpa,
        limit: 1e3 * most_mpa,
        unit: "kPa",
        verdict: Verdict::Watch,
        source,
        remedy: "Look at mass, force or pressure and its unit; too much pressure crushes a light core.".to_owned(),
    })
}

fn cure(pressing: &Pressing) -> Vec<Finding> {
    let Some(resin) = pressing.resin else { return Vec::new() };
    let check = |limit: Option<f64>, out: fn(f64, f64) -> bool, remedy: &str| {
        let limit = limit?;
        let outside = out(resin.cure_c, limit);
        Some(Finding {
            code: "cure-temperature",
            subject: "temperature of the glue lines while they cure".to_owned(),
            value: resin.cure_c,
            limit,
            unit: "°C",
            verdict: if outside { Verdict::Stop } else { Verdict::Ok },
            source: "the resin's sheet, as stated in the job",
            remedy: if outside { remedy.to_owned() } else { String::new() },
        })
    };
    let cold = check(resin.least_c, |t, limit| t < limit, "Warm the table or the room, or use a faster hardener.");
    let warm = check(resin.most_c, |t, limit| t > limit, "Cure cooler and longer, or use a resin for that heat.");
    cold.into_iter().chain(warm).collect()
}

fn skin_bend(bent: &OverbentTable, build: &Build<'_>) -> Option<Finding> {
    if build.skin_mm <= 0.0 {
        return None;
    }
    let (low, high) = bent.surface.extremes();
    let (at_mm, k) = if low.1.abs() > high.1.abs() { low } else { high };
    if k == 0.0 {
        return None;
    }
    let subject = format!("table skin, {at_mm:.0} mm from the middle");
    if let Some(limit) = build.skin.and_then(|m| m.strain_limit) {
        let limit = 100.0 * limit;
        let mut found = finding(
            "skin-strain",
            subject,
            50.0 * build.skin_mm * k.abs(),
            (STRAIN_WATCH * limit, limit),
            "%",
            "strain limit of the material",
            "Bend two thinner sheets over each other, turn the grain, or use a more pliant sheet.",
        );
        found.limit = limit;
        return Some(found);
    }
    let (across, along) = plywood_radius_mm(build.skin_mm)?;
    let radius = 1.0 / k.abs();
    let verdict = if radius < across {
        Verdict::Stop
    } else if radius < along {
        Verdict::Watch
    } else {
        Verdict::Ok
    };
    let remedy = match verdict {
        Verdict::Ok => "",
        Verdict::Watch => "If it is plywood, run its face grain across the board, or bend two thinner sheets.",
        Verdict::Stop => "Bend two thinner sheets over each other, or name the sheet as `table.skin_material`.",
    };
    Some(Finding {
        code: "skin-radius",
        subject,
        value: radius,
        limit: if verdict == Verdict::Stop { across } else { along },
        unit: "mm",
        verdict,
        source: "APA minimum bend radii of dry plywood, thinner panels at the same strain",
        remedy: remedy.to_owned(),
    })
}

/// Which way the skin spans from one support to the next.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Span {
    /// Across the board, between ribs.
    Across,
    /// Along the board, between bearers.
    Along,
}

/// Widest clear distance between supports that handling the table allows where its skin carries no pressure, mm: a hand
/// that leans on the skin is not to dent it (common practice, no source).
const HANDLING_MM: f64 = 150.0;

/// Widest clear distance between the supports of a skin of `skin_mm` at which its sag does not show, mm; at most
/// [`HANDLING_MM`].
pub fn widest_clear_mm(
    hold: &Hold,
    load: &Load,
    lying: &Laminate,
    skin_mm: f64,
    skin: Option<&Material>,
    span: Span,
) -> f64 {
    let per_mm4 = sag_per_mm4(hold, load, lying, skin_mm, skin, span);
    // Without pressure the distance is infinite, without skin and stack zero; both are bounded here.
    (SAG_MM.0 / per_mm4).powf(0.25).min(HANDLING_MM)
}

/// Sag of the skin over the fourth power of its clear span, 1/mm³: built in over its supports, w s⁴/(384 E I) (standard
/// beam tables). The wet layers on it bend with it.
fn sag_per_mm4(hold: &Hold, load: &Load, lying: &Laminate, skin_mm: f64, skin: Option<&Material>, span: Span) -> f64 {
    let (modulus, stack) = match span {
        Span::Across => (
            skin.map_or(SOFT_SHEET_MPA, |m| m.cross_modulus_mpa.unwrap_or(m.modulus_mpa.value)),
            lying.crosswise_at(0.0).map_or(0.0, |s| s.wet_stiffness_n_mm),
        ),
        Span::Along => (skin.map_or(SOFT_SHEET_MPA, |m| m.modulus_mpa.value), lying.section_at(0.0).wet_stiffness_n_mm),
    };
    skin_pressure_mpa(hold, load) / (384.0 * (modulus * skin_mm.powi(3) / 12.0 + stack))
}

fn skin_sag(hold: &Hold, load: &Load, lying: &Laminate, build: &Build<'_>) -> Option<Finding> {
    let clear = build.clear_mm.filter(|_| build.skin_mm > 0.0)?;
    let per_mm4 = sag_per_mm4(hold, load, lying, build.skin_mm, build.skin, build.span);
    let clear_for = |sag_mm: f64| (sag_mm / per_mm4).powf(0.25);
    let supports = match build.span {
        Span::Across => "ribs",
        Span::Along => "bearers",
    };
    Some(finding(
        "skin-sag",
        format!("table skin between {supports} {clear:.0} mm apart"),
        per_mm4 * clear.powi(4),
        SAG_MM,
        "mm",
        PRACTICE,
        format!("Leave at most {:.0} mm between {supports}, or use a thicker skin.", clear_for(SAG_MM.0).floor()),
    ))
}

fn give(bent: &OverbentTable, board: &Board, build: &Build<'_>) -> Option<Finding> {
    let second_moment = build.ribs_mm4.filter(|i| *i > 0.0)?;
    let modulus = build.ribs.map_or(SOFT_SHEET_MPA, |m| m.modulus_mpa.value);
    // Turn and sink of the finished ends under the moments of the stack, seen from the middle.
    let mut worst: f64 = 0.0;
    let moments = bent.moments_n();
    for (end, sign) in [(bent.finished_table_mm.1, 1.0), (bent.finished_table_mm.0, -1.0)] {
        let mut sink = 0.0;
        for w in moments.windows(2) {
            let (a, b) = (sign * w[0].0, sign * w[1].0);
            let (from, to) = (a.min(b).max(0.0), a.max(b).min(sign * end));
            if to > from {
                let turn = 0.5 * (w[0].1 + w[1].1) * board.width_mm / (modulus * second_moment) * (to - from);
                sink += turn * (sign * end - 0.5 * (from + to));
            }
        }
        worst = worst.max(sink.abs());
    }
    Some(finding(
        "table-stiffness",
        "ends of the table under the bent stack",
        worst,
        GIVE_MM,
        "mm",
        PRACTICE,
        "Use more, higher or thicker ribs, or close the table to a box.",
    ))
}

fn void(bent: &OverbentTable, load: &Load, lying: &Laminate) -> Option<Finding> {
    let source = "layers as strips of their own under the same pressure; what glue fills is common practice, no source";
    let found = match bent.pressed.largest_void_mm(lying, load, bent.finished_table_mm) {
        Ok(found) => found?,
        Err(reason) => {
            return Some(Finding {
                code: "glue-void",
                subject: format!("gap between layers, which could not be computed ({reason:?})"),
                value: 0.0,
                limit: GAP_MM.0,
                unit: "mm",
                verdict: Verdict::Watch,
                source,
                remedy: "Press a test piece and cut it open near its end.".to_owned(),
            });
        }
    };
    Some(finding(
        "glue-void",
        format!("gap above the layer on the table, {:.0} mm from the middle of the table", found.1),
        found.0,
        GAP_MM,
        "mm",
        source,
        "Lengthen the blank, press harder, or hold its ends down with a batten.",
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::curve::Curvature;
    use crate::job::{ClampPlaces, Layer, LengthAlong, MaterialKind, ResinCure};
    use crate::table::{overbend, setup};

    fn layer(thickness_mm: f64, modulus_mpa: f64) -> Layer {
        Layer::flat("layer", Material::of_modulus("given", MaterialKind::WoodAlong, modulus_mpa), thickness_mm)
    }

    fn board(overhang_mm: f64) -> Board {
        Board {
            length_mm: 1400.0,
            length_along: LengthAlong::Base,
            width_mm: 300.0,
            overhang_tip_mm: overhang_mm,
            overhang_tail_mm: overhang_mm,
        }
    }

    fn bag(reading_mpa: f64, altitude_m: f64, below: Below) -> Pressing {
        let hold = Hold::Vacuum { reading_mpa: Some(reading_mpa), altitude_m, below };
        Pressing { hold, cure_above_room_k: 0.0, resin: None }
    }

    fn build() -> Build<'static> {
        Build {
            skin_mm: 4.0,
            skin: None,
            ribs_mm4: Some(6.0 * 18.0 * 80_f64.powi(3) / 12.0),
            ribs: None,
            clear_mm: Some(90.0),
            span: Span::Across,
        }
    }

    fn found(radius_mm: f64, board: &Board, pressing: &Pressing, build: &Build<'_>) -> Vec<Finding> {
        let laminate =
            Laminate::new(&[layer(0.8, 2e4), layer(4.0, 1e4), layer(4.0, 1e4), layer(0.8, 2e4)], 0.0).unwrap();
        let target = Curvature::constant(-700.0, 700.0, 1.0 / radius_mm).unwrap();
        let bent = overbend(&target, 0.0, &laminate, &setup(board, pressing, &laminate, 30.0)).unwrap();
        checks(&bent, board, pressing, &laminate, build)
    }

    #[track_caller]
    fn of<'f>(found: &'f [Finding], code: &str) -> &'f Finding {
        found.iter().find(|f| f.code == code).unwrap_or_else(|| panic!("{code} is not in {found:#?}"))
    }

    #[test]
    fn a_gentle_board_on_a_stout_table_passes_every_check() {
        let all = found(5000.0, &board(100.0), &bag(0.085, 0.0, Below::Air), &build());
        assert!(all.len() >= 8 && all.iter().all(|f| f.verdict == Verdict::Ok && f.remedy.is_empty()), "{all:#?}");
    }

    #[test]
    fn a_blank_too_short_is_told_what_it_needs() {
        let short = found(1500.0, &board(0.0), &bag(0.085, 0.0, Below::Air), &build());
        let check = of(&short, "blank-overhang");
        assert_eq!((check.verdict, check.value.round()), (Verdict::Watch, 0.0));
        let needed = check.limit.ceil();
        let long = found(1500.0, &board(needed), &bag(0.085, 0.0, Below::Air), &build());
        assert_eq!(of(&long, "blank-overhang").verdict, Verdict::Ok);
    }

    #[test]
    fn a_gauge_cannot_show_more_than_the_air_there_has() {
        let high = found(5000.0, &board(100.0), &bag(0.085, 2500.0, Below::Air), &build());
        let check = of(&high, "pressure-limit");
        assert_eq!(check.verdict, Verdict::Stop);
        assert!((check.limit - 74.692).abs() < 0.001, "{}", check.limit);
        let near = found(5000.0, &board(100.0), &bag(0.072, 2500.0, Below::Air), &build());
        assert_eq!(of(&near, "pressure-limit").verdict, Verdict::Watch);
    }

    #[test]
    fn the_skin_carries_a_bag_only_where_no_air_presses_from_below() {
        let open = found(5000.0, &board(100.0), &bag(0.085, 0.0, Below::Air), &build());
        assert_eq!(of(&open, "skin-sag").value, 0.0);
        let pumped = found(5000.0, &board(100.0), &bag(0.085, 0.0, Below::Vacuum), &build());
        // w s⁴/(384 E I) with E = 3.6 GPa and 4 mm, no crosswise figures of the stack.
        let expected = 0.085 * 90_f64.powi(4) / (384.0 * 3600.0 * 64.0 / 12.0);
        let check = of(&pumped, "skin-sag");
        assert!((check.value - expected).abs() < 1e-9 && check.verdict == Verdict::Stop, "{check:?}");
    }

    #[test]
    fn supports_spread_by_the_checks_keep_the_sag_at_its_limit_and_the_skin_handy() {
        let mut layer = Material::of_modulus("given", MaterialKind::WoodAlong, 10_000.0);
        layer.cross_modulus_mpa = Some(500.0);
        let lying = Laminate::new(&[Layer::flat("layer", layer, 3.0)], 0.0).unwrap();
        let load = Load::even(0.085);
        let clear = |below, span| {
            let hold = Hold::Vacuum { reading_mpa: Some(0.085), altitude_m: 0.0, below };
            widest_clear_mm(&hold, &load, &lying, 4.0, None, span)
        };
        assert_eq!(clear(Below::Air, Span::Across), HANDLING_MM);
        // w s⁴/(384 E I) of sheet and stack side by side, across the grain and along it.
        for (span, stack_mpa) in [(Span::Across, 500.0), (Span::Along, 10_000.0)] {
            let stiffness = 3600.0 * 64.0 / 12.0 + stack_mpa * 27.0 / 12.0;
            let sag = 0.085 * clear(Below::Vacuum, span).powi(4) / (384.0 * stiffness);
            assert!((sag - SAG_MM.0).abs() < 1e-9, "{span:?}: {sag}");
        }
    }

    #[test]
    fn a_skin_is_held_against_its_strain_or_against_the_published_radius() {
        let pressing = bag(0.085, 0.0, Below::Air);
        let thick = Build { skin_mm: 6.5, ..build() };
        let plain = found(1000.0, &board(100.0), &pressing, &thick);
        let check = of(&plain, "skin-radius");
        assert_eq!((check.verdict, check.limit), (Verdict::Watch, 1524.0));
        let mut sheet = Material::of_modulus("sheet", MaterialKind::Sheet, 12_000.0);
        sheet.strain_limit = Some(0.002);
        let named = found(1000.0, &board(100.0), &pressing, &Build { skin: Some(&sheet), ..thick });
        let check = of(&named, "skin-strain");
        assert_eq!((check.verdict, check.limit), (Verdict::Stop, 0.2));
    }

    #[test]
    fn a_cure_outside_of_what_the_resin_allows_stops() {
        let mut pressing = bag(0.085, 0.0, Below::Air);
        for (cure_c, verdict) in [(14.0, Verdict::Stop), (20.0, Verdict::Ok), (55.0, Verdict::Stop)] {
            pressing.resin = Some(ResinCure { least_c: Some(16.0), most_c: Some(50.0), cure_c });
            let all = found(5000.0, &board(100.0), &pressing, &build());
            let worst = all.iter().filter(|f| f.code == "cure-temperature").map(|f| f.verdict).max();
            assert_eq!(worst, Some(verdict), "{cure_c}");
        }
    }

    #[test]
    fn a_weak_table_gives_back_its_curve() {
        // Closed form for one moment all along: sink of the end M w L²/(2 E I).
        let weak = Build { ribs_mm4: Some(1e5), ..build() };
        let all = found(5000.0, &board(100.0), &bag(0.085, 0.0, Below::Air), &weak);
        let check = of(&all, "table-stiffness");
        let moment = (2.0 * (1e4 * 64.0 + 2e4 * 0.512) / 12.0) / (5000.0 * (1.0 - 0.113));
        let expected = moment * 300.0 * 700_f64.powi(2) / (2.0 * 3600.0 * 1e5);
        assert!((check.value / expected - 1.0).abs() < 0.05, "{} is not {expected}", check.value);
        assert_eq!(check.verdict, Verdict::Stop);
    }

    #[test]
    fn weights_beyond_an_atmosphere_and_clamps_beyond_what_wood_bears_are_told() {
        let even = |count: usize, force_n: f64| Hold::Clamps { places: ClampPlaces::Even(count), force_n, caul: None };
        let at = |force_n: f64| {
            let places = ClampPlaces::At((-7..=7).map(|i| f64::from(100 * i)).collect());
            Hold::Clamps { places, force_n, caul: None }
        };
        // The blank has 1600 mm by 300 mm.
        for (hold, told) in [
            (Hold::Weights { force_n: 40e3 }, false),
            (Hold::Weights { force_n: 60e3 }, true),
            (Hold::Press { pressure_mpa: 0.3 }, false),
            (Hold::Press { pressure_mpa: 3.0 }, true),
            (even(20, 4e3), false),
            (even(20, 80e3), true),
            (at(4e3), false),
            (at(80e3), true),
        ] {
            let pressing = Pressing { hold, ..bag(0.08, 0.0, Below::Air) };
            let all = found(5000.0, &board(100.0), &pressing, &build());
            let check = all.iter().find(|f| f.code == "pressure-unusual");
            assert_eq!(check.map(|c| c.verdict), told.then_some(Verdict::Watch), "{pressing:?}");
        }
    }

    #[test]
    fn clamps_at_stations_are_not_asked_for_an_overhang() {
        let places = ClampPlaces::At((-7..=7).map(|i| f64::from(100 * i)).collect());
        let hold = Hold::Clamps { places, force_n: 1500.0, caul: None };
        let all = found(5000.0, &board(60.0), &Pressing { hold, ..bag(0.08, 0.0, Below::Air) }, &build());
        assert!(all.iter().all(|f| f.code != "blank-overhang" && f.code != "pressure-limit"));
        assert_eq!(of(&all, "left-over").verdict, Verdict::Ok);
    }
}
