use super::*;
use crate::job::{Datum, Origin, Reading, Readings, Smoothing, StationsAlong};

fn board(label: &str) -> KeptBoard {
    let mut core = Material::of_modulus("paulownia", MaterialKind::WoodAlong, 5_040.0);
    core.modulus_mpa.cv = 0.22;
    core.expansion_per_k = Some(4.5e-6);
    core.relaxed = Share { value: 0.05, sd: 0.05 };
    let mut tapered = Layer::flat("core", core.clone(), 1.0);
    tapered.thickness = Thickness::Tapered(vec![(-600.0, 3.0), (0.0, 8.25), (600.0, 3.0)]);
    tapered.thickness_sd_mm = 0.1;
    tapered.cured_group = Some(2);
    tapered.shrinks_through = Some(0.0);
    let mut skin = Layer::flat("skin \"A\"", core, 0.8);
    skin.entry = 1;
    skin.extent_mm = Some((-300.0, 310.5));
    skin.natural_curvature_per_mm = 1e-4;
    skin.cured_group = Some(2);
    skin.shrinks_through = Some(0.0125);
    KeptBoard {
        label: label.to_owned(),
        date: Some("2026-03-01".to_owned()),
        remark: Some("18 °C, back\\slash \"14\" hours".to_owned()),
        left_out: false,
        hours_after_release: Some(0.25),
        again_of: Some("another".to_owned()),
        job_hash: "abc123".to_owned(),
        job_title: "Lake board".to_owned(),
        pressed: PressedAs {
            layers: vec![EffectiveLayer::with_moduli_of(tapered), EffectiveLayer::with_moduli_of(skin)],
            cure_above_room_k: 20.0,
            table: vec![(-700.0, 2.5e-4), (0.0, 3e-4), (0.0, 1.25e-4), (700.0, -1e-4)],
            table_id: "0a1b2c3d".to_owned(),
            table_heights_mm: vec![(0.0, 61.5), (700.0, 0.0), (1400.0, 60.0)],
            blank_mm: (-660.0, 665.0),
            finished_mm: (-600.0, 600.0),
            pressure_mpa: 0.085,
            forces: vec![(-100.0, 2.5), (100.0, 2.5)],
            caul_stiffness_n_mm: 1200.0,
            matched: false,
        },
        readings: Readings {
            readings: (0..9)
                .map(|i| Reading { station_mm: 150.0 * f64::from(i), height_mm: f64::from((i - 4) * (i - 4)) })
                .collect(),
            datum: Datum::Straightedge,
            along: StationsAlong::Datum,
            origin: Origin::Tip,
            error_mm: Some(0.3),
            file: None,
            smoothing: Smoothing::Likelihood,
            excluded: vec![2],
        },
    }
}

#[track_caller]
fn near(a: f64, b: f64) {
    assert!((a - b).abs() <= 1e-12 + 1e-9 * b.abs(), "{a} is not {b}");
}

#[test]
fn a_board_that_was_written_reads_back_the_same() {
    let board = board("first");
    let text = with_board("shop.toml", "", &board).unwrap();
    let mut found = read("shop.toml", &text).unwrap().boards.remove(0);
    for (a, b) in found.pressed.table.iter_mut().zip(&board.pressed.table) {
        near(a.1, b.1);
        *a = *b;
    }
    for (a, b) in found.pressed.layers.iter_mut().zip(&board.pressed.layers) {
        near(a.natural_curvature_per_mm, b.natural_curvature_per_mm);
        near(a.material.expansion_per_k.unwrap(), b.material.expansion_per_k.unwrap());
        let mut layer = a.to_plain();
        layer.natural_curvature_per_mm = b.natural_curvature_per_mm;
        layer.material.expansion_per_k = b.material.expansion_per_k;
        *a = EffectiveLayer::with_moduli_of(layer);
    }
    near(found.pressed.pressure_mpa, board.pressed.pressure_mpa);
    found.pressed.pressure_mpa = board.pressed.pressure_mpa;
    assert_eq!(found, board);
}

#[test]
fn what_is_there_stays_byte_for_byte() {
    let first = with_board("shop.toml", "# ours\nhalve_after = 6   # winters\n", &board("first")).unwrap();
    let commented = first.replace("label = ", "# good one\nlabel   =  ").trim_end().to_owned();
    let second = with_board("shop.toml", &commented, &board("second")).unwrap();
    assert!(second.starts_with(&commented));
    let shop = read("shop.toml", &second).unwrap();
    let labels: Vec<&str> = shop.boards.iter().map(|b| b.label.as_str()).collect();
    assert_eq!((labels, shop.halve_after), (vec!["first", "second"], Some(6.0)));
}

#[test]
fn a_broken_file_is_refused_with_its_place_and_nothing_is_added() {
    let good = with_board("shop.toml", "", &board("first")).unwrap();
    let cases = [
        (good.replace("label = \"first\"", "label = \"first"), "line 2", "syntax"),
        (good.replace("pressure =", "presure ="), "line 11", "unknown-key"),
        (good.replace("2026-03-01", "1 March"), "line 3", "no-date"),
        (good.replace("modulus = \"5040 MPa\"", "modulus = \"5040 mm\""), "", "wrong-unit"),
        (good.replace("[board.measured]", "[board.other]"), "", "unknown-key"),
        (format!("{good}\n[[board]]\n"), "", "missing-key"),
    ];
    for (text, place, code) in cases {
        let problems = with_board("shop.toml", &text, &board("second")).unwrap_err();
        let words: Vec<String> = problems.iter().map(ToString::to_string).collect();
        let all = words.join("\n");
        assert!(all.contains(&format!("; {code})")) && all.contains(place), "{code} {place} is not in\n{all}");
    }
}

#[test]
fn an_empty_file_has_no_boards() {
    assert_eq!(read("shop.toml", "# nothing yet\n").unwrap(), Shop::default());
}

/// As files were written before titles, names of tables and plies: one table for each layer, and all that is usual spelled out.
const OLD: &str = r#"
[[board]]
label = "first"
job = "abc123"
finished = [-600, 600]
blank = [-660, 665]
pressure = "85 kPa"
table = [
  [-700, 0.25], [0, 0.3], [0, 0.125], [700, -0.1],
]
table_heights = [
  [0, 61.5], [700, 0], [1400, 60],
]

[[board.layers]]
name = "ply"
material = "ash, white"
modulus = "12000 MPa"
modulus_cv = 0
relaxed = 0
relaxed_error = 0
thickness = 4
thickness_error = 0

[[board.layers]]
name = "ply"
material = "ash, white"
modulus = "12000 MPa"
modulus_cv = 0
relaxed = 0
relaxed_error = 0
thickness = 4
thickness_error = 0

[board.measured]
datum = "floor"
along = "base"
from = "tail"
error = 0.3
readings = [
  [0, 40], [300, 10], [600, 0], [900, 10], [1200, 40],
]
"#;

#[test]
fn files_of_before_are_still_read_and_go_on() {
    let shop = read("shop.toml", OLD).unwrap();
    let board = &shop.boards[0];
    assert_eq!((board.pressed.layers.len(), board.pressed.table.len()), (2, 4));
    assert_eq!((board.job_title.as_str(), board.pressed.table_id.as_str()), ("", ""));
    let both = with_board("shop.toml", OLD, &KeptBoard { label: "again".to_owned(), ..board.clone() }).unwrap();
    let new = &read("shop.toml", &both).unwrap().boards[1];
    assert_eq!((&new.pressed.layers[0], &new.readings), (&board.pressed.layers[0], &board.readings));
}

#[test]
fn plies_of_one_entry_are_one_line() {
    let mut many = board("plies");
    let ply = Layer::flat("ply", Material::of_modulus("ash", MaterialKind::WoodAlong, 12_000.0), 1.5);
    many.pressed.layers = (0..20).map(|_| EffectiveLayer::with_moduli_of(ply.clone())).collect();
    let text = with_board("shop.toml", "", &many).unwrap();
    assert_eq!(text.matches("material = ").count(), 1, "{text}");
    assert!(text.contains("plies = 20"), "{text}");
    assert_eq!(read("shop.toml", &text).unwrap().boards[0].pressed.layers.len(), 20);
}

#[test]
fn bare_shims_are_in_the_unit_of_the_job() {
    let inch = read_for("shop.toml", "shims = [0.5, \"3 mm\"]\n", LengthUnit::Inch { denominator: 64 }).unwrap();
    assert_eq!((inch.shims_mm, read("shop.toml", "shims = [0.5]\n").unwrap().shims_mm), (vec![12.7, 3.0], vec![0.5]));
}

/// What cannot be read back is reported at the end of the text that is there, not beyond it.
#[test]
fn a_board_that_cannot_be_read_back_is_a_problem_within_the_text() {
    let text = "# ours\n";
    for remark in ["x".repeat(300), String::new()] {
        let problems =
            with_board("shop.toml", text, &KeptBoard { remark: Some(remark), ..board("first") }).unwrap_err();
        assert!(problems.iter().all(|p| p.span.end <= text.len()), "{problems:?}");
    }
}
