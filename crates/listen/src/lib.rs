//! The sound of a ticking escapement: read, beats found, timed. How, and what is taken for granted:
//! docs/theory/listening.md.
//!
//! A recording is read piece by piece ([`Recording`]) and goes, as live sound would, through a [`Detector`], which finds
//! out by itself how often it ticks, in which band it is heard best and what a beat of either side sounds like, and then
//! times every beat. [`Heard`] makes figures of them, with what they are uncertain by, or there is a [`Refusal`].

mod bands;
mod detector;
mod envelope;
mod error;
mod fold;
mod found;
mod heard;
mod known;
mod period;
mod portrait;
mod read;
mod refusal;
mod scatter;
mod shocks;
mod sides;
mod whole;

pub use detector::Detector;
pub use error::{Error, MOST_CHANNELS, RATES_HZ};
pub use heard::{Heard, HeardBeat, SideHeard};
pub use read::Recording;
pub use refusal::Refusal;
pub use symphonia::core::io::MediaSource;
pub use whole::{Listened, Mix, listen};
