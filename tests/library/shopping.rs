//! The shopping list: amounts against plain arithmetic on what the job says, and what they cost.

use overbend::built::{self, Built};
use overbend::document::Document;
use overbend::stock::{Cost, Purchase};
use overbend::units::LengthUnit;

const LAKE: &str = include_str!("../../examples/lake-board/job.toml");

fn shopping(changes: &[(&str, &str)], more: &str) -> Built {
    let mut text = LAKE.to_owned();
    for (from, to) in changes {
        assert!(text.contains(from), "{from} is not in the example");
        text = text.replace(from, to);
    }
    let text = format!("{text}\n{more}\n[forecast]\ndraws = 0\n");
    let document = Document::parse("job", &text).unwrap_or_else(|p| panic!("{p:#?}"));
    built::compute(&document.job().unwrap_or_else(|p| panic!("{p:#?}"))).unwrap_or_else(|f| panic!("{f:#?}"))
}

#[track_caller]
fn bought<'b>(list: &'b [Purchase], item: &str) -> &'b Purchase {
    let names: Vec<String> = list.iter().map(|p| p.item.text(LengthUnit::Millimetre)).collect();
    let at = names.iter().position(|n| n == item).unwrap_or_else(|| panic!("`{item}` is not in {names:?}"));
    &list[at]
}

#[track_caller]
fn amount(list: &[Purchase], item: &str, expected: f64, unit: &str) {
    let purchase = bought(list, item);
    let (number, name) = purchase.amount.number();
    assert!((number - expected).abs() < 1e-9 * expected.max(1.0) && name == unit, "{item}: {number} {name}");
    assert!(!purchase.from.is_empty(), "{item}");
}

#[test]
fn hardware_and_screws_are_counted_from_rods_ribs_and_pitch() {
    let lake = shopping(&[], "");
    let list = &lake.shopping.table;
    // Four rods; six ribs over 520 mm at 110 mm, a screw every 150 mm and one at the end.
    amount(list, "nut for rod 10 mm", 8.0, "pieces");
    amount(list, "washer for rod 10 mm", 8.0, "pieces");
    let ribs = lake.jig.ribs.len();
    assert_eq!(ribs, 6);
    let (long, pitch) = (lake.jig.surface.curvature().length_mm(), lake.carried.fastening.pitch_mm);
    let each = (1..).find(|n| f64::from(*n) * pitch >= long).unwrap() + 1;
    amount(list, "screw for the table skin", (ribs * each as usize) as f64, "pieces");
    amount(list, "table skin", long * 520.0 * 1e-6, "m²");
    let rods = bought(list, "threaded rod 10 mm");
    assert_eq!(rods.size.is_empty(), rods.amount.number().1 == "m");
}

#[test]
fn plies_of_unlike_thickness_are_listed_apart() {
    let core = "taper = [[-600, 3], [0, 5], [600, 3]]\nthickness = 4\ntapered_plies = [1, 3]\nplies = 3";
    let built = shopping(&[("thickness = 4\nplies = 2", core)], "");
    let sizes: Vec<String> = built
        .shopping
        .pressing
        .iter()
        .map(|p| p.size.text(LengthUnit::Millimetre))
        .filter(|s| s.contains("piece"))
        .collect();
    assert!(sizes.iter().any(|s| s.starts_with("2 pieces") && s.ends_with("5 mm thick")), "{sizes:?}");
    assert!(sizes.iter().any(|s| s.starts_with("1 piece ") && s.ends_with("4 mm thick")), "{sizes:?}");
}

#[test]
fn the_list_of_a_jig_built_by_hand_has_its_packing_and_screws() {
    let text = include_str!("../../examples/street-deck/job.toml");
    let job = Document::parse("job", text).unwrap().job().unwrap();
    let deck = built::compute(&job).unwrap();
    let all = |list: &[Purchase], word: &str| -> usize {
        let of = list.iter().filter(|p| p.item.text(LengthUnit::Millimetre).starts_with(word));
        of.map(|p| p.amount.number().0 as usize).sum()
    };
    let packing: usize = deck.jig.bearers.iter().map(|b| b.packing_mm.len()).sum();
    assert_eq!(all(&deck.shopping.table, "packing"), packing);
    assert_eq!(all(&deck.shopping.table, "screw for the bearers"), 2 * deck.jig.bearers.len());
}

#[test]
fn dry_fabric_takes_resin_by_its_mass_and_the_part_of_fibre() {
    let skins = ("thickness = 0.8", "thickness = 0.35\nfabric = 300\nfibre_fraction = 0.4");
    let plain = shopping(&[], "");
    assert_eq!(plain.shopping.resin.wetting_g, 0.0);
    let lake = shopping(&[skins], "");
    let blank_m2 = 410.0 * lake.consumables.blank.length_mm * 1e-6;
    // Two skins of 300 g/m², each gram of fibre with a gram and a half of resin.
    let wetting_kg = 1e-3 * 300.0 * 1.5 * blank_m2;
    amount(&lake.shopping.pressing, "mixed resin to wet out base skin", wetting_kg, "kg");
    amount(&lake.shopping.pressing, "mixed resin to wet out deck skin", wetting_kg, "kg");
    assert!((lake.shopping.resin.wetting_g - 2e3 * wetting_kg).abs() < 1e-6);
    // Three glue lines between four layers, at most 250 g/m².
    amount(&lake.shopping.pressing, "epoxy, mixed", 3.0 * 0.250 * blank_m2, "kg");
    let pair = shopping(&[skins, ("width = 400", "width = 400\ncount = 2")], "");
    amount(&pair.shopping.pressing, "mixed resin to wet out base skin", 2.0 * wetting_kg, "kg");
    amount(&pair.shopping.pressing, "core, paulownia", 4.0 * blank_m2, "m²");
}

#[test]
fn water_based_glue_is_bought_as_it_is_spread() {
    let glued = shopping(&[("glue = \"epoxy\"", "glue = \"water-based\"\nglue_spread = 180")], "");
    let blank_m2 = 410.0 * glued.consumables.blank.length_mm * 1e-6;
    amount(&glued.shopping.pressing, "water-based glue", 3.0 * 0.180 * blank_m2, "kg");
    assert_eq!(glued.shopping.resin.glue_g.0, glued.shopping.resin.glue_g.1);
}

#[test]
fn costs_of_table_and_board_stand_apart_and_what_has_no_price_is_counted() {
    let none = shopping(&[], "");
    assert_eq!((Cost::of(&none.shopping.table), Cost::of(&none.shopping.pressing)), (None, None));
    let prices = "[prices]\ncurrency = \"EUR\"\nnut = 0.2\nwasher = 0.1\nskin = 18\nfilm = \"0.0929 per ft2\"\nresin = \"9 per lb\"\n";
    let lake = shopping(&[("plies = 2", "plies = 2\nprice = 30"), ("width = 400", "width = 400\ncount = 2")], prices);
    let table = Cost::of(&lake.shopping.table).unwrap();
    let skin_m2 = lake.jig.surface.curvature().length_mm() * lake.jig.width_mm * 1e-6;
    assert!((table.sum - (8.0 * 0.3 + 18.0 * skin_m2)).abs() < 1e-9, "{table:?}");
    assert_eq!(table.without_price, lake.shopping.table.len() - 3);
    let pressing = Cost::of(&lake.shopping.pressing).unwrap();
    let core = 30.0 * 4.0 * 410.0 * lake.consumables.blank.length_mm * 1e-6;
    let film = lake.consumables.film;
    let film = 0.0929 / 0.092_903_04 * 2.0 * film.length_mm * film.width_mm * 1e-6;
    let resin = 9.0 / 0.453_592_37 * lake.shopping.resin.glue_g.1 * 1e-3;
    assert!((pressing.sum - (core + film + resin)).abs() < 1e-6, "{pressing:?}");
    let outcome = overbend::run::files(lake).unwrap();
    let each = format!("each board {:.2} EUR", 0.5 * pressing.sum);
    assert!(outcome.summary.contains(&each), "{each} is not in {}", outcome.summary);
    let csv = outcome.files.iter().find(|f| f.name == "shopping.csv").unwrap();
    let csv = std::str::from_utf8(&csv.bytes).unwrap();
    assert!(csv.contains("board,each,,,,") && csv.contains(&format!("{:.2}", 0.5 * pressing.sum)), "{csv}");
}
