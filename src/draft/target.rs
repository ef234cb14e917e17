//! The target curve as text, as a listing, as a picture, and as a profile for other programs.

use std::fmt::Write as _;

use kurbo::Point;

use super::diagram::{self, Diagram, Line};
use crate::curve::{ArcFitError, Curve, PlaneCurve, fit_arcs};
use crate::drawing::{Cell, Contour, Drawing, Listing, Operation, Part, Shape, Vertex};
use crate::finding::Finding;
use crate::job::Wanted;
use crate::rocker::Target;
use crate::rocker::measured::Fit;
use crate::units::{LengthUnit, Quantity, decimal, inch_fraction, length};

/// How closely the drawn profile follows the target, mm: ten times finer than any cut, so that its directions are good too.
const PROFILE_TOLERANCE_MM: f64 = 0.0005;

/// What can be said about the target, and its stations.
pub(crate) fn target_words(wanted: &Wanted, target: &Target, stations: &[f64], findings: &[Finding]) -> String {
    let say = |mm: f64| length(mm, wanted.unit);
    let place = |s: f64| if s.abs() < 0.05 { "the middle".to_owned() } else { end_of(s, &say) };
    let r = &target.report;
    let mut out = format!("{}\n", wanted.title);
    let mut line = |label: &str, words: String| {
        // Writing to a String cannot fail.
        let _ = writeln!(out, "  {label:<10} {words}");
    };
    line("heights", format!("tip {}, tail {} above the lowest point", say(r.tip_height_mm), say(r.tail_height_mm)));
    line("length", format!("{} along the base, {} straight", say(r.base_length_mm), say(r.straight_mm)));
    let (a, b) = r.contact_mm;
    let stands = if a == b { place(a) } else { format!("{} and {}", place(a), place(b)) };
    line("rests at", stands);
    if r.flat_length_mm > 0.0 {
        line("flat", format!("{}, the longest stretch", say(r.flat_length_mm)));
    }
    let angles = [r.tip_angle_rad, r.tail_angle_rad].map(|a| decimal(a.to_degrees(), 2));
    line("angles", format!("tip {} degrees, tail {}", angles[0], angles[1]));
    if let Some((at, radius)) = r.tightest.zip(r.tightest_radius_mm()) {
        let kind = if radius < 0.0 { "camber of radius" } else { "radius" };
        let (low, high) = target.curvature.extremes();
        let where_ = if high.1 - low.1 < 1e-9 { "all along".to_owned() } else { format!("at {}", place(at.s_mm)) };
        line("tightest", format!("{kind} {} {where_}", say(radius.abs())));
    }
    if !r.inflections_mm.is_empty() {
        let places: Vec<String> = r.inflections_mm.iter().map(|&s| place(s)).collect();
        line("inflection", format!("rocker meets camber at {}", places.join(", ")));
    }
    line("fairness", if r.bumps == 0 { "no bumps".to_owned() } else { format!("{} bumps in the curvature", r.bumps) });
    if let Some(fit) = &target.fit {
        line("readings", fit_words(fit, wanted.unit));
    }
    out.push('\n');
    let rows = stations.iter().map(|&s| {
        let at = target.curve.at(s);
        let bend = match 1.0 / at.k_per_mm {
            radius if radius.abs() < 1e6 => say(radius),
            _ => "flat".to_owned(),
        };
        let slope = decimal(at.angle_rad.to_degrees(), 2);
        format!("  {:>14} {:>14} {:>14} {slope:>9} {bend:>14}\n", say(s), say(at.point.x), say(at.point.y))
    });
    let heading =
        format!("  {:>14} {:>14} {:>14} {:>9} {:>14}\n", "along base", "across floor", "height", "degrees", "radius");
    out.push_str(&heading);
    out.extend(rows);
    for f in findings {
        let _ = writeln!(
            out,
            "\n{}: {} ({})\n  {}",
            f.verdict,
            f.subject.text(wanted.unit),
            f.code,
            f.remedy.text(wanted.unit)
        );
    }
    out
}

fn end_of(s: f64, say: &impl Fn(f64) -> String) -> String {
    format!("{} toward the {}", say(s.abs()), if s > 0.0 { "tip" } else { "tail" })
}

fn fit_words(fit: &Fit, unit: LengthUnit) -> String {
    let used = fit.rows.iter().filter(|r| r.used()).count();
    let fine = |mm: f64| Quantity::fine(mm).text(unit);
    let whose = if fit.error_stated { "stated" } else { "estimated" };
    format!(
        "{used} used; root mean square residual {}; reading error {} ({whose}); standard error of the tip {}",
        fine(fit.rms_mm()),
        fine(fit.error_mm),
        fine(fit.tip_deviation_mm())
    )
}

/// Places along the base with what the base is there.
pub(crate) fn target_rows(target: &Target, stations: &[f64], denominator: u32) -> Listing {
    let columns = [
        "along_base_mm",
        "across_floor_mm",
        "height_mm",
        "slope_deg",
        "curvature_per_m",
        "radius_mm",
        "along_base_in",
        "across_floor_in",
        "height_in",
    ];
    let mut listing = Listing::new("Target", &columns);
    for &s in stations {
        let at = target.curve.at(s);
        let radius = 1.0 / at.k_per_mm;
        let lengths = [s, at.point.x, at.point.y];
        let mut row: Vec<Cell> = lengths.iter().map(|&l| Cell::Number(l, 3)).collect();
        row.push(Cell::Number(at.angle_rad.to_degrees(), 4));
        row.push(Cell::Number(1e3 * at.k_per_mm, 6));
        row.push(if radius.abs() < 1e8 { Cell::Number(radius, 1) } else { Cell::text("") });
        row.extend(lengths.map(|l| Cell::Figure(inch_fraction(l, denominator))));
        listing.rows.push(row);
    }
    listing
}

/// Readings beside the fitted curve.
pub(crate) fn reading_rows(fit: &Fit) -> Listing {
    let columns =
        ["reading", "station_mm", "along_base_mm", "read_mm", "curve_mm", "difference_mm", "used", "stands_out_times"];
    let mut listing = Listing::new("Readings", &columns);
    for (i, r) in fit.rows.iter().enumerate() {
        let mut row = vec![Cell::count(i + 1)];
        let figures = [r.station_mm, r.s_mm, r.height_mm, r.fitted_mm, r.residual_mm()];
        row.extend(figures.map(|f| Cell::Number(f, 3)));
        row.push(Cell::text(if r.used() { "yes" } else { "no" }));
        row.push(r.stands_out.map_or(Cell::text(""), |t| Cell::Number(t, 1)));
        listing.rows.push(row);
    }
    listing
}

/// The base in side view, one line of arcs from tail to tip, full size.
///
/// # Errors
/// Where no arcs follow the curve.
pub fn profile(wanted: &Wanted, target: &Target, origin: &str) -> Result<Drawing, ArcFitError> {
    let (from, to) = target.curve.range_mm();
    // Parted where the board rests: joints have the curve's exact direction, and that one decides how the board stands.
    let rest = target.anchor_mm;
    let parts = if rest - from > 1.0 && to - rest > 1.0 { vec![(from, rest), (rest, to)] } else { vec![(from, to)] };
    let mut vertices: Vec<Vertex> = Vec::new();
    for (from, to) in parts {
        // The last joint of a part is the first of the next, which knows how the line goes on.
        vertices.pop();
        let arcs = fit_arcs(&target.curve, from, to, PROFILE_TOLERANCE_MM)?;
        vertices.extend(arcs.nodes.iter().map(|n| Vertex { point: n.point, bulge: n.bulge }));
    }
    let mut part = Part::new("profile", "Base of the finished board");
    if let Ok(line) = Contour::open(vertices) {
        part.add(Operation::Mark, Shape::Contour(line));
    }
    Ok(Drawing { title: format!("{}: profile", wanted.title), origin: origin.to_owned(), parts: vec![part] })
}

/// Points of each drawn line.
const POINTS: u32 = 480;

/// A picture of height and curvature along the base, readings with it.
pub(crate) fn target_picture(wanted: &Wanted, target: &Target, origin: &str) -> Drawing {
    let curve = &target.curve;
    let heights: Vec<(f64, f64)> = sampled(curve).map(|(s, p, _)| (s, p.y)).collect();
    let bends: Vec<(f64, f64)> = sampled(curve).map(|(s, _, k)| (s, 1e3 * k)).collect();
    let read: Vec<(f64, f64)> = target
        .fit
        .iter()
        .flat_map(|fit| {
            let lowest = fit.rows.first().map_or(0.0, |r| r.fitted_mm - target.curve.at(r.s_mm).point.y);
            fit.rows.iter().map(move |r| (r.s_mm, r.height_mm - lowest))
        })
        .collect();
    // Readings from a tilted straightedge do not lie over the standing board.
    let read = if target.fit.as_ref().is_some_and(Fit::on_floor) { read } else { Vec::new() };
    let (unit, factor) = match wanted.unit {
        LengthUnit::Millimetre => ("mm", 1.0),
        LengthUnit::Inch { .. } => ("in", wanted.unit.mm()),
    };
    let scaled =
        |list: &[(f64, f64)]| -> Vec<(f64, f64)> { list.iter().map(|(s, z)| (s / factor, z / factor)).collect() };
    let along: Vec<(f64, f64)> = bends.iter().map(|(s, k)| (s / factor, *k)).collect();
    let along_base = format!("along the base, {unit}");
    let height = Diagram {
        id: "height",
        title: format!("height, {unit}"),
        along: along_base.clone(),
        from_zero: true,
        lines: vec![Line::plain(scaled(&heights))],
        dots: scaled(&read),
    };
    let curvature = Diagram {
        id: "curvature",
        title: "curvature, 1/m".to_owned(),
        along: along_base,
        from_zero: true,
        lines: vec![Line::plain(along)],
        dots: Vec::new(),
    };
    let parts = diagram::page("Target", &[height, curvature]);
    Drawing { title: format!("{}: target", wanted.title), origin: origin.to_owned(), parts }
}

fn sampled(curve: &Curve) -> impl Iterator<Item = (f64, Point, f64)> + '_ {
    let (from, to) = curve.range_mm();
    (0..=POINTS).map(move |i| {
        let s = from + (to - from) * f64::from(i) / f64::from(POINTS);
        let at = curve.at(s);
        (s, at.point, at.k_per_mm)
    })
}
