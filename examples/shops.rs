//! How near boards come to what is wanted while a shop learns: `cargo run --release --example shops [SHOPS]`.
#![allow(
    clippy::unwrap_used,
    clippy::print_stdout,
    reason = "a program that says what it finds and stops at a surprise"
)]

#[path = "../tests/shops/simulation.rs"]
mod simulation;

fn main() {
    let shops = std::env::args().nth(1).and_then(|n| n.parse().ok()).unwrap_or(5000);
    let [one, six] = [1, 6].map(|strips| simulation::figures(1, shops, strips));
    println!("| tip within, 95 of 100 of {shops} shops | core of one piece | core of six strips |\n|---|---|---|");
    let row = |what: &str, a: f64, b: f64| println!("| {what} | {a:.1} mm | {b:.1} mm |");
    row("first board, catalogue values", one.catalogue, six.catalogue);
    row("first board, sag test of the core", one.sag_test, six.sag_test);
    for (i, (a, b)) in one.learnt.iter().zip(six.learnt).enumerate() {
        row(&format!("board {}, learnt from {}", i + 2, i + 1), *a, b);
    }
    row("any board, were the shop's factor known for certain", one.known, six.known);
    let percent = |held: (f64, f64)| format!("{:.0} % and {:.0} %", 100.0 * held.0, 100.0 * held.1);
    println!(
        "\nThe band of nine in ten held the shop's factor after one board and after {} in {} (one piece), {} (six strips).",
        simulation::BOARDS - 1,
        percent(one.held),
        percent(six.held)
    );
}
