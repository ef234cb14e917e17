//! The lake board of the examples, taken apart for benches.

use std::sync::OnceLock;

use overbend::curve::{Curve, PlaneCurve};
use overbend::document::Document;
use overbend::draft;
use overbend::drawing::Drawing;
use overbend::jig::{self, Across, Demand, Jig, Marks};
use overbend::job::Job;
use overbend::laminate::Laminate;
use overbend::rocker::{self, Target};
use overbend::table::{self, OverbentTable, Setup};

/// The document.
pub(crate) const TEXT: &str = include_str!("../../examples/lake-board/job.toml");

/// What a build passes through.
#[allow(dead_code, reason = "each program that includes this uses its part")]
pub(crate) struct Lake {
    pub(crate) job: Job,
    pub(crate) target: Target,
    pub(crate) laminate: Laminate,
    pub(crate) setup: Setup,
    pub(crate) bent: OverbentTable,
    pub(crate) jig: Jig,
    pub(crate) ribs: Drawing,
}

/// The job of a document that names no files.
pub(crate) fn job(text: &str) -> Job {
    let document = Document::parse("job", text).unwrap_or_else(|p| panic!("{p:#?}"));
    document.job().unwrap_or_else(|p| panic!("{p:#?}"))
}

/// The lake board without simulated boards.
#[allow(dead_code, reason = "each program that includes this uses its part")]
pub(crate) fn certain() -> String {
    format!("{TEXT}\n[forecast]\ndraws = 0\n")
}

/// The lake board, computed once.
#[allow(dead_code, reason = "each program that includes this uses its part")]
pub(crate) fn lake() -> &'static Lake {
    static LAKE: OnceLock<Lake> = OnceLock::new();
    LAKE.get_or_init(|| {
        let job = job(TEXT);
        let target = rocker::target(&job.rocker, &job.board).unwrap_or_else(|f| panic!("{f:?}"));
        let laminate = Laminate::new(&job.layers, job.pressing.cure_above_room_k).unwrap_or_else(|f| panic!("{f:?}"));
        let setup = table::setup(&job.board, &job.pressing, &laminate, job.table.end_margin_mm);
        let bent =
            table::overbend(&target.curvature, target.anchor_mm, &laminate, &setup).unwrap_or_else(|f| panic!("{f:?}"));
        let marks = Marks { finished_base_mm: bent.finished_base_mm, stations: stations(&target.curve, &bent) };
        let demand = Demand {
            board_width_mm: job.board.width_mm,
            across: Across::flat(),
            moments_n_mm: bent.moments_n(),
            clear_mm: (1000.0, 1000.0),
            strain_limit: None,
            pumped: false,
        };
        let jig = jig::build(&bent.resting, &marks, &demand, &job.table).unwrap_or_else(|f| panic!("{f:?}"));
        let ribs = draft::ribs(&jig, &job.title, "bench");
        Lake { job, target, laminate, setup, bent, jig, ribs }
    })
}

fn stations(target: &Curve, bent: &OverbentTable) -> Vec<(f64, f64)> {
    let (from, to) = target.range_mm();
    let places = (0..=14).map(|i| from + (to - from) * f64::from(i) / 14.0);
    places.map(|s| (s, bent.table_at_base(s))).collect()
}
