use super::*;
use crate::document::board_readings;
use crate::finding::Faults;
use crate::job::{Datum, Readings, Smoothing, StationsAlong};

fn how() -> Readings {
    Readings {
        readings: Vec::new(),
        file: None,
        datum: Datum::Floor,
        along: StationsAlong::Base,
        origin: Origin::Tail,
        error_mm: None,
        smoothing: Smoothing::Likelihood,
        excluded: Vec::new(),
    }
}

/// Stations and heights.
type Pairs = Vec<(f64, f64)>;

/// Stations and heights of a file, and where they are counted from.
fn read_as(text: &str, from: Option<Origin>) -> Result<(Pairs, Origin), Faults> {
    let readings = board_readings("board.csv", text, LengthUnit::Millimetre, from, how())?;
    Ok((readings.readings.iter().map(|r| (r.station_mm, r.height_mm)).collect(), readings.origin))
}

#[track_caller]
fn gives(text: &str, expected: &[(f64, f64)]) {
    let found = read_as(text, None).unwrap_or_else(|f| panic!("{text}: {f:?}")).0;
    assert_eq!(found.len(), expected.len(), "{text}: {found:?}");
    for (f, e) in found.iter().zip(expected) {
        assert!((f.0 - e.0).abs() < 1e-9 && (f.1 - e.1).abs() < 1e-9, "{text}: {found:?}");
    }
}

#[test]
fn each_column_has_the_unit_of_its_heading() {
    gives("station_mm,height_cm\n0,4.5\n100,3\n", &[(0.0, 45.0), (100.0, 30.0)]);
    let units = [
        ("mm", 1.0),
        ("cm", 10.0),
        ("m", 1e3),
        ("in", 25.4),
        ("inch", 25.4),
        ("inches", 25.4),
        ("\"", 25.4),
        ("ft", 304.8),
    ];
    for (unit, mm) in units {
        for heading in [
            format!("Station ({unit}),Height (mm)"),
            format!("station [{unit}];height_mm"),
            format!("station {unit}\theight mm"),
        ] {
            let between = [';', '\t'].into_iter().find(|c| heading.contains(*c)).unwrap_or(',');
            gives(&format!("{heading}\n2{between}30\n"), &[(2.0 * mm, 30.0)]);
        }
    }
    // Fractions of an inch, and a value that says its own unit.
    gives("station_in,height_in\n3 1/2,1/8\n100 mm,1\n", &[(88.9, 3.175), (100.0, 25.4)]);
    // Without units, and without a heading.
    gives("station,height\n5,6\n", &[(5.0, 6.0)]);
    gives("5,6\n7 cm,8\n", &[(5.0, 6.0), (70.0, 8.0)]);
}

#[test]
fn semicolons_and_tabs_leave_the_comma_to_decimals_and_quotes_hold_it() {
    gives("station_mm;height_mm\n0;4,5\n100,5;3\n", &[(0.0, 4.5), (100.5, 3.0)]);
    gives("0\t4,5\n", &[(0.0, 4.5)]);
    gives("\"station_mm\",\"height_mm\"\n\"0\",\"4,5\"\n", &[(0.0, 4.5)]);
    gives("\u{feff}# from the bench\r\nstation_mm;height_mm\r\n\r\n1;2\r\n", &[(1.0, 2.0)]);
    gives("station,height\n0,1 1/2\"\n", &[(0.0, 38.1)]);
}

#[test]
fn columns_are_found_by_their_names_and_the_latest_heights_count() {
    gives("height_mm,station_cm\n4,10\n", &[(100.0, 4.0)]);
    let heading = "station_from_middle_mm,expected_mm,height_at_release_mm,height_a_day_later_mm";
    gives(&format!("{heading}\n-50,4,5,\n0,0,0.5,\n50,4,,\n"), &[(-50.0, 5.0), (0.0, 0.5)]);
    gives(&format!("{heading}\n-50,4,5,6\n0,0,0.5,\n50,4,,5\n"), &[(-50.0, 6.0), (50.0, 5.0)]);
    assert_eq!(read_as(&format!("{heading}\n-50,4,5,\n"), None).unwrap().1, Origin::Middle);
}

#[test]
fn heading_and_shop_must_agree_on_where_stations_are_counted_from() {
    let from = |heading: &str, from| {
        read_as(&format!("{heading},height\n0,5\n"), from).map(|r| r.1).map_err(|f| f[0].code.name)
    };
    assert_eq!(from("station", None), Ok(Origin::Tail));
    assert_eq!(from("station", Some(Origin::Tip)), Ok(Origin::Tip));
    assert_eq!(from("station_from_tip_mm", None), Ok(Origin::Tip));
    assert_eq!(from("station_from_tail", Some(Origin::Tail)), Ok(Origin::Tail));
    assert_eq!(from("station_from_middle", Some(Origin::Tail)), Err("wrong-choice"));
}

#[test]
fn faults_have_their_place_in_the_file() {
    let place = |text: &str| {
        let faults = read_as(text, None).unwrap_err();
        let place = faults[0].place.clone().unwrap();
        assert_eq!(place.file, "board.csv");
        assert!(text[place.line_start..].starts_with(&place.text));
        (faults[0].code.name, place.line, place.text[place.bytes].to_owned())
    };
    assert_eq!(place("station_mm,height_furlong\n0,4\n"), ("wrong-unit", 1, "height_furlong".to_owned()));
    assert_eq!(place("# bench\n0,4\n10,4x\n"), ("wrong-unit", 3, "4x".to_owned()));
    assert_eq!(place("station,height\n0,4\n10, four\n"), ("not-a-number", 3, "four".to_owned()));
    assert_eq!(place("0,4\n10,4,5\n"), ("wrong-shape", 2, "10,4,5".to_owned()));
    assert_eq!(place("0,4\n10,30 m\n"), ("out-of-range", 2, "30 m".to_owned()));
    assert_eq!(place("number,place,read\n1,0,4\n"), ("wrong-shape", 1, "number,place,read".to_owned()));
}
