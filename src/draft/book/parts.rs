//! Every distinct part: its mark, how many, its size, and a drawing with its main dimensions.

use kurbo::{Point, Rect};

use super::kinds::{Kind, KindOf, shapes};
use super::say::Say;
use super::scene;
use super::sketch::dimension;
use crate::built::Built;
use crate::draft::plot::text;
use crate::draft::{cuts_moved, dressed};
use crate::drawing::{Block, Cell, Figure, Ink, LabelStyle, Listing, Operation, Part, Picture, Shape, TextAnchor};
use crate::jig::{FlatPart, PartKind};
use crate::units::Quantity;

/// The parts in pictures and in a list, then each with its main dimensions.
pub(super) fn blocks(built: &Built, kinds: &[Kind], say: Say) -> Vec<Block> {
    let mut blocks = vec![
        Block::Figure(Box::new(scene::assembled(built, kinds))),
        Block::Figure(Box::new(scene::exploded(built, kinds))),
        Block::Table(list(kinds)),
        Block::Heading("Parts with their main dimensions".to_owned()),
        Block::Paragraph(format!(
            "Full-size outlines are in the drawing files of the same build{}. The pictures here are to no common scale.",
            cuts_moved(&built.design.job.files, built.design.job.unit)
                .map_or_else(String::new, |words| format!(" (DXF and SVG: {words})"))
        )),
    ];
    for (i, (first, _)) in shapes(built).into_iter().enumerate() {
        let rib = &built.jig.ribs[first];
        let of_rib = |f: &&FlatPart| matches!(f.kind, PartKind::Rib { rib, .. } if rib == first);
        let drawn: Vec<Part> = built.layout.parts.iter().filter(of_rib).map(|f| dressed(f, &built.jig)).collect();
        let name = kinds.iter().find(|k| k.of == KindOf::Rib(i)).map_or_else(|| rib.title(), titled);
        let lowest = rib.stations.iter().map(|s| s.rib_top.y).fold(f64::INFINITY, f64::min);
        let holes: Vec<(f64, String)> = rib.holes.iter().map(|h| (h.center.x, say.length(h.center.x))).collect();
        let at = rib.holes.first().map_or_else(String::new, |h| {
            format!(
                " Rod holes are {} wide; their places are counted from the middle of the board.",
                say.fine(h.diameter_mm)
            )
        });
        let words = format!(
            "{} long and {} high; the lowest station of its top is {} above the base.{at}",
            say.length(rib.length_mm),
            say.length(rib.height_mm),
            say.length(lowest)
        );
        blocks.push(Block::Figure(Box::new(part_figure(&name, &words, &drawn, &holes, say))));
    }
    for (flat, count) in distinct(&built.layout.parts) {
        let part = dressed(flat, &built.jig);
        let times = if count > 1 { format!(" ({count} alike)") } else { String::new() };
        let Some(bounds) = part.bounds() else { continue };
        let words = format!("{} by {}.", say.length(bounds.width()), say.length(bounds.height()));
        let title = format!("{}{times}", part.title);
        blocks.push(Block::Figure(Box::new(part_figure(&title, &words, &[part], &[], say))));
    }
    blocks
}

fn titled(kind: &Kind) -> String {
    format!("{}: {}", kind.letters, kind.name)
}

/// Parts beside the ribs; those whose cuts and finish are the same are reported once with their count.
fn distinct(parts: &[FlatPart]) -> Vec<(&FlatPart, usize)> {
    let mut out: Vec<(&FlatPart, usize)> = Vec::new();
    for part in parts.iter().filter(|p| !matches!(p.kind, PartKind::Rib { .. })) {
        match out.iter_mut().find(|o| o.0.finish == part.finish && o.0.part.works == part.part.works) {
            Some(found) => found.1 += 1,
            None => out.push((part, 1)),
        }
    }
    out
}

fn list(kinds: &[Kind]) -> Listing {
    let mut listing = Listing::new("Parts and stock", &["mark", "part", "pieces", "size", "stock"]);
    for kind in kinds {
        listing.rows.push(vec![
            Cell::text(kind.letters.clone()),
            Cell::text(kind.name.clone()),
            Cell::count(kind.count),
            Cell::text(kind.size.clone()),
            Cell::text(kind.stock.clone()),
        ]);
    }
    listing
}

/// A part (or the pieces of one) with its length, its height and places along it.
fn part_figure(title: &str, words: &str, parts: &[Part], places: &[(f64, String)], say: Say) -> Figure {
    let bounds = parts.iter().filter_map(Part::bounds).reduce(|a, b| a.union(b)).unwrap_or(Rect::ZERO);
    Figure::of(title, words, |width| {
        let height_words = say.length(bounds.height());
        let right = text::width(&height_words) + 24.0;
        let scale = ((width - right - 6.0) / bounds.width().max(1e-9)).min(150.0 / bounds.height().max(1e-9));
        let rows = place_rows(places, bounds, scale);
        let count = rows.iter().map(|r| r + 1).max().unwrap_or(0);
        let below = text::LINE * (count as f64 + 1.0) + 18.0;
        let mut picture = Picture::new(width, (bounds.height() * scale).max(text::LINE) + below + 8.0);
        let at = |p: Point| Point::new(4.0 + (p.x - bounds.x0) * scale, below + (p.y - bounds.y0) * scale);
        for part in parts {
            for work in part.in_order() {
                draw(&mut picture, work.operation, &work.shape, scale, at);
            }
        }
        let (left, top) = (at(Point::new(bounds.x0, bounds.y0)), at(Point::new(bounds.x1, bounds.y1)));
        for ((x, words), row) in places.iter().zip(rows) {
            let foot = at(Point::new(*x, bounds.y0));
            let y = below - text::LINE * (row as f64 + 1.0) - 4.0;
            picture.line(Ink::Dimension, [Point::new(foot.x, below - 1.0), Point::new(foot.x, y + 11.0)]);
            let half = 0.5 * text::width(words);
            let x = foot.x.clamp(half + 1.0, width - half - 1.0);
            picture.label(Point::new(x, y), TextAnchor::Middle, LabelStyle::Quiet, words.clone());
        }
        let y = 14.0;
        dimension(&mut picture, Point::new(left.x, y + 4.0), Point::new(top.x, y + 4.0));
        let middle = 0.5 * (left.x + top.x);
        let words = say.length(bounds.width());
        let half = 0.5 * text::width(&words) + 1.0;
        let middle = middle.clamp(half.min(0.5 * width), (width - half).max(0.5 * width));
        picture.label(Point::new(middle, y - 11.0), TextAnchor::Middle, LabelStyle::Plain, words);
        let x = top.x + 10.0;
        dimension(&mut picture, Point::new(x, left.y), Point::new(x, top.y));
        let at = Point::new(x + 6.0, 0.5 * (left.y + top.y) - 4.0);
        picture.label(at, TextAnchor::Start, LabelStyle::Plain, height_words);
        (picture, String::new())
    })
}

/// In which row below the part each place's words stand without touching the one before.
fn place_rows(places: &[(f64, String)], bounds: Rect, scale: f64) -> Vec<usize> {
    let mut ends: Vec<f64> = Vec::new();
    places
        .iter()
        .map(|(x, words)| {
            let (center, width) = (4.0 + (x - bounds.x0) * scale, text::width(words) + 8.0);
            let from = (center - 0.5 * width).max(0.0);
            let row = ends.iter().position(|end| *end <= from).unwrap_or(ends.len());
            if row == ends.len() {
                ends.push(0.0);
            }
            ends[row] = from + width;
            row
        })
        .collect()
}

fn draw(picture: &mut Picture, operation: Operation, shape: &Shape, scale: f64, at: impl Fn(Point) -> Point) {
    let ink = match operation {
        Operation::CutOutside | Operation::CutInside | Operation::Drill => Ink::Edge,
        Operation::Mark | Operation::Note => Ink::Mark,
    };
    match shape {
        Shape::Contour(contour) => {
            // A fifth of a pixel cannot be seen.
            let points = contour.flattened(0.2 / scale.max(1e-6)).into_iter().map(&at);
            if contour.is_closed() { picture.area(ink, points) } else { picture.line(ink, points) }
        }
        Shape::Circle { center, radius_mm } => picture.circle(ink, at(*center), radius_mm * scale),
        // Lettering on a part is too small to be read at this scale.
        Shape::Text(_) => {}
    }
}

/// Number of ribs and their stock in words.
pub(super) fn ribs_in_words(built: &Built) -> String {
    let jig = &built.jig;
    let thickness = Quantity::fine(jig.rib_thickness_mm).text(built.design.job.unit);
    format!("{} ribs of {thickness} stock", jig.ribs.len())
}
