//! The uncertainty of the board, and possible improvements.

use super::design::Design;
use super::progress::Progress;
use super::stack::laminates;
use crate::calibrate::boards;
use crate::codes;
use crate::finding::Faults;
use crate::forecast::{self, Advice, FIRST_BOARD, Forecast, Model, Scene, advice, forecast_watched};
use crate::job::{Forecasting, Job, Layer};
use crate::laminate::Laminate;
use crate::table;

/// The simulated boards, where the job wants any, and ways to make them better.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Certainty {
    /// The result of the simulation.
    pub(super) forecast: Option<Forecast>,
    /// Possible improvements.
    pub(super) advice: Vec<Advice>,
}

impl Certainty {
    /// Simulates the boards of the designed table.
    pub(super) fn of(design: &Design, watch: &(dyn Fn(Progress) + Sync)) -> Result<Self, Faults> {
        let Design { job, laminate, lying, .. } = design;
        if job.forecast.draws == 0 {
            return Ok(Self::default());
        }
        if design.known.is_none() {
            return simulated(design, job, lying, watch);
        }
        let (settled, certain) = settled(job, laminate)?;
        let mut made = simulated(design, &settled, &certain, watch)?;
        made.advice.retain(|a| a.what != FIRST_BOARD);
        Ok(made)
    }
}

/// The job whose layers are as certain as the shop's boards have made them, and its stack as it lies: what the boards have
/// told is uncertain in the factor, not in the layers again.
fn settled(job: &Job, laminate: &Laminate) -> Result<(Job, Laminate), Faults> {
    let settled = Job { layers: boards::settled(laminate.layers()), ..job.clone() };
    let (_, certain) = laminates(&settled, &settled.layers)?;
    Ok((settled, certain))
}

/// [`forecast::band_mm`](crate::forecast::band_mm) of the designed table.
pub(super) fn band_mm(design: &Design) -> Option<f64> {
    let Design { job, laminate, lying, setup, table, target, .. } = design;
    let scene = Scene::designed(table, &setup.load, target.anchor_mm);
    let model = match design.known {
        Some(_) => Model::lying_still(&scene, &settled(job, laminate).ok()?.1),
        None => Model::lying_still(&scene, lying),
    };
    forecast::band_mm(&model, job.forecast.springback)
}

/// Simulates boards of the layers of `job`, which lie as `lying`.
fn simulated(
    design: &Design,
    job: &Job,
    lying: &Laminate,
    watch: &(dyn Fn(Progress) + Sync),
) -> Result<Certainty, Faults> {
    let Forecasting { draws, seed, springback, .. } = job.forecast;
    let Design { target, setup, table: bent, .. } = design;
    let failed = |why: &str| {
        codes::FORECAST.at("layers", format!("the boards of this uncertain stack cannot be simulated: {why}."))
    };
    let told = |done| watch(Progress { stage: "simulated boards", done, of: draws });
    let scene = Scene::designed(bent, &setup.load, target.anchor_mm);
    let model = Model::new(&scene, lying).map_err(|e| failed(&e.to_string()))?;
    let forecast = forecast_watched(&model, springback, draws, seed, &told)
        .ok_or_else(|| failed("more than one stack in a hundred gives no board"))?;
    watch(Progress { stage: "possible improvements", done: 0, of: 1 });
    let designed = |layers: &[Layer]| {
        let (upright, lying) = laminates(job, layers).ok()?;
        let curve = &target.curvature;
        let bent = table::overbend_lying(curve, target.anchor_mm, &upright, &lying, setup, job.table.lies).ok()?;
        Some(Model::lying_still(&Scene::designed(&bent, &setup.load, target.anchor_mm), &lying))
    };
    // What is compared is computed in the same way before and after.
    let before = Model::lying_still(&scene, lying);
    Ok(Certainty { advice: advice(&job.layers, springback, &before, designed), forecast: Some(forecast) })
}
