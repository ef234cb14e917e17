//! The guide for users, page by page.

#[doc = include_str!("guide/keys.md")]
pub mod keys {}
#[doc = include_str!("guide/rockers.md")]
pub mod rockers {}
#[doc = include_str!("guide/stack.md")]
pub mod stack {}
#[doc = include_str!("guide/table.md")]
pub mod table {}
#[doc = include_str!("guide/learning.md")]
pub mod learning {}
#[doc = include_str!("guide/files.md")]
pub mod files {}
#[doc = include_str!("guide/model.md")]
pub mod model {}
#[doc = include_str!("guide/evidence.md")]
pub mod evidence {}
#[doc = include_str!("guide/sweeps.md")]
pub mod sweeps {}
#[doc = include_str!("guide/scripts.md")]
pub mod scripts {}
