//! What is to be bought for the table, and for every pressing.

use super::say::Say;
use crate::built::Built;
use crate::draft::shopping::{cost_words, money};
use crate::drawing::{Block, Cell, Listing};
use crate::stock::{Amount, Cost, Purchase};
use crate::units::{Quantity, mass};

/// The two lists, and what they cost where prices are given.
pub(super) fn blocks(built: &Built, say: Say) -> Vec<Block> {
    let shopping = &built.shopping;
    let boards = match built.design.job.board.count {
        1 => "For one board".to_owned(),
        count => format!("For the {count} boards of one pressing"),
    };
    let mut blocks = vec![Block::Paragraph(
        "Amounts are what is used, without waste where no waste is named. Buy whole sheets, bars and packs, and a spare of \
         what tears."
            .to_owned(),
    )];
    let lists = [("For the table, once".to_owned(), &shopping.table), (boards, &shopping.pressing)];
    blocks.extend(lists.into_iter().filter(|(_, of)| !of.is_empty()).map(|(title, of)| table(built, title, of, say)));
    blocks.extend(cost_words(built).map(|words| Block::Paragraph(format!("Cost of material: {words}."))));
    blocks
}

fn table(built: &Built, title: String, purchases: &[Purchase], say: Say) -> Block {
    let priced = Cost::of(purchases);
    let mut heads = vec!["item", "amount", "size", "worked out from"];
    heads.extend(priced.map(|_| "cost"));
    let mut listing = Listing::new(title, &heads);
    for purchase in purchases {
        let mut row = vec![
            Cell::text(purchase.item.text(say.unit)),
            Cell::Figure(amount(purchase.amount, say)),
            Cell::text(purchase.size.text(say.unit)),
            Cell::text(purchase.from.text(say.unit)),
        ];
        row.extend(priced.map(|_| Cell::Figure(purchase.cost().map_or(String::new(), |cost| money(built, cost)))));
        listing.rows.push(row);
    }
    Block::Table(listing)
}

/// An amount in the units of the shop.
fn amount(amount: Amount, say: Say) -> String {
    match amount {
        Amount::Pieces(count) => count.to_string(),
        Amount::Length(m) => say.length(1e3 * m),
        Amount::Area(m2) => say.show(Quantity::surface(m2)),
        Amount::Mass(kg) => mass(1e3 * kg, say.unit),
    }
}
