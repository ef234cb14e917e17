//! `overbend materials`.

use overbend::document::kind_name;
use overbend::document::materials::{Catalogue, Entry};
use overbend::units::{decimal, plain};

use serde_json::{Value, json};

use crate::args::Materials;
use crate::exit::Exit;
use crate::report::{failure, print_json, print_result};

pub(crate) fn materials(arguments: &Materials) -> Exit {
    let catalogue = Catalogue::builtin();
    let Some(name) = &arguments.name else {
        if arguments.json {
            print_json(&Value::Array(catalogue.entries().iter().map(figures).collect()), true);
        } else {
            print_result(&listing(catalogue));
        }
        return Exit::Done;
    };
    match catalogue.entry(name) {
        Ok(entry) => {
            if arguments.json {
                print_json(&figures(entry), true);
            } else {
                print_result(&explanation(entry));
            }
            Exit::Done
        }
        Err(unknown) => {
            failure(&unknown.to_string());
            Exit::Wrong
        }
    }
}

/// One material for scripts.
fn figures(entry: &Entry) -> Value {
    let m = &entry.material;
    let facts = entry
        .facts
        .iter()
        .map(|f| json!({ "key": f.key, "value": f.value.to_string(), "source": f.source, "mark": f.mark.words() }));
    json!({
        "name": m.name,
        "other_names": entry.other_names,
        "near_names": entry.near_names,
        "note": entry.note,
        "kind": kind_name(m.kind),
        "modulus_mpa": m.modulus_mpa.value,
        "modulus_cv": m.modulus_mpa.cv,
        "cross_modulus_mpa": m.cross_modulus_mpa,
        "through_modulus_mpa": m.through_modulus_mpa,
        "shear_modulus_mpa": m.shear_modulus_mpa,
        "strain_limit": m.strain_limit,
        "expansion_per_k": m.expansion_per_k,
        "density_kg_m3": m.density_kg_m3,
        "relaxed_share": m.relaxed.value,
        "relaxed_share_sd": m.relaxed.sd,
        "facts": facts.collect::<Vec<_>>(),
    })
}

/// All materials, one to a line.
fn listing(catalogue: &Catalogue) -> String {
    let widest = catalogue.entries().iter().map(|e| e.material.name.chars().count()).max().unwrap_or(0);
    let mut out = format!(
        "{:<widest$}  {:<11}  {:>9}  {:>7}  {:>7}  {:>5}\n",
        "material", "kind", "modulus", "scatter", "strain", "kg/m3"
    );
    for entry in catalogue.entries() {
        let m = &entry.material;
        let or_none = |value: Option<String>| value.unwrap_or_else(|| "-".to_owned());
        out.push_str(&format!(
            "{:<widest$}  {:<11}  {:>9}  {:>7}  {:>7}  {:>5}\n",
            m.name,
            kind_name(m.kind),
            format!("{} GPa", decimal(m.modulus_mpa.value / 1e3, 2)),
            format!("{} %", plain(100.0 * m.modulus_mpa.cv, 1)),
            or_none(m.strain_limit.map(|e| format!("{} %", decimal(100.0 * e, 2)))),
            or_none(m.density_kg_m3.map(|d| decimal(d, 0))),
        ));
    }
    out.push_str(
        "\nModulus: along the board, for pure bending. Scatter: coefficient of variation. Strain: the limit.\n",
    );
    out.push_str("overbend materials NAME prints the source of each value.\n");
    out
}

/// One material with the source of every figure.
fn explanation(entry: &Entry) -> String {
    let m = &entry.material;
    let mut out = format!("{}\n", m.name);
    if !entry.other_names.is_empty() {
        out.push_str(&format!("  also called       {}\n", entry.other_names.join("; ")));
    }
    if !entry.near_names.is_empty() {
        out.push_str(&format!("  nearest to        {}\n", entry.near_names.join("; ")));
    }
    if !entry.note.is_empty() {
        out.push_str(&format!("  note              {}\n", entry.note));
    }
    let mut line = |label: &str, words: String| out.push_str(&format!("  {label:<16}  {words}\n"));
    let gpa = |mpa: f64| format!("{} GPa", plain(mpa / 1e3, 3));
    line("kind", kind_name(m.kind).to_owned());
    line("modulus", format!("{} for pure bending along the board", gpa(m.modulus_mpa.value)));
    line("scatter", format!("{} %", plain(100.0 * m.modulus_mpa.cv, 1)));
    let figures =
        [("across", m.cross_modulus_mpa), ("through", m.through_modulus_mpa), ("in shear", m.shear_modulus_mpa)];
    for (label, value) in figures {
        if let Some(mpa) = value {
            line(&format!("modulus {label}"), gpa(mpa));
        }
    }
    if let Some(e) = m.strain_limit {
        line("strain limit", format!("{} %", plain(100.0 * e, 3)));
    }
    if let Some(a) = m.expansion_per_k {
        line("expansion", format!("{} 1e-6/K", plain(1e6 * a, 2)));
    }
    if let Some(d) = m.density_kg_m3 {
        line("density", format!("{} kg/m3", decimal(d, 0)));
    }
    let relaxed = format!("{} % ± {} % overnight", plain(100.0 * m.relaxed.value, 1), plain(100.0 * m.relaxed.sd, 1));
    line("relaxes", relaxed);
    out.push_str("  from\n");
    for fact in &entry.facts {
        out.push_str(&format!("    {} {}: {} ({})\n", fact.key, fact.value, fact.source, fact.mark.words()));
    }
    out
}
