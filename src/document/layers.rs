//! `[[layers]]`: the stack from base to deck.

use serde::Deserialize;

use super::materials::Catalogue;
use super::quantity::Quantity;
use super::reader::{Range, Reader};
use crate::finding::Fault;
use crate::job::{Layer, Material, MaterialKind, Share, Spread};
use crate::units::Dimension;

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub(super) struct RawLayer {
    name: Option<Quantity>,
    material: Option<Quantity>,
    modulus: Option<Quantity>,
    thickness: Option<Quantity>,
    plies: Option<Quantity>,
    relaxed: Option<Quantity>,
}

/// Most layers of one stack, plies counted singly.
const MOST_LAYERS: usize = 100;
/// Thickest layer, mm.
const THICKEST_MM: f64 = 300.0;
/// Stiffest modulus, MPa: beyond diamond's 1.1 TPa nothing is glued to a board.
const STIFFEST_MPA: f64 = 1.2e6;
/// Scatter of a modulus that the document gives without more words.
const GIVEN_MODULUS_CV: f64 = 0.10;

pub(super) fn check(reader: &mut Reader, raw: Option<Vec<RawLayer>>) -> Option<Vec<Layer>> {
    let raw = raw.unwrap_or_default();
    if raw.is_empty() {
        reader.missing("layers", "List the stack from base to deck, each layer as a table [[layers]].");
        return None;
    }
    let catalogue = Catalogue::builtin();
    let mut layers = Vec::new();
    let mut whole = true;
    for (i, r) in raw.iter().enumerate() {
        match layer(reader, catalogue, r, i) {
            Some((layer, plies)) => layers.extend(std::iter::repeat_n(layer, plies)),
            None => whole = false,
        }
    }
    if layers.len() > MOST_LAYERS {
        reader.faults.push(Fault::new(
            "too-many",
            "layers",
            format!("the stack has {} layers.", layers.len()),
            format!("At most {MOST_LAYERS} are read, plies counted singly."),
        ));
        return None;
    }
    whole.then_some(layers)
}

fn layer(reader: &mut Reader, catalogue: &Catalogue, raw: &RawLayer, index: usize) -> Option<(Layer, usize)> {
    let path = |key: &str| format!("layers[{index}].{key}");
    let thickness =
        reader.required(raw.thickness.as_ref(), &path("thickness"), Dimension::Length, Range::Positive(THICKEST_MM));
    let plies = match raw.plies {
        None => Some(1),
        Some(_) => reader.count(raw.plies.as_ref(), &path("plies"), 1, MOST_LAYERS),
    };
    let modulus =
        reader.optional(raw.modulus.as_ref(), &path("modulus"), Dimension::Modulus, Range::Positive(STIFFEST_MPA));
    let relaxed = reader.optional(raw.relaxed.as_ref(), &path("relaxed"), Dimension::Ratio, Range::Within(0.0, 0.95));
    let wanted = reader.text(raw.material.as_ref(), &path("material"));
    let material = match &wanted {
        Some(wanted) => match catalogue.find(wanted) {
            Ok(found) => Some(found.clone()),
            Err(near) => {
                let list = near.join("`, `");
                reader.faults.push(Fault::new(
                    "unknown-material",
                    path("material"),
                    format!("no material is called `{wanted}`."),
                    format!("Nearest: `{list}`. Or give a modulus instead of a material."),
                ));
                None
            }
        },
        None if raw.modulus.is_some() => Some(Material::of_modulus("as given", MaterialKind::WoodAlong, 1.0)),
        None => {
            if raw.material.is_none() {
                reader.missing(&path("material"), "Name a material, or give the modulus along the board.");
            }
            None
        }
    };
    let mut material = material?;
    if let Some(given) = modulus {
        material.modulus_mpa = Spread { value: given, cv: GIVEN_MODULUS_CV };
        material.source = "modulus given in the job document".to_owned();
    }
    let name = reader.text(raw.name.as_ref(), &path("name")).unwrap_or_else(|| material.name.clone());
    let mut layer = Layer::flat(name, material, thickness?);
    layer.entry = index;
    if let Some(value) = relaxed {
        layer.relaxed = Share { value, sd: 0.0 };
    }
    Some((layer, plies?))
}
