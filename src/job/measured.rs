//! Heights read off a board.

use crate::finding::FilePlace;

/// What the heights were measured from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Datum {
    /// The flat floor or bench that the board rests on.
    Floor,
    /// A straightedge along the base, held at any height and tilt.
    Straightedge,
}

/// Along what the stations were measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StationsAlong {
    /// Along the base, with a tape that follows it.
    Base,
    /// Along the datum, with a straight rule.
    Datum,
}

/// Where stations are counted from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Origin {
    /// From the tail, growing toward the tip.
    Tail,
    /// From the middle; toward the tip they are positive.
    Middle,
    /// From the tip, growing toward the tail.
    Tip,
}

/// What the curvature does at the board's ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ends {
    /// Whatever the readings show.
    Free,
    /// It runs out to none.
    RunningOut,
}

/// How the weight between smooth and close to the readings is found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Smoothing {
    /// The weight under which the readings are likeliest.
    Likelihood,
    /// The weight whose curve predicts best: with a stated error by the expected square of the error that is left, without
    /// one by generalised cross-validation.
    CrossValidation,
}

/// One height at one station.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    /// Station, mm, as the shop counts it.
    pub station_mm: f64,
    /// Height of the base above the datum, mm.
    pub height_mm: f64,
}

/// The file that readings were read from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReadingsFile {
    /// Its name in the document.
    pub name: String,
    /// The line of each reading in it.
    pub lines: Vec<FilePlace>,
}

/// A board as it was read.
#[derive(Debug, Clone, PartialEq)]
pub struct Readings {
    /// The readings, stations growing; a station may be read again later.
    pub readings: Vec<Reading>,
    /// The file they stand in, where they are not listed in the document.
    pub file: Option<ReadingsFile>,
    /// What the heights were measured from.
    pub datum: Datum,
    /// Along what the stations were measured.
    pub along: StationsAlong,
    /// Where they are counted from.
    pub origin: Origin,
    /// Standard deviation of one height, mm, where the shop knows it.
    pub error_mm: Option<f64>,
    /// How smooth the curve through them is to be.
    pub smoothing: Smoothing,
    /// Numbers of the readings (from 0) that are listed but not used.
    pub excluded: Vec<usize>,
}

impl Readings {
    /// Indices of the readings that are not excluded.
    pub(crate) fn listed(&self) -> Vec<usize> {
        (0..self.readings.len()).filter(|i| !self.excluded.contains(i)).collect()
    }
}
