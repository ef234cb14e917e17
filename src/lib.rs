//! Springback, the over-bent table curve, and everything to build the table for pressing laminated boards.
//!
//! Data flows one way: [`document`] text becomes a checked [`job`]; [`rocker`] makes the target curve, [`laminate`]
//! the stack's mechanics, [`press`] the pressing and release, [`table`] the over-bent table, [`jig`] the parts;
//! [`draft`] turns them into [`drawing`]s and listings and [`export`] into bytes. [`run::build`] does it all.

pub mod calibrate;
pub mod curve;
pub mod document;
pub mod draft;
pub mod drawing;
pub mod explain;
pub mod export;
pub mod finding;
pub mod forecast;
pub mod jig;
pub mod job;
pub mod laminate;
pub mod numeric;
pub mod press;
pub mod rocker;
pub mod run;
pub mod table;
pub mod units;
