//! Drawings and listings as bytes of open file formats. Nothing here touches the disk, the clock or chance.

mod csv;
mod dxf;
mod dxf_finish;
mod error;
mod html;
mod kerf;
mod names;
mod order;
mod paint;
mod pattern;
mod stl;
mod strokes;
mod svg;

pub use csv::write_csv;
pub use dxf::{DxfOptions, write_dxf};
pub use dxf_finish::DxfVersion;
pub use error::ExportError;
pub use html::{with_notice, write_html};
pub use kerf::{Offset, Unreached, offset_to_waste};
pub use names::file_stem;
pub(crate) use names::unique_ids;
pub(crate) use paint::layer_name;
pub use paint::{Paint, paint};
pub use pattern::{PatternFile, RollOptions, Ruler, SheetOptions, write_roll, write_sheets};
pub(crate) use stl::write_stl;
pub use strokes::{lacks_strokes, stroke_text, with_stroke_text};
pub use svg::{SvgOptions, write_svg};
