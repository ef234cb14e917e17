//! What is bought: for the table once, and for the boards of every pressing.

use super::bars::{Cuts, bar_pieces};
use super::{Layout, stock_sheets};
use crate::jig::{Consumables, Jig, SheetSize};
use crate::job::{Fabric, Frame, Glue, Job, Joint, Layer};
use crate::table::Skin;
use crate::units::{Phrase, Quantity, counted, phrase};

/// Mixed resin or glue on a glue line, g/m², from and to (from memory: 150 to 250 for laminating epoxies on wood).
pub(crate) const SPREAD_G_M2: (f64, f64) = (150.0, 250.0);

const MM2_PER_M2: f64 = 1e6;
const MM_PER_M: f64 = 1e3;
const G_PER_KG: f64 = 1e3;

/// How much of something is bought.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Amount {
    /// So many.
    Pieces(usize),
    /// A length, m.
    Length(f64),
    /// An area, m².
    Area(f64),
    /// A mass, kg.
    Mass(f64),
}

impl Amount {
    /// The number and its unit.
    pub fn number(self) -> (f64, &'static str) {
        match self {
            Self::Pieces(count) => (count as f64, "pieces"),
            Self::Length(m) => (m, "m"),
            Self::Area(m2) => (m2, "m²"),
            Self::Mass(kg) => (kg, "kg"),
        }
    }
}

/// Something to buy.
#[derive(Debug, Clone, PartialEq)]
pub struct Purchase {
    /// What it is.
    pub item: Phrase,
    /// How much of it.
    pub amount: Amount,
    /// Size of its pieces; empty where there is nothing to say.
    pub size: Phrase,
    /// What the amount is worked out from.
    pub from: Phrase,
    /// Price of one unit of the amount, where it is given.
    pub price: Option<f64>,
}

impl Purchase {
    /// What it costs, where its price is given.
    pub(crate) fn cost(&self) -> Option<f64> {
        self.price.map(|price| price * self.amount.number().0)
    }
}

/// What several purchases cost together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cost {
    /// The sum of those with a price.
    pub sum: f64,
    /// How many have no price.
    pub without_price: usize,
}

impl Cost {
    /// `None` where nothing has a price.
    pub fn of(purchases: &[Purchase]) -> Option<Self> {
        let costs: Vec<f64> = purchases.iter().filter_map(Purchase::cost).collect();
        let without_price = purchases.len() - costs.len();
        (!costs.is_empty()).then(|| Self { sum: costs.iter().sum(), without_price })
    }
}

/// Resin or glue for the boards of one pressing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Resin {
    /// Glue lines of a stack: faces that slide on each other until the glue sets.
    pub glue_lines: usize,
    /// Area of one glue line of all boards together, m².
    pub area_m2: f64,
    /// Mass on all glue lines, from and to, g.
    pub glue_g: (f64, f64),
    /// Mass that dry fabrics take up, g.
    pub wetting_g: f64,
}

/// All that is bought.
#[derive(Debug, Clone, PartialEq)]
pub struct Shopping {
    /// Once, for the table.
    pub table: Vec<Purchase>,
    /// For the boards of each pressing.
    pub pressing: Vec<Purchase>,
    /// Resin or glue of one pressing.
    pub resin: Resin,
}

/// What is pressed and used up.
#[derive(Debug, Clone, Copy)]
pub struct Used<'a> {
    /// Blank, films, bag and tape.
    pub consumables: &'a Consumables,
    /// Ends (tail, tip) of the blank, mm from its middle.
    pub blank_mm: (f64, f64),
    /// Area of all blanks, m².
    pub blanks_m2: f64,
    /// Distance of the fasteners of the skin, mm.
    pub pitch_mm: f64,
}

impl Shopping {
    /// The list for a job.
    pub(crate) fn new(job: &Job, jig: &Jig, layout: &Layout, used: &Used<'_>) -> Self {
        let mut table = sheets(job, layout);
        table.extend(loose_parts(layout));
        table.extend(skin(job, jig));
        table.extend(bars(jig, layout));
        table.extend(nuts(job, jig));
        table.extend(bolts(job, jig));
        table.extend(screws(job, jig, used.pitch_mm));
        table.extend(packing(jig));
        let resin = resin(job, used);
        let mut pressing: Vec<Purchase> =
            job.layers.chunk_by(|a, b| a.entry == b.entry).flat_map(|plies| layers(plies, job, used)).collect();
        pressing.extend(glue(job, &resin));
        pressing.extend(job.layers.chunk_by(|a, b| a.entry == b.entry).filter_map(|plies| wetting(plies, job, used)));
        pressing.extend(films(job, used.consumables));
        Self { table, pressing, resin }
    }
}

fn piece(item: Phrase, count: usize, size: Phrase, from: Phrase, price: Option<f64>) -> Purchase {
    Purchase { item, amount: Amount::Pieces(count), size, from, price }
}

fn sheets(job: &Job, layout: &Layout) -> Vec<Purchase> {
    let mut kinds: Vec<usize> = layout.sheets.iter().map(|s| s.nested.stock).collect();
    kinds.sort_unstable();
    kinds.dedup();
    let of_kind = |kind: usize| {
        let on: Vec<_> = layout.sheets.iter().filter(|s| s.nested.stock == kind).collect();
        let stock = job.stock.sheets.get(kind)?;
        let parts: usize = on.iter().map(|s| s.nested.placed.len()).sum();
        let size = phrase!("{} by {}", Quantity::length(stock.length_mm), Quantity::length(stock.width_mm));
        let from = phrase!("{} laid out on them", counted(parts, "part"));
        Some(piece(stock.name.as_str().into(), stock_sheets(on), size, from, stock.price))
    };
    kinds.into_iter().filter_map(of_kind).collect()
}

/// Parts that lie on no listed sheet, by thickness.
fn loose_parts(layout: &Layout) -> Vec<Purchase> {
    let lies = |i: usize| layout.sheets.iter().any(|s| s.nested.placed.iter().any(|p| p.part == i));
    let mut groups: Vec<(f64, usize, f64)> = Vec::new();
    for (_, flat) in layout.parts.iter().enumerate().filter(|(i, _)| !lies(*i)) {
        let Some(outline) = flat.part.outline() else { continue };
        let area = outline.bounds().area();
        match groups.iter_mut().find(|g| (g.0 - flat.thickness_mm).abs() < 1e-6) {
            Some(group) => {
                group.1 += 1;
                group.2 += area;
            }
            None => groups.push((flat.thickness_mm, 1, area)),
        }
    }
    let bought = |(thickness_mm, count, area): (f64, usize, f64)| Purchase {
        item: phrase!("sheet {} thick", Quantity::fine(thickness_mm)),
        amount: Amount::Area(area / MM2_PER_M2),
        size: Phrase::default(),
        from: phrase!(
            "boxes around {}, without waste; list sheets under [[stock]] for their number",
            counted(count, "part")
        ),
        price: None,
    };
    groups.into_iter().map(bought).collect()
}

fn skin(job: &Job, jig: &Jig) -> Option<Purchase> {
    let table = &job.table;
    let (long, wide) = (jig.surface.curvature().length_mm(), jig.width_mm);
    let [length, width] = [long, wide].map(Quantity::length);
    let sheets = table.skin_sheets.count;
    let pieces = if sheets == 1 { "one piece".to_owned() } else { counted(sheets, "piece") };
    (table.skin_mm > 0.0).then(|| Purchase {
        item: table.skin_material.as_ref().map_or_else(|| "table skin".into(), |m| phrase!("table skin, {}", &m.name)),
        amount: Amount::Area(sheets as f64 * long * wide / MM2_PER_M2),
        size: phrase!("{} of {} by {}, {} thick", pieces, length, width, Quantity::fine(Skin::of(table).sheet_mm())),
        from: "length along the curve, width of the table".into(),
        price: job.prices.skin_per_m2,
    })
}

fn bars(jig: &Jig, layout: &Layout) -> Vec<Purchase> {
    let item = |what: &str| match what {
        "rods" => phrase!("threaded rod {}", Quantity::fine(jig.spacers.rod_diameter_mm)),
        _ => "bar for spacers".into(),
    };
    let planned = layout.cuts.iter().flat_map(|cuts| bars_of(cuts, item(cuts.of.what)));
    let has_plan = |what: &str| layout.cuts.iter().any(|c| c.of.what == what);
    let others = bar_pieces(jig).into_iter().filter(|(what, _)| !has_plan(what)).map(|(what, pieces)| {
        let count: usize = pieces.iter().map(|p| p.count).sum();
        let length_mm: f64 = pieces.iter().map(|p| p.count as f64 * p.length_mm).sum();
        Purchase {
            item: item(what),
            amount: Amount::Length(length_mm / MM_PER_M),
            size: Phrase::default(),
            from: phrase!("{} {}, saw cuts not counted; list bars under [bars.{}] for their number", count, what, what),
            price: None,
        }
    });
    planned.chain(others).collect()
}

/// Bars of each length that a plan of cuts uses up.
fn bars_of(cuts: &Cuts, item: Phrase) -> Vec<Purchase> {
    let kinds = cuts.of.stock.bars.iter().enumerate();
    let bought = kinds.filter_map(|(kind, bar)| {
        let used: Vec<_> = cuts.plan.bars.iter().filter(|b| b.bar == kind).collect();
        let pieces: usize = used.iter().map(|b| b.pieces.len()).sum();
        let from = phrase!("{} {} cut off them", pieces, cuts.of.what);
        let size = phrase!("{} long", Quantity::length(bar.length_mm));
        (!used.is_empty()).then(|| piece(item.clone(), used.len(), size, from, bar.price))
    });
    bought.collect()
}

/// Nuts and washers of the rods, one of each at every end.
fn nuts(job: &Job, jig: &Jig) -> Vec<Purchase> {
    let rods = jig.spacers.rod_count;
    if rods == 0 {
        return Vec::new();
    }
    let diameter = Quantity::fine(jig.spacers.rod_diameter_mm);
    [("nut", job.prices.nut), ("washer", job.prices.washer)]
        .map(|(what, price)| {
            let from = phrase!("one at each end of {}", counted(rods, "rod"));
            piece(phrase!("{} for rod {}", what, diameter), 2 * rods, Phrase::default(), from, price)
        })
        .into()
}

/// Bolts through the plates of joints, with nut and two washers each.
fn bolts(job: &Job, jig: &Jig) -> Vec<Purchase> {
    let Frame::Ribs(frame) = &job.table.frame else { return Vec::new() };
    let Some(Joint::Plates { bolt_mm, .. }) = frame.split.as_ref().map(|s| s.joint) else { return Vec::new() };
    let count: usize = jig.plates.iter().map(|p| p.holes.len()).sum();
    if count == 0 {
        return Vec::new();
    }
    let (diameter, joints) = (Quantity::fine(bolt_mm), counted(jig.plates.len(), "joint"));
    let through = phrase!("through {} of wood", Quantity::fine(3.0 * jig.rib_thickness_mm));
    let from = |of: &str| phrase!("{} for every bolt of {}", of, joints.as_str());
    vec![
        piece(phrase!("bolt {}", diameter), count, through, phrase!("holes of {}", joints.as_str()), job.prices.bolt),
        piece(phrase!("nut for bolt {}", diameter), count, Phrase::default(), from("one"), job.prices.nut),
        piece(phrase!("washer for bolt {}", diameter), 2 * count, Phrase::default(), from("two"), job.prices.washer),
    ]
}

fn screws(job: &Job, jig: &Jig, pitch_mm: f64) -> Vec<Purchase> {
    let (supports, what, along_mm) = match &job.table.frame {
        Frame::Ribs(_) => (jig.ribs.len(), "ribs", jig.surface.curvature().length_mm()),
        Frame::Bearers(_) => (jig.bearers.len(), "bearers", jig.width_mm),
    };
    let each = (along_mm / pitch_mm - 1e-9).ceil().max(1.0) as usize + 1;
    let pitch = Quantity::length(pitch_mm);
    let from = phrase!("{} {}, one every {} over {}", supports, what, pitch, Quantity::length(along_mm));
    let skin = (job.table.skin_mm > 0.0)
        .then(|| piece("screw for the table skin".into(), supports * each, Phrase::default(), from, job.prices.screw));
    let marked: usize = jig.panels.iter().map(|p| p.screws.len()).sum();
    let of = if jig.bearers.is_empty() { "screw for the panels" } else { "screw for the bearers" };
    let others = (marked > 0).then(|| {
        piece(of.into(), marked, Phrase::default(), "places marked on panels or base board".into(), job.prices.screw)
    });
    skin.into_iter().chain(others).collect()
}

/// Packing under bearers, by thickness.
fn packing(jig: &Jig) -> Vec<Purchase> {
    let Some(bearer) = jig.bearers.first() else { return Vec::new() };
    let mut all: Vec<f64> = jig.bearers.iter().flat_map(|b| b.packing_mm.iter().copied()).collect();
    all.sort_by(|a, b| b.total_cmp(a));
    let [length, width] = [bearer.length_mm, bearer.thickness_mm].map(Quantity::length);
    let bought = |of: &[f64]| {
        let item = phrase!("packing {} thick", Quantity::fine(of[0]));
        piece(item, of.len(), phrase!("{} by {}", length, width), "the list of bearers".into(), None)
    };
    all.chunk_by(|a, b| (a - b).abs() < 1e-9).map(bought).collect()
}

/// Length and width of a layer as it is cut, mm.
fn cut_size_mm(layer: &Layer, used: &Used<'_>) -> (f64, f64) {
    let (tail, tip) = used.blank_mm;
    let (from, to) = layer.extent_mm.unwrap_or((tail, tip));
    ((to.min(tip) - from.max(tail)).max(0.0), layer.width_mm.unwrap_or(used.consumables.blank.width_mm))
}

/// The plies of one entry of the stack, those of each thickness together: some may be planed to a taper.
fn layers(plies: &[Layer], job: &Job, used: &Used<'_>) -> Vec<Purchase> {
    let mut kinds: Vec<Vec<&Layer>> = Vec::new();
    for ply in plies {
        let thick_mm = ply.thickness.thickest_mm();
        match kinds.iter_mut().find(|kind| (kind[0].thickness.thickest_mm() - thick_mm).abs() < 1e-9) {
            Some(kind) => kind.push(ply),
            None => kinds.push(vec![ply]),
        }
    }
    kinds.iter().map(|kind| layer(kind, job, used)).collect()
}

fn layer(plies: &[&Layer], job: &Job, used: &Used<'_>) -> Purchase {
    let one = plies[0];
    let (long, wide) = cut_size_mm(one, used);
    let count = plies.len() * job.board.count;
    let [length, width] = [long, wide].map(Quantity::length);
    let thick = match one.fabric {
        Some(fabric) => phrase!("{} dry", Quantity::area_mass(fabric.dry_g_m2)),
        None => phrase!("{} thick", Quantity::fine(one.thickness.thickest_mm())),
    };
    let same = one.name == one.material.name;
    Purchase {
        item: if same { one.name.as_str().into() } else { phrase!("{}, {}", &one.name, &one.material.name) },
        amount: Amount::Area(count as f64 * long * wide / MM2_PER_M2),
        size: phrase!("{} of {} by {}, {}", counted(count, "piece"), length, width, thick),
        from: phrase!("{}, before trimming", of_boards(plies.len(), job.board.count)),
        price: one.price_per_m2,
    }
}

fn of_boards(plies: usize, boards: usize) -> String {
    let plies = if plies == 1 { "one ply".to_owned() } else { format!("{plies} plies") };
    if boards == 1 { plies } else { format!("{plies} in each of {boards} boards") }
}

fn resin(job: &Job, used: &Used<'_>) -> Resin {
    let loose = |pair: &&[Layer]| pair[0].cured_group.is_none() || pair[0].cured_group != pair[1].cured_group;
    let glue_lines = job.layers.windows(2).filter(loose).count();
    let (least, most) = match job.pressing.glue {
        Some(Glue::WaterBased { spread_g_m2 }) => (spread_g_m2, spread_g_m2),
        Some(Glue::Epoxy | Glue::Polyurethane) | None => SPREAD_G_M2,
    };
    let all_m2 = used.blanks_m2 * glue_lines as f64;
    let wetting_g = job.layers.iter().map(|layer| wetting_g(layer, job, used)).sum();
    Resin { glue_lines, area_m2: used.blanks_m2, glue_g: (least * all_m2, most * all_m2), wetting_g }
}

fn glue(job: &Job, resin: &Resin) -> Option<Purchase> {
    let what = match job.pressing.glue {
        Some(Glue::WaterBased { .. }) => "water-based glue",
        Some(Glue::Epoxy) => "epoxy, mixed",
        Some(Glue::Polyurethane) => "polyurethane glue",
        None => "glue or mixed resin",
    };
    let spread = resin.glue_g.1 / (resin.area_m2 * resin.glue_lines as f64);
    (resin.glue_lines > 0).then(|| Purchase {
        item: what.into(),
        amount: Amount::Mass(resin.glue_g.1 / G_PER_KG),
        size: Phrase::default(),
        from: phrase!(
            "{} of {} each, {} on each",
            counted(resin.glue_lines, "glue line"),
            Quantity::surface(resin.area_m2),
            Quantity::area_mass(spread)
        ),
        price: job.prices.resin_per_kg,
    })
}

/// Resin that one layer's fabric takes up in all boards, g: with the part f of fibre, each gram of fibre takes (1 - f)/f.
fn wetting_g(layer: &Layer, job: &Job, used: &Used<'_>) -> f64 {
    let Some(Fabric { dry_g_m2, fibre_fraction: f }) = layer.fabric else { return 0.0 };
    let (long, wide) = cut_size_mm(layer, used);
    dry_g_m2 * (1.0 - f) / f * job.board.count as f64 * long * wide / MM2_PER_M2
}

/// Resin that wets out the plies of one entry.
fn wetting(plies: &[Layer], job: &Job, used: &Used<'_>) -> Option<Purchase> {
    let fabric = plies[0].fabric?;
    let (long, wide) = cut_size_mm(&plies[0], used);
    let dry_g = fabric.dry_g_m2 * (plies.len() * job.board.count) as f64 * long * wide / MM2_PER_M2;
    let wet_g: f64 = plies.iter().map(|ply| wetting_g(ply, job, used)).sum();
    Some(Purchase {
        item: phrase!("mixed resin to wet out {}", &plies[0].name),
        amount: Amount::Mass(wet_g / G_PER_KG),
        size: Phrase::default(),
        from: phrase!(
            "{} of dry fabric, which is {} of the laminate's mass",
            Quantity::mass(dry_g),
            Quantity::share(fabric.fibre_fraction)
        ),
        price: job.prices.resin_per_kg,
    })
}

/// Film, breather, bag and tape.
fn films(job: &Job, consumables: &Consumables) -> Vec<Purchase> {
    let prices = &job.prices;
    let sheet = |item: &str, sheet: SheetSize, from: &str, price| Purchase {
        item: item.into(),
        amount: Amount::Area(sheet.pieces as f64 * sheet.length_mm * sheet.width_mm / MM2_PER_M2),
        size: phrase!(
            "{} of {} by {}",
            counted(sheet.pieces, "piece"),
            Quantity::length(sheet.length_mm),
            Quantity::length(sheet.width_mm)
        ),
        from: from.into(),
        price,
    };
    let mut bought =
        vec![sheet("release film", consumables.film, "under the stacks and over them", prices.film_per_m2)];
    if let Some(bagging) = &consumables.bagging {
        bought.push(sheet("breather", bagging.breather, "over the film", prices.breather_per_m2));
        let around = if bagging.around_table { "around the table, with slack" } else { "over the table, with slack" };
        bought.push(sheet("bag film", bagging.bag, around, prices.bag_per_m2));
        bought.push(Purchase {
            item: "sealant tape".into(),
            amount: Amount::Length(bagging.tape_mm / MM_PER_M),
            size: Phrase::default(),
            from: "all along the bag's edge, with pleats".into(),
            price: prices.tape_per_m,
        });
    }
    bought
}
