//! Advice in words, and as edits of the document.

use overbend::forecast::{Advice, Change};
use overbend::job::Job;
use overbend::units::{decimal, plain};
use serde_json::{Value, json};

/// Decimals of a thickness that is written for an advice: a hundredth of a millimetre, a thousandth of an inch.
const DECIMALS: usize = 3;

/// A way to make the board better; `values` are those of the document.
pub(crate) fn shown(advice: &Advice, job: &Job, values: &Value) -> Value {
    let (share, band) = (&advice.springback_share, &advice.band_mm);
    let percent = |part: f64, decimals| format!("{} %", decimal(100.0 * part, decimals));
    let mut words = Vec::new();
    let [before, after] = [share.before, share.after].map(|s| percent(s, 1));
    if before != after {
        words.push(format!("springback {after} instead of {before}"));
    }
    let narrower = percent(1.0 - band.after / band.before, 0);
    if band.after < band.before && narrower != "0 %" {
        words.push(format!("a band {narrower} narrower"));
    }
    let edits = advice.change.and_then(|change| edits(change, job, values));
    json!({ "what": advice.what, "gains": words.join(", "), "edits": edits })
}

/// The change as edits; nothing where the document says a thickness in a way that is not to be scaled.
fn edits(change: Change, job: &Job, values: &Value) -> Option<Value> {
    match change {
        Change::Plies { entry, plies, thickness_times } => {
            let mut all = vec![thickness(entry, thickness_times, values)?];
            all.push(json!({ "edit": "set", "path": format!("layers[{entry}].plies"), "kind": "quantity", "value": plies.to_string() }));
            Some(Value::Array(all))
        }
        Change::OuterThickness(times) => {
            let (first, last) = (job.layers.first()?.entry, job.layers.last()?.entry);
            // A ply of an entry that has more of them is not changed alone.
            let single = |entry: usize| job.layers.iter().filter(|l| l.entry == entry).count() == 1;
            let both = [first, last].into_iter().map(|e| thickness(e, times, values).filter(|_| single(e)));
            both.collect::<Option<Vec<Value>>>().map(Value::Array)
        }
    }
}

/// A thickness or a taper of an entry, times a factor.
fn thickness(entry: usize, times: f64, values: &Value) -> Option<Value> {
    let layer = &values["layers"][entry];
    if let Some(written) = layer["thickness"].as_str() {
        let value = scaled(written, times)?;
        return Some(
            json!({ "edit": "set", "path": format!("layers[{entry}].thickness"), "kind": "quantity", "value": value }),
        );
    }
    let pairs = layer["taper"].as_array()?.iter().map(|pair| {
        let (station, thickness) = (pair[0].as_str()?, pair[1].as_str()?);
        Some(format!("{station}, {}", scaled(thickness, times)?))
    });
    let value = pairs.collect::<Option<Vec<String>>>()?.join("\n");
    Some(json!({ "edit": "set", "path": format!("layers[{entry}].taper"), "kind": "pairs", "value": value }))
}

/// A plain number with or without a unit, times a factor.
fn scaled(written: &str, times: f64) -> Option<String> {
    let end = written.find(|c: char| c.is_alphabetic() || c == '"').unwrap_or(written.len());
    let (number, unit) = written.split_at(end);
    let value: f64 = number.trim().parse().ok()?;
    Some(format!("{} {}", plain(value * times, DECIMALS), unit.trim()).trim().to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_thickness_is_scaled_in_its_own_unit() {
        for (written, wanted) in
            [("4", Some("2.667")), ("0.8 mm", Some("0.533 mm")), ("1.5in", Some("1 in")), ("1/8 in", None)]
        {
            assert_eq!(scaled(written, 2.0 / 3.0).as_deref(), wanted, "{written}");
        }
    }

    #[test]
    fn a_taper_keeps_its_stations() {
        let values = json!({ "layers": [{ "taper": [["-600", "2"], ["0", "4 mm"]] }] });
        let edit = thickness(0, 0.5, &values).unwrap();
        assert_eq!(edit["value"], "-600, 1\n0, 2 mm");
        assert_eq!(edit["path"], "layers[0].taper");
    }
}
