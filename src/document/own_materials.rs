//! `[[materials]]`: the shop's own materials, in the job or in a file of their own, and overrides of single figures.

use super::doubts;
use super::keys::Range::{UpTo, Within};
use super::materials::{Catalogue, instead_of};
use super::reader::{Reader, nearest};
use super::section::{self, Section};
use super::source::Source;
use crate::codes;
use crate::finding::Finding;
use crate::job::{Doubt, Material, MaterialKind, Share, Spread};
use crate::units::{Dimension, phrase};

/// Most materials of one list.
const MOST_MATERIALS: usize = 1000;
/// Largest file of materials that is read, bytes.
const LARGEST: usize = 50_000_000;
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

/// Figures of a material, none of them required.
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

/// Reads the figures that an own material and a layer may give.
pub(super) fn figures(at: &mut Section<'_, '_>) -> Given {
    let mut modulus = |key, meaning| at.quantity(key, Dimension::Modulus, UpTo(STIFFEST_MPA), meaning).optional();
    let modulus_mpa = modulus("modulus", "Modulus along the board for pure bending.");
    let cross_modulus_mpa = modulus("cross_modulus", "Modulus across the board.");
    let through_modulus_mpa = modulus("through_modulus", "Modulus through the thickness.");
    let shear_modulus_mpa = modulus("shear_modulus", "Modulus of shear between the faces.");
    let mut quantity = |key, dimension, range, meaning| at.quantity(key, dimension, range, meaning).optional();
    let (ratio, expansion) = (Dimension::Ratio, Dimension::Expansion);
    Given {
        modulus_mpa,
        modulus_cv: quantity(
            "modulus_cv",
            ratio,
            Within(0.0, 1.0),
            "How far the modulus scatters: its standard deviation over its mean.",
        ),
        cross_modulus_mpa,
        through_modulus_mpa,
        shear_modulus_mpa,
        strain_limit: quantity("strain_limit", ratio, UpTo(1.0), "Strain that the outer face bears."),
        expansion_per_k: quantity("expansion", expansion, Within(-1e-3, 1e-3), "Thermal expansion along the board."),
        density_kg_m3: quantity("density", Dimension::Density, UpTo(25_000.0), "Density."),
        relaxed: quantity(
            "relaxed",
            ratio,
            Within(0.0, 0.95),
            "Part of its bending stress that it loses while it is held.",
        ),
        relaxed_error: quantity(
            "relaxed_error",
            ratio,
            Within(0.0, 0.5),
            "How far that part may be off, one standard deviation.",
        ),
    }
}

impl Given {
    /// Notes figures that `material`, or any material where none is named, does not have.
    pub(super) fn slips(&self, at: &mut Section<'_, '_>, material: Option<&Material>) {
        let kind = material.map(|m| m.kind);
        let listed = material.and_then(|m| m.expansion_per_k);
        let of_modulus = |mpa| match material {
            Some(m) => doubts::modulus(&at.path_of("modulus"), mpa, &m.name, m.modulus_mpa.value),
            None => doubts::bare_modulus(&at.path_of("modulus"), mpa),
        };
        let found = [
            self.relaxed.and_then(|r| doubts::relaxed(&at.path_of("relaxed"), r, kind)),
            self.expansion_per_k.and_then(|e| doubts::expansion(&at.path_of("expansion"), e, listed)),
            self.density_kg_m3.and_then(|d| doubts::density(&at.path_of("density"), d, kind)),
            self.modulus_mpa.and_then(of_modulus),
        ];
        at.reader.doubts.extend(found.into_iter().flatten());
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
#[derive(Default)]
pub(super) struct Shelf {
    own: Vec<Material>,
}

impl Shelf {
    /// Reads a list of own materials. Later ones may be like earlier ones.
    pub(super) fn add(&mut self, at: &mut Section<'_, '_>, meaning: &'static str) {
        let _ = at
            .tables("materials", (0, MOST_MATERIALS), meaning, |at, _| {
                let material = self.own_material(at)?;
                if self.own.iter().any(|m| same_name(&m.name, &material.name)) {
                    let message = format!("there are two materials called `{}`.", material.name);
                    at.fault(codes::SAME_NAME, "name", message, "Rename one.");
                }
                self.own.push(material);
                Some(())
            })
            .optional();
    }

    /// Reads a file of own materials: a list `[[materials]]` and nothing else. What is wrong in it is reported at `path`, the
    /// key of the job document that names the file, with the line in the file.
    pub(super) fn add_file(&mut self, reader: &mut Reader, name: &str, text: &str, path: &str) {
        let source = match Source::parse(name, text, (LARGEST, "Keep the materials that are used.")) {
            Ok(source) => source,
            Err(problems) => return reader.fault_in_file(path, problems),
        };
        let mut inner = Reader::default();
        section::read(&mut inner, String::new(), Some(source.tree.get_ref()), |at| self.add(at, ""));
        reader.doubts.extend(inner.doubts.drain(..).map(|d| {
            let subject = phrase!("{}: {}", name.to_string(), d.finding.subject);
            Doubt { path: path.to_owned(), finding: Finding { subject, ..d.finding } }
        }));
        reader.fault_in_file(path, source.problems(inner.into_faults(), reader.unit));
    }

    fn own_material(&self, at: &mut Section<'_, '_>) -> Option<Material> {
        let name = at.text("name", "What layers call it.").needed("Give the material a name that layers can use.");
        let like = at.text("like", "Material that everything not given here is taken from.").optional();
        let kind = at.word("kind", &KINDS, "What kind of material it is.").otherwise("that of `like`");
        let given = figures(at);
        let source = at.text("source", "Where its modulus comes from.").or("the shop's own figure");
        let mut material = if at.has("like") {
            let found = self.find(at, &like?, "like")?;
            given.slips(at, Some(&found));
            found
        } else {
            if !at.has("modulus") {
                at.missing("modulus", "Give the modulus along the board, or say what it is `like`.");
            }
            if !at.has("kind") {
                let kinds = KINDS.map(|k| k.0).join(", ");
                at.missing("kind", format!("Say what kind it is ({kinds}), or what it is `like`."));
            }
            let bare = Material::of_modulus("", kind?, given.modulus_mpa?);
            given.slips(at, Some(&bare));
            at.doubt(doubts::bare_modulus(&at.path_of("modulus"), bare.modulus_mpa.value));
            bare
        };
        if let Some(kind) = kind {
            material.kind = kind;
        }
        given.put_into(&mut material, &source);
        material.name = name?;
        Some(material)
    }

    /// The material of this name, or a fault at `key` with the nearest names.
    pub(super) fn find(&self, at: &mut Section<'_, '_>, name: &str, key: &str) -> Option<Material> {
        if let Some(own) = self.own.iter().find(|m| same_name(&m.name, name)) {
            return Some(own.clone());
        }
        let near = match Catalogue::builtin().find(name) {
            Ok(found) => return Some(found.clone()),
            Err(unknown) => unknown.near,
        };
        let own: Vec<&str> = self.own.iter().map(|m| m.name.as_str()).collect();
        let names: Vec<&str> = nearest(name, &own).into_iter().chain(near.iter().map(String::as_str)).collect();
        let remedy = format!("{} Or give a modulus instead of a material.", instead_of(&names));
        at.fault(codes::UNKNOWN_MATERIAL, key, format!("no material is called `{name}`."), remedy);
        None
    }

    /// The material that a key names: `None` where nothing is named.
    ///
    /// # Errors
    /// Where the name is wrong, which is reported.
    pub(super) fn named(
        &self,
        at: &mut Section<'_, '_>,
        key: &str,
        name: Option<String>,
    ) -> Result<Option<Material>, ()> {
        match name {
            Some(name) => self.find(at, &name, key).map(Some).ok_or(()),
            None if at.has(key) => Err(()),
            None => Ok(None),
        }
    }
}

fn same_name(a: &str, b: &str) -> bool {
    a.trim().to_lowercase() == b.trim().to_lowercase()
}
