//! Parts on sheets, held to an independent library of arc outlines: nothing overlaps, gaps are kept, all is inside.

use cavalier_contours::polyline::{BooleanOp, PlineSource, PlineSourceMut, Polyline};
use kurbo::{Point, Rect};
use overbend::drawing::{Contour, Vertex};
use overbend::job::{Grain, Nesting, SheetStock};
use overbend::stock::{Nest, nest};
use proptest::prelude::*;

/// A rib with a flat base, a flat middle of the top, and an arc up to each end that leaves the flat without a kink.
fn rib(length: f64, lowest: f64, highest: f64, flat: f64) -> Contour {
    let (reach, rise) = (0.5 * (length - flat), highest - lowest);
    let bulge = (0.5 * (rise / reach).atan()).tan();
    Contour::closed(vec![
        Vertex::line(Point::new(0.0, 0.0)),
        Vertex::line(Point::new(length, 0.0)),
        Vertex { point: Point::new(length, highest), bulge: -bulge },
        Vertex::line(Point::new(length - reach, lowest)),
        Vertex { point: Point::new(reach, lowest), bulge: -bulge },
        Vertex::line(Point::new(0.0, highest)),
    ])
    .unwrap()
}

fn rectangle(length: f64, width: f64) -> Contour {
    Contour::polygon([(0.0, 0.0), (length, 0.0), (length, width), (0.0, width)].map(Point::from)).unwrap()
}

fn sheet(length_mm: f64, width_mm: f64, quantity: Option<usize>) -> SheetStock {
    let name = "plywood".to_owned();
    SheetStock {
        name,
        length_mm,
        width_mm,
        thickness_mm: None,
        grain: Grain::Along,
        quantity,
        density_kg_m3: None,
        price: None,
    }
}

fn rules(margin_mm: f64, gap_mm: f64) -> Nesting {
    Nesting { margin_mm, gap_mm, grain: Grain::Along, turn: true, mirror: false }
}

fn as_polyline(contour: &Contour) -> Polyline {
    let mut pline = Polyline::new_closed();
    for v in contour.vertices() {
        pline.add(v.point.x, v.point.y, v.bulge);
    }
    if pline.area() < 0.0 {
        pline.invert_direction_mut()
    };
    pline
}

/// Every part once or said to be left; on each sheet all inside the margins and the gap between any two.
#[track_caller]
fn holds(found: &Nest, parts: &[&Contour], stock: &[SheetStock], rules: &Nesting) {
    let mut seen: Vec<usize> = found.sheets.iter().flat_map(|s| s.placed.iter().map(|p| p.part)).collect();
    seen.extend(found.too_large.iter().chain(&found.left_over));
    seen.sort_unstable();
    assert_eq!(seen, (0..parts.len()).collect::<Vec<_>>());
    for (i, kind) in stock.iter().enumerate() {
        let used = found.sheets.iter().filter(|s| s.stock == i).count();
        assert!(kind.quantity.is_none_or(|q| used <= q), "{used} sheets are used");
    }
    for sheet in &found.sheets {
        let kind = &stock[sheet.stock];
        let inside = Rect::new(0.0, 0.0, kind.length_mm, kind.width_mm).inset(-rules.margin_mm + 1e-4);
        let placed: Vec<Contour> = sheet.placed.iter().map(|p| parts[p.part].placed(&p.placement)).collect();
        let area: f64 = placed.iter().map(|c| c.signed_area_mm2().abs()).sum();
        assert!((sheet.utilisation - area / (kind.length_mm * kind.width_mm)).abs() < 1e-9);
        let widened: Vec<Polyline> = placed
            .iter()
            .map(|c| {
                let bounds = c.bounds();
                assert!(inside.contains_rect(bounds), "{bounds:?} is not inside {inside:?}");
                // To the right of an outline that runs counter-clockwise lies the outside.
                let around = as_polyline(c).parallel_offset(-(0.5 * rules.gap_mm - 0.001));
                around.into_iter().max_by(|a, b| a.area().abs().total_cmp(&b.area().abs())).unwrap()
            })
            .collect();
        for (i, a) in widened.iter().enumerate() {
            for b in &widened[..i] {
                let common = a.boolean(b, BooleanOp::And);
                let area: f64 = common.pos_plines.iter().map(|p| p.pline.area().abs()).sum();
                assert!(area < 1e-6, "two parts come nearer than the gap: {area} mm2 in common");
            }
        }
    }
}

#[test]
fn curved_ribs_settle_into_each_other() {
    // Twelve ribs 1500 mm long, 60 to 140 mm high, 48 % of a sheet's area. By their boxes eight lie on a sheet. Back to
    // back in pairs whose ends dip into each other's hollows, eleven need 5 x 200 + 140 mm and ten gaps: 1200 mm of the
    // 1204 between the margins, so eleven are the most that lie in rows.
    let rib = rib(1500.0, 60.0, 140.0, 405.0);
    let share = 12.0 * rib.signed_area_mm2() / (2440.0 * 1220.0);
    assert!((0.475..0.485).contains(&share), "{share}");
    let (parts, stock, rules) = (vec![&rib; 12], [sheet(2440.0, 1220.0, None)], rules(8.0, 6.0));
    let found = nest(&parts, &stock, &rules);
    holds(&found, &parts, &stock, &rules);
    assert_eq!(found.sheets.iter().map(|s| s.placed.len()).collect::<Vec<_>>(), [11, 1]);
}

#[test]
fn the_same_parts_are_laid_out_the_same_way() {
    let (a, b) = (rib(700.0, 50.0, 90.0, 100.0), rectangle(300.0, 120.0));
    let parts = [&a, &b, &a, &b, &a];
    let stock = [sheet(1500.0, 400.0, None)];
    assert_eq!(nest(&parts, &stock, &rules(5.0, 8.0)), nest(&parts, &stock, &rules(5.0, 8.0)));
}

#[test]
fn grain_decides_which_way_parts_lie() {
    let part = rectangle(500.0, 100.0);
    let lies_along = |sheet_grain, part_grain| {
        let stock = [SheetStock { grain: sheet_grain, ..sheet(600.0, 600.0, None) }];
        let rules = Nesting { grain: part_grain, ..rules(5.0, 5.0) };
        let found = nest(&[&part], &stock, &rules);
        holds(&found, &[&part], &stock, &rules);
        part.placed(&found.sheets[0].placed[0].placement).bounds().width() > 400.0
    };
    assert!(lies_along(Grain::Along, Grain::Along) && lies_along(Grain::Across, Grain::Across));
    assert!(!lies_along(Grain::Across, Grain::Along) && !lies_along(Grain::Along, Grain::Across));
    // Long parts that only fit the other way round.
    let narrow = [sheet(300.0, 600.0, None)];
    assert_eq!(nest(&[&part], &narrow, &rules(5.0, 5.0)).too_large, [0]);
    let free = Nesting { grain: Grain::Free, ..rules(5.0, 5.0) };
    assert!(nest(&[&part], &narrow, &free).too_large.is_empty());
}

#[test]
fn parts_are_turned_and_mirrored_only_where_it_is_allowed() {
    // A wedge: two of them make a rectangle when one is turned, and two mirrored ones do in another way.
    let wedge = Contour::polygon([(0.0, 0.0), (500.0, 0.0), (0.0, 200.0)].map(Point::from)).unwrap();
    let parts = [&wedge; 4];
    let stock = [sheet(530.0, 460.0, None)];
    for (turn, mirror) in [(false, false), (true, false), (false, true), (true, true)] {
        let rules = Nesting { turn, mirror, ..rules(5.0, 5.0) };
        let found = nest(&parts, &stock, &rules);
        holds(&found, &parts, &stock, &rules);
        for p in found.sheets.iter().flat_map(|s| &s.placed) {
            assert!(mirror || !p.placement.mirrored);
            assert!(turn || p.placement.turn_rad == 0.0);
        }
        assert_eq!(found.sheets.len(), if turn { 1 } else { 2 }, "turn {turn}, mirror {mirror}");
    }
}

#[test]
fn sheets_run_out_and_the_smallest_that_suffices_is_taken() {
    let part = rectangle(400.0, 300.0);
    let stock = [sheet(2440.0, 1220.0, Some(1)), sheet(500.0, 400.0, Some(2))];
    let parts = vec![&part; 22];
    let found = nest(&parts, &stock, &rules(10.0, 10.0));
    holds(&found, &parts, &stock, &rules(10.0, 10.0));
    // Five by three on the large one, one on each small one.
    assert_eq!(found.sheets.iter().map(|s| (s.stock, s.placed.len())).collect::<Vec<_>>(), [(0, 15), (1, 1), (1, 1)]);
    assert_eq!((found.left_over.len(), found.too_large.len()), (5, 0));
    let one = nest(&[&part], &stock, &rules(10.0, 10.0));
    assert_eq!(one.sheets[0].stock, 1);
}

/// A star-shaped outline with some arcs.
fn outline() -> impl Strategy<Value = Contour> {
    (5_usize..11, 40.0_f64..500.0, prop::collection::vec((0.5_f64..1.0, -0.12_f64..0.3), 11), 0.4_f64..1.0)
        .prop_filter_map("crosses itself", |(n, size, corners, flat)| {
            let corner = |i: usize| {
                let angle = std::f64::consts::TAU * i as f64 / n as f64;
                let (radius, bulge) = corners[i];
                Vertex { point: Point::new(size * radius * angle.cos(), flat * size * radius * angle.sin()), bulge }
            };
            let contour = Contour::closed((0..n).map(corner).collect()).ok()?;
            // Arcs that dent deeper than the outline is wide would cross it.
            (!self_crossing(&contour)).then_some(contour)
        })
}

fn self_crossing(contour: &Contour) -> bool {
    let points = contour.flattened(0.05);
    let n = points.len();
    let side = |a: Point, b: Point, c: Point| (b - a).cross(c - a);
    (0..n).any(|i| {
        (i + 2..n).filter(|j| (j + 1) % n != i).any(|j| {
            let (a, b, c, d) = (points[i], points[i + 1], points[j], points[(j + 1) % n]);
            side(a, b, c) * side(a, b, d) <= 0.0 && side(c, d, a) * side(c, d, b) <= 0.0
        })
    })
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(24) })]

    #[test]
    fn nothing_overlaps_and_everything_is_inside(
        kinds in prop::collection::vec((outline(), 1_usize..5), 1..5),
        margin in 0.0_f64..20.0,
        gap in 0.1_f64..25.0,
        turn: bool,
        mirror: bool,
        free: bool,
    ) {
        let parts: Vec<&Contour> = kinds.iter().flat_map(|(c, n)| std::iter::repeat_n(c, *n)).collect();
        let stock = [sheet(1250.0, 900.0, None), sheet(800.0, 1250.0, Some(1))];
        let grain = if free { Grain::Free } else { Grain::Along };
        let rules = Nesting { margin_mm: margin, gap_mm: gap, grain, turn, mirror };
        holds(&nest(&parts, &stock, &rules), &parts, &stock, &rules);
    }
}

#[test]
fn a_sheet_that_is_all_margin_takes_nothing() {
    let part = rectangle(4.0, 4.0);
    for (length, width) in [(19.0, 500.0), (500.0, 20.0), (19.0, 19.0)] {
        let stock = [sheet(length, width, None)];
        let found = nest(&[&part], &stock, &rules(10.0, 2.0));
        assert_eq!((found.sheets.len(), found.too_large.as_slice()), (0, &[0][..]), "{length} x {width}");
    }
    let stock = [sheet(19.0, 500.0, None), sheet(30.0, 500.0, None)];
    let found = nest(&[&part], &stock, &rules(10.0, 2.0));
    holds(&found, &[&part], &stock, &rules(10.0, 2.0));
    assert_eq!(found.sheets.iter().map(|s| s.stock).collect::<Vec<_>>(), [1]);
}
