use proptest::prelude::*;

use super::*;
use crate::job::Bar;
use crate::numeric::Random;

fn pieces(of: &[(f64, usize)]) -> Vec<Piece> {
    of.iter().map(|&(length_mm, count)| Piece { label: String::new(), length_mm, count }).collect()
}

fn bars(lengths: &[(f64, Option<usize>)], kerf_mm: f64) -> BarStock {
    let bars = lengths.iter().map(|&(length_mm, quantity)| Bar { length_mm, quantity, price: None }).collect();
    BarStock { bars, kerf_mm, end_trim_mm: 0.0 }
}

/// Every piece once, no bar longer than it is, no more bars than there are.
#[track_caller]
fn holds(plan: &CuttingPlan, pieces: &[Piece], stock: &BarStock) {
    let mut found = vec![0; pieces.len()];
    let mut used = vec![0; stock.bars.len()];
    for cut in &plan.bars {
        used[cut.bar] += 1;
        assert!(!cut.pieces.is_empty(), "a bar is used for nothing");
        cut.pieces.iter().for_each(|p| found[*p] += 1);
        let lengths: f64 = cut.pieces.iter().map(|p| pieces[*p].length_mm).sum();
        let between = stock.kerf_mm * (cut.pieces.len() - 1) as f64;
        let rest = stock.bars[cut.bar].length_mm - stock.end_trim_mm - lengths - between;
        // Half a micrometre for each piece, and for the bar.
        let rounding = 0.0005 * (cut.pieces.len() * 2 + 2) as f64;
        assert!(rest >= -rounding, "{rest} mm too long");
        let behind_last_cut = (rest - stock.kerf_mm).max(0.0);
        assert!((cut.rest_mm - behind_last_cut).abs() <= rounding, "{} is not {behind_last_cut}", cut.rest_mm);
    }
    assert_eq!(found, pieces.iter().map(|p| p.count).collect::<Vec<_>>());
    assert!(used.iter().zip(&stock.bars).all(|(n, b)| b.quantity.is_none_or(|q| *n <= q)), "{used:?}");
    let total: f64 = used.iter().zip(&stock.bars).map(|(n, b)| *n as f64 * b.length_mm).sum();
    assert!((total - plan.stock_mm).abs() < 0.01 && plan.bound_mm <= plan.stock_mm);
    assert_eq!(plan.proven, plan.bound_mm == plan.stock_mm);
}

/// The least stock by trying everything: each piece into each open bar or into a new one of each kind.
fn brute_force(lengths: &[f64], stock: &BarStock) -> Option<f64> {
    fn go(lengths: &[f64], stock: &BarStock, open: &mut Vec<(usize, f64)>) -> Option<f64> {
        let Some((first, others)) = lengths.split_first() else {
            return Some(open.iter().map(|(k, _)| stock.bars[*k].length_mm).sum());
        };
        let mut best: Option<f64> = None;
        let mut keep = |cost: Option<f64>| {
            if let Some(cost) = cost {
                best = Some(best.map_or(cost, |b: f64| b.min(cost)));
            }
        };
        for i in 0..open.len() {
            if open[i].1 + stock.kerf_mm + first <= stock.bars[open[i].0].length_mm + 1e-9 {
                let before = open[i].1;
                open[i].1 += stock.kerf_mm + first;
                keep(go(others, stock, open));
                open[i].1 = before;
            }
        }
        for (k, bar) in stock.bars.iter().enumerate() {
            let used = open.iter().filter(|o| o.0 == k).count();
            if *first <= bar.length_mm && bar.quantity.is_none_or(|q| used < q) {
                open.push((k, *first));
                keep(go(others, stock, open));
                open.pop();
            }
        }
        best
    }
    go(lengths, stock, &mut Vec::new())
}

#[test]
fn the_saw_cut_counts_between_pieces_and_not_behind_the_last() {
    let wanted = pieces(&[(300.0, 3)]);
    // 3 x 300 and 2 cuts of 3 are 906.
    for (length, count) in [(906.0, 1), (905.9, 2)] {
        let stock = bars(&[(length, None)], 3.0);
        let plan = cut(&wanted, &stock).unwrap();
        holds(&plan, &wanted, &stock);
        assert_eq!((plan.bars.len(), plan.proven), (count, true));
    }
    let stock = bars(&[(1000.0, None)], 3.0);
    assert_eq!(cut(&wanted, &stock).unwrap().bars[0].rest_mm, 1000.0 - 909.0);
}

#[test]
fn the_trimmed_end_is_lost() {
    let wanted = pieces(&[(500.0, 2)]);
    let stock = BarStock { end_trim_mm: 10.0, ..bars(&[(1010.0, None)], 0.0) };
    assert_eq!(cut(&wanted, &stock).unwrap().bars.len(), 1);
    let stock = BarStock { end_trim_mm: 10.1, ..stock };
    let plan = cut(&wanted, &stock).unwrap();
    holds(&plan, &wanted, &stock);
    assert_eq!(plan.bars.len(), 2);
}

#[test]
fn a_published_example_comes_out_within_one_roll_of_the_least() {
    // Paper rolls of 5600 mm cut into thirteen widths, the worked example of the encyclopaedia article "Cutting stock
    // problem" (second-hand): the least number of rolls is 73.
    let wanted = pieces(&[
        (1380.0, 22),
        (1520.0, 25),
        (1560.0, 12),
        (1710.0, 14),
        (1820.0, 18),
        (1880.0, 18),
        (1930.0, 20),
        (2000.0, 10),
        (2050.0, 12),
        (2100.0, 14),
        (2140.0, 16),
        (2150.0, 18),
        (2200.0, 20),
    ]);
    let stock = bars(&[(5600.0, None)], 0.0);
    let plan = cut(&wanted, &stock).unwrap();
    holds(&plan, &wanted, &stock);
    assert_eq!(plan.bound_mm, 73.0 * 5600.0);
    assert!(plan.bars.len() <= 74, "{} rolls", plan.bars.len());
}

/// The hard kind of test problem after Falkenauer (A hybrid grouping genetic algorithm for bin packing, Journal of
/// Heuristics 2, 1996; from memory): pieces between a quarter and a half of the bar, made by cutting so many bars of 1000.
fn triples(seed: u64, bars: usize) -> Vec<(f64, usize)> {
    let mut random = Random::new(seed);
    let triple = |_| {
        let first = 380 + random.below(111);
        let second = 250 + random.below((1000 - first) / 2 - 249);
        [first, second, 1000 - first - second].map(|l| (l as f64, 1))
    };
    (0..bars).flat_map(triple).collect()
}

#[test]
fn bars_that_three_pieces_fill_exactly_come_out_within_one_bar() {
    for seed in 0..8 {
        let wanted = triples(seed, 20);
        let (wanted, stock) = (pieces(&wanted), bars(&[(1000.0, None)], 0.0));
        let plan = cut(&wanted, &stock).unwrap();
        holds(&plan, &wanted, &stock);
        assert_eq!(plan.bound_mm, 20_000.0);
        assert!(plan.bars.len() <= 21, "seed {seed}: {} bars", plan.bars.len());
    }
}

/// Sixty different pieces: from small ones to those of which hardly two go on a bar of 2400 mm.
fn sixty(seed: u64) -> Vec<Piece> {
    let mut random = Random::new(100 + seed);
    let (least, most) = [(0.02, 0.3), (0.1, 0.5), (0.15, 0.7), (0.3, 0.6)][seed as usize % 4];
    let length = |_| ((2400.0 * (least + (most - least) * random.uniform()) * 10.0).round() / 10.0, 1);
    pieces(&(0..60).map(length).collect::<Vec<_>>())
}

#[test]
fn sixty_pieces_of_any_length_come_out_within_one_bar_of_the_bound() {
    for seed in 0..12 {
        let wanted = sixty(seed);
        for kinds in [&[(2400.0, None)][..], &[(2400.0, None), (3000.0, None)]] {
            let stock = bars(kinds, 2.5);
            let plan = cut(&wanted, &stock).unwrap();
            holds(&plan, &wanted, &stock);
            let over_mm = plan.stock_mm - plan.bound_mm;
            assert!(over_mm <= 2400.0, "seed {seed}: {} against {}", plan.stock_mm, plan.bound_mm);
        }
    }
}

#[test]
fn bars_of_limited_number_are_used_well_even_where_it_is_not_proven() {
    for seed in [2, 5, 8, 11] {
        let (wanted, stock) = (sixty(seed), bars(&[(2400.0, None), (3000.0, Some(3)), (1700.0, Some(5))], 2.5));
        let plan = cut(&wanted, &stock).unwrap();
        holds(&plan, &wanted, &stock);
        assert!(plan.stock_mm <= 1.05 * plan.bound_mm, "seed {seed}: {} against {}", plan.stock_mm, plan.bound_mm);
    }
}

#[test]
fn thousands_of_alike_pieces_are_no_trouble() {
    let wanted = pieces(&[(82.6, 20_000), (91.2, 4000)]);
    let stock = bars(&[(2400.0, None)], 2.5);
    let plan = cut(&wanted, &stock).unwrap();
    holds(&plan, &wanted, &stock);
    assert!(plan.stock_mm <= 1.01 * plan.bound_mm, "{} against {}", plan.stock_mm, plan.bound_mm);
}

#[test]
fn a_bar_that_is_shorter_than_a_piece_is_left_to_the_others() {
    let (wanted, stock) = (pieces(&[(1500.0, 2), (900.0, 2)]), bars(&[(1000.0, None), (1600.0, Some(2))], 0.0));
    let plan = cut(&wanted, &stock).unwrap();
    holds(&plan, &wanted, &stock);
    assert_eq!((plan.stock_mm, plan.proven), (5200.0, true));
}

#[test]
fn pieces_longer_than_half_a_bar_are_proven_to_need_one_each() {
    let wanted = pieces(&(0..121).map(|i| (1300.0 + f64::from(i), 4)).collect::<Vec<_>>());
    let stock = bars(&[(2500.0, None)], 0.0);
    let plan = cut(&wanted, &stock).unwrap();
    holds(&plan, &wanted, &stock);
    assert_eq!((plan.bars.len(), plan.proven), (484, true));
}

#[test]
fn one_piece_to_a_bar_is_proven_among_bars_of_nearly_the_same_length() {
    for count in [600, 1200] {
        let (wanted, stock) = (pieces(&[(90.0, count)]), bars(&[(100.0, None), (100.001, None)], 0.0));
        let plan = cut(&wanted, &stock).unwrap();
        holds(&plan, &wanted, &stock);
        assert_eq!((plan.bars.len(), plan.proven), (count, true));
    }
}

#[test]
fn where_every_bar_is_needed_to_its_end_a_search_finds_the_plan_or_says_that_it_does_not_know() {
    let exactly = |seed: u64, count: usize| {
        let mut wanted = triples(seed, count);
        wanted.push((251.0, 1));
        let (wanted, stock) = (pieces(&wanted), bars(&[(1000.0, Some(count)), (251.0, Some(1))], 0.0));
        (cut(&wanted, &stock), wanted, stock)
    };
    let (plan, wanted, stock) = exactly(733, 14);
    let plan = plan.unwrap();
    holds(&plan, &wanted, &stock);
    assert_eq!((plan.bars.len(), plan.proven), (15, true));
    assert!(plan.bars.iter().all(|b| b.rest_mm == 0.0));
    // There is a plan here, too, but the steps do not suffice to find it: that must not be called certain.
    assert_eq!(exactly(718, 20).0, Err(CuttingError::NotEnough { certain: false }));
}

#[test]
fn what_is_left_over_is_left_in_one_piece() {
    // 4 x 600 and 2 x 900 on bars of 2400: 1800 and 2400, not 2100 twice.
    let (wanted, stock) = (pieces(&[(900.0, 2), (600.0, 4)]), bars(&[(2400.0, None)], 0.0));
    let plan = cut(&wanted, &stock).unwrap();
    holds(&plan, &wanted, &stock);
    assert_eq!(plan.bars.iter().map(|b| b.rest_mm).collect::<Vec<_>>(), [0.0, 600.0]);
}

#[test]
fn what_cannot_be_cut_is_said() {
    let stock = bars(&[(1000.0, Some(2))], 3.0);
    let too_long = cut(&pieces(&[(10.0, 1), (1000.1, 1)]), &stock).unwrap_err();
    assert_eq!(too_long, CuttingError::TooLong { piece: 1, longest_mm: 1000.0 });
    assert_eq!(cut(&pieces(&[(600.0, 3)]), &stock).unwrap_err(), CuttingError::NotEnough { certain: true });
    assert!(cut(&[], &stock).unwrap().bars.is_empty());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    #[test]
    fn small_problems_come_out_as_if_everything_were_tried(
        lengths in prop::collection::vec(50_u32..700, 1..8),
        kinds in prop::collection::vec((700_u32..1500, prop::option::of(0_usize..4)), 1..3),
        kerf in 0_u32..6,
    ) {
        let wanted = pieces(&lengths.iter().map(|l| (f64::from(*l), 1)).collect::<Vec<_>>());
        let kinds: Vec<_> = kinds.iter().map(|(l, q)| (f64::from(*l), *q)).collect();
        let stock = bars(&kinds, f64::from(kerf));
        let all: Vec<f64> = wanted.iter().map(|p| p.length_mm).collect();
        match (cut(&wanted, &stock), brute_force(&all, &stock)) {
            (Ok(plan), Some(least)) => {
                holds(&plan, &wanted, &stock);
                prop_assert!(plan.proven && (plan.stock_mm - least).abs() < 1e-6, "{} is not {least}", plan.stock_mm);
            }
            (Err(CuttingError::NotEnough { certain }), None) => prop_assert!(certain),
            (Err(CuttingError::TooLong { .. }), None) => {}
            (found, least) => prop_assert!(false, "{found:?} where {least:?} is right"),
        }
    }

    #[test]
    fn any_plan_holds(
        lengths in prop::collection::vec((20.0_f64..900.0, 1_usize..9), 1..12),
        trim in 0.0_f64..20.0,
        kerf in 0.0_f64..5.0,
    ) {
        let wanted = pieces(&lengths);
        let stock = BarStock { end_trim_mm: trim, ..bars(&[(1200.0, None), (2000.0, Some(3))], kerf) };
        holds(&cut(&wanted, &stock).unwrap(), &wanted, &stock);
    }
}
