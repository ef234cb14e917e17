//! What is bought, as a listing, a line and JSON.

use serde_json::{Value, json};

use super::json::figure;
use super::lines::Line;
use crate::built::Built;
use crate::drawing::{Cell, Listing};
use crate::stock::{Amount, Cost, Purchase};
use crate::units::{LengthUnit, counted, decimal};

/// Decimals of money.
const CENTS: usize = 2;

/// A sum of money with its currency.
pub(super) fn money(built: &Built, sum: f64) -> String {
    let currency = built.design.job.prices.currency.as_deref();
    format!("{} {}", decimal(sum, CENTS), currency.unwrap_or_default()).trim_end().to_owned()
}

/// What one board costs of what a pressing costs.
pub(super) fn board_cost(built: &Built, pressing: Cost) -> f64 {
    pressing.sum / built.design.job.board.count as f64
}

/// What costs how much and what has no price; `None` where nothing has one.
pub(super) fn cost_words(built: &Built) -> Option<String> {
    let shopping = &built.shopping;
    let (table, pressing) = (Cost::of(&shopping.table), Cost::of(&shopping.pressing));
    let missing = |of: &[Purchase]| of.iter().filter(|p| p.price.is_none()).count();
    let without = missing(&shopping.table) + missing(&shopping.pressing);
    let words = match (table, pressing) {
        (None, None) => return None,
        (table, pressing) => [
            table.map(|cost| format!("table {}", money(built, cost.sum))),
            pressing.map(|cost| format!("each board {}", money(built, board_cost(built, cost)))),
        ],
    };
    let words: Vec<String> = words.into_iter().flatten().collect();
    let without = if without > 0 { format!("; {} without a price", counted(without, "item")) } else { String::new() };
    Some(format!("{}{without}", words.join(", ")))
}

/// The summary's line about costs.
pub(super) fn cost_line(built: &Built) -> Option<Line> {
    cost_words(built).map(|words| ("cost", words))
}

fn number(amount: Amount) -> Cell {
    let (number, _) = amount.number();
    match amount {
        Amount::Pieces(count) => Cell::count(count),
        Amount::Length(_) => Cell::Number(number, 2),
        Amount::Area(_) | Amount::Mass(_) => Cell::Number(number, 3),
    }
}

/// All that is bought, with sizes in a shop's unit.
pub(crate) fn shopping(built: &Built) -> Listing {
    let unit = built.design.job.unit;
    let columns = ["for", "item", "amount", "unit", "size", "worked_out_from", "price_of_one", "cost"];
    let mut listing = Listing::new("Shopping list", &columns);
    let money = |sum: Option<f64>| sum.map_or(Cell::text(""), |sum| Cell::Number(sum, CENTS));
    let shopping = &built.shopping;
    for (what, purchases) in [("table", &shopping.table), ("boards", &shopping.pressing)] {
        for purchase in purchases {
            listing.rows.push(row(what, purchase, unit, money));
        }
        if let Some(cost) = Cost::of(purchases) {
            listing.rows.push(total(what, "all", (cost.sum, cost.without_price), money));
        }
    }
    if let Some(cost) = Cost::of(&shopping.pressing) {
        listing.rows.push(total("board", "each", (board_cost(built, cost), cost.without_price), money));
    }
    listing
}

fn row(what: &str, purchase: &Purchase, unit: LengthUnit, money: impl Fn(Option<f64>) -> Cell) -> Vec<Cell> {
    vec![
        Cell::text(what),
        Cell::text(purchase.item.text(unit)),
        number(purchase.amount),
        Cell::text(purchase.amount.number().1),
        Cell::text(purchase.size.text(unit)),
        Cell::text(purchase.from.text(unit)),
        money(purchase.price),
        money(purchase.cost()),
    ]
}

fn total(what: &str, item: &str, (sum, without_price): (f64, usize), money: impl Fn(Option<f64>) -> Cell) -> Vec<Cell> {
    let from = match without_price {
        0 => String::new(),
        count => format!("{} without a price not counted", counted(count, "item")),
    };
    let mut row = vec![Cell::text(what), Cell::text(item)];
    row.extend(["", "", ""].map(Cell::text));
    row.extend([Cell::text(from), Cell::text(""), money(Some(sum))]);
    row
}

/// The key `shopping` of `result.json`.
pub(super) fn shopping_json(built: &Built) -> Value {
    let unit = built.design.job.unit;
    let one = |purchase: &Purchase| {
        let (number, name) = purchase.amount.number();
        json!({
            "item": purchase.item.text(unit),
            "amount": figure(number),
            "unit": name,
            "price": purchase.price.map(figure),
            "cost": purchase.cost().map(figure),
        })
    };
    let list = |purchases: &[Purchase]| purchases.iter().map(one).collect::<Vec<_>>();
    let shopping = &built.shopping;
    let (table, pressing) = (Cost::of(&shopping.table), Cost::of(&shopping.pressing));
    json!({
        "currency": built.design.job.prices.currency,
        "table": list(&shopping.table),
        "boards": list(&shopping.pressing),
        "table_cost": table.map(|c| figure(c.sum)),
        "boards_cost": pressing.map(|c| figure(c.sum)),
        "board_cost": pressing.map(|c| figure(board_cost(built, c))),
    })
}
