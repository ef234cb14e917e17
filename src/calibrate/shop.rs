//! What all boards of a shop say together.

/// What is known before a board was measured.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Prior {
    /// Expected factor.
    pub factor: f64,
    /// Its standard deviation: what shops differ by, and what the moduli and the relaxation of this stack leave open.
    pub deviation: f64,
    /// Expected scatter of the factor from board to board.
    pub scatter: f64,
}

/// One board's word.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Evidence {
    /// The factor found from its readings.
    pub factor: f64,
    /// Standard deviation of it: from the readings and, for another stack, from how far that speaks for this one.
    pub deviation: f64,
    /// How much the board counts, 0 to 1: less for old ones where the shop wants that.
    pub weight: f64,
}

/// What is known of a shop's factor.
#[derive(Debug, Clone, PartialEq)]
pub struct Learnt {
    /// Expected factor.
    pub factor: f64,
    /// One time in twenty the factor of the shop is below.
    pub p05: f64,
    /// One time in twenty it is above.
    pub p95: f64,
    /// Standard deviation of the next board's factor: what is not known of the shop's, and the scatter of boards.
    pub next_deviation: f64,
    /// Scatter of the factor from board to board.
    pub scatter: f64,
    /// Whether that scatter was estimated from the boards rather than expected.
    pub scatter_found: bool,
    /// How much each board counts in the end beside one that agrees with the others: small for a board that does not fit.
    pub standing: Vec<f64>,
}

/// Share of boards that are bad: a wrong stack, a wrong table, a bag that leaked (our choice, no source). More makes a shop slow
/// to believe a first board far from what was expected, less lets one bad board drag the factor along.
const BAD: f64 = 0.05;
/// Boards from which on the scatter between them is estimated.
const ENOUGH: usize = 3;
/// Places at which the factor is looked at, and its finest grid: a tenth of what many good boards leave open.
const FACTORS: usize = 1601;
/// Scatters that are looked at, from a quarter to four times the expected one.
const SCATTERS: usize = 21;
/// Standard deviation of the scatter's logarithm before boards were measured: it may well be half or twice the expected.
const SCATTER_SPREAD: f64 = 0.6;

/// Joins prior and boards: the shop's factor is normal, and so is each honest board about it; one board in twenty is taken to
/// be a bad one, which may come out anywhere and says nothing. Readings add their own error,
/// and the scatter is found along with the factor once there are three boards (contaminated normal distribution: Tukey, A
/// survey of sampling from contaminated distributions, 1960; hierarchical normal model: Gelman et al., Bayesian Data
/// Analysis, chapter 5; both from memory). The sums run over a grid, so there is nothing that could fail to converge.
///
/// Student's t instead of the two normal distributions made the band of a shop's first board half as wide again as it needs
/// to be, because its variance is twice the square of its scale.
pub fn learn(prior: &Prior, boards: &[Evidence]) -> Learnt {
    let scatter_found = boards.iter().filter(|b| b.weight > 0.0).count() >= ENOUGH;
    let scatters: Vec<(f64, f64)> = if scatter_found {
        (0..SCATTERS)
            .map(|i| {
                let log = 4.0_f64.ln() * (2.0 * i as f64 / (SCATTERS - 1) as f64 - 1.0);
                (prior.scatter * log.exp(), -0.5 * (log / SCATTER_SPREAD).powi(2))
            })
            .collect()
    } else {
        vec![(prior.scatter, 0.0)]
    };
    let reach = |centre: f64, deviation: f64| (centre - 5.0 * deviation, centre + 5.0 * deviation);
    let all = boards.iter().filter(|b| b.weight > 0.0).map(|b| reach(b.factor, b.deviation.hypot(prior.scatter)));
    let prior_reach = reach(prior.factor, prior.deviation);
    let (low, high) =
        all.fold(prior_reach, |(a, b), (c, d)| (a.min(c.max(prior_reach.0)), b.max(d.min(prior_reach.1))));
    // Less than nothing is given back by no shop.
    let low = low.max(0.0);
    let step = (high.max(low + 1e-6) - low) / (FACTORS - 1) as f64;
    let factor_at = |i: usize| low + step * i as f64;
    let logs: Vec<Vec<f64>> = scatters
        .iter()
        .map(|&(scatter, log_prior)| {
            (0..FACTORS)
                .map(|i| {
                    let f = factor_at(i);
                    let of_prior = -0.5 * ((f - prior.factor) / prior.deviation).powi(2);
                    let log = |b: &Evidence| {
                        let (honest, bad) = densities(prior, b, f, scatter);
                        b.weight * (honest + bad).max(f64::MIN_POSITIVE).ln()
                    };
                    let of_boards: f64 = boards.iter().map(log).sum();
                    log_prior + of_prior + of_boards
                })
                .collect()
        })
        .collect();
    let top = logs.iter().flatten().copied().fold(f64::NEG_INFINITY, f64::max);
    let mut of_factor = vec![0.0; FACTORS];
    let mut square_scatter = 0.0;
    for (row, &(scatter, _)) in logs.iter().zip(&scatters) {
        for (mass, log) in of_factor.iter_mut().zip(row) {
            let m = (log - top).exp();
            *mass += m;
            square_scatter += m * scatter * scatter;
        }
    }
    let whole: f64 = of_factor.iter().sum();
    square_scatter /= whole;
    let factor = of_factor.iter().enumerate().map(|(i, m)| m * factor_at(i)).sum::<f64>() / whole;
    let variance = of_factor.iter().enumerate().map(|(i, m)| m * (factor_at(i) - factor).powi(2)).sum::<f64>() / whole;
    let quantile = |p: f64| {
        let mut sum = 0.0;
        let at = of_factor.iter().position(|m| {
            sum += m / whole;
            sum >= p
        });
        factor_at(at.unwrap_or(FACTORS - 1))
    };
    let standing = |b: &Evidence| {
        let (honest, bad) = densities(prior, b, factor, square_scatter.sqrt());
        b.weight * honest / (honest + bad).max(f64::MIN_POSITIVE)
    };
    Learnt {
        factor,
        p05: quantile(0.05),
        p95: quantile(0.95),
        next_deviation: (variance + square_scatter).sqrt(),
        scatter: square_scatter.sqrt(),
        scatter_found,
        standing: boards.iter().map(standing).collect(),
    }
}

/// Densities of a board's factor if it is an honest board and if it is a bad one, times the root of 2 pi. A bad board says
/// nothing: it comes out anywhere within three deviations of shops' factors, evenly.
fn densities(prior: &Prior, board: &Evidence, factor: f64, scatter: f64) -> (f64, f64) {
    let own = board.deviation * board.deviation;
    let normal = |square: f64| (-0.5 * (board.factor - factor).powi(2) / square).exp() / square.sqrt();
    let honest = (1.0 - BAD) * normal(own + scatter * scatter);
    (honest, BAD * std::f64::consts::TAU.sqrt() / (6.0 * prior.deviation))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::numeric::Random;
    use proptest::prelude::*;

    const PRIOR: Prior = Prior { factor: 1.0, deviation: 0.3, scatter: 0.06 };

    fn board(factor: f64, deviation: f64) -> Evidence {
        Evidence { factor, deviation, weight: 1.0 }
    }

    #[test]
    fn without_boards_the_prior_stands() {
        let learnt = learn(&PRIOR, &[]);
        assert!((learnt.factor - 1.0).abs() < 1e-3, "{learnt:?}");
        assert!((learnt.p05 - (1.0 - 1.645 * 0.3)).abs() < 5e-3 && (learnt.p95 - (1.0 + 1.645 * 0.3)).abs() < 5e-3);
        assert!((learnt.next_deviation - 0.3_f64.hypot(0.06)).abs() < 1e-3);
    }

    /// Closed form for normal scatter: precisions add. That the board may be a bad one leaves a little of the prior.
    #[test]
    fn one_good_board_is_believed_nearly_whole() {
        let learnt = learn(&PRIOR, &[board(0.7, 0.03)]);
        let (p, b) = (1.0 / 0.09, 1.0 / (0.06_f64.powi(2) + 0.03_f64.powi(2)));
        let normal = (p + 0.7 * b) / (p + b);
        assert!((learnt.factor - normal).abs() < 0.02, "{} {normal}", learnt.factor);
        assert!(learnt.p05 < 0.7 && learnt.p95 > 0.7);
    }

    #[test]
    fn a_reading_with_large_error_moves_it_little() {
        let learnt = learn(&PRIOR, &[board(0.2, 1.5)]);
        assert!((learnt.factor - 1.0).abs() < 0.05, "{learnt:?}");
    }

    #[test]
    fn one_bad_board_among_five_moves_it_little() {
        let mut boards = vec![board(0.80, 0.03), board(0.83, 0.03), board(0.78, 0.03), board(0.81, 0.03)];
        let before = learn(&PRIOR, &boards).factor;
        boards.push(board(1.9, 0.03));
        let learnt = learn(&PRIOR, &boards);
        assert!((learnt.factor - before).abs() < 0.03, "{} {before}", learnt.factor);
        assert!(learnt.standing[4] < 0.2 && learnt.standing[0] > 0.7, "{:?}", learnt.standing);
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
                let truth = (1.0 + 0.3 * random.normal()).max(0.0);
                let boards: Vec<Evidence> =
                    (0..4).map(|_| board(truth + scatter * random.normal() + 0.03 * random.normal(), 0.03)).collect();
                let learnt = learn(&PRIOR, &boards);
                inside += u32::from((learnt.p05..=learnt.p95).contains(&truth));
            }
            let share = f64::from(inside) / shops as f64;
            assert!((share - 0.9).abs() < 0.075, "{share} with scatter {scatter}");
        }
    }

    #[test]
    fn the_scatter_is_found_from_three_boards_on() {
        let near = [board(0.80, 0.01), board(0.81, 0.01), board(0.79, 0.01)];
        let far = [board(0.6, 0.01), board(0.8, 0.01), board(1.0, 0.01)];
        assert!(!learn(&PRIOR, &near[..2]).scatter_found);
        let (a, b) = (learn(&PRIOR, &near), learn(&PRIOR, &far));
        assert!(a.scatter_found && a.scatter < 0.06 && b.scatter > 0.09, "{} {}", a.scatter, b.scatter);
    }

    proptest! {
        #[test]
        fn the_order_of_boards_does_not_matter_and_figures_stay_figures(
            boards in prop::collection::vec((-0.5..2.5_f64, 0.005..0.8_f64), 0..7),
        ) {
            let boards: Vec<Evidence> = boards.into_iter().map(|(f, s)| board(f, s)).collect();
            let mut turned = boards.clone();
            turned.reverse();
            let (a, b) = (learn(&PRIOR, &boards), learn(&PRIOR, &turned));
            prop_assert!((a.factor - b.factor).abs() < 1e-9);
            prop_assert!(a.p05 <= a.factor && a.factor <= a.p95 && a.p05 >= 0.0);
            prop_assert!(a.next_deviation.is_finite() && a.next_deviation > 0.0);
        }
    }
}
