//! What the rows ask of the program, in one place, so that one formula at a time can be made wrong on purpose.

use kurbo::Point;
use overbend::curve::{Curvature, Curve, Parallel, PlaneCurve, resting_pose};
use overbend::drawing::{Contour, Drawing, Operation, Part, Shape};
use overbend::export::{DxfOptions, write_dxf};
use overbend::job::{Board, Drying, Fasteners, Hold, Layer, LengthAlong, Material, MaterialKind, Pressing, SkinSheets};
use overbend::laminate::{Laminate, Section};
use overbend::press::{Blank, Load, Pressed, press, release};
use overbend::table::{self, Build, Carried, OverbentTable, Skin, Span};

/// The program, or the program with one formula made wrong.
pub(crate) struct Program {
    /// The section of a stack whose glue sets so many kelvin above the room.
    pub(crate) section: fn(&[Layer], f64) -> Section,
    /// Curvature of the released base over its own arc length: a stack that reaches from end to end of a table.
    pub(crate) released: fn(&Curvature, &[Layer]) -> Curvature,
    /// A wet stack on a table.
    pub(crate) pressed: fn(&Curvature, &Laminate, Blank, &Load) -> Pressed,
    /// The curve made from its curvature, as it rests on the floor at s = 0.
    pub(crate) standing: fn(&Curvature) -> Curve,
    /// Places on the curve that lies below another by a distance along the normal: rib tops below a table's surface.
    pub(crate) below: fn(&Curve, f64, &[f64]) -> Vec<Point>,
    /// An outline as a DXF file.
    pub(crate) dxf: fn(&Contour) -> String,
    /// Force on the whole blank (N) of a blank of so many mm by so many mm under what holds it.
    pub(crate) force_on_blank_n: fn(&Pressing, f64, f64) -> f64,
    /// Widest clear distance (mm) between supports of a skin of so many mm under a stack, by its sag.
    pub(crate) widest_clear_mm: fn(&Hold, &Load, &Laminate, f64, &Material, Span) -> f64,
    /// How far tail and tip of a table with a stack on it give (mm) whose ribs have a second moment (mm⁴) from each of these
    /// places on (mm), and a modulus (MPa).
    pub(crate) ends_give_mm: EndsGive,
    /// A property of wood over that at 12 % moisture content, from dry over green, the moisture point and the content.
    pub(crate) drier: fn(f64, f64, f64) -> f64,
}

/// Table and stack on it, ribs and their modulus to what tail and tip give.
type EndsGive = fn((&OverbentTable, &Laminate), &[(f64, f64)], f64) -> (f64, f64);

impl Program {
    pub(crate) fn ours() -> Self {
        Self {
            section,
            released,
            pressed: |table, laminate, blank, load| press(table, laminate, blank, load).unwrap(),
            standing: |k| resting_pose(&Curve::new(k.clone()), 0.0),
            below: |curve, distance_mm, places| {
                let parallel = Parallel::new(curve, -distance_mm).unwrap();
                places.iter().map(|s| parallel.at(*s).point).collect()
            },
            dxf,
            force_on_blank_n,
            widest_clear_mm: |hold, load, lying, skin_mm, skin, span| {
                let skin = Skin { thickness_mm: skin_mm, sheets: SkinSheets::ONE, material: Some(skin) };
                table::widest_clear_mm(hold, load, lying, &skin, span)
            },
            ends_give_mm,
            drier: |stiffer, point, moisture| Drying { stiffer, point }.factor_at(moisture),
        }
    }

    /// The section of plies given as thickness (mm) and modulus (MPa), cured at room temperature.
    pub(crate) fn plies(&self, plies: &[(f64, f64)]) -> Section {
        (self.section)(&layers(plies), 0.0)
    }
}

/// Layers of thickness (mm) and modulus (MPa), base first.
pub(crate) fn layers(plies: &[(f64, f64)]) -> Vec<Layer> {
    plies.iter().map(|&(t, e)| layer(t, e)).collect()
}

/// A flat layer of which thickness (mm) and modulus (MPa) are known.
pub(crate) fn layer(thickness_mm: f64, modulus_mpa: f64) -> Layer {
    Layer::flat("layer", Material::of_modulus("given", MaterialKind::WoodAlong, modulus_mpa), thickness_mm)
}

fn section(layers: &[Layer], cure_above_room_k: f64) -> Section {
    Laminate::new(layers, cure_above_room_k).unwrap().section_at(0.0)
}

/// So much pressure that stacks of boards lie down all over, MPa; bending does not change it.
pub(crate) const FIRM_MPA: f64 = 1000.0;

fn released(table: &Curvature, layers: &[Layer]) -> Curvature {
    let laminate = Laminate::new(layers, 0.0).unwrap();
    let zn = laminate.section_at(0.0).neutral_mm;
    // A flat stack turns by the angle of the table; its base is shorter than its neutral line by that times the height.
    let flat = |from: f64, to: f64| {
        let angle = table.between(from, to).map_or(0.0, |part| part.total_angle());
        (to - from) - zn * angle
    };
    let blank = Blank { tail_mm: -flat(table.start_mm(), 0.0), tip_mm: flat(0.0, table.end_mm()) };
    // What the walk along the table rounds off must not push the blank over its end.
    let blank = Blank { tail_mm: blank.tail_mm * (1.0 - 1e-9), tip_mm: blank.tip_mm * (1.0 - 1e-9) };
    let pressed = press(table, &laminate, blank, &load(FIRM_MPA)).unwrap();
    release(&pressed).unwrap().base
}

/// A pressure all over the blank, MPa.
pub(crate) fn load(pressure_mpa: f64) -> Load {
    Load::even(pressure_mpa)
}

fn dxf(contour: &Contour) -> String {
    let mut part = Part::new("part", "part");
    part.add(Operation::CutOutside, Shape::Contour(contour.clone()));
    let drawing = Drawing { title: "part".to_owned(), origin: "verification".to_owned(), parts: vec![part] };
    String::from_utf8(write_dxf(&drawing, &DxfOptions::default()).unwrap()).unwrap()
}

/// Width of the board on a table whose ends give, mm.
pub(crate) const WIDTH_MM: f64 = 250.0;

fn ends_give_mm((bent, lying): (&OverbentTable, &Laminate), ribs_mm4: &[(f64, f64)], modulus_mpa: f64) -> (f64, f64) {
    let board = Board {
        length_mm: 1000.0,
        length_along: LengthAlong::Base,
        width_mm: WIDTH_MM,
        count: 1,
        gap_mm: Board::USUAL_GAP_MM,
        overhang_tip_mm: 0.0,
        overhang_tail_mm: 0.0,
        outline: None,
        holes: Vec::new(),
    };
    let sheet = Material::of_modulus("sheet", MaterialKind::Sheet, modulus_mpa);
    let build = Build {
        skin: Skin { thickness_mm: 4.0, sheets: SkinSheets::ONE, material: None },
        edges: None,
        ribs_mm4,
        ribs: Some(&sheet),
        clear_mm: None,
        spacing_mm: WIDTH_MM,
        pitch_step_mm: 5.0,
        span: Span::Across,
        fasteners: Fasteners { pull_n: 250.0, pitch_mm: None },
    };
    let hold = Hold::Press { pressure_mpa: bent.load.pressure_mpa };
    Carried::new(bent, &board, &hold, lying, &build).gives_mm.unwrap()
}

fn force_on_blank_n(pressing: &Pressing, length_mm: f64, width_mm: f64) -> f64 {
    let board = Board {
        length_mm,
        length_along: LengthAlong::Base,
        width_mm,
        count: 1,
        gap_mm: Board::USUAL_GAP_MM,
        overhang_tip_mm: 0.0,
        overhang_tail_mm: 0.0,
        outline: None,
        holes: Vec::new(),
    };
    let laminate = Laminate::new(&layers(&[(2.0, 12_000.0); 6]), 0.0).unwrap();
    let load = table::setup(&board, pressing, &laminate, 0.0).load;
    let single: f64 = load.forces.iter().map(|f| f.force_n_per_mm).sum();
    load.pressure_mpa * length_mm * width_mm + single * width_mm
}
