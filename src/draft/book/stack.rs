//! The stack: a section to scale, strains against limits, what the spread comes from.

use kurbo::Point;

use super::say::Say;
use crate::built::Built;
use crate::draft::plot::bars::{Bar, bars};
use crate::draft::plot::text;
use crate::drawing::{Block, Cell, Figure, Ink, LabelStyle, Listing, Picture, TextAnchor};
use crate::job::{EffectiveLayer, MaterialKind, Thickness};
use crate::units::{Quantity, decimal, plain};

/// Height of the section, page pixels.
const SECTION_HIGH: f64 = 200.0;
/// Share of the limit from which a bar is told apart; the check itself has its own verdict.
const LOOK: f64 = 0.6;

/// Layers alike that lie on each other: the first, and how many.
type Run<'a> = (&'a EffectiveLayer, usize);

fn runs(layers: &[EffectiveLayer]) -> Vec<Run<'_>> {
    let mut runs: Vec<Run<'_>> = Vec::new();
    for layer in layers {
        match runs.last_mut() {
            Some((first, count))
                if first.name == layer.name
                    && first.thickness == layer.thickness
                    && first.material.name == layer.material.name =>
            {
                *count += 1;
            }
            _ => runs.push((layer, 1)),
        }
    }
    runs
}

pub(super) fn blocks(built: &Built, say: Say) -> Vec<Block> {
    let mut blocks = vec![Block::Figure(Box::new(section(built, say))), Block::Table(layers(built, say))];
    if let Some(figure) = strains(built) {
        blocks.push(Block::Figure(Box::new(figure)));
    }
    blocks.extend(built.forecast.as_ref().map(|f| Block::Figure(Box::new(spread(f)))));
    blocks
}

fn thickness_mm(layer: &EffectiveLayer) -> (f64, f64) {
    match &layer.thickness {
        Thickness::Constant(t) => (*t, *t),
        Thickness::Tapered(stations) => {
            stations.iter().fold((f64::INFINITY, 0.0), |r, s| (r.0.min(s.1), f64::max(r.1, s.1)))
        }
    }
}

/// Thickness in words, a taper by its ends.
fn thickness(layer: &EffectiveLayer, say: Say) -> String {
    let (least, most) = thickness_mm(layer);
    if least < most { format!("{} to {}", say.fine(least), say.fine(most)) } else { say.fine(most) }
}

// Long, because it is one section of the book in reading order.
fn section(built: &Built, say: Say) -> Figure {
    let whole = built.design.laminate.section_at(0.0);
    Figure::of(
        "The stack, to scale",
        format!(
            "A section across the middle of the board, base at the bottom, {} thick. The dashed line is the neutral \
             axis of the cured stack, {} above its base.",
            say.fine(whole.thickness_mm),
            say.fine(whole.neutral_mm)
        ),
        |width| {
            let mut picture = Picture::new(width, SECTION_HIGH + 24.0);
            let layers = built.design.laminate.layers();
            // The thickest of a taper stands for it: it is that of the middle in every usual core.
            let total: f64 = layers.iter().map(|l| thickness_mm(l).1).sum();
            let scale = SECTION_HIGH / total;
            let (x0, x1) = (12.0, (0.36 * width).min(220.0));
            let base = 12.0;
            let mut z = 0.0;
            let mut labels: Vec<(f64, String, String)> = Vec::new();
            for (layer, count) in runs(layers) {
                let from = z;
                for _ in 0..count {
                    let top = z + thickness_mm(layer).1;
                    let ink = match layer.material.kind {
                        MaterialKind::WoodAlong | MaterialKind::WoodAcross => Ink::Wood,
                        MaterialKind::Laminate => Ink::Laminate,
                        MaterialKind::Metal | MaterialKind::Plastic | MaterialKind::Sheet => Ink::Other,
                    };
                    picture.rect(ink, Point::new(x0, base + z * scale), Point::new(x1, base + top * scale));
                    z = top;
                }
                let plies = if count > 1 { format!("{count} × ") } else { String::new() };
                let words = format!("{plies}{}, {}", thickness(layer, say), layer.material.name);
                labels.push((base + 0.5 * (from + z) * scale, layer.name.clone(), words));
            }
            let axis = base + whole.neutral_mm * scale;
            picture.line(Ink::Pressed, [Point::new(x0 - 10.0, axis), Point::new(x1 + 8.0, axis)]);
            let wanted: Vec<f64> = labels.iter().map(|l| l.0).collect();
            let pitch = 2.0 * text::LINE + 6.0;
            let places = text::spread(&wanted, pitch, 18.0, picture.height - 20.0);
            let lowest = places.first().copied().unwrap_or(18.0);
            // Many unlike layers need more height than the section itself.
            let lift = (18.0 - lowest).max(0.0);
            if lift > 0.0 {
                picture.height += lift;
                for item in &mut picture.items {
                    shift(item, lift);
                }
            }
            let x = x1 + 34.0;
            for ((at, name, words), place) in labels.iter().zip(&places) {
                let (from, to) = (Point::new(x1 + 2.0, at + lift), Point::new(x - 6.0, place + lift));
                picture.line(Ink::Leader, [from, Point::new(x1 + 14.0, from.y), Point::new(x - 12.0, to.y), to]);
                let room = width - x - 4.0;
                let name = text::fitted(name, room);
                picture.label(Point::new(x, to.y + 3.0), TextAnchor::Start, LabelStyle::Strong, name);
                let words = text::fitted(words, room);
                picture.label(Point::new(x, to.y - 13.0), TextAnchor::Start, LabelStyle::Quiet, words);
            }
            (picture, String::new())
        },
    )
}

fn shift(item: &mut crate::drawing::Item, up: f64) {
    use crate::drawing::Item;
    match item {
        Item::Path { points, .. } => points.iter_mut().for_each(|p| p.y += up),
        Item::Circle { center, .. } => center.y += up,
        Item::Label { at, .. } => at.y += up,
    }
}

fn layers(built: &Built, say: Say) -> Listing {
    let mut listing = Listing::new("Layers from base to deck", &["layer", "plies", "thickness", "material", "modulus"]);
    // With the moduli of sag tests and at the stated moisture.
    for (layer, count) in runs(built.design.laminate.layers()) {
        listing.rows.push(vec![
            Cell::text(layer.name.clone()),
            Cell::count(count),
            Cell::Figure(thickness(layer, say)),
            Cell::text(layer.material.name.clone()),
            Cell::Figure(say.show(Quantity::modulus(layer.material.modulus_mpa.value))),
        ]);
    }
    listing
}

fn strains(built: &Built) -> Option<Figure> {
    let turning = built.design.table.pressed.turning().ok()?;
    let layers = built.design.lying.layers();
    let mut found: Vec<Bar> = Vec::new();
    let mut unknown: Vec<String> = Vec::new();
    for worst in built.design.lying.strains(&turning) {
        let layer = &layers[worst.layer];
        let Some(limit) = worst.limit else {
            if !unknown.contains(&layer.name) {
                unknown.push(layer.name.clone());
            }
            continue;
        };
        let share = worst.strain / limit;
        let bar = Bar {
            name: format!("{} ({})", layer.name, layer.material.name),
            figure: format!("{} of {} %", plain(100.0 * worst.strain, 3), plain(100.0 * limit, 2)),
            share,
            ink: if share > 1.0 {
                Ink::BarStop
            } else if share > LOOK {
                Ink::BarWatch
            } else {
                Ink::Bar
            },
        };
        if !found.contains(&bar) {
            found.push(bar);
        }
    }
    if found.is_empty() {
        return None;
    }
    let missing = if unknown.is_empty() {
        String::new()
    } else {
        format!(" Without a known limit, and so not drawn: {}.", unknown.join(", "))
    };
    Some(Figure::of(
        "Strain of each layer while it lies on the table",
        format!("The largest strain of its faces against what its material bears.{missing}"),
        |width| (bars(&found, Some("limit"), width), String::new()),
    ))
}

fn spread(forecast: &crate::forecast::Forecast) -> Figure {
    let bar = |share: &crate::forecast::InputShare| Bar {
        name: share.input.name(),
        figure: format!("tip {} %, tail {} %", decimal(100.0 * share.of_tip, 0), decimal(100.0 * share.of_tail, 0)),
        share: share.of_tip.max(share.of_tail).clamp(0.0, 1.0),
        ink: Ink::Bar,
    };
    let found: Vec<Bar> = forecast.shares.iter().filter(|s| s.of_tip.max(s.of_tail) >= 0.005).map(bar).collect();
    Figure::of(
        "What the spread comes from",
        format!(
            "Share of the variance of the ends' heights that each uncertain figure causes by itself, from {} simulated \
             boards. Measuring the uppermost one pays most.",
            forecast.draws
        ),
        |width| (bars(&found, None, width), String::new()),
    )
}
