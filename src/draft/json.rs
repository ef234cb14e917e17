//! Figures, points and checks as JSON.

use serde_json::{Map, Value, json};

use crate::curve::{Curve, PlaneCurve};
use crate::finding::Finding;
use crate::units::LengthUnit;

/// Distance of the points that are listed, mm.
const POINT_STEP_MM: f64 = 10.0;

/// The key `checks`: values and limits in SI, sentences in the units of the job.
pub(crate) fn checks_json(checks: &[Finding], unit: LengthUnit) -> Value {
    checks.iter().map(|c| check(c, unit)).collect()
}

fn check(finding: &Finding, unit: LengthUnit) -> Value {
    let si = finding.si();
    json!({
        "code": finding.code.name,
        "subject": finding.subject.text(unit),
        "value": si.map(|(value, ..)| figure(value)),
        "limit": si.map(|(_, limit, _)| figure(limit)),
        "limit_is": finding.held.map(|h| if h.is_least { "least" } else { "most" }),
        "unit": si.map(|(.., unit)| unit),
        "verdict": finding.verdict.word(),
        "source": finding.code.source,
        "remedy": finding.remedy.text(unit),
    })
}

pub(super) fn points(curve: &Curve, with_slope: bool) -> Vec<Value> {
    let (from, to) = curve.range_mm();
    let mut places = vec![from];
    let mut s = (from / POINT_STEP_MM).floor() * POINT_STEP_MM + POINT_STEP_MM;
    while s < to - 1e-6 {
        if s > from + 1e-6 {
            places.push(s);
        }
        s += POINT_STEP_MM;
    }
    places.push(to);
    let point = |s: &f64| {
        let at = curve.at(*s);
        let mut row = Map::new();
        row.insert("s_mm".to_owned(), figure(*s));
        row.insert("x_mm".to_owned(), figure(at.point.x));
        row.insert("z_mm".to_owned(), figure(at.point.y));
        if with_slope {
            row.insert("slope_deg".to_owned(), figure(at.angle_rad.to_degrees()));
        }
        row.insert("curvature_per_m".to_owned(), figure(at.k_per_mm * 1e3));
        Value::Object(row)
    };
    places.iter().map(point).collect()
}

/// A figure rounded to a millionth of its unit: finer is noise, and the same on every machine.
pub(super) fn figure(value: f64) -> Value {
    let rounded = (value * 1e6).round() / 1e6;
    // Adding zero turns -0 into 0.
    serde_json::Number::from_f64(rounded + 0.0).map_or(Value::Null, Value::Number)
}
