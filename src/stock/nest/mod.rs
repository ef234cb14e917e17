//! Laying parts out on sheets.
//!
//! Every part is seen as one stretch of height over each place along the sheet: its outline's lowest and highest point
//! there. Parts are dropped one after another onto what lies already, in the place and the way round that wastes least,
//! many times in shaken orders; the best sheet is kept. Curved ribs so settle into each other's hollows.

mod profile;
mod sheet;

use std::f64::consts::FRAC_PI_2;

use kurbo::{Rect, Vec2};

use crate::drawing::{Contour, Placement};
use crate::job::{Grain, Nesting, SheetStock};
use profile::Profile;
use sheet::{Field, Lying};

/// A part on a sheet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Placed {
    /// Index in the list of outlines.
    pub part: usize,
    /// Where it lies: from its own coordinates to the sheet's, which begin in the sheet's lower left corner and run
    /// along its length and its width.
    pub placement: Placement,
}

/// A sheet with what is cut from it.
#[derive(Debug, Clone, PartialEq)]
pub struct NestedSheet {
    /// Index in the stock.
    pub stock: usize,
    /// The parts on it.
    pub placed: Vec<Placed>,
    /// Area of the parts over the area of the sheet.
    pub utilisation: f64,
}

/// Parts laid out on sheets.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Nest {
    /// The sheets, in the order in which they were filled.
    pub sheets: Vec<NestedSheet>,
    /// Parts that fit no sheet.
    pub too_large: Vec<usize>,
    /// Parts for which there are not enough sheets.
    pub left_over: Vec<usize>,
}

/// One way round in which a part may lie.
#[derive(Debug, Clone)]
struct Way {
    quarter: usize,
    mirrored: bool,
    profile: Profile,
}

/// Lays out closed outlines on sheets. A sheet that takes all that is left is taken if there is one, the smallest such;
/// otherwise the one that is used best.
///
/// Outlines keep the gap from each other and the margin from the edge: arcs are flattened so finely, and each column of
/// the profiles is bounded so, that they can only come out larger.
pub fn nest(outlines: &[&Contour], stock: &[SheetStock], rules: &Nesting) -> Nest {
    let mut quantity: Vec<usize> = stock.iter().map(|s| s.quantity.unwrap_or(usize::MAX)).collect();
    let kinds = kinds(outlines);
    let mut left: Vec<usize> = (0..outlines.len()).collect();
    let mut nest = Nest::default();
    // What each sheet takes of the parts that are left; found anew when they change.
    while !left.is_empty() {
        let tried: Vec<NestedSheet> = (0..stock.len())
            .filter(|s| quantity[*s] > 0)
            .map(|s| one_sheet(outlines, &kinds, &left, s, &stock[s], rules))
            .collect();
        let area = |s: &NestedSheet| stock[s.stock].length_mm * stock[s.stock].width_mm;
        let whole = tried.iter().filter(|s| s.placed.len() == left.len()).min_by(|a, b| area(a).total_cmp(&area(b)));
        let fullest = || tried.iter().max_by(|a, b| a.utilisation.total_cmp(&b.utilisation));
        let Some(chosen) = whole.or_else(fullest).filter(|s| !s.placed.is_empty()) else { break };
        quantity[chosen.stock] -= 1;
        left.retain(|i| chosen.placed.iter().all(|p| p.part != *i));
        nest.sheets.push(chosen.clone());
    }
    let fits_none = |part: &usize| {
        stock
            .iter()
            .enumerate()
            .all(|(s, sheet)| one_sheet(outlines, &kinds, &[*part], s, sheet, rules).placed.is_empty())
    };
    (nest.too_large, nest.left_over) = left.into_iter().partition(fits_none);
    nest
}

/// For each outline the first one of the same shape.
fn kinds(outlines: &[&Contour]) -> Vec<usize> {
    let same = |a: &Contour, b: &Contour| {
        let shift = b.bounds().origin() - a.bounds().origin();
        a.vertices().len() == b.vertices().len()
            && a.vertices()
                .iter()
                .zip(b.vertices())
                .all(|(p, q)| (p.bulge - q.bulge).abs() < 1e-12 && (p.point + shift).distance(q.point) < 1e-9)
    };
    (0..outlines.len()).map(|i| (0..i).find(|j| same(outlines[*j], outlines[i])).unwrap_or(i)).collect()
}

/// Fills one sheet with as much as possible of the parts `left`, dropping along its width and along its length.
fn one_sheet(
    outlines: &[&Contour],
    kinds: &[usize],
    left: &[usize],
    index: usize,
    stock: &SheetStock,
    rules: &Nesting,
) -> NestedSheet {
    let usable = (stock.length_mm - 2.0 * rules.margin_mm, stock.width_mm - 2.0 * rules.margin_mm);
    let areas: Vec<f64> = left.iter().map(|i| outlines[*i].signed_area_mm2().abs()).collect();
    let mut best: Option<(f64, Vec<Placed>)> = None;
    for across in [false, true] {
        let (length, width) = if across { (usable.1, usable.0) } else { usable };
        if length <= 0.0 || width <= 0.0 {
            continue;
        }
        let field = Field::new(length, width);
        let mut ways: Vec<(usize, Vec<Way>)> = Vec::new();
        for i in left.iter().map(|i| kinds[*i]) {
            if ways.iter().all(|(kind, _)| *kind != i) {
                ways.push((i, ways_round(outlines[i], stock.grain, rules, across, &field)));
            }
        }
        let of_kind: Vec<usize> =
            left.iter().map(|i| ways.iter().position(|(kind, _)| *kind == kinds[*i]).unwrap_or(0)).collect();
        let profiles: Vec<Vec<&Profile>> = ways.iter().map(|(_, w)| w.iter().map(|w| &w.profile).collect()).collect();
        let lying = sheet::fill(&field, &profiles, &of_kind, &areas);
        let area: f64 = lying.iter().map(|l| areas[l.part]).sum();
        if best.as_ref().is_none_or(|(most, _)| area > *most) {
            let on_sheet = |l: &Lying| {
                let way = &ways[of_kind[l.part]].1[l.way];
                let corner = if across {
                    Vec2::new(
                        rules.margin_mm + l.y_mm,
                        stock.width_mm - rules.margin_mm - l.x_mm - way.profile.length_mm,
                    )
                } else {
                    Vec2::new(rules.margin_mm + l.x_mm, rules.margin_mm + l.y_mm)
                };
                let part = left[l.part];
                Placed { part, placement: at_corner(outlines[part], way, corner) }
            };
            let done = lying.len() == left.len();
            best = Some((area, lying.iter().map(on_sheet).collect()));
            if done {
                break;
            }
        }
    }
    let (area, placed) = best.unwrap_or_default();
    NestedSheet { stock: index, placed, utilisation: area / (stock.length_mm * stock.width_mm) }
}

/// The ways round that grain and rules allow, each once. Where parts are dropped across the sheet, profiles are those
/// of the parts turned a quarter further.
fn ways_round(outline: &Contour, grain: Grain, rules: &Nesting, across: bool, field: &Field) -> Vec<Way> {
    let (lengthwise, crosswise) = match (grain, rules.grain) {
        (Grain::Free, _) | (_, Grain::Free) => (true, true),
        (sheet, part) => (sheet == part, sheet != part),
    };
    let mut ways: Vec<Way> = Vec::new();
    for mirrored in [false, true] {
        for quarter in 0..4 {
            let allowed = if quarter % 2 == 0 { lengthwise } else { crosswise };
            if !allowed || (quarter >= 2 && !rules.turn) || (mirrored && !rules.mirror) {
                continue;
            }
            let turned = outline.placed(&turn(quarter + usize::from(across), mirrored));
            let profile = Profile::new(&turned, rules.gap_mm, field.step_mm());
            if profile.length_mm > field.length_mm() || profile.height_mm > field.width_mm() {
                continue;
            }
            if ways.iter().all(|w| w.profile != profile) {
                ways.push(Way { quarter, mirrored, profile });
            }
        }
    }
    ways
}

fn turn(quarter: usize, mirrored: bool) -> Placement {
    Placement { mirrored, turn_rad: FRAC_PI_2 * (quarter % 4) as f64, shift: Vec2::ZERO }
}

/// The placement that brings the corner of the outline's box to a point.
fn at_corner(outline: &Contour, way: &Way, corner: Vec2) -> Placement {
    let turned = turn(way.quarter, way.mirrored);
    let bounds: Rect = outline.placed(&turned).bounds();
    Placement { shift: corner - bounds.origin().to_vec2(), ..turned }
}
