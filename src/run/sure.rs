//! How sure the board is, and what would help.

use super::Progress;
use crate::finding::Fault;
use crate::forecast::{Advice, Forecast, Model, Scene, advice, forecast_watched};
use crate::job::{Forecasting, Job, Layer, Lies};
use crate::laminate::Laminate;
use crate::rocker::Target;
use crate::table::{self, OverbentTable, Setup};

/// The simulated boards, and ways to make them better.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Sure {
    /// What the simulation says.
    pub(super) forecast: Forecast,
    /// What would help.
    pub(super) advice: Vec<Advice>,
}

/// The stack from its base on, and from the face that lies on the table on, both glued under the job's pressure.
pub(super) fn laminates(job: &Job, layers: &[Layer]) -> Result<(Laminate, Laminate), Vec<Fault>> {
    let factor = job.forecast.springback.value;
    let laminate = |layers: &[Layer]| -> Result<Laminate, Vec<Fault>> {
        let plain = Laminate::new(layers, job.pressing.cure_above_room_k)?.with_springback_factor(factor);
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

/// Simulates the boards of the designed table; `None` where the job wants no simulation.
pub(super) fn sure(
    job: &Job,
    target: &Target,
    setup: &Setup,
    bent: &OverbentTable,
    lying: &Laminate,
    watch: &(dyn Fn(Progress) + Sync),
) -> Result<Option<Sure>, Vec<Fault>> {
    let Forecasting { draws, seed, springback } = job.forecast;
    if draws == 0 {
        return Ok(None);
    }
    let failed = |why: String| {
        vec![Fault::new(
            "forecast",
            "layers",
            format!("the boards of this uncertain stack cannot be simulated: {why}."),
            "Look at the figures and their scatter; forecast.draws = 0 does without.",
        )]
    };
    let told = |done| watch(Progress { stage: "simulated boards", done, of: draws });
    let scene = Scene::designed(bent, &setup.load, target.anchor_mm);
    let model = Model::new(&scene, lying).map_err(|e| failed(format!("{e:?}")))?;
    let forecast = forecast_watched(&model, springback, draws, seed, &told)
        .ok_or_else(|| failed("more than one stack in a hundred gives no board".to_owned()))?;
    watch(Progress { stage: "what would help", done: 0, of: 1 });
    let design = |layers: &[Layer]| {
        let (upright, lying) = laminates(job, layers).ok()?;
        let curve = &target.curvature;
        let bent = table::overbend_lying(curve, target.anchor_mm, &upright, &lying, setup, job.table.lies).ok()?;
        Some(Model::lying_still(&Scene::designed(&bent, &setup.load, target.anchor_mm), &lying))
    };
    // What is compared is computed in the same way before and after.
    let before = Model::lying_still(&scene, lying);
    Ok(Some(Sure { advice: advice(&job.layers, springback, &before, design), forecast }))
}
