//! From an existing table to the target table: what to add at each station.

use crate::curve::{Curve, PlaneCurve};
use crate::numeric::max_abs;

/// How a table may be corrected.
#[derive(Debug, Clone, PartialEq)]
pub struct ShimOptions {
    /// Thicknesses of shim that the shop has, mm, each in any number; with none, exact thicknesses are listed.
    pub thicknesses_mm: Vec<f64>,
    /// Whether wood may be planed off too.
    pub planing: bool,
    /// Whether shims lie square to the surface, as under a skin, or upright, as under bearers.
    pub square: bool,
    /// Most that the curvature of what rounding leaves over may be at a station, 1/mm.
    pub most_kink_per_mm: f64,
}

/// What to do at one station.
#[derive(Debug, Clone, PartialEq)]
pub struct Shim {
    /// Place along the table, straight from the middle of the board, mm.
    pub x_mm: f64,
    /// Height of an existing table above its lowest place, mm.
    pub built_mm: f64,
    /// Height of the wanted table at that place, over the same level, mm.
    pub wanted_mm: f64,
    /// What is to be added, mm; negative where it is to be planed off.
    pub needed_mm: f64,
    /// Shims that it is made of, the thickest first, mm.
    pub pieces_mm: Vec<f64>,
    /// What is added or planed off less what is needed, mm.
    pub error_mm: f64,
    /// Number in the order of work, 1 first: from the middle outward.
    pub order: usize,
}

/// What to do to a table.
#[derive(Debug, Clone, PartialEq)]
pub struct ShimSchedule {
    /// Stations from tail to tip.
    pub shims: Vec<Shim>,
    /// Largest error that is left, mm.
    pub largest_error_mm: f64,
    /// Largest curvature of what is left over, 1/mm.
    pub kink_per_mm: f64,
    /// The limit that was kept in mind, 1/mm.
    pub most_kink_per_mm: f64,
    /// Whether that keeps to the limit.
    pub is_smooth: bool,
    /// What the shop's shims are too thick or too thin for.
    pub out_of_reach: Option<OutOfReach>,
    /// Thicknesses that it was made of, mm.
    pub thicknesses_mm: Vec<f64>,
    /// Whether these are common ones, proposed because the shop named none.
    pub proposed: bool,
}

/// Why shims do not make the target table.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum OutOfReach {
    /// Six of the thickest are lower than what is needed somewhere: the thinnest shim of which six would do, mm.
    ThickerThan(f64),
    /// What is needed lies too far from any stack of them: the thickest shim that would come near enough, mm.
    ThinnerThan(f64),
    /// More than six of them would be needed somewhere, while a thickness between these two is missing, mm.
    Between(f64, f64),
}

/// Maximum number of shims on each other: more would not lie still (common practice, no source).
const MOST_PIECES: usize = 6;
/// What may be left over at a station, mm: as the error of a board that nobody measures (common practice, no source).
const LEFT_MM: f64 = 0.25;
/// Step at which two surfaces are compared, mm.
const STEP_MM: f64 = 5.0;
/// Stacks of shims that are tried at each station: the nearest ones, none further off than the thinnest shim.
const TRIED: usize = 5;
/// Levels that the whole table is tried at, within the thinnest shim.
const LEVELS: usize = 16;
/// What a shim must take off the error to be worth laying, mm (common practice, no source).
const WORTH_MM: f64 = 0.05;
/// Weight of what goes over the kink's limit against errors in height: far heavier, so that it is kept where it can be.
const OVER_LIMIT_MM2: f64 = 1e4;

/// What turns the table `built` into `wanted` at places along it, both lying with the middle of the board at x = 0.
///
/// A table may stand on its floor at any height and tilt without changing the board; so the level is chosen under which
/// least is to be added and nothing planed off or, where planing is allowed, the squares of both are least. Of the stacks
/// of shims those are chosen that leave the least squares of error with few shims and keep within the kink's limit (dynamic
/// programme over pairs of neighbours).
pub fn shims(built: &Curve, wanted: &Curve, places_mm: &[f64], options: &ShimOptions) -> ShimSchedule {
    let mut x: Vec<f64> = places_mm.to_vec();
    x.sort_by(f64::total_cmp);
    x.dedup_by(|b, a| (*b - *a).abs() < 1e-6);
    let on: Vec<(f64, f64)> = x.iter().map(|x| over(built, *x)).collect();
    let there: Vec<(f64, f64)> = x.iter().map(|x| over(wanted, *x)).collect();
    let apart: Vec<f64> = there.iter().zip(&on).map(|(w, b)| w.0 - b.0).collect();
    let level = if options.planing { least_squares(&x, &apart) } else { from_below(&x, &apart) };
    // Along the normal of the surface that is there, to the wanted one taken as straight: exact for any two slopes.
    let part = |i: usize| if options.square { libm::cos(there[i].1) / libm::cos(on[i].1 - there[i].1) } else { 1.0 };
    let needed: Vec<f64> = (0..x.len()).map(|i| (apart[i] - level.0 - level.1 * x[i]) * part(i)).collect();
    let stacks = stacks_of(&options.thicknesses_mm);
    let thinnest = options.thicknesses_mm.iter().copied().fold(f64::INFINITY, f64::min);
    let levels = if thinnest.is_finite() { LEVELS } else { 1 };
    let chosen = (0..levels)
        .map(|i| {
            let raised = if i == 0 { 0.0 } else { thinnest * i as f64 / LEVELS as f64 };
            let wanted: Vec<f64> = (0..x.len()).map(|i| needed[i] + raised * part(i)).collect();
            let found = choose(&x, &wanted, &stacks, options.most_kink_per_mm);
            (found.0, wanted, found.1)
        })
        .min_by(|a, b| a.0.total_cmp(&b.0));
    let (wanted_mm, picked) = chosen.map_or((Vec::new(), Vec::new()), |c| (c.1, c.2));
    let mut by_distance: Vec<usize> = (0..x.len()).collect();
    by_distance.sort_by(|a, b| x[*a].abs().total_cmp(&x[*b].abs()));
    let shims: Vec<Shim> = (0..x.len())
        .map(|i| Shim {
            x_mm: x[i],
            built_mm: on[i].0,
            wanted_mm: on[i].0 + wanted_mm[i] / part(i),
            needed_mm: wanted_mm[i],
            error_mm: picked[i].sum_mm - wanted_mm[i],
            pieces_mm: picked[i].pieces_mm.clone(),
            order: by_distance.iter().position(|j| *j == i).map_or(0, |p| p + 1),
        })
        .collect();
    let errors: Vec<f64> = shims.iter().map(|s| s.error_mm).collect();
    let kink_per_mm = (2..x.len()).map(|i| kink(&x[i - 2..=i], &errors[i - 2..=i]).abs()).fold(0.0, f64::max);
    let mut schedule = ShimSchedule {
        largest_error_mm: max_abs(errors),
        is_smooth: kink_per_mm <= options.most_kink_per_mm,
        kink_per_mm,
        most_kink_per_mm: options.most_kink_per_mm,
        shims,
        out_of_reach: None,
        thicknesses_mm: options.thicknesses_mm.clone(),
        proposed: false,
    };
    schedule.out_of_reach = out_of_reach(&schedule);
    schedule
}

fn out_of_reach(schedule: &ShimSchedule) -> Option<OutOfReach> {
    let thickest = schedule.thicknesses_mm.iter().copied().reduce(f64::max)?;
    let needed = schedule.shims.iter().map(|s| s.needed_mm).fold(0.0, f64::max);
    if needed > MOST_PIECES as f64 * thickest + LEFT_MM {
        return Some(OutOfReach::ThickerThan(needed / MOST_PIECES as f64));
    }
    let far = schedule.largest_error_mm > LEFT_MM;
    let thinnest = schedule.thicknesses_mm.iter().copied().fold(thickest, f64::min);
    // With any number of these no need would be further than half of one away.
    if far && thinnest <= 2.0 * LEFT_MM && thinnest < thickest {
        return Some(OutOfReach::Between(thinnest, thickest));
    }
    (far || !schedule.is_smooth).then_some(OutOfReach::ThinnerThan((2.0 * LEFT_MM).min(0.5 * thinnest)))
}

/// The largest distance in height of two surfaces between two places straight along them, and where it is, mm. Each may stand
/// at any height and tilt, as in [`shims`]: the difference is counted from its straight line of least squares.
pub(crate) fn surfaces_apart(built: &Curve, wanted: &Curve, (from_mm, to_mm): (f64, f64)) -> Option<(f64, f64)> {
    let length = to_mm - from_mm;
    let steps = (length / STEP_MM).ceil().max(1.0);
    let mut x = Vec::new();
    while (x.len() as f64) <= steps && length > 0.0 {
        x.push(from_mm + length * x.len() as f64 / steps);
    }
    let apart: Vec<f64> = x.iter().map(|x| over(wanted, *x).0 - over(built, *x).0).collect();
    let (at_0, slope) = least_squares(&x, &apart);
    let left = x.iter().zip(&apart).map(|(x, d)| ((d - at_0 - slope * x).abs(), *x));
    left.max_by(|a, b| a.0.total_cmp(&b.0))
}

/// Height above its lowest place, mm, and slope, rad, of a table at a place straight along it.
fn over(table: &Curve, x_mm: f64) -> (f64, f64) {
    let mut s = x_mm;
    // Newton's steps; tables never stand upright, which their design has made sure of.
    for _ in 0..50 {
        let at = table.at(s);
        let step = (x_mm - at.point.x) / libm::cos(at.angle_rad).max(0.1);
        s += step;
        if step.abs() < 1e-9 {
            break;
        }
    }
    let at = table.at(s);
    (at.point.y, at.angle_rad)
}

/// The straight line (height at 0, slope) of least squares.
fn least_squares(x: &[f64], y: &[f64]) -> (f64, f64) {
    let n = x.len().max(1) as f64;
    let (mx, my) = (x.iter().sum::<f64>() / n, y.iter().sum::<f64>() / n);
    let xx: f64 = x.iter().map(|x| (x - mx).powi(2)).sum();
    let xy: f64 = x.iter().zip(y).map(|(x, y)| (x - mx) * (y - my)).sum();
    let slope = if xx > 0.0 { xy / xx } else { 0.0 };
    (my - slope * mx, slope)
}

/// The straight line that nowhere lies over the points and leaves the least sum over it: the edge of their lower convex
/// hull below the mean place.
fn from_below(x: &[f64], y: &[f64]) -> (f64, f64) {
    let mut hull: Vec<usize> = Vec::new();
    for i in 0..x.len() {
        while let [.., a, b] = hull[..] {
            let turns = (x[b] - x[a]) * (y[i] - y[a]) - (y[b] - y[a]) * (x[i] - x[a]);
            if turns > 0.0 {
                break;
            }
            hull.pop();
        }
        hull.push(i);
    }
    let mean = x.iter().sum::<f64>() / x.len().max(1) as f64;
    let slope = |w: &[usize]| (y[w[1]] - y[w[0]]) / (x[w[1]] - x[w[0]]);
    // On a corner of the hull any slope between its edges will do: the least tilt.
    let corner = hull.windows(3).find(|w| (x[w[1]] - mean).abs() < 1e-6);
    let edge = hull.windows(2).find(|w| x[w[1]] >= mean);
    let (through, slope) = match (corner, edge, hull.first()) {
        (Some(w), ..) => (w[1], 0.0_f64.clamp(slope(&w[..2]), slope(&w[1..]))),
        (None, Some(w), _) => (w[0], slope(w)),
        (None, None, Some(&only)) => (only, 0.0),
        (None, None, None) => return (0.0, 0.0),
    };
    (y[through] - slope * x[through], slope)
}

/// Shims on each other.
#[derive(Debug, Clone, Default)]
struct Stack {
    sum_mm: f64,
    pieces_mm: Vec<f64>,
}

/// All stacks of a few shims by height, of equal ones the one with the fewest pieces.
fn stacks_of(thicknesses_mm: &[f64]) -> Vec<Stack> {
    let mut sizes = thicknesses_mm.to_vec();
    sizes.sort_by(|a, b| b.total_cmp(a));
    sizes.dedup();
    if sizes.is_empty() {
        return Vec::new();
    }
    let mut all = vec![Stack::default()];
    let mut last = vec![(Stack::default(), 0)];
    for _ in 0..MOST_PIECES {
        let mut next = Vec::new();
        for (stack, from) in &last {
            for (i, size) in sizes.iter().enumerate().skip(*from) {
                let mut pieces_mm = stack.pieces_mm.clone();
                pieces_mm.push(*size);
                next.push((Stack { sum_mm: stack.sum_mm + size, pieces_mm }, i));
            }
        }
        all.extend(next.iter().map(|(s, _)| s.clone()));
        last = next;
    }
    // Stable: of equal heights the one with the fewest pieces stands first.
    all.sort_by(|a, b| a.sum_mm.total_cmp(&b.sum_mm).then(a.pieces_mm.len().cmp(&b.pieces_mm.len())));
    all.dedup_by(|b, a| (b.sum_mm - a.sum_mm).abs() < 1e-6);
    all
}

/// Second derivative of what is left over at the middle one of three stations, 1/mm.
fn kink(x: &[f64], e: &[f64]) -> f64 {
    2.0 * ((e[2] - e[1]) / (x[2] - x[1]) - (e[1] - e[0]) / (x[1] - x[0])) / (x[2] - x[0])
}

/// The best stack for each station, and what it costs.
fn choose(x: &[f64], wanted: &[f64], stacks: &[Stack], most_kink: f64) -> (f64, Vec<Stack>) {
    let candidates: Vec<Vec<Stack>> = wanted.iter().map(|w| near(*w, stacks)).collect();
    let error = |i: usize, c: usize| candidates[i][c].sum_mm - wanted[i];
    let cost_of =
        |i: usize, c: usize| error(i, c).powi(2) + WORTH_MM * WORTH_MM * candidates[i][c].pieces_mm.len() as f64;
    let n = x.len();
    if n < 3 {
        let picked = candidates.into_iter().map(|c| c.into_iter().next().unwrap_or_default()).collect();
        return (0.0, picked);
    }
    // cost[a][b]: least cost up to station i with stacks a at i - 1 and b at i.
    let mut cost: Vec<Vec<f64>> = (0..candidates[0].len())
        .map(|a| (0..candidates[1].len()).map(|b| cost_of(0, a) + cost_of(1, b)).collect())
        .collect();
    let mut before: Vec<Vec<Vec<usize>>> = Vec::with_capacity(n);
    for i in 2..n {
        let (here, last) = (candidates[i].len(), candidates[i - 1].len());
        let mut next = vec![vec![f64::INFINITY; here]; last];
        let mut from = vec![vec![0; here]; last];
        for b in 0..last {
            for c in 0..here {
                for (a, row) in cost.iter().enumerate() {
                    let bent = kink(&x[i - 2..=i], &[error(i - 2, a), error(i - 1, b), error(i, c)]).abs();
                    let over = (bent / most_kink - 1.0).max(0.0);
                    let total = row[b] + cost_of(i, c) + OVER_LIMIT_MM2 * over * over;
                    if total < next[b][c] {
                        next[b][c] = total;
                        from[b][c] = a;
                    }
                }
            }
        }
        cost = next;
        before.push(from);
    }
    let (mut b, mut c, mut least) = (0, 0, f64::INFINITY);
    for (i, row) in cost.iter().enumerate() {
        for (j, value) in row.iter().enumerate() {
            if *value < least {
                (b, c, least) = (i, j, *value);
            }
        }
    }
    let mut picked = vec![c, b];
    for from in before.iter().rev() {
        let a = from[b][c];
        picked.push(a);
        (b, c) = (a, b);
    }
    picked.reverse();
    (least, picked.into_iter().zip(candidates).map(|(i, mut c)| c.swap_remove(i)).collect())
}

/// The stacks nearest to a height; exactly that height where it is planed off or the shop named no shims.
fn near(wanted: f64, stacks: &[Stack]) -> Vec<Stack> {
    if stacks.is_empty() || wanted < 0.0 {
        let pieces_mm = if wanted > 0.0 { vec![wanted] } else { Vec::new() };
        return vec![Stack { sum_mm: wanted, pieces_mm }];
    }
    let at = stacks.partition_point(|s| s.sum_mm < wanted);
    let mut around: Vec<&Stack> = stacks[at.saturating_sub(TRIED)..(at + TRIED).min(stacks.len())].iter().collect();
    around.sort_by(|a, b| (a.sum_mm - wanted).abs().total_cmp(&(b.sum_mm - wanted).abs()));
    let thinnest = stacks.get(1).map_or(0.0, |s| s.sum_mm);
    let near = |(i, s): &(usize, &Stack)| *i == 0 || (s.sum_mm - wanted).abs() <= thinnest;
    around.into_iter().take(TRIED).enumerate().filter(near).map(|(_, s)| s.clone()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::curve::{Curvature, resting_pose};
    use proptest::prelude::*;

    fn arc(radius: f64) -> Curve {
        resting_pose(&Curve::new(Curvature::constant(-750.0, 750.0, 1.0 / radius).unwrap()), 0.0)
    }

    fn places() -> Vec<f64> {
        (-7..=7).map(|i| 100.0 * f64::from(i)).collect()
    }

    fn options(thicknesses_mm: &[f64]) -> ShimOptions {
        ShimOptions { thicknesses_mm: thicknesses_mm.to_vec(), planing: false, square: false, most_kink_per_mm: 5e-5 }
    }

    #[test]
    fn a_table_needs_nothing_to_become_itself() {
        let schedule = shims(&arc(4000.0), &arc(4000.0), &places(), &options(&[1.0, 0.5]));
        assert!(schedule.shims.iter().all(|s| s.needed_mm.abs() < 1e-6 && s.pieces_mm.is_empty()), "{schedule:?}");
        assert!(schedule.is_smooth);
    }

    /// Closed form: heights of two arcs at x differ by R1 - sqrt(R1² - x²) - (R2 - sqrt(R2² - x²)).
    #[test]
    fn a_tighter_table_is_packed_at_its_ends_by_the_difference_of_the_arcs() {
        let schedule = shims(&arc(4000.0), &arc(3600.0), &places(), &options(&[]));
        let rise = |r: f64, x: f64| r - (r * r - x * x).sqrt();
        for s in &schedule.shims {
            let expected = rise(3600.0, s.x_mm) - rise(4000.0, s.x_mm);
            assert!((s.needed_mm - expected).abs() < 1e-6 && s.error_mm.abs() < 1e-12, "{s:?} {expected}");
        }
        assert_eq!(schedule.shims[7].order, 1);
    }

    #[test]
    fn a_flatter_table_is_packed_in_its_middle_and_nothing_is_planed() {
        let schedule = shims(&arc(3600.0), &arc(4000.0), &places(), &options(&[]));
        assert!(schedule.shims.iter().all(|s| s.needed_mm > -1e-9));
        assert!(schedule.shims[7].needed_mm > 6.9 && schedule.shims[0].needed_mm < 1e-6, "{schedule:?}");
        let planed = shims(&arc(3600.0), &arc(4000.0), &places(), &ShimOptions { planing: true, ..options(&[]) });
        assert!(planed.shims.iter().any(|s| s.needed_mm < -1.0));
        let largest = |s: &ShimSchedule| s.shims.iter().map(|s| s.needed_mm.abs()).fold(0.0, f64::max);
        assert!(largest(&planed) < largest(&schedule));
    }

    #[test]
    fn shims_under_a_skin_are_thinner_by_the_slopes() {
        let steep = |square| shims(&arc(1500.0), &arc(1450.0), &places(), &ShimOptions { square, ..options(&[]) });
        let (upright, square) = (steep(false), steep(true));
        let (here, wanted) = ((700.0_f64 / 1500.0).asin(), (700.0_f64 / 1450.0).asin());
        let expected = wanted.cos() / (wanted - here).cos();
        let ratio = square.shims[0].needed_mm / upright.shims[0].needed_mm;
        assert!((ratio - expected).abs() < 1e-6, "{ratio} {expected}");
    }

    /// Raising the whole table by one shim would leave no less.
    #[test]
    fn what_is_nearer_than_half_a_shim_is_left_alone() {
        let schedule = shims(&arc(4000.0), &arc(3996.0), &places(), &options(&[0.3]));
        assert!(schedule.shims.iter().all(|s| s.needed_mm < 0.07 && s.pieces_mm.is_empty()), "{schedule:?}");
        assert!(schedule.largest_error_mm > 0.05 && schedule.is_smooth, "{schedule:?}");
    }

    #[test]
    fn coarse_shims_that_would_leave_a_kink_are_told() {
        let fine = shims(&arc(4000.0), &arc(3600.0), &places(), &options(&[0.1, 0.2, 0.5, 1.0, 2.0]));
        assert!(fine.is_smooth && fine.largest_error_mm < 0.1, "{fine:?}");
        let coarse = shims(&arc(4000.0), &arc(3600.0), &places(), &options(&[3.0]));
        assert!(!coarse.is_smooth && coarse.kink_per_mm > 5e-5);
    }

    /// A table may stand at any height and tilt, so one or two stations lie on it whatever it is.
    #[test]
    fn one_or_two_stations_need_nothing() {
        let stations: [&[f64]; 3] = [&[], &[300.0], &[-200.0, 400.0]];
        for at in stations {
            for planing in [false, true] {
                let schedule = shims(&arc(4000.0), &arc(3000.0), at, &ShimOptions { planing, ..options(&[0.5, 0.3]) });
                let places: Vec<f64> = schedule.shims.iter().map(|s| s.x_mm).collect();
                assert_eq!(places, at);
                assert!(
                    schedule.shims.iter().all(|s| s.needed_mm.abs() < 1e-9 && s.pieces_mm.is_empty()),
                    "{schedule:?}"
                );
                assert_eq!((schedule.kink_per_mm, schedule.is_smooth), (0.0, true));
            }
        }
    }

    proptest! {
        #[test]
        fn pieces_add_up_to_need_and_error(
            from in 2000.0..9000.0_f64,
            to in 2000.0..9000.0_f64,
            sizes in prop::collection::vec(0.2..3.0_f64, 1..5),
            planing in any::<bool>(),
        ) {
            let schedule = shims(&arc(from), &arc(to), &places(), &ShimOptions { planing, ..options(&sizes) });
            for s in &schedule.shims {
                let added: f64 = s.pieces_mm.iter().sum();
                let done = if s.needed_mm < 0.0 && s.pieces_mm.is_empty() { s.needed_mm } else { added };
                prop_assert!((done - s.needed_mm - s.error_mm).abs() < 1e-9 || s.needed_mm > 0.0 && s.pieces_mm.is_empty());
                prop_assert!(planing || s.needed_mm > -1e-9);
                prop_assert!(s.pieces_mm.iter().all(|p| sizes.contains(p)));
                prop_assert!(s.pieces_mm.len() <= MOST_PIECES);
            }
        }
    }
}
