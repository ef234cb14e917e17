//! The stack of a job.

use crate::finding::Faults;
use crate::job::{Job, Layer, Lies};
use crate::laminate::Laminate;
use crate::table;

/// The stack from its base on, and from the face that lies on the table on, both glued under the job's pressure.
pub(crate) fn laminates(job: &Job, layers: &[Layer]) -> Result<(Laminate, Laminate), Faults> {
    let factor = job.forecast.springback.value;
    let laminate = |layers: &[Layer]| -> Result<Laminate, Faults> {
        let plain = Laminate::new(layers, job.pressing.cure_above_room_k)?
            .with_springback_factor(factor)
            .with_closing_in(job.forecast.closing_in);
        let load = table::setup(&job.board, &job.pressing, &plain, job.table.end_margin_mm).load;
        Ok(plain.glued_under(load.pressure_mpa))
    };
    let upright = laminate(layers)?;
    let lying = match job.table.lies {
        Lies::BaseDown => upright.clone(),
        Lies::DeckDown => laminate(&table::turned_over(layers))?,
    };
    Ok((upright, lying))
}
