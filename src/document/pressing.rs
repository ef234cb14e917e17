//! `[pressing.*]`: how the stack is held on the table.

use serde::Deserialize;

use super::quantity::Quantity;
use super::reader::{Range, Reader};
use crate::job::{Hold, Pressing};
use crate::units::Dimension;

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub(super) struct RawPressing {
    vacuum: Option<RawVacuum>,
    clamps: Option<RawClamps>,
    cure_above_room: Option<Quantity>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
struct RawVacuum {
    pressure: Option<Quantity>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
struct RawClamps {
    count: Option<Quantity>,
    force: Option<Quantity>,
}

/// One standard atmosphere, MPa (ISO 2533, 101 325 Pa): the most that a bag can press.
const ATMOSPHERE_MPA: f64 = 0.101_325;

pub(super) fn check(reader: &mut Reader, raw: Option<RawPressing>) -> Option<Pressing> {
    let Some(raw) = raw else {
        reader.missing("pressing", "Add a table [pressing.vacuum] or [pressing.clamps].");
        return None;
    };
    // A temperature difference in kelvin has the size of one in degrees Celsius.
    let warm = reader.optional(
        raw.cure_above_room.as_ref(),
        "pressing.cure_above_room",
        Dimension::Temperature,
        Range::Within(-50.0, 200.0),
    );
    let choices = [("vacuum", raw.vacuum.is_some()), ("clamps", raw.clamps.is_some())];
    reader.one_of("pressing", &choices, "what presses the stack")?;
    let hold = if let Some(v) = raw.vacuum {
        let range = Range::Positive(ATMOSPHERE_MPA);
        let pressure_mpa =
            reader.required(v.pressure.as_ref(), "pressing.vacuum.pressure", Dimension::Pressure, range)?;
        Hold::Vacuum { pressure_mpa }
    } else {
        let clamps = raw.clamps?;
        if clamps.count.is_none() {
            reader.missing("pressing.clamps.count", "Give the number of clamps along the blank.");
        }
        let count = reader.count(clamps.count.as_ref(), "pressing.clamps.count", 2, 1000);
        let force =
            reader.required(clamps.force.as_ref(), "pressing.clamps.force", Dimension::Force, Range::Positive(1e6));
        Hold::Clamps { count: count?, force_n: force? }
    };
    Some(Pressing { hold, cure_above_room_k: warm.unwrap_or(0.0) })
}
