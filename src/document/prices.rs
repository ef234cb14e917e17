//! `[prices]`: what materials cost.

use super::keys::Range::Within;
use super::section::Section;
use crate::job::Prices;
use crate::units::Dimension;

/// Highest price, whatever the currency.
pub(super) const HIGHEST: f64 = 1e9;

pub(super) fn prices(at: &mut Section<'_, '_>) -> Prices {
    let currency = at.text("currency", "Name or sign of the money that all prices are in.").optional();
    let mut price = |key, dimension, meaning| at.quantity(key, dimension, Within(0.0, HIGHEST), meaning).optional();
    let (each, area) = (Dimension::Price, Dimension::PricePerArea);
    Prices {
        currency,
        skin_per_m2: price("skin", area, "The sheet that the table's skin is cut from."),
        bolt: price("bolt", each, "A bolt of a rib's joint."),
        nut: price("nut", each, "A nut."),
        washer: price("washer", each, "A washer."),
        screw: price("screw", each, "A screw."),
        film_per_m2: price("film", area, "Release film."),
        breather_per_m2: price("breather", area, "Breather."),
        bag_per_m2: price("bag", area, "Bag film."),
        tape_per_m: price("tape", Dimension::PricePerLength, "Sealant tape."),
        resin_per_kg: price("resin", Dimension::PricePerMass, "Glue, or mixed resin."),
    }
}
