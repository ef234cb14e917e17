//! Reading what the user names.

use std::fs::File;
use std::io::Read;
use std::path::Path;

use overbend::document::LARGEST_DOCUMENT;

/// Reads a document, or says in one sentence why not.
pub(crate) fn read_text(path: &Path) -> Result<String, String> {
    let shown = path.display();
    let metadata = std::fs::metadata(path).map_err(|e| format!("{shown} cannot be read: {e}."))?;
    if !metadata.is_file() {
        return Err(format!("{shown} is not a plain file."));
    }
    let file = File::open(path).map_err(|e| format!("{shown} cannot be read: {e}."))?;
    let mut bytes = Vec::new();
    // One byte more than allowed is enough to know that it is too large.
    let most = LARGEST_DOCUMENT as u64 + 1;
    file.take(most).read_to_end(&mut bytes).map_err(|e| format!("{shown} cannot be read: {e}."))?;
    if bytes.len() > LARGEST_DOCUMENT {
        return Err(format!("{shown} is larger than {LARGEST_DOCUMENT} bytes; that is no document of ours."));
    }
    String::from_utf8(bytes).map_err(|e| {
        let at = e.utf8_error().valid_up_to();
        format!("{shown} is not UTF-8 text: byte {at} is not valid. Save it as UTF-8.")
    })
}
