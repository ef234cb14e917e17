//! Listings of stations, of tapered plies, of spacers and rods.

use crate::built::Built;
use crate::drawing::{Cell, Listing};
use crate::jig::{Jig, PlaningRails, Station, StationKind};
use crate::units::{inch_fraction, plain};

/// Station heights, in millimetres and in inches with fractions of 1/`denominator`. Ribs that are alike share the columns of
/// their top edge, whose headings name them.
pub fn stations(jig: &Jig, denominator: u32) -> Listing {
    let tops = tops(jig);
    let lengths: Vec<String> = ["board", "along_base", "surface_height"]
        .map(str::to_owned)
        .into_iter()
        .chain(tops.iter().flat_map(|(of, _)| [format!("{of}_at"), format!("{of}_height")]))
        .collect();
    let in_unit = |unit: &str| lengths.iter().map(|l| format!("{l}_{unit}")).collect::<Vec<_>>();
    let (mm, inches) = (in_unit("mm"), in_unit("in"));
    let mut columns = vec!["station", "mark"];
    columns.extend(mm.iter().map(String::as_str));
    columns.push("slope_deg");
    columns.extend(inches.iter().map(String::as_str));
    columns.extend(["surface_step_mm", "surface_step_in"]);
    let mut listing = Listing::new("Stations", &columns);
    for (i, s) in jig.stations.iter().enumerate() {
        let mark = match s.kind {
            StationKind::Plain => "",
            StationKind::Middle => "middle",
            StationKind::TailEnd => "tail end",
            StationKind::TipEnd => "tip end",
        };
        let top = |(_, stations): &(String, &[Station])| {
            stations.get(i).map_or([s.rib_top.x, s.rib_top.y], |s| [s.rib_top.x, s.rib_top.y])
        };
        let lengths: Vec<f64> =
            [s.board_mm, s.surface.x, s.surface.y].into_iter().chain(tops.iter().flat_map(top)).collect();
        let mut row = vec![Cell::count(s.number), Cell::text(mark)];
        row.extend(lengths.iter().map(|l| Cell::Number(*l, 2)));
        row.push(Cell::Number(s.slope_rad.to_degrees(), 3));
        row.extend(lengths.iter().map(|l| Cell::Figure(inch_fraction(*l, denominator))));
        // How much higher than the station before.
        match i.checked_sub(1).map(|before| s.surface.y - jig.stations[before].surface.y) {
            Some(step) => row.extend([Cell::Number(step, 2), Cell::Figure(inch_fraction(step, denominator))]),
            None => row.extend([Cell::text(""), Cell::text("")]),
        }
        listing.rows.push(row);
    }
    listing
}

/// Top edges that differ, with what they are of: `all_ribs` where they are alike, `ribs_1_5` of two, `support` of a jig of
/// bearers.
fn tops(jig: &Jig) -> Vec<(String, &[Station])> {
    let mut kinds: Vec<(Vec<String>, &[Station])> = Vec::new();
    for rib in &jig.ribs {
        match kinds.iter_mut().find(|(_, stations)| *stations == rib.stations.as_slice()) {
            Some((numbers, _)) => numbers.push(rib.number.to_string()),
            None => kinds.push((vec![rib.number.to_string()], &rib.stations)),
        }
    }
    match kinds.as_slice() {
        [] => vec![("support".to_owned(), &jig.stations)],
        [(_, stations)] => vec![("all_ribs".to_owned(), stations)],
        _ => kinds
            .into_iter()
            .map(|(numbers, stations)| {
                let ribs = if numbers.len() == 1 { "rib" } else { "ribs" };
                (format!("{ribs}_{}", numbers.join("_")), stations)
            })
            .collect(),
    }
}

/// Thickness of the plies that are planed to a taper, at the taper's own stations and those of the table between them;
/// `None` where none is.
pub fn tapers(built: &Built, denominator: u32) -> Option<Listing> {
    let columns = [
        "rails",
        "layer",
        "plies",
        "from_middle_mm",
        "from_tail_end_mm",
        "thickness_mm",
        "from_middle_in",
        "from_tail_end_in",
        "thickness_in",
    ];
    let mut listing = Listing::new("Tapers", &columns);
    for taper in &built.jig.planing_rails {
        let tail_mm = taper.points.first().map_or(0.0, |p| p.0);
        for (s, thickness_mm) in taper_rows(built, taper) {
            let lengths = [s, s - tail_mm, thickness_mm];
            let plies = taper.plies.iter().map(usize::to_string).collect::<Vec<_>>().join(" ");
            let mut row = vec![Cell::count(taper.number), Cell::text(taper.layer.clone()), Cell::text(plies)];
            row.extend(lengths.map(|mm| Cell::Number(mm, 2)));
            row.extend(lengths.map(|mm| Cell::Figure(inch_fraction(mm, denominator))));
            listing.rows.push(row);
        }
    }
    (!listing.rows.is_empty()).then_some(listing)
}

/// The stations of a taper and those of the table between them, mm from the middle, with the thickness there, mm.
pub(super) fn taper_rows(built: &Built, taper: &PlaningRails) -> Vec<(f64, f64)> {
    let (tail, tip) = (taper.points.first().map_or(0.0, |p| p.0), taper.points.last().map_or(0.0, |p| p.0));
    let mut places: Vec<f64> = taper.points.iter().map(|p| p.0).collect();
    let near = |places: &[f64], s: f64| places.iter().any(|p| (p - s).abs() < 1.0);
    for station in &built.jig.stations {
        if station.board_mm > tail && station.board_mm < tip && !near(&places, station.board_mm) {
            places.push(station.board_mm);
        }
    }
    places.sort_by(f64::total_cmp);
    places.into_iter().map(|s| (s, built.design.laminate.layer_thickness_mm(taper.index, s))).collect()
}

/// What goes between and through the ribs.
pub fn spacers(jig: &Jig, denominator: u32) -> Listing {
    let mut listing =
        Listing::new("Spacers and rods", &["piece", "between", "count", "length_mm", "length_in", "rod_mm", "note"]);
    let schedule = &jig.spacers;
    let mut row = |piece: &str, between: String, count: usize, length: f64, note: &str| {
        listing.rows.push(vec![
            Cell::text(piece),
            Cell::text(between),
            Cell::count(count),
            Cell::Number(length, 2),
            Cell::Figure(inch_fraction(length, denominator)),
            Cell::Number(schedule.rod_diameter_mm, 2),
            Cell::text(note),
        ]);
    };
    for bay in &schedule.bays {
        let between = format!("rib {} and rib {}", bay.left_rib, bay.left_rib + 1);
        row("spacer", between, bay.count, bay.spacer_length_mm, "one on each rod");
    }
    if schedule.rod_count > 0 {
        let length = schedule.rod_length_mm;
        row("threaded rod", "all ribs".to_owned(), schedule.rod_count, length, "washers and nuts included");
        listing.rows.push(vec![
            Cell::text("nut and washer"),
            Cell::text("rod ends"),
            Cell::count(2 * schedule.rod_count),
            Cell::text(""),
            Cell::text(""),
            Cell::Number(schedule.rod_diameter_mm, 2),
            Cell::text("one of each at each end of each rod"),
        ]);
    }
    listing
}

/// Bearers of a jig built by hand: where they stand, how they are cut and packed.
pub fn bearers(jig: &Jig, denominator: u32) -> Listing {
    let mut listing = Listing::new(
        "Bearers",
        &[
            "bearer",
            "at_mm",
            "height_mm",
            "cut_height_mm",
            "packing_mm",
            "error_mm",
            "bevel_deg",
            "blank_length_mm",
            "blank_height_mm",
            "thickness_mm",
            "at_in",
            "height_in",
            "cut_height_in",
        ],
    );
    for b in &jig.bearers {
        let packing = b.packing_mm.iter().map(|p| plain(*p, 3)).collect::<Vec<_>>().join(" + ");
        listing.rows.push(vec![
            Cell::count(b.number),
            Cell::Number(b.x_mm, 2),
            Cell::Number(b.height_mm, 2),
            Cell::Number(b.cut_height_mm, 2),
            Cell::text(packing),
            Cell::Number(b.error_mm, 2),
            Cell::Number(b.bevel_rad.to_degrees(), 2),
            Cell::Number(b.length_mm, 2),
            Cell::Number(b.blank_height_mm, 2),
            Cell::Number(b.thickness_mm, 2),
            Cell::Figure(inch_fraction(b.x_mm, denominator)),
            Cell::Figure(inch_fraction(b.height_mm, denominator)),
            Cell::Figure(inch_fraction(b.cut_height_mm, denominator)),
        ]);
    }
    listing
}
