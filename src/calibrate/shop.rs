//! What all boards of a shop teach together.

use super::factor::NINE_IN_TEN;
use crate::job::{ClosingIn, Share};
use crate::numeric::normal_distribution;

/// What is known before a board was measured.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Prior {
    /// Median factor.
    pub factor: f64,
    /// Its standard deviation: how shops differ, and what the moduli and the relaxation of this stack leave open.
    pub deviation: f64,
    /// Expected scatter of the factor from board to board, as a part of it.
    pub scatter: f64,
    /// Expected scatter of the factor that does not grow with it.
    pub fixed_scatter: f64,
    /// Expected multiple of the computed closing in, and its standard deviation.
    pub closing_in: Share,
}

/// What one board teaches.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MeasuredFactor {
    /// The factor found from its readings.
    pub factor: f64,
    /// Its standard deviation, from the readings.
    pub deviation: f64,
    /// How far the factor of its stack may be from the one of this stack (standard deviation), as a part of it.
    pub unlike: f64,
    /// Expected scatter of this board's factor about the shop's, as a part of it: wood, thickness, glue. The shop's own scatter
    /// is learned as a multiple of both scatters.
    pub scatter: f64,
    /// Expected scatter that does not grow with the factor: of closing in, and of a table that is not exactly its drawing.
    pub fixed_scatter: f64,
    /// How much lower the springback factor seems when the board closes in as computed; 0 where it does not close in.
    pub factor_per_closing_in: f64,
    /// Weight of the board, 0 to 1: less for old ones where the shop wants that.
    pub weight: f64,
}

/// What is known of a shop's factor.
#[derive(Debug, Clone, PartialEq)]
pub struct Learned {
    /// Median factor.
    pub factor: f64,
    /// The shop's factor is below in one case of twenty.
    pub p05: f64,
    /// It is above in one case of twenty.
    pub p95: f64,
    /// The next board's factor is below in one case of twenty: what is not known of the shop's, and the scatter of boards.
    pub next_p05: f64,
    /// It is above in one case of twenty.
    pub next_p95: f64,
    /// Standard deviation of the next board's factor: that of a normal distribution as wide as this band.
    pub next_deviation: f64,
    /// How far the shop's stacks close in, as a multiple of what is computed, and how the factor goes with it.
    pub closing_in: ClosingIn,
    /// Scatter of the factor from board to board, as a part of it.
    pub scatter: f64,
    /// Whether that scatter was learned from the boards rather than expected.
    pub scatter_found: bool,
    /// Probability that each board is one like the others: small for a board that is set aside.
    pub posterior_weights: Vec<f64>,
}

/// Share of boards that are bad: a wrong stack, a wrong table, a bag that leaked (our choice, no source). More makes a shop
/// slow to believe that its boards scatter, less lets one bad board drag the factor along.
const BAD: f64 = 0.05;
/// Boards from which on the scatter between them is learned.
const ENOUGH: usize = 2;
/// Degrees of freedom of the prior of the factor's logarithm. Reports of pieces that sprang back twice or four times as
/// much as computed, or not at all, are more than a normal distribution has room for (our reading of trade reports).
const PRIOR_DOF: f64 = 4.0;
/// Values of the factor on the grid.
const FACTORS: usize = 401;
/// Multiples of the expected scatter on the grid, once there are boards to learn it from. One board shows no scatter: were it
/// left open then, a board far from 1 would be explained by scatter instead of believed.
const SCATTERS: usize = 15;
/// Standard deviation of the logarithm of that multiple, and how far the grid reaches: from a fifth to five times the expected
/// scatter, all but evenly (our choice: boards of shops scatter by 2 to 10 %).
const SCATTER_SPREAD: f64 = 1.5;
const SCATTER_REACH: f64 = 1.6;

/// Joins prior and boards. The logarithm of the shop's factor follows Student's t distribution, so that the factor itself is
/// skewed upwards and may lie far from 1; honest boards are normal about it, with a scatter that grows with it; one board in
/// twenty is taken to be a bad one, which may come out anywhere and teaches nothing. At least one board is honest: the first
/// one always has weight, and later ones are set aside only for being unlike the others. Readings add their own error, and the
/// scatter is found along with the factor from the second board on. How far stacks close in is a second unknown, which boards of
/// thin plies show and boards of few thick ones do not; one board tells the two apart only by what was expected of both.
///
/// Contaminated normal distribution: Tukey, A survey of sampling from contaminated distributions, 1960; hierarchical normal
/// model: Gelman et al., Bayesian Data Analysis, chapter 5; both from memory. The sums run over a grid, so there is nothing that
/// could fail to converge.
pub fn learn(prior: &Prior, boards: &[MeasuredFactor]) -> Learned {
    let used: Vec<&MeasuredFactor> = boards.iter().filter(|b| b.weight > 0.0).collect();
    let grid = Grid::new(prior, &used);
    let of_factor: Vec<f64> = (0..FACTORS).map(|i| grid.masses.iter().map(|row| row[i]).sum()).collect();
    let log_multiple: f64 =
        grid.masses.iter().zip(&grid.multiples).map(|(row, m)| row.iter().sum::<f64>() * libm::log(*m)).sum();
    let multiple = libm::exp(log_multiple);
    let quantile = |p: f64| grid.quantile(&of_factor, p);
    let factor = if used.is_empty() { prior.factor } else { quantile(0.5) };
    let [next_p05, next_p95] = [0.05, 0.95].map(|p| grid.next_quantile(prior, p).max(0.0));
    let posterior_weight = |b: &MeasuredFactor| {
        let honest = honest_density(b, (factor, grid.closing_in.multiple.value), multiple);
        let bad = bad_density(prior, b);
        if used.len() > 1 { honest / (honest + bad).max(f64::MIN_POSITIVE) } else { 1.0 }
    };
    Learned {
        factor,
        p05: quantile(0.05),
        p95: quantile(0.95),
        next_p05,
        next_p95,
        next_deviation: (next_p95 - next_p05) / (2.0 * NINE_IN_TEN),
        closing_in: grid.closing_in,
        scatter: multiple * prior.scatter,
        scatter_found: used.len() >= ENOUGH,
        posterior_weights: boards.iter().map(posterior_weight).collect(),
    }
}

/// The posterior on its grid.
struct Grid {
    /// Factors, evenly spaced.
    factors: Vec<f64>,
    /// Multiples of the expected scatter.
    multiples: Vec<f64>,
    /// Probability of each multiple of the scatter and factor, whatever the closing in.
    masses: Vec<Vec<f64>>,
    /// Closing in, and how it goes with the factor.
    closing_in: ClosingIn,
}

impl Grid {
    fn new(prior: &Prior, boards: &[&MeasuredFactor]) -> Self {
        let (low, high) = range(prior, boards);
        let step = (high - low) / (FACTORS - 1) as f64;
        let factors: Vec<f64> = (0..FACTORS).map(|i| low + step * i as f64).collect();
        let of_prior: Vec<f64> = factors.iter().map(|f| log_prior(prior, *f)).collect();
        let multiples = multiples(boards);
        let scatters = multiples.len();
        let closings = closings(prior, boards);
        let bad: Vec<f64> = boards.iter().map(|b| bad_density(prior, b)).collect();
        let of_all_bad: f64 = boards.iter().zip(&bad).map(|(b, bad)| b.weight * libm::log(*bad)).sum();
        let mut logs: Vec<f64> = Vec::with_capacity(closings.len() * scatters * FACTORS);
        for closing in &closings {
            let of_closing = -0.5 * ((closing - prior.closing_in.value) / prior.closing_in.sd).powi(2);
            for multiple in &multiples {
                let of_both = of_closing - 0.5 * (libm::log(*multiple) / SCATTER_SPREAD).powi(2);
                let log = |(f, p): (&f64, &f64)| {
                    of_both + p + log_likelihood((boards, &bad, of_all_bad), (*f, *closing), *multiple)
                };
                logs.extend(factors.iter().zip(&of_prior).map(log));
            }
        }
        let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        logs.iter_mut().for_each(|m| *m = libm::exp(*m - top));
        let whole: f64 = logs.iter().sum();
        let mut masses = vec![vec![0.0; FACTORS]; scatters];
        let mut sums = Sums::default();
        for (j, closing) in closings.iter().enumerate() {
            for (i, row) in masses.iter_mut().enumerate() {
                let cells = &logs[(j * scatters + i) * FACTORS..][..FACTORS];
                for ((sum, cell), factor) in row.iter_mut().zip(cells).zip(&factors) {
                    *sum += cell / whole;
                    sums.add(cell / whole, *closing, *factor);
                }
            }
        }
        let closing_in = if closings.len() > 1 {
            sums.closing_in()
        } else {
            ClosingIn { multiple: prior.closing_in, ..ClosingIn::EXPECTED }
        };
        Self { factors, multiples, masses, closing_in }
    }

    /// Quantile of the shop's factor, from the mass at each factor.
    fn quantile(&self, of_factor: &[f64], p: f64) -> f64 {
        let step = self.factors[1] - self.factors[0];
        let mut below = 0.0;
        for (factor, mass) in self.factors.iter().zip(of_factor) {
            if below + mass >= p {
                // The mass of a node is spread evenly over half a step to each side.
                return (factor + step * ((p - below) / mass - 0.5)).max(0.0);
            }
            below += mass;
        }
        self.factors[FACTORS - 1]
    }

    /// Quantile of the factor of the next board of a stack whose boards are expected to scatter as `prior` says.
    fn next_quantile(&self, prior: &Prior, p: f64) -> f64 {
        let rows = || self.masses.iter().zip(&self.multiples);
        let scatter = |factor: f64| libm::hypot(prior.scatter * factor, prior.fixed_scatter);
        let below = |x: f64| -> f64 {
            let of_row = |(row, multiple): (&Vec<f64>, &f64)| -> f64 {
                let of_cell = |(mass, factor): (&f64, &f64)| {
                    if *mass < LEAST_MASS {
                        0.0
                    } else {
                        mass * normal_distribution((x - factor) / (multiple * scatter(*factor)))
                    }
                };
                row.iter().zip(&self.factors).map(of_cell).sum()
            };
            rows().map(of_row).sum()
        };
        let largest = self.factors[FACTORS - 1];
        let reach = 3.0 * scatter(largest) * self.multiples[self.multiples.len() - 1];
        let (mut low, mut high) = (self.factors[0] - reach, largest + reach);
        for _ in 0..HALVINGS {
            let middle = 0.5 * (low + high);
            if below(middle) < p { low = middle } else { high = middle }
        }
        0.5 * (low + high)
    }
}

/// Cells of the grid with less probability than this do not move a quantile of 5 %.
const LEAST_MASS: f64 = 1e-6;
/// Halvings in which a quantile is found: to a thousandth of the narrowest grid.
const HALVINGS: usize = 24;

/// Moments of closing in and factor.
#[derive(Default)]
struct Sums {
    closing: f64,
    factor: f64,
    closing_squared: f64,
    product: f64,
}

impl Sums {
    fn add(&mut self, mass: f64, closing: f64, factor: f64) {
        self.closing += mass * closing;
        self.factor += mass * factor;
        self.closing_squared += mass * closing * closing;
        self.product += mass * closing * factor;
    }

    fn closing_in(&self) -> ClosingIn {
        let variance = (self.closing_squared - self.closing * self.closing).max(1e-6);
        ClosingIn {
            multiple: Share { value: self.closing, sd: variance.sqrt() },
            factor_per_multiple: (self.product - self.closing * self.factor) / variance,
        }
    }
}

/// Multiples of the expected scatter that are looked at.
fn multiples(boards: &[&MeasuredFactor]) -> Vec<f64> {
    if boards.len() < ENOUGH {
        return vec![1.0];
    }
    (0..SCATTERS).map(|i| libm::exp(SCATTER_REACH * (2.0 * i as f64 / (SCATTERS - 1) as f64 - 1.0))).collect()
}

/// Multiples of the computed closing in that are looked at; the expected one alone where no board closes in.
fn closings(prior: &Prior, boards: &[&MeasuredFactor]) -> Vec<f64> {
    if boards.iter().all(|b| b.factor_per_closing_in == 0.0) {
        return vec![prior.closing_in.value];
    }
    (0..CLOSINGS).map(|i| MOST_CLOSING * i as f64 / (CLOSINGS - 1) as f64).collect()
}

/// Largest multiple of the computed closing in, and how many are looked at: four standard deviations of what is expected.
const MOST_CLOSING: f64 = 3.0;
const CLOSINGS: usize = 31;

/// Range of factors outside of which next to nothing is possible: six standard deviations about each board, with whatever it
/// may have closed in, or, without boards, nine times the prior's scale to either side.
fn range(prior: &Prior, boards: &[&MeasuredFactor]) -> (f64, f64) {
    let times = if boards.len() < ENOUGH { 1.0 } else { 3.0 };
    let reach = |b: &&MeasuredFactor| {
        let fixed = 6.0 * libm::hypot(b.deviation, times * b.fixed_scatter);
        let grown = libm::exp(6.0 * libm::hypot(b.unlike, times * b.scatter));
        let closing = b.factor_per_closing_in;
        ((b.factor - fixed - closing) / grown, (b.factor + fixed + (MOST_CLOSING - 1.0) * closing) * grown)
    };
    let far = libm::exp(9.0 * log_deviation(prior));
    let widest = (prior.factor / far, prior.factor * far);
    let (low, high) = boards.iter().map(reach).reduce(|a, b| (a.0.min(b.0), a.1.max(b.1))).unwrap_or(widest);
    // No shop's boards spring back less than nothing.
    let low = low.clamp(LEAST_FACTOR, 0.5 * LARGEST_FACTOR);
    (low, high.clamp(low + 1e-3, LARGEST_FACTOR))
}

/// Range of the factors that a shop may have: none or six times what is computed is beyond all reports.
const LEAST_FACTOR: f64 = 1e-3;
const LARGEST_FACTOR: f64 = 6.0;

/// Standard deviation of the logarithm of the factor.
fn log_deviation(prior: &Prior) -> f64 {
    libm::log1p((prior.deviation / prior.factor.max(LEAST_FACTOR)).powi(2)).sqrt()
}

/// Logarithm of the prior's density, but for a constant.
fn log_prior(prior: &Prior, factor: f64) -> f64 {
    let times = libm::log(factor / prior.factor.max(LEAST_FACTOR)) / log_deviation(prior);
    -0.5 * (PRIOR_DOF + 1.0) * libm::log1p(times * times / PRIOR_DOF) - libm::log(factor)
}

/// Logarithm of the likelihood of all boards, of which at least one is honest.
fn log_likelihood(
    (boards, bad, of_all_bad): (&[&MeasuredFactor], &[f64], f64),
    shop: (f64, f64),
    multiple: f64,
) -> f64 {
    match boards {
        [] => 0.0,
        [only] => only.weight * libm::log(honest_density(only, shop, multiple).max(f64::MIN_POSITIVE)),
        _ => {
            let any =
                |(b, bad): (&&MeasuredFactor, &f64)| b.weight * libm::log(honest_density(b, shop, multiple) + bad);
            let of_any: f64 = boards.iter().zip(bad).map(any).sum();
            let ratio = of_all_bad - of_any;
            // Below, nothing is left of it beside one.
            let of_some = if ratio < -40.0 { 0.0 } else { libm::log((-libm::expm1(ratio)).max(f64::MIN_POSITIVE)) };
            of_any + of_some
        }
    }
}

/// Density of a board's factor if it is an honest board, times the root of 2 pi.
fn honest_density(board: &MeasuredFactor, (factor, closing): (f64, f64), multiple: f64) -> f64 {
    let shown = board.factor + (closing - 1.0) * board.factor_per_closing_in;
    let relative = board.unlike.powi(2) + (multiple * board.scatter).powi(2);
    let fixed = board.deviation.powi(2) + (multiple * board.fixed_scatter).powi(2);
    // What grows with the factor is normal in its logarithm: (y - f) / sqrt(y f) is ln(y / f) but for its cube over 24.
    let least = shown.max(board.deviation).max(LEAST_FACTOR);
    let variance = |square: f64| fixed + relative * square;
    let honest = libm::exp(-0.5 * (shown - factor).powi(2) / variance(least * factor)) / variance(least * least).sqrt();
    (1.0 - BAD) * honest
}

/// The same if it is a bad one: such a board comes out anywhere within three deviations of shops' factors, evenly.
fn bad_density(prior: &Prior, board: &MeasuredFactor) -> f64 {
    let spread = libm::hypot(prior.deviation, prior.closing_in.sd * board.factor_per_closing_in);
    BAD * std::f64::consts::TAU.sqrt() / (6.0 * spread)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::numeric::Random;
    use proptest::prelude::*;

    const PRIOR: Prior = Prior {
        factor: 1.0,
        deviation: 0.3,
        scatter: 0.06,
        fixed_scatter: 0.0,
        closing_in: ClosingIn::EXPECTED.multiple,
    };

    fn board(factor: f64, deviation: f64) -> MeasuredFactor {
        MeasuredFactor {
            factor,
            deviation,
            unlike: 0.0,
            scatter: 0.06,
            fixed_scatter: 0.0,
            factor_per_closing_in: 0.0,
            weight: 1.0,
        }
    }

    #[test]
    fn without_boards_the_prior_stands() {
        let learned = learn(&PRIOR, &[]);
        // Student's t with 4 degrees of freedom: one in twenty is beyond 2.132 (printed tables, from memory).
        let far = (2.132 * 1.09_f64.ln().sqrt()).exp();
        assert!((learned.factor - 1.0).abs() < 1e-3, "{learned:?}");
        assert!((learned.p05 - 1.0 / far).abs() < 5e-3 && (learned.p95 / far - 1.0).abs() < 1e-2, "{learned:?}");
        assert!(learned.next_p05 < learned.p05 && learned.next_p95 > learned.p95, "{learned:?}");
    }

    /// The first board always counts, however far it is: a shop whose boards spring back twice as much is believed at once.
    #[test]
    fn the_first_board_is_believed_however_far_it_is() {
        for factor in [0.4, 0.7, 1.9, 3.0] {
            let learned = learn(&PRIOR, &[board(factor, 0.03)]);
            // Half of the deviation that its reading and its scatter make.
            assert!((learned.factor - factor).abs() < 0.5 * 0.03_f64.hypot(0.06 * factor), "{factor}: {learned:?}");
            assert!(learned.p05 < factor && learned.p95 > factor && learned.posterior_weights == [1.0], "{learned:?}");
        }
        // A board that hardly sprang back leaves it open whether that was the shop or its scatter.
        let learned = learn(&PRIOR, &[board(0.05, 0.03)]);
        assert!(learned.factor < 0.25 && learned.p05 < 0.05 && learned.p95 > 0.05, "{learned:?}");
    }

    #[test]
    fn a_reading_with_large_error_moves_it_little() {
        let learned = learn(&PRIOR, &[board(0.2, 1.5)]);
        assert!((learned.factor - 1.0).abs() < 0.05, "{learned:?}");
    }

    #[test]
    fn one_bad_board_among_five_moves_it_little() {
        let mut boards = vec![board(0.80, 0.03), board(0.83, 0.03), board(0.78, 0.03), board(0.81, 0.03)];
        let before = learn(&PRIOR, &boards).factor;
        boards.push(board(1.9, 0.03));
        let learned = learn(&PRIOR, &boards);
        assert!((learned.factor - before).abs() < 0.03, "{} {before}", learned.factor);
        assert!(
            learned.posterior_weights[4] < 0.2 && learned.posterior_weights[0] > 0.7,
            "{:?}",
            learned.posterior_weights
        );
    }

    #[test]
    fn old_boards_fade_where_the_shop_wants_that() {
        let mut boards = vec![board(0.6, 0.03), board(0.6, 0.03), board(1.1, 0.03), board(1.1, 0.03)];
        let before = learn(&PRIOR, &boards).factor;
        boards[0].weight = 0.05;
        boards[1].weight = 0.05;
        assert!(learn(&PRIOR, &boards).factor > before + 0.1);
    }

    /// Over 400 invented shops with four boards each, nine in ten of the shops' factors must lie in the band; five standard
    /// errors of that count are 7.5 in a hundred. The scatter is the expected one or twice it.
    #[test]
    fn the_band_holds_the_factor_nine_times_in_ten() {
        for scatter in [0.06, 0.12] {
            let (mut inside, shops) = (0, 400);
            for shop in 0..shops {
                let mut random = Random::for_draw(5, shop);
                let truth = (0.3 * random.normal()).exp();
                let boards: Vec<MeasuredFactor> =
                    (0..4).map(|_| board(truth + scatter * random.normal() + 0.03 * random.normal(), 0.03)).collect();
                let learned = learn(&PRIOR, &boards);
                inside += u32::from((learned.p05..=learned.p95).contains(&truth));
            }
            let share = f64::from(inside) / shops as f64;
            assert!((share - 0.9).abs() < 0.075, "{share} with scatter {scatter}");
        }
    }

    #[test]
    fn the_scatter_is_learned_from_the_second_board_on() {
        let near = [board(0.80, 0.01), board(0.81, 0.01), board(0.79, 0.01)];
        let far = [board(0.6, 0.01), board(0.8, 0.01), board(1.0, 0.01)];
        assert!(!learn(&PRIOR, &near[..1]).scatter_found && learn(&PRIOR, &near[..2]).scatter_found);
        for boards in [2, 3] {
            let (a, b) = (learn(&PRIOR, &near[..boards]).scatter, learn(&PRIOR, &far[..boards]).scatter);
            assert!(a < 0.06 && b > 0.09, "{a} {b} from {boards} boards");
        }
    }

    /// Twenty thin plies spring back by 1/400 and close in by 2 %, eight of these factors; boards that closed in by half as
    /// much again look as if they sprang back -3 times.
    #[test]
    fn boards_of_thin_plies_teach_how_far_they_close_in_and_nothing_of_springback() {
        let thin = |factor: f64| MeasuredFactor { factor_per_closing_in: 8.0, ..board(factor, 1.5) };
        let learned = learn(&PRIOR, &[thin(-3.0), thin(-3.5), thin(-2.5)]);
        assert!((learned.factor - 1.0).abs() < 0.1 && learned.p05 < 0.75 && learned.p95 > 1.35, "{learned:?}");
        let multiple = learned.closing_in.multiple;
        assert!((multiple.value - 1.5).abs() < 0.06 && multiple.sd < 0.2, "{multiple:?}");
        assert!(learned.posterior_weights.iter().all(|s| *s > 0.9), "{learned:?}");
    }

    /// What one board shows is factor less closing in; the two then go together by as many factors as closing in is worth.
    #[test]
    fn one_board_ties_factor_and_closing_in_together() {
        let learned = learn(&PRIOR, &[MeasuredFactor { factor_per_closing_in: 0.5, ..board(0.8, 0.02) }]);
        assert!((learned.closing_in.factor_per_multiple - 0.5).abs() < 0.1, "{learned:?}");
        assert!(learned.p95 - learned.p05 > 0.5, "{learned:?}");
    }

    proptest! {
        #[test]
        fn the_order_of_boards_does_not_matter_and_figures_stay_figures(
            boards in prop::collection::vec((-0.5..2.5_f64, 0.005..0.8_f64), 0..7),
        ) {
            let boards: Vec<MeasuredFactor> = boards.into_iter().map(|(f, s)| board(f, s)).collect();
            let mut turned = boards.clone();
            turned.reverse();
            let (a, b) = (learn(&PRIOR, &boards), learn(&PRIOR, &turned));
            prop_assert!((a.factor - b.factor).abs() < 1e-9);
            prop_assert!(a.p05 <= a.factor && a.factor <= a.p95 && a.p05 >= 0.0);
            prop_assert!(a.next_deviation.is_finite() && a.next_deviation > 0.0);
        }
    }
}
