//! Sheets that are larger than the bed of the machine: ripped into strips, and moved on along the bed from dowel to dowel.

use kurbo::Point;

use crate::job::{Machine, Nesting, SheetStock};

/// Shortest rest of a sheet that is worth a stretch of its own, mm: a plate goes on it (common practice, no source).
const LEAST_STRETCH_MM: f64 = 200.0;

/// Stretches of one length that a kind of sheet is cut in.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Stretch {
    /// What fits on it, as a sheet of its own.
    pub(super) stock: SheetStock,
    /// Index of the kind of sheet.
    pub(super) kind: usize,
    /// Numbers of the stretches of this length along the sheet, 0 at its beginning.
    numbers: std::ops::Range<usize>,
    /// Strips that the sheet is ripped into.
    strips: usize,
    /// Diameter of the dowels, and the width at an end that they take, mm; 0 where the sheet is not moved on.
    dowel_mm: f64,
    room_mm: f64,
    /// Distance from the beginning of one stretch to that of the next, mm.
    step_mm: f64,
    /// Stretches along the sheet in all.
    in_all: usize,
    /// How many there are of them, and how many are filled.
    total: Option<usize>,
    filled: usize,
}

/// Where a stretch lies on its sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct SetUp {
    /// Number of the sheet, 1 first, counted over sheets of its kind.
    pub sheet: usize,
    /// Number of the strip that the sheet is ripped into, 1 first, and how many there are.
    pub strip: (usize, usize),
    /// Number of the stretch along the strip, 1 first, and how many there are.
    pub stretch: (usize, usize),
    /// Where the stretch begins, mm from the beginning of the sheet.
    pub from_mm: f64,
    /// Centres of the holes for dowels near its end, mm, where a stretch follows.
    pub holes: Vec<Point>,
    /// Centres of the dowels in the bed near its beginning, mm: the holes of the stretch before sit on them.
    pub stands_on: Vec<Point>,
    /// Diameter of the dowels, mm.
    pub dowel_mm: f64,
}

/// Width of the saw's cut between two strips, mm (common practice, no source).
const RIP_MM: f64 = 4.0;

/// A kind of sheet as stretches that fit the bed; one as large as the sheet where it fits.
pub(super) fn stretches(kind: usize, stock: &SheetStock, machine: Option<&Machine>) -> Vec<Stretch> {
    let whole = Stretch {
        stock: stock.clone(),
        kind,
        numbers: 0..1,
        strips: 1,
        dowel_mm: 0.0,
        room_mm: 0.0,
        step_mm: 0.0,
        in_all: 1,
        total: stock.quantity,
        filled: 0,
    };
    let Some((machine, (bed_length, bed_width))) = machine.and_then(|m| Some((m, m.bed_mm?))) else {
        return vec![whole];
    };
    let fits = |a: f64, b: f64| stock.length_mm <= a && stock.width_mm <= b;
    if fits(bed_length, bed_width) || fits(bed_width, bed_length) {
        return vec![whole];
    }
    let strips = (stock.width_mm / bed_width - 1e-9).ceil().max(1.0) as usize;
    let width_mm = (stock.width_mm - (strips as f64 - 1.0) * RIP_MM) / strips as f64;
    let strip = Stretch { strips, stock: SheetStock { width_mm, ..stock.clone() }, ..whole };
    if stock.length_mm <= bed_length {
        return vec![strip.counted()];
    }
    let room_mm = machine.dowel_room_mm();
    let step_mm = bed_length - room_mm;
    let full = ((stock.length_mm - room_mm) / step_mm + 1e-9).floor().max(1.0) as usize;
    let rest_mm = stock.length_mm - full as f64 * step_mm;
    let rest = usize::from(rest_mm >= LEAST_STRETCH_MM);
    let in_all = full + rest;
    let (dowel_mm, room_mm) = if in_all > 1 { (machine.dowel_mm, room_mm) } else { (0.0, 0.0) };
    let of = |numbers: std::ops::Range<usize>, length_mm: f64| {
        let stock = SheetStock { length_mm, ..strip.stock.clone() };
        Stretch { stock, numbers, dowel_mm, room_mm, step_mm, in_all, ..strip.clone() }.counted()
    };
    let mut all = vec![of(0..full, bed_length)];
    if rest == 1 {
        all.push(of(full..full + 1, rest_mm));
    }
    all
}

/// How parts lie on stretches: clear of the dowels.
pub(super) fn rules(nesting: &Nesting, stretches: &[Stretch]) -> Nesting {
    let room_mm = stretches.iter().map(|s| s.room_mm).fold(0.0, f64::max);
    Nesting { margin_mm: nesting.margin_mm.max(room_mm), ..*nesting }
}

/// Leaves what is not filled of the sheets that were begun: parts of another thickness come from other sheets.
pub(super) fn end_sheets(stretches: &mut [Stretch]) {
    for of_kind in stretches.chunk_by_mut(|a, b| a.kind == b.kind) {
        let begun = of_kind.iter().map(|s| s.filled.div_ceil(s.on_each())).max().unwrap_or_default();
        for stretch in of_kind {
            stretch.filled = begun * stretch.on_each();
            stretch.count_left();
        }
    }
}

impl Stretch {
    /// How many of these are on one sheet.
    fn on_each(&self) -> usize {
        self.strips * self.numbers.len()
    }

    /// As many as there are sheets, times those on each.
    fn counted(self) -> Self {
        let total = self.stock.quantity.map(|q| q * self.on_each());
        Self { total, stock: SheetStock { quantity: total, ..self.stock }, ..self }
    }

    fn count_left(&mut self) {
        self.stock.quantity = self.total.map(|total| total.saturating_sub(self.filled));
    }

    /// Takes the next one; which stretch of which sheet it is, or `None` where the sheet lies on the bed as it is.
    pub(super) fn fill(&mut self) -> Option<SetUp> {
        self.filled += 1;
        self.count_left();
        self.set_up(self.filled - 1)
    }

    fn set_up(&self, filled: usize) -> Option<SetUp> {
        if self.strips * self.in_all == 1 {
            return None;
        }
        let on_each = self.on_each();
        let (sheet, place) = (filled / on_each, filled % on_each);
        let (strip, number) = (place / self.numbers.len(), self.numbers.start + place % self.numbers.len());
        let (wide, long) = (self.stock.width_mm, self.stock.length_mm);
        let inset = 0.5 * self.room_mm;
        let column = |there: bool, x: f64| -> Vec<Point> {
            [inset, wide - inset].into_iter().filter(|_| there).map(|y| Point::new(x, y)).collect()
        };
        Some(SetUp {
            sheet: sheet + 1,
            strip: (strip + 1, self.strips),
            stretch: (number + 1, self.in_all),
            from_mm: self.step_mm * number as f64,
            holes: column(number + 1 < self.in_all, long - inset),
            stands_on: column(number > 0, inset),
            dowel_mm: self.dowel_mm,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::Grain;

    fn sheet(length_mm: f64, width_mm: f64) -> SheetStock {
        SheetStock {
            name: "ply".to_owned(),
            length_mm,
            width_mm,
            thickness_mm: None,
            grain: Grain::Along,
            quantity: Some(2),
            density_kg_m3: None,
            price: None,
        }
    }

    fn bed(length_mm: f64, width_mm: f64) -> Machine {
        Machine { bed_mm: Some((length_mm, width_mm)), longest_mm: None, throat_mm: None, dowel_mm: 8.0 }
    }

    #[test]
    fn a_sheet_that_fits_the_bed_either_way_round_stays_whole() {
        for machine in [None, Some(&bed(2500.0, 1250.0)), Some(&bed(1250.0, 2500.0))] {
            let found = stretches(0, &sheet(2440.0, 1220.0), machine);
            assert_eq!((found.len(), found[0].stock.clone(), found[0].set_up(0)), (1, sheet(2440.0, 1220.0), None));
        }
    }

    #[test]
    fn the_dowels_at_the_end_of_a_stretch_are_those_at_the_beginning_of_the_next() {
        // Steps of 1184 mm: 1200, 1200, and 72 mm that are left.
        let found = stretches(0, &sheet(2440.0, 1220.0), Some(&bed(1200.0, 1250.0)));
        assert_eq!(found.len(), 1);
        assert_eq!((found[0].stock.length_mm, found[0].stock.quantity), (1200.0, Some(4)));
        let set_ups: Vec<SetUp> = (0..4).map(|i| found[0].set_up(i).unwrap()).collect();
        assert_eq!(
            set_ups.iter().map(|s| (s.sheet, s.stretch.0)).collect::<Vec<_>>(),
            [(1, 1), (1, 2), (2, 1), (2, 2)]
        );
        let on_sheet = |s: &SetUp, d: &[Point]| d.iter().map(|d| (s.from_mm + d.x, d.y)).collect::<Vec<_>>();
        assert_eq!(on_sheet(&set_ups[0], &set_ups[0].holes), [(1192.0, 8.0), (1192.0, 1212.0)]);
        assert_eq!(on_sheet(&set_ups[0], &set_ups[0].holes), on_sheet(&set_ups[1], &set_ups[1].stands_on));
        assert!(set_ups[0].stands_on.is_empty() && set_ups[1].holes.is_empty());
    }

    #[test]
    fn a_sheet_wider_than_the_bed_is_ripped_and_a_long_rest_is_used() {
        let found = stretches(3, &sheet(2440.0, 1220.0), Some(&bed(1000.0, 700.0)));
        // Steps of 984 mm: two of 1000 mm and a rest of 472 mm, in two strips of 608 mm beside a cut of 4 mm.
        let sizes: Vec<(f64, f64, Option<usize>)> =
            found.iter().map(|s| (s.stock.length_mm, s.stock.width_mm, s.stock.quantity)).collect();
        assert_eq!(sizes, [(1000.0, 608.0, Some(8)), (472.0, 608.0, Some(4))]);
        let last = found[1].set_up(1).unwrap();
        assert_eq!((last.sheet, last.strip, last.stretch, last.from_mm), (1, (2, 2), (3, 3), 1968.0));
        assert_eq!(last.stands_on, [Point::new(8.0, 8.0), Point::new(8.0, 600.0)]);
        assert!(found.iter().all(|s| s.kind == 3));
    }

    #[test]
    fn a_sheet_that_was_begun_is_left_for_parts_of_another_thickness() {
        let mut found = stretches(0, &sheet(2440.0, 1220.0), Some(&bed(1000.0, 700.0)));
        let first = found[0].fill().unwrap();
        end_sheets(&mut found);
        assert_eq!(found.iter().map(|s| s.stock.quantity).collect::<Vec<_>>(), [Some(4), Some(2)]);
        let next = (found[0].fill().unwrap(), found[1].fill().unwrap());
        assert_eq!((first.sheet, next.0.sheet, next.1.sheet), (1, 2, 2));
    }
}
