//! `[[layers]]`: the stack from base to deck.

use super::doubts::{self, Listed, Written};
use super::inputs::Inputs;
use super::keys::Range::{UpTo, Within};
use super::own_materials::{Shelf, figures};
use super::prices::HIGHEST;
use super::reader::LONGEST_MM;
use super::section::Section;
use super::taper::{MOST_LAYERS, sizes};
use crate::codes;
use crate::job::{Alternative, Board, Fabric, Layer, Material, MaterialKind, SagTest, Thickness};
use crate::units::{Dimension, STANDARD_GRAVITY};

/// Most stacks that are compared.
const MOST_ALTERNATIVES: usize = 20;
/// Standard error of the thickness of planed or sanded stock where the document does not say, mm (common practice, no
/// source).
const PLANED_ERROR_MM: f64 = 0.1;
/// The same for laid or rolled stock, as a part of the thickness (common practice, no source).
const LAID_ERROR: f64 = 0.03;
/// Standard errors of readings in a sag test where the document does not say, mm (common practice, no source).
const SAG_ERROR_MM: f64 = 0.2;
const CALIPER_ERROR_MM: f64 = 0.05;

/// Part of a wetted-out fabric's mass that is fibre where the document does not say: laid by hand (from memory).
const FIBRE_FRACTION: f64 = 0.5;

/// Reads the stack, and the stations that its layers list.
pub(super) fn layers(
    at: &mut Section<'_, '_>,
    shelf: &Shelf,
    (board, inputs): (Option<&Board>, &Inputs),
) -> (Option<Vec<Layer>>, Vec<Listed>) {
    let mut listed = Vec::new();
    let remedy = format!("List the stack from base to deck, each layer as a table [[{}]].", at.path_of("layers"));
    let written = at.tables("layers", (1, MOST_LAYERS), "The stack from base to deck.", |at, i| {
        let written = layer(at, shelf, (board, inputs), &mut listed)?;
        Some(written.of_entry(i))
    });
    let Some(written) = written.needed(remedy) else { return (None, listed) };
    at.reader.doubts.extend(doubts::stack(&written));
    let count: usize = written.iter().map(|w| w.plies.len()).sum();
    if count > MOST_LAYERS {
        let remedy = format!("At most {MOST_LAYERS} are read, plies counted singly.");
        at.fault(codes::TOO_MANY, "layers", format!("the stack has {count} layers."), remedy);
        return (None, listed);
    }
    let layers = written.into_iter().flat_map(|w| w.plies).collect();
    (Some(layers), listed)
}

/// Reads other stacks for the same table.
pub(super) fn alternatives(
    at: &mut Section<'_, '_>,
    shelf: &Shelf,
    (board, inputs): (Option<&Board>, &Inputs),
) -> Vec<Alternative> {
    let meaning = "Other stacks that might be pressed on the same table; `overbend predict` compares them.";
    let each = |at: &mut Section<'_, '_>, _| {
        let name = at.text("name", "What the stack is called.").needed("Give the stack a name.");
        let (layers, _) = layers(at, shelf, (board, inputs));
        Some(Alternative { name: name?, layers: layers? })
    };
    at.tables("alternatives", (0, MOST_ALTERNATIVES), meaning, each).optional().unwrap_or_default()
}

fn layer(
    at: &mut Section<'_, '_>,
    shelf: &Shelf,
    (board, inputs): (Option<&Board>, &Inputs),
    listed: &mut Vec<Listed>,
) -> Option<Written> {
    let name = at.text("name", "What the layer is called.").otherwise("the name of its material");
    let meaning = "A material of the catalogue (`overbend materials`) or of `[[materials]]`.";
    let named = at.text("material", meaning).optional();
    let given = figures(at);
    let meaning = "Moisture content of the wood, which changes the catalogue's modulus.";
    let moisture = at.quantity("moisture", Dimension::Ratio, Within(0.03, 1.0), meaning).optional();
    let meaning = "A test of the layer's own stock on two supports; it replaces the catalogue's modulus.";
    let sag_test = at.table("sag_test", meaning, sag_test).optional();
    let meaning = "Number of plies in this layer; they slide on each other while the glue is wet.";
    let plies = at.count("plies", (1, MOST_LAYERS), meaning).or(1);
    let meaning = "Layers with one number were glued to each other before pressing.";
    let cured_group = at.count("cured_group", (1, MOST_LAYERS), meaning).optional();
    let meaning = "Curvature that the layer has by itself.";
    let natural = at.quantity("natural_curvature", Dimension::Curvature, Within(-0.1, 0.1), meaning).or(0.0);
    let sizes = sizes(at, (board, inputs), plies, listed);
    let meaning = "Width of a layer that does not fill the board's, such as a core between side strips.";
    let width_mm = at.length("width", UpTo(LONGEST_MM), meaning).otherwise("as wide as the board");
    let (fabric, price_per_m2) = bought(at);
    for key in ["modulus", "sag_test"] {
        if at.has("moisture") && at.has(key) {
            let message = format!("`moisture` changes the catalogue's modulus, and `{key}` replaces it.");
            at.fault(codes::TOO_MANY_CHOICES, "moisture", message, format!("Keep one of `moisture`, `{key}`."));
        }
    }
    let listed_material = shelf.named(at, "material", named).ok()?;
    given.slips(at, listed_material.as_ref());
    if listed_material.is_none() && !at.has("modulus") {
        at.missing("material", "Name a material, or give the modulus along the board.");
        return None;
    }
    let mut material =
        listed_material.unwrap_or_else(|| Material::of_modulus("as given", MaterialKind::WoodAlong, 1.0));
    given.put_into(&mut material, "given in the job document");
    let plies = sizes.plies?;
    let mut layer = Layer::flat(name.unwrap_or_else(|| material.name.clone()), material, 1.0);
    layer.moisture = moisture;
    layer.relaxed_stated = at.has("relaxed");
    layer.extent_mm = sizes.extent_mm;
    layer.width_mm = width_mm;
    layer.cured_group = cured_group;
    layer.natural_curvature_per_mm = natural;
    layer.sag_test = sag_test;
    layer.fabric = fabric;
    layer.price_per_m2 = price_per_m2;
    let kind = layer.material.kind;
    let ply = |thickness: Thickness| {
        let thickness_sd_mm = sizes.error_mm.unwrap_or_else(|| usual_error_mm(kind, &thickness));
        Layer { thickness, thickness_sd_mm, ..layer.clone() }
    };
    let plies = plies.into_iter().map(ply).collect();
    Some(Written { path: at.path.clone(), plies, says_plies: at.has("plies") })
}

/// How the layer is bought: as dry fabric, and at which price per square metre.
fn bought(at: &mut Section<'_, '_>) -> (Option<Fabric>, Option<f64>) {
    let meaning = "Mass of the dry fabric of one ply that is wetted out on the table; not for what is bought cured.";
    let dry = at.quantity("fabric", Dimension::AreaMass, UpTo(5000.0), meaning).optional();
    let meaning = "Part of the wetted-out fabric's mass that is fibre.";
    let fibre_fraction = at.quantity("fibre_fraction", Dimension::Ratio, Within(0.2, 0.9), meaning).or(FIBRE_FRACTION);
    let meaning = "Price of one ply by its area, for the shopping list.";
    let price = at.quantity("price", Dimension::PricePerArea, Within(0.0, HIGHEST), meaning).optional();
    if at.has("fibre_fraction") && !at.has("fabric") {
        at.missing("fabric", "Give the mass of the dry fabric, or take `fibre_fraction` out.");
    }
    (dry.map(|dry_g_m2| Fabric { dry_g_m2, fibre_fraction }), price)
}

/// How far off the thickness of stock usually is, one standard error.
fn usual_error_mm(kind: MaterialKind, thickness: &Thickness) -> f64 {
    match (kind, thickness) {
        (MaterialKind::WoodAlong | MaterialKind::WoodAcross | MaterialKind::Sheet, _) | (_, Thickness::Tapered(_)) => {
            PLANED_ERROR_MM
        }
        (_, Thickness::Constant(t)) => LAID_ERROR * t,
    }
}

/// Largest weight on a strip, N: ten tonnes.
const MOST_LOAD_N: f64 = 1e4 * STANDARD_GRAVITY;

fn sag_test(at: &mut Section<'_, '_>) -> Option<SagTest> {
    let long = UpTo(LONGEST_MM);
    let span = at.length("span", long, "Distance between the supports.").usual(150.0, 3000.0).required();
    let load = at.quantity("load", Dimension::Weight, UpTo(MOST_LOAD_N), "Weight in the middle.").required();
    let sag = at.length("sag", long, "Sag in the middle under it.").required();
    let width = at.length("width", long, "Width of the strip.").usual(8.0, 300.0).required();
    let thickness = at.length("thickness", long, "Thickness of the strip.").usual(0.5, 60.0).required();
    let meaning = "Weight of the strip between the supports, where sag is read against a straight line.";
    let strip_weight_n = at.quantity("strip_weight", Dimension::Weight, Within(0.0, MOST_LOAD_N), meaning).or(0.0);
    let meaning = "Modulus over shear modulus, to free the sag of shear.";
    let shear_ratio = at.quantity("shear_ratio", Dimension::Ratio, Within(1.0, 200.0), meaning).optional();
    let error = Within(0.0, 50.0);
    let meaning = "How far the sag may be misread, one standard deviation.";
    let sag_error_mm = at.length("sag_error", error, meaning).or(SAG_ERROR_MM);
    let meaning = "How far the thickness may be misread, one standard deviation.";
    let thickness_error_mm = at.length("thickness_error", error, meaning).or(CALIPER_ERROR_MM);
    Some(SagTest {
        span_mm: span?,
        load_n: load?,
        sag_mm: sag?,
        width_mm: width?,
        thickness_mm: thickness?,
        strip_weight_n,
        shear_ratio,
        sag_error_mm,
        thickness_error_mm,
    })
}
