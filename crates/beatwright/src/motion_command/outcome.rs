//! What became of a motion: one word for programs, and a sentence.

use motion::{Beat, Ending, Event, Machine, Meeting, Motion, NotSteady, Shock, Steady};
use movement::Pallet;
use parts::{Face, Parts};
use std::f64::consts::PI;

use crate::motion_command::{BEGIN_RAD, options};

/// Beats played to see why none repeats itself: chosen, several times what an amplitude needs to grow.
const TRIAL: usize = 400;

/// What was found.
pub enum Found<'a> {
    /// A motion that repeats itself.
    Steady(&'a Steady),
    /// None that does.
    NotSteady(&'a NotSteady),
    /// A number of beats.
    Played(&'a Motion),
    /// From rest, no tooth comes to a stone.
    NothingStands,
    /// A number of beats from rest.
    FromRest {
        /// The motion.
        motion: &'a Motion,
        /// The pallet on which the tooth stood.
        pallet: Pallet,
        /// Its whole beats.
        beats: &'a [Beat],
        /// Whether its last two beats advance the wheel by one tooth.
        follows: bool,
    },
}

/// An outcome, told.
#[derive(Clone, Debug, PartialEq)]
pub struct Outcome {
    /// Its name, for programs.
    pub code: &'static str,
    /// The same as a sentence without a full stop.
    pub words: String,
    /// Whether the movement does what was asked of it.
    pub runs: bool,
}

/// Names what was found of a movement.
pub fn outcome(found: &Found, machine: &Machine, parts: &Parts) -> Outcome {
    let stopped = |code, words| Outcome { code, words, runs: false };
    let stray = match found {
        Found::NotSteady(NotSteady::OutOfStep(_) | NotSteady::Unsettled { .. }) => machine
            .locked(Pallet::Entry, BEGIN_RAD)
            .and_then(|from| strays(&machine.play(&from, TRIAL, options(TRIAL)))),
        Found::Played(motion) | Found::FromRest { motion, .. } => strays(motion),
        Found::Steady(steady) => strays(&machine.play(&steady.state, steady.beats.len(), options(steady.beats.len()))),
        Found::NotSteady(_) | Found::NothingStands => None,
    };
    if let Some(stray) = stray {
        return stray;
    }
    match found {
        Found::Steady(_) => Outcome { code: "steady", words: "steady".to_owned(), runs: true },
        Found::NotSteady(NotSteady::DoesNotLock) => stopped(
            "does-not-lock",
            "does not lock: no tooth rests on a stone with the lever on its banking, or the guard presses on the roller \
             there, so there is nothing to begin with"
                .to_owned(),
        ),
        Found::NotSteady(NotSteady::OutOfStep(motion)) => {
            let from_rad = machine.locked(Pallet::Entry, 0.0).map_or(0.0, |from| from.wheel_rad);
            stopped(
                "out-of-step",
                out_of_step((from_rad - motion.state.wheel_rad) / parts.wheel.pitch_rad(), machine.repeats()),
            )
        }
        Found::NotSteady(NotSteady::Unsettled { amplitude_rad, change_rad }) => stopped(
            "unsettled",
            format!(
                "does not settle: no amplitude repeats itself, last {:.2} deg, changed by {:+.4} deg in {}",
                amplitude_rad.to_degrees(),
                change_rad.to_degrees(),
                beats_of(machine.repeats())
            ),
        ),
        // Told from a usual amplitude on, not from where the search was.
        Found::NotSteady(NotSteady::Ended(motion)) => {
            let usual = machine.locked(Pallet::Entry, BEGIN_RAD).map(|from| machine.play(&from, TRIAL, options(TRIAL)));
            ended(usual.as_ref().filter(|usual| usual.ending != Ending::Played).unwrap_or(motion))
        }
        Found::Played(motion) if motion.ending == Ending::Played => {
            Outcome { code: "played", words: format!("played for {}", time(motion)), runs: true }
        }
        Found::Played(motion) => ended(motion),
        Found::NothingStands => stopped(
            "does-not-start",
            "does not start: no tooth comes to a stone with the jewel where the hairspring holds it".to_owned(),
        ),
        Found::FromRest { motion, pallet, beats, follows: true } => {
            let reached = beats.iter().rev().take(2).map(|b| 0.5 * b.extreme_rad.abs().to_degrees()).sum::<f64>();
            let words = format!(
                "starts itself, also with the tooth on the {} stone: amplitude {reached:.2} deg after {}",
                pallet.name(),
                time(motion)
            );
            Outcome { code: "starts-itself", words, runs: true }
        }
        Found::FromRest { motion, pallet, .. } => {
            let why = match motion.ending {
                Ending::Played => format!("after {} no beat follows another", time(motion)),
                _ => ended(motion).words,
            };
            stopped("does-not-start", format!("does not start with the tooth on the {} stone: {why}", pallet.name()))
        }
    }
}

/// Whether the jewel meets the fork elsewhere than in the notch, and when first: from behind, having swung too far, or
/// coming back to a lever that is not where it left it.
fn strays(motion: &Motion) -> Option<Outcome> {
    let inside = |face: Face| matches!(face, Face::NotchWall | Face::NotchCorner | Face::NotchFloor | Face::Horn);
    let (at, t_s, face) = motion.events.iter().enumerate().find_map(|(i, event)| match *event {
        Event::Shock(Shock { meeting: Meeting::JewelFork, t_s, faces: [_, face], .. }) if !inside(face) => {
            Some((i, t_s, face))
        }
        _ => None,
    })?;
    // Thrown back there, it turns: behind the fork beyond half a turn.
    let turned_rad = motion.events[at..].iter().find_map(|event| match *event {
        Event::Extreme { balance_rad, .. } => Some(balance_rad.abs()),
        _ => None,
    });
    let place = format!("first at {:.3} ms, on the {}", 1e3 * t_s, face.name());
    let (code, words) = if turned_rad.is_some_and(|rad| rad > PI) {
        ("knocks", format!("knocks: the balance swings so far that the jewel meets the fork from behind, {place}"))
    } else {
        ("does-not-enter", format!("does not enter: the jewel, coming back, meets the fork outside the notch, {place}"))
    };
    Some(Outcome { code, words, runs: false })
}

/// A motion that came to an end of its own.
fn ended(motion: &Motion) -> Outcome {
    let stopped = |code, words| Outcome { code, words, runs: false };
    let at = format!("at {}", time(motion));
    let held: Vec<&str> = motion.bearing.iter().map(|m| touching(*m)).collect();
    let held = if held.is_empty() { "nothing touching".to_owned() } else { held.join(", ") };
    let balance = format!("the balance {:.1} deg from the spring's rest", motion.state.balance_rad.to_degrees());
    match motion.ending {
        Ending::Played => Outcome { code: "played", words: format!("played for {}", time(motion)), runs: true },
        Ending::Stands => stopped("stops", format!("stops {at}: {held}; {balance}")),
        Ending::Jams => stopped("jams", format!("jams {at}, while parts still move: {held}; {balance}")),
        Ending::BeyondBankings => stopped(
            "beyond-bankings",
            format!("leaves its bankings: {at} the lever is beyond where a banking should hold it"),
        ),
        Ending::RunsThrough => stopped(
            "runs-through",
            format!(
                "runs through: {at} the wheel has turned round once while the balance did not turn: nothing locks it"
            ),
        ),
        Ending::GivenUp => {
            stopped("given-up", format!("given up {at} after {} steps, without an answer", motion.steps))
        }
    }
}

/// Why the beats in which a motion should repeat itself are not followed by the like, by the number of teeth that the
/// wheel advances in them.
fn out_of_step(teeth: f64, repeats: usize) -> String {
    let beats = beats_of(repeats);
    if teeth.round() == repeats as f64 {
        format!("out of step: after {beats} the lever is not where it was")
    } else if teeth.abs() < 0.5 {
        "out of step: the balance swings, and no tooth passes".to_owned()
    } else {
        let wanted = if repeats == 1 { "one".to_owned() } else { repeats.to_string() };
        format!("out of step: in {beats} the wheel advances by {teeth:.2} teeth, and not by {wanted}")
    }
}

fn beats_of(repeats: usize) -> String {
    if repeats == 1 { "two beats".to_owned() } else { format!("{} beats", 2 * repeats) }
}

fn time(motion: &Motion) -> String {
    format!("{:.3} ms", 1e3 * motion.state.t_s)
}

/// What touches what.
pub fn touching(meeting: Meeting) -> &'static str {
    match meeting {
        Meeting::ToothEntry => "tooth on entry stone",
        Meeting::ToothExit => "tooth on exit stone",
        Meeting::JewelFork => "jewel on fork",
        Meeting::GuardRoller => "guard on roller",
        Meeting::BankingEntry => "lever on entry banking",
        Meeting::BankingExit => "lever on exit banking",
    }
}
