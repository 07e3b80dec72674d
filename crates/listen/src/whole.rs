//! A whole recording, its channels chosen from what is heard in them.

use crate::bands::Bands;
use crate::detector::{Detector, LOOK_S};
use crate::error::Error;
use crate::heard::Heard;
use crate::period::returns;
use crate::read::Recording;
use crate::refusal::Refusal;

/// What of the channels is listened to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mix {
    /// One of them, counted from 0.
    Channel(usize),
    /// The mean of all.
    Mean,
}

/// A recording that was listened to.
#[derive(Debug)]
pub struct Listened {
    /// Samples a second.
    pub rate_hz: u32,
    /// Channels it has.
    pub channels: usize,
    /// What of them was listened to.
    pub mix: Mix,
    /// Packets that could not be read; their time is missing.
    pub unreadable_count: u64,
    /// What was heard, or why nothing was.
    pub heard: Result<Heard, Refusal>,
}

impl Mix {
    /// Adds what is listened to of some samples.
    fn take(self, from: &[Vec<f32>], out: &mut Vec<f32>) {
        match self {
            Mix::Channel(one) => out.extend_from_slice(&from[one]),
            Mix::Mean => {
                let part = 1.0 / from.len() as f32;
                out.extend((0..from[0].len()).map(|i| part * from.iter().map(|c| c[i]).sum::<f32>()));
            }
        }
    }

    /// That in which something returns the most clearly.
    fn clearest(from: &[Vec<f32>], rate_hz: u32) -> Mix {
        let all = (0..from.len()).map(Mix::Channel).chain((from.len() > 1).then_some(Mix::Mean));
        let clear = |mix: &Mix| {
            let mut own = Vec::new();
            mix.take(from, &mut own);
            Bands::new(&own, rate_hz).and_then(|b| returns(&b)).map_or(0.0, |r| r.clear)
        };
        let found = all.map(|mix| (clear(&mix), mix)).max_by(|a, b| a.0.total_cmp(&b.0));
        found.map_or(Mix::Channel(0), |f| f.1)
    }
}

/// Listens to a recording from its beginning to its end.
///
/// # Errors
/// [`Error`], where it is damaged on the way.
pub fn listen(recording: &mut Recording) -> Result<Listened, Error> {
    let (rate_hz, channels) = (recording.rate_hz(), recording.channels());
    let mut pieces = vec![Vec::new(); channels];
    let enough = (LOOK_S * f64::from(rate_hz)) as usize;
    while channels > 1 && pieces[0].len() < enough && recording.read_on(&mut pieces)? {}
    let mix = if channels > 1 { Mix::clearest(&pieces, rate_hz) } else { Mix::Channel(0) };
    let mut detector = Detector::new(rate_hz);
    let mut own = Vec::new();
    loop {
        mix.take(&pieces, &mut own);
        detector.push(&own);
        own.clear();
        pieces.iter_mut().for_each(Vec::clear);
        if !recording.read_on(&mut pieces)? {
            break;
        }
    }
    let unreadable_count = recording.unreadable_count();
    Ok(Listened { rate_hz, channels, mix, unreadable_count, heard: detector.finish() })
}
