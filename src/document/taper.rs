//! Thickness of a layer's plies: one all along, or a taper that is listed, read from a file, or drawn.

use super::csv;
use super::doubts::Listed;
use super::drawn::drawn_side;
use super::inputs::Inputs;
use super::keys::Range::{UpTo, Within};
use super::measured::origin_of;
use super::reader::{LONGEST_MM, THICKEST_MM};
use super::section::Section;
use crate::codes;
use crate::drawing::Contour;
use crate::drawn::{closed, in_table};
use crate::finding::{Code, FilePlace};
use crate::job::{Board, Direction, DrawnLines, Origin, Stations, Thickness};
use crate::numeric::thinned;
use crate::units::{Dimension, Phrase, Quantity, phrase};

/// Most layers of one stack, plies counted singly.
pub(super) const MOST_LAYERS: usize = 100;
/// Where stations of layers and outlines are counted from; the first where the document does not say.
pub(super) const ORIGINS: [(&str, Origin); 3] =
    [("middle", Origin::Middle), ("tail", Origin::Tail), ("tip", Origin::Tip)];
/// Most stations of one taper.
const MOST_STATIONS: usize = 200;
/// How far a taper of straight pieces may lie off a drawn one, mm: a fifth of what a planer holds.
const DRAWN_MM: f64 = 0.02;
/// How far the lines that stand for the arcs of a drawing may lie off them, mm.
const FLAT_MM: f64 = 2e-3;
/// Distance of the places at which a drawing's height is taken, mm.
const STEP_MM: f64 = 2.0;
/// How far a drawn profile may miss the length that it is drawn for, mm: what a tape shows.
const LENGTH_MM: f64 = 0.5;

/// The four ways to give a thickness.
const WAYS: [&str; 4] = ["thickness", "taper", "taper_file", "taper_drawing"];

/// What the keys of a layer say of its size.
pub(super) struct Sizes {
    /// Thickness of each ply, the lowest first; `None` where it is missing or wrong.
    pub(super) plies: Option<Vec<Thickness>>,
    /// Standard error of the thickness, mm, where it is given.
    pub(super) error_mm: Option<f64>,
    /// From where to where the layer reaches, mm from the middle, if not all along.
    pub(super) extent_mm: Option<(f64, f64)>,
}

/// A taper as it is written.
struct WrittenTaper {
    /// Stations as they are counted in the document or file, with the thickness there, mm.
    pairs: Stations,
    from: Origin,
    /// The lines of the file that it was read from.
    lines: Vec<FilePlace>,
}

/// Reads where a layer that stops short begins and ends.
fn ends(at: &mut Section<'_, '_>) -> Option<(f64, f64)> {
    let along = Within(-LONGEST_MM, LONGEST_MM);
    let begins = at.length("from", along, "Where a layer that stops short begins.").optional();
    let ends = at.length("to", along, "Where a layer that stops short ends.").optional();
    if let Some(key) = [("from", "to"), ("to", "from")].into_iter().find(|k| at.has(k.0) && !at.has(k.1)) {
        at.missing(key.1, format!("A layer with `{}` stops short; give both ends.", key.0));
    }
    let ends = begins.zip(ends);
    if ends.is_some_and(|(a, b)| a >= b) {
        let remedy = "Give the smaller station as `from`, or leave both out for a layer that runs all along.";
        at.fault(codes::LAYER_EXTENT, "to", "the layer ends where it begins, or before.", remedy);
    }
    ends
}

/// Reads the thickness of a layer of `plies` plies; what stations it lists goes to `listed`.
pub(super) fn sizes(
    at: &mut Section<'_, '_>,
    (board, inputs): (Option<&Board>, &Inputs),
    plies: usize,
    listed: &mut Vec<Listed>,
) -> Sizes {
    let (thick, along) = (UpTo(THICKEST_MM), Within(-LONGEST_MM, LONGEST_MM));
    let constant_mm = at.length("thickness", thick, "Thickness, of each ply.").usual(0.05, 60.0).optional();
    let meaning = "How far off the thickness may be, one standard deviation.";
    let error_mm = at.length("thickness_error", Within(0.0, THICKEST_MM), meaning);
    let error_mm = error_mm.otherwise("0.1 mm for planed stock and 3 % for laid stock");
    let shown = ("[[-600, 3], [0, 8], [600, 3]]", "Pairs of station and thickness, in place of `thickness`.");
    let pair = [(Dimension::Length, along), (Dimension::Length, thick)];
    let pairs = at.pairs("taper", pair, (1, MOST_STATIONS), shown).optional();
    let meaning = "The same pairs in a file, one to a line, by its path from this document.";
    let file = at.file("taper_file", meaning).optional();
    let meaning = "The same drawn in a CAD program: the tapered part seen from its side, as one closed line.";
    let drawing = at.table("taper_drawing", meaning, |at| drawn_side(at, inputs)).optional();
    let whole = [("each ply", false), ("all plies", true)];
    let meaning = "What a taper gives: the thickness of each ply that tapers, or of all plies of the layer together.";
    let of_all = at.choice("taper_of", &whole, meaning);
    let meaning = "Plies that taper, counted from the lowest; the others have `thickness`.";
    let tapered = at.counts("tapered_plies", (1, MOST_LAYERS), (1, MOST_LAYERS), meaning).optional();
    let meaning = "Where the stations of `taper`, `from` and `to` are counted from.";
    let from = at.choice("stations_from", &ORIGINS, meaning);
    let ends = ends(at);
    let to_middle = |station: f64, from: Origin| from_middle(board, station, from);
    let extent_mm = ends.and_then(|(a, b)| Some((to_middle(a, from)?, to_middle(b, from)?)));
    let extent_mm = extent_mm.map(|(a, b)| (a.min(b), a.max(b)));
    let way = way(at, tapered.is_some());
    let written = match way {
        Some("taper") => pairs.map(|pairs| WrittenTaper { pairs, from, lines: Vec::new() }),
        Some("taper_file") => file.and_then(|file| of_file(at, inputs, &file, from)),
        Some("taper_drawing") => drawing.and_then(|(lines, tip)| of_drawing(at, (&lines, tip), board, extent_mm)),
        _ => None,
    };
    let stations = match (&written, ends, way) {
        (Some(taper), _, Some(key)) if key != "taper_drawing" => {
            Some((key, taper.from, taper.pairs.iter().map(|p| p.0).collect()))
        }
        (None, Some((a, b)), _) => Some(("from", from, vec![a, b])),
        _ => None,
    };
    listed.extend(stations.map(|(key, from, stations_mm)| Listed { path: at.path_of(key), from, stations_mm }));
    let plies = match way {
        None => None,
        Some("thickness") => constant_mm.map(|t| vec![Thickness::Constant(t); plies]),
        Some(key) => {
            let numbers = tapered.unwrap_or_else(|| (1..=plies).collect());
            let share = Share { plies, numbers, of_all, constant_mm };
            written.and_then(|written| {
                let stations = in_order(at, key, &written, board)?;
                share.out(at, key, stations)
            })
        }
    };
    Sizes { plies, error_mm, extent_mm }
}

/// From a station as it is counted to the place from the middle of the board toward its tip, mm.
fn from_middle(board: Option<&Board>, station: f64, from: Origin) -> Option<f64> {
    let half_mm = board.map(|b| 0.5 * b.length_mm);
    match from {
        Origin::Middle => Some(station),
        Origin::Tail => half_mm.map(|half| station - half),
        Origin::Tip => half_mm.map(|half| half - station),
    }
}

/// The key that gives the thickness, or the taper of those plies that taper.
fn way(at: &mut Section<'_, '_>, some_taper: bool) -> Option<&'static str> {
    let tapers = at.has("taper") || at.has("taper_file") || at.has("taper_drawing");
    if !tapers && at.has("tapered_plies") {
        at.missing("taper", "Give the taper of these plies as `taper`, `taper_file` or `taper_drawing`.");
        return None;
    }
    if !tapers && !at.has("thickness") {
        let remedy = format!("Give it as a number or as a text with a unit ({}).", Dimension::Length.units());
        at.missing("thickness", remedy);
        return None;
    }
    at.one_of(if some_taper { &WAYS[1..] } else { &WAYS }, "the thickness")
}

/// The taper in a file of separated values.
fn of_file(at: &mut Section<'_, '_>, inputs: &Inputs, name: &str, from: Origin) -> Option<WrittenTaper> {
    let path = at.path_of("taper_file");
    let text = inputs.text(at.reader, name, &path)?;
    let read = csv::read(at.reader, text, (name, &path), &csv::THICKNESSES)?;
    let given = at.has("stations_from").then_some(from);
    let key = at.path_of("stations_from");
    let from = origin_of(at.reader, given, &read, (&key, Origin::Middle))?;
    let pairs: Stations = read.readings.iter().map(|r| (r.station_mm, r.height_mm)).collect();
    if pairs.is_empty() || pairs.len() > MOST_STATIONS {
        let message = format!("{name} holds {} stations.", pairs.len());
        let remedy = format!("Give from 1 to {MOST_STATIONS}; the thickness is taken as straight between them.");
        at.fault(codes::TOO_MANY, "taper_file", message, remedy);
        return None;
    }
    Some(WrittenTaper { pairs, from, lines: read.file.lines })
}

/// The taper of a closed line: its height at stations from the middle, as few as follow it.
fn of_drawing(
    at: &mut Section<'_, '_>,
    (lines, tip): (&DrawnLines, Direction),
    board: Option<&Board>,
    extent_mm: Option<(f64, f64)>,
) -> Option<WrittenTaper> {
    let shape = match closed(lines, tip) {
        Ok(shape) => shape,
        Err(fault) => {
            let table = at.path_of("taper_drawing");
            at.reader.faults.push(in_table(fault, &table));
            return None;
        }
    };
    let key = "taper_drawing.file";
    let bounds = shape.bounds();
    let (long, at_mm) = (Quantity::exact(bounds.width()), bounds.center().x);
    let wrong = match (extent_mm, board) {
        (Some((a, b)), _) if (bounds.width() - (b - a)).abs() > LENGTH_MM => Some((Quantity::exact(b - a), "layer is")),
        (None, Some(b)) if bounds.width() < b.length_mm - LENGTH_MM || bounds.width() > 2.0 * b.length_mm => {
            Some((Quantity::exact(b.length_mm), "board is"))
        }
        _ => None,
    };
    if let Some((wanted, what)) = wrong {
        let message = phrase!("the drawn part is {} long, and the {} {}.", long, what, wanted);
        let remedy = "Check the drawing's unit; a layer that stops short also has `from` and `to`.";
        at.fault(codes::DRAWING_LENGTH, key, message, remedy);
        return None;
    }
    let middle_mm = extent_mm.map_or(0.0, |(a, b)| 0.5 * (a + b));
    let heights: Stations = heights(&shape).into_iter().map(|(x, h)| (x - at_mm + middle_mm, h)).collect();
    if let Some((s, h)) = heights.iter().find(|(_, h)| !(*h > LEAST_MM && *h <= THICKEST_MM)) {
        let message =
            phrase!("the drawn part is {} thick at {} from the middle.", Quantity::exact(*h), Quantity::exact(*s));
        let (least, most) = (Quantity::exact(LEAST_MM), Quantity::exact(THICKEST_MM));
        let remedy = phrase!("Draw it with square ends, from {} to {} thick everywhere.", least, most);
        at.fault(codes::LAYER_THICKNESS, key, message, remedy);
        return None;
    }
    let pairs = thinned(&heights, DRAWN_MM);
    if pairs.len() > MOST_STATIONS {
        let message = format!("the drawn part takes {} straight pieces.", pairs.len());
        let remedy = format!("At most {MOST_STATIONS} are read; draw the part with fewer waves.");
        at.fault(codes::TOO_MANY, key, message, remedy);
        return None;
    }
    Some(WrittenTaper { pairs, from: Origin::Middle, lines: Vec::new() })
}

/// Least thickness that a drawing may have, mm.
const LEAST_MM: f64 = 0.01;

/// Heights of a closed line along x.
fn heights(shape: &Contour) -> Stations {
    let ring = shape.flattened(FLAT_MM);
    let bounds = shape.bounds();
    let count = (bounds.width() / STEP_MM).ceil().max(1.0) as usize;
    let even = (0..=count).map(|i| bounds.x0 + bounds.width() * i as f64 / count as f64);
    let mut places: Vec<f64> = even.chain(ring.iter().map(|p| p.x.clamp(bounds.x0, bounds.x1))).collect();
    places.sort_by(f64::total_cmp);
    places.dedup_by(|b, a| *b - *a < 1e-6);
    let sides = || ring.iter().zip(ring.iter().cycle().skip(1));
    let height = |x: f64| {
        let near = 1e-9;
        let crossed =
            sides().filter(|(a, b)| a.x.min(b.x) <= x + near && x - near <= a.x.max(b.x)).flat_map(|(a, b)| {
                if (a.x - b.x).abs() < near { [a.y, b.y] } else { [a.y + (x - a.x) / (b.x - a.x) * (b.y - a.y); 2] }
            });
        let (low, high) = crossed.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), y| (l.min(y), h.max(y)));
        (x, high - low)
    };
    places.into_iter().map(height).collect()
}

/// The stations from tail to tip, counted from the middle; a fault where one is given twice.
fn in_order(at: &mut Section<'_, '_>, key: &str, written: &WrittenTaper, board: Option<&Board>) -> Option<Stations> {
    let mut placed: Vec<(f64, f64, usize)> = Vec::new();
    for (i, (station, thickness)) in written.pairs.iter().enumerate() {
        placed.push((from_middle(board, *station, written.from)?, *thickness, i));
    }
    placed.sort_by(|a, b| a.0.total_cmp(&b.0));
    if let Some(w) = placed.windows(2).find(|w| w[0].0 == w[1].0) {
        let place = Quantity::exact(w[0].0);
        let message = phrase!("two thicknesses are given for the place {} from the middle.", place);
        fault_at(at, (codes::LAYER_TAPER, key), written.lines.get(w[1].2), message, "Give each station once.");
        return None;
    }
    Some(placed.into_iter().map(|(s, t, _)| (s, t)).collect())
}

/// A fault at a key, or at the line of the file that it names.
fn fault_at(
    at: &mut Section<'_, '_>,
    (code, key): (&'static Code, &str),
    line: Option<&FilePlace>,
    message: Phrase,
    remedy: &str,
) {
    at.fault(code, key, message, remedy);
    if let (Some(line), Some(fault)) = (line, at.reader.faults.last_mut()) {
        fault.place = Some(line.clone());
    }
}

/// How a taper is shared out between the plies of a layer.
struct Share {
    plies: usize,
    /// Numbers of the plies that taper, from 1.
    numbers: Vec<usize>,
    /// Whether the taper is that of all plies together.
    of_all: bool,
    /// Thickness of each of the others, mm.
    constant_mm: Option<f64>,
}

impl Share {
    /// Thickness of each ply, or a fault.
    fn out(&self, at: &mut Section<'_, '_>, key: &str, stations: Stations) -> Option<Vec<Thickness>> {
        if let Some(i) = self.numbers.iter().position(|n| *n > self.plies) {
            let message = format!("ply {} is to taper, and the layer has {}.", self.numbers[i], self.plies);
            let remedy = format!("Write a number from 1 to {}, or more `plies`.", self.plies);
            at.fault(codes::TAPERED_PLY, &format!("tapered_plies[{i}]"), message, remedy);
            return None;
        }
        let tapers = |ply: usize| self.numbers.contains(&ply);
        let tapering = (1..=self.plies).filter(|ply| tapers(*ply)).count();
        let others = self.plies - tapering;
        if others > 0 && !at.has("thickness") {
            at.missing("thickness", "Give the thickness of the plies that do not taper.");
        }
        let constant_mm = if others > 0 { self.constant_mm? } else { 0.0 };
        let rest_mm = if self.of_all { others as f64 * constant_mm } else { 0.0 };
        let each = if self.of_all { tapering as f64 } else { 1.0 };
        if let Some((s, t)) = stations.iter().find(|(_, t)| *t <= rest_mm) {
            let (s, t, rest) = (Quantity::exact(*s), Quantity::exact(*t), Quantity::exact(rest_mm));
            let message =
                phrase!("at {} from the middle all plies are {} together, and those that do not taper {}.", s, t, rest);
            at.fault(codes::LAYER_THICKNESS, key, message, "Let more plies taper, or make the others thinner.");
            return None;
        }
        let taper: Stations = stations.into_iter().map(|(s, t)| (s, (t - rest_mm) / each)).collect();
        let ply = |ply| if tapers(ply) { Thickness::Tapered(taper.clone()) } else { Thickness::Constant(constant_mm) };
        Some((1..=self.plies).map(ply).collect())
    }
}

#[cfg(test)]
mod tests {
    use kurbo::Point;

    use super::*;
    use crate::drawing::Vertex;

    #[test]
    fn the_height_of_a_drawn_part_is_taken_between_its_edges_wherever_it_lies() {
        // Flat below but for a step, an arc above: 8 mm in the middle and 3 mm at the ends of 1000 mm.
        let (half, rise): (f64, f64) = (500.0, 5.0);
        let bulge = rise / half;
        let at = |x: f64, y: f64, bulge: f64| Vertex { point: Point::new(x + 70.0, y - 20.0), bulge };
        let corners = [at(-half, 0.0, 0.0), at(half, 0.0, 0.0), at(half, 3.0, bulge), at(-half, 3.0, 0.0)];
        let shape = Contour::closed(corners.to_vec()).unwrap();
        let radius = 0.5 * (half * half / rise + rise);
        let taper = thinned(&heights(&shape), DRAWN_MM);
        assert!(taper.len() < 30, "{}", taper.len());
        assert_eq!((taper[0].0, taper[taper.len() - 1].0), (-half + 70.0, half + 70.0));
        for i in 0..=100 {
            let x = -half + 10.0 * f64::from(i);
            let expected = 8.0 - radius + (radius * radius - x * x).sqrt();
            let next = taper.partition_point(|p| p.0 < x + 70.0).clamp(1, taper.len() - 1);
            let (a, b) = (taper[next - 1], taper[next]);
            let found = a.1 + (b.1 - a.1) * (x + 70.0 - a.0) / (b.0 - a.0);
            assert!((found - expected).abs() < DRAWN_MM + FLAT_MM, "{x}: {found} is not {expected}");
        }
    }
}
