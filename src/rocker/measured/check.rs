//! Readings that cannot be right.

use super::options::FitOptions;
use crate::codes;
use crate::finding::{Fault, Faults};
use crate::job::{Datum, Origin, Readings, StationsAlong};
use crate::units::{MM_PER_CM, MM_PER_INCH, Quantity, phrase};

/// Fewest different stations that make a curve.
const FEWEST: usize = 4;

/// Maximum number of readings that are taken; more than a shop reads, and the fit's cost grows with them.
const MOST: usize = 2000;

/// Largest gap between stations, as a share of the length.
const GAP_SHARE: f64 = 1.0 / 3.0;

/// How far a station may lie past the end, mm: the width of a pencil line.
const PAST_END_MM: f64 = 0.5;

/// Two readings at one station contradict each other beyond this, mm, or beyond this many stated errors.
const CONFLICT_MM: f64 = 5.0;
const CONFLICT_ERRORS: f64 = 6.0;

/// Refuses what no board and no rule can have given.
pub(super) fn readings(readings: &Readings, options: &FitOptions) -> Result<(), Faults> {
    numbers(readings, options)?;
    let path = |i: usize| format!("{}[{i}]", options.path);
    let half = 0.5 * options.length_mm;
    let ends = match readings.origin {
        Origin::Tail | Origin::Tip => (0.0, options.length_mm),
        Origin::Middle => (-half, half),
    };
    if let Some(i) = counted_from_middle(readings, half) {
        return Err(Fault::new(
            codes::READING_PAST_END,
            path(i),
            "stations are negative, so they seem to be counted from the middle.",
            "Say so: `from = \"middle\"` in the document, `--from middle` in a command, or `station_from_middle_mm` in the \
             heading of a file.",
        )
        .into());
    }
    let stations = stations(readings, ends, &path)?;
    if stations.len() < FEWEST {
        return Err(Fault::new(
            codes::READINGS_TOO_FEW,
            &options.path,
            format!("there are readings at {} stations.", stations.len()),
            format!("A curve needs at least {FEWEST}; ten to thirty make a good one."),
        )
        .into());
    }
    let mut faults = Faults::default();
    gaps(&stations, ends, options, &path, &mut faults);
    slopes(readings, &stations, &path, &mut faults);
    faults.or(())
}

/// The first negative reading of a list that is said to begin at an end and reaches from one end to the other if counted from
/// the middle.
fn counted_from_middle(readings: &Readings, half_mm: f64) -> Option<usize> {
    let stations = || readings.readings.iter().map(|r| r.station_mm);
    let (low, high) = stations().fold((0.0_f64, 0.0_f64), |(low, high), s| (low.min(s), high.max(s)));
    let from_middle = readings.origin != Origin::Middle
        && (-half_mm - PAST_END_MM..-0.5 * half_mm).contains(&low)
        && (0.5 * half_mm..half_mm + PAST_END_MM).contains(&high);
    from_middle.then(|| stations().position(|s| s < 0.0))?
}

/// Looks at each number by itself.
fn numbers(readings: &Readings, options: &FitOptions) -> Result<(), Faults> {
    let list = &readings.readings;
    let mut faults = Faults::default();
    if let Some(error) = readings.error_mm
        && !(error > 0.0 && error.is_finite())
    {
        faults.push(Fault::new(
            codes::READING_ERROR,
            sibling(options, "error"),
            phrase!("a reading error of {} is not above zero.", Quantity::exact(error)),
            phrase!("Give the standard error of one reading, such as {}, or leave it out.", Quantity::fine(0.3)),
        ));
    }
    for &i in &readings.excluded {
        if i >= list.len() {
            faults.push(codes::READING_EXCLUDED_UNKNOWN.at(
                sibling(options, "exclude"),
                format!("there is no reading {}; the list ends with {}.", i + 1, list.len()),
            ));
        }
    }
    for (i, r) in list.iter().enumerate() {
        if !(r.station_mm.is_finite() && r.height_mm.is_finite()) {
            let path = format!("{}[{i}]", options.path);
            faults.push(codes::READING_NOT_FINITE.at(path, "station and height must be finite numbers."));
        }
    }
    if list.len() > MOST {
        faults.push(Fault::new(
            codes::READINGS_TOO_MANY,
            &options.path,
            format!("there are {} readings; {MOST} are the most.", list.len()),
            phrase!("Thin them out: every {} is plenty.", Quantity::fine(5.0)),
        ));
    }
    faults.or(())
}

/// Stations with the reading that is the first there, in growing order and within the ends of the board.
fn stations(
    readings: &Readings,
    (first, last): (f64, f64),
    path: &impl Fn(usize) -> String,
) -> Result<Vec<(f64, usize)>, Faults> {
    let list = &readings.readings;
    let mut used = readings.listed();
    // A board may be read from either end: what falls all the way is taken from its back.
    if used.windows(2).all(|w| list[w[1]].station_mm <= list[w[0]].station_mm) {
        used.reverse();
    }
    let mut faults = Faults::default();
    let mut stations: Vec<(f64, usize)> = Vec::new();
    for &i in &used {
        let r = list[i];
        if r.station_mm < first - PAST_END_MM || r.station_mm > last + PAST_END_MM {
            faults.push(past_end(r.station_mm, first, last, path(i)));
            continue;
        }
        if readings.datum == Datum::Floor && r.height_mm < -CONFLICT_MM {
            faults.push(
                codes::READING_UNDER_FLOOR
                    .at(path(i), phrase!("a height of {} lies under the floor.", Quantity::exact(r.height_mm))),
            );
            continue;
        }
        if stations.iter().any(|(s, _)| same_station(*s, r.station_mm)) {
            continue;
        }
        if stations.last().is_some_and(|&(s, _)| r.station_mm < s) {
            faults.push(codes::READINGS_UNSORTED.at(
                path(i),
                phrase!(
                    "station {} comes after {} and was not read before.",
                    Quantity::exact(r.station_mm),
                    Quantity::exact(stations.last().map_or(0.0, |s| s.0))
                ),
            ));
        } else {
            stations.push((r.station_mm, i));
        }
    }
    faults.or(stations)
}

fn same_station(a_mm: f64, b_mm: f64) -> bool {
    (a_mm - b_mm).abs() < 1e-6
}

/// Refuses readings of one station of which the fit cannot tell the wrong one: those in use must agree.
pub(super) fn agreement(readings: &Readings, used: &[usize], options: &FitOptions) -> Result<(), Faults> {
    let allowed = readings.error_mm.map_or(CONFLICT_MM, |error| CONFLICT_ERRORS * error);
    let reading = |i: usize| readings.readings[i];
    let mut first: Vec<usize> = Vec::new();
    let mut faults = Faults::default();
    for &i in used {
        let again = first.iter().find(|&&other| same_station(reading(other).station_mm, reading(i).station_mm));
        let Some(&other) = again else {
            first.push(i);
            continue;
        };
        if (reading(other).height_mm - reading(i).height_mm).abs() > allowed {
            faults.push(Fault::new(
                codes::READINGS_CONFLICT,
                format!("{}[{i}]", options.path),
                phrase!(
                    "at station {}, reading {} says {} and reading {} says {}.",
                    Quantity::exact(reading(i).station_mm),
                    other + 1,
                    Quantity::exact(reading(other).height_mm),
                    i + 1,
                    Quantity::exact(reading(i).height_mm)
                ),
                phrase!("Readings at one place should agree within {}; read it again.", Quantity::exact(allowed)),
            ));
        }
    }
    faults.or(())
}

fn past_end(station_mm: f64, first: f64, last: f64, path: String) -> Fault {
    let mut remedy = "Check the station, the board's length, and where stations are counted from.".to_owned();
    let inside = |mm: f64| mm > first - PAST_END_MM && mm < last + PAST_END_MM;
    let units = [(MM_PER_INCH, "inches"), (MM_PER_CM, "centimetres")];
    let taken: Vec<&str> = units.iter().filter(|(mm, _)| inside(station_mm / mm)).map(|(_, unit)| *unit).collect();
    if !taken.is_empty() && station_mm.abs() > 5.0 * last {
        remedy.push_str(&format!(" It is far past it: was it read in mm and taken for {}?", taken.join(" or ")));
    }
    Fault::new(
        codes::READING_PAST_END,
        path,
        phrase!(
            "station {} lies past the board, which reaches from {} to {}.",
            Quantity::exact(station_mm),
            Quantity::exact(first),
            Quantity::exact(last)
        ),
        remedy,
    )
}

fn gaps(
    stations: &[(f64, usize)],
    (first, last): (f64, f64),
    options: &FitOptions,
    path: &impl Fn(usize) -> String,
    faults: &mut Faults,
) {
    let widest = GAP_SHARE * options.length_mm;
    let mut before = first;
    for (s, at) in stations.iter().map(|&(s, i)| (s, path(i))).chain([(last, options.path.clone())]) {
        if s - before > widest + 1e-6 {
            faults.push(codes::READINGS_GAP.at(
                at,
                phrase!(
                    "nothing was read between {} and {}, more than a third of the board.",
                    Quantity::exact(before),
                    Quantity::exact(s)
                ),
            ));
        }
        before = s;
    }
}

/// Neighbours that are further apart in height than any base climbs: along the base no further than the base between
/// them, along the datum three times that (72 degrees); either way with room for two rough readings.
fn slopes(readings: &Readings, stations: &[(f64, usize)], path: &impl Fn(usize) -> String, faults: &mut Faults) {
    let heights: Vec<f64> = stations.iter().map(|&(_, i)| readings.readings[i].height_mm).collect();
    let steps = || stations.windows(2).zip(heights.windows(2)).map(|(s, z)| (s[1].0 - s[0].0, z[1] - z[0]));
    let steepest = if readings.along == StationsAlong::Base { 1.0 } else { 3.0 };
    let climbs = |ds: f64, dz: f64| dz.abs() <= steepest * ds + CONFLICT_MM;
    let Some(at) = steps().position(|(ds, dz)| !climbs(ds, dz)) else { return };
    let in_inches = steps().all(|(ds, dz)| climbs(ds, dz / MM_PER_INCH));
    let remedy = if in_inches && heights.iter().any(|z| z.abs() > 100.0) {
        format!(
            "Divided by {MM_PER_INCH} the heights make a board: were they read in mm and taken for inches? \
             Otherwise check this reading."
        )
    } else {
        "No base climbs like that; check this reading and its station.".to_owned()
    };
    let (before, here) = (stations[at], stations[at + 1]);
    faults.push(Fault::new(
        codes::READING_TOO_STEEP,
        path(here.1),
        phrase!(
            "from station {} to {} the height goes from {} to {}.",
            Quantity::exact(before.0),
            Quantity::exact(here.0),
            Quantity::exact(heights[at]),
            Quantity::exact(heights[at + 1])
        ),
        remedy,
    ));
}

/// A key beside the readings.
pub(super) fn sibling(options: &FitOptions, key: &str) -> String {
    match options.path.rsplit_once('.') {
        Some((table, _)) => format!("{table}.{key}"),
        None => key.to_owned(),
    }
}
