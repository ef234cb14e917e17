//! Files that a document names: asked for by name, read by whoever owns the disk, handed over as bytes.

use std::collections::BTreeMap;

use super::reader::Reader;
use crate::codes;

/// Contents of the files that a document names, or in words why one could not be read.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Inputs {
    files: BTreeMap<String, Result<Vec<u8>, String>>,
}

impl Inputs {
    /// Hands over a file by the name that the document gives it.
    pub fn add(&mut self, name: impl Into<String>, contents: Result<Vec<u8>, String>) {
        self.files.insert(name.into(), contents);
    }

    /// The contents of a file, if it was read.
    pub(super) fn found(&self, name: &str) -> Option<&[u8]> {
        self.files.get(name).and_then(|f| f.as_deref().ok())
    }

    /// The contents of a file named at `path`, or a fault there.
    pub(super) fn bytes(&self, reader: &mut Reader, name: &str, path: &str) -> Option<&[u8]> {
        let why = match self.files.get(name) {
            Some(Ok(bytes)) => return Some(bytes),
            Some(Err(why)) => why.clone(),
            None => format!("{name} was not handed over."),
        };
        let remedy = "Name a file by its path from the job document's folder.";
        reader.fault(codes::FILE_NOT_READ, path, why.trim_end(), remedy);
        None
    }

    /// The text of a file named at `path`, or a fault there.
    pub(super) fn text(&self, reader: &mut Reader, name: &str, path: &str) -> Option<&str> {
        let bytes = self.bytes(reader, name, path)?;
        // A byte order mark is what some spreadsheets begin a table with.
        let bytes = bytes.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(bytes);
        match std::str::from_utf8(bytes) {
            Ok(text) => Some(text),
            Err(e) => {
                let message = format!("{name} is not UTF-8 text: byte {} is not valid.", e.valid_up_to());
                reader.fault(codes::FILE_NOT_TEXT, path, message, "Save it as UTF-8 text with commas.");
                None
            }
        }
    }
}
