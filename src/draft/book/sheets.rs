//! Sheets as they are cut up, and bars.

use kurbo::{Point, Rect};

use super::say::Say;
use crate::built::Built;
use crate::draft::cutlist::{pieces_off, plan_words};
use crate::draft::plot::text;
use crate::draft::sheets::set_up_words;
use crate::drawing::{Block, Cell, Contour, Figure, Ink, LabelStyle, Listing, Operation, Picture, Shape, TextAnchor};
use crate::jig::FlatPart;
use crate::stock::{Layout, Sheet};
use crate::units::decimal;

/// Where along a part its name is tried, the middle first, so that names of parts side by side keep apart.
const TRIED: [f64; 9] = [0.5, 0.3, 0.7, 0.15, 0.85, 0.4, 0.6, 0.22, 0.78];

/// Sheets and cuts; nothing where the shop lists no stock.
pub(super) fn blocks(built: &Built, say: Say) -> Vec<Block> {
    let Layout { parts, sheets, cuts, .. } = &built.layout;
    let mut blocks: Vec<Block> = moving(sheets, say).map(Block::Paragraph).into_iter().collect();
    for sheet in sheets {
        blocks.push(Block::Figure(Box::new(figure(sheet, parts, say))));
        let mut listing = Listing::new(format!("Parts on sheet {}", sheet.number), &["part", "what", "size"]);
        for placed in &sheet.nested.placed {
            let part = &parts[placed.part].part;
            let size = part
                .bounds()
                .map_or_else(String::new, |b| format!("{} × {}", say.length(b.width()), say.length(b.height())));
            listing.rows.push(vec![Cell::text(part.id.clone()), Cell::text(part.title.clone()), Cell::Figure(size)]);
        }
        blocks.push(Block::Table(listing));
    }
    if !cuts.is_empty() {
        let mut listing = Listing::new("Cuts off bars", &["for", "bars", "bar", "pieces, in this order", "left over"]);
        for cut in cuts {
            for (times, bar) in cut.alike() {
                listing.rows.push(vec![
                    Cell::text(cut.of.what),
                    Cell::count(times),
                    Cell::Figure(say.length(cut.of.stock.bars[bar.bar].length_mm)),
                    Cell::text(pieces_off(cut, bar, |mm| say.length(mm))),
                    Cell::Figure(say.length(bar.rest_mm)),
                ]);
            }
        }
        blocks.push(Block::Table(listing));
        let words = cuts.iter().map(|c| {
            let (kerf, trim) = (say.fine(c.of.stock.kerf_mm), say.fine(c.of.stock.end_trim_mm));
            format!("{}. A saw cut takes {kerf}; {trim} are trimmed off each bar first.", plan_words(c, say.unit))
        });
        blocks.push(Block::Bullets(words.collect()));
    }
    blocks
}

/// How sheets are cut that are larger than the bed.
fn moving(sheets: &[Sheet], say: Say) -> Option<String> {
    let set_ups = || sheets.iter().filter_map(|s| s.set_up.as_ref());
    set_ups().next()?;
    let ripped =
        if set_ups().any(|s| s.strip.1 > 1) { " Rip each sheet into strips of equal width first." } else { "" };
    let moved = set_ups().find(|s| !s.holes.is_empty()).map_or(String::new(), |s| {
        let inset = s.holes.iter().map(|d| d.y).fold(f64::INFINITY, f64::min);
        format!(
            " Cut the first stretch with the two holes at its end. Then set two dowels of {} into the bed, {} from its beginning \
             and as far from both edges of the sheet, move the sheet until the holes sit on them, and cut the next stretch.",
            say.fine(s.dowel_mm),
            say.fine(inset)
        )
    });
    Some(format!(
        "The sheets are larger than the bed of the machine, so that each is cut in several set-ups, one file for each.{ripped}{moved}"
    ))
}

fn figure(sheet: &Sheet, parts: &[FlatPart], say: Say) -> Figure {
    let stock = &sheet.stock;
    let words = format!(
        "{}, {} by {}, {} % used. The outlines are in {}.dxf, full size.",
        stock.name,
        say.length(stock.length_mm),
        say.length(stock.width_mm),
        decimal(100.0 * sheet.nested.utilisation, 0),
        sheet.file_name(),
    ) + &sheet.set_up.as_ref().map_or(String::new(), |s| format!(" It is {}.", set_up_words(s, say.unit)));
    Figure::of(format!("Sheet {}", sheet.number), words, |width| {
        let scale = (width - 4.0) / stock.length_mm;
        let mut picture = Picture::new(width, stock.width_mm * scale + 4.0);
        let at = |p: Point| Point::new(2.0 + p.x * scale, 2.0 + p.y * scale);
        picture.rect(Ink::BarRest, at(Point::ZERO), at(Point::new(stock.length_mm, stock.width_mm)));
        if let Some(set_up) = &sheet.set_up {
            for dowel in set_up.holes.iter().chain(&set_up.stands_on) {
                picture.circle(Ink::Edge, at(*dowel), 0.5 * set_up.dowel_mm * scale);
            }
        }
        let mut taken: Vec<Rect> = Vec::new();
        for placed in &sheet.nested.placed {
            let part = parts[placed.part].part.placed(&placed.placement);
            for work in part.in_order().into_iter() {
                if matches!(work.operation, Operation::Mark | Operation::Note) {
                    continue;
                }
                match &work.shape {
                    // A fifth of a pixel cannot be seen.
                    Shape::Contour(c) if c.is_closed() => {
                        picture.area(Ink::Edge, c.flattened(0.2 / scale).into_iter().map(at));
                    }
                    Shape::Contour(c) => picture.line(Ink::Edge, c.flattened(0.2 / scale).into_iter().map(at)),
                    Shape::Circle { center, radius_mm } => picture.circle(Ink::Edge, at(*center), radius_mm * scale),
                    Shape::Text(_) => {}
                }
            }
            let Some(outline) = part.outline() else { continue };
            // The same name as on the part, in the files and in the lists.
            let name = part.id.clone();
            let size = (text::width(&name) + 4.0, text::SIZE + 2.0);
            let boxes = TRIED.iter().filter_map(|f| inside(outline, *f)).map(at);
            let free = boxes
                .map(|p| Rect::from_center_size(p, size))
                .find(|b| b.x0 > 0.0 && b.x1 < width && taken.iter().all(|t| t.intersect(*b).is_zero_area()));
            if let Some(found) = free {
                let foot = Point::new(found.center().x, found.center().y - 0.35 * text::SIZE);
                picture.label(foot, TextAnchor::Middle, LabelStyle::Strong, name);
                taken.push(found);
            }
        }
        (picture, String::new())
    })
}

/// A point within an outline at a part of its length: in the middle of the first stretch that an upright line cuts out
/// of it.
fn inside(outline: &Contour, fraction: f64) -> Option<Point> {
    let bounds = outline.bounds();
    let along = bounds.width() >= bounds.height();
    // A part that stands is looked at as if it lay.
    let lying = |p: Point| if along { p } else { Point::new(p.y, p.x) };
    let (from, to) = if along { (bounds.x0, bounds.x1) } else { (bounds.y0, bounds.y1) };
    let x = from + fraction * (to - from);
    let points: Vec<Point> = outline.flattened(1.0).into_iter().map(lying).collect();
    let mut crossed: Vec<f64> = points
        .iter()
        .zip(points.iter().cycle().skip(1))
        .filter(|(a, b)| (a.x > x) != (b.x > x))
        .map(|(a, b)| a.y + (b.y - a.y) * (x - a.x) / (b.x - a.x))
        .collect();
    crossed.sort_by(f64::total_cmp);
    match crossed[..] {
        [low, high, ..] => Some(lying(Point::new(x, 0.5 * (low + high)))),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_stands_within_its_part_lying_or_standing() {
        let bow = [(0.0, 0.0), (10.0, 8.0), (20.0, 0.0), (20.0, 3.0), (10.0, 11.0), (0.0, 3.0)];
        let lying = Contour::polygon(bow.map(Point::from)).unwrap();
        let standing = Contour::polygon(bow.map(|(x, y)| Point::new(y - 3.0, 4.0 * x))).unwrap();
        assert_eq!(inside(&lying, 0.5), Some(Point::new(10.0, 9.5)));
        assert_eq!(inside(&standing, 0.5), Some(Point::new(6.5, 40.0)));
    }
}
