//! Cautions: those of single steps, which stand before the step, and those that hold throughout.

use crate::drawing::{Block, Tone};
use crate::job::Hold;

/// Before anything is sawn or routed.
pub(super) const MACHINES: &str = "Saws and routers: use guards, riving knife, push blocks and hold-downs; no gloves at \
     the blade. Extract the dust of wood and of laminates at its source and wear a rated mask. Limits for wood dust over \
     eight hours are 1 mg/m³ (NIOSH and ACGIH; 0.5 for western redcedar, ACGIH); oak and beech dust are proven carcinogens.";
/// Before resin is mixed.
pub(super) const RESIN: &str = "Resin and hardener can sensitise the skin for life: wear nitrile gloves, ventilate, put no \
     solvent on skin. A large batch overheats on its own (exotherm) and can smoke or burn.";
/// Before a stack is bent, and before it is released.
pub(super) const BENT: &str = "A bent stack stores energy: clamp its ends while you work on it, release in steps, keep out \
     of the way of a free end.";

/// Before this way of pressing begins.
pub(super) fn of_hold(hold: &Hold) -> &'static str {
    match hold {
        Hold::Vacuum { .. } => {
            "Full vacuum presses with about ten tonnes on a square metre: no hollow boxes, glass or thin drums under it; \
             a trap and a relief valve before the pump."
        }
        Hold::Clamps { .. } => {
            "Clamps store force: check screws and pads before you tighten, never stand over a clamp that is being \
             tightened or let go."
        }
        Hold::Press { .. } => {
            "A press closes with tonnes: keep hands and tools out from between the forms, and block them before you \
             reach in."
        }
        Hold::Weights { .. } => "Weights on a curved table slide: secure each of them, and keep feet from below.",
    }
}

/// What holds throughout.
pub(super) fn general() -> Vec<Block> {
    vec![
        Block::Notice(
            Tone::Look,
            "Local regulations and the advice of qualified professionals come before anything on this page.".to_owned(),
        ),
        Block::Paragraph(
            "The hazards of a step are stated before it. A board made this way is not certified for \
             anything. Test it gently first, with spotters and protection."
                .to_owned(),
        ),
    ]
}
