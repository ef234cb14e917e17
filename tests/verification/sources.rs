//! All sources, and what several of them need.

use overbend::curve::{Curvature, PlaneCurve};

use crate::bench::Source;
use crate::program::Program;

mod abramowitz_stegun_1964;
mod allen_1969;
mod apa_bend_radii;
mod asme_b18_2_8;
mod asme_y14_1;
mod base_and_neutral;
mod both_ways;
mod circle;
mod clamps;
mod closing_in;
mod curves;
mod dxf_bulge;
mod equal_layers;
mod fading_concave;
mod gere_2004;
mod iso_216;
mod iso_2533;
mod iso_273;
mod laminating_rule;
mod leaf_on_a_cylinder;
mod mattiasson_1981;
mod measured_boards;
mod measured_by_others;
mod metamorphic;
mod nist_sp811;
mod parallel_circle;
mod press_bond_release;
mod pressed_strip;
mod ring_closing;
mod round_trip;
mod sag_test;
mod second_method;
mod sections;
mod skin_sag;
mod stepped_rib;
mod strip_on_a_form;
mod svg_user_unit;
mod timoshenko_1925;
mod wood_handbook_2021;

/// A source, computed anew with a program.
type Build = fn(&Program) -> Source;

const ALL: [Build; 39] = [
    laminating_rule::source,
    gere_2004::source,
    mattiasson_1981::source,
    abramowitz_stegun_1964::source,
    wood_handbook_2021::source,
    apa_bend_radii::source,
    iso_216::source,
    asme_y14_1::source,
    iso_273::source,
    asme_b18_2_8::source,
    iso_2533::source,
    nist_sp811::source,
    equal_layers::source,
    allen_1969::source,
    timoshenko_1925::source,
    ring_closing::source,
    base_and_neutral::source,
    strip_on_a_form::source,
    leaf_on_a_cylinder::source,
    sag_test::source,
    skin_sag::source,
    stepped_rib::source,
    clamps::source,
    circle::source,
    parallel_circle::source,
    dxf_bulge::source,
    svg_user_unit::source,
    curves::source,
    press_bond_release::source,
    pressed_strip::source,
    closing_in::source,
    second_method::source,
    sections::source,
    both_ways::source,
    fading_concave::source,
    measured_boards::source,
    measured_by_others::source,
    metamorphic::source,
    round_trip::source,
];

/// All sources, computed with a program.
pub(crate) fn all(program: &Program) -> Vec<Source> {
    ALL.iter().map(|build| build(program)).collect()
}

/// The source of that name, computed with a program.
pub(crate) fn one(name: &str, program: &Program) -> Source {
    let build: Build = match name {
        "laminating_rule" => laminating_rule::source,
        "equal_layers" => equal_layers::source,
        "gere_2004" => gere_2004::source,
        "allen_1969" => allen_1969::source,
        "timoshenko_1925" => timoshenko_1925::source,
        "base_and_neutral" => base_and_neutral::source,
        "parallel_circle" => parallel_circle::source,
        "circle" => circle::source,
        "dxf_bulge" => dxf_bulge::source,
        "closing_in" => closing_in::source,
        "clamps" => clamps::source,
        "curves" => curves::source,
        "wood_handbook_2021" => wood_handbook_2021::source,
        "pressed_strip" => pressed_strip::source,
        "second_method" => second_method::source,
        "sections" => sections::source,
        "skin_sag" => skin_sag::source,
        "stepped_rib" => stepped_rib::source,
        _ => panic!("no trial is made on `{name}`"),
    };
    build(program)
}

/// An arc from -half to half.
fn arc(half_mm: f64, k_per_mm: f64) -> Curvature {
    Curvature::constant(-half_mm, half_mm, k_per_mm).unwrap()
}

/// Height of the place `s_mm` along a curve that rests on the floor in its middle.
fn rise_over(program: &Program, curvature: &Curvature, s_mm: f64) -> f64 {
    (program.standing)(curvature).at(s_mm).point.y
}

/// The kept result of an independent program.
fn stored(name: &str) -> serde_json::Value {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/independent");
    let text = std::fs::read_to_string(folder.join(format!("{name}.json"))).unwrap();
    serde_json::from_str(&text).unwrap()
}
