//! Filling one sheet: parts are dropped on what lies there.

use super::profile::Profile;
use crate::numeric::Random;

/// Columns of a sheet: more fit parts closer and take longer with the square.
const COLUMNS: f64 = 600.0;
/// Narrowest column, mm.
const NARROWEST_MM: f64 = 1.0;
/// Places along the sheet that are tried for a part; the first is shifted at random.
const PLACES: usize = 48;
/// Columns looked at while one sheet is filled again and again: some 45 ms; more finds little more.
const MOST_WORK: usize = 30_000_000;
/// Parts up to which a sheet is given all that work; with more there are more sheets to fill.
const MANY_PARTS: usize = 40;
/// Fillings of one sheet at most.
const MOST_ROUNDS: usize = 400;
/// A sheet that takes all parts is good enough once so many more fillings have left no wider strip of it whole.
const IDLE_ROUNDS: usize = 12;
/// Areas that differ by less, as a part of their size, are those of the same parts added in another order.
const SAME_AREA: f64 = 1e-9;
/// Seed of the shaking.
const SEED: u64 = 5;

/// The usable part of a sheet, cut into columns.
#[derive(Debug, Clone, Copy)]
pub(super) struct Field {
    length_mm: f64,
    width_mm: f64,
    step_mm: f64,
    columns: usize,
}

impl Field {
    /// A field that parts are dropped into along its width.
    pub(super) fn new(length_mm: f64, width_mm: f64) -> Self {
        let step_mm = (length_mm / COLUMNS).max(NARROWEST_MM);
        Self { length_mm, width_mm, step_mm, columns: (length_mm / step_mm).ceil() as usize + 1 }
    }

    /// Along the columns, mm.
    pub(super) fn length_mm(&self) -> f64 {
        self.length_mm
    }

    /// Along the drop, mm.
    pub(super) fn width_mm(&self) -> f64 {
        self.width_mm
    }

    /// Width of a column, mm.
    pub(super) fn step_mm(&self) -> f64 {
        self.step_mm
    }
}

/// A part in the field.
#[derive(Debug, Clone, Copy)]
pub(super) struct Lying {
    /// Index of the part.
    pub(super) part: usize,
    /// Index of the way round.
    pub(super) way: usize,
    /// Left end of its box, mm.
    pub(super) x_mm: f64,
    /// Lower end of its box, mm.
    pub(super) y_mm: f64,
}

/// How one filling goes about it.
struct FillWeights {
    /// Weight of the height that is reached against the room that is shut off.
    height: f64,
    /// How far each choice is shaken.
    shaken: f64,
    /// Where the first place along the sheet is, as a part of the distance between places.
    phase: f64,
    /// Whether a filling that leaves parts out is of no use.
    all: bool,
}

/// Parts by their kinds, and the profiles of each kind's ways round.
struct Parts<'a> {
    ways: &'a [Vec<&'a Profile>],
    of_kind: &'a [usize],
}

/// Fills the field with parts of the kinds `of_kind`, each kind with the profiles of its ways round; the filling with
/// the largest area of parts.
pub(super) fn fill(field: &Field, ways: &[Vec<&Profile>], of_kind: &[usize], areas: &[f64]) -> Vec<Lying> {
    let mut random = Random::new(SEED);
    let mut order: Vec<usize> = (0..of_kind.len()).collect();
    let largest = |i: &usize| ways[of_kind[*i]].iter().map(|p| p.length_mm.max(p.height_mm)).fold(0.0, f64::max);
    order.sort_by(|a, b| largest(b).total_cmp(&largest(a)).then(areas[*b].total_cmp(&areas[*a])).then(a.cmp(b)));
    let (mut best, mut most, mut lowest, mut since) = (Vec::new(), 0.0, f64::INFINITY, 0);
    let most_work = MOST_WORK / of_kind.len().div_ceil(MANY_PARTS).max(1);
    let mut work = 0;
    for round in 0..MOST_ROUNDS {
        // Once all parts lie, only lower layouts are of use: there is no need to look above.
        let all = best.len() == of_kind.len();
        let room = Field { width_mm: if all { lowest } else { field.width_mm }, ..*field };
        let taste = if round == 0 {
            FillWeights { height: 1.0, shaken: 0.0, phase: 0.0, all }
        } else {
            FillWeights { height: 2.0 * random.uniform(), shaken: 0.3 * random.uniform(), phase: random.uniform(), all }
        };
        let mut shaken = order.clone();
        if round > 0 {
            // Neighbours change places; large parts still come before small ones.
            for _ in 0..order.len() {
                let i = random.below(order.len().saturating_sub(1));
                if i + 1 < shaken.len() && random.uniform() < 0.5 {
                    shaken.swap(i, i + 1);
                }
            }
        }
        let (lying, looked_at) = once(&room, &Parts { ways, of_kind }, &shaken, &taste, &mut random);
        work += looked_at;
        let area: f64 = lying.iter().map(|l| areas[l.part]).sum();
        let reached = |l: &Lying| l.y_mm + ways[of_kind[l.part]][l.way].height_mm;
        let height = lying.iter().map(reached).fold(0.0, f64::max);
        // Of the same parts the layout that leaves the widest strip of the sheet whole.
        let more = area - most;
        if more > SAME_AREA * most || (more.abs() <= SAME_AREA * most && height < lowest) {
            (best, most, lowest, since) = (lying, area, height, round);
        }
        let enough = best.len() == of_kind.len() && (best.len() == 1 || round >= since + IDLE_ROUNDS);
        if enough || work > most_work {
            break;
        }
    }
    best
}

/// One filling in the given order, and the columns that were looked at.
fn once(
    field: &Field,
    parts: &Parts<'_>,
    order: &[usize],
    taste: &FillWeights,
    random: &mut Random,
) -> (Vec<Lying>, usize) {
    let Parts { ways, of_kind } = parts;
    let mut top = vec![f64::NEG_INFINITY; field.columns];
    let (mut lying, mut looked_at) = (Vec::new(), 0);
    // What did not fit once does not fit later.
    let mut refused = vec![false; ways.len()];
    for &part in order {
        let kind = of_kind[part];
        if refused[kind] {
            continue;
        }
        let mut best: Option<(f64, Lying, usize)> = None;
        for (way, profile) in ways[kind].iter().enumerate() {
            let last = ((field.length_mm - profile.length_mm) / field.step_mm).floor().max(0.0) as usize;
            let stride = last.div_ceil(PLACES).max(1);
            let first = (taste.phase * stride as f64) as usize;
            let between = (first..last).step_by(stride);
            for column in std::iter::once(0).chain(between).chain(std::iter::once(last)) {
                looked_at += profile.low.len();
                let Some(fall) = Fall::new(&top, profile, column, field) else { continue };
                let reached = taste.height * (fall.y_mm + profile.height_mm) * profile.length_mm;
                let shake = 1.0 + taste.shaken * (random.uniform() - 0.5);
                let least = best.as_ref().map_or(f64::INFINITY, |b| b.0);
                // Room shut off only makes it worse.
                if reached * shake >= least {
                    continue;
                }
                let score = (reached + fall.shut_off_mm2(field)) * shake;
                if score < least {
                    let x_mm = column as f64 * field.step_mm;
                    best = Some((score, Lying { part, way, x_mm, y_mm: fall.y_mm }, column));
                }
            }
        }
        let Some((_, chosen, column)) = best else {
            if taste.all {
                break;
            }
            refused[kind] = true;
            continue;
        };
        let profile = ways[kind][chosen.way];
        debug_assert!((0.0..=field.width_mm - profile.height_mm).contains(&chosen.y_mm), "{chosen:?}");
        for (cell, high) in top[column..].iter_mut().zip(&profile.high) {
            *cell = cell.max(chosen.y_mm + high);
        }
        lying.push(chosen);
    }
    (lying, looked_at)
}

/// A part let down with its beginning at a column.
struct Fall<'a> {
    /// How low it comes to lie, mm.
    y_mm: f64,
    height_mm: f64,
    below: &'a [f64],
    low: &'a [f64],
}

/// Columns that are looked at side by side: what the processor has registers for.
const LANES: usize = 8;

impl<'a> Fall<'a> {
    /// `None` where the part reaches beyond the field.
    fn new(top: &'a [f64], profile: &'a Profile, column: usize, field: &Field) -> Option<Self> {
        // Where the gap reaches beyond the field's beginning, nothing lies.
        let skipped = profile.before.saturating_sub(column);
        let from = column + skipped - profile.before;
        let low = &profile.low[skipped..];
        let below = &top[from..(from + low.len()).min(top.len())];
        let low = &low[..below.len()];
        let mut highest = [0.0; LANES];
        let room = field.width_mm - profile.height_mm;
        let (tops, lows) = (below.as_chunks::<LANES>(), low.as_chunks::<LANES>());
        for (tops, lows) in tops.0.iter().zip(lows.0) {
            for i in 0..LANES {
                highest[i] = larger(highest[i], tops[i] - lows[i]);
            }
        }
        for (t, l) in tops.1.iter().zip(lows.1) {
            highest[0] = larger(highest[0], t - l);
        }
        let y_mm = highest.into_iter().fold(0.0, larger);
        (y_mm <= room).then_some(Self { y_mm, height_mm: profile.height_mm, below, low })
    }

    /// The area below it that it shuts off.
    fn shut_off_mm2(&self, field: &Field) -> f64 {
        let mut sums = [0.0; LANES];
        let below = |t: f64, l: f64| larger(self.y_mm + smaller(l, self.height_mm) - larger(t, 0.0), 0.0);
        let (tops, lows) = (self.below.as_chunks::<LANES>(), self.low.as_chunks::<LANES>());
        for (tops, lows) in tops.0.iter().zip(lows.0) {
            for i in 0..LANES {
                sums[i] += below(tops[i], lows[i]);
            }
        }
        for (t, l) in tops.1.iter().zip(lows.1) {
            sums[0] += below(*t, *l);
        }
        sums.iter().sum::<f64>() * field.step_mm
    }
}

/// The larger of two numbers, neither of which is NaN: one instruction, where `f64::max` takes several.
#[inline]
fn larger(a: f64, b: f64) -> f64 {
    if a > b { a } else { b }
}

/// The smaller of two, likewise.
#[inline]
fn smaller(a: f64, b: f64) -> f64 {
    if a < b { a } else { b }
}
