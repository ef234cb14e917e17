//! The job document: TOML text in, a checked job or located problems out.
//!
//! A key is declared where it is read, by the question that `section` asks for it. [`keys`] lists them all.
//!
//! | files | subject |
//! |---|---|
//! | `whole` | the document from its first key to its last |
//! | `board`, `rocker`, `measured`, `drawn`, `existing` | what is wanted, what was measured, what is there |
//! | `layers`, `taper`, `own_materials`, `materials` | the stack, the shop's materials, the catalogue |
//! | `pressing`, `table`, `frame`, `bearers`, `stock`, `files`, `forecast` | how it is pressed, built, cut and written |
//! | `shop`, `csv` | the file of measured boards, files of readings |
//! | `section`, `reader`, `keys`, `schema`, `doubts` | how keys are declared, read, listed and doubted |
//! | `source`, `problem`, `inputs`, `starters` | texts with places, files that are handed over, documents to begin from |

mod bearers;
mod board;
mod csv;
mod doubts;
mod drawn;
mod existing;
mod files;
mod forecast;
mod frame;
mod inputs;
mod keys;
mod layers;
mod machine;
pub mod materials;
mod measured;
mod outline;
mod own_materials;
mod pressing;
mod prices;
mod problem;
mod reader;
mod rocker;
mod schema;
mod section;
pub mod shop;
mod source;
mod starters;
mod stock;
mod table;
mod taper;
mod whole;

pub use existing::table_from_heights;
pub use inputs::Inputs;
pub use keys::{Key, LeftOut, Range, Takes, Value};
pub use measured::board_readings;
pub use own_materials::kind_name;
pub use problem::{Problem, Problems};
pub use schema::schema;
pub use starters::{STARTERS, Starter, in_unit, value_in, with_values};
pub use whole::{Document, LARGEST_DOCUMENT, key_page, keys};
