//! From results to drawings, listings and words. Explains; does not compute.

mod book;
mod calibrated;
mod cutlist;
mod diagram;
mod json;
mod layers;
mod learned;
mod lines;
mod listings;
mod members;
mod parts;
mod plan;
mod plot;
mod predicted;
mod pressed;
mod result;
mod ribs;
mod sheets;
mod shims;
mod shopping;
mod stick;
mod summary;
mod sweep;
mod target;
mod template;
mod uncertainty;

pub use book::book;
pub(crate) use book::{board_page, shims_page};
pub use calibrated::Calibrated;
pub(crate) use calibrated::{calibration_json, calibration_summary};
pub use cutlist::{cutlist, cutting};
pub(crate) use json::checks_json;
pub(crate) use learned::{learned_json, learned_line};
pub(crate) use lines::lines_summary;
pub use lines::{Line, looked_at};
pub use listings::{bearers, spacers, stations, tapers};
pub use parts::{dressed, members, ribs};
pub(crate) use plan::{outline, plan};
pub use predicted::PredictedStack;
pub(crate) use predicted::{prediction_json, prediction_summary};
pub use result::result;
pub(crate) use result::target_json;
pub(crate) use sheets::sheet_drawing;
pub use shims::shims;
pub(crate) use shims::{shims_json, shims_lines, shims_text};
pub(crate) use shopping::shopping;
pub(crate) use stick::{STICK_ID, stick};
pub use summary::summary;
pub(crate) use sweep::{sweep_picture, sweep_rows};
pub use target::profile;
pub(crate) use target::{reading_rows, target_picture, target_rows, target_words};

use crate::job::Files;
use crate::units::{LengthUnit, Quantity};

/// Program and job in one line, written into every file so that a part can be traced.
pub fn origin(job_hash: &str) -> String {
    let short = job_hash.get(..16).unwrap_or(job_hash);
    format!("overbend {} job {short}", env!("CARGO_PKG_VERSION"))
}

/// What a machine's files say of cuts that are moved to their waste side; nothing where they lie on the part's edge.
pub(crate) fn cuts_moved(files: &Files, unit: LengthUnit) -> Option<String> {
    let width_mm = files.cut_width_mm?;
    let (tool, drills) = if files.beam {
        ("kerf", "drilled holes too")
    } else {
        ("cutter", "drilled holes are drawn in their own size")
    };
    let half = Quantity::fine(0.5 * width_mm).text(unit);
    Some(format!("Cuts are moved {half} to the waste side, {drills}: do not compensate for the {tool} again"))
}
