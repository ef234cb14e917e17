//! Patterns tiled over sheets of paper.

use kurbo::{Point, Rect, Vec2};

use super::canvas::{CUT, Canvas, MARK, MATCH, headline, pieces};
use super::file::File;
use super::gauge::{Gauge, Ruler};
use super::tiles::{MatchLine, Pattern, Tiling, patterns, tiling};
use super::{PatternFile, correction, within};
use crate::drawing::{Drawing, Paper, TextAnchor};
use crate::export::ExportError;
use crate::export::order::in_machining_order;

/// What sheets of patterns are to be like.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SheetOptions {
    /// The paper; whether it is used upright or turned is chosen for the fewest sheets.
    pub paper: Paper,
    /// Strip along every edge that the printer cannot print, mm.
    pub margin_mm: f64,
    /// How much neighbouring sheets show of each other, mm.
    pub overlap_mm: f64,
    /// What the check square measured on a print without correction, along the lower and along the left edge, mm; where it
    /// was measured.
    pub printed_square_mm: Option<(f64, f64)>,
    /// The ruler's marks.
    pub ruler: Ruler,
}

impl SheetOptions {
    /// A paper with the usual margin of 10 mm and overlap of 12 mm.
    pub fn on(paper: Paper) -> Self {
        Self { paper, margin_mm: 10.0, overlap_mm: 12.0, printed_square_mm: None, ruler: Ruler::Millimetres }
    }
}

/// Strip at the head of a sheet for its words, mm.
const HEAD_MM: f64 = 9.0;
/// Height of capitals in the head, mm.
const HEAD_WORDS_MM: f64 = 2.4;
/// Pages at the beginning that only check the printer.
const CHECK_PAGES: usize = 1;
/// Patterns on one page of the map.
const MAPS_PER_PAGE: usize = 6;
/// Maximum number of sheets of one file; beyond it the paper or the drawing is mistaken, and nobody glues them together.
const MOST_SHEETS: usize = 2_000;

/// All parts as patterns in full size, tiled over sheets: first a page with the check square and a ruler, then the page
/// map, then the sheets, with square and ruler where they stand clear of the drawing. Parts that are cut alike share a pattern. Sheets on which nothing would stand are left out.
///
/// # Errors
/// [`ExportError::Empty`] and [`ExportError::OpenCut`] as for other formats; [`ExportError::Setting`] when paper, margin,
/// overlap or correction cannot be used, [`ExportError::TooManySheets`] where parts of the size of a house, or many of them,
/// need more.
pub fn write_sheets(drawing: &Drawing, options: &SheetOptions) -> Result<PatternFile, ExportError> {
    let found = patterns(in_machining_order(drawing)?);
    if found.is_empty() {
        return Err(ExportError::Empty);
    }
    let upright = Layout::new(&found, options.paper, options)?;
    let turned = Layout::new(&found, options.paper.turned(), options)?;
    let layout = if turned.sheets() < upright.sheets() { turned } else { upright };
    Ok(layout.file(drawing, &found, options))
}

/// Everything about one way round of the paper.
struct Layout {
    paper: Paper,
    scale: (f64, f64),
    /// What is drawn on, from the lower left corner inside the margin, in corrected mm.
    area: Rect,
    tilings: Vec<Tiling>,
}

impl Layout {
    fn new(found: &[Pattern<'_>], paper: Paper, options: &SheetOptions) -> Result<Self, ExportError> {
        let scale = correction(options.printed_square_mm, options.ruler)?;
        for side in [paper.width_mm, paper.height_mm] {
            within("paper", side, (100.0, 5_000.0))?;
        }
        within("margin", options.margin_mm, (0.0, 50.0))?;
        let width_mm = (paper.width_mm - 2.0 * options.margin_mm) / scale.0;
        let height_mm = (paper.height_mm - 2.0 * options.margin_mm) / scale.1;
        // The square must fit with its line.
        let least = options.ruler.square_mm() + 2.0;
        for (side, drawn) in [(paper.width_mm, width_mm), (paper.height_mm, height_mm - HEAD_MM)] {
            if drawn < least {
                let low = side + least - drawn;
                return Err(ExportError::Setting { name: "paper", value: side, low, high: 5_000.0 });
            }
        }
        within("overlap", options.overlap_mm, (0.0, 50.0))?;
        let area = Rect::new(0.0, 0.0, width_mm, height_mm);
        let (mut number, mut tiles) = (1, 0);
        let mut tilings = Vec::with_capacity(found.len());
        for pattern in found {
            let sheets = (pattern.bounds.width() / width_mm) * (pattern.bounds.height() / height_mm);
            if sheets > MOST_SHEETS as f64 {
                return Err(ExportError::TooManySheets { sheets: sheets as usize, most: MOST_SHEETS });
            }
            let made = tiling(pattern, width_mm, height_mm - HEAD_MM, options.overlap_mm, number);
            number += made.lines.len();
            tiles += made.tiles.len();
            if tiles > MOST_SHEETS {
                return Err(ExportError::TooManySheets { sheets: tiles, most: MOST_SHEETS });
            }
            tilings.push(made);
        }
        Ok(Self { paper, scale, area, tilings })
    }

    fn sheets(&self) -> usize {
        self.tilings.iter().map(|t| t.tiles.len()).sum()
    }

    fn file(&self, drawing: &Drawing, found: &[Pattern<'_>], options: &SheetOptions) -> PatternFile {
        let mut file = File::new(drawing);
        for (i, pattern) in found.iter().enumerate() {
            let mut canvas = Canvas::new();
            pattern.works.iter().for_each(|work| canvas.work(work));
            file.form(format!("P{i}"), pattern.bounds.inflate(10.0, 10.0), canvas);
        }
        let maps = found.len().div_ceil(MAPS_PER_PAGE);
        let before = CHECK_PAGES + maps;
        let pages = before + self.sheets();
        let place = |canvas: &mut Canvas, draw: &dyn Fn(&mut Canvas)| {
            canvas.within(self.scale, Vec2::new(options.margin_mm, options.margin_mm), |c| draw(c));
        };
        file.page(self.paper.width_mm, self.paper.height_mm, |canvas| {
            place(canvas, &|c| {
                self.head(c, &headline(drawing, 1, pages), "print this page first and measure the check square");
                Gauge::on(self.body(), &[], options.ruler).draw(c);
            });
        });
        for map in 0..maps {
            let first = map * MAPS_PER_PAGE;
            let last = (first + MAPS_PER_PAGE).min(found.len());
            file.page(self.paper.width_mm, self.paper.height_mm, |canvas| {
                place(canvas, &|c| {
                    let page = CHECK_PAGES + map + 1;
                    self.head(c, &headline(drawing, page, pages), "page map: glue the sheets at equal numbers");
                    self.map(c, found, first..last, before);
                });
            });
        }
        let mut page = before;
        for (i, (pattern, tiling)) in found.iter().zip(&self.tilings).enumerate() {
            for tile in 0..tiling.tiles.len() {
                page += 1;
                file.page(self.paper.width_mm, self.paper.height_mm, |canvas| {
                    place(canvas, &|c| {
                        self.head(c, &headline(drawing, page, pages), &pattern.title());
                        self.sheet(c, i, pattern, tile, options.ruler);
                    });
                });
            }
        }
        file.finish()
    }

    /// The area below the head.
    fn body(&self) -> Rect {
        Rect { y1: self.area.y1 - HEAD_MM, ..self.area }
    }

    fn head(&self, canvas: &mut Canvas, first: &str, second: &str) {
        canvas.pen(MARK);
        let left = Point::new(self.area.x0, self.area.y1 - 1.5 - HEAD_WORDS_MM);
        canvas.words(left, HEAD_WORDS_MM, TextAnchor::Start, first);
        canvas.words(left - Vec2::new(0.0, 1.6 * HEAD_WORDS_MM), HEAD_WORDS_MM, TextAnchor::Start, second);
    }

    fn sheet(&self, c: &mut Canvas, index: usize, pattern: &Pattern<'_>, tile: usize, ruler: Ruler) {
        let body = self.body();
        let tiling = &self.tilings[index];
        let window = tiling.tiles[tile].window;
        let shift = -window.origin().to_vec2();
        let matched: Vec<&MatchLine> = tiling.lines.iter().filter(|l| l.tiles.0 == tile || l.tiles.1 == tile).collect();
        let mut lines = pieces(pattern.works.iter().copied());
        lines.extend(matched.iter().flat_map(|l| l.reach()));
        let lines: Vec<(Point, Point)> = lines.into_iter().map(|(a, b)| (a + shift, b + shift)).collect();
        Gauge::on(body, &lines, ruler).draw(c);
        c.within((1.0, 1.0), Vec2::ZERO, |c| {
            c.clip(body);
            c.within((1.0, 1.0), shift, |c| c.form(format!("P{index}").as_bytes()));
        });
        for line in matched {
            match_line(c, line, shift, line.tiles.0 == tile);
        }
    }

    /// Draws the patterns with their sheets and page numbers, which go on after `before` pages.
    fn map(&self, c: &mut Canvas, found: &[Pattern<'_>], shown: std::ops::Range<usize>, before: usize) {
        let body = self.body().inset(-4.0);
        let slot_height = body.height() / shown.len().max(1) as f64;
        let mut page = before + self.tilings[..shown.start].iter().map(|t| t.tiles.len()).sum::<usize>();
        for (i, index) in shown.enumerate() {
            let (pattern, tiling) = (&found[index], &self.tilings[index]);
            let top = body.y1 - slot_height * i as f64;
            c.pen(MARK);
            c.words(Point::new(body.x0, top - 3.0), HEAD_WORDS_MM, TextAnchor::Start, pattern.title());
            let Some(all) = tiling.tiles.iter().map(|t| t.window).reduce(|a, b| a.union(b)) else { continue };
            let room = Vec2::new(body.width(), slot_height - 10.0);
            let scale = (room.x / all.width()).min(room.y / all.height());
            let corner = Point::new(body.x0, top - 6.0 - scale * all.height());
            let at = |p: Point| corner + (p - all.origin()) * scale;
            c.pen(CUT);
            for (a, b) in pieces(pattern.works.iter().copied()) {
                c.line(at(a), at(b));
            }
            for tile in &tiling.tiles {
                page += 1;
                c.pen(MATCH);
                c.frame(Rect::from_points(at(tile.window.origin()), at(Point::new(tile.window.x1, tile.window.y1))));
                let height = (0.25 * scale * tile.window.height()).clamp(1.2, 4.0);
                c.pen(MARK);
                let middle = at(tile.window.center()) - Vec2::new(0.0, 0.5 * height);
                c.words(middle, height, TextAnchor::Middle, page.to_string());
            }
        }
    }
}

impl MatchLine {
    /// Lines around it, its crosses and its numbers.
    fn reach(&self) -> [(Point, Point); 3] {
        let (a, b) = self.ends;
        let along = (b - a).normalize();
        let aside = Vec2::new(-along.y, along.x) * 10.0;
        [(a, b), (a + aside, b + aside), (a - aside, b - aside)]
    }
}

/// A match line with its number on this page's side, and two crosses that must cover the neighbour's.
fn match_line(c: &mut Canvas, line: &MatchLine, shift: Vec2, before: bool) {
    let (a, b) = (line.ends.0 + shift, line.ends.1 + shift);
    c.pen(MATCH);
    c.line(a, b);
    let along = (b - a).normalize();
    let aside = Vec2::new(-along.y, along.x);
    c.pen(MARK);
    for share in [0.25, 0.75] {
        let at = a.lerp(b, share);
        c.line(at - (along + aside) * 2.0, at + (along + aside) * 2.0);
        c.line(at - (along - aside) * 2.0, at + (along - aside) * 2.0);
        // Numbers stand on the page's own side: left of and below the line on the page before it.
        let upright = line.ends.0.x == line.ends.1.x;
        let away = if before { -4.0 } else { 4.0 };
        let (offset, anchor) = if upright {
            (Vec2::new(away, -1.5), if before { TextAnchor::End } else { TextAnchor::Start })
        } else {
            (Vec2::new(4.0, away - 1.5), TextAnchor::Start)
        };
        c.words(at + offset, 3.0, anchor, line.number.to_string());
    }
}
