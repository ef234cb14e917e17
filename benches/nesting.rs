//! How long parts on sheets and pieces off bars take. Run with `cargo bench`.

use divan::Bencher;
use kurbo::Point;
use overbend::drawing::{Contour, Vertex};
use overbend::job::{Bar, BarStock};
use overbend::stock::{Piece, cut, nest};

#[path = "sheet/mod.rs"]
mod sheet;

use sheet::plywood;

fn main() {
    divan::main();
}

fn rib(length: f64, lowest: f64, highest: f64, flat: f64) -> Contour {
    let (reach, rise) = (0.5 * (length - flat), highest - lowest);
    let bulge = libm::tan(0.5 * libm::atan(rise / reach));
    Contour::closed(vec![
        Vertex::line(Point::new(0.0, 0.0)),
        Vertex::line(Point::new(length, 0.0)),
        Vertex { point: Point::new(length, highest), bulge: -bulge },
        Vertex::line(Point::new(length - reach, lowest)),
        Vertex { point: Point::new(reach, lowest), bulge: -bulge },
        Vertex::line(Point::new(0.0, highest)),
    ])
    .unwrap_or_else(|e| panic!("{e:?}"))
}

/// Ribs of 1500 mm on sheets of 2440 x 1220 mm: twelve are 48 % of a sheet.
#[divan::bench(args = [12, 60])]
fn ribs_on_sheets(bencher: Bencher<'_, '_>, count: usize) {
    let rib = rib(1500.0, 60.0, 140.0, 405.0);
    let parts = vec![&rib; count];
    let (stock, rules) = plywood();
    bencher.bench(|| nest(&parts, &stock, &rules));
}

/// Different pieces off bars of 2400 and 3000 mm.
#[divan::bench(args = [20, 60])]
fn pieces_off_bars(bencher: Bencher<'_, '_>, count: usize) {
    let length = |i: usize| 240.0 + 960.0 * ((i * 7919) % 1009) as f64 / 1009.0;
    let pieces: Vec<Piece> =
        (0..count).map(|i| Piece { label: String::new(), length_mm: length(i), count: 1 }).collect();
    let bar = |length_mm| Bar { length_mm, quantity: None, price: None };
    let stock = BarStock { bars: vec![bar(2400.0), bar(3000.0)], kerf_mm: 2.5, end_trim_mm: 0.0 };
    bencher.bench(|| cut(&pieces, &stock));
}
