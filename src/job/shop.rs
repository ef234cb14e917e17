//! Boards that a shop measured, with everything that their calibration is computed from.

use super::{EffectiveLayer, Job, Readings};

/// Maximum number of characters of a label, a remark or another text of a document.
pub const LONGEST_TEXT: usize = 200;

/// Longest time after release at which a board is read, h: a hundred years.
pub(crate) const MOST_HOURS: f64 = 1e6;

/// What a shop keeps of its boards.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Shop {
    /// The boards, oldest first.
    pub boards: Vec<KeptBoard>,
    /// Number of newer boards after which a board counts half; `None` where age does not matter.
    pub halve_after: Option<f64>,
    /// Thicknesses of shim that the shop has, mm.
    pub shims_mm: Vec<f64>,
}

impl KeptBoard {
    /// Whether it was pressed for this job, in this or an earlier version.
    pub(crate) fn is_of(&self, job: &Job) -> bool {
        self.job_hash == job.hash || (!self.job_title.is_empty() && self.job_title == job.title)
    }
}

impl Shop {
    /// The boards that are learned from, oldest first: of each board the last of its readings that are not left out.
    pub(crate) fn counted(&self) -> impl Iterator<Item = &KeptBoard> {
        let firsts: Vec<usize> = (0..self.boards.len()).map(|i| self.first_readings(i)).collect();
        let last = move |i: usize| {
            let later = |j: usize| firsts[j] == firsts[i] && !self.boards[j].left_out;
            !self.boards[i].left_out && !(i + 1..self.boards.len()).any(later)
        };
        self.boards.iter().enumerate().filter(move |(i, _)| last(*i)).map(|(_, b)| b)
    }

    /// Number of the entry with the first readings of the same board.
    fn first_readings(&self, entry: usize) -> usize {
        let mut first = entry;
        // Readings refer to earlier ones; a file that was changed by hand may hold a circle.
        for _ in 0..self.boards.len() {
            let earlier = self.boards[first].again_of.as_ref();
            match earlier.and_then(|label| self.boards.iter().position(|b| b.label == *label)) {
                Some(before) if before < first => first = before,
                _ => break,
            }
        }
        first
    }
}

/// One board that was pressed and measured.
#[derive(Debug, Clone, PartialEq)]
pub struct KeptBoard {
    /// What the shop calls it.
    pub label: String,
    /// When it was measured, year-month-day, where the shop said.
    pub date: Option<String>,
    /// What else the shop wants to remember: temperature, hours on the table, how long after release.
    pub remark: Option<String>,
    /// Hours after release at which it was read, where the shop said; a day otherwise.
    pub hours_after_release: Option<f64>,
    /// Whether it is kept but not learned from.
    pub left_out: bool,
    /// The label of the board whose later readings these are: they count in place of the earlier ones.
    pub again_of: Option<String>,
    /// SHA-256 of the job that it was pressed for, in hexadecimal.
    pub job_hash: String,
    /// Title of that job; empty where the file does not hold it.
    pub job_title: String,
    /// How it was pressed.
    pub pressed: PressedAs,
    /// Heights read off it after release.
    pub readings: Readings,
}

/// Stack, table and load as they were.
#[derive(Debug, Clone, PartialEq)]
pub struct PressedAs {
    /// Layers from base to deck, with their moduli in the press.
    pub layers: Vec<EffectiveLayer>,
    /// How much warmer than the room the glue set, K.
    pub cure_above_room_k: f64,
    /// Curvature of the table's surface over its arc length: nodes (mm, 1/mm) with straight lines between them, two at one
    /// place for a jump.
    pub table: Vec<(f64, f64)>,
    /// Name of that surface, the same for boards that were pressed on one table; empty where the file does not hold it.
    pub table_id: String,
    /// Heights that the table was measured with, where it was: stations straight along it and heights, mm.
    pub table_heights_mm: Vec<(f64, f64)>,
    /// Ends (tail, tip) of the blank, mm from the middle of the board.
    pub blank_mm: (f64, f64),
    /// Ends (tail, tip) of the finished board along its base, mm.
    pub finished_mm: (f64, f64),
    /// Pressure all over the blank, MPa.
    pub pressure_mpa: f64,
    /// Forces across the width: place on the blank, mm, and force per width, N/mm.
    pub forces: Vec<(f64, f64)>,
    /// Bending stiffness of a caul on the stack, N mm.
    pub caul_stiffness_n_mm: f64,
    /// Whether a matching form held the stack down everywhere.
    pub matched: bool,
}
