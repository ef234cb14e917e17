//! The jig in all its constructions, held to what a shop needs of it.

use cavalier_contours::polyline::{BooleanOp, PlineSource, PlineSourceMut, Polyline};
use overbend::curve::PlaneCurve;
use overbend::document::Document;
use overbend::drawing::{Contour, Shape};
use overbend::jig::{self, Across, Consumables, Demand, Jig, Marks, Rib};
use overbend::job::{Job, Lies};
use overbend::laminate::{Laminate, Section};
use overbend::{rocker, table};

const LAKE_BOARD: &str = include_str!("../../examples/lake-board/job.toml");

/// The lake board with more keys in its tables: (table header, lines to add below it).
fn document(changes: &[(&str, &str)]) -> String {
    let mut text = LAKE_BOARD.to_owned();
    for (from, to) in changes {
        assert!(text.contains(from), "`{from}` is not in the document");
        text = text.replacen(from, to, 1);
    }
    text
}

fn job(text: &str) -> Job {
    Document::parse("test", text).unwrap_or_else(|p| panic!("{p:?}")).job().unwrap_or_else(|p| panic!("{p:#?}"))
}

fn jig(text: &str) -> Jig {
    let job = job(text);
    let target = rocker::target(&job.rocker, &job.board).unwrap();
    let laminate = Laminate::new(&job.layers, 0.0).unwrap();
    let lying = match job.table.lies {
        Lies::BaseDown => laminate.clone(),
        Lies::DeckDown => Laminate::new(&table::turned_over(&job.layers), 0.0).unwrap(),
    };
    let setup = table::setup(&job.board, &job.pressing, &laminate, job.table.end_margin_mm);
    let bent =
        table::overbend_lying(&target.curvature, target.anchor_mm, &laminate, &lying, &setup, job.table.lies).unwrap();
    assert!(bent.error_mm < 0.01, "{}", bent.error_mm);
    let marks = Marks {
        finished_base_mm: bent.finished_base_mm,
        stations: [-670.0, -300.0, 0.0, 300.0, 670.0].map(|s| (s, bent.table_at_base(s))).to_vec(),
    };
    // A fifth of the crosswise curvature is lost on release.
    let section = laminate.section_at(0.0);
    let cut_across = Section { kept_stiffness_n_mm: 0.2 * section.bonded_stiffness_n_mm, ..section };
    let curve_across = |c| Across::new(c, job.board.width_mm, &cut_across, job.table.lies);
    let across = job.table.concave.as_ref().map_or_else(Across::flat, curve_across);
    let demand = Demand {
        boards_width_mm: job.board.width_mm,
        across,
        moments_n_mm: bent.moments_n().into_iter().map(|(s, m)| (s, m * job.board.width_mm)).collect(),
        clear_mm: (110.0, 120.0),
        strain_limit: Some(0.01),
        pumped: false,
    };
    jig::build(&bent.resting, &marks, &demand, &job.table).unwrap_or_else(|f| panic!("{f:#?}"))
}

const ALL_IN_RIBS: &[(&str, &str)] = &[
    ("count = 4", "count = 3"),
    ("lowest_height = 60", "lowest_height = 90"),
    ("station_pitch = 100", "station_pitch = 100\ncutter = 6"),
    (
        "[table.rods]",
        "[table.ribs.split]\nlongest = 1000\nkey = { gap = 0.15 }\n[table.ribs.lightening]\nwall = 14\nlargest = 60\n\
         [table.ribs.hand_holes]\nfrom_end = 190\nlength = 90\nheight = 24\n[table.ribs.feet]\nlength = 60\nheight = 6\n\
         [table.cross_members]\ncount = 4\nthickness = 17.8\nheight = 44\nrelief = \"bone\"\n\
         [table.box]\nends = 12\nbase = 12\n[table.rods]",
    ),
];

fn polyline(contour: &Contour) -> Polyline {
    let mut p = Polyline::new_closed();
    for v in contour.vertices() {
        p.add(v.point.x, v.point.y, v.bulge);
    }
    p
}

/// Area of a boolean of two outlines by a library that is not ours, mm².
fn area(a: &Polyline, b: &Polyline, op: BooleanOp) -> f64 {
    let result = a.boolean(b, op);
    let sum = |list: &[cavalier_contours::polyline::BooleanResultPline<Polyline>]| {
        list.iter().map(|p| p.pline.area().abs()).sum::<f64>()
    };
    sum(&result.pos_plines) - sum(&result.neg_plines)
}

#[test]
fn the_halves_of_a_split_rib_make_the_rib_but_for_the_gap_and_never_overlap() {
    let jig = jig(&document(ALL_IN_RIBS));
    for rib in &jig.ribs[..2] {
        assert_eq!(rib.pieces.len(), 2);
        let [a, b] = [0, 1].map(|i| polyline(&rib.pieces[i].outline));
        assert!(area(&a, &b, BooleanOp::And).abs() < 1e-6, "the halves overlap");
        // Around the joint, where the two top edges cannot add up their tolerance.
        let (from, to) = (rib.pieces[1].outline.bounds().x0 - 10.0, rib.pieces[0].outline.bounds().x1 + 10.0);
        let mut window = Polyline::new_closed();
        for (x, y) in [(from, -1.0), (to, -1.0), (to, 500.0), (from, 500.0)] {
            window.add(x, y, 0.0);
        }
        let inside = |p: &Polyline| area(p, &window, BooleanOp::And).abs();
        let missing = inside(&polyline(&rib.outline)) - inside(&a) - inside(&b);
        let joint: f64 = {
            // The edge of the first piece within the window, but for its top and base: the path of the joint.
            let edge =
                rib.pieces[0].outline.segments().filter(|(p, _, q)| p.x.min(q.x) > from + 9.0 && p.y.max(q.y) > 6.1);
            edge.map(|(p, bulge, q)| {
                let open = vec![overbend::drawing::Vertex { point: p, bulge }, overbend::drawing::Vertex::line(q)];
                Contour::open(open).unwrap().length_mm()
            })
            .sum()
        };
        let tolerance = 0.02 * (to - from);
        assert!(joint > 100.0, "the joint is only {joint} mm long");
        assert!((missing - 0.15 * joint).abs() < tolerance, "{missing} mm² are missing along {joint} mm");
        let outside = area(&a, &polyline(&rib.outline), BooleanOp::Not).abs();
        assert!(outside < 0.02 * rib.length_mm, "{outside} mm² of a piece lie outside of its rib");
    }
}

#[test]
fn neighbouring_ribs_are_split_at_different_places_and_never_through_anything_else() {
    let jig = jig(&document(ALL_IN_RIBS));
    let joint = |i: usize| jig.ribs[i].pieces[1].outline.bounds().x0;
    assert!((joint(0) - joint(1)).abs() > 100.0, "{} {}", joint(0), joint(1));
    assert_eq!(joint(0), joint(2));
    for rib in &jig.ribs {
        // The joint's zone is where both pieces are: from the start of the second to the end of the first.
        let zone = (rib.pieces[1].outline.bounds().x0 - 1.0, rib.pieces[0].outline.bounds().x1 + 1.0);
        for hole in rib.holes.iter().chain(&rib.windows) {
            let (a, b) = (hole.center.x - 0.5 * hole.diameter_mm, hole.center.x + 0.5 * hole.diameter_mm);
            assert!(b < zone.0 || a > zone.1, "a hole at {} mm lies in the joint {zone:?}", hole.center.x);
        }
        for member in &jig.cross_members {
            assert!(member.x_mm + 10.0 < zone.0 || member.x_mm - 10.0 > zone.1, "a slot lies in the joint");
        }
    }
}

#[test]
fn holes_and_windows_leave_their_walls() {
    let jig = jig(&document(ALL_IN_RIBS));
    let rib = &jig.ribs[0];
    let edge: Vec<kurbo::Point> = rib.outline.flattened(0.001);
    let distance = |p: kurbo::Point| {
        let n = edge.len();
        (0..n)
            .map(|i| kurbo::Line::new(edge[i], edge[(i + 1) % n]))
            .map(|l| kurbo::ParamCurveNearest::nearest(&l, p, 1e-9).distance_sq.sqrt())
            .fold(f64::INFINITY, f64::min)
    };
    assert!(rib.windows.len() >= 4, "only {} windows", rib.windows.len());
    for window in &rib.windows {
        let wall = distance(window.center) - 0.5 * window.diameter_mm;
        assert!(wall > 14.0 - 0.02, "a wall of {wall} mm at {} mm", window.center.x);
    }
    for hole in &rib.holes {
        assert!(distance(hole.center) >= 1.5 * hole.diameter_mm - 1e-6, "a rod at {} mm", hole.center.x);
    }
    let mut all: Vec<(kurbo::Point, f64)> =
        rib.holes.iter().chain(&rib.windows).map(|h| (h.center, 0.5 * h.diameter_mm)).collect();
    all.sort_by(|a, b| a.0.x.total_cmp(&b.0.x));
    for w in all.windows(2) {
        assert!(w[0].0.distance(w[1].0) > w[0].1 + w[1].1 + 13.9, "holes at {} and {} meet", w[0].0.x, w[1].0.x);
    }
}

#[test]
fn members_and_ribs_lap_each_other_by_half_and_leave_the_fit() {
    let jig = jig(&document(ALL_IN_RIBS));
    let member = &jig.cross_members[1];
    // At a crossing the member is open from above down to its floor, the rib from below up to its.
    let rib = &jig.ribs[1];
    let member_floor = member
        .outline
        .vertices()
        .iter()
        .filter(|v| (v.point.x - rib.y_mm).abs() < 9.1 && v.point.y > 1.0 && v.point.y < 40.0)
        .map(|v| v.point.y)
        .fold(f64::INFINITY, f64::min);
    let rib_floor = rib
        .outline
        .vertices()
        .iter()
        .filter(|v| (v.point.x - member.x_mm).abs() < 9.1 && v.point.y < 40.0)
        .map(|v| v.point.y)
        .fold(0.0, f64::max);
    assert!((member_floor - 21.9).abs() < 1e-9 && (rib_floor - 22.1).abs() < 1e-9, "{member_floor} {rib_floor}");
    assert!(jig.cross_members.iter().all(|m| (m.outline.bounds().width() - jig.width_mm).abs() < 1e-9));
}

/// Place of the face of a rib that is nearer to the middle of the table.
fn inner_face_mm(jig: &Jig, rib: &Rib) -> f64 {
    (rib.y_mm.abs() - 0.5 * jig.rib_thickness_mm).max(0.0)
}

/// Read off the listed tops: over the thickness of each rib the surface is nowhere lower, and at one face as high.
#[test]
fn no_rib_stands_proud_of_a_surface_that_is_curved_across() {
    for (lies, concave) in [
        ("skin = 4 ", "[table.concave]\nradius = 600\n[table.ribs]"),
        ("board_lies = \"deck down\"\nskin = 4 ", "[table.concave]\nradius = 600\n[table.ribs]"),
        ("skin = 4 ", "[table.concave]\nprofile = [[60, 0], [200, 5]]\n[table.ribs]"),
    ] {
        let jig = jig(&document(&[("skin = 4 ", lies), ("[table.ribs]", concave), ("pitch = 110", "count = 6")]));
        for rib in &jig.ribs {
            let here = rib.stations[2];
            let rise = |y: f64| jig.across.rise_mm(here.table_mm, y, jig.depth_mm);
            // The same place under a rib in the middle, from this rib's own top and the face that it meets.
            let faces = [-0.5, 0.0, 0.5].map(|part| rise(rib.y_mm + part * jig.rib_thickness_mm));
            let lowest = faces.into_iter().fold(f64::INFINITY, f64::min);
            let first = &jig.ribs[0];
            let first_faces = [-0.5, 0.5].map(|part| rise(first.y_mm + part * jig.rib_thickness_mm));
            let first_lowest = first_faces[0].min(first_faces[1]);
            let higher = (rib.stations[2].rib_top - first.stations[2].rib_top).hypot()
                * (rib.stations[2].rib_top.y - first.stations[2].rib_top.y).signum();
            assert!((higher - (lowest - first_lowest)).abs() < 1e-6, "{lies}{concave} rib {}: {higher}", rib.number);
        }
    }
}

#[test]
fn a_concave_raises_the_outer_ribs_by_its_rise_over_bent_across() {
    let changes = [("[table.ribs]", "[table.concave]\nrise = 3\n[table.ribs]"), ("pitch = 110", "count = 7")];
    let jig = jig(&document(&changes));
    let flat = jig.ribs[3].stations[2];
    assert!(jig.ribs[3].y_mm.abs() < 1e-9);
    for rib in &jig.ribs {
        let here = rib.stations[2];
        let expected = jig.across.rise_mm(here.table_mm, inner_face_mm(&jig, rib), jig.depth_mm);
        assert!((here.rib_top.distance(flat.rib_top) - expected).abs() < 1e-9, "rib {}", rib.number);
    }
    // Wanted 3 mm at the board's edge; a fifth of the crosswise curvature is lost on release.
    assert!((jig.across.rise_mm(0.0, 200.0, 0.0) * 0.8 / 3.0 - 1.0).abs() < 2e-3);
    assert_eq!(jig.findings.iter().filter(|f| f.code.name == "double-curvature").count(), 1);
}

/// Read off the outlines of the ribs: where the hollow has faded all are as high as the middle one, in its middle higher by the
/// rise, and between them by a cubic.
#[test]
fn a_fading_concave_raises_the_outer_ribs_where_it_is_and_nowhere_else() {
    let along = "[table.concave]\nalong = [[-400, 0], [-200, 3], [200, 3], [400, 0]]\n[table.ribs]";
    let jig = jig(&document(&[("[table.ribs]", along), ("pitch = 110", "count = 7")]));
    let top_at = |rib: &Rib, x: f64| {
        let points = rib.outline.flattened(1e-3);
        let sides = points.iter().zip(points.iter().cycle().skip(1)).filter(|(a, b)| (a.x - x) * (b.x - x) <= 0.0);
        sides.map(|(a, b)| a.y + (x - a.x) / (b.x - a.x) * (b.y - a.y)).fold(0.0, f64::max)
    };
    let (middle, outer) = (&jig.ribs[3], &jig.ribs[0]);
    assert!(middle.y_mm.abs() < 1e-9);
    let rise = |x: f64| top_at(outer, x) - top_at(middle, x);
    let whole = rise(0.0);
    // Over-bent by the crosswise springback, and further out than the board's edge.
    assert!(whole > 3.0 && whole < 7.0, "{whole}");
    for x in [-640.0, -430.0, 430.0, 640.0] {
        assert!(rise(x).abs() < 0.02, "{x}: {}", rise(x));
    }
    // Half of the way, and a quarter: 1/2 and 5/32 of a cubic that is level at both ends.
    for (x, share) in [(-300.0, 0.5), (300.0, 0.5), (-350.0, 5.0 / 32.0), (350.0, 5.0 / 32.0), (150.0, 1.0)] {
        assert!((rise(x) / whole - share).abs() < 0.03, "{x}: {} of {whole}", rise(x));
    }
    for (station, outer) in middle.stations.iter().zip(&outer.stations) {
        let expected = jig.across.rise_mm(station.table_mm, inner_face_mm(&jig, &jig.ribs[0]), jig.depth_mm);
        assert!((outer.rib_top.distance(station.rib_top) - expected).abs() < 1e-3, "{station:?}");
    }
    let shown: Vec<&str> = jig.findings.iter().map(|f| f.code.name).collect();
    assert_eq!(shown.iter().filter(|c| **c == "double-curvature").count(), 1);
}

/// Read off the ribs: the circle through their tops in the middle of the table, the skin on it, and on that the stack, whose
/// neutral line (in its middle) keeps four fifths of its curvature.
#[test]
fn the_ribs_for_either_face_give_the_same_hollow_deck() {
    let ribs = ("pitch = 110", "count = 7");
    for (skin, up) in [("skin = 4 ", 1.0), ("board_lies = \"deck down\"\nskin = 4 ", -1.0)] {
        let concave = ("[table.ribs]", "[table.concave]\nradius = 900\n[table.ribs]");
        let jig = jig(&document(&[("skin = 4 ", skin), concave, ribs]));
        let top = |i: usize| jig.ribs[i].stations[2].rib_top.y;
        let (rise, half) = (top(6) - top(3), jig.ribs[6].y_mm - 0.5 * up * jig.rib_thickness_mm);
        assert!(up * rise > 10.0, "{rise}");
        // On a crown the middle rib meets the surface with its faces, half a thickness beside the middle line.
        let first = if up < 0.0 { 0.5 * jig.rib_thickness_mm } else { 0.0 };
        let tops = (half * half - first * first + rise * rise) / (2.0 * rise);
        let neutral = tops.abs() - up * (jig.depth_mm + 4.8);
        let deck = neutral / 0.8 - 4.8;
        assert!((deck / 900.0 - 1.0).abs() < 0.01, "{up}: {deck}");
        // The lowest rib keeps the height that it is to have.
        let tops = jig.ribs.iter().flat_map(|r| r.outline.flattened(0.01)).filter(|p| p.y > 10.0);
        let lowest = tops.map(|p| p.y).fold(f64::INFINITY, f64::min);
        assert!((lowest - 60.0).abs() < 0.02, "{lowest}");
    }
}

#[test]
fn a_board_that_lies_on_its_deck_gets_a_hump_that_fits_its_deck() {
    let up = jig(&document(&[]));
    let down = jig(&document(&[("skin = 4 ", "board_lies = \"deck down\"\nskin = 4 ")]));
    let k = |jig: &Jig| jig.surface.curvature().at(0.0);
    // The deck lies 9.6 mm over the base, nearer to the centre of the rocker.
    assert!(k(&down) < 0.0);
    assert!((1.0 / k(&up) - (-1.0 / k(&down)) - 9.6).abs() < 0.02, "{} {}", 1.0 / k(&up), 1.0 / k(&down));
}

/// A board that is straight behind and bent at the front, so that the hump stands askew on its ends.
#[test]
fn a_hump_has_the_heights_of_the_table_for_the_base() {
    let sled = include_str!("../../examples/sled-runner/job.toml");
    let design = |text: &str| overbend::built::design(&job(text)).unwrap_or_else(|f| panic!("{f:?}")).table;
    let (up, down) = (design(sled), design(&sled.replace("[table]\n", "[table]\nboard_lies = \"deck down\"\n")));
    let (base, deck) = (up.table_heights_mm(), down.table_heights_mm());
    // At the tip, which slopes by this, the deck lies less high over the deck of the flat than the base over its own.
    let slope = up.resting.at(up.finished_table_mm.1).angle_rad;
    let thickness_mm: f64 = job(sled).layers.iter().map(|l| l.thickness.thickest_mm()).sum();
    let expected = base.1 - thickness_mm * (1.0 - slope.cos());
    assert!(base.1 > 150.0 && (expected + deck.1).abs() < 1.0, "{base:?} {deck:?} {expected}");
    assert!(base.0.abs() < 1.0 && deck.0.abs() < 1.0, "{base:?} {deck:?}");
}

#[test]
fn a_tapered_board_comes_out_as_wanted_on_either_face() {
    let mut one = job(&document(&[]));
    for layer in &mut one.layers[1..3] {
        layer.thickness =
            overbend::job::Thickness::Tapered(vec![(-600.0, 2.0), (-200.0, 4.0), (250.0, 4.0), (600.0, 2.2)]);
    }
    let target = rocker::target(&one.rocker, &one.board).unwrap();
    let laminate = Laminate::new(&one.layers, 0.0).unwrap();
    let setup = table::setup(&one.board, &one.pressing, &laminate, 40.0);
    for lies in [Lies::BaseDown, Lies::DeckDown] {
        let lying = match lies {
            Lies::BaseDown => laminate.clone(),
            Lies::DeckDown => Laminate::new(&table::turned_over(&one.layers), 0.0).unwrap(),
        };
        let bent = table::overbend_lying(&target.curvature, 0.0, &laminate, &lying, &setup, lies).unwrap();
        assert!(bent.error_mm < 0.05, "{lies:?}: {} mm at {} mm", bent.error_mm, bent.error_at_mm);
        // It is as long as it is to be, and not only where both curves reach.
        let (found, wanted) = (bent.predicted.range_mm(), bent.wanted.range_mm());
        assert!((found.0 - wanted.0).abs() < 0.01 && (found.1 - wanted.1).abs() < 0.01, "{lies:?}: {found:?}");
        assert!((bent.predicted_heights_mm().1 - 45.0).abs() < 0.05, "{lies:?}: {:?}", bent.predicted_heights_mm());
    }
}

/// The program lays members that it is told the number of where it accepts them itself.
#[test]
fn members_by_their_count_stand_clear_of_the_ends_of_every_table() {
    for (thickness, relief) in [("17.8", "none"), ("40", "bone"), ("60", "tee")] {
        let members = format!(
            "[table.cross_members]\ncount = 3\nthickness = {thickness}\nheight = 30\nrelief = \"{relief}\"\n[table.rods]"
        );
        let changes = [
            ("[table.rods]", members.as_str()),
            ("lowest_height = 60", "lowest_height = 90"),
            ("skin = 4 ", "cutter = 8\nskin = 4 "),
        ];
        let jig = jig(&document(&changes));
        let half = 0.5 * jig.ribs[0].length_mm;
        let outer = jig.cross_members.iter().map(|m| m.x_mm.abs()).fold(0.0, f64::max);
        let thickness: f64 = thickness.parse().unwrap();
        assert!(
            jig.cross_members.len() == 3 && outer > 0.75 * half && outer + 1.5 * thickness < half,
            "{outer} {half}"
        );
    }
}

/// Read back from the listing: ribs that are alike share columns, and each rib has one.
#[test]
fn the_stations_listing_names_the_ribs_that_its_heights_belong_to() {
    let heading = |jig: &Jig| overbend::draft::stations(jig, 64).columns.join(" ");
    assert!(heading(&jig(LAKE_BOARD)).contains(" all_ribs_at_mm all_ribs_height_mm "));
    let changes = [("[table.ribs]", "[table.concave]\nrise = 3\n[table.ribs]"), ("pitch = 110", "count = 5")];
    let jig = jig(&document(&changes));
    let listing = overbend::draft::stations(&jig, 64);
    for (of, rib) in [("ribs_1_5", 0), ("ribs_2_4", 1), ("rib_3", 2)] {
        let column =
            listing.columns.iter().position(|c| *c == format!("{of}_height_mm")).unwrap_or_else(|| panic!("{of}"));
        for (row, station) in listing.rows.iter().zip(&jig.ribs[rib].stations) {
            assert_eq!(row[column], overbend::drawing::Cell::Number(station.rib_top.y, 2));
        }
    }
    // The outer ribs are higher: one column for all would be wrong by more than a millimetre.
    assert!(jig.ribs[0].stations[2].rib_top.y - jig.ribs[2].stations[2].rib_top.y > 1.0);
    let deck = include_str!("../../examples/street-deck/job.toml");
    let job = job(deck);
    let csv = overbend::run::build(&job).unwrap().files.into_iter().find(|f| f.name == "stations.csv").unwrap();
    assert!(
        String::from_utf8(csv.bytes)
            .unwrap()
            .starts_with("station,mark,board_mm,along_base_mm,surface_height_mm,support_at_mm,")
    );
}

#[test]
fn steps_from_station_to_station_add_up_to_the_heights() {
    let jig = jig(&document(&[]));
    let listing = overbend::draft::stations(&jig, 64);
    let column = listing.columns.iter().position(|c| c == "surface_step_mm").unwrap();
    let mut height_mm = jig.stations[0].surface.y;
    for (row, station) in listing.rows.iter().zip(&jig.stations).skip(1) {
        let overbend::drawing::Cell::Number(step_mm, _) = row[column] else { panic!("{row:?}") };
        height_mm += step_mm;
        assert!((height_mm - station.surface.y).abs() < 1e-9);
    }
}

/// The body under a surface that is bent both ways, by the midpoint rule over its points.
#[test]
fn the_solid_of_a_table_holds_what_lies_under_its_surface() {
    let concaves = [
        "",
        "[table.concave]\nrise = 6\n",
        "[table.concave]\nprofile = [[60, 0], [200, 5]]\n",
        "[table.concave]\nalong = [[-400, 0], [-200, 5], [250, 4], [420, 0]]\n",
    ];
    for concave in concaves {
        for lies in ["base down", "deck down"] {
            let changes = [
                ("station_pitch = 100", &*format!("station_pitch = 100\nboard_lies = \"{lies}\"")),
                ("[table.ribs]", &*format!("{concave}[table.ribs]")),
            ];
            let jig = jig(&document(&changes));
            let (from, to) = jig.surface.range_mm();
            let half = 0.5 * jig.width_mm;
            let (long, wide) = (2000, 200);
            let mut volume = 0.0;
            for j in 0..wide {
                let y = half * ((f64::from(j) + 0.5) / f64::from(wide) * 2.0 - 1.0);
                let at = |i: i32| {
                    let on = jig.surface.at(from + (to - from) * f64::from(i) / f64::from(long));
                    on.point + on.normal() * jig.across.rise_mm(on.s_mm, y, 0.0)
                };
                let area: f64 =
                    (0..long).map(|i| (at(i), at(i + 1))).map(|(a, b)| 0.5 * (a.y + b.y) * (b.x - a.x)).sum();
                volume += area * 2.0 * half / f64::from(wide);
            }
            let solid = jig.solid();
            assert!(
                (solid.volume_mm3() / volume - 1.0).abs() < 1e-4,
                "{concave}{lies}: {}",
                solid.volume_mm3() / volume
            );
            assert!(solid.triangles.len() < 120_000, "{}", solid.triangles.len());
        }
    }
}

#[test]
fn bearers_carry_the_skin_at_the_computed_heights() {
    let start = LAKE_BOARD.find("[table.ribs]").unwrap();
    let text = format!(
        "{}[table.bearers]\npitch = 150\nthickness = 38\nlowest_height = 60\npacking = [3, 2, 1, 0.5, 0.25]\n",
        &LAKE_BOARD[..start]
    );
    let jig = jig(&text);
    assert!(jig.bearers.len() >= 10);
    for w in jig.bearers.windows(2) {
        assert!(w[1].x_mm - w[0].x_mm <= 150.0 + 1e-9);
    }
    for bearer in &jig.bearers {
        // Its top's middle lies square below the surface by skin and film.
        let near = |s: &f64| {
            let on = jig.surface.at(*s);
            let below = on.point - on.normal() * jig.depth_mm;
            (below.x - bearer.x_mm).abs()
        };
        let range = jig.surface.range_mm();
        let places: Vec<f64> = (0..=40_000).map(|i| range.0 + (range.1 - range.0) * f64::from(i) / 40_000.0).collect();
        let s = places.into_iter().min_by(|a, b| near(a).total_cmp(&near(b))).unwrap();
        let on = jig.surface.at(s);
        let below = on.point - on.normal() * jig.depth_mm;
        assert!((below.y - bearer.height_mm).abs() < 0.02, "bearer {}", bearer.number);
        assert!((on.angle_rad - bearer.bevel_rad).abs() < 1e-4);
        let built = bearer.cut_height_mm + bearer.packing_mm.iter().sum::<f64>();
        assert!((built - bearer.height_mm - bearer.error_mm).abs() < 1e-9);
        assert!(bearer.error_mm.abs() <= 0.15, "bearer {}: {} mm", bearer.number, bearer.error_mm);
    }
}

/// The bevel of a bearer must come out of its blank: the blank is as high as the higher edge of the finished top.
#[test]
fn bearers_are_cut_as_high_as_their_bevel_needs_and_everything_lists_that_height() {
    let start = LAKE_BOARD.find("[table.ribs]").unwrap();
    for (concave, lies) in [("", ""), ("[table.concave]\nrise = 4\n", ""), ("", "board_lies = \"deck down\"\n")] {
        let text = format!(
            "{}{concave}[table.bearers]\npitch = 150\nthickness = 40\nlowest_height = 60\ncut_step = 0.5\npacking = [1, 0.5]\n",
            &LAKE_BOARD[..start].replace("[table]\n", &format!("[table]\n{lies}"))
        );
        let jig = jig(&text);
        let parts: Vec<_> = jig.flat_parts().iter().map(|flat| overbend::draft::dressed(flat, &jig)).collect();
        for b in &jig.bearers {
            let step = 0.5 * b.thickness_mm * b.bevel_rad.tan().abs();
            let edge = b.outline.bounds().y1 + step;
            assert!(b.blank_height_mm >= edge - 1e-9 && b.blank_height_mm < edge + 0.5, "{} {edge}", b.blank_height_mm);
            let part = parts.iter().find(|p| p.id == b.id()).unwrap();
            assert!((part.outline().unwrap().bounds().height() - b.blank_height_mm).abs() < 1e-9, "{}", b.id());
            // The line to plane to lies on the lower face, half a thickness down the bevel.
            let line = b.face_line.bounds();
            assert!((line.y1 - (b.outline.bounds().y1 - step)).abs() < 1e-9);
            let looks = if b.bevel_rad < 0.0 { "THIS FACE TO TIP" } else { "THIS FACE TO TAIL" };
            assert!(part.works.iter().any(|w| matches!(&w.shape, Shape::Text(t) if t.content == looks)), "{}", b.id());
        }
        let steep = jig.bearers.iter().map(|b| b.bevel_rad.abs()).fold(0.0, f64::max);
        assert!(steep > 0.05, "no bearer has a bevel worth the name: {steep}");
        let base = parts.iter().find(|p| p.id == "base").unwrap();
        let words: Vec<&str> = base
            .works
            .iter()
            .filter_map(|w| match &w.shape {
                Shape::Text(t) => Some(t.content.as_str()),
                _ => None,
            })
            .collect();
        for word in ["TIP", "TAIL", "1", &jig.bearers.len().to_string()] {
            assert!(words.contains(&word), "{word} is not on the base board: {words:?}");
        }
        let proud = jig.findings.iter().find(|f| f.code.name == "bearer-proud").unwrap();
        // Over a hump of curvature k a flat of length t stands k t²/8 above its edges, square to it.
        let k = jig.surface.curvature().extremes().0.1;
        let expected = (-k).max(0.0) * 40.0 * 40.0 / 8.0;
        assert!(
            (proud.si().unwrap().0 - expected).abs() < 0.25 * expected + 0.01,
            "{} {expected}",
            proud.si().unwrap().0
        );
    }
}

fn refused(text: &str) -> overbend::finding::Faults {
    overbend::run::build(&job(text)).map(|_| ()).unwrap_err()
}

#[test]
fn plates_that_do_not_go_between_the_ribs_are_refused_with_what_they_need() {
    let plates = "[table.ribs.split]\nlongest = 1000\nplates = { length = 200, bolt = 8 }\n[table.rods]";
    let roomy = jig(&document(&[("[table.rods]", plates)]));
    assert!(!roomy.plates.is_empty());
    let faults = refused(&document(&[("[table.rods]", plates), ("pitch = 110", "pitch = 40")]));
    assert_eq!((faults[0].code.name, faults[0].path.as_str()), ("plate-no-room", "table.ribs.split.plates"));
    // Two plates side by side, each with its nuts: 2 (17.8 + 1.3 x 8).
    assert!(faults[0].message().contains("need 56.4 mm"), "{}", faults[0].message());
}

/// Air around a point of the plane of a rib: distance to the nearest place that is no wood, by a grid, mm.
fn wood_around(rib: &Rib, x: f64, z: f64) -> f64 {
    let outline = rib.pieces.iter().map(|p| polyline(&p.outline)).collect::<Vec<_>>();
    let inside = |x: f64, z: f64| {
        let point = cavalier_contours::core::math::Vector2::new(x, z);
        let air =
            rib.holes.iter().chain(&rib.windows).any(|h| (h.center.x - x).hypot(h.center.y - z) < 0.5 * h.diameter_mm);
        !air && outline.iter().any(|o| o.winding_number(point) != 0)
    };
    let ring = |r: f64| {
        (0..24).map(move |i| f64::from(i) * std::f64::consts::TAU / 24.0).map(move |a| (r * a.cos(), r * a.sin()))
    };
    (1..=9).map(f64::from).find(|r| ring(*r).any(|(dx, dz)| !inside(x + dx, z + dz))).unwrap_or(10.0)
}

#[test]
fn the_screws_of_a_box_go_into_wood_and_its_ends_are_one_plane() {
    for concave in ["", "[table.concave]\nrise = 4\n"] {
        let mut changes = ALL_IN_RIBS.to_vec();
        let box_first = format!("{concave}[table.ribs]");
        changes.insert(0, ("[table.ribs]", &box_first));
        let jig = jig(&document(&changes));
        let ends: Vec<(f64, f64)> = jig.ribs.iter().map(|r| (r.outline.bounds().x0, r.outline.bounds().x1)).collect();
        assert!(ends.iter().all(|e| (e.0 - ends[0].0).abs() < 1e-6 && (e.1 - ends[0].1).abs() < 1e-6), "{ends:?}");
        for panel in &jig.panels {
            assert!(panel.screws.len() >= 2 * jig.ribs.len(), "{}: {} screws", panel.id, panel.screws.len());
            for screw in &panel.screws {
                let y = if panel.id == "base" { screw.y } else { screw.x };
                let rib = jig.ribs.iter().find(|r| (r.y_mm - y).abs() < 1e-9).unwrap();
                // The point of a screw of 30 mm.
                let (x, z) = match panel.id.as_str() {
                    "base" => (screw.x, 30.0),
                    "end-tail" => (ends[0].0 + 30.0, screw.y),
                    _ => (ends[0].1 - 30.0, screw.y),
                };
                assert!(wood_around(rib, x, z) > 8.0, "{} at {screw:?}", panel.id);
                if panel.id == "base" {
                    assert!(wood_around(rib, screw.x, 9.5) > 8.0, "air under {screw:?}");
                }
            }
        }
        // End panels are as high as each rib's end.
        for (id, at) in [("end-tail", 0), ("end-tip", 1)] {
            let panel = jig.panels.iter().find(|p| p.id == id).unwrap();
            let top = panel.outline.flattened(1e-3);
            for rib in &jig.ribs {
                let x = [ends[0].0, ends[0].1][at];
                let corner = rib.outline.vertices().iter().map(|v| v.point).filter(|p| (p.x - x).abs() < 1e-6);
                let high = corner.map(|p| p.y).fold(0.0, f64::max);
                let over = |w: &[kurbo::Point]| {
                    let (a, b) = (w[0], w[1]);
                    ((a.x - rib.y_mm) * (b.x - rib.y_mm) <= 0.0 && a.x != b.x)
                        .then(|| a.y + (b.y - a.y) * (rib.y_mm - a.x) / (b.x - a.x))
                };
                let panel_high = top.windows(2).filter_map(over).fold(0.0, f64::max);
                assert!((panel_high - high).abs() < 0.02, "{id}, rib {}: {panel_high} and {high}", rib.number);
            }
        }
    }
}

#[test]
fn a_round_cutter_without_reliefs_and_a_leaking_box_are_told() {
    let without: Vec<(&str, String)> =
        ALL_IN_RIBS.iter().map(|(a, b)| (*a, b.replace("relief = \"bone\"", "relief = \"none\""))).collect();
    let changes: Vec<(&str, &str)> = without.iter().map(|(a, b)| (*a, b.as_str())).collect();
    let job = job(&document(&changes));
    let cutter = job.table.cutting.cutter_mm;
    assert!(cutter > 0.0);
    let open = jig(&document(&changes)).findings.into_iter().find(|f| f.code.name == "lap-open").unwrap();
    assert!(open.si().unwrap().0 > 1.0 && open.si().unwrap().0 <= cutter, "{open:?}");
    assert!(jig(&document(ALL_IN_RIBS)).findings.iter().all(|f| f.code.name != "lap-open"));
    let pumped = document(ALL_IN_RIBS).replace("[pressing.vacuum]", "[pressing.vacuum]\nbelow = \"vacuum\"");
    let outcome = overbend::run::build(&self::job(&pumped)).unwrap();
    let leaks = outcome.checks.iter().find(|c| c.code.name == "box-leaks").unwrap();
    assert!(
        leaks.si().unwrap().0 >= 3.0 && leaks.remedy.text(Default::default()).contains("the gap between the feet"),
        "{leaks:?}"
    );
}

/// What one pressing of this document uses up with this much table beyond the blank at each end, and the table's length.
fn used_up(text: &str, end_margin_mm: f64) -> (Consumables, f64) {
    let (job, jig) = (job(text), jig(text));
    let long = jig.surface.curvature().length_mm();
    (Consumables::new(&jig, &job.table, &job.pressing.hold, long - 2.0 * end_margin_mm, &job.board), long)
}

#[test]
fn film_ends_inside_of_the_land_and_the_bag_has_slack() {
    let close = |found: f64, expected: f64| (found - expected).abs() < 1e-9;
    // A board of 400 mm with 60 mm of table at each side: 520 mm. 30 mm of table beyond the blank's ends: 10 mm of film there,
    // so a land of 20 mm all around.
    let (lake, long) = used_up(LAKE_BOARD, 30.0);
    let bagging = lake.bagging.unwrap();
    assert!(close(bagging.land_mm, 20.0) && close(lake.film.length_mm, long - 40.0), "{lake:?}");
    assert!(close(lake.film.width_mm, 480.0) && lake.film.pieces == 2, "{lake:?}");
    assert!(close(bagging.bag.length_mm, 1.1 * long) && close(bagging.bag.width_mm, 572.0), "{lake:?}");
    assert!(close(bagging.tape_mm, 1.15 * 2.0 * (long + 520.0)), "{lake:?}");
    // Wide margins: the land keeps 30 mm and film goes no further than 50 mm beyond the blank of 410 mm.
    let (wide, long) = used_up(&document(&[("side_margin = 60", "side_margin = 200")]), 200.0);
    assert!(close(wide.film.width_mm, 510.0) && close(wide.film.length_mm, long - 300.0), "{wide:?}");
    assert!(close(wide.bagging.unwrap().land_mm, 30.0), "{wide:?}");
    // No table beyond the board at its sides: film as wide as the table, and no land.
    let (none, _) = used_up(&document(&[("side_margin = 60", "side_margin = 0")]), 30.0);
    assert!(close(none.film.width_mm, 400.0) && close(none.bagging.unwrap().land_mm, 0.0), "{none:?}");
}

#[test]
fn a_table_inside_of_the_bag_needs_two_sheets_that_reach_around_it() {
    let text = document(&[("pressure = \"85 kPa\"", "pressure = \"85 kPa\"\nbelow = \"vacuum\"")]);
    let bagging = used_up(&text, 40.0).0.bagging.unwrap();
    let jig = jig(&text);
    let high = jig.surface.samples(5.0).iter().map(|p| p.point.y).fold(0.0, f64::max);
    assert!(bagging.around_table && bagging.bag.pieces == 2 && bagging.land_mm == 0.0, "{bagging:?}");
    // Half of the girth across, a tenth of slack, and a seam of 30 mm on both sides.
    assert!((bagging.bag.width_mm - (1.1 * (520.0 + high) + 60.0)).abs() < 0.1, "{bagging:?}");
    assert!(bagging.tape_mm > 2.0 * (bagging.bag.length_mm + bagging.bag.width_mm));
    let clamped = document(&[("[pressing.vacuum]\npressure = \"85 kPa\"", "[pressing.press]\npressure = \"3 bar\"")]);
    assert!(used_up(&clamped, 40.0).0.bagging.is_none());
}
