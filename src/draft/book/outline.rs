//! The board in plan: its picture, widths at stations, holes, where the blank lies.

use kurbo::Point;

use super::say::{Say, way_up};
use super::sketch::{dimension, label_above, upright};
use crate::built::Built;
use crate::draft::plan::blank_on_table_mm;
use crate::draft::plot::text;
use crate::drawing::{Block, Cell, Figure, Ink, LabelStyle, Listing, Picture, TextAnchor};
use crate::rocker::Outline;
use crate::table::middles_mm;
use crate::units::Quantity;

/// What is said of the outline; nothing where the job gives neither outline nor holes.
pub(super) fn blocks(built: &Built, say: Say) -> Vec<Block> {
    let Some(outline) = &built.design.outline else { return Vec::new() };
    let mut blocks = vec![Block::Paragraph(words(built, outline, say))];
    blocks.push(Block::Figure(Box::new(figure(built, outline, say))));
    blocks.push(Block::Table(widths(built, outline, say)));
    if !outline.holes.is_empty() {
        blocks.push(Block::Table(holes(outline, say)));
    }
    blocks.push(Block::Table(corners(built, say)));
    blocks
}

fn words(built: &Built, outline: &Outline, say: Say) -> String {
    let (at, widest) = outline.widest_mm();
    let mut words = format!(
        "The finished board has {} on each face. Its widest place, {}, lies {} from the middle.",
        say.show(Quantity::surface(1e-6 * outline.area_mm2())),
        say.length(widest),
        say.length(at)
    );
    if let Some(sidecut) = outline.sidecut() {
        words += &format!(
            " Its waist lies {} from the middle, {} deep on each side against the widest places {} and {} from the middle: \
             the circle through the three has a radius of {}.",
            say.length(sidecut.waist_mm),
            say.small(sidecut.depth_mm),
            say.length(sidecut.widest_mm.0),
            say.length(sidecut.widest_mm.1),
            say.length(sidecut.radius_mm)
        );
    }
    let shaped = built.design.job.board.outline.as_ref().is_some_and(|o| o.shaped_blank);
    words += if shaped {
        " The layers are cut to it before they are pressed; the table is worked out for the widest place all along."
    } else {
        " The blank is a rectangle and is trimmed to it after pressing."
    };
    if let Some(template) = &built.jig.template {
        words += &format!(
            " Cut the trimming template, {} thick, from members.dxf or its pattern, lay it on the base, its writing against the \
             board, with both middle lines and the stations together, and trim along it. plan.dxf shows the outline on the table skin and on the blank.",
            say.fine(template.thickness_mm)
        );
    }
    words
}

/// The outline to scale with the blank around it, its length and its width.
fn figure(built: &Built, outline: &Outline, say: Say) -> Figure {
    let bounds = outline.bounds();
    let bent = &built.design.table;
    let (tail, tip) = (bent.blank.tail_mm, bent.blank.tip_mm);
    let half = 0.5 * built.consumables.blank.width_mm;
    let note = if outline.holes.is_empty() { "" } else { " Holes are drawn as circles." };
    Figure::of(
        "The board in plan",
        format!("Seen from above with the deck up, tip to the right, inside of the blank that it is cut from.{note}"),
        |width| {
            let wide_words = say.length(bounds.height());
            let right = text::width(&wide_words) + 30.0;
            let scale = (width - right - 8.0) / (tip - tail).max(1e-9);
            let foot = 2.0 * text::LINE + 14.0;
            let mut picture = Picture::new(width, 2.0 * half * scale + foot + 8.0);
            let at = |p: Point| Point::new(4.0 + (p.x - tail) * scale, foot + (p.y + half) * scale);
            let place = |p: Point| at(Point::new(bent.blank_at_base(p.x), p.y));
            picture.rect(Ink::Laminate, at(Point::new(tail, -half)), at(Point::new(tip, half)));
            picture.area(Ink::Edge, outline.flattened(0.2 / scale.max(1e-6)).into_iter().map(place));
            for hole in &outline.holes {
                let center = place(Point::new(hole.station_mm, hole.side_mm));
                picture.circle(Ink::Edge, center, 0.5 * hole.diameter_mm * scale);
            }
            picture.line(Ink::Place, [at(Point::new(tail, 0.0)), at(Point::new(tip, 0.0))]);
            let ends = [bounds.x0, bounds.x1].map(|x| place(Point::new(x, 0.0)).x);
            let y = text::LINE + 4.0;
            dimension(&mut picture, Point::new(ends[0], y), Point::new(ends[1], y));
            label_above(&mut picture, Point::new(0.5 * (ends[0] + ends[1]), y + 4.0), &say.length(bounds.width()));
            for (x, words, anchor) in [(ends[0], "tail", TextAnchor::Start), (ends[1], "tip", TextAnchor::End)] {
                picture.label(Point::new(x, 2.0), anchor, LabelStyle::Quiet, words);
            }
            let across = [bounds.y0, bounds.y1].map(|y| at(Point::new(0.0, y)).y);
            upright(&mut picture, 4.0 + (tip - tail) * scale + 10.0, (across[0], across[1]), &wide_words);
            (picture, String::new())
        },
    )
}

fn widths(built: &Built, outline: &Outline, say: Say) -> Listing {
    let heads = ["station", "on the board", "left edge", "right edge", "width", "radius of the edge, hollow +"];
    let mut listing = Listing::new("Width at the stations, edges counted from the middle line", &heads);
    let stations = &built.jig.stations;
    for (i, s) in stations.iter().enumerate() {
        let (left, right) = outline.edges_mm(s.board_mm);
        let neighbours =
            i.checked_sub(1).and_then(|before| Some((stations[before].board_mm, stations.get(i + 1)?.board_mm)));
        let radius = neighbours.and_then(|(a, b)| outline.edge_radius_mm(a, s.board_mm, b));
        let radius = radius.map_or(String::new(), |r| say.length(r));
        let mut row = vec![Cell::count(s.number)];
        row.extend([s.board_mm, left, -right, left - right].map(|mm| Cell::Figure(say.length(mm))));
        row.push(Cell::Figure(radius));
        listing.rows.push(row);
    }
    listing
}

fn holes(outline: &Outline, say: Say) -> Listing {
    let heads = ["hole", "from the middle", "from the tail end", "to the left", "diameter"];
    let mut listing = Listing::new("Holes through the board", &heads);
    let tail = outline.ends_mm().0;
    for (i, hole) in outline.holes.iter().enumerate() {
        let name = hole.name.clone().unwrap_or_else(|| (i + 1).to_string());
        let lengths = [hole.station_mm, hole.station_mm - tail, hole.side_mm].map(|mm| Cell::Figure(say.length(mm)));
        let mut row = vec![Cell::text(name)];
        row.extend(lengths);
        row.push(Cell::Figure(say.fine(hole.diameter_mm)));
        listing.rows.push(row);
    }
    listing
}

/// Where the blank lies on the table skin.
fn corners(built: &Built, say: Say) -> Listing {
    let heads = ["corner of the blank", "from the tail end of the table skin", "from its left edge"];
    let mut listing = Listing::new("Where the blank lies on the table skin", &heads);
    let (from, to) = blank_on_table_mm(built);
    let start = built.jig.surface.curvature().start_mm();
    let sides = if way_up(built) > 0.0 { ["left", "right"] } else { ["right", "left"] };
    let middles = middles_mm(&built.design.job.board);
    let half = 0.5 * built.consumables.blank.width_mm;
    for (i, middle) in middles.iter().enumerate() {
        let of = if middles.len() > 1 { format!("board {}: ", i + 1) } else { String::new() };
        let left = 0.5 * built.jig.width_mm + middle - half;
        for (end, s) in [("tail", from), ("tip", to)] {
            for (side, y) in sides.into_iter().zip([left, left + 2.0 * half]) {
                let row = [
                    Cell::text(format!("{of}{end}, {side}")),
                    Cell::Figure(say.length(s - start)),
                    Cell::Figure(say.length(y)),
                ];
                listing.rows.push(row.to_vec());
            }
        }
    }
    listing
}
