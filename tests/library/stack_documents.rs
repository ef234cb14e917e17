//! What a document can say of its layers arrives in the job.

use overbend::document::Document;
use overbend::job::{Job, MaterialKind, Share, Thickness};

const BEFORE: &str = r#"
title = "Stack"
[board]
length = 1200
width = 300
[rocker.arc]
height = 40
[pressing.vacuum]
pressure = "80 kPa"
[table]
skin = 4
side_margin = 60
end_margin = 40
station_pitch = 100
[table.ribs]
count = 4
thickness = 18
lowest_height = 60
"#;

fn job(rest: &str) -> Job {
    let text = format!("{BEFORE}{rest}");
    Document::parse("stack", &text).unwrap().job().unwrap_or_else(|p| panic!("{p:#?}"))
}

#[test]
fn figures_of_a_layer_override_those_of_its_material() {
    let job = job(r#"
[[layers]]
material = "ash, white"
modulus = "12.4 GPa"
modulus_cv = "8 %"
strain_limit = "0.5 %"
expansion = 5
relaxed = "10 %"
relaxed_error = "2 %"
thickness = 5
thickness_error = 0.2
plies = 2
natural_curvature = 0.1
"#);
    let layer = &job.layers[1];
    assert_eq!((job.layers.len(), layer.entry), (2, 0));
    assert_eq!((layer.material.modulus_mpa.value, layer.material.modulus_mpa.cv), (12_400.0, 0.08));
    assert_eq!(layer.material.strain_limit, Some(0.005));
    assert!((layer.material.expansion_per_k.unwrap() - 5e-6).abs() < 1e-18);
    assert_eq!((layer.relaxed, layer.thickness_sd_mm), (Share { value: 0.1, sd: 0.02 }, 0.2));
    assert!((layer.natural_curvature_per_mm - 1e-4).abs() < 1e-18);
}

#[test]
fn stations_count_from_the_middle_or_from_either_end() {
    let job = job(r#"
[[layers]]
material = "yellow-poplar"
taper = [[-600, 3], [0, "8 mm"], [600, 3.5]]
[[layers]]
material = "yellow-poplar"
taper = [[0, 3], [600, 8]]
stations_from = "tail"
[[layers]]
name = "patch"
material = "carbon fabric"
thickness = 0.3
from = 100
to = 400
stations_from = "tip"
"#);
    assert_eq!(job.layers[0].thickness, Thickness::Tapered(vec![(-600.0, 3.0), (0.0, 8.0), (600.0, 3.5)]));
    assert_eq!(job.layers[1].thickness, Thickness::Tapered(vec![(-600.0, 3.0), (0.0, 8.0)]));
    assert_eq!(job.layers[2].extent_mm, Some((200.0, 500.0)));
}

#[test]
fn a_sag_test_is_read_with_its_units() {
    let job = job(r#"
[[layers]]
material = "yellow-poplar"
thickness = 8
plies = 2
sag_test = { span = "24 in", load = "1 kg", sag = 6.2, width = 40, thickness = 8, strip_weight = "1.5 N" }
"#);
    let test = job.layers[0].sag_test.unwrap();
    assert_eq!((test.load_n, test.strip_weight_n), (9.806_65, 1.5));
    assert!((test.span_mm - 609.6).abs() < 1e-9);
    assert_eq!(job.layers[1].sag_test, Some(test));
}

#[test]
fn own_materials_are_like_others_or_stand_alone() {
    let job = job(r#"
[[materials]]
name = "our ash"
like = "ash, white"
modulus = "11 GPa"
modulus_cv = 0.05
source = "sag tests of May"
[[materials]]
name = "our foam"
kind = "plastic"
modulus = "60 MPa"
through_modulus = "40 MPa"
[[layers]]
material = "Our Ash"
thickness = 5
[[layers]]
material = "our foam"
thickness = 5
"#);
    let (ash, foam) = (&job.layers[0].material, &job.layers[1].material);
    assert_eq!(
        (ash.name.as_str(), ash.kind, ash.source.as_str()),
        ("our ash", MaterialKind::WoodAlong, "sag tests of May")
    );
    assert_eq!((ash.modulus_mpa.value, ash.modulus_mpa.cv), (11_000.0, 0.05));
    assert!(ash.strain_limit.is_some_and(|e| e > 0.008));
    assert_eq!((foam.kind, foam.through_modulus_mpa), (MaterialKind::Plastic, Some(40.0)));
}

#[test]
fn the_forecast_has_its_defaults_and_can_be_switched_off() {
    let layers = "[[layers]]\nmaterial = \"balsa\"\nthickness = 4\nplies = 2\n";
    let plain = job(layers).forecast;
    assert_eq!((plain.draws, plain.springback), (2000, Share { value: 1.0, sd: 0.5 }));
    let off = job(&format!("{layers}[forecast]\ndraws = 0\nspringback = 0.8\nspringback_error = 0.1\n")).forecast;
    assert_eq!((off.draws, off.springback), (0, Share { value: 0.8, sd: 0.1 }));
}
