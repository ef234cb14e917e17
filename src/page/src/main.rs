//! Builds the page: compiles the engine to WebAssembly and puts it, the style and the scripts into one HTML file.
//!
//! `cargo run -p overbend-page -- [FILE]`, by default `target/overbend.html`. It needs the target
//! `wasm32-unknown-unknown` of rustup, and nothing else.

#![allow(clippy::disallowed_methods, reason = "this program reads the templates and writes the page")]

mod bundle;
mod wasm;

use std::error::Error;
use std::path::{Path, PathBuf};
use std::process::{Command, ExitCode};
use std::{env, fs};

use sha2::{Digest, Sha256};

/// The limit of the page's size, bytes.
const LARGEST_PAGE: usize = 3_000_000;

fn main() -> ExitCode {
    match build() {
        Ok(message) => {
            println!("{message}");
            ExitCode::SUCCESS
        }
        Err(error) => {
            eprintln!("error: {error}");
            ExitCode::FAILURE
        }
    }
}

fn build() -> Result<String, Box<dyn Error>> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let target = env::var_os("CARGO_TARGET_DIR").map_or_else(|| root.join("target"), PathBuf::from);
    let out = env::args_os().nth(1).map_or_else(|| target.join("overbend.html"), PathBuf::from);
    compile(&root, &target)?;
    let engine = fs::read(target.join("wasm32-unknown-unknown/page/overbend_page.wasm"))?;
    let engine = wasm::without_custom_sections(&engine)?;
    let packed = base64(&miniz_oxide::deflate::compress_to_vec(&engine, 10));
    let page = page(&root.join("templates/page"), &packed)?;
    if page.len() > LARGEST_PAGE {
        return Err(format!("the page has {} bytes; at most {LARGEST_PAGE} are allowed", page.len()).into());
    }
    fs::write(&out, &page)?;
    Ok(format!("{} has {} bytes; its engine {} before compression", out.display(), page.len(), engine.len()))
}

fn compile(root: &Path, target: &Path) -> Result<(), Box<dyn Error>> {
    let cargo = env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let status = Command::new(cargo)
        .args(["build", "--locked", "--package", "overbend-page", "--lib", "--profile", "page"])
        .args(["--target", "wasm32-unknown-unknown", "--target-dir"])
        .arg(target)
        .current_dir(root)
        .status()?;
    if status.success() {
        return Ok(());
    }
    Err("the engine was not built. If its target is missing: rustup target add wasm32-unknown-unknown".into())
}

/// The page of the templates in `folder`.
fn page(folder: &Path, engine: &str) -> Result<String, Box<dyn Error>> {
    let read = |name: &str| fs::read_to_string(folder.join(name)).map_err(|e| format!("{name}: {e}"));
    let worker = bundle::bundle(folder, "worker.js")?;
    let script = bundle::bundle(folder, "main.js")?;
    // Only this very script runs: texts of a document can never become one.
    let digest = base64(&Sha256::digest(script.as_bytes()));
    // The engine comes last: `{engine}` in a template cannot be mistaken for text of the engine.
    Ok(read("page.html")?
        .replace("{script-digest}", &digest)
        .replace("{style}", &read("style.css")?)
        .replace("{script}", &script)
        .replace("{worker}", &worker)
        .replace("{engine}", engine))
}

/// Base64 with padding (RFC 4648, section 4).
fn base64(bytes: &[u8]) -> String {
    const DIGITS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut text = String::with_capacity(bytes.len().div_ceil(3) * 4);
    for chunk in bytes.chunks(3) {
        let word = chunk.iter().fold(0_u32, |word, byte| word << 8 | u32::from(*byte)) << (8 * (3 - chunk.len()));
        for digit in 0..4 {
            let used = digit <= chunk.len();
            let index = (word >> (18 - 6 * digit)) & 63;
            text.push(if used { char::from(DIGITS[index as usize]) } else { '=' });
        }
    }
    text
}

#[cfg(test)]
mod tests {
    /// The test vectors of RFC 4648, section 10.
    #[test]
    fn base64_writes_the_published_vectors() {
        for (bytes, text) in [("", ""), ("f", "Zg=="), ("fo", "Zm8="), ("foo", "Zm9v"), ("foobar", "Zm9vYmFy")] {
            assert_eq!(super::base64(bytes.as_bytes()), text);
        }
    }
}
