//! `[[materials]]`: the shop's own materials, in the job or in a file of their own, and overrides of single figures.

use serde::Deserialize;
use toml::de::DeTable;

use super::doubts;
use super::materials::{Catalogue, instead_of};
use super::places;
use super::problem::Problem;
use super::quantity::Quantity;
use super::reader::{Range, Reader, nearest};
use crate::codes;
use crate::finding::{Fault, Finding};
use crate::job::{Doubt, Material, MaterialKind, Share, Spread};
use crate::units::{Dimension, phrase};

#[derive(Debug, Default, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default)]
pub(super) struct RawOwnMaterial {
    /// What layers call it.
    ///
    /// Takes a text; must be given.
    name: Option<Quantity>,
    /// Material that everything not given here is taken from.
    ///
    /// Takes a text.
    like: Option<Quantity>,
    /// What kind of material it is.
    ///
    /// Takes one of `wood`, `wood-across`, `laminate`, `metal`, `plastic`, `sheet`; that of `like` when left out.
    kind: Option<Quantity>,
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
    /// Where its modulus comes from.
    ///
    /// Takes a text; `the shop's own figure` when left out.
    source: Option<Quantity>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
struct RawMaterialsFile {
    materials: Option<Vec<RawOwnMaterial>>,
}

/// Most materials of one list.
const MOST_MATERIALS: usize = 1000;
/// Stiffest modulus, MPa: beyond diamond's 1.1 TPa nothing is glued to a board.
const STIFFEST_MPA: f64 = 1.2e6;
/// Scatter of a modulus that the document gives without more words (common practice, no source).
const GIVEN_MODULUS_CV: f64 = 0.10;

/// What kinds are called in documents.
const KINDS: [(&str, MaterialKind); 6] = [
    ("wood", MaterialKind::WoodAlong),
    ("wood-across", MaterialKind::WoodAcross),
    ("laminate", MaterialKind::Laminate),
    ("metal", MaterialKind::Metal),
    ("plastic", MaterialKind::Plastic),
    ("sheet", MaterialKind::Sheet),
];

/// What a kind is called in documents and listings.
pub fn kind_name(kind: MaterialKind) -> &'static str {
    KINDS.iter().find(|k| k.1 == kind).map_or("", |k| k.0)
}

/// Figures of a material as written, none of them required.
pub(super) struct Figures<'r> {
    pub(super) modulus: Option<&'r Quantity>,
    pub(super) modulus_cv: Option<&'r Quantity>,
    pub(super) cross_modulus: Option<&'r Quantity>,
    pub(super) through_modulus: Option<&'r Quantity>,
    pub(super) shear_modulus: Option<&'r Quantity>,
    pub(super) strain_limit: Option<&'r Quantity>,
    pub(super) expansion: Option<&'r Quantity>,
    pub(super) density: Option<&'r Quantity>,
    pub(super) relaxed: Option<&'r Quantity>,
    pub(super) relaxed_error: Option<&'r Quantity>,
}

/// Those figures as values.
pub(super) struct Given {
    modulus_mpa: Option<f64>,
    modulus_cv: Option<f64>,
    cross_modulus_mpa: Option<f64>,
    through_modulus_mpa: Option<f64>,
    shear_modulus_mpa: Option<f64>,
    strain_limit: Option<f64>,
    expansion_per_k: Option<f64>,
    density_kg_m3: Option<f64>,
    relaxed: Option<f64>,
    relaxed_error: Option<f64>,
}

impl Figures<'_> {
    /// Checks the figures under `entry`.
    pub(super) fn read(&self, reader: &mut Reader, entry: &str) -> Given {
        let mut value = |value: Option<&Quantity>, key: &str, dimension: Dimension, range: Range| {
            reader.optional(value, &format!("{entry}.{key}"), dimension, range)
        };
        let modulus = Range::Positive(STIFFEST_MPA);
        Given {
            modulus_mpa: value(self.modulus, "modulus", Dimension::Modulus, modulus),
            modulus_cv: value(self.modulus_cv, "modulus_cv", Dimension::Ratio, Range::Within(0.0, 1.0)),
            cross_modulus_mpa: value(self.cross_modulus, "cross_modulus", Dimension::Modulus, modulus),
            through_modulus_mpa: value(self.through_modulus, "through_modulus", Dimension::Modulus, modulus),
            shear_modulus_mpa: value(self.shear_modulus, "shear_modulus", Dimension::Modulus, modulus),
            strain_limit: value(self.strain_limit, "strain_limit", Dimension::Ratio, Range::Positive(1.0)),
            expansion_per_k: value(self.expansion, "expansion", Dimension::Expansion, Range::Within(-1e-3, 1e-3)),
            density_kg_m3: value(self.density, "density", Dimension::Density, Range::Positive(25_000.0)),
            relaxed: value(self.relaxed, "relaxed", Dimension::Ratio, Range::Within(0.0, 0.95)),
            relaxed_error: value(self.relaxed_error, "relaxed_error", Dimension::Ratio, Range::Within(0.0, 0.5)),
        }
    }
}

impl Given {
    /// Notes what is far from the figures of the material that it overrides.
    pub(super) fn compare(&self, reader: &mut Reader, material: &Material, entry: &str) {
        if let Some(given_mpa) = self.modulus_mpa {
            let path = format!("{entry}.modulus");
            doubts::modulus(reader, &path, given_mpa, &material.name, material.modulus_mpa.value);
        }
    }

    /// Notes figures that `material`, or any material where none is named, does not have.
    pub(super) fn slips(&self, reader: &mut Reader, entry: &str, material: Option<&Material>) {
        let kind = material.map(|m| m.kind);
        if let Some(relaxed) = self.relaxed {
            doubts::relaxed(reader, &format!("{entry}.relaxed"), relaxed, kind);
        }
        if let Some(expansion) = self.expansion_per_k {
            let listed = material.and_then(|m| m.expansion_per_k);
            doubts::expansion(reader, &format!("{entry}.expansion"), expansion, listed);
        }
        if let Some(density) = self.density_kg_m3 {
            doubts::density(reader, &format!("{entry}.density"), density, kind);
        }
        if let Some(modulus) = self.modulus_mpa.filter(|_| material.is_none()) {
            doubts::bare_modulus(reader, &format!("{entry}.modulus"), modulus);
        }
    }

    /// Puts what is given in the place of what the material says; `source` is where a given modulus comes from.
    pub(super) fn put_into(&self, material: &mut Material, source: &str) {
        if let Some(value) = self.modulus_mpa {
            material.modulus_mpa = Spread { value, cv: GIVEN_MODULUS_CV };
            material.source = source.to_owned();
            // What the shop gives holds for its own wood as it is.
            material.drying = None;
        }
        if let Some(cv) = self.modulus_cv {
            material.modulus_mpa.cv = cv;
        }
        material.cross_modulus_mpa = self.cross_modulus_mpa.or(material.cross_modulus_mpa);
        material.through_modulus_mpa = self.through_modulus_mpa.or(material.through_modulus_mpa);
        material.shear_modulus_mpa = self.shear_modulus_mpa.or(material.shear_modulus_mpa);
        material.strain_limit = self.strain_limit.or(material.strain_limit);
        material.expansion_per_k = self.expansion_per_k.or(material.expansion_per_k);
        material.density_kg_m3 = self.density_kg_m3.or(material.density_kg_m3);
        if let Some(value) = self.relaxed {
            material.relaxed = Share { value, sd: 0.0 };
        }
        if let Some(sd) = self.relaxed_error {
            material.relaxed.sd = sd;
        }
    }
}

/// Where a job's materials are looked up: its own first, then the catalogue.
pub(super) struct Shelf {
    own: Vec<Material>,
}

impl Shelf {
    pub(super) fn new() -> Self {
        Self { own: Vec::new() }
    }

    /// Reads one list of own materials, under `list`. Later ones may be like earlier ones.
    pub(super) fn add(&mut self, reader: &mut Reader, raw: &[RawOwnMaterial], list: &str) {
        if raw.len() > MOST_MATERIALS {
            let message = format!("{} materials are listed.", raw.len());
            reader.faults.push(Fault::new(
                codes::TOO_MANY,
                list,
                message,
                format!("At most {MOST_MATERIALS} are read."),
            ));
            return;
        }
        for (i, r) in raw.iter().enumerate() {
            if let Some(material) = self.own_material(reader, r, &format!("{list}[{i}]")) {
                if self.own.iter().any(|m| same_name(&m.name, &material.name)) {
                    let message = format!("there are two materials called `{}`.", material.name);
                    reader.faults.push(codes::SAME_NAME.at(format!("{list}[{i}].name"), message));
                }
                self.own.push(material);
            }
        }
    }

    /// Reads a file of own materials: a list `[[materials]]` and nothing else. What is wrong in it is told at `path`, the
    /// key of the job document that names the file, with the line in the file.
    pub(super) fn add_file(&mut self, reader: &mut Reader, name: &str, text: &str, path: &str) {
        let mut told = |text: &str, span: std::ops::Range<usize>, fault: Fault| {
            let at = Problem::at(name, text, span, fault);
            let message = phrase!("line {} of {}: {}", at.line, name, at.fault.message);
            reader.faults.push(Fault::new(at.fault.code, path, message, at.fault.remedy));
        };
        let (tree, errors) = DeTable::parse_recoverable(text);
        for error in &errors {
            let message = format!("this is not valid TOML: {}.", error.message().trim_end_matches('.'));
            let fault = Fault::new(codes::SYNTAX, path, message, "Write it as `key = value` under [[materials]].");
            told(text, error.span().unwrap_or(0..0), fault);
        }
        if !errors.is_empty() {
            return;
        }
        let controls = places::control_characters(&tree);
        if !controls.is_empty() {
            controls.into_iter().for_each(|(span, fault)| told(text, span, fault));
            return;
        }
        let (raw, mut faults, spoiled) = places::extract::<RawMaterialsFile>(&tree);
        let mut inner = Reader::new(spoiled);
        self.add(&mut inner, &raw.materials.unwrap_or_default(), "materials");
        faults.append(&mut inner.faults);
        reader.doubts.extend(inner.doubts.into_iter().map(|d| {
            let subject = phrase!("{}: {}", name.to_string(), d.finding.subject);
            Doubt { path: path.to_owned(), finding: Finding { subject, ..d.finding } }
        }));
        for fault in faults {
            let span = places::span_of(&tree, &fault.path, fault.code == "unknown-key");
            told(text, span, fault);
        }
    }

    fn own_material(&self, reader: &mut Reader, raw: &RawOwnMaterial, entry: &str) -> Option<Material> {
        let path = |key: &str| format!("{entry}.{key}");
        if raw.name.is_none() {
            reader.missing(&path("name"), "Give the material a name that layers can use.");
        }
        let name = reader.text(raw.name.as_ref(), &path("name"));
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
        let given = figures.read(reader, entry);
        let source = reader.text(raw.source.as_ref(), &path("source"));
        let kind = kind(reader, raw.kind.as_ref(), &path("kind"));
        let mut material = match &raw.like {
            Some(like) => {
                let like = reader.text(Some(like), &path("like"))?;
                let found = self.find(reader, &like, &path("like"))?;
                given.compare(reader, &found, entry);
                given.slips(reader, entry, Some(&found));
                found
            }
            None => {
                if raw.modulus.is_none() {
                    reader.missing(&path("modulus"), "Give the modulus along the board, or say what it is `like`.");
                }
                if raw.kind.is_none() {
                    let kinds = KINDS.map(|k| k.0).join(", ");
                    reader.missing(&path("kind"), &format!("Say what kind it is ({kinds}), or what it is `like`."));
                }
                let bare = Material::of_modulus("", kind?, given.modulus_mpa?);
                given.slips(reader, entry, Some(&bare));
                doubts::bare_modulus(reader, &path("modulus"), bare.modulus_mpa.value);
                bare
            }
        };
        if let Some(kind) = kind {
            material.kind = kind;
        }
        given.put_into(&mut material, source.as_deref().unwrap_or("the shop's own figure"));
        material.name = name?;
        Some(material)
    }

    /// The material of this name, or a fault at `path` with the nearest names.
    pub(super) fn find(&self, reader: &mut Reader, name: &str, path: &str) -> Option<Material> {
        if let Some(own) = self.own.iter().find(|m| same_name(&m.name, name)) {
            return Some(own.clone());
        }
        let near = match Catalogue::builtin().find(name) {
            Ok(found) => return Some(found.clone()),
            Err(near) => near,
        };
        let own: Vec<&str> = self.own.iter().map(|m| m.name.as_str()).collect();
        let names: Vec<&str> = nearest(name, &own).into_iter().chain(near.iter().map(String::as_str)).collect();
        reader.faults.push(Fault::new(
            codes::UNKNOWN_MATERIAL,
            path,
            format!("no material is called `{name}`."),
            format!("{} Or give a modulus instead of a material.", instead_of(&names)),
        ));
        None
    }
}

fn same_name(a: &str, b: &str) -> bool {
    a.trim().to_lowercase() == b.trim().to_lowercase()
}

fn kind(reader: &mut Reader, value: Option<&Quantity>, path: &str) -> Option<MaterialKind> {
    let wanted = reader.text(value, path)?;
    let found = KINDS.iter().find(|k| k.0 == wanted).map(|k| k.1);
    if found.is_none() {
        let names = KINDS.map(|k| k.0);
        let hint = nearest(&wanted, &names).map_or(String::new(), |n| format!(" Did you mean \"{n}\"?"));
        reader.faults.push(Fault::new(
            codes::WRONG_CHOICE,
            path,
            format!("`{wanted}` is no kind of material."),
            format!("Write one of {}.{hint}", names.join(", ")),
        ));
    }
    found
}
