//! What the `dxf` crate (0.6.2) leaves out of a file, mended on its group codes.
//!
//! Group codes and what they mean: DXF reference, chapters HEADER, TABLES, BLOCKS and OBJECTS. Every function here mends
//! one defect and says which.

use std::borrow::Cow;
use std::fmt::Write as _;

use kurbo::Rect;

use super::names::one_line;
use crate::units::decimal;

/// Which dialect of DXF.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[non_exhaustive]
pub enum DxfVersion {
    /// AC1015 of the year 2000: one LWPOLYLINE per outline; what most programs expect.
    #[default]
    R2000,
    /// AC1009 of the year 1992: POLYLINE with VERTEX, for machines that know nothing newer.
    R12,
}

/// What the mended file has to say.
pub(super) struct Facts<'a> {
    /// The drawing's title.
    pub(super) title: &'a str,
    /// Program version and job hash.
    pub(super) origin: &'a str,
    /// The dialect of the file.
    pub(super) version: DxfVersion,
    /// What the drawing covers, mm.
    pub(super) bounds: Rect,
}

/// A group code and its value, the unit of DXF files; most values stay where the crate wrote them.
#[derive(Debug, Clone, PartialEq)]
struct Pair<'a> {
    code: i32,
    value: Cow<'a, str>,
}

fn pair<'a>(code: i32, value: impl Into<Cow<'a, str>>) -> Pair<'a> {
    Pair { code, value: value.into() }
}

/// An entity, a table record or an object: it begins with code 0 and lasts to the next one.
type Record<'a> = Vec<Pair<'a>>;

/// A table: its head, then its records.
struct Table<'a> {
    name: Cow<'a, str>,
    head: Record<'a>,
    records: Vec<Record<'a>>,
}

/// The parts of a file that are kept from the crate's output.
struct Parts<'a> {
    header: Vec<Pair<'a>>,
    tables: Vec<Table<'a>>,
    blocks: Vec<Record<'a>>,
    entities: Vec<Record<'a>>,
    objects: Vec<Record<'a>>,
    next_handle: u64,
}

/// The crate's output with its defects mended.
pub(super) fn finish(raw: &str, facts: &Facts<'_>) -> Vec<u8> {
    let mut parts = Parts::read(raw);
    keep_header_variables(&mut parts);
    order_tables(&mut parts);
    handle_of_dimension_styles(&mut parts);
    drop_empty_pointers(&mut parts);
    aim_view(&mut parts, facts.bounds);
    match facts.version {
        DxfVersion::R2000 => {
            handles_and_owners_of_tables(&mut parts);
            model_and_paper_space(&mut parts);
            root_dictionary(&mut parts);
            plot_style_of_layers(&mut parts);
        }
        DxfVersion::R12 => {
            drop_subclass_markers(&mut parts);
            layers_of_vertices(&mut parts);
            declare_millimetres(&mut parts);
        }
    }
    seed_of_handles(&mut parts);
    parts.written(facts)
}

impl<'a> Parts<'a> {
    fn read(raw: &'a str) -> Self {
        let mut lines = raw.lines();
        let mut pairs = Vec::new();
        while let (Some(code), Some(value)) = (lines.next(), lines.next()) {
            pairs.push(pair(code.trim().parse().unwrap_or(999), value));
        }
        let highest = pairs.iter().filter(|p| matches!(p.code, 5 | 105)).filter_map(|p| hex(&p.value)).max();
        let mut parts = Self {
            header: Vec::new(),
            tables: Vec::new(),
            blocks: Vec::new(),
            entities: Vec::new(),
            objects: Vec::new(),
            next_handle: highest.unwrap_or(0) + 1,
        };
        let mut section = Cow::Borrowed("");
        for record in records(pairs) {
            match (&*record[0].value, &*section) {
                ("SECTION", _) => {
                    section = record.get(1).map(|p| p.value.clone()).unwrap_or_default();
                    parts.header.extend(record.into_iter().skip(2).filter(|_| section == "HEADER"));
                }
                ("ENDSEC" | "ENDTAB" | "EOF", _) => {}
                ("TABLE", "TABLES") => {
                    let name = record.get(1).map(|p| p.value.clone()).unwrap_or_default();
                    parts.tables.push(Table { name, head: record, records: Vec::new() });
                }
                (_, "TABLES") => {
                    if let Some(table) = parts.tables.last_mut() {
                        table.records.push(record);
                    }
                }
                (_, "ENTITIES") => parts.entities.push(record),
                _ => {}
            }
        }
        parts
    }

    fn new_handle(&mut self) -> String {
        let handle = format!("{:X}", self.next_handle);
        self.next_handle += 1;
        handle
    }

    fn written(&self, facts: &Facts<'_>) -> Vec<u8> {
        let mut out = String::new();
        for comment in [facts.origin, facts.title] {
            put(&mut out, &pair(999, ascii(&one_line(comment))));
        }
        let section = |out: &mut String, name: &str, fill: &dyn Fn(&mut String)| {
            put(out, &pair(0, "SECTION"));
            put(out, &pair(2, name));
            fill(out);
            put(out, &pair(0, "ENDSEC"));
        };
        let all = |out: &mut String, records: &[Record<'_>]| records.iter().flatten().for_each(|p| put(out, p));
        section(&mut out, "HEADER", &|out| self.header.iter().for_each(|p| put(out, p)));
        section(&mut out, "TABLES", &|out| {
            for table in &self.tables {
                table.head.iter().for_each(|p| put(out, p));
                all(out, &table.records);
                put(out, &pair(0, "ENDTAB"));
            }
        });
        section(&mut out, "BLOCKS", &|out| all(out, &self.blocks));
        section(&mut out, "ENTITIES", &|out| all(out, &self.entities));
        if !self.objects.is_empty() {
            section(&mut out, "OBJECTS", &|out| all(out, &self.objects));
        }
        put(&mut out, &pair(0, "EOF"));
        out.into_bytes()
    }
}

fn put(out: &mut String, pair: &Pair<'_>) {
    // Writing to a string does not fail.
    let _ = write!(out, "{:>3}\r\n", pair.code);
    out.push_str(&pair.value);
    out.push_str("\r\n");
}

fn records(pairs: Vec<Pair<'_>>) -> Vec<Record<'_>> {
    let mut all: Vec<Record<'_>> = Vec::new();
    for p in pairs {
        match all.last_mut() {
            Some(last) if p.code != 0 => last.push(p),
            _ => all.push(vec![p]),
        }
    }
    all
}

fn hex(value: &str) -> Option<u64> {
    u64::from_str_radix(value.trim(), 16).ok()
}

/// Characters outside ASCII in the coding that DXF has for them.
fn ascii(text: &str) -> String {
    let mut out = String::new();
    for c in text.chars() {
        if c.is_ascii() {
            out.push(c);
        } else {
            let mut units = [0_u16; 2];
            c.encode_utf16(&mut units).iter().for_each(|u| out.push_str(&format!("\\U+{u:04X}")));
        }
    }
    out
}

/// Header variables that say something about the drawing. All others describe the editor's state, among them four
/// times and two random ids that differ on every run, and names of styles that the file does not hold.
const HEADER_VARIABLES: [&str; 16] = [
    "$ACADVER",
    "$DWGCODEPAGE",
    "$INSBASE",
    "$EXTMIN",
    "$EXTMAX",
    "$LIMMIN",
    "$LIMMAX",
    "$PEXTMIN",
    "$PEXTMAX",
    "$PLIMMIN",
    "$PLIMMAX",
    "$LUNITS",
    "$HANDLING",
    "$HANDSEED",
    "$MEASUREMENT",
    "$INSUNITS",
];

/// Defect: clock and chance in the header.
fn keep_header_variables(parts: &mut Parts<'_>) {
    let mut keep = false;
    parts.header.retain(|p| {
        if p.code == 9 {
            keep = HEADER_VARIABLES.contains(&&*p.value);
        }
        keep
    });
}

/// The tables in the order in which the reference lists them: a layer's line type stands before the layer.
const TABLES: [&str; 9] = ["VPORT", "LTYPE", "LAYER", "STYLE", "VIEW", "UCS", "APPID", "DIMSTYLE", "BLOCK_RECORD"];

/// Defect: tables in alphabetical order, with those that are empty left out.
fn order_tables(parts: &mut Parts<'_>) {
    let r12 = !parts.tables.iter().any(|t| t.name == "BLOCK_RECORD");
    for name in TABLES {
        let wanted = !(r12 && name == "BLOCK_RECORD");
        if wanted && !parts.tables.iter().any(|t| t.name == name) {
            let head = vec![pair(0, "TABLE"), pair(2, name), pair(100, "AcDbSymbolTable"), pair(70, "0")];
            parts.tables.push(Table { name: name.into(), head, records: Vec::new() });
        }
    }
    parts.tables.sort_by_key(|t| TABLES.iter().position(|n| *n == t.name));
    for table in &mut parts.tables {
        let count = table.records.len();
        table.head.iter_mut().filter(|p| p.code == 70).for_each(|p| p.value = count.to_string().into());
    }
}

/// Defect: dimension styles carry their handle in code 5, which means something else there; 105 is theirs.
fn handle_of_dimension_styles(parts: &mut Parts<'_>) {
    let styles = parts.tables.iter_mut().filter(|t| t.name == "DIMSTYLE").flat_map(|t| &mut t.records);
    styles.flatten().filter(|p| p.code == 5).for_each(|p| p.code = 105);
}

/// Defect: pointers to other objects (codes 320 to 369 and 390 to 399 but line weights) that are empty or point at
/// nothing.
fn drop_empty_pointers(parts: &mut Parts<'_>) {
    let pointer = |code: i32| matches!(code, 320..=369 | 390..=399);
    for record in parts.tables.iter_mut().flat_map(|t| &mut t.records).chain(&mut parts.entities) {
        record.retain(|p| !(pointer(p.code) && hex(&p.value).unwrap_or(0) == 0));
    }
}

/// Defect: the file opens on a view 1 mm high. The view is aimed at the drawing instead.
fn aim_view(parts: &mut Parts<'_>, bounds: Rect) {
    let center = bounds.center();
    // A tenth to spare all round; a view of 4 to 3 is assumed.
    let height = 1.1 * bounds.height().max(bounds.width() * 0.75).max(1.0);
    for p in parts.tables.iter_mut().filter(|t| t.name == "VPORT").flat_map(|t| &mut t.records).flatten() {
        match p.code {
            12 => p.value = decimal(center.x, 6).into(),
            22 => p.value = decimal(center.y, 6).into(),
            40 => p.value = decimal(height, 6).into(),
            41 => p.value = "1.333333".into(),
            _ => {}
        }
    }
}

/// Defect: heads of tables have no handle, and neither heads nor records say whom they belong to.
fn handles_and_owners_of_tables(parts: &mut Parts<'_>) {
    for i in 0..parts.tables.len() {
        let handle = parts.new_handle();
        let table = &mut parts.tables[i];
        table.head.splice(2..2, [pair(5, handle.clone()), pair(330, "0")]);
        if table.name == "DIMSTYLE" {
            table.head.push(pair(100, "AcDbDimStyleTable"));
        }
        for record in &mut table.records {
            record.insert(2, pair(330, handle.clone()));
        }
    }
}

/// Defect: no BLOCKS section, and entities that do not say in which space they are.
fn model_and_paper_space(parts: &mut Parts<'_>) {
    let spaces = [("*MODEL_SPACE", "*Model_Space"), ("*PAPER_SPACE", "*Paper_Space")];
    let mut handles = Vec::new();
    for record in parts.tables.iter_mut().filter(|t| t.name == "BLOCK_RECORD").flat_map(|t| &mut t.records) {
        let Some(i) = record.iter().position(|p| p.code == 2) else { continue };
        if let Some((_, name)) = spaces.iter().find(|(crate_name, _)| *crate_name == record[i].value) {
            record[i].value = (*name).into();
            // No layout: plotting is the receiver's business.
            record.push(pair(340, "0"));
            handles.push((*name, record[1].value.clone()));
        }
    }
    for (name, owner) in &handles {
        let paper = *name == "*Paper_Space";
        let in_space = |record: &mut Record<'_>| {
            if paper {
                record.push(pair(67, "1"));
            }
            record.push(pair(8, "0"));
        };
        let mut begin = vec![pair(0, "BLOCK"), pair(5, parts.new_handle()), pair(330, owner.clone())];
        begin.push(pair(100, "AcDbEntity"));
        in_space(&mut begin);
        begin.extend([pair(100, "AcDbBlockBegin"), pair(2, *name), pair(70, "0")]);
        begin.extend([pair(10, "0.0"), pair(20, "0.0"), pair(30, "0.0"), pair(3, *name), pair(1, "")]);
        let mut end = vec![pair(0, "ENDBLK"), pair(5, parts.new_handle()), pair(330, owner.clone())];
        end.push(pair(100, "AcDbEntity"));
        in_space(&mut end);
        end.push(pair(100, "AcDbBlockEnd"));
        parts.blocks.extend([begin, end]);
    }
    if let Some((_, model)) = handles.iter().find(|(name, _)| *name == "*Model_Space") {
        for entity in &mut parts.entities {
            entity.insert(2, pair(330, model.clone()));
        }
    }
}

/// Defect: an empty OBJECTS section. Readers look for the root dictionary first, and in it for the groups.
fn root_dictionary(parts: &mut Parts<'_>) {
    let (root, groups) = (parts.new_handle(), parts.new_handle());
    let dictionary = |handle: &str, owner: &str| {
        let mut record = vec![pair(0, "DICTIONARY"), pair(5, handle.to_owned()), pair(330, owner.to_owned())];
        record.extend([pair(100, "AcDbDictionary"), pair(281, "1")]);
        record
    };
    let mut first = dictionary(&root, "0");
    first.extend([pair(3, "ACAD_GROUP"), pair(350, groups.clone())]);
    parts.objects = vec![first, dictionary(&groups, &root)];
}

/// Defect: layers name no plot style, which one strict CAD program asks for (ezdxf 1.4.4, note on group code 390 of
/// layers). There is one style, `Normal`, which changes nothing.
fn plot_style_of_layers(parts: &mut Parts<'_>) {
    let (styles, normal) = (parts.new_handle(), parts.new_handle());
    let Some(root) = parts.objects.first_mut() else { return };
    let owner = root[1].value.clone();
    root.extend([pair(3, "ACAD_PLOTSTYLENAME"), pair(350, styles.clone())]);
    let mut list = vec![pair(0, "ACDBDICTIONARYWDFLT"), pair(5, styles.clone()), pair(330, owner)];
    list.extend([pair(100, "AcDbDictionary"), pair(281, "1"), pair(3, "Normal"), pair(350, normal.clone())]);
    list.extend([pair(100, "AcDbDictionaryWithDefault"), pair(340, normal.clone())]);
    parts.objects.push(list);
    parts.objects.push(vec![pair(0, "ACDBPLACEHOLDER"), pair(5, normal.clone()), pair(330, styles)]);
    for layer in parts.tables.iter_mut().filter(|t| t.name == "LAYER").flat_map(|t| &mut t.records) {
        layer.push(pair(390, normal.clone()));
    }
}

/// Defect of R12 files: subclass markers, which came with R13.
fn drop_subclass_markers(parts: &mut Parts<'_>) {
    for table in &mut parts.tables {
        table.head.retain(|p| p.code != 100);
        table.records.iter_mut().for_each(|r| r.retain(|p| p.code != 100));
    }
    parts.entities.iter_mut().for_each(|r| r.retain(|p| p.code != 100));
}

/// Defect of R12 files: vertices lie on layer 0 and their ends on none, while the outline is on a layer of its own;
/// machines that go by the vertex would cut nothing. A tangent direction is written that is not used.
fn layers_of_vertices(parts: &mut Parts<'_>) {
    let mut layer = Cow::Borrowed("0");
    for record in &mut parts.entities {
        match &*record[0].value {
            "VERTEX" => {
                record.retain(|p| p.code != 50);
                record.iter_mut().filter(|p| p.code == 8).for_each(|p| p.value.clone_from(&layer));
            }
            "SEQEND" => record.push(pair(8, layer.clone())),
            _ => {
                if let Some(own) = record.iter().find(|p| p.code == 8) {
                    layer.clone_from(&own.value);
                }
            }
        }
    }
}

/// Defect of R12 files: no unit; one reader takes them for inches.
fn declare_millimetres(parts: &mut Parts<'_>) {
    let mut declare = |name: &'static str, value: &'static str| {
        if !parts.header.iter().any(|p| p.code == 9 && p.value == name) {
            parts.header.extend([pair(9, name), pair(70, value)]);
        }
    };
    declare("$MEASUREMENT", "1");
    declare("$INSUNITS", "4");
}

/// Defect: the next free handle is one that the mending has used meanwhile.
fn seed_of_handles(parts: &mut Parts<'_>) {
    let seed = format!("{:X}", parts.next_handle);
    let place = parts.header.iter().position(|p| p.code == 9 && p.value == "$HANDSEED");
    if let Some(value) = place.and_then(|i| parts.header.get_mut(i + 1)) {
        value.value = seed.into();
    }
}

#[cfg(test)]
mod tests;
