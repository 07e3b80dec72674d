//! Stage 2 — from a statement to a closed [`movement::Movement`] and its [`Parts`].
//!
//! Two things live here and stay apart: the *synthesis*, which finds dimensions that give the wanted angles from
//! closed forms of sharp or rounded corners, and the *drawing of parts* from dimensions as exact lines and arcs. Neither knows
//! what the parts then do to one another; that is found by contact in the crate `action`, which reads no wanted angle.

mod banking;
mod build;
mod closed_form;
mod closing;
mod engagement;
mod explain;
mod face;
mod fork_closing;
mod fork_synthesis;
mod guard_synthesis;
mod lever;
mod number;
mod pair;
mod pallet_synthesis;
mod parts;
mod passage;
mod roller;
mod stone;
mod wheel;

pub use build::{Build, build, build_tersely};
pub use face::Face;
pub use parts::{Body, Centres, Lever, Parts, Roller, Stone, Wheel};
