//! Assumptions and limits, and where every figure comes from.

use super::say::{Say, bagged};
use crate::built::{Built, Design};
use crate::drawing::{Block, Cell, Listing};
use crate::jig::{BAG_SLACK, EDGE_DISTANCE, FILM_BEYOND_MM, LAND_MM, PLEATS};
use crate::job::{Board, ClampPlaces, Hold};
use crate::press::GAP_ERROR_MM;
use crate::stock::SPREAD_G_M2;
use crate::units::{Quantity, decimal, plain};

pub(super) fn grounds(built: &Built, say: Say) -> Vec<Block> {
    let Design { job, table: bent, .. } = &built.design;
    let origin = crate::draft::origin(&job.hash);
    let mut assumptions = vec![
        "Layers slide freely on each other until the resin sets, and not at all afterwards.".to_owned(),
        "Each layer is elastic, except for the part of its bending stress that is said to relax on the table."
            .to_owned(),
        "The board is a strip: bent in one plane, straight across unless a concave is asked for.".to_owned(),
        format!(
            "The table is as it is drawn and designed as if rigid: how far it gives under the stack is stated with what it \
             carries, and not taken into its curve. Cut paths differ from the computed curve by {} at most.",
            say.fine(0.01)
        ),
        format!(
            "The model's own answer differs from the wanted curve by {}; how far a real board is off depends on the wood \
             far more than on that.",
            say.small(bent.error_mm)
        ),
        "The modulus of wood scatters by about a fifth from batch to batch (coefficient of variation 22 %, Wood \
         Handbook, FPL-GTR-282, from memory), and springback with it. Test a strip of your own wood, or press a first \
         board knowing that."
            .to_owned(),
    ];
    if let Hold::Clamps { places: ClampPlaces::Even(_), .. } = job.pressing.hold {
        assumptions.push("Clamps count as their total force spread evenly over the blank by a stiff caul.".to_owned());
    }
    vec![
        Block::Bullets(assumptions),
        Block::Paragraph(format!("Made by {origin}. SHA-256 of the job document: {}.", job.hash)),
        Block::Table(sources(built, say)),
    ]
}

// Long, because it is one table, row by row.
fn sources(built: &Built, say: Say) -> Listing {
    let Design { job, .. } = &built.design;
    let Built { checks, jig, .. } = built;
    let mut listing = Listing::new("Figures and where they come from", &["figure", "value", "source"]);
    let mut row = |figure: String, value: String, source: &str| {
        let row = vec![Cell::text(figure), Cell::text(value), Cell::text(source)];
        if !listing.rows.contains(&row) {
            listing.rows.push(row);
        }
    };
    for layer in &job.layers {
        let material = &layer.material;
        let source = if material.source.is_empty() { "stated in the job" } else { &material.source };
        let modulus = say.show(Quantity::modulus(material.modulus_mpa.value));
        row(format!("modulus of {}", material.name), modulus, source);
        if layer.relaxed.value > 0.0 {
            let share = format!("{} %", decimal(100.0 * layer.relaxed.value, 0));
            row(format!("what relaxes in {}", material.name), share, "the material's entry, or stated in the job");
        }
    }
    for check in checks {
        let limit = check.held.map_or_else(|| "none".to_owned(), |h| h.words(say.unit).1);
        row(format!("limit of {}", check.code), limit, check.code.source);
    }
    let practice = "common practice, no source";
    let spread = format!("{} %", decimal(100.0 * job.forecast.springback.sd, 0));
    row(
        "spread of the springback of shops".to_owned(),
        spread,
        "a guess until boards are measured, or stated in the job",
    );
    if let Some(rod) = jig.rods.first() {
        row(
            "holes for the rods".to_owned(),
            say.fine(rod.hole.diameter_mm),
            "ISO 273, medium series, or ASME B18.2.8, normal fit (second-hand); or stated in the job",
        );
        row("holes from an edge, at least".to_owned(), format!("{} diameters", plain(EDGE_DISTANCE, 2)), practice);
    }
    row("error of the computed gap, at most".to_owned(), say.fine(GAP_ERROR_MM), "own choice, held by tests");
    row("blank beyond the finished width".to_owned(), say.length(Board::SIDE_TRIM_MM), practice);
    row("film beyond the blank, where there is room".to_owned(), say.length(FILM_BEYOND_MM), practice);
    if bagged(built) {
        row("land for tape and bag, where there is room".to_owned(), say.length(LAND_MM), practice);
        row("slack of the bag".to_owned(), format!("{} %", decimal(100.0 * BAG_SLACK, 0)), practice);
        row("pleats in the sealant tape".to_owned(), format!("{} %", decimal(100.0 * PLEATS, 0)), practice);
    }
    let spread = [SPREAD_G_M2.0, SPREAD_G_M2.1].map(|g| say.show(Quantity::area_mass(g)));
    let spread = spread.join(" to ");
    row("resin on a glue line".to_owned(), spread, "from memory");
    row(
        "springback of loose layers".to_owned(),
        "sum of E I over E I of the whole".to_owned(),
        "transformed section, Gere, Mechanics of Materials, section 6.3 (from memory)",
    );
    row(
        "limits of wood dust".to_owned(),
        "1 mg/m³; 0.5 mg/m³ for western redcedar".to_owned(),
        "NIOSH recommended limit and ACGIH threshold limit value, 8 hours",
    );
    listing
}
