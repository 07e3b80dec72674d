//! `motion`: what the escapement does in time.

mod history;
mod outcome;
mod report;
mod text;

use motion::{Beat, Dynamics, Ending, Machine, Motion, NotSteady, Options, Setting, State, beats};
use movement::{Pallet, ParamKind as K};

use crate::cli::MotionArgs;
use crate::input::{Loaded, load_quietly};
use crate::output::{Status, Stop, emit};
use history::History;
pub use outcome::{Found, outcome, touching};
use report::Ledger;
pub use report::Report;

/// Amplitude from which a number of beats is played: 270 deg, common practice, no source.
pub const BEGIN_RAD: f64 = 1.5 * std::f64::consts::PI;
/// Steps after which a motion is given up, for each beat and in all: a beat takes some hundred, the search and a start from
/// rest some thousands.
const STEPS_A_BEAT: u64 = 10_000;
const FIRST_STEPS: u64 = 100_000;
/// Beats played from rest where no number is given: chosen, enough that they follow one another or never will.
pub const FROM_REST: usize = 40;

/// Plays a movement.
pub fn motion(args: &MotionArgs) -> Result<Status, Stop> {
    let loaded = load_quietly(&args.movement, args.json)?;
    let machine = machine(&loaded)?;
    let mut history = args.history.as_deref().map(|path| History::begin(path, args, &loaded)).transpose()?;
    let report = match (args.from_rest, args.beats) {
        (true, count) => {
            let count = count.map_or(FROM_REST, |n| n as usize);
            let started = started(&loaded, &machine, count)?;
            if let (Some(history), Some(started)) = (history.as_mut(), &started) {
                history.follow(&machine, &started.from, count);
            }
            match &started {
                Some(started) => started.report(&loaded, &machine),
                None => Report::new(&loaded, &Found::NothingStands, &machine),
            }
        }
        (false, Some(count)) => played(&loaded, &machine, count as usize, history.as_mut()),
        (false, None) => {
            let report = sought(&loaded)?;
            if let (Some(history), Some(steady)) = (history.as_mut(), &report.steady) {
                history.follow(&machine, &steady.state, steady.beats.len());
            }
            report
        }
    };
    emit(&if args.json {
        report.json()
    } else if args.csv {
        report.csv()
    } else {
        report.text()
    })?;
    if let Some(history) = history {
        history.write()?;
    }
    if !args.json {
        loaded.remark();
    }
    Ok(if report.outcome.runs { Status::Ok } else { Status::Finding })
}

/// Accuracy and bounds of a number of beats.
pub fn options(beats: usize) -> Options {
    Options { most_steps: FIRST_STEPS + STEPS_A_BEAT * beats as u64, ..Options::default() }
}

/// The movement's parts with what moves them.
pub fn machine(loaded: &Loaded) -> Result<Machine, Stop> {
    Machine::new(&loaded.build.parts, &loaded.action, Dynamics::of(&loaded.build.movement))
        .map_err(|e| Stop::from_error(&e))
}

/// What a steady motion is counted against.
pub fn setting(movement: &movement::Movement) -> Setting {
    Setting {
        nominal_period_s: 2.0 / movement.si(K::BalanceBeats),
        balance: Dynamics::of(movement).balance,
        lift_rad: movement.si(K::BalanceLift),
        heard_lift_rad: movement.si(K::BalanceHeardLift),
    }
}

/// The motion that repeats itself.
pub fn sought(loaded: &Loaded) -> Result<Report<'_>, Stop> {
    let machine = machine(loaded)?;
    Ok(match machine.steady(options(2 * machine.repeats())) {
        Ok(steady) => {
            let report = Report::new(loaded, &Found::Steady(&steady), &machine);
            let ledger =
                Ledger { work_j: steady.work_j, change_j: steady.energy_change_j, beats: Some(steady.beats.len()) };
            Report { ledger: Some(ledger), beats: steady.beats.clone(), steady: Some(steady), ..report }
        }
        Err(why) => Report::new(loaded, &Found::NotSteady(&why), &machine),
    })
}

/// A number of beats from a usual amplitude.
fn played<'a>(loaded: &'a Loaded, machine: &Machine, count: usize, history: Option<&mut History>) -> Report<'a> {
    let Some(from) = machine.locked(Pallet::Entry, BEGIN_RAD) else {
        return Report::new(loaded, &Found::NotSteady(&NotSteady::DoesNotLock), machine);
    };
    let motion = machine.play(&from, count, options(count));
    if let Some(history) = history {
        history.follow(machine, &from, count);
    }
    Report::new(loaded, &Found::Played(&motion), machine).with(&motion, beats(&motion.events, Pallet::Entry))
}

/// A motion from rest.
pub struct Started {
    /// The pallet on which the tooth stood.
    pub pallet: Pallet,
    /// Where all stood.
    pub from: State,
    motion: Motion,
    beats: Vec<Beat>,
    follows: bool,
}

impl Started {
    /// Plays `count` beats, the last two by themselves to see whether they follow one another.
    fn new(machine: &Machine, loaded: &Loaded, pallet: Pallet, count: usize) -> Option<Started> {
        let (parts, action) = (&loaded.build.parts, &loaded.action);
        let from = machine.at_rest(parts, action, pallet)?;
        let motion = machine.play(&from, count, options(count));
        let before = machine.play(&from, count - 2, options(count)).state;
        let teeth = (before.wheel_rad - motion.state.wheel_rad) / parts.wheel.pitch_rad();
        let beats = beats(&motion.events, pallet);
        let follows = motion.ending == Ending::Played && (teeth - 1.0).abs() < 0.25;
        Some(Started { pallet, from, motion, beats, follows })
    }

    /// What is said of it.
    pub fn report<'a>(&self, loaded: &'a Loaded, machine: &Machine) -> Report<'a> {
        let Started { pallet, motion, beats, follows, .. } = self;
        let found = Found::FromRest { motion, pallet: *pallet, beats, follows: *follows };
        Report::new(loaded, &found, machine).with(motion, beats.clone())
    }

    fn reached_rad(&self) -> f64 {
        if self.follows { self.beats.last().map_or(0.0, |b| b.extreme_rad.abs()) } else { -1.0 }
    }
}

/// From rest, a tooth on the entry stone or on the exit stone: the one that does worse; `None` where neither is.
pub fn started(loaded: &Loaded, machine: &Machine, count: usize) -> Result<Option<Started>, Stop> {
    if count < 4 {
        return Err(Stop::problem(
            format!("{count} beats are too few to see whether it starts itself"),
            "give --beats 4 or more, or leave it out",
        ));
    }
    let both = Pallet::BOTH.into_iter().filter_map(|p| Started::new(machine, loaded, p, count));
    Ok(both.min_by(|a, b| a.reached_rad().total_cmp(&b.reached_rad())))
}
