//! The engine of the page: requests in, answers out, nothing kept but the files of the last whole build.
//!
//! A request is JSON with the key `do`; see [`Request`]. The page holds the document, which is the one truth; every
//! request brings it along. Nothing here touches the disk, the network or a clock.
#![cfg_attr(test, allow(clippy::disallowed_methods, reason = "unit tests take their sines from the system"))]

mod abi;
mod advice;
mod edit;
mod handles;
mod keys;
mod learn;
mod photo;
mod view;
mod zip;

use std::cell::RefCell;

use overbend::codes;
use overbend::document::materials::{Catalogue, Entry};
use overbend::document::{Document, Inputs, STARTERS, in_unit, kind_name};
use overbend::run::OutputFile;
use overbend::units::plain;
use serde::Deserialize;
use serde_json::{Map, Value, json};

pub use edit::{Edit, EditError, Kind, apply};

/// What the page asks for.
#[derive(Debug, Deserialize)]
#[serde(tag = "do", rename_all = "kebab-case")]
pub enum Request {
    /// What never changes: version, starters, keys and materials.
    About,
    /// Curves, values and checks of a document; no files and no simulation.
    Live(Opened),
    /// All of it, with files; they are kept for `File` and `Zip`.
    Full(Opened),
    /// Changes of single keys.
    Edit {
        /// The document.
        text: String,
        /// The changes, in order.
        edits: Vec<Edit>,
    },
    /// A handle of the picture moved; answers with the changed document.
    Drag {
        /// The document.
        #[serde(flatten)]
        opened: Opened,
        /// Name of the handle.
        handle: String,
        /// Where it is moved to: station along the base from the middle, mm.
        s_mm: f64,
        /// Height above the floor, mm.
        z_mm: f64,
    },
    /// The document with bare lengths in another unit.
    Unit {
        /// The document.
        text: String,
        /// `mm` or `in`.
        unit: String,
    },
    /// What a code means.
    Explain {
        /// The code of a check or a mistake.
        code: String,
    },
    /// What a measured board says; its files take the place of those of the last whole build.
    Learn {
        /// The document.
        #[serde(flatten)]
        opened: Opened,
        /// The board.
        board: learn::Board,
    },
    /// Heights of a board in a photograph.
    Photo(photo::Photo),
    /// One file of the last whole build.
    File {
        /// Its name.
        name: String,
    },
    /// All files of the last whole build in one archive.
    Zip,
}

/// A document with the files that it names.
#[derive(Debug, Deserialize)]
pub struct Opened {
    /// What messages call the document.
    pub name: String,
    /// The document.
    pub text: String,
    /// The files that it names.
    #[serde(default)]
    pub inputs: Map<String, Value>,
}

impl Opened {
    /// The files as the library takes them.
    fn inputs(&self) -> Inputs {
        let mut inputs = Inputs::default();
        for (name, text) in &self.inputs {
            inputs.add(name, text.as_str().map(|t| t.as_bytes().to_vec()).ok_or_else(|| format!("{name} is empty.")));
        }
        // A shop's file need not be there before its first board.
        if let Some(shop) = Document::parse(&self.name, &self.text).ok().and_then(|d| d.shop_file())
            && !self.inputs.contains_key(&shop)
        {
            inputs.add(shop, Ok(Vec::new()));
        }
        inputs
    }
}

thread_local! {
    static FILES: RefCell<Vec<OutputFile>> = const { RefCell::new(Vec::new()) };
}

/// Answers a request: JSON, or the bytes of a file. What cannot be understood is answered with the key `error`.
pub fn answer(request: &[u8]) -> Vec<u8> {
    let json = match serde_json::from_slice(request) {
        Ok(Request::About) => about(),
        Ok(Request::Live(opened)) => view::live(&opened),
        Ok(Request::Full(opened)) => {
            let (view, files) = view::full(&opened);
            FILES.set(files);
            view
        }
        Ok(Request::Learn { opened, board }) => {
            let (said, files) = learn::learned(&opened, &board);
            FILES.set(files);
            said
        }
        Ok(Request::Edit { text, edits }) => match apply(&text, &edits) {
            Ok(text) => json!({ "text": text }),
            Err(error) => json!({ "error": error.to_string() }),
        },
        Ok(Request::Drag { opened, handle, s_mm, z_mm }) => {
            json!({ "text": handles::drag(&opened, &handle, s_mm, z_mm) })
        }
        Ok(Request::Unit { text, unit }) => json!({ "text": in_unit(&text, &unit) }),
        Ok(Request::Explain { code }) => explanation(&code),
        Ok(Request::Photo(photo)) => photo::read(&photo),
        Ok(Request::File { name }) => {
            return FILES.with_borrow(|files| {
                files.iter().find(|f| f.name == name).map(|f| f.bytes.clone()).unwrap_or_default()
            });
        }
        Ok(Request::Zip) => return FILES.with_borrow(|files| zip::archive(files)),
        Err(error) => json!({ "error": format!("the request cannot be read: {error}") }),
    };
    // JSON made here has text keys only, so it can be written.
    serde_json::to_vec(&json).unwrap_or_default()
}

fn about() -> Value {
    let starters: Vec<Value> =
        STARTERS.iter().map(|s| json!({ "name": s.name, "what": s.what, "text": s.text })).collect();
    let materials: Vec<Value> = Catalogue::builtin().entries().iter().map(material).collect();
    json!({
        "version": env!("CARGO_PKG_VERSION"),
        "starters": starters,
        "keys": keys::tree(),
        "materials": materials,
    })
}

fn material(entry: &Entry) -> Value {
    let m = &entry.material;
    let source = entry.facts.iter().find(|f| f.key.ends_with("modulus"));
    json!({
        "name": m.name,
        "kind": kind_name(m.kind),
        "other_names": entry.other_names.iter().chain(&entry.near_names).collect::<Vec<_>>(),
        "modulus": format!("{} GPa", plain(m.modulus_mpa.value / 1e3, 2)),
        "scatter": format!("{} %", plain(100.0 * m.modulus_mpa.cv, 1)),
        "note": entry.note,
        "source": source.map(|f| format!("{} ({})", f.source, f.mark.words())),
    })
}

fn explanation(code: &str) -> Value {
    match codes::find(code) {
        Ok(e) => json!({
            "code": e.name,
            "kind": e.kind.word(),
            "meaning": e.meaning,
            "computed": learn::with_labels(e.computed),
            "source": e.source,
            "remedy": learn::with_labels(e.remedy),
        }),
        Err(_) => json!({ "error": format!("no check or problem is called {code}") }),
    }
}
