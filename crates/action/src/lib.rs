//! Stage 3 — from [`parts::Parts`] to their [`Action`], by contact.

mod action;
mod curve;
mod cycle;
mod event;
mod fork;
mod pallet;
mod rear;

pub use action::{Action, solve};
pub use curve::{Contact, CurveEnd, Scratch, Segment};
pub use cycle::Broken;
pub use fork::{BankedToDrop, ForkAction, NotchFreedom, guard_freedom_rad};
pub use pallet::{NoAction, PalletAction, sample_curve};
pub use rear::RearFreedom;
