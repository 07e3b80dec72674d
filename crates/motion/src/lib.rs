//! Stages 4 and 5 — from drawn parts with their masses and forces to motion in time.

pub mod alone;
mod balance;
mod beat;
mod dynamics;
mod error;
mod flight;
mod impact;
pub mod integrate;
mod laws;
mod machine;
mod meet;
mod pair;
mod pieces;
mod root;
mod row;
mod runner;
mod scene;
mod series;
mod settle;
mod steady;
mod step;
mod watch;

pub use balance::{Balance, BalanceState, IndexPins, stiffness_n_m_per_rad};
pub use beat::{Beat, beats};
pub use dynamics::{Drive, Dynamics, LeverMass, Place, Surface};
pub use error::Error;
pub use flight::{Flight, LinearPiece, Passage};
pub use machine::{Ending, Machine, Motion, State};
pub use pair::Meeting;
pub use pieces::{Arrival, Arrived, Pieces};
pub use runner::{Event, Options, Shock};
pub use steady::{NotSteady, Steady};
