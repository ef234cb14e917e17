//! Tests of the library through its public calls.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::disallowed_methods,
    reason = "tests read files and stop at the first surprise"
)]

#[path = "../shops/rows.rs"]
mod rows;
#[path = "../shops/simulation.rs"]
mod simulation;
#[path = "../support/close.rs"]
mod support;

mod bad_readings;
mod circles;
mod documents;
mod doubts;
mod drawn_profiles;
mod examples;
mod exports;
mod flow;
mod from_code;
mod inches;
mod jig;
mod limits;
mod machine;
mod near_limits;
mod nesting;
mod pressing;
mod progress;
mod refusals;
mod rocker_refusals;
mod shopping;
mod shops;
mod side_by_side;
mod stack_documents;
mod stack_laws;
mod stock;
mod table_refusals;
mod targets;
