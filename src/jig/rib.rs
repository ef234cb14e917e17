//! The rib's profile.

use kurbo::{Point, Rect};

use super::{Rod, RodHole, Station};
use crate::curve::{DEFAULT_TOLERANCE_MM, Parallel, ParallelFolds, PlaneCurve, fit_arcs};
use crate::drawing::{Contour, Vertex};
use crate::finding::Fault;
use crate::job::Ribs;
use crate::units::decimal;

/// One rib: a flat base, upright ends, and a top edge parallel to the table's surface.
#[derive(Debug, Clone, PartialEq)]
pub struct Rib {
    /// Number from the left, 1 first.
    pub number: usize,
    /// Where its middle plane stands across the table, mm.
    pub y_mm: f64,
    /// Outline in table coordinates (x, z), counter-clockwise from the tail end of the base.
    pub outline: Contour,
    /// Holes that the rods go through.
    pub holes: Vec<RodHole>,
    /// Stations whose ticks it carries.
    pub stations: Vec<Station>,
    /// Length of its base, mm.
    pub length_mm: f64,
    /// Height of its highest place, mm.
    pub height_mm: f64,
}

impl Rib {
    pub(super) fn new(number: usize, y_mm: f64, profile: &Contour, rods: &[Rod], stations: &[Station]) -> Self {
        let bounds = profile.bounds();
        Self {
            number,
            y_mm,
            outline: profile.clone(),
            holes: rods.iter().map(|r| r.hole).collect(),
            stations: stations.to_vec(),
            length_mm: bounds.width(),
            height_mm: bounds.height(),
        }
    }

    /// Short name of ASCII letters, digits and hyphens.
    pub fn id(&self) -> String {
        format!("rib-{}", self.number)
    }

    /// What the shop calls it.
    pub fn title(&self) -> String {
        format!("Rib {}", self.number)
    }
}

/// The fault for a top edge that would fold over.
pub(super) fn fold_fault(folds: &ParallelFolds, path: &str) -> Fault {
    Fault::new(
        "parallel-folds",
        path,
        format!(
            "the rib's top edge would fold over: {} mm below the table's surface there is no room inside its radius of \
             {} mm, {} mm from the middle of the table.",
            decimal(folds.distance_mm.abs(), 2),
            decimal(folds.radius_mm, 1),
            decimal(folds.s_mm, 0)
        ),
        "Use a thinner table skin there, or a larger radius.",
    )
}

/// Outline of a rib under its top edge.
pub(super) fn profile(top: &Parallel<'_>) -> Result<Contour, Fault> {
    let (from, to) = top.range_mm();
    let fault = |what: String| {
        Fault::new("impossible-geometry", "table.ribs", what, "Use a gentler rocker or a shorter table.")
    };
    let steepest = top.breaks_mm().iter().map(|s| top.at(*s).angle_rad.abs()).fold(0.0, f64::max);
    if steepest > STEEPEST_RAD {
        return Err(fault(format!(
            "the table's surface rises to {} degrees; a rib with upright ends carries up to {}.",
            decimal(steepest.to_degrees(), 1),
            decimal(STEEPEST_RAD.to_degrees(), 0)
        )));
    }
    let path = fit_arcs(top, from, to, DEFAULT_TOLERANCE_MM)
        .map_err(|e| fault(format!("the rib's top edge cannot be drawn with arcs ({e:?}).")))?;
    let edge = Contour::open(path.nodes.iter().map(|n| Vertex { point: n.point, bulge: n.bulge }).collect())
        .map_err(|e| fault(format!("the rib's top edge is no path ({e:?}).")))?
        .reversed();
    let bounds: Rect = edge.bounds();
    if bounds.y0 <= 0.0 {
        return Err(fault("the rib's top edge reaches its base.".to_owned()));
    }
    let (tail, tip) = (top.at(from).point.x, top.at(to).point.x);
    let mut vertices = vec![Vertex::line(Point::new(tail, 0.0)), Vertex::line(Point::new(tip, 0.0))];
    vertices.extend_from_slice(edge.vertices());
    if let Some(last) = vertices.last_mut() {
        last.bulge = 0.0;
    }
    Contour::closed(vertices).map_err(|e| fault(format!("the rib's outline does not close ({e:?}).")))
}

/// Steepest surface that a rib with a flat base and upright ends can carry, rad.
const STEEPEST_RAD: f64 = 80.0 / 180.0 * std::f64::consts::PI;

/// What keeps the profile from being cut out of the stock.
pub(super) fn stock_faults(profile: &Contour, ribs: &Ribs) -> Vec<Fault> {
    let bounds = profile.bounds();
    let mut faults = Vec::new();
    if ribs.lowest_height_mm < ribs.thickness_mm {
        faults.push(Fault::new(
            "rib-too-thin",
            "table.ribs.lowest_height",
            format!(
                "the rib is {} mm high at its lowest place, less than its stock is thick ({} mm).",
                decimal(ribs.lowest_height_mm, 1),
                decimal(ribs.thickness_mm, 1)
            ),
            "Give the ribs at least the height of their own thickness: a strip on its flat side carries nothing.",
        ));
    }
    let mut exceeds = |key: &str, needs: f64, has: Option<f64>, what: &str| {
        if let Some(has) = has.filter(|has| needs > *has) {
            faults.push(Fault::new(
                "rib-exceeds-stock",
                format!("table.ribs.{key}"),
                format!("the ribs are {} mm {what}, the stock {} mm.", decimal(needs, 1), decimal(has, 1)),
                "Use larger stock, or lower the ribs or shorten the table's ends.",
            ));
        }
    };
    let (long, short) = (bounds.width().max(bounds.height()), bounds.width().min(bounds.height()));
    let (stock_long, stock_short) = match (ribs.stock_length_mm, ribs.stock_width_mm) {
        (Some(l), Some(w)) => (Some(l.max(w)), Some(l.min(w))),
        other => other,
    };
    exceeds("stock_length", long, stock_long, "long");
    exceeds("stock_width", short, stock_short, "high");
    faults
}
