//! What the library says to numbers that no stack or strip can have, and where it points.

use overbend::job::{Layer, Material, MaterialKind, Thickness};
use overbend::laminate::Laminate;
use overbend::press::contact::{ContactError, Element, Strip, solve};

fn layer() -> Layer {
    let mut material = Material::of_modulus("given", MaterialKind::WoodAlong, 10_000.0);
    material.expansion_per_k = Some(4e-6);
    Layer::flat("ply", material, 3.0)
}

/// Codes and places of what is wrong with two layers of which the upper one is changed, cured 20 K above the room.
fn faults(change: impl Fn(&mut Layer)) -> Vec<(&'static str, String)> {
    let (lower, mut upper) = (layer(), layer());
    upper.entry = 1;
    change(&mut upper);
    let faults = Laminate::new(&[lower, upper], 20.0).err().unwrap_or_default();
    for fault in &faults {
        assert!(!fault.message().is_empty() && !fault.remedy().is_empty(), "{fault:?}");
    }
    faults.into_iter().map(|f| (f.code.name, f.path)).collect()
}

#[test]
fn a_layer_with_an_impossible_number_is_refused_at_its_key() {
    assert!(faults(|_| {}).is_empty());
    for bad in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        let at = |code, key: &str| vec![(code, format!("layers[1].{key}"))];
        assert_eq!(faults(|l| l.thickness = Thickness::Constant(bad)), at("layer-thickness", "thickness"));
        let tapered = |l: &mut Layer| l.thickness = Thickness::Tapered(vec![(0.0, 3.0), (100.0, bad)]);
        assert_eq!(faults(tapered), at("layer-thickness", "thickness"));
        assert_eq!(faults(|l| l.material.modulus_mpa.value = bad), at("layer-modulus", "modulus"));
    }
    let at = |code, key: &str| vec![(code, format!("layers[1].{key}"))];
    let tapered = |stations: &[(f64, f64)]| {
        let stations = stations.to_vec();
        faults(move |l| l.thickness = Thickness::Tapered(stations.clone()))
    };
    assert_eq!(tapered(&[]), at("layer-taper", "thickness"));
    assert_eq!(tapered(&[(f64::NAN, 3.0)]), at("layer-thickness", "thickness"));
    assert_eq!(tapered(&[(100.0, 3.0), (0.0, 3.0)]), at("layer-taper", "thickness"));
    assert_eq!(tapered(&[(100.0, 3.0), (100.0, 4.0)]), at("layer-taper", "thickness"));
    for bad in [-0.01, 1.01, f64::NAN] {
        assert_eq!(faults(|l| l.relaxed.value = bad), at("layer-relaxed", "relaxed"));
    }
    for bad in [f64::NAN, f64::NEG_INFINITY] {
        let bent = faults(|l| l.natural_curvature_per_mm = bad);
        assert_eq!(bent, at("layer-natural-curvature", "natural_curvature"));
        assert_eq!(faults(|l| l.material.expansion_per_k = Some(bad)), at("layer-expansion", "expansion"));
    }
    assert_eq!(faults(|l| l.material.expansion_per_k = None), at("layer-expansion", "expansion"));
    for bad in [(100.0, -100.0), (50.0, 50.0), (f64::NAN, 100.0), (-100.0, f64::INFINITY)] {
        assert_eq!(faults(|l| l.extent_mm = Some(bad)), at("layer-extent", "from"));
    }
}

#[test]
fn a_stack_without_layers_or_with_a_cure_at_no_temperature_is_refused() {
    let code = |layers: &[Layer], warm_k| Laminate::new(layers, warm_k).unwrap_err()[0].code.name;
    assert_eq!(code(&[], 0.0), "no-layers");
    for bad in [f64::NAN, f64::INFINITY] {
        assert_eq!(code(&[layer()], bad), "cure-temperature");
    }
}

/// A strip of four elements on an arc.
fn strip() -> Strip {
    let element = Element { stiffness_n_mm: [9e4; 2], bend_per_mm: [1e-3; 2], pressure_mpa: 0.08 };
    Strip { nodes_mm: vec![0.0, 10.0, 20.0, 30.0, 40.0], elements: vec![element; 4], forces_n_per_mm: vec![0.0; 5] }
}

#[test]
fn an_impossible_strip_is_refused_at_its_node_or_element() {
    let refused = |change: &dyn Fn(&mut Strip)| {
        let mut strip = strip();
        change(&mut strip);
        solve(&strip, None).unwrap_err()
    };
    assert!(solve(&strip(), None).is_ok());
    // Not the same number of nodes, elements and forces.
    assert_eq!(refused(&|s| s.elements.truncate(3)), ContactError::Grid(0));
    assert_eq!(refused(&|s| s.forces_n_per_mm.truncate(4)), ContactError::Grid(0));
    assert_eq!(
        refused(&|s| {
            s.nodes_mm.truncate(1);
            s.elements.clear();
            s.forces_n_per_mm.truncate(1);
        }),
        ContactError::Grid(0)
    );
    for bad in [10.0, 5.0, f64::NAN, f64::INFINITY] {
        let error = refused(&|s| s.nodes_mm[2] = bad);
        assert!(matches!(error, ContactError::Grid(1 | 2)), "{bad}: {error:?}");
    }
    assert_eq!(refused(&|s| s.nodes_mm[0] = f64::NEG_INFINITY), ContactError::Grid(0));
    for bad in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        assert_eq!(refused(&|s| s.elements[2].stiffness_n_mm[1] = bad), ContactError::Element(2));
    }
    for bad in [f64::NAN, f64::INFINITY] {
        assert_eq!(refused(&|s| s.elements[3].bend_per_mm[0] = bad), ContactError::Element(3));
        assert_eq!(refused(&|s| s.elements[1].pressure_mpa = bad), ContactError::Element(1));
        assert_eq!(refused(&|s| s.forces_n_per_mm[4] = bad), ContactError::Grid(4));
    }
    for pressure_mpa in [0.0, -0.08] {
        let without = |s: &mut Strip| s.elements.iter_mut().for_each(|e| e.pressure_mpa = pressure_mpa);
        assert_eq!(refused(&without), ContactError::NoLoad);
    }
}
