//! Stage 3 — from [`parts::Parts`] to their [`Action`], by contact; and from that to figures and findings.
//!
//! Knows profiles and axes only. No wanted angle and no kind of escapement is read here, and no parameter but by
//! [`moved_first`], which undoes moves at the bench: the one table of figures ([`FIGURES`]) is what comes out, and
//! [`findings`] says which of them are outside what is accepted.
//!
//! ```
//! use movement::{ParamKind, Values};
//! let mut stated = Values::default();
//! stated.set(ParamKind::WheelToothCount.once(), 15.0);
//! stated.set(ParamKind::WheelLockingRadius.once(), 2.5e-3);
//! let build = parts::build(&stated).expect("sound");
//! let action = action::solve(&build.parts, &mut action::Scratch::default());
//! let drop = action::FigureId::from_path("entry.drop_deg").expect("a figure").value(&action).expect("it drops");
//! // The fixture of the geometry notes, section 5: drops 1.8471 inside, 1.8449 outside.
//! assert!((drop.to_degrees() - 1.8471).abs() < 5e-5);
//! ```

mod action;
mod clearance;
mod curve;
mod cycle;
mod event;
mod figure;
mod finding;
mod fork;
mod limit;
mod moment;
mod moved;
mod oscillation;
mod pallet;
mod rear;
mod shake;
mod stop;
mod struck;

pub use action::{Action, solve};
pub use curve::{Contact, CurveEnd, Scratch, Segment};
pub use cycle::Broken;
pub use figure::{FIGURES, Figure, FigureId, FigureUnit, Worst};
pub use finding::{CODES, Finding, Gravity, findings, rank};
pub use fork::{BankedToDrop, ForkAction, NotchFreedom, guard_freedom_rad};
pub use limit::{LIMITS, Limit};
pub use moment::{MOMENT_NAMES, Moment, moment, moment_at};
pub use moved::moved_first;
pub use oscillation::{Instant, Phase, Shock, Turned, oscillation};
pub use pallet::{NoAction, PalletAction, sample_curve};
pub use rear::RearFreedom;
pub use shake::Sideshake;
pub use stop::{Halt, Stop};
pub use struck::struck;
