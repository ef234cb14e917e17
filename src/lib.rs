//! Springback, the over-bent table curve, and everything to build the table for pressing laminated boards.
//!
//! Data flows one way: [`document`] text becomes a checked [`job`]; [`rocker`] makes the target curve, [`laminate`]
//! the stack's mechanics, [`press`] the pressing and release, [`table`] the over-bent table, [`jig`] the parts;
//! [`draft`] turns them into [`drawing`]s and listings and [`export`] into bytes. [`run::build`] does it all.
//!
//! A board from code alone, and the table it needs:
//!
//! ```
//! use overbend::document::materials::Catalogue;
//! use overbend::job::{Bend, Board, Hold, Job, Layer, Pressing, RibLayout, Ribs, Rocker, Table};
//!
//! # fn main() -> Result<(), Box<dyn std::error::Error>> {
//! let materials = Catalogue::builtin();
//! let glass = materials.find("glass fabric")?;
//! let layers = vec![
//!     Layer::flat("base skin", glass.clone(), 0.8),
//!     Layer::flat("core", materials.find("paulownia")?.clone(), 8.0),
//!     Layer::flat("deck skin", glass.clone(), 0.8),
//! ];
//! let rocker = Rocker::Arc(Bend::Height(45.0));
//! let table = Table::new(6.0, Ribs::new(RibLayout::Count(3), 18.0, 60.0));
//! let board = Board::new(1340.0, 420.0);
//! let job = Job::new("Lake board", board, rocker, layers, Pressing::new(Hold::FULL_VACUUM), table);
//!
//! let built = overbend::built::compute(&job)?;
//! let (_, tip_mm) = built.design.table.table_heights_mm();
//! assert!(tip_mm > 45.0, "the table rises above the board's 45 mm, because the board springs back");
//! let files = overbend::run::files(built)?.files;
//! # let folder = std::env::temp_dir().join(format!("overbend-example-{}", std::process::id()));
//! # std::fs::create_dir_all(&folder)?;
//! for file in &files {
//!     std::fs::write(folder.join(&file.name), &file.bytes)?;
//! }
//! assert!(folder.join("ribs.dxf").exists());
//! # std::fs::remove_dir_all(&folder)?;
//! # Ok(())
//! # }
//! ```
//!
//! The same from a document:
//!
//! ```
//! use overbend::document::{Document, Starter};
//!
//! let starter = Starter::find("twin-tip").unwrap();
//! let document = Document::parse("my-board.toml", starter.text).unwrap();
//! let outcome = overbend::run::build(&document.job().unwrap()).unwrap();
//! assert!(!outcome.stops());
//! // Nothing was written anywhere: the files are bytes.
//! let ribs = outcome.files.iter().find(|f| f.name == "ribs.dxf").unwrap();
//! assert!(!ribs.bytes.is_empty());
//! let springback = outcome.result["stack"]["springback_share"].as_f64().unwrap();
//! assert!(springback > 0.0 && springback < 0.2);
//! ```
//!
//! A mistake in a document is told with its place and what would be right; [`codes`] says the rest about its code:
//!
//! ```
//! use overbend::document::Document;
//!
//! let problems = Document::parse("board.toml", "title = 3\n").unwrap().job().unwrap_err();
//! let title = problems.iter().find(|p| p.fault.path == "title").unwrap();
//! assert_eq!((title.line, title.column), (1, 9));
//! assert!(title.fault.code == "wrong-kind" && !title.fault.code.meaning.is_empty());
//! ```
//!
//! Without the default feature `cli` the crate brings no command-line dependencies.

#![cfg_attr(test, allow(clippy::disallowed_methods, reason = "unit tests take their sines from the system"))]

#[cfg(test)]
#[path = "../tests/support/close.rs"]
mod close;

pub mod built;
pub mod calibrate;
pub mod codes;
pub mod curve;
pub mod document;
pub mod draft;
pub mod drawing;
mod drawn;
pub mod export;
pub mod finding;
pub mod forecast;
pub mod guide;
pub mod jig;
pub mod job;
pub mod laminate;
pub mod numeric;
pub mod press;
pub mod rocker;
pub mod run;
pub mod stock;
pub mod table;
pub mod units;
