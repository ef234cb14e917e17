//! Parts on sheets and pieces off bars.

use std::collections::BTreeSet;

use super::bars::{BarCuts, Cuts};
use super::cutting::{CuttingError, cut};
use super::machine;
use super::nest::{NestedSheet, nest};
use super::set_ups::{self, SetUp, Stretch};
use crate::codes;
use crate::drawing::Contour;
use crate::finding::{Fault, Faults, Finding, Held, Verdict};
use crate::jig::{FlatPart, Jig};
use crate::job::{Job, SheetStock};
use crate::units::{Quantity, phrase};

/// Sheets differ from the parts' thickness by no more than this, mm: as measured, both.
const SAME_THICKNESS_MM: f64 = 0.1;

/// What is cut from what.
#[derive(Debug, Clone, PartialEq)]
pub struct Layout {
    /// Parts that are cut from flat stock.
    pub parts: Vec<FlatPart>,
    /// The sheets that they lie on, none where the shop lists no stock.
    pub sheets: Vec<Sheet>,
    /// Cuts off bars.
    pub cuts: Vec<Cuts>,
    /// What has to be said about it.
    pub findings: Vec<Finding>,
}

/// A sheet with the parts that it is cut into.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    /// Number, 1 first.
    pub number: usize,
    /// What it is cut from.
    pub stock: SheetStock,
    /// Thickness of its parts, mm.
    pub thickness_mm: f64,
    /// Where it lies on a sheet that is larger than the bed; it is then itself but a stretch of that sheet.
    pub set_up: Option<SetUp>,
    /// Where which part lies; parts are indices in the list of flat parts.
    pub nested: NestedSheet,
}

impl Sheet {
    /// The kind of sheet and which one of that kind it is or is cut from.
    fn cut_from(&self) -> (usize, usize) {
        (self.nested.stock, self.set_up.as_ref().map_or(self.number, |s| s.sheet))
    }

    /// Name of its files, without the ending.
    pub(crate) fn file_name(&self) -> String {
        format!("sheet-{:02}", self.number)
    }
}

/// How many sheets of stock these are cut from: all stretches of one count once.
pub(crate) fn stock_sheets<'s>(sheets: impl IntoIterator<Item = &'s Sheet>) -> usize {
    sheets.into_iter().map(Sheet::cut_from).collect::<BTreeSet<_>>().len()
}

/// Lays parts on sheets and pieces on bars, as far as the shop lists stock; `told` hears how many of how many parts lie.
///
/// # Errors
/// Parts and pieces that fit none of the stock.
pub(crate) fn lay_out(job: &Job, jig: &Jig, told: &dyn Fn(usize, usize)) -> Result<Layout, Faults> {
    let mut faults = Faults::default();
    let mut made = Layout { parts: jig.flat_parts(), sheets: Vec::new(), cuts: Vec::new(), findings: Vec::new() };
    if !job.stock.sheets.is_empty() {
        on_sheets(job, &mut made, &mut faults, told);
    }
    made.findings.extend(machine::findings(job, &made.parts));
    for of in BarCuts::of(job, jig) {
        match cut(&of.pieces, &of.stock) {
            Ok(plan) => made.cuts.push(Cuts { of, plan }),
            Err(CuttingError::TooLong { piece, longest_mm }) => faults.push(codes::PIECE_EXCEEDS_BAR.at(
                format!("bars.{}.stock", of.what),
                phrase!(
                    "a {} is {} long; the longest bar yields {}.",
                    &of.pieces[piece].label,
                    Quantity::exact(of.pieces[piece].length_mm),
                    Quantity::exact(longest_mm)
                ),
            )),
            Err(CuttingError::NotEnough { certain }) => made.findings.push(codes::BARS_SHORT.verdict(
                phrase!(
                    "{}: {}",
                    of.what,
                    if certain {
                        "the bars are not enough, so there is no cutting plan"
                    } else {
                        "the bars do not suffice by any of many plans of cuts that were tried"
                    }
                ),
                Verdict::Watch,
            )),
        }
    }
    faults.or(made)
}

/// Nests the parts of each thickness on the sheets that are for it.
fn on_sheets(job: &Job, made: &mut Layout, faults: &mut Faults, told: &dyn Fn(usize, usize)) {
    let kinds = job.stock.sheets.iter().enumerate();
    let mut stock: Vec<Stretch> =
        kinds.flat_map(|(kind, sheet)| set_ups::stretches(kind, sheet, job.machine.as_ref())).collect();
    let rules = set_ups::rules(&job.stock.nesting, &stock);
    let mut left: Vec<usize> = (0..made.parts.len()).filter(|i| made.parts[*i].part.outline().is_some()).collect();
    while let Some(first) = left.first() {
        let thickness_mm = made.parts[*first].thickness_mm;
        let (group, others): (Vec<usize>, Vec<usize>) =
            left.iter().partition(|i| (made.parts[**i].thickness_mm - thickness_mm).abs() < 1e-6);
        left = others;
        let fitting: Vec<usize> = (0..stock.len())
            .filter(|s| stock[*s].stock.thickness_mm.is_none_or(|t| (t - thickness_mm).abs() <= SAME_THICKNESS_MM))
            .filter(|s| stock[*s].stock.quantity != Some(0))
            .collect();
        if fitting.is_empty() {
            // The shop lists nothing of this thickness: it lays these parts out itself.
            continue;
        }
        let sheets: Vec<SheetStock> = fitting.iter().map(|s| stock[*s].stock.clone()).collect();
        let outlines: Vec<&Contour> = group.iter().filter_map(|i| made.parts[*i].part.outline()).collect();
        told(made.parts.len() - left.len() - group.len(), made.parts.len());
        let nested = nest(&outlines, &sheets, &rules);
        // What only the bed is too small for is left to the shop, as is what no sheet is listed for.
        let whole: Vec<SheetStock> = fitting.iter().map(|s| job.stock.sheets[stock[*s].kind].clone()).collect();
        let fits_whole = |i: &usize| nest(&[outlines[*i]], &whole, &job.stock.nesting).too_large.is_empty();
        let (left_out, too_large): (Vec<usize>, Vec<usize>) =
            nested.too_large.iter().partition(|i| job.machine.is_some() && fits_whole(i));
        faults.extend(too_large.first().map(|i| too_large_fault(&made.parts[group[*i]], outlines[*i])));
        made.findings.extend(left_out.first().map(|i| machine::left_out(&made.parts[group[*i]].part, left_out.len())));
        if !nested.left_over.is_empty() {
            made.findings.push(short(nested.left_over.len(), thickness_mm));
        }
        let first = made.sheets.len();
        for mut nested in nested.sheets {
            let number = made.sheets.len() + 1;
            let stretch = &mut stock[fitting[nested.stock]];
            nested.placed.iter_mut().for_each(|p| p.part = group[p.part]);
            nested.stock = stretch.kind;
            let set_up = stretch.fill();
            let (length_mm, width_mm) = (stretch.stock.length_mm, stretch.stock.width_mm);
            let stock = SheetStock { length_mm, width_mm, ..job.stock.sheets[stretch.kind].clone() };
            made.sheets.push(Sheet { number, stock, thickness_mm, set_up, nested });
        }
        in_order(&mut made.sheets[first..]);
        set_ups::end_sheets(&mut stock);
    }
}

/// Numbers the stretches of a sheet in the order in which it is moved along the bed.
fn in_order(sheets: &mut [Sheet]) {
    let first = sheets.first().map_or(1, |s| s.number);
    let place = |s: &Sheet| s.set_up.as_ref().map(|u| (s.nested.stock, u.sheet, u.strip.0, u.stretch.0));
    sheets.sort_by_key(place);
    for (sheet, number) in sheets.iter_mut().zip(first..) {
        sheet.number = number;
    }
}

fn too_large_fault(flat: &FlatPart, outline: &Contour) -> Fault {
    let bounds = outline.bounds();
    codes::PART_EXCEEDS_STOCK.at(
        "stock",
        phrase!(
            "`{}` is {} x {} and fits on no sheet of its thickness.",
            &flat.part.title,
            Quantity::length(bounds.width()),
            Quantity::length(bounds.height())
        ),
    )
}

fn short(count: usize, thickness_mm: f64) -> Finding {
    codes::SHEETS_SHORT.check(
        phrase!("parts {} thick left over when the sheets are full", Quantity::fine(thickness_mm)),
        (Verdict::Watch, Held::at_most(Quantity::count(count as f64), Quantity::count(0.0))),
    )
}
