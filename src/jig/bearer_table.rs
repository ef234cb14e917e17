//! A table of bearers across, on a base board.

use super::bearers::{bearers, height_finding, proud_finding};
use super::demand::{Demand, Marks};
use super::panels;
use super::record::Jig;
use super::rib::steepness;
use super::stations;
use super::tops::{lowest_of, parallel, raised};
use crate::curve::{Curve, PlaneCurve};
use crate::finding::Faults;
use crate::job::{Bearers, Table};

/// A jig of bearers on a base board.
pub(super) fn on_bearers(
    surface: &Curve,
    (marks, demand): (&Marks, &Demand),
    table: &Table,
    wanted: &Bearers,
) -> Result<Jig, Faults> {
    let (width_mm, depth_mm) = (demand.width_mm(table), table.skin_mm + table.film_mm);
    // A crown is lowest at its edges.
    let across = &demand.across;
    let edge_mm = across.rise_mm(across.deepest_mm(), 0.5 * width_mm, depth_mm).min(0.0);
    let lowest_mm = lowest_of(surface, &parallel(surface, -depth_mm)?) + edge_mm;
    let raised_mm = wanted.lowest_height_mm - lowest_mm;
    let lifted = raised(surface, raised_mm);
    let top = parallel(&lifted, -depth_mm)?;
    steepness(&top)?;
    let bearers = bearers(wanted, &top, demand, depth_mm, width_mm)?;
    let (from, to) = top.range_mm();
    let base = panels::base(top.at(from).point.x, top.at(to).point.x, width_mm, wanted.base_thickness_mm, &bearers)?;
    let stations = stations::list(&lifted, &top, marks);
    let findings = proud_finding(&bearers, &top).into_iter().chain(height_finding(&bearers)).collect();
    Ok(Jig {
        panels: vec![base],
        bearers,
        findings,
        ..Jig::bare(lifted, raised_mm, depth_mm, width_mm, demand, stations)
    })
}
