//! The one table of the instants of a beat and of the phases that begin with them. Text, JSON, CSV and the manual are read
//! from it.

use crate::beat::Beat;

/// An instant of a beat.
#[derive(Clone, Copy, Debug)]
pub struct BeatInstant {
    /// Its key, which ends in its unit.
    pub key: &'static str,
    /// The same in words.
    pub words: &'static str,
    /// What happens there, one line.
    pub definition: &'static str,
    /// The phase that begins there.
    pub phase: &'static str,
    value: fn(&Beat) -> Option<f64>,
}

impl BeatInstant {
    /// When it came, s from the start of the motion; `None` where it did not.
    pub fn t_s(&self, beat: &Beat) -> Option<f64> {
        (self.value)(beat)
    }
}

/// Every instant, in the usual order.
pub const INSTANTS: &[BeatInstant] = &[
    BeatInstant {
        key: "unlocking_ms",
        words: "jewel meets notch",
        definition: "first shock, the end of the free arc",
        phase: "unlocking: the balance drives the lever off its banking, the tooth slides on the locking face and the wheel \
                is turned back against the draw",
        value: |b| b.unlocking_s,
    },
    BeatInstant {
        key: "advance_ms",
        words: "wheel begins to advance",
        definition: "the tooth has been turned back as far as it goes",
        phase: "the wheel takes up speed and follows the stone",
        value: |b| b.advance_s,
    },
    BeatInstant {
        key: "impulse_ms",
        words: "tooth meets impulse face",
        definition: "second shock, where the tooth flew from the locking corner on to the impulse face; else it is a dash",
        phase: "lift: the tooth drives the stone",
        value: |b| b.impulse_s,
    },
    BeatInstant {
        key: "catch_ms",
        words: "notch catches jewel",
        definition: "third shock: the lever, now driven by the wheel, has taken up the freedom of the notch",
        phase: "impulse: the lever drives the balance, until tooth and stone part at the let-off, of which no shock tells",
        value: |b| b.catch_s,
    },
    BeatInstant {
        key: "drop_ms",
        words: "tooth drops on the other stone",
        definition: "fourth shock, the loudest; at large amplitudes the banking may come before it",
        phase: "run: the draw pulls the stone in",
        value: |b| b.drop_s,
    },
    BeatInstant {
        key: "banking_ms",
        words: "lever meets banking",
        definition: "fifth shock",
        phase: "the balance swings on alone, wheel and lever at rest",
        value: |b| b.banking_s,
    },
    BeatInstant {
        key: "extreme_ms",
        words: "balance turns",
        definition: "end of the beat; with it the angle from the spring's rest",
        phase: "free arc: the balance comes back, wheel and lever at rest",
        value: |b| Some(b.extreme_s),
    },
];
