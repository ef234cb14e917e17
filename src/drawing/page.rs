//! The content of a page: headings, sentences, lists, tables and figures, independent of its format.

use super::{Listing, Picture};

/// A figure in two sizes: for wide pages and paper, and for phones.
#[derive(Debug, Clone, PartialEq)]
pub struct Figure {
    /// Caption.
    pub title: String,
    /// Description of the content, for readers who cannot see it.
    pub description: String,
    /// Wide picture, with a note that holds for this size only, such as the exaggeration.
    pub wide: (Picture, String),
    /// Narrow picture.
    pub narrow: (Picture, String),
}

impl Figure {
    /// Width of wide pictures, page pixels: fits A4 and Letter between their margins.
    pub(crate) const WIDE: f64 = 680.0;
    /// Width of narrow pictures, page pixels: fits a small phone.
    pub(crate) const NARROW: f64 = 330.0;

    /// Draws the figure at both widths.
    pub(crate) fn of(
        title: impl Into<String>,
        description: impl Into<String>,
        draw: impl Fn(f64) -> (Picture, String),
    ) -> Self {
        Self {
            title: title.into(),
            description: description.into(),
            wide: draw(Self::WIDE),
            narrow: draw(Self::NARROW),
        }
    }
}

/// A result at a glance.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tone {
    /// All is well.
    Good,
    /// Look at it.
    Look,
    /// Stop.
    Stop,
}

/// A step of an instruction.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// What is done.
    pub head: String,
    /// How to do it.
    pub text: String,
    /// Caution to read before the step; may be empty.
    pub caution: String,
}

impl Step {
    /// A step without a caution.
    pub(crate) fn new(head: &str, text: impl Into<String>) -> Self {
        Self { head: head.to_owned(), text: text.into(), caution: String::new() }
    }

    /// Adds a caution.
    #[must_use]
    pub(crate) fn with_caution(self, caution: impl Into<String>) -> Self {
        Self { caution: caution.into(), ..self }
    }
}

/// A block of a section.
#[derive(Debug, Clone, PartialEq)]
pub enum Block {
    /// A heading within the section.
    Heading(String),
    /// Sentences.
    Paragraph(String),
    /// Prominent sentences.
    Notice(Tone, String),
    /// A list of sentences.
    Bullets(Vec<String>),
    /// Names with values, under a prominent heading.
    Facts(Tone, String, Vec<(&'static str, String)>),
    /// Sentences folded under one line.
    Folded(String, Vec<String>),
    /// Labels, each with a line to write on.
    Blanks(Vec<&'static str>),
    /// Numbered steps.
    Steps(Vec<Step>),
    /// A table.
    Table(Listing),
    /// A table with empty cells to fill in.
    Form(Listing),
    /// A small text file that can be saved from the page.
    File {
        /// File name.
        name: &'static str,
        /// Link text.
        words: String,
        /// Contents.
        text: String,
    },
    /// A figure.
    Figure(Box<Figure>),
}

/// A section under one heading.
#[derive(Debug, Clone, PartialEq)]
pub struct Section {
    /// Short name of ASCII letters and hyphens.
    pub id: &'static str,
    /// Heading.
    pub heading: String,
    /// Its blocks.
    pub blocks: Vec<Block>,
}

/// The whole page.
#[derive(Debug, Clone, PartialEq)]
pub struct Page {
    /// Title.
    pub title: String,
    /// Kind of page.
    pub kind: String,
    /// Program, version and job, for tracing.
    pub origin: String,
    /// Blocks above the first section.
    pub lead: Vec<Block>,
    /// The sections.
    pub sections: Vec<Section>,
}
