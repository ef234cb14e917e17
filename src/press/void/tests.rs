use super::*;
use crate::close::close_rel;
use crate::curve::Curvature;
use crate::job::{Layer, Material, MaterialKind, Thickness};
use crate::press::{Blank, LineForce, press};

fn strips(lower: f64, upper: f64, k: f64) -> [Strip; 2] {
    let strip = |stiffness: f64, pressure_mpa: f64| Strip {
        nodes_mm: (0..=120).map(|i| f64::from(i) / 120.0).collect(),
        elements: vec![Element { stiffness_n_mm: [stiffness; 2], bend_per_mm: [k; 2], pressure_mpa }; 120],
        forces_n_per_mm: Vec::new(),
    };
    [strip(lower, 0.0), strip(upper, 1.0)]
}

/// Distance of the upper of two strips from the lower.
fn gaps(strips: &[Strip; 2]) -> Vec<f64> {
    let heights = lay(strips).unwrap();
    heights[0].iter().zip(&heights[1]).map(|(low, high)| high - low).collect()
}

#[test]
fn the_gap_opens_under_the_stiff_layer_wherever_it_lies() {
    // Two layers that have the table's curve by themselves under a stiff one that has not: they stay on the table, and
    // the stiff one bridges over them as over the table itself, by (9/128) B k²/p.
    let [mut soft, stiff] = strips(0.05, 1.0, 0.05);
    soft.elements.iter_mut().for_each(|e| e.bend_per_mm = [0.0; 2]);
    let heights = lay(&[soft.clone(), soft, stiff]).unwrap();
    let widest = |low: usize| heights[low].iter().zip(&heights[low + 1]).map(|(a, b)| b - a).fold(0.0, f64::max);
    let expected = 9.0 / 128.0 * 0.05_f64.powi(2);
    assert!(widest(0) < 0.05 * expected, "{}", widest(0));
    assert!((widest(1) / expected - 1.0).abs() < 0.03, "{} is not {expected}", widest(1));
}

#[test]
fn alike_layers_stay_together_in_a_hollow_and_their_gap_is_that_of_both() {
    // Two strips of half the stiffness in one hollow: the stack lifts by (9/128) B k²/p as a whole, as the lower one is
    // no softer than the upper and follows it up.
    let gaps = gaps(&strips(0.5, 0.5, 0.05));
    let widest = gaps.iter().copied().fold(0.0, f64::max);
    assert!(widest < 0.05 * 9.0 / 128.0 * 0.05_f64.powi(2), "{widest}");
}

#[test]
fn a_lower_layer_without_stiffness_of_its_own_parts_by_no_more_than_the_stack_lifts() {
    let alone = contact::solve(&strips(1e-6, 1.0, 0.05)[1], None).unwrap();
    let lift = alone.gap_mm.iter().copied().fold(0.0, f64::max);
    let gaps = gaps(&strips(1e-6, 1.0, 0.05));
    let widest = gaps.iter().copied().fold(0.0, f64::max);
    assert!(widest <= 1.001 * lift, "{widest} {lift}");
}

const K_PER_MM: f64 = -1e-3;
const E_MPA: f64 = 10_000.0;

/// A strip of wood, `natural_per_mm` bent by itself.
fn strip(thickness_mm: f64, natural_per_mm: f64) -> Layer {
    let wood = Material::of_modulus("given", MaterialKind::WoodAlong, E_MPA);
    Layer { natural_curvature_per_mm: natural_per_mm, ..Layer::flat("strip", wood, thickness_mm) }
}

/// How the flat blank turns on the hump, where the middle of its thickness lies this far over the table.
fn turn(middle_mm: f64) -> f64 {
    K_PER_MM / (1.0 - K_PER_MM * middle_mm)
}

/// What parts between two places along a hump that reaches 400 mm to both sides.
fn void(layers: &[Layer], load: &Load, between_mm: (f64, f64)) -> Void {
    let laminate = Laminate::new(layers, 0.0).unwrap();
    let table = Curvature::through(&[(-400.0, K_PER_MM), (400.0, K_PER_MM)]).unwrap();
    let pressed = press(&table, &laminate, Blank { tail_mm: -300.0, tip_mm: 300.0 }, load).unwrap();
    pressed.largest_void(&laminate, load, between_mm).unwrap().unwrap()
}

const ALL: (f64, f64) = (-400.0, 400.0);

/// The end of a flat strip, B κ²/(2 p) over the hump (own derivation), leaves a lower one that has the hump's curve by itself.
#[test]
fn a_flat_strip_lifts_off_one_that_was_bent_to_the_hump() {
    let (bent, flat) = (strip(8.0, turn(8.0)), strip(8.0, 0.0));
    let load = Load::even(0.05);
    let expected = E_MPA * 8.0_f64.powi(3) / 12.0 * turn(8.0).powi(2) / (2.0 * 0.05);
    let layers = [bent.clone(), flat.clone()];
    let widest = void(&layers, &load, ALL);
    close_rel(widest.gap_mm, expected, 3e-3);
    assert_eq!(widest.above, 0);
    // At the tip as at the tail, 300 mm along the blank; in the middle nothing parts.
    let tip = void(&layers, &load, (0.0, 400.0));
    close_rel(tip.gap_mm, expected, 3e-3);
    close_rel(tip.table_mm, 300.0 / (1.0 - 8.0 * K_PER_MM), 1e-6);
    assert!(void(&layers, &load, (-100.0, 100.0)).gap_mm < 1e-3 * expected);
    // One that is bent a little more presses its ends on the table, and the flat strip lifts as over the table itself.
    let tighter = void(&[strip(8.0, 1.02 * turn(8.0)), flat.clone()], &load, (200.0, 400.0));
    close_rel(tighter.gap_mm, expected, 5e-3);
    // Two layers bent to the hump stay together, and a caul lifts with the flat one; two flat ones stay together as well.
    let middle = turn(12.0);
    let (bent, load) = (strip(8.0, middle), Load { caul_stiffness_n_mm: 2.0 * E_MPA * 8.0_f64.powi(3) / 12.0, ..load });
    let upper = void(&[bent.clone(), bent.clone(), flat.clone()], &load, ALL);
    assert_eq!(upper.above, 1);
    close_rel(upper.gap_mm, 3.0 * expected * (middle / turn(8.0)).powi(2), 5e-3);
    let lower = void(&[bent, flat.clone(), flat], &load, ALL);
    assert_eq!(lower.above, 0);
    close_rel(lower.gap_mm, 4.0 * expected * (middle / turn(8.0)).powi(2), 5e-3);
}

/// With p a²/2 + F a = B κ at the last touch, the end is κ a²/2 - p a⁴/(8 B) - F a³/(3 B) over the hump (own derivation).
#[test]
fn a_force_at_the_end_holds_the_flat_strip_down_there_and_not_at_the_other() {
    let (pressure, force, stiffness) = (0.02, 2.0, E_MPA * 8.0_f64.powi(3) / 12.0);
    let k = turn(8.0).abs();
    let load = Load { forces: vec![LineForce { blank_mm: 300.0, force_n_per_mm: force }], ..Load::even(pressure) };
    let a = ((force * force + 2.0 * pressure * stiffness * k).sqrt() - force) / pressure;
    let held = 0.5 * k * a * a - (pressure * a.powi(4) / 8.0 + force * a.powi(3) / 3.0) / stiffness;
    let layers = [strip(8.0, turn(8.0)), strip(8.0, 0.0)];
    close_rel(void(&layers, &load, (200.0, 400.0)).gap_mm, held, 5e-3);
    close_rel(void(&layers, &load, (-400.0, 0.0)).gap_mm, stiffness * k * k / (2.0 * pressure), 3e-3);
}

/// The end's height is ∫ (κ - M/B) u du from the end to the last touch, with M = p u²/2 and B κ = p a²/2 there.
#[test]
fn a_strip_that_thins_toward_its_ends_lifts_by_what_its_own_stiffness_asks() {
    let thin = |s: f64| 1.5 - s.abs() / 300.0;
    let upper =
        Layer { thickness: Thickness::Tapered(vec![(-300.0, 0.5), (0.0, 1.5), (300.0, 0.5)]), ..strip(1.0, 0.0) };
    let (pressure, k) = (1e-4, K_PER_MM.abs());
    let stiffness = |u: f64| E_MPA * thin(300.0 - u).powi(3) / 12.0;
    let (mut touch, mut beyond) = (0.0, 300.0);
    for _ in 0..60 {
        let a = 0.5 * (touch + beyond);
        if stiffness(a) * k > 0.5 * pressure * a * a { touch = a } else { beyond = a }
    }
    let steps = 2000;
    let height: f64 = (0..steps)
        .map(|i| (f64::from(i) + 0.5) * touch / f64::from(steps))
        .map(|u| (k - 0.5 * pressure * u * u / stiffness(u)) * u * touch / f64::from(steps))
        .sum();
    let found = void(&[strip(1.0, K_PER_MM), upper], &Load::even(pressure), ALL);
    close_rel(found.gap_mm, height, 5e-3);
}

#[test]
fn beyond_the_end_of_a_short_layer_the_gap_counts_between_those_that_are_there() {
    let load = Load::even(0.05);
    let (bent, flat) = (strip(8.0, turn(8.0)), strip(8.0, 0.0));
    let short = Layer { extent_mm: Some((-40.0, 40.0)), ..strip(0.05, 0.0) };
    let without = void(&[bent.clone(), flat.clone()], &load, ALL);
    let found = void(&[bent, short, flat], &load, ALL);
    close_rel(found.gap_mm, without.gap_mm, 2e-2);
    assert_eq!(found.above, 0);
    // One that ends where the layers part has, on either side of its end, the strips of that side.
    let short = Layer { extent_mm: Some((-240.0, 260.0)), ..strip(4.0, 0.0) };
    let laminate = Laminate::new(&[strip(8.0, 0.0), short, strip(2.0, 0.0)], 0.0).unwrap();
    let table = Curvature::through(&[(-400.0, K_PER_MM), (400.0, K_PER_MM)]).unwrap();
    let pressed = press(&table, &laminate, Blank { tail_mm: -300.0, tip_mm: 300.0 }, &load).unwrap();
    let (strips, present) = pressed.strips(&laminate, &load);
    let whole = |s: f64| laminate.sliding_at(s).iter().map(|g| g.0).sum::<f64>();
    for (i, ends) in pressed.stations.windows(2).enumerate() {
        let middle = 0.5 * (ends[0].blank_mm + ends[1].blank_mm);
        for (body, (own, _)) in laminate.sliding_at(middle).into_iter().enumerate() {
            assert_eq!(
                strips[body].elements[i].stiffness_n_mm,
                [own.max(ABSENT * whole(middle)); 2],
                "{body} {middle}"
            );
        }
    }
    for (i, station) in pressed.stations.iter().enumerate() {
        let inside = station.blank_mm > -240.0 + 1e-5 && station.blank_mm < 260.0 - 1e-5;
        assert_eq!([present[0][i], present[1][i], present[2][i]], [true, inside, true], "{}", station.blank_mm);
    }
}
