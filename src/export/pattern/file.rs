//! PDF objects around page contents.

use std::collections::BTreeSet;

use pdf_writer::{Filter, Finish, Name, Pdf, Rect as Box, Ref, TextStr};

use super::canvas::{Canvas, FONT};
use super::{POINTS, PatternFile};
use crate::drawing::Drawing;

/// Largest side of a page in its own units (ISO 32000-1, annex C.2: implementation limits).
const LARGEST_SIDE: f64 = 14_400.0;

/// How hard page contents are packed, 0 to 10: beyond 6 files shrink by less than a per cent.
const PACKING: u8 = 6;

/// A PDF file under construction.
pub(super) struct File {
    pdf: Pdf,
    next: i32,
    tree: Ref,
    font: Ref,
    pages: Vec<Ref>,
    forms: Vec<(String, Ref)>,
    missing: BTreeSet<char>,
}

impl File {
    pub(super) fn new(drawing: &Drawing) -> Self {
        let mut pdf = Pdf::new();
        pdf.set_version(1, 6);
        let mut file = Self {
            pdf,
            next: 1,
            tree: Ref::new(1),
            font: Ref::new(1),
            pages: Vec::new(),
            forms: Vec::new(),
            missing: BTreeSet::new(),
        };
        let (catalog, info) = (file.reference(), file.reference());
        file.tree = file.reference();
        file.font = file.reference();
        file.pdf.catalog(catalog).pages(file.tree);
        let mut about = file.pdf.document_info(info);
        about.title(TextStr(&drawing.title));
        about.creator(TextStr(&drawing.origin));
        about.finish();
        let mut font = file.pdf.type1_font(file.font);
        font.base_font(Name(b"Helvetica"));
        font.encoding_predefined(Name(b"WinAnsiEncoding"));
        font.finish();
        file
    }

    /// Contents that several pages draw, by name.
    pub(super) fn form(&mut self, name: String, area: kurbo::Rect, canvas: Canvas) {
        let reference = self.reference();
        let packed = self.packed(canvas);
        let mut form = self.pdf.form_xobject(reference, &packed);
        form.filter(Filter::FlateDecode);
        form.bbox(Box::new(area.x0 as f32, area.y0 as f32, area.x1 as f32, area.y1 as f32));
        form.resources().fonts().pair(FONT, self.font);
        form.finish();
        self.forms.push((name, reference));
    }

    /// A page of a size in mm. `draw` works in millimetres from the page's lower left corner.
    pub(super) fn page(&mut self, width_mm: f64, height_mm: f64, draw: impl FnOnce(&mut Canvas)) {
        let (width, height) = (width_mm * POINTS, height_mm * POINTS);
        // A page that is too long for its units gets larger units.
        let unit = (width.max(height) / LARGEST_SIDE).ceil().max(1.0);
        let mut canvas = Canvas::new();
        let scale = POINTS / unit;
        canvas.within((scale, scale), kurbo::Vec2::ZERO, draw);
        let contents = self.reference();
        let packed = self.packed(canvas);
        self.pdf.stream(contents, &packed).filter(Filter::FlateDecode);
        let reference = self.reference();
        let mut page = self.pdf.page(reference);
        page.parent(self.tree);
        page.media_box(Box::new(0.0, 0.0, (width / unit) as f32, (height / unit) as f32));
        if unit > 1.0 {
            page.user_unit(unit as f32);
        }
        page.contents(contents);
        let mut resources = page.resources();
        resources.fonts().pair(FONT, self.font);
        let mut forms = resources.x_objects();
        for (name, form) in &self.forms {
            forms.pair(Name(name.as_bytes()), *form);
        }
        forms.finish();
        resources.finish();
        page.finish();
        self.pages.push(reference);
    }

    pub(super) fn finish(mut self) -> PatternFile {
        let pages = self.pages.len();
        let count = i32::try_from(pages).unwrap_or(i32::MAX);
        self.pdf.pages(self.tree).kids(self.pages.iter().copied()).count(count);
        PatternFile { bytes: self.pdf.finish(), pages, missing: self.missing.into_iter().collect() }
    }

    fn packed(&mut self, canvas: Canvas) -> Vec<u8> {
        let (contents, missing) = canvas.finish();
        self.missing.extend(missing);
        miniz_oxide::deflate::compress_to_vec_zlib(&contents, PACKING)
    }

    fn reference(&mut self) -> Ref {
        let reference = Ref::new(self.next);
        self.next += 1;
        reference
    }
}
