//! How sure the board is, in words and values.

use serde_json::{Value, json};

use super::json::figure;
use crate::forecast::{Advice, Band, Forecast, Gain};
use crate::units::{LengthUnit, MM_PER_INCH, Quantity, decimal};

/// Least share of the scatter that is worth a word.
const WORTH_TELLING: f64 = 0.02;
/// Maximum number of inputs and ways that the summary names.
const MOST_TOLD: usize = 3;

/// Lines of the summary: label and words.
pub(super) fn uncertainty_lines(
    forecast: &Forecast,
    advice: &[Advice],
    unit: LengthUnit,
) -> Vec<(&'static str, String)> {
    let band = |b: &Band| band_words(b, unit);
    let percent = |share: f64| decimal(100.0 * share, 1);
    let mut lines = vec![(
        "9 in 10",
        format!(
            "tip {}, tail {}; springback {} to {} % in the middle",
            band(&forecast.tip_mm),
            band(&forecast.tail_mm),
            percent(forecast.springback_share.p05),
            percent(forecast.springback_share.p95)
        ),
    )];
    let inputs = forecast.shares.iter().filter(|s| s.of_tip.max(s.of_tail) > WORTH_TELLING).take(MOST_TOLD);
    let words: Vec<String> =
        inputs.map(|s| format!("{} ({} %)", s.input.name(), decimal(100.0 * s.of_tip.max(s.of_tail), 0))).collect();
    if !words.is_empty() {
        lines.push(("spread", format!("from {}", words.join(", "))));
    }
    for a in advice.iter().take(MOST_TOLD) {
        let mut gains = Vec::new();
        let shares = [a.springback_share.before, a.springback_share.after].map(|s| format!("{} %", percent(s)));
        let bands = [a.band_mm.before, a.band_mm.after].map(|mm| Quantity::fine(mm).text(unit));
        for (of, [before, after]) in [("springback", shares), ("spread", bands)] {
            if before != after {
                gains.push(format!("{of} {after} instead of {before}"));
            }
        }
        lines.push(("try", format!("{}: {}", a.what, gains.join(", "))));
    }
    lines
}

/// The line about what time does to the board: heights of tail and tip after a season.
pub(super) fn season_line((tail, tip): (f64, f64), unit: LengthUnit) -> (&'static str, String) {
    let say = |mm: f64| Quantity::length(mm).text(unit);
    let words =
        format!("tip {}, tail {} after 100 days, as the core goes on relaxing under its skins", say(tip), say(tail));
    ("aging", words)
}

/// Heights of both ends, as keys of `result.json`.
pub(super) fn ends_json(tail: f64, tip: f64) -> Value {
    json!({ "tail_mm": figure(tail), "tip_mm": figure(tip) })
}

/// A band of heights in the shop's unit.
pub(super) fn band_words(band: &Band, unit: LengthUnit) -> String {
    let words = |scale: f64, places: usize, name: &str| {
        format!("{} to {} {name}", decimal(band.p05 / scale, places), decimal(band.p95 / scale, places))
    };
    match unit {
        LengthUnit::Millimetre => words(1.0, 1, "mm"),
        // Fractions are too coarse to tell the ends of a narrow band apart.
        LengthUnit::Inch { .. } => words(MM_PER_INCH, 2, "in"),
    }
}

/// The key `forecast` of `result.json`.
pub(super) fn forecast_json(forecast: &Forecast) -> Value {
    let inputs: Vec<Value> = forecast
        .shares
        .iter()
        .map(|s| {
            json!({
                "name": s.input.name(),
                "share_of_tip_variance": figure(s.of_tip),
                "share_of_tail_variance": figure(s.of_tail),
            })
        })
        .collect();
    json!({
        "draws": forecast.draws,
        "seed": forecast.seed,
        "tip_height_mm": band_json(&forecast.tip_mm),
        "tail_height_mm": band_json(&forecast.tail_mm),
        "springback_share": band_json(&forecast.springback_share),
        "inputs": inputs,
    })
}

fn band_json(band: &Band) -> Value {
    json!({ "p05": figure(band.p05), "p50": figure(band.p50), "p95": figure(band.p95) })
}

/// The key `advice` of `result.json`.
pub(super) fn advice_json(advice: &[Advice]) -> Value {
    let gain = |g: &Gain| json!({ "before": figure(g.before), "after": figure(g.after) });
    let one = |a: &Advice| {
        json!({
            "what": a.what,
            "springback_share": gain(&a.springback_share),
            "band_mm": gain(&a.band_mm),
        })
    };
    advice.iter().map(one).collect()
}
