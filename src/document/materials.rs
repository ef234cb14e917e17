//! The catalogue of materials: TOML in, materials out, every figure with its source.

use std::collections::BTreeMap;
use std::fmt;
use std::sync::OnceLock;

use serde::Deserialize;

use crate::job::{Drying, Material, MaterialKind, Share, Spread};
use crate::units::{Dimension, LengthUnit, parse_quantity};

/// The files of the built-in catalogue: name and text.
const FILES: [(&str, &str); 5] = [
    ("wood.toml", include_str!("../../templates/materials/wood.toml")),
    ("laminate.toml", include_str!("../../templates/materials/laminate.toml")),
    ("metal.toml", include_str!("../../templates/materials/metal.toml")),
    ("plastic.toml", include_str!("../../templates/materials/plastic.toml")),
    ("sheet.toml", include_str!("../../templates/materials/sheet.toml")),
];

/// Mass of wood at 12 % moisture content over its ovendry mass.
const MASS_AT_12_PERCENT: f64 = 1.12;

/// How well a figure is known to be what its source says.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
pub enum Mark {
    /// Read in a public copy of the source.
    #[serde(rename = "seen")]
    Seen,
    /// Read in another work that quotes the source.
    #[serde(rename = "second-hand")]
    SecondHand,
    /// Written down from memory; check it before leaning on it.
    #[serde(rename = "from memory")]
    FromMemory,
    /// Computed from other figures as the source says.
    #[serde(rename = "computed")]
    Computed,
}

impl Mark {
    /// The words used in documents and listings.
    pub fn words(self) -> &'static str {
        match self {
            Self::Seen => "seen",
            Self::SecondHand => "second-hand",
            Self::FromMemory => "from memory",
            Self::Computed => "computed",
        }
    }
}

/// One figure of a material as its file states it.
#[derive(Debug, Clone, PartialEq)]
pub struct Fact {
    /// What it is, as the key in the file.
    pub key: &'static str,
    /// The value as written, with its unit.
    pub value: String,
    /// Where it comes from.
    pub source: String,
    /// How well it is known to be what the source says.
    pub mark: Mark,
}

/// A material with all that the catalogue says about it.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// The material.
    pub material: Material,
    /// Other names that find it.
    pub other_names: Vec<String>,
    /// Names of other things that it is offered for, because it is nearest to them.
    pub near_names: Vec<String>,
    /// What a shop must know before it takes these figures; empty where there is nothing.
    pub note: String,
    /// Every figure with its source.
    pub facts: Vec<Fact>,
}

/// Materials by name.
#[derive(Debug, Clone, PartialEq)]
pub struct Catalogue {
    entries: Vec<Entry>,
}

/// What is wrong in a file of materials.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CatalogueError {
    /// Line, from 1, or 0 where the fault has no one place.
    pub line: usize,
    /// What is wrong and what would be right.
    pub message: String,
}

impl fmt::Display for CatalogueError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "line {}: {}", self.line, self.message)
    }
}

impl std::error::Error for CatalogueError {}

/// There is no material of this name.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct UnknownMaterial {
    /// The name that was looked up.
    pub name: String,
    /// The nearest known names, best first.
    pub near: Vec<String>,
}

impl fmt::Display for UnknownMaterial {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let near: Vec<&str> = self.near.iter().map(String::as_str).collect();
        write!(f, "no material is called `{}`. {}", self.name, instead_of(&near))
    }
}

impl std::error::Error for UnknownMaterial {}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct RawFile {
    kind: RawKind,
    #[serde(default)]
    rule: RawRule,
    sources: BTreeMap<String, RawSource>,
    #[serde(default)]
    defaults: RawDefaults,
    material: Vec<RawMaterial>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
enum RawKind {
    WoodAlong,
    Laminate,
    Metal,
    Plastic,
    Sheet,
}

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields)]
struct RawRule {
    shear_free_factor: Option<RawValue>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct RawSource {
    title: String,
    mark: Mark,
}

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields)]
struct RawDefaults {
    moisture_point: Option<RawValue>,
    modulus_cv: Option<RawValue>,
    expansion: Option<RawValue>,
    relaxed: Option<RawValue>,
}

#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
struct RawValue {
    value: toml::Spanned<NumberOrText>,
    sd: Option<f64>,
    source: String,
}

#[derive(Debug, Clone, Deserialize)]
#[serde(untagged)]
enum NumberOrText {
    Number(f64),
    Text(String),
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct RawMaterial {
    name: toml::Spanned<String>,
    #[serde(default)]
    other_names: Vec<String>,
    #[serde(default)]
    near_names: Vec<String>,
    #[serde(default)]
    note: String,
    modulus: Option<RawValue>,
    beam_modulus: Option<RawValue>,
    green_beam_modulus: Option<RawValue>,
    moisture_point: Option<RawValue>,
    modulus_cv: Option<RawValue>,
    cross_modulus: Option<RawValue>,
    cross_ratio: Option<RawValue>,
    through_ratio: Option<RawValue>,
    shear_ratio: Option<RawValue>,
    strength: Option<RawValue>,
    strain_limit: Option<RawValue>,
    cross_strain_limit: Option<RawValue>,
    expansion: Option<RawValue>,
    cross_expansion: Option<RawValue>,
    density: Option<RawValue>,
    specific_gravity: Option<RawValue>,
    relaxed: Option<RawValue>,
}

impl Catalogue {
    /// The catalogue that comes with the program.
    pub fn builtin() -> &'static Self {
        static BUILTIN: OnceLock<Catalogue> = OnceLock::new();
        BUILTIN.get_or_init(|| {
            // The files are compiled in and a test reads them; one that fails here would never have been built.
            let entries = FILES.iter().flat_map(|(_, text)| parse(text).unwrap_or_default()).collect();
            Self { entries }
        })
    }

    /// All entries, in the order of the files.
    pub fn entries(&self) -> &[Entry] {
        &self.entries
    }

    /// The material of this name or other name; capitals do not matter.
    ///
    /// # Errors
    /// [`UnknownMaterial`] with the nearest known names.
    pub fn find(&self, name: &str) -> Result<&Material, UnknownMaterial> {
        self.entry(name).map(|e| &e.material)
    }

    /// The whole entry of this name or other name; capitals do not matter.
    ///
    /// # Errors
    /// [`UnknownMaterial`] with the nearest known names.
    pub fn entry(&self, name: &str) -> Result<&Entry, UnknownMaterial> {
        let wanted = name.trim().to_lowercase();
        let names = |e: &Entry| -> Vec<String> {
            std::iter::once(&e.material.name).chain(&e.other_names).map(|n| n.to_lowercase()).collect()
        };
        if let Some(found) = self.entries.iter().find(|e| names(e).contains(&wanted)) {
            return Ok(found);
        }
        Err(UnknownMaterial { name: name.trim().to_owned(), near: self.nearest(&wanted) })
    }

    /// Names that may be meant by `wanted`: those that list it as a near name, else those whose words are alike.
    fn nearest(&self, wanted: &str) -> Vec<String> {
        let named = |e: &&Entry| e.near_names.iter().any(|n| n.to_lowercase() == wanted);
        let listed: Vec<String> = self.entries.iter().filter(named).map(|e| e.material.name.clone()).collect();
        if !listed.is_empty() {
            return listed;
        }
        let likeness = |e: &Entry| {
            let names = std::iter::once(&e.material.name).chain(&e.other_names).chain(&e.near_names);
            names.map(|n| words_alike(wanted, &n.to_lowercase())).fold(0.0, f64::max)
        };
        let mut ranked: Vec<(f64, &str)> = self
            .entries
            .iter()
            .map(|e| (likeness(e), e.material.name.as_str()))
            .filter(|(likeness, _)| *likeness >= LEAST_LIKENESS)
            .collect();
        ranked.sort_by(|a, b| b.0.total_cmp(&a.0));
        ranked.into_iter().take(NAMES_SUGGESTED).map(|(_, n)| n.to_owned()).collect()
    }
}

/// How alike two names are, from 0 to 1: the mean, over the words of `wanted`, of the likeness to the nearest word of `name`.
/// What a name has beyond that counts a little, so that the shorter of two names comes first.
fn words_alike(wanted: &str, name: &str) -> f64 {
    let words = |text: &str| -> Vec<String> {
        text.split(|c: char| !c.is_alphanumeric()).filter(|w| !w.is_empty()).map(str::to_owned).collect()
    };
    let (wanted, name) = (words(wanted), words(name));
    let word_alike = |w: &str, n: &str| {
        if w.chars().count() >= 3 && n.starts_with(w) {
            0.9_f64.max(strsim::normalized_damerau_levenshtein(w, n))
        } else {
            strsim::normalized_damerau_levenshtein(w, n)
        }
    };
    let best = |w: &String| name.iter().map(|n| word_alike(w, n)).fold(0.0, f64::max);
    let mean = wanted.iter().map(best).sum::<f64>() / wanted.len().max(1) as f64;
    mean - 0.001 * name.len().abs_diff(wanted.len()) as f64
}

/// Words less alike than this are other words: one letter in four may differ.
const LEAST_LIKENESS: f64 = 0.74;
/// How many names are offered for one that is not known: enough to hold the one that was meant, few enough to read.
const NAMES_SUGGESTED: usize = 3;

/// What is said after "no material is called so": the nearest names, or what kinds there are where none is near.
pub(super) fn instead_of(near: &[&str]) -> String {
    if near.is_empty() {
        return "Nothing in the catalogue has a name like it. It holds woods, plywood and boards, fibre laminates, metals \
                and plastics; `overbend materials` lists them."
            .to_owned();
    }
    format!("Nearest: `{}`.", near.join("`, `"))
}

/// Reads one file of materials.
fn parse(text: &str) -> Result<Vec<Entry>, CatalogueError> {
    let line_of = |at: usize| text.get(..at).map_or(0, |before| before.matches('\n').count() + 1);
    let file: RawFile = toml::from_str(text).map_err(|e| CatalogueError {
        line: e.span().map_or(0, |s| line_of(s.start)),
        message: e.message().to_owned(),
    })?;
    let mut entries = Vec::new();
    for raw in &file.material {
        let mut reading = Reading { file: &file, facts: Vec::new(), fault: None };
        let material = reading.material(raw);
        if let Some((at, message)) = reading.fault {
            return Err(CatalogueError { line: line_of(at), message });
        }
        let entry = Entry {
            material,
            other_names: raw.other_names.clone(),
            near_names: raw.near_names.clone(),
            note: raw.note.clone(),
            facts: reading.facts,
        };
        let across = across(&entry, raw, &file);
        entries.push(entry);
        entries.extend(across);
    }
    Ok(entries)
}

/// Reads the figures of one material, keeping note of their sources and of the first fault.
struct Reading<'f> {
    file: &'f RawFile,
    facts: Vec<Fact>,
    fault: Option<(usize, String)>,
}

impl Reading<'_> {
    fn material(&mut self, raw: &RawMaterial) -> Material {
        let printed = self.value("beam_modulus", raw.beam_modulus.as_ref(), Dimension::Modulus);
        let factor = self.file.rule.shear_free_factor.as_ref().filter(|_| printed.is_some());
        let factor = self.value("shear_free_factor", factor, Dimension::Ratio).unwrap_or(1.0);
        let given = self.value("modulus", raw.modulus.as_ref(), Dimension::Modulus);
        let modulus = given.or(printed.map(|p| p * factor)).unwrap_or_else(|| {
            self.complain(raw.name.span().start, "needs modulus or beam_modulus");
            f64::NAN
        });
        let defaults = &self.file.defaults;
        let cv = self.value("modulus_cv", raw.modulus_cv.as_ref().or(defaults.modulus_cv.as_ref()), Dimension::Ratio);
        let source = self.facts.first().map_or(String::new(), |f| format!("{} ({})", f.source, f.mark.words()));
        let mut of_modulus = |key, v: Option<&RawValue>| self.value(key, v, Dimension::Ratio).map(|r| r * modulus);
        let cross = of_modulus("cross_ratio", raw.cross_ratio.as_ref());
        let through = of_modulus("through_ratio", raw.through_ratio.as_ref());
        let shear = of_modulus("shear_ratio", raw.shear_ratio.as_ref());
        let cross = self.value("cross_modulus", raw.cross_modulus.as_ref(), Dimension::Modulus).or(cross);
        let strength = self.value("strength", raw.strength.as_ref(), Dimension::Strength);
        let strain = self.value("strain_limit", raw.strain_limit.as_ref(), Dimension::Ratio);
        let expansion = raw.expansion.as_ref().or(defaults.expansion.as_ref());
        let green = self.value("green_beam_modulus", raw.green_beam_modulus.as_ref(), Dimension::Modulus);
        let point = raw.moisture_point.as_ref().or(defaults.moisture_point.as_ref()).filter(|_| green.is_some());
        let point = self.value("moisture_point", point, Dimension::Ratio);
        let drying = printed.zip(green).zip(point);
        let gravity = self.value("specific_gravity", raw.specific_gravity.as_ref(), Dimension::Ratio);
        let density = self.value("density", raw.density.as_ref(), Dimension::Density);
        let relaxed = raw.relaxed.as_ref().or(defaults.relaxed.as_ref());
        Material {
            name: raw.name.get_ref().clone(),
            kind: match self.file.kind {
                RawKind::WoodAlong => MaterialKind::WoodAlong,
                RawKind::Laminate => MaterialKind::Laminate,
                RawKind::Metal => MaterialKind::Metal,
                RawKind::Plastic => MaterialKind::Plastic,
                RawKind::Sheet => MaterialKind::Sheet,
            },
            modulus_mpa: Spread { value: modulus, cv: cv.unwrap_or(0.0) },
            cross_modulus_mpa: cross,
            through_modulus_mpa: through,
            shear_modulus_mpa: shear,
            strain_limit: strain.or(strength.map(|s| s / printed.unwrap_or(modulus))),
            expansion_per_k: self.value("expansion", expansion, Dimension::Expansion),
            density_kg_m3: density.or(gravity.map(|g| 1000.0 * MASS_AT_12_PERCENT * g)),
            drying: drying.map(|((dry, green), point)| Drying { stiffer: dry / green, point }),
            relaxed: Share {
                value: self.value("relaxed", relaxed, Dimension::Ratio).unwrap_or(0.0),
                sd: relaxed.and_then(|r| r.sd).unwrap_or(0.0),
            },
            source,
        }
    }

    /// A figure in the library's own unit, with its source noted.
    fn value(&mut self, key: &'static str, raw: Option<&RawValue>, dimension: Dimension) -> Option<f64> {
        let raw = raw?;
        let at = raw.value.span().start;
        let Some(source) = self.file.sources.get(&raw.source) else {
            self.complain(at, &format!("{key} names the source `{}`, which is not in [sources]", raw.source));
            return None;
        };
        let bare = LengthUnit::Millimetre;
        let (number, written) = match raw.value.get_ref() {
            NumberOrText::Number(n) => (dimension.from_bare(*n, bare), bare_text(*n, dimension)),
            NumberOrText::Text(t) => (parse_quantity(t, dimension, bare), t.clone()),
        };
        let Ok(number) = number else {
            self.complain(at, &format!("{key} is not a quantity in {}", dimension.units()));
            return None;
        };
        let written = raw.sd.map_or_else(|| written.clone(), |sd| format!("{written} ± {sd}"));
        self.facts.push(Fact { key, value: written, source: source.title.clone(), mark: source.mark });
        Some(number)
    }

    fn complain(&mut self, at: usize, message: &str) {
        self.fault.get_or_insert_with(|| (at, message.to_owned()));
    }
}

fn bare_text(number: f64, dimension: Dimension) -> String {
    match dimension {
        Dimension::Expansion => format!("{number}e-6/K"),
        _ => number.to_string(),
    }
}

/// The same material turned by a right angle, where it is known to differ across.
fn across(along: &Entry, raw: &RawMaterial, file: &RawFile) -> Option<Entry> {
    let m = &along.material;
    let cross_modulus = m.cross_modulus_mpa.filter(|c| *c != m.modulus_mpa.value)?;
    let mut reading = Reading { file, facts: Vec::new(), fault: None };
    let strain_limit = reading.value("cross_strain_limit", raw.cross_strain_limit.as_ref(), Dimension::Ratio);
    let expansion_per_k = reading.value("cross_expansion", raw.cross_expansion.as_ref(), Dimension::Expansion);
    let turned = |f: &&Fact| !matches!(f.key, "strength" | "strain_limit" | "expansion" | "shear_ratio");
    let mut facts: Vec<Fact> = along.facts.iter().filter(turned).cloned().collect();
    facts.append(&mut reading.facts);
    let name = |n: &String| format!("{n}, across");
    let material = Material {
        name: name(&m.name),
        kind: if m.kind == MaterialKind::WoodAlong { MaterialKind::WoodAcross } else { m.kind },
        modulus_mpa: Spread { value: cross_modulus, cv: m.modulus_mpa.cv },
        cross_modulus_mpa: Some(m.modulus_mpa.value),
        shear_modulus_mpa: None,
        strain_limit,
        expansion_per_k,
        ..m.clone()
    };
    Some(Entry {
        material,
        other_names: along.other_names.iter().map(name).collect(),
        near_names: Vec::new(),
        note: String::new(),
        facts,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_builtin_file_reads_and_every_figure_is_sensible() {
        let mut names = Vec::new();
        for (file, text) in FILES {
            for entry in parse(text).unwrap_or_else(|e| panic!("{file}: {e}")) {
                let m = &entry.material;
                let name = &m.name;
                assert!((30.0..=250_000.0).contains(&m.modulus_mpa.value), "{name}: {:?}", m.modulus_mpa);
                assert!((0.01..=0.5).contains(&m.modulus_mpa.cv), "{name}");
                assert!(m.strain_limit.is_none_or(|e| (0.001..=0.03).contains(&e)), "{name}: {:?}", m.strain_limit);
                assert!(m.expansion_per_k.is_none_or(|a| (-1e-6..=250e-6).contains(&a)), "{name}");
                assert!(m.density_kg_m3.is_none_or(|d| (100.0..=8_000.0).contains(&d)), "{name}");
                assert!((0.0..=0.6).contains(&m.relaxed.value), "{name}");
                assert!(!m.source.is_empty() && entry.facts.iter().all(|f| !f.source.is_empty()), "{name}");
                names.push(name.to_lowercase());
                names.extend(entry.other_names.iter().map(|n| n.to_lowercase()));
            }
        }
        let count = names.len();
        names.sort();
        names.dedup();
        assert_eq!(names.len(), count, "a name stands for two materials");
    }

    /// Wood Handbook, Tables 5-3b and 5-5b (second-hand): the moduli in GPa, and the strain at rupture computed from them.
    #[test]
    fn wood_has_the_modulus_without_shear_and_the_strain_at_rupture() {
        let close = |a: f64, b: f64, rel: f64| assert!((a / b - 1.0).abs() < rel, "{a} is not {b}");
        for (name, gpa, percent) in [("yellow-poplar", 10.89, 0.64), ("ash, white", 12.00, 0.86), ("balsa", 3.38, 0.64)]
        {
            let m = Catalogue::builtin().find(name).unwrap();
            close(m.modulus_mpa.value, 1.10 * 1000.0 * gpa, 1e-3);
            close(m.strain_limit.unwrap(), percent / 100.0, 0.01);
            assert_eq!(m.modulus_mpa.cv, 0.22);
        }
        let across = Catalogue::builtin().find("yellow-poplar, across").unwrap();
        assert_eq!(across.kind, MaterialKind::WoodAcross);
        close(across.modulus_mpa.value, 0.043 * 1.10 * 10_893.7, 1e-4);
    }

    #[test]
    fn names_are_found_by_other_names_and_nearly_by_misspelt_ones() {
        let catalogue = Catalogue::builtin();
        assert_eq!(catalogue.find("  Poplar ").unwrap().name, "yellow-poplar");
        assert_eq!(catalogue.find("maple").unwrap().name, "maple, sugar");
        assert_eq!(catalogue.find("ash, whit").unwrap_err().near[0], "ash, white");
        assert!(catalogue.find("carbn").unwrap_err().near.contains(&"carbon fabric".to_owned()));
        assert_eq!(catalogue.find("pawlonia").unwrap_err().near, ["paulownia"]);
        assert_eq!(catalogue.find("para-aramid").unwrap().name, "aramid, one direction");
    }

    #[test]
    fn names_of_the_trade_find_what_is_nearest_and_strange_ones_find_nothing() {
        let near = |name: &str| Catalogue::builtin().find(name).unwrap_err().near;
        for name in ["pine", "fir", "Softwood"] {
            assert!(near(name).contains(&"spruce, Sitka".to_owned()), "{name}: {:?}", near(name));
        }
        assert!(near("birch ply").iter().all(|n| n.starts_with("birch plywood")) && near("birch ply").len() == 6);
        assert!(near("birch ply 9 mm").contains(&"birch plywood 9 mm".to_owned()), "{:?}", near("birch ply 9 mm"));
        for (name, expected) in [("triaxial glass", 3), ("biaxial glass", 2)] {
            assert!(near(name).len() == expected && near(name).iter().all(|n| n.starts_with("glass")), "{name}");
        }
        for name in ["foam", "cork", "rubber", "nonsense", "", "x"] {
            assert_eq!(near(name), [""; 0], "{name}");
        }
        assert!(instead_of(&[]).contains("woods, plywood"));
    }

    #[test]
    fn no_near_name_is_a_name_that_finds_another_material() {
        let catalogue = Catalogue::builtin();
        for entry in catalogue.entries() {
            for name in &entry.near_names {
                assert!(catalogue.find(name).is_err(), "{name} finds a material and is near {}", entry.material.name);
            }
        }
    }

    /// Sheets of the Forest Products Laboratory: 430 to 449 kg/m3 and 75 to 87 MPa at 1.145 Mpsi.
    #[test]
    fn okoume_is_as_heavy_and_as_strong_as_its_sheets_say() {
        let okoume = Catalogue::builtin().find("okoume").unwrap();
        assert!((430.0..=449.0).contains(&okoume.density_kg_m3.unwrap()));
        let strength_mpa = okoume.strain_limit.unwrap() * 1.145 * 6_894.757;
        assert!((75.0..=87.0).contains(&strength_mpa), "{strength_mpa}");
        // Balsa's gravity is listed on green volume: 160 kg/m3 ovendry swells less than its water weighs.
        let balsa = Catalogue::builtin().find("balsa").unwrap().density_kg_m3.unwrap();
        assert!((balsa - 1120.0 * 0.16 / (1.0 - 0.159 * 0.16)).abs() < 0.5, "{balsa}");
    }

    #[test]
    fn faults_in_a_file_name_the_line() {
        let good = "kind = \"metal\"\n[sources]\na = { title = \"t\", mark = \"seen\" }\n[[material]]\nname = \"m\"\n";
        let line = |tail: &str| parse(&format!("{good}{tail}")).unwrap_err();
        assert_eq!(line("modulus = { value = \"7 mm\", source = \"a\" }\n").line, 6);
        assert!(line("modulus = { value = 7, source = \"b\" }\n").message.contains("not in [sources]"));
        assert_eq!(line("").line, 5);
        assert_eq!(line("modulos = 1\n").line, 6);
    }
}
