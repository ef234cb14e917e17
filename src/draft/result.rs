//! `result.json`: every number, with its unit in the key.

use serde_json::{Value, json};

use super::cutlist::cutting_json;
use super::json::{checks_json, figure, points};
use super::layers::{along_json, layers_json};
use super::learned::{learned_json, next_json};
use super::pressed::pressed;
use super::sheets::sheets_json;
use super::shopping::shopping_json;
use super::uncertainty::{advice_json, ends_json, forecast_json};
use crate::built::{Built, Design};
use crate::calibrate::surface_nodes;
use crate::finding::Finding;
use crate::jig::{Consumables, SheetSize, Station};
use crate::job::{BoardHole, Wanted};
use crate::rocker::{Outline, Sidecut, Target};
use crate::table::{middles_mm, width_over_all_mm};
use crate::units::LengthUnit;

/// What is known of a target alone, as JSON: `target` as in the results, with what can be said of its shape.
pub(crate) fn target_json(wanted: &Wanted, target: &Target, checks: &[Finding], origin: &str) -> Value {
    let r = &target.report;
    let mut shape = of_target(target);
    shape["straight_mm"] = figure(r.straight_mm);
    shape["stands_from_mm"] = figure(r.contact_mm.0);
    shape["stands_to_mm"] = figure(r.contact_mm.1);
    shape["flat_length_mm"] = figure(r.flat_length_mm);
    shape["tip_angle_deg"] = figure(r.tip_angle_rad.to_degrees());
    shape["tail_angle_deg"] = figure(r.tail_angle_rad.to_degrees());
    shape["tightest_radius_mm"] = r.tightest_radius_mm().map_or(Value::Null, figure);
    shape["tightest_at_mm"] = r.tightest.map_or(Value::Null, |t| figure(t.s_mm));
    shape["inflections_mm"] = r.inflections_mm.iter().map(|s| figure(*s)).collect();
    shape["bumps"] = json!(r.bumps);
    if let Some(fit) = &target.fit {
        shape["readings"] = json!({
            "used": fit.rows.iter().filter(|r| !r.excluded).count(),
            "rms_mm": figure(fit.rms_mm()),
            "error_mm": figure(fit.error_mm),
            "error_stated": fit.error_stated,
            "tip_deviation_mm": figure(fit.tip_deviation_mm()),
        });
    }
    json!({
        "made_by": origin,
        "title": wanted.title,
        "job_sha256": wanted.hash,
        "target": shape,
        "checks": checks_json(checks, wanted.unit),
    })
}

fn of_target(target: &Target) -> Value {
    json!({
        "length_mm": figure(target.curvature.length_mm()),
        "tip_height_mm": figure(target.tip_height_mm()),
        "tail_height_mm": figure(target.tail_height_mm()),
        "anchor_mm": figure(target.anchor_mm),
        "points": points(&target.curve, false),
    })
}

/// The results as one JSON document.
pub fn result(built: &Built) -> Value {
    let Design { job, lying, table: bent, .. } = &built.design;
    let mut result = figures(built);
    if let Ok(turning) = bent.pressed.turning() {
        let (low, high) = turning.extremes();
        let (s_mm, k_per_mm) = if high.1 >= -low.1 { high } else { low };
        let stresses = lying.residual_stresses(s_mm, k_per_mm);
        result["stack"]["layers"] = layers_json(lying, &lying.strains(&turning), &stresses);
    }
    if let Some(outline) = &built.design.outline {
        result["outline"] = outline_json(outline, &built.jig.stations);
    }
    if !built.jig.across.is_flat() {
        let jig = &built.jig;
        result["table"]["across_radius_mm"] = jig.across.radius_mm(0.0).map_or(Value::Null, figure);
        let half_mm = 0.5 * job.board.width_mm;
        let rise = |s: &Station| json!([figure(s.board_mm), figure(jig.across.rise_mm(s.table_mm, half_mm, 0.0))]);
        result["table"]["edge_rise"] = jig.stations.iter().map(rise).collect();
    }
    if job.board.count > 1 {
        result["boards"] = json!({
            "count": job.board.count,
            "gap_mm": figure(job.board.gap_mm),
            "over_all_mm": figure(width_over_all_mm(&job.board)),
            "middles_mm": middles_mm(&job.board).into_iter().map(figure).collect::<Vec<_>>(),
        });
    }
    result["consumables"] = consumables_json(&built.consumables);
    result["shopping"] = shopping_json(built);
    result["stack"]["along"] = along_json(lying, bent.blank.tail_mm, bent.blank.tip_mm);
    if let Some(forecast) = &built.forecast {
        result["forecast"] = forecast_json(forecast);
        result["advice"] = advice_json(&built.advice);
    }
    if let Some((tail, tip)) = built.season_mm {
        result["released"]["after_a_season"] = ends_json(tail, tip);
    }
    if !built.layout.sheets.is_empty() {
        result["sheets"] = sheets_json(&built.layout, &job.stock.nesting);
    }
    if !built.layout.cuts.is_empty() {
        result["cutting"] = cutting_json(&built.layout.cuts);
    }
    if let Some(known) = &built.design.known {
        result["calibration"] = learned_json(&known.learned, &known.boards);
        result["calibration"]["next_error_mm"] = next_json(built.next_error_mm);
    }
    result
}

/// What every build has.
// Long, because it is one JSON object, key by key.
fn figures(built: &Built) -> Value {
    let Design { job, target, laminate, table: bent, .. } = &built.design;
    let Built { carried, jig, checks, .. } = built;
    let ribs: Vec<Value> = jig
        .ribs
        .iter()
        .map(|r| {
            json!({
                "name": r.title(),
                "pieces": r.pieces.len(),
                "y_mm": figure(r.y_mm),
                "length_mm": figure(r.length_mm),
                "height_mm": figure(r.height_mm),
            })
        })
        .collect();
    let bays: Vec<Value> = jig
        .spacers
        .bays
        .iter()
        .map(|b| {
            json!({
                "left_rib": b.left_rib,
                "length_mm": figure(b.spacer_length_mm),
                "count": b.count,
            })
        })
        .collect();
    let section = laminate.section_at(0.0);
    let (shares, lost) = (bent.share_range(laminate), bent.lost_shares());
    json!({
        "made_by": super::origin(&job.hash),
        "title": job.title,
        "job_sha256": job.hash,
        // Of sentences; every value below is in the unit of its key.
        "units": match job.unit {
            LengthUnit::Millimetre => "mm",
            LengthUnit::Inch { .. } => "in",
        },
        "target": of_target(target),
        "stack": {
            "thickness_mm": figure(section.thickness_mm),
            "neutral_mm": figure(section.neutral_mm),
            "wet_stiffness_n_mm": figure(section.wet_stiffness_n_mm),
            "bonded_stiffness_n_mm": figure(section.bonded_stiffness_n_mm),
            "springback_share": figure(section.springback_share()),
            "springback_share_least": figure(shares.0),
            "springback_share_most": figure(shares.1),
            "closes_in": figure(section.closes_in()),
        },
        "table": {
            "tip_height_mm": figure(bent.table_heights_mm().1),
            "tail_height_mm": figure(bent.table_heights_mm().0),
            "finished_from_mm": figure(bent.finished_table_mm.0),
            "finished_to_mm": figure(bent.finished_table_mm.1),
            "raised_mm": figure(jig.raised_mm),
            "skin_and_film_mm": figure(jig.depth_mm),
            "skin_sheets": built.design.job.table.skin_sheets.count,
            "skin_springback_share": figure(built.design.skin().springback_share()),
            "points": points(&bent.resting, true),
            "curvature": surface_nodes(&bent.surface).into_iter().map(|(s, k)| json!([finely(s), finely(1e3 * k)])).collect::<Vec<_>>(),
        },
        "pressed": pressed(bent, carried, built.design.closing_force_n()),
        "released": {
            "tip_height_mm": figure(bent.predicted_heights_mm().1),
            "tail_height_mm": figure(bent.predicted_heights_mm().0),
            "tip_lost_share": lost.1.map(figure),
            "tail_lost_share": lost.0.map(figure),
            "largest_error_mm": figure(bent.error_mm),
            "points": points(&bent.predicted, false),
        },
        "ribs": ribs,
        "spacers": {
            "bays": bays,
            "rod_count": jig.spacers.rod_count,
            "rod_length_mm": figure(jig.spacers.rod_length_mm),
            "rod_diameter_mm": figure(jig.spacers.rod_diameter_mm),
        },
        "cross_members": jig.cross_members.iter().map(|m| json!({
            "x_mm": figure(m.x_mm),
            "length_mm": figure(m.length_mm),
            "height_mm": figure(m.height_mm),
        })).collect::<Vec<_>>(),
        "bearers": jig.bearers.iter().map(|b| json!({
            "x_mm": figure(b.x_mm),
            "height_mm": figure(b.height_mm),
            "cut_height_mm": figure(b.cut_height_mm),
            "blank_height_mm": figure(b.blank_height_mm),
            "packing_mm": b.packing_mm.iter().map(|p| figure(*p)).collect::<Vec<_>>(),
            "error_mm": figure(b.error_mm),
            "bevel_deg": figure(b.bevel_rad.to_degrees()),
        })).collect::<Vec<_>>(),
        "checks": checks_json(checks, job.unit),
        "accepted": job.accepted,
    })
}

/// The board in plan.
fn outline_json(outline: &Outline, stations: &[Station]) -> Value {
    let at = |s: &Station| {
        let (left, right) = outline.edges_mm(s.board_mm);
        json!({ "s_mm": figure(s.board_mm), "left_mm": figure(left), "right_mm": figure(right) })
    };
    let hole = |h: &BoardHole| {
        json!({
            "name": h.name,
            "s_mm": figure(h.station_mm),
            "side_mm": figure(h.side_mm),
            "diameter_mm": figure(h.diameter_mm),
        })
    };
    let sidecut = |s: Sidecut| {
        json!({
            "waist_mm": figure(s.waist_mm),
            "widest_tail_mm": figure(s.widest_mm.0),
            "widest_tip_mm": figure(s.widest_mm.1),
            "depth_mm": figure(s.depth_mm),
            "radius_mm": figure(s.radius_mm),
        })
    };
    json!({
        "area_mm2": figure(outline.area_mm2()),
        "width_mm": figure(outline.widest_mm().1),
        "widest_at_mm": figure(outline.widest_mm().0),
        "sidecut": outline.sidecut().map(sidecut),
        "stations": stations.iter().map(at).collect::<Vec<_>>(),
        "holes": outline.holes.iter().map(hole).collect::<Vec<_>>(),
    })
}

/// Film, breather, bag and tape as JSON: `breather`, `bag`, `tape_mm` and `land_mm` where a bag presses.
fn consumables_json(consumables: &Consumables) -> Value {
    let sheet = |sheet: SheetSize| {
        json!({
            "length_mm": figure(sheet.length_mm),
            "width_mm": figure(sheet.width_mm),
            "pieces": sheet.pieces,
        })
    };
    let mut all = json!({ "film": sheet(consumables.film) });
    if let Some(bagging) = &consumables.bagging {
        all["breather"] = sheet(bagging.breather);
        all["bag"] = sheet(bagging.bag);
        all["tape_mm"] = figure(bagging.tape_mm);
        all["land_mm"] = figure(bagging.land_mm);
    }
    all
}

/// A node of a curvature, which is integrated twice: a thousandth of a figure's rounding.
fn finely(value: f64) -> Value {
    serde_json::Number::from_f64((value * 1e9).round() / 1e9 + 0.0).map_or(Value::Null, Value::Number)
}
