//! `[[layers]]`: the stack from base to deck.

use serde::Deserialize;

use super::doubts;
use super::own_materials::{Figures, Shelf};
use super::quantity::Quantity;
use super::reader::{LONGEST_MM, Range, Reader};
use crate::codes;
use crate::finding::Fault;
use crate::job::{Board, Layer, Material, MaterialKind, Origin, SagTest, Stations, Thickness};
use crate::units::{self, Dimension, LengthUnit, parse_quantity, phrase};

#[derive(Debug, Default, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default)]
pub(super) struct RawLayer {
    /// What the layer is called.
    ///
    /// Takes a text; the name of its material when left out.
    name: Option<Quantity>,
    /// A material of the catalogue (`overbend materials`) or of `[[materials]]`.
    ///
    /// Takes a text.
    material: Option<Quantity>,
    /// Modulus along the board for pure bending.
    ///
    /// Takes a modulus over 0 up to 1200000 MPa.
    modulus: Option<Quantity>,
    /// How far the modulus scatters: its standard deviation over its mean.
    ///
    /// Takes a ratio from 0 to 1.
    modulus_cv: Option<Quantity>,
    /// Modulus across the board.
    ///
    /// Takes a modulus over 0 up to 1200000 MPa.
    cross_modulus: Option<Quantity>,
    /// Modulus through the thickness.
    ///
    /// Takes a modulus over 0 up to 1200000 MPa.
    through_modulus: Option<Quantity>,
    /// Modulus of shear between the faces.
    ///
    /// Takes a modulus over 0 up to 1200000 MPa.
    shear_modulus: Option<Quantity>,
    /// Strain that the outer face bears.
    ///
    /// Takes a ratio over 0 up to 1.
    strain_limit: Option<Quantity>,
    /// Thermal expansion along the board.
    ///
    /// Takes an expansion from -1000 to 1000 1e-6/K.
    expansion: Option<Quantity>,
    /// Density.
    ///
    /// Takes a density over 0 up to 25000 kg/m3.
    density: Option<Quantity>,
    /// Part of its bending stress that it loses while it is held.
    ///
    /// Takes a ratio from 0 to 0.95.
    relaxed: Option<Quantity>,
    /// How far that part may be off, one standard deviation.
    ///
    /// Takes a ratio from 0 to 0.5.
    relaxed_error: Option<Quantity>,
    /// Thickness, of each ply.
    ///
    /// Takes a length over 0 up to 300 mm.
    thickness: Option<Quantity>,
    /// How far off the thickness may be, one standard deviation.
    ///
    /// Takes a length from 0 to 300 mm; 0.1 mm for planed stock and 3 % for laid stock when left out.
    thickness_error: Option<Quantity>,
    /// Pairs of station and thickness, in place of `thickness`.
    ///
    /// Takes a list of pairs of a length from -20000 to 20000 mm and a length over 0 up to 300 mm.
    taper: Option<Vec<Vec<Quantity>>>,
    /// Where the stations of `taper`, `from` and `to` are counted from.
    ///
    /// Takes one of `middle`, `tail`, `tip`; `middle` when left out.
    stations_from: Option<Quantity>,
    /// Where a layer that stops short begins.
    ///
    /// Takes a length from -20000 to 20000 mm.
    from: Option<Quantity>,
    /// Where a layer that stops short ends.
    ///
    /// Takes a length from -20000 to 20000 mm.
    to: Option<Quantity>,
    /// How many layers of this kind lie on each other and slide while the glue is wet.
    ///
    /// Takes a whole number from 1 to 100; `1` when left out.
    plies: Option<Quantity>,
    /// Layers with one number were glued to each other before pressing.
    ///
    /// Takes a whole number from 1 to 100.
    cured_group: Option<Quantity>,
    /// Curvature that the layer has by itself.
    ///
    /// Takes a curvature from -100 to 100 1/m; `0` when left out.
    natural_curvature: Option<Quantity>,
    /// A test of the layer's own stock on two supports; it replaces the catalogue's modulus.
    sag_test: Option<RawSagTest>,
    /// Moisture content of the wood, which changes the catalogue's modulus.
    ///
    /// Takes a ratio from 0.03 to 1.
    moisture: Option<Quantity>,
}

#[derive(Debug, Default, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default)]
struct RawSagTest {
    /// Distance of the supports.
    ///
    /// Takes a length over 0 up to 20000 mm; must be given.
    span: Option<Quantity>,
    /// Weight in the middle.
    ///
    /// Takes a force over 0 up to 100000 N; must be given.
    load: Option<Quantity>,
    /// Sag in the middle under it.
    ///
    /// Takes a length over 0 up to 20000 mm; must be given.
    sag: Option<Quantity>,
    /// Width of the strip.
    ///
    /// Takes a length over 0 up to 20000 mm; must be given.
    width: Option<Quantity>,
    /// Thickness of the strip.
    ///
    /// Takes a length over 0 up to 20000 mm; must be given.
    thickness: Option<Quantity>,
    /// Weight of the strip between the supports, where sag is read against a straight line.
    ///
    /// Takes a force from 0 to 100000 N; `0 N` when left out.
    strip_weight: Option<Quantity>,
    /// Modulus over shear modulus, to free the sag of shear.
    ///
    /// Takes a ratio from 1 to 200.
    shear_ratio: Option<Quantity>,
    /// How far the sag may be misread, one standard deviation.
    ///
    /// Takes a length from 0 to 50 mm; `0.2 mm` when left out.
    sag_error: Option<Quantity>,
    /// How far the thickness may be misread, one standard deviation.
    ///
    /// Takes a length from 0 to 50 mm; `0.05 mm` when left out.
    thickness_error: Option<Quantity>,
}

/// Most layers of one stack, plies counted singly.
const MOST_LAYERS: usize = 100;
/// Most stations of one taper.
const MOST_STATIONS: usize = 200;
/// Thickest layer, mm.
const THICKEST_MM: f64 = 300.0;
/// Standard error of the thickness of planed or sanded stock where the document does not say, mm (common practice, no
/// source).
const PLANED_ERROR_MM: f64 = 0.1;
/// The same for laid or rolled stock, as a part of the thickness (common practice, no source).
const LAID_ERROR: f64 = 0.03;
/// Standard errors of readings in a sag test where the document does not say, mm (common practice, no source).
const SAG_ERROR_MM: f64 = 0.2;
const CALIPER_ERROR_MM: f64 = 0.05;

/// Reads the list under `list`, such as `layers`.
pub(super) fn check(
    reader: &mut Reader,
    raw: Option<Vec<RawLayer>>,
    list: &str,
    shelf: &Shelf,
    board: Option<&Board>,
) -> Option<Vec<Layer>> {
    let raw = raw.unwrap_or_default();
    if raw.is_empty() {
        reader.missing(list, &format!("List the stack from base to deck, each layer as a table [[{list}]]."));
        return None;
    }
    let entry = |i: usize| format!("{list}[{i}]");
    let entries: Vec<Option<(Layer, usize)>> = raw
        .iter()
        .enumerate()
        .map(|(i, r)| {
            let (layer, plies) = layer(reader, shelf, r, &entry(i), board)?;
            Some((Layer { entry: i, ..layer }, plies))
        })
        .collect();
    let written: Vec<doubts::Written<'_>> = entries
        .iter()
        .flatten()
        .map(|(layer, plies)| doubts::Written {
            path: entry(layer.entry),
            layer,
            plies: *plies,
            says_plies: raw[layer.entry].plies.is_some(),
        })
        .collect();
    let whole = written.len() == raw.len();
    if whole {
        doubts::stack(reader, &written);
    }
    let layers: Vec<Layer> =
        entries.iter().flatten().flat_map(|(l, plies)| std::iter::repeat_n(l.clone(), *plies)).collect();
    if layers.len() > MOST_LAYERS {
        reader.faults.push(Fault::new(
            codes::TOO_MANY,
            list,
            format!("the stack has {} layers.", layers.len()),
            format!("At most {MOST_LAYERS} are read, plies counted singly."),
        ));
        return None;
    }
    whole.then_some(layers)
}

fn layer(
    reader: &mut Reader,
    shelf: &Shelf,
    raw: &RawLayer,
    entry: &str,
    board: Option<&Board>,
) -> Option<(Layer, usize)> {
    let path = |key: &str| format!("{entry}.{key}");
    let thickness = thickness(reader, raw, entry, board);
    let plies = match raw.plies {
        None => Some(1),
        Some(_) => reader.count(raw.plies.as_ref(), &path("plies"), 1, MOST_LAYERS),
    };
    let wanted = reader.text(raw.material.as_ref(), &path("material"));
    let mut material = match &wanted {
        Some(wanted) => shelf.find(reader, wanted, &path("material")),
        None if raw.modulus.is_some() => Some(Material::of_modulus("as given", MaterialKind::WoodAlong, 1.0)),
        None => {
            if raw.material.is_none() {
                reader.missing(&path("material"), "Name a material, or give the modulus along the board.");
            }
            None
        }
    };
    let figures = Figures {
        modulus: raw.modulus.as_ref(),
        modulus_cv: raw.modulus_cv.as_ref(),
        cross_modulus: raw.cross_modulus.as_ref(),
        through_modulus: raw.through_modulus.as_ref(),
        shear_modulus: raw.shear_modulus.as_ref(),
        strain_limit: raw.strain_limit.as_ref(),
        expansion: raw.expansion.as_ref(),
        density: raw.density.as_ref(),
        relaxed: raw.relaxed.as_ref(),
        relaxed_error: raw.relaxed_error.as_ref(),
    };
    // Wrong figures are told even where the material itself is not known.
    let given = figures.read(reader, entry);
    if let Some(m) = &mut material {
        given.slips(reader, entry, Some(&*m).filter(|_| wanted.is_some()));
        if wanted.is_some() {
            given.compare(reader, m, entry);
        }
        given.put_into(m, "given in the job document");
    }
    let moisture =
        reader.optional(raw.moisture.as_ref(), &path("moisture"), Dimension::Ratio, Range::Within(0.03, 1.0));
    let measured = [("modulus", raw.modulus.is_some()), ("sag_test", raw.sag_test.is_some())];
    for (key, _) in measured.iter().filter(|(_, given)| *given && raw.moisture.is_some()) {
        reader.faults.push(Fault::new(
            codes::TOO_MANY_CHOICES,
            path("moisture"),
            format!("`moisture` changes the catalogue's modulus, and `{key}` replaces it."),
            format!("Keep one of `moisture`, `{key}`."),
        ));
    }
    if raw.taper.is_none() && raw.from.is_none() && raw.to.is_none() {
        // Nothing is counted from there, but a mistyped word is told all the same.
        let _ = stations(reader, raw, entry, board);
    }
    let extent_mm = extent(reader, raw, entry, board);
    let sag_test = raw.sag_test.as_ref().map(|t| sag_test(reader, t, &path("sag_test")));
    let cured_group =
        raw.cured_group.as_ref().and_then(|g| reader.count(Some(g), &path("cured_group"), 1, MOST_LAYERS));
    let natural = reader.optional(
        raw.natural_curvature.as_ref(),
        &path("natural_curvature"),
        Dimension::Curvature,
        Range::Within(-0.1, 0.1),
    );
    let error = reader.optional(
        raw.thickness_error.as_ref(),
        &path("thickness_error"),
        Dimension::Length,
        Range::NotNegative(THICKEST_MM),
    );
    let name = reader.text(raw.name.as_ref(), &path("name"));
    let material = material?;
    let name = name.unwrap_or_else(|| material.name.clone());
    let thickness = thickness?;
    let mut layer = Layer::flat(name, material, 1.0);
    layer.thickness_sd_mm = error.unwrap_or_else(|| usual_error_mm(layer.material.kind, &thickness));
    layer.thickness = thickness;
    layer.moisture = moisture;
    layer.relaxed_stated = raw.relaxed.is_some();
    layer.extent_mm = extent_mm?;
    layer.cured_group = cured_group;
    layer.natural_curvature_per_mm = natural.unwrap_or(0.0);
    layer.sag_test = match sag_test {
        Some(test) => Some(test?),
        None => None,
    };
    Some((layer, plies?))
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

fn thickness(reader: &mut Reader, raw: &RawLayer, entry: &str, board: Option<&Board>) -> Option<Thickness> {
    let within = Range::Positive(THICKEST_MM);
    let Some(taper) = &raw.taper else {
        let path = format!("{entry}.thickness");
        return reader.required(raw.thickness.as_ref(), &path, Dimension::Length, within).map(Thickness::Constant);
    };
    if raw.thickness.is_some() {
        reader.one_of(entry, &[("thickness", true), ("taper", true)], "the thickness");
        return None;
    }
    let path = format!("{entry}.taper");
    if taper.is_empty() || taper.len() > MOST_STATIONS {
        reader.faults.push(Fault::new(
            codes::WRONG_SHAPE,
            path,
            format!("`taper` has {} pairs.", taper.len()),
            format!("Give 1 to {MOST_STATIONS} pairs of station and thickness: taper = [[-600, 3], [0, 8], [600, 3]]."),
        ));
        return None;
    }
    let to_middle = stations(reader, raw, entry, board);
    let mut pairs: Stations = Vec::with_capacity(taper.len());
    let mut whole = true;
    for (i, pair) in taper.iter().enumerate() {
        let at = format!("{path}[{i}]");
        let [station, thickness] = &pair[..] else {
            reader.faults.push(Fault::new(
                codes::WRONG_SHAPE,
                at,
                format!("pair {} of `taper` has {} values.", i + 1, pair.len()),
                "Give each station with its thickness: [[-600, 3], [0, 8], [600, 3]].",
            ));
            whole = false;
            continue;
        };
        let place = Range::Within(-LONGEST_MM, LONGEST_MM);
        let s = reader.optional(Some(station), &format!("{at}[0]"), Dimension::Length, place);
        let t = reader.optional(Some(thickness), &format!("{at}[1]"), Dimension::Length, within);
        match (to_middle, s, t) {
            (Some(to_middle), Some(s), Some(t)) => pairs.push((to_middle(s), t)),
            _ => whole = false,
        }
    }
    if !whole {
        return None;
    }
    pairs.sort_by(|a, b| a.0.total_cmp(&b.0));
    if let Some(w) = pairs.windows(2).find(|w| w[0].0 == w[1].0) {
        let message =
            phrase!("two thicknesses are given for the place {} from the middle.", units::Quantity::exact(w[0].0));
        reader.faults.push(codes::LAYER_TAPER.at(path, message));
        return None;
    }
    Some(Thickness::Tapered(pairs))
}

/// From a station as the layer counts it to the place from the middle of the board toward its tip, mm.
fn stations(
    reader: &mut Reader,
    raw: &RawLayer,
    entry: &str,
    board: Option<&Board>,
) -> Option<impl Fn(f64) -> f64 + Copy + use<>> {
    let (start, sign) = match reader.text(raw.stations_from.as_ref(), &format!("{entry}.stations_from")).as_deref() {
        None | Some("middle") => (0.0, 1.0),
        Some("tail") => (-0.5 * board?.length_mm, 1.0),
        Some("tip") => (0.5 * board?.length_mm, -1.0),
        Some(other) => {
            reader.faults.push(Fault::new(
                codes::WRONG_CHOICE,
                format!("{entry}.stations_from"),
                format!("`{other}` is no place that stations are counted from."),
                "Write \"middle\" (toward the tip positive), \"tail\" or \"tip\".",
            ));
            return None;
        }
    };
    Some(move |station: f64| start + sign * station)
}

/// From where to where the layer reaches: outside `None` where the keys are wrong, inside where it runs all along.
#[expect(clippy::option_option, reason = "wrong keys and no keys are different things")]
fn extent(reader: &mut Reader, raw: &RawLayer, entry: &str, board: Option<&Board>) -> Option<Option<(f64, f64)>> {
    if raw.from.is_none() && raw.to.is_none() {
        return Some(None);
    }
    let place = Range::Within(-LONGEST_MM, LONGEST_MM);
    let from = reader.optional(raw.from.as_ref(), &format!("{entry}.from"), Dimension::Length, place);
    let to = reader.optional(raw.to.as_ref(), &format!("{entry}.to"), Dimension::Length, place);
    if raw.from.is_none() || raw.to.is_none() {
        let (missing, given) = if raw.from.is_none() { ("from", "to") } else { ("to", "from") };
        reader.missing(&format!("{entry}.{missing}"), &format!("A layer with `{given}` stops short; give both ends."));
        return None;
    }
    let to_middle = stations(reader, raw, entry, board)?;
    let (a, b) = (to_middle(from?), to_middle(to?));
    if a == b {
        reader.faults.push(codes::LAYER_EXTENT.at(format!("{entry}.to"), "the layer ends where it begins."));
        return None;
    }
    Some(Some((a.min(b), a.max(b))))
}

/// Layers whose stations are listed, with the end that they are counted from and the stations as written.
pub(super) fn counted(raw: &[RawLayer], list: &str, unit: LengthUnit) -> Vec<(String, Option<Origin>, Vec<f64>)> {
    let mm = |q: &Quantity| match q {
        Quantity::Number(n) => Some(n * unit.mm()),
        Quantity::Text(t) => parse_quantity(t, Dimension::Length, unit).ok(),
        _ => None,
    };
    raw.iter()
        .enumerate()
        .filter_map(|(i, r)| {
            let (key, stations): (&str, Vec<f64>) = match (&r.taper, &r.from, &r.to) {
                (Some(taper), ..) => ("taper", taper.iter().filter_map(|pair| mm(pair.first()?)).collect()),
                (None, Some(from), Some(to)) => ("from", [from, to].into_iter().filter_map(mm).collect()),
                _ => return None,
            };
            let origin = match &r.stations_from {
                Some(Quantity::Text(word)) if word.trim() == "tail" => Some(Origin::Tail),
                Some(Quantity::Text(word)) if word.trim() == "tip" => Some(Origin::Tip),
                _ => None,
            };
            Some((format!("{list}[{i}].{key}"), origin, stations))
        })
        .collect()
}

fn sag_test(reader: &mut Reader, raw: &RawSagTest, path: &str) -> Option<SagTest> {
    let key = |key: &str| format!("{path}.{key}");
    let within = Range::Positive(LONGEST_MM);
    let mut length =
        |value: &Option<Quantity>, name: &str| reader.required(value.as_ref(), &key(name), Dimension::Length, within);
    let (span, sag) = (length(&raw.span, "span"), length(&raw.sag, "sag"));
    let (width, thickness) = (length(&raw.width, "width"), length(&raw.thickness, "thickness"));
    let load = reader.required(raw.load.as_ref(), &key("load"), Dimension::Force, Range::Positive(1e5));
    let weight = Range::NotNegative(1e5);
    let strip = reader.optional(raw.strip_weight.as_ref(), &key("strip_weight"), Dimension::Force, weight);
    let shear = Range::Within(1.0, 200.0);
    let shear_ratio = reader.optional(raw.shear_ratio.as_ref(), &key("shear_ratio"), Dimension::Ratio, shear);
    let mut error = |value: &Option<Quantity>, name: &str, usual: f64| {
        reader.optional(value.as_ref(), &key(name), Dimension::Length, Range::NotNegative(50.0)).unwrap_or(usual)
    };
    Some(SagTest {
        sag_error_mm: error(&raw.sag_error, "sag_error", SAG_ERROR_MM),
        thickness_error_mm: error(&raw.thickness_error, "thickness_error", CALIPER_ERROR_MM),
        span_mm: span?,
        load_n: load?,
        sag_mm: sag?,
        width_mm: width?,
        thickness_mm: thickness?,
        strip_weight_n: strip.unwrap_or(0.0),
        shear_ratio,
    })
}
