//! The sheets that benches lay parts on.

use overbend::job::{Grain, Nesting, SheetStock};

/// As many sheets of 2440 x 1220 mm as it takes, and how parts lie on them.
pub(crate) fn plywood() -> ([SheetStock; 1], Nesting) {
    let sheet = SheetStock {
        name: "plywood".to_owned(),
        length_mm: 2440.0,
        width_mm: 1220.0,
        thickness_mm: None,
        grain: Grain::Along,
        quantity: None,
        density_kg_m3: None,
        price: None,
    };
    ([sheet], Nesting { margin_mm: 8.0, gap_mm: 6.0, grain: Grain::Along, turn: true, mirror: false })
}
