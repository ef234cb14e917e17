//! The checked job: plain data in the library's own units, read from a document or made in code by [`Job::new`]. No serde.

mod board;
mod drawn;
mod existing;
mod files;
mod forecast;
mod layer;
mod machine;
mod measured;
mod pressing;
mod prices;
mod rocker;
mod shop;
mod stock;
mod table;

pub use board::{Board, BoardHole, LengthAlong, OutlineShape, PlanOutline};
pub use drawn::{Direction, DrawingFormat, DrawnLines, DrawnProfile};
pub use existing::ExistingTable;
pub use files::{DxfDialect, Files, Sheets};
pub use forecast::{Alternative, ClosingIn, Forecasting};
pub use layer::{
    Drying, EffectiveLayer, Fabric, Layer, Material, MaterialKind, SagTest, Share, Spread, Stations, Thickness,
};
pub use machine::Machine;
pub use measured::{Datum, Ends, Origin, Reading, Readings, ReadingsFile, Smoothing, StationsAlong};
pub use pressing::{Below, Caul, ClampPlaces, Glue, Hold, Pressing, ResinCure};
pub use prices::Prices;
pub use rocker::{Bend, CurvatureTable, Rocker, Segment, SegmentShape, Segments};
pub(crate) use shop::MOST_HOURS;
pub use shop::{KeptBoard, LONGEST_TEXT, PressedAs, Shop};
pub use stock::{Bar, BarStock, Grain, Nesting, SheetStock, Stock};
pub(crate) use table::MOST_RIBS;
pub use table::{
    Bearers, BoxPanels, Concave, CrossMembers, Cutting, Fasteners, Feet, Frame, HandHoles, Joint, Lies, Lightening,
    Relief, RibFrame, RibLayout, Ribs, Rods, SkinSheets, Split, Table,
};

use crate::finding::Finding;
use crate::units::LengthUnit;

/// Everything a shop said about one board and its table.
#[derive(Debug, Clone, PartialEq)]
pub struct Job {
    /// What the shop calls it.
    pub title: String,
    /// The unit in which it reads lengths.
    pub unit: LengthUnit,
    /// SHA-256 of the document's bytes and of the files it names, in hexadecimal; empty for a job that was made in code.
    pub hash: String,
    /// The finished board.
    pub board: Board,
    /// The wanted rocker.
    pub rocker: Rocker,
    /// Layers from base to deck.
    pub layers: Vec<Layer>,
    /// Other stacks that are compared with this one.
    pub alternatives: Vec<Alternative>,
    /// How sure all this is.
    pub forecast: Forecasting,
    /// What the shop learned from its boards, where the document names a file of them.
    pub shop: Option<Shop>,
    /// A table that is there already, to predict boards on.
    pub existing_table: Option<ExistingTable>,
    /// How the stack is held on the table.
    pub pressing: Pressing,
    /// How the table is built.
    pub table: Table,
    /// What parts and pieces are cut from.
    pub stock: Stock,
    /// What parts are cut on, where stated.
    pub machine: Option<Machine>,
    /// What materials cost.
    pub prices: Prices,
    /// What the files are to be like.
    pub files: Files,
    /// Codes of checks that the shop overrides.
    pub accepted: Vec<String>,
    /// What in it is possible but looks like a slip.
    pub doubts: Vec<Doubt>,
}

impl Job {
    /// A metric job with these parts; everything else is as in a document that does not mention it, but without paper
    /// patterns. Fields can be changed before it is built.
    ///
    /// Nothing is checked here: building it reports what is impossible, each fault with the path of a document's key, which
    /// is the path of the field without its unit (`layers[1].thickness`). What only the range of a key would refuse is the
    /// caller's care.
    pub fn new(
        title: impl Into<String>,
        board: Board,
        rocker: Rocker,
        mut layers: Vec<Layer>,
        pressing: Pressing,
        table: Table,
    ) -> Self {
        layers.iter_mut().enumerate().for_each(|(i, layer)| layer.entry = i);
        pressing.condition(&mut layers);
        Self {
            title: title.into(),
            unit: LengthUnit::default(),
            hash: String::new(),
            board,
            rocker,
            layers,
            alternatives: Vec::new(),
            forecast: Forecasting::new(pressing.glue),
            shop: None,
            existing_table: None,
            pressing,
            table,
            stock: Stock::default(),
            machine: None,
            prices: Prices::default(),
            files: Files::default(),
            accepted: Vec::new(),
            doubts: Vec::new(),
        }
    }

    /// What is possible in the document but looks like a slip, as the first of a job's checks.
    pub(crate) fn doubt_findings(&self) -> Vec<Finding> {
        self.doubts.iter().map(|d| d.finding.clone()).collect()
    }
}

/// Something that is possible but looks like a slip.
#[derive(Debug, Clone, PartialEq)]
pub struct Doubt {
    /// The key that it is about, as in [`crate::finding::Fault`].
    pub path: String,
    /// What is unusual, and the likely cause.
    pub finding: Finding,
}

/// What a shop said about the board alone: enough to look at its rocker.
#[derive(Debug, Clone, PartialEq)]
pub struct Wanted {
    /// What the shop calls it.
    pub title: String,
    /// The unit in which it reads lengths.
    pub unit: LengthUnit,
    /// SHA-256 of the document's bytes and of the files it names, in hexadecimal.
    pub hash: String,
    /// The finished board.
    pub board: Board,
    /// The wanted rocker.
    pub rocker: Rocker,
}
