//! A section through the edge of the table with everything that lies on it under a bag.

use kurbo::Point;

use super::say::Say;
use super::sketch::{label_above, level};
use crate::built::Built;
use crate::draft::plot::text;
use crate::drawing::{Figure, Ink, LabelStyle, Picture, TextAnchor};
use crate::jig::{Bagging, TAPE_WIDTH_MM};
use crate::job::Board;
use crate::table::width_over_all_mm;

/// Thicknesses in the picture, page pixels: films are too thin to be drawn to scale.
const FRAME: f64 = 34.0;
const SKIN: f64 = 18.0;
const STACK: f64 = 44.0;
const THIN: f64 = 5.0;
const BREATHER: f64 = 9.0;
const TAPE: f64 = 11.0;
/// Height of a row with a dimension, page pixels.
const ROW: f64 = 26.0;
/// Width of the column of names, page pixels.
const NAMES: f64 = 92.0;
/// Finished board that is shown, as a part of what lies beyond it.
const SHOWN: f64 = 0.9;

/// Where things end across the table, mm beyond the finished edge of the board, the outermost of several.
struct Edges {
    blank: f64,
    film: f64,
    table: f64,
}

/// The section; nothing where no bag presses.
pub(super) fn section(built: &Built, say: Say) -> Option<Figure> {
    let consumables = built.consumables;
    let bagging = consumables.bagging?;
    let finished = width_over_all_mm(&built.design.job.board);
    let beyond = |width_mm: f64| 0.5 * (width_mm - finished);
    let edges = Edges {
        blank: Board::SIDE_TRIM_MM,
        film: beyond(consumables.film.width_mm),
        table: beyond(built.jig.width_mm),
    };
    let sealed = if bagging.around_table {
        "The whole table lies in the bag, whose two sheets are sealed to each other with tape beyond its edge."
    } else {
        "Film and breather end inside of the land, so that the tape sticks to the clean skin of the table and the bag to \
         the tape."
    };
    let title = "Table, films, stack and bag: section across the right edge";
    let words = format!("Widths are to scale, thicknesses are not. {sealed}");
    Some(Figure::of(title, words, |width| {
        (picture(&bagging, &edges, built.jig.rib_thickness_mm, width, say), String::new())
    }))
}

/// Dimensions below the section: from where to where (mm beyond the finished edge), and their words.
fn dimensions(bagging: &Bagging, edges: &Edges, say: Say) -> Vec<((f64, f64), String)> {
    let mut rows = vec![
        ((0.0, edges.blank), format!("to trim {}", say.length(edges.blank))),
        ((edges.blank, edges.film), format!("film beyond the blank {}", say.length(edges.film - edges.blank))),
    ];
    if !bagging.around_table {
        let land = (edges.film.min(edges.table - bagging.land_mm), edges.table);
        rows.push((land, format!("land {}", say.length(bagging.land_mm))));
    }
    rows.push(((0.0, edges.table), format!("table beyond the board {}", say.length(edges.table))));
    rows.retain(|((from, to), _)| to - from > 1e-6);
    rows
}

/// Where things stand in the picture, page pixels.
struct Levels {
    /// Left end of the section, and page pixels per mm.
    left: f64,
    scale: f64,
    /// Place of the finished edge.
    edge: f64,
    /// Foot of the frame, and tops of frame, skin, lower film, stack, upper film and breather.
    foot: f64,
    frame: f64,
    skin: f64,
    lower: f64,
    stack: f64,
    film: f64,
    breather: f64,
}

impl Levels {
    fn new(bagging: &Bagging, edges: &Edges, width: f64, foot: f64) -> Self {
        let room = if bagging.around_table { 44.0 } else { 16.0 };
        let scale = (width - NAMES - room) / (edges.table * (1.0 + SHOWN)).max(1e-9);
        let (frame, edge) = (foot + FRAME, NAMES + SHOWN * edges.table * scale);
        let skin = frame + SKIN;
        let stack = skin + THIN + STACK;
        let (film, breather) = (stack + THIN, stack + THIN + BREATHER);
        Self { left: NAMES, scale, edge, foot, frame, skin, lower: skin + THIN, stack, film, breather }
    }

    fn x(&self, mm: f64) -> f64 {
        self.edge + mm * self.scale
    }
}

fn picture(bagging: &Bagging, edges: &Edges, rib_mm: f64, width: f64, say: Say) -> Picture {
    let rows = dimensions(bagging, edges, say);
    let foot = ROW * rows.len() as f64 + 12.0;
    let at = Levels::new(bagging, edges, width, foot);
    let mut picture = Picture::new(width, at.breather + 2.0 * THIN + 3.0 * text::LINE + 16.0);
    table(&mut picture, &at, edges, rib_mm);
    picture.rect(Ink::Film, Point::new(at.left, at.skin), Point::new(at.x(edges.film), at.lower));
    picture.rect(Ink::Laminate, Point::new(at.left, at.lower), Point::new(at.x(edges.blank), at.stack));
    over(&mut picture, Ink::Film, &at, edges, (at.stack, at.film), at.lower);
    over(&mut picture, Ink::Breather, &at, edges, (at.film, at.breather), at.lower + THIN);
    let tape = sealed(&mut picture, &at, bagging, edges);
    let named = [
        (0.5 * (at.frame + at.skin), "table skin"),
        (0.5 * (at.skin + at.lower), "release film"),
        (0.5 * (at.lower + at.stack), "stack"),
        (0.5 * (at.stack + at.film), "release film"),
        (0.5 * (at.film + at.breather), "breather"),
        (at.breather + 0.5 * THIN, "bag"),
    ];
    names(&mut picture, &named, at.left);
    let head = at.breather + THIN + text::LINE;
    picture.line(Ink::Leader, [tape, Point::new(tape.x, head)]);
    label_above(&mut picture, Point::new(tape.x, head + 4.0), "sealant tape");
    picture.line(Ink::Place, [Point::new(at.edge, foot), Point::new(at.edge, at.breather + THIN + 4.0)]);
    label_above(&mut picture, Point::new(at.edge, head + 4.0 + text::LINE), "edge of the finished board");
    for (i, ((from, to), words)) in rows.iter().enumerate() {
        level(&mut picture, (at.x(*from), at.x(*to)), foot - ROW * (i as f64 + 1.0), words);
    }
    picture
}

/// The skin on the outer rib, or on a bearer.
fn table(picture: &mut Picture, at: &Levels, edges: &Edges, rib_mm: f64) {
    let end = at.x(edges.table);
    let (from, words_end, name) = if rib_mm > 0.0 {
        let from = (end - rib_mm * at.scale).max(at.left);
        (from, from - 6.0, "outer rib")
    } else {
        (at.left, at.left - 16.0, "bearer")
    };
    picture.rect(Ink::Wood, Point::new(from, at.foot), Point::new(end, at.frame));
    let words = Point::new(words_end, at.foot + 0.5 * FRAME - 4.0);
    picture.label(words, TextAnchor::End, LabelStyle::Plain, name);
    picture.rect(Ink::SkinTop, Point::new(at.left, at.frame), Point::new(end, at.skin));
}

/// A sheet over the stack that comes down beside it and lies flat at `foot` to the film's end.
fn over(picture: &mut Picture, ink: Ink, at: &Levels, edges: &Edges, (from, to): (f64, f64), foot: f64) {
    let thick = to - from;
    let down = at.x(edges.blank) + (from - at.stack);
    let until = at.x(edges.film).max(down + thick);
    let below = [(at.left, from), (down, from), (down, foot), (until, foot)];
    let above = [(until, foot + thick), (down + thick, foot + thick), (down + thick, to), (at.left, to)];
    picture.area(ink, below.into_iter().chain(above).map(Point::from));
}

/// The bag and its tape, on the table's land or beyond the table; the middle of the tape.
fn sealed(picture: &mut Picture, at: &Levels, bagging: &Bagging, edges: &Edges) -> Point {
    let end = at.x(edges.table);
    let down = at.x(edges.blank) + (at.breather - at.stack);
    let heights = |foot: f64| [at.breather, at.lower + THIN + BREATHER, foot];
    let clear = at.x(edges.film) + THIN;
    if bagging.around_table {
        // Level over the edge of the table, then down beside it.
        let (seam, floor, beside) = (end + 14.0, at.foot - 1.0, end.max(clear) + THIN);
        bag_over(picture, [at.left, down, beside, beside + THIN, seam + 22.0], heights(floor + TAPE));
        picture.rect(Ink::Bag, Point::new(at.left, floor - THIN), Point::new(seam + 22.0, floor));
        picture.rect(Ink::Tape, Point::new(seam + 4.0, floor), Point::new(seam + 20.0, floor + TAPE));
        return Point::new(seam + 12.0, floor + 0.5 * TAPE);
    }
    let land = at.x(edges.table - bagging.land_mm);
    let half = (0.5 * (end - land)).min(0.5 * TAPE_WIDTH_MM * at.scale);
    let middle = 0.5 * (land + end);
    let clean = land.max(clear);
    bag_over(picture, [at.left, down, clean, clean + THIN, end], heights(at.skin + TAPE));
    picture.rect(Ink::Tape, Point::new(middle - half, at.skin), Point::new(middle + half, at.skin + TAPE));
    Point::new(middle, at.skin + 0.5 * TAPE)
}

/// The bag over the stack, then over the breather beside it, then down to the tape: places along the section at which it
/// turns down or up, and the three heights of its underside.
fn bag_over(picture: &mut Picture, [left, down, breather, lower, end]: [f64; 5], [over, beside, foot]: [f64; 3]) {
    let below = [(left, over), (down, over), (down, beside), (breather, beside), (lower, foot), (end, foot)];
    let above = [
        (end, foot + THIN),
        (lower + THIN, foot + THIN),
        (breather + THIN, beside + THIN),
        (down + THIN, beside + THIN),
        (down + THIN, over + THIN),
        (left, over + THIN),
    ];
    picture.area(Ink::Bag, below.into_iter().chain(above).map(Point::from));
}

/// Names left of the section, led to what they name.
fn names(picture: &mut Picture, named: &[(f64, &str)], left: f64) {
    let wanted: Vec<f64> = named.iter().map(|n| n.0).collect();
    let lowest = wanted.first().copied().unwrap_or(0.0);
    let places = text::spread(&wanted, text::LINE, lowest, picture.height - 10.0);
    for ((at, words), place) in named.iter().zip(places) {
        picture.label(Point::new(left - 16.0, place - 4.0), TextAnchor::End, LabelStyle::Plain, *words);
        picture.line(Ink::Leader, [Point::new(left - 13.0, place), Point::new(left + 2.0, *at)]);
    }
}
