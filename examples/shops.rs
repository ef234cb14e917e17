//! How near boards come to what is wanted while a shop learns: `cargo run --release --example shops [SHOPS]`.
#![allow(
    clippy::unwrap_used,
    clippy::print_stdout,
    clippy::disallowed_methods,
    reason = "a program that says what it finds and stops at a surprise"
)]

#[path = "../tests/shops/rows.rs"]
mod rows;
#[path = "../tests/shops/simulation.rs"]
mod simulation;

use simulation::{Core, Figures, figures};

fn main() {
    let shops = std::env::args().nth(1).and_then(|n| n.parse().ok()).unwrap_or(5000);
    let all: Vec<Figures> = [Core::Strips(1), Core::Tested, Core::Strips(6)].map(|c| figures(1, shops, c)).into();
    println!(
        "| 95 of 100 tips of {shops} shops keep within | core of one piece | one piece, each sag-tested | six strips |\n\
         |---|---|---|---|"
    );
    let row = |what: &str, of: &dyn Fn(&Figures) -> f64| {
        let cells: Vec<String> = all.iter().map(|f| format!("{:.1} mm", of(f))).collect();
        println!("| {what} | {} |", cells.join(" | "));
    };
    row("first board, catalogue values", &|f| f.catalogue);
    row("first board, sag test of the batch", &|f| f.sag_test);
    for i in 0..simulation::BOARDS - 1 {
        row(&format!("board {}, learned from {}", i + 2, i + 1), &|f| f.learned[i]);
    }
    row("any board, were the shop's factor known for certain", &|f| f.known);
    let percent = |f: &Figures| format!("{:.0} and {:.0} %", 100.0 * f.held.0, 100.0 * f.held.1);
    println!(
        "\nThe band of nine in ten held the shop's factor after one board and after {} in {} of shops with cores of one \
         piece, {} with sag-tested ones, {} with cores of six strips.",
        simulation::BOARDS - 1,
        percent(&all[0]),
        percent(&all[1]),
        percent(&all[2])
    );
    println!(
        "\n| shops | board | 95 of 100 tips within | of a shop that knows | median | factor held | tip held |\n|---|---|---|---|---|---|---|"
    );
    for kind in rows::KINDS {
        let row = rows::row(kind, shops);
        for i in 0..rows::BOARDS - 1 {
            println!(
                "| {} | {} | {:.2} mm | {:.2} mm | {:.2} mm | {:.0} % | {:.0} % |",
                kind.name,
                i + 2,
                row.p95_mm[i],
                row.knowing_mm[i],
                row.median_mm[i],
                100.0 * row.factor_held[i],
                100.0 * row.tip_held[i]
            );
        }
    }
}
