use super::*;
use crate::drawing::{Contour, Drawing, Operation, Part, Shape, Text, TextAnchor, Vertex};
use crate::export::{DxfOptions, write_dxf};
use kurbo::Point;
use std::collections::BTreeSet;

fn pairs(version: DxfVersion) -> Vec<Pair<'static>> {
    let mut part = Part::new("rib-1", "Rib 1");
    let corners = [(0.0, 0.0, 0.0), (100.0, 0.0, 0.5), (100.0, 40.0, 0.0)];
    let vertices = corners.map(|(x, y, bulge)| Vertex { point: Point::new(x, y), bulge });
    part.add(Operation::CutOutside, Shape::Contour(Contour::closed(vertices.to_vec()).unwrap()));
    part.add(Operation::Drill, Shape::Circle { center: Point::new(60.0, 10.0), radius_mm: 4.0 });
    let text = Text {
        at: Point::new(50.0, 10.0),
        height_mm: 8.0,
        angle_rad: 0.0,
        anchor: TextAnchor::End,
        content: "é 5° %%u\nEOF".into(),
    };
    part.add(Operation::Mark, Shape::Text(text));
    let drawing = Drawing { title: "Ribs\n0\nEOF é".into(), origin: "program, job".into(), parts: vec![part] };
    let bytes = write_dxf(&drawing, &DxfOptions { version }).unwrap();
    let text = String::from_utf8(bytes).unwrap();
    assert!(text.is_ascii());
    let lines: Vec<&str> = text.lines().collect();
    lines.chunks(2).map(|c| pair(c[0].trim().parse().unwrap(), c[1].to_owned())).collect()
}

fn section(version: DxfVersion, name: &str) -> Vec<Record<'static>> {
    let all = records(pairs(version));
    let begin = all.iter().position(|r| r[0].value == "SECTION" && r[1].value == name);
    all.into_iter().skip(begin.map_or(usize::MAX, |i| i + 1)).take_while(|r| r[0].value != "ENDSEC").collect()
}

fn value<'r>(record: &'r Record<'_>, code: i32) -> Option<&'r str> {
    record.iter().find(|p| p.code == code).map(|p| &*p.value)
}

fn header(version: DxfVersion, name: &str) -> Option<String> {
    let all = pairs(version);
    all.iter().position(|p| p.code == 9 && p.value == name).map(|i| all[i + 1].value.trim().to_owned())
}

const BOTH: [DxfVersion; 2] = [DxfVersion::R2000, DxfVersion::R12];

#[test]
fn no_times_and_no_random_ids_remain() {
    for version in BOTH {
        assert_eq!(pairs(version), pairs(version));
        let names: Vec<Pair<'_>> = pairs(version).into_iter().filter(|p| p.code == 9).collect();
        assert!(names.len() > 8 && !names.iter().any(|p| p.value.starts_with("$TD") || p.value.ends_with("GUID")));
    }
}

#[test]
fn millimetres_are_declared_in_both_versions() {
    for version in BOTH {
        assert_eq!(header(version, "$INSUNITS").as_deref(), Some("4"));
        assert_eq!(header(version, "$MEASUREMENT").as_deref(), Some("1"));
        assert_eq!(header(version, "$PLIMMAX").as_deref(), header(version, "$EXTMAX").as_deref());
        assert!(header(version, "$EXTMAX").unwrap().parse::<f64>().unwrap() >= 100.0);
    }
}

#[test]
fn every_table_is_there_in_order_with_handle_and_owner() {
    let found = section(DxfVersion::R2000, "TABLES");
    let heads: Vec<&Record<'_>> = found.iter().filter(|r| r[0].value == "TABLE").collect();
    assert_eq!(heads.iter().map(|r| &*r[1].value).collect::<Vec<_>>(), TABLES);
    let mut owner = String::new();
    for record in found.iter().filter(|r| r[0].value != "ENDTAB") {
        let code = if record[0].value == "DIMSTYLE" { 105 } else { 5 };
        let handle = value(record, code).unwrap_or_else(|| panic!("no handle: {record:?}"));
        if record[0].value == "TABLE" {
            assert_eq!(value(record, 330), Some("0"));
            owner = handle.to_owned();
        } else {
            assert_eq!(value(record, 330), Some(owner.as_str()), "{record:?}");
        }
    }
}

#[test]
fn dimension_styles_use_their_own_handle_code() {
    let found = section(DxfVersion::R2000, "TABLES");
    let styles: Vec<&Record<'_>> = found.iter().filter(|r| r[0].value == "DIMSTYLE").collect();
    assert!(!styles.is_empty() && styles.iter().all(|r| value(r, 105).is_some() && value(r, 5).is_none()));
}

#[test]
fn no_pointer_points_at_nothing() {
    let all = pairs(DxfVersion::R2000);
    let handles: BTreeSet<u64> =
        all.iter().filter(|p| matches!(p.code, 5 | 105)).filter_map(|p| hex(&p.value)).collect();
    for p in all.iter().filter(|p| matches!(p.code, 320..=369 | 390..=399) && p.value != "0") {
        assert!(hex(&p.value).is_some_and(|h| handles.contains(&h)), "{p:?}");
    }
}

#[test]
fn both_spaces_have_a_record_and_a_block_and_entities_an_owner() {
    let tables = section(DxfVersion::R2000, "TABLES");
    let space = |name| tables.iter().find(|r| r[0].value == "BLOCK_RECORD" && value(r, 2) == Some(name)).unwrap();
    let blocks = section(DxfVersion::R2000, "BLOCKS");
    for name in ["*Model_Space", "*Paper_Space"] {
        let block = blocks.iter().position(|r| r[0].value == "BLOCK" && value(r, 2) == Some(name)).unwrap();
        assert_eq!(value(&blocks[block], 330), value(space(name), 5));
        assert_eq!(blocks[block + 1][0].value, "ENDBLK");
    }
    let entities = section(DxfVersion::R2000, "ENTITIES");
    assert_eq!(entities.iter().map(|r| &*r[0].value).collect::<Vec<_>>(), ["CIRCLE", "TEXT", "LWPOLYLINE"]);
    assert!(entities.iter().all(|r| value(r, 330) == value(space("*Model_Space"), 5)));
}

#[test]
fn the_root_dictionary_holds_the_groups() {
    let objects = section(DxfVersion::R2000, "OBJECTS");
    assert_eq!((value(&objects[0], 330), value(&objects[0], 3)), (Some("0"), Some("ACAD_GROUP")));
    assert_eq!(value(&objects[0], 350), value(&objects[1], 5));
    assert_eq!(value(&objects[1], 330), value(&objects[0], 5));
}

#[test]
fn every_layer_names_the_plot_style() {
    let objects = section(DxfVersion::R2000, "OBJECTS");
    let normal = value(objects.iter().find(|r| r[0].value == "ACDBPLACEHOLDER").unwrap(), 5);
    let tables = section(DxfVersion::R2000, "TABLES");
    let layers: Vec<&Record<'_>> = tables.iter().filter(|r| r[0].value == "LAYER").collect();
    assert_eq!(layers.len(), 6);
    assert!(normal.is_some() && layers.iter().all(|r| value(r, 390) == normal));
}

#[test]
fn handles_are_unique_and_below_the_seed() {
    for version in BOTH {
        let seed = hex(&header(version, "$HANDSEED").unwrap()).unwrap();
        let all = pairs(version);
        let begin = all.iter().position(|p| p.value == "TABLES").unwrap();
        let handles: Vec<u64> =
            all[begin..].iter().filter(|p| matches!(p.code, 5 | 105)).map(|p| hex(&p.value).unwrap()).collect();
        assert_eq!(handles.iter().collect::<BTreeSet<_>>().len(), handles.len());
        assert!(handles.iter().all(|h| *h > 0 && *h < seed));
    }
}

#[test]
fn the_view_shows_the_drawing() {
    let tables = section(DxfVersion::R2000, "TABLES");
    let view = tables.iter().find(|r| r[0].value == "VPORT").unwrap();
    let height: f64 = value(view, 40).unwrap().parse().unwrap();
    assert!(height > 60.0 && height < 200.0);
    assert!((value(view, 22).unwrap().parse::<f64>().unwrap() - 20.0).abs() < 1e-6);
}

#[test]
fn r12_files_have_no_newer_codes_and_vertices_lie_on_their_layer() {
    let all = pairs(DxfVersion::R12);
    assert!(all.iter().all(|p| p.code != 100 && p.code != 330));
    let entities = section(DxfVersion::R12, "ENTITIES");
    let names: Vec<&str> = entities.iter().map(|r| &*r[0].value).collect();
    assert_eq!(names, ["CIRCLE", "TEXT", "POLYLINE", "VERTEX", "VERTEX", "VERTEX", "SEQEND"]);
    assert!(entities[2..].iter().all(|r| value(r, 8) == Some("outside-cut")));
    assert_eq!(value(&entities[4], 42), Some("0.5"));
}

#[test]
fn words_never_become_codes() {
    for version in BOTH {
        let all = pairs(version);
        assert_eq!(all.iter().filter(|p| p.code == 0 && p.value == "EOF").count(), 1);
        assert_eq!(all[0], pair(999, "program, job"));
        assert_eq!(all[1], pair(999, "Ribs 0 EOF \\U+00E9"));
        let entities = section(version, "ENTITIES");
        assert_eq!(value(&entities[1], 1), Some("\\U+00E9 5%%d % %u EOF"));
    }
}
