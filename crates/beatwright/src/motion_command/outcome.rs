//! What became of a motion: one word for programs, and a sentence.

use action::{Action, sample_curve};
use motion::{Beat, Ending, Event, Machine, Meeting, Motion, NotLocked, NotSteady, Shock, Steady};
use movement::{Pallet, ParamKind as K};
use parts::{Face, Parts};
use std::f64::consts::PI;

use crate::motion_command::{BEGIN_RAD, options};

/// Beats played to see why none repeats itself: chosen, several times what an amplitude needs to grow.
const TRIAL: usize = 400;
/// Points of each stretch of a contact curve at which its torque is looked at: chosen, the torque changes little along a face.
const CURVE_POINTS: usize = 9;

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
    /// Whole beats after which it failed; nothing where it runs, and where that is not told of a motion from a usual
    /// amplitude or from where it was asked for.
    pub after_beats: Option<usize>,
}

impl Outcome {
    fn runs(code: &'static str, words: String) -> Outcome {
        Outcome { code, words, runs: true, after_beats: None }
    }

    fn fails(code: &'static str, words: String) -> Outcome {
        Outcome { code, words, runs: false, after_beats: None }
    }
}

/// Names what was found of a movement.
///
/// # Arguments
/// `parts`, `action`: those from which the machine was made.
pub fn outcome(found: &Found, machine: &Machine, parts: &Parts, action: &Action) -> Outcome {
    let driven = || not_driven(machine, parts, action);
    if let Found::NotSteady(NotSteady::OutOfStep(_) | NotSteady::Ended(_) | NotSteady::Unsettled { .. }) = found
        && let Some(why) = driven()
    {
        return Outcome::fails("no-drive", format!("has no drive: {why}"));
    }
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
        Found::Steady(_) => Outcome::runs("steady", "steady".to_owned()),
        Found::NotSteady(NotSteady::DoesNotLock) => {
            let why = why_not_locked(machine).unwrap_or_else(|| "no state to begin with was found".to_owned());
            Outcome::fails("does-not-lock", format!("does not lock: {why}, so there is nothing to begin with"))
        }
        Found::NotSteady(NotSteady::OutOfStep(motion)) => {
            let from_rad = machine.locked(Pallet::Entry, 0.0).map_or(0.0, |from| from.wheel_rad);
            let teeth = (from_rad - motion.state.wheel_rad) / parts.wheel.pitch_rad();
            // It may be found on one pallet alone.
            let words = out_of_step(teeth, machine.repeats());
            Outcome::fails(
                "out-of-step",
                why_not_locked(machine).map_or(words.clone(), |why| format!("{words}: {why}")),
            )
        }
        Found::NotSteady(NotSteady::Unsettled { amplitude_rad, change_rad }) => Outcome::fails(
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
            match usual.filter(|usual| usual.ending != Ending::Played) {
                Some(usual) => ended(&usual),
                None => Outcome { after_beats: None, ..ended(motion) },
            }
        }
        Found::Played(motion) => ended(motion),
        Found::NothingStands => Outcome::fails(
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
            Outcome::runs("starts-itself", words)
        }
        Found::FromRest { motion, pallet, .. } => {
            let why = driven().unwrap_or_else(|| match motion.ending {
                Ending::Played => format!("after {} no beat follows another", time(motion)),
                _ => ended(motion).words,
            });
            let words = format!("does not start with the tooth on the {} stone: {why}", pallet.name());
            Outcome::fails("does-not-start", words)
        }
    }
}

/// Why nothing drives the balance: no torque, or none that could turn the lever on its pivots even without friction of the
/// teeth.
fn not_driven(machine: &Machine, parts: &Parts, action: &Action) -> Option<String> {
    let dynamics = machine.dynamics();
    let (torque, friction) = (K::WheelTorque.once(), K::LeverPivotFriction.once());
    let torque_n_m = dynamics.wheel.torque_n_m;
    if torque_n_m == 0.0 {
        return Some(format!("nothing drives the wheel, {torque} is 0"));
    }
    let contacts = action.beats.iter().flat_map(|beat| {
        sample_curve(parts, beat, CURVE_POINTS).into_iter().filter_map(|contact| contact.torque_ratio(beat.pallet))
    });
    let most_n_m = torque_n_m * contacts.fold(0.0, f64::max);
    let unit = torque.param().unit;
    (most_n_m <= dynamics.lever.pivot_n_m).then(|| {
        format!(
            "the wheel cannot turn the lever, to which at most {:.4} {} of its torque come, while {friction} is {:.4} {}",
            unit.from_si(most_n_m),
            unit.sign(),
            unit.from_si(dynamics.lever.pivot_n_m),
            unit.sign()
        )
    })
}

/// Why a tooth is not locked on one of the pallets.
fn why_not_locked(machine: &Machine) -> Option<String> {
    Pallet::BOTH.into_iter().find_map(|p| machine.lock(p).err().map(|why| not_locked(p, why)))
}

fn not_locked(pallet: Pallet, why: NotLocked) -> String {
    let name = pallet.name();
    match why {
        NotLocked::NoTooth => format!("no tooth rests on the {name} stone with the lever on its banking"),
        NotLocked::GuardInRoller { by_rad } => format!(
            "with the lever on the {name} banking the guard lies in the roller, by {:.4} lever degrees",
            by_rad.to_degrees()
        ),
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
    Some(Outcome { after_beats: Some(whole_beats(&motion.events[..at])), ..Outcome::fails(code, words) })
}

fn whole_beats(events: &[Event]) -> usize {
    events.iter().filter(|event| matches!(event, Event::Extreme { .. })).count()
}

/// A motion that came to an end of its own.
fn ended(motion: &Motion) -> Outcome {
    let after_beats = Some(whole_beats(&motion.events));
    let stopped = |code, words| Outcome { after_beats, ..Outcome::fails(code, words) };
    let at = format!("at {}", time(motion));
    let held: Vec<&str> = motion.bearing.iter().map(|m| touching(*m)).collect();
    let held = if held.is_empty() { "nothing touching".to_owned() } else { held.join(", ") };
    let balance = format!("the balance {:.1} deg from the spring's rest", motion.state.balance_rad.to_degrees());
    match motion.ending {
        Ending::Played => Outcome::runs("played", format!("played for {}", time(motion))),
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
