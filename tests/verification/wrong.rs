//! Formulas made wrong on purpose: the rows must notice.

use overbend::curve::{Curvature, Curve, PlaneCurve, resting_pose};
use overbend::drawing::{Contour, Vertex};
use overbend::job::{Hold, Layer, Pressing};
use overbend::laminate::Laminate;
use overbend::table::Span;

use crate::program::Program;
use crate::sources;

/// One formula made wrong and what became of the rows of a source.
pub(crate) struct Trial {
    what: &'static str,
    source: &'static str,
    fallen: usize,
    rows: usize,
}

impl Trial {
    /// Whether at least one row fails that otherwise stands.
    pub(crate) fn is_caught(&self) -> bool {
        self.fallen > 0
    }

    pub(crate) fn line(&self) -> String {
        format!("| {} | `{}` | {} of {} |", self.what, self.source, self.fallen, self.rows)
    }
}

/// What is made wrong, in which program, and which sources must notice.
type Wrong = (&'static str, Program, &'static [&'static str]);

fn wrongs() -> Vec<Wrong> {
    let with = |change: fn(&mut Program)| {
        let mut program = Program::ours();
        change(&mut program);
        program
    };
    vec![
        (
            "moisture counted from the point instead of from 12 %",
            with(|p| p.drier = |stiffer, point, moisture| stiffer.powf((point - moisture) / (point - 0.12))),
            &["wood_handbook_2021"],
        ),
        (
            "own stiffness about the stack's axis instead of each layer's own",
            with(|p| {
                p.section = |layers, warm| {
                    let mut s = (Program::ours().section)(layers, warm);
                    s.wet_stiffness_n_mm = s.bonded_stiffness_n_mm;
                    s.kept_stiffness_n_mm = s.bonded_stiffness_n_mm;
                    s
                }
            }),
            &["equal_layers"],
        ),
        (
            "closing in without the levers of the stress that stays in the layers",
            with(|p| {
                p.section = |layers, warm| {
                    let mut s = (Program::ours().section)(layers, warm);
                    s.kept_lever = s.closed_in;
                    s
                }
            }),
            &["closing_in"],
        ),
        (
            "own stiffness with t³/3 instead of t³/12",
            with(|p| {
                p.section = |layers, warm| {
                    let mut s = (Program::ours().section)(layers, warm);
                    s.kept_stiffness_n_mm *= 4.0;
                    s
                }
            }),
            &["equal_layers"],
        ),
        (
            "bonded stiffness without the layers' distance from the axis",
            with(|p| {
                p.section = |layers, warm| {
                    let mut s = (Program::ours().section)(layers, warm);
                    s.bonded_stiffness_n_mm = s.wet_stiffness_n_mm;
                    s
                }
            }),
            &["equal_layers", "gere_2004", "allen_1969", "sections"],
        ),
        (
            "neutral axis in the middle of the thickness",
            with(|p| {
                p.section = |layers, warm| {
                    let mut s = (Program::ours().section)(layers, warm);
                    s.neutral_mm = 0.5 * s.thickness_mm;
                    s
                }
            }),
            &["gere_2004", "sections"],
        ),
        (
            "thermal curvature with its sign turned",
            with(|p| {
                p.section = |layers, warm| {
                    let mut s = (Program::ours().section)(layers, warm);
                    s.thermal_curvature_per_mm = -s.thermal_curvature_per_mm;
                    s
                }
            }),
            &["timoshenko_1925"],
        ),
        (
            "the table's curvature taken as that of the neutral axis, and the board's too",
            with(|p| {
                p.released = |table, layers| {
                    let section = (Program::ours().section)(layers, 0.0);
                    let k = section.free_curvature(table.at(0.0));
                    Curvature::constant(table.start_mm(), table.end_mm(), k).unwrap()
                }
            }),
            &["base_and_neutral"],
        ),
        (
            "the wet stack bends as if it were glued already",
            with(|p| {
                p.pressed = |table, laminate, blank, load| {
                    let glued = laminate.layers().iter().map(|l| Layer { cured_group: Some(0), ..l.to_plain() });
                    let glued = Laminate::new(&glued.collect::<Vec<_>>(), 0.0).unwrap();
                    (Program::ours().pressed)(table, &glued, blank, load)
                }
            }),
            &["pressed_strip", "second_method"],
        ),
        (
            "springback left out",
            with(|p| p.released = |table, _| table.clone()),
            &["laminating_rule", "base_and_neutral"],
        ),
        (
            "heights scaled instead of curvature integrated: a parabola",
            with(|p| {
                p.standing = |k| {
                    // A curve whose slope is taken for its angle rises by k s²/2; as a curve it has this curvature.
                    let half = 0.5 * k.length_mm();
                    let rise = 0.5 * k.at(0.0) * half * half;
                    let as_arc = 2.0 * rise / (half * half + rise * rise);
                    resting_pose(&Curve::new(Curvature::constant(-half, half, as_arc).unwrap()), 0.0)
                }
            }),
            &["circle"],
        ),
        (
            "bulge with its sign turned",
            with(|p| {
                p.dxf = |contour| {
                    let flipped = contour.vertices().iter().map(|v| Vertex { bulge: -v.bulge, ..*v }).collect();
                    (Program::ours().dxf)(&Contour::closed(flipped).unwrap())
                }
            }),
            &["dxf_bulge"],
        ),
        (
            "bulge as the tangent of half the angle",
            with(|p| {
                p.dxf = |contour| {
                    let wider = |b: f64| (2.0 * b.atan()).tan().clamp(-1e3, 1e3);
                    let wrong = contour.vertices().iter().map(|v| Vertex { bulge: wider(v.bulge), ..*v }).collect();
                    (Program::ours().dxf)(&Contour::closed(wrong).unwrap())
                }
            }),
            &["dxf_bulge"],
        ),
        (
            "rib tops on the other side of the surface",
            with(|p| p.below = |curve, distance, places| (Program::ours().below)(curve, -distance, places)),
            &["parallel_circle", "curves"],
        ),
        (
            "rib tops shifted straight down instead of along the normal",
            with(|p| {
                p.below = |curve, distance, places| {
                    places.iter().map(|s| curve.at(*s).point - kurbo::Vec2::new(0.0, distance)).collect()
                }
            }),
            &["parallel_circle", "curves"],
        ),
        (
            "skin free to turn over its supports: 5/384 instead of 1/384",
            // The clear distance goes with the fourth root of what stands before p s⁴/(E I), so this is that formula.
            with(|p| {
                p.widest_clear_mm = |hold, load, lying, skin_mm, skin, span| {
                    (Program::ours().widest_clear_mm)(hold, load, lying, skin_mm, skin, span) / 5.0_f64.powf(0.25)
                }
            }),
            &["skin_sag"],
        ),
        (
            "skin and wet wood bent with the grain where they span across it, and the other way round",
            with(|p| {
                p.widest_clear_mm = |hold, load, lying, skin_mm, skin, span| {
                    let other = match span {
                        Span::Across => Span::Along,
                        Span::Along => Span::Across,
                    };
                    (Program::ours().widest_clear_mm)(hold, load, lying, skin_mm, skin, other)
                }
            }),
            &["skin_sag"],
        ),
        (
            "the stack left out of what bends between the supports",
            with(|p| {
                p.widest_clear_mm = |hold, load, lying, skin_mm, skin, span| {
                    let limp = lying.layers().iter().map(|l| {
                        let mut limp = l.to_plain();
                        limp.material.modulus_mpa.value *= 1e-9;
                        limp.material.cross_modulus_mpa = limp.material.cross_modulus_mpa.map(|e| 1e-9 * e);
                        limp
                    });
                    let limp = Laminate::new(&limp.collect::<Vec<_>>(), 0.0).unwrap();
                    (Program::ours().widest_clear_mm)(hold, load, &limp, skin_mm, skin, span)
                }
            }),
            &["skin_sag"],
        ),
        (
            "ribs taken as low all along as where they are lowest",
            with(|p| {
                p.ends_give_mm = |on, ribs, modulus| {
                    let lowest = ribs.iter().map(|r| r.1).fold(f64::INFINITY, f64::min);
                    (Program::ours().ends_give_mm)(on, &[(0.0, lowest)], modulus)
                }
            }),
            &["stepped_rib"],
        ),
        (
            "clamp force read in kilonewtons",
            with(|p| {
                p.force_on_blank_n = |pressing, length, width| {
                    let hold = match &pressing.hold {
                        Hold::Clamps { places, force_n, caul } => {
                            Hold::Clamps { places: places.clone(), force_n: 1000.0 * force_n, caul: *caul }
                        }
                        other => other.clone(),
                    };
                    (Program::ours().force_on_blank_n)(&Pressing { hold, ..pressing.clone() }, length, width)
                }
            }),
            &["clamps"],
        ),
        (
            "pressure in kilopascals taken for megapascals",
            with(|p| {
                p.force_on_blank_n = |pressing, length, width| {
                    let hold = match &pressing.hold {
                        Hold::Press { pressure_mpa } => Hold::Press { pressure_mpa: 1000.0 * pressure_mpa },
                        other => other.clone(),
                    };
                    (Program::ours().force_on_blank_n)(&Pressing { hold, ..pressing.clone() }, length, width)
                }
            }),
            &["clamps"],
        ),
    ]
}

/// All trials.
pub(crate) fn trials() -> Vec<Trial> {
    let mut out = Vec::new();
    for (what, program, names) in wrongs() {
        for &name in names {
            let source = sources::one(name, &program);
            out.push(Trial { what, source: name, fallen: source.fallen(), rows: source.rows.len() });
        }
    }
    out
}
