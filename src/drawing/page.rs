//! A page to be read: headings, sentences, lists, tables and figures, without any word of how it is written down.

use super::{Listing, Picture};

/// A figure in two sizes: one for wide pages and paper, one for a phone.
#[derive(Debug, Clone, PartialEq)]
pub struct Figure {
    /// What it shows; becomes its caption.
    pub title: String,
    /// What is to be seen in it, in words for who cannot see it and for who wants it explained.
    pub description: String,
    /// For wide pages and paper, with what only holds for this size, such as its exaggeration.
    pub wide: (Picture, String),
    /// For narrow pages.
    pub narrow: (Picture, String),
}

impl Figure {
    /// Width of wide pictures, page pixels: what A4 and Letter hold between their margins.
    pub const WIDE: f64 = 680.0;
    /// Width of narrow pictures, page pixels: what a small phone shows.
    pub const NARROW: f64 = 330.0;

    /// The figure that `draw` makes at both widths.
    pub fn of(
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

/// How something came out, for who only glances at it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tone {
    /// All is well.
    Good,
    /// Look at it.
    Look,
    /// Stop.
    Stop,
}

/// A step of a list of things to do.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// What is done.
    pub head: String,
    /// How, in sentences.
    pub text: String,
    /// What can go wrong or hurt in this step, read before it; empty where nothing is special.
    pub caution: String,
}

impl Step {
    /// A step without a caution.
    pub fn new(head: &str, text: impl Into<String>) -> Self {
        Self { head: head.to_owned(), text: text.into(), caution: String::new() }
    }

    /// The same step with a caution before it.
    #[must_use]
    pub fn with_caution(self, caution: impl Into<String>) -> Self {
        Self { caution: caution.into(), ..self }
    }
}

/// A piece of a section.
#[derive(Debug, Clone, PartialEq)]
pub enum Block {
    /// A heading within the section.
    Heading(String),
    /// Sentences.
    Paragraph(String),
    /// Sentences that must be seen.
    Notice(Tone, String),
    /// Sentences one below the other.
    Bullets(Vec<String>),
    /// Names with their values, under a head that must be seen.
    Facts(Tone, String, Vec<(&'static str, String)>),
    /// Sentences that are folded away under one line.
    Folded(String, Vec<String>),
    /// Names of things to write down, each with a line to write on.
    Blanks(Vec<&'static str>),
    /// Things to do in this order.
    Steps(Vec<Step>),
    /// A table.
    Table(Listing),
    /// A table with empty cells to be written in.
    Form(Listing),
    /// A small text file to be saved from the page: its name, the words that one clicks, and what it holds.
    File {
        /// Its name.
        name: &'static str,
        /// The words of the link.
        words: String,
        /// What it holds.
        text: String,
    },
    /// A figure.
    Figure(Box<Figure>),
}

/// A part of a page under one heading.
#[derive(Debug, Clone, PartialEq)]
pub struct Section {
    /// Short name of ASCII letters and hyphens.
    pub id: &'static str,
    /// Its heading.
    pub heading: String,
    /// What stands in it.
    pub blocks: Vec<Block>,
}

/// The whole page.
#[derive(Debug, Clone, PartialEq)]
pub struct Page {
    /// Its title.
    pub title: String,
    /// What kind of page it is.
    pub kind: String,
    /// Program, version and job, for tracing.
    pub origin: String,
    /// What stands above the first section.
    pub lead: Vec<Block>,
    /// The sections.
    pub sections: Vec<Section>,
}
