//! Film, breather, bag and sealant tape of one pressing, and the land that the tape needs.

use super::record::Jig;
use crate::job::{Below, Board, Frame, Hold, Table};
use crate::table::width_over_all_mm;

/// Release film and breather beyond the blank on every side, where the table has room, mm (common practice, no source).
pub(crate) const FILM_BEYOND_MM: f64 = 50.0;
/// Film beyond the blank that a narrow table keeps for the resin that is squeezed out, before the land gets its full
/// width, mm (common practice, no source).
const LEAST_FILM_BEYOND_MM: f64 = 10.0;
/// Width of a good land for sealant tape and the edge of the bag, mm (common practice, no source).
pub(crate) const LAND_MM: f64 = 30.0;
/// Width of usual sealant tape, mm (half an inch; common practice, no source).
pub(crate) const TAPE_WIDTH_MM: f64 = 12.7;
/// Part of the bag's length and width that is left slack, so that it can follow the curve (common practice, no source).
pub(crate) const BAG_SLACK: f64 = 0.1;
/// Part of the tape's length that pleats take (common practice, no source).
pub(crate) const PLEATS: f64 = 0.15;

/// Step along the surface at which its height is looked at, mm: far finer than the slack of a bag.
const HEIGHT_STEP_MM: f64 = 20.0;

/// A sheet material cut to one size.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SheetSize {
    /// Length along the board, mm.
    pub length_mm: f64,
    /// Width across it, mm.
    pub width_mm: f64,
    /// How many of this size.
    pub pieces: usize,
}

/// What a vacuum bag needs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bagging {
    /// Breather over the stack.
    pub breather: SheetSize,
    /// The bag: one sheet sealed to the table, or two sealed to each other around it.
    pub bag: SheetSize,
    /// Length of sealant tape, pleats included, mm.
    pub tape_mm: f64,
    /// Width of the strip along all edges of the table that is kept clean for the tape, mm; 0 where the whole table lies
    /// in the bag, which is then sealed to itself.
    pub land_mm: f64,
    /// Whether the whole table lies in the bag.
    pub around_table: bool,
}

/// What one pressing uses up, apart from layers and resin.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Consumables {
    /// Size of the blanks before trimming, one for each board.
    pub blank: SheetSize,
    /// Release film, under and over the stack.
    pub film: SheetSize,
    /// What the bag needs, where one presses.
    pub bagging: Option<Bagging>,
}

impl Consumables {
    /// Sizes for boards whose blanks have this length (flat, mm) on a table.
    pub fn new(jig: &Jig, table: &Table, hold: &Hold, blank_mm: f64, board: &Board) -> Self {
        let piece = |length_mm: f64, width_mm: f64, pieces: usize| SheetSize { length_mm, width_mm, pieces };
        let trimmed_mm = 2.0 * Board::SIDE_TRIM_MM;
        let blank = piece(blank_mm, board.width_mm + trimmed_mm, board.count);
        let blanks_wide = width_over_all_mm(board) + trimmed_mm;
        let (long, wide) = (jig.surface.curvature().length_mm(), jig.width_mm);
        let around_table = match hold {
            Hold::Vacuum { below: Below::Vacuum, .. } => !is_box(&table.frame),
            _ => false,
        };
        let margin_mm = 0.5 * (long - blank.length_mm).min(wide - blanks_wide);
        let land_mm = match hold {
            Hold::Vacuum { .. } if !around_table => (margin_mm - LEAST_FILM_BEYOND_MM).clamp(0.0, LAND_MM),
            _ => 0.0,
        };
        let within = |blank: f64, table: f64| (blank + 2.0 * FILM_BEYOND_MM).min(table - 2.0 * land_mm);
        let (film_length, film_width) = (within(blank.length_mm, long), within(blanks_wide, wide));
        let bagging = matches!(hold, Hold::Vacuum { .. }).then(|| {
            // Around the whole table, half of its girth; the edges of both sheets are sealed to each other.
            let (tall, seam, pieces) = if around_table { (height_mm(jig), LAND_MM, 2) } else { (0.0, 0.0, 1) };
            let slack = |mm: f64| (mm + tall) * (1.0 + BAG_SLACK) + 2.0 * seam;
            let sealed = if around_table { slack(long) + slack(wide) } else { long + wide };
            Bagging {
                breather: piece(film_length, film_width, 1),
                bag: piece(slack(long), slack(wide), pieces),
                tape_mm: 2.0 * sealed * (1.0 + PLEATS),
                land_mm,
                around_table,
            }
        });
        Self { blank, film: piece(film_length, film_width, 2), bagging }
    }
}

/// Whether panels close the frame, so that it can be pumped and the bag sealed to its skin.
fn is_box(frame: &Frame) -> bool {
    match frame {
        Frame::Ribs(ribs) => ribs.panels.is_some_and(|p| p.end_thickness_mm.is_some() && p.base_thickness_mm.is_some()),
        Frame::Bearers(_) => false,
    }
}

/// Height of the whole table from the floor to the highest place of its surface, mm.
fn height_mm(jig: &Jig) -> f64 {
    let base_mm = jig.panels.iter().filter(|p| p.id == "base").map(|p| p.thickness_mm).fold(0.0, f64::max);
    let rise_mm = jig.across.rise_mm(jig.across.deepest_mm(), 0.5 * jig.width_mm, 0.0).max(0.0);
    let highest_mm = jig.surface.samples(HEIGHT_STEP_MM).iter().map(|p| p.point.y).fold(0.0, f64::max);
    base_mm + rise_mm + highest_mm
}
