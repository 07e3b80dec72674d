//! Live sound: blocks of samples come in on a line, what was heard so far goes out.

use std::sync::Arc;

use axum::extract::ws::{Message, WebSocket};
use listen::{Detector, Error, Heard, Listened, Mix, RATES_HZ, Refusal};
use tokio::task::block_in_place;

use crate::bench::sound::{settings, sounded};
use crate::bench::wire::{Hear, Sounded, Stated, Told};
use crate::report::Settings;

/// Largest block: a second and more of the fastest rate.
pub const MOST_BLOCK_BYTES: usize = 1 << 20;
/// Lines that may be open at once.
pub const MOST_LINES: usize = 8;
/// Longest sound that is heard on one line, s: beats are kept, so memory has to have an end.
const MOST_S: f64 = 3600.0;
/// What was heard is told each time so much more has come, s.
const TELL_EACH_S: f64 = 0.3;

/// Listens until the line is closed. `_line` says that it is open.
pub async fn hear(mut socket: WebSocket, _line: Arc<()>) {
    let mut line = Line { settings: Settings::default(), stage: Stage::Waiting };
    while let Some(Ok(message)) = socket.recv().await {
        let answer = block_in_place(|| match message {
            Message::Text(text) => line.told(text.as_str()),
            Message::Binary(block) => line.take(&block),
            Message::Close(_) | Message::Ping(_) | Message::Pong(_) => Ok(None),
        });
        let told = match answer {
            Ok(None) => continue,
            Ok(Some(sounded)) => Told::Sounded { sounded: Box::new(sounded) },
            Err((code, message)) => Told::Problem { code: code.to_owned(), message },
        };
        let Ok(text) = serde_json::to_string(&told) else { break };
        if socket.send(Message::Text(text.into())).await.is_err() {
            break;
        }
    }
}

/// A problem: stable name, and what is wrong.
type Problem = (&'static str, String);

struct Line {
    settings: Settings,
    stage: Stage,
}

enum Stage {
    /// Nothing was said yet.
    Waiting,
    Listening {
        detector: Box<Detector>,
        rate_hz: u32,
        count: u64,
        told: u64,
    },
    /// The sound is over; what is stated of it may change.
    Ended {
        listened: Box<Result<Listened, Error>>,
        lasts_s: f64,
    },
}

impl Line {
    /// Goes on with what the page says.
    fn told(&mut self, text: &str) -> Result<Option<Sounded>, Problem> {
        let hear: Hear =
            serde_json::from_str(text).map_err(|e| ("bad-question", format!("could not read what was said: {e}")))?;
        match hear {
            Hear::Begin { rate_hz, stated } => {
                if !matches!(self.stage, Stage::Waiting) {
                    return Err(("bad-question", "this line has begun already: open another".to_owned()));
                }
                if !(RATES_HZ[0]..=RATES_HZ[1]).contains(&rate_hz) {
                    return Err((
                        "bad-rate",
                        format!("{rate_hz} samples a second, allowed are {} to {}", RATES_HZ[0], RATES_HZ[1]),
                    ));
                }
                self.state(&stated)?;
                let detector = Box::new(Detector::new(rate_hz));
                self.stage = Stage::Listening { detector, rate_hz, count: 0, told: 0 };
                Ok(None)
            }
            Hear::State { stated } => {
                self.state(&stated)?;
                Ok(self.so_far())
            }
            Hear::End {} => Ok(self.end()),
        }
    }

    fn state(&mut self, stated: &Stated) -> Result<(), Problem> {
        self.settings = settings(stated).map_err(|why| (why.code, why.message))?;
        Ok(())
    }

    /// Goes on with a block of sound.
    fn take(&mut self, block: &[u8]) -> Result<Option<Sounded>, Problem> {
        let Stage::Listening { detector, rate_hz, count, told } = &mut self.stage else {
            let what =
                if matches!(self.stage, Stage::Waiting) { "before it was said what it is" } else { "after its end" };
            return Err(("bad-sound", format!("sound came {what}")));
        };
        let (samples, rest) = block.as_chunks::<4>();
        if !rest.is_empty() {
            return Err(("bad-sound", format!("a block of {} bytes, needs 4 for each sample", block.len())));
        }
        let samples: Vec<f32> = samples.iter().map(|bytes| f32::from_le_bytes(*bytes)).collect();
        if let Some(at) = samples.iter().position(|s| !s.is_finite()) {
            return Err((
                "bad-sound",
                format!("sample {} is {}, needs a finite number", *count + at as u64, samples[at]),
            ));
        }
        detector.push(&samples);
        *count += samples.len() as u64;
        let rate = f64::from(*rate_hz);
        if *count as f64 >= MOST_S * rate {
            return Ok(self.end());
        }
        if ((*count - *told) as f64) < TELL_EACH_S * rate {
            return Ok(None);
        }
        *told = *count;
        Ok(self.so_far())
    }

    /// What was heard so far, or in all.
    fn so_far(&mut self) -> Option<Sounded> {
        match &mut self.stage {
            Stage::Waiting => None,
            Stage::Listening { detector, rate_hz, count, .. } => {
                let lasts_s = *count as f64 / f64::from(*rate_hz);
                Some(sounded("", &listened(*rate_hz, detector.heard()), &self.settings, lasts_s, false))
            }
            Stage::Ended { listened, lasts_s } => Some(sounded("", listened, &self.settings, *lasts_s, true)),
        }
    }

    /// There is no more sound.
    fn end(&mut self) -> Option<Sounded> {
        if let Stage::Listening { detector, rate_hz, count, .. } = std::mem::replace(&mut self.stage, Stage::Waiting) {
            let lasts_s = count as f64 / f64::from(rate_hz);
            self.stage = Stage::Ended { listened: Box::new(listened(rate_hz, detector.finish())), lasts_s };
        }
        self.so_far()
    }
}

/// As of a recording with one channel.
fn listened(rate_hz: u32, heard: Result<Heard, Refusal>) -> Result<Listened, Error> {
    Ok(Listened { rate_hz, channels: 1, mix: Mix::Channel(0), unreadable_count: 0, heard })
}
