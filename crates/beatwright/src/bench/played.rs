//! A motion in time, for the page to play: the states it goes through, what presses meanwhile, phases and shocks.

use action::{Phase, Shock as Named};
use motion::{Beat, Event, Machine, Meeting, Motion, NotSteady, Press, Shock, State, beats};
use movement::Pallet;
use parts::Face;

use crate::bench::wire::{Played, PlayedShock, Stretch};
use crate::input::Loaded;
use crate::motion_command::{
    BEGIN_RAD, FROM_REST, Found, Report, machine, options, setting, sought, started, touching,
};
use crate::output::Stop;

/// Beats that are shown of what does not repeat itself, the last of them the one in which it fails: chosen, enough to see how
/// it comes to that.
const RUN_DOWN: usize = 12;
/// Even instants in an oscillation, of two beats and of more: chosen, the second so that a run-up is sent in a moment.
const A_PERIOD: f64 = 10_000.0;
const A_PERIOD_OF_MANY: f64 = 1000.0;
/// Even instants in an oscillation that are kept while wheel and lever rest: chosen, the balance is then drawn to a fifth
/// of a degree.
const AT_REST: f64 = 250.0;

/// An instant: the state as it comes there, and what pressed on the way.
struct Sample {
    at: State,
    presses: Vec<Press>,
}

/// What is played: from where, after and for how many beats, what is said of it.
struct Wanted {
    from: State,
    before: usize,
    count: usize,
    first: Pallet,
    outcome: (String, String, bool),
    repeats: bool,
}

/// The motion of a movement: from rest; else the beats of the steady motion until it repeats itself, or where there is
/// none, what comes of a usual amplitude.
pub fn played(loaded: &Loaded, from_rest: bool) -> Result<Played, Stop> {
    let machine = machine(loaded)?;
    let wanted = if from_rest { at_rest(loaded, &machine)? } else { going(loaded, &machine)? };
    let Some(wanted) = wanted else {
        let nothing = if from_rest { Found::NothingStands } else { Found::NotSteady(&NotSteady::DoesNotLock) };
        return Ok(empty(from_rest, outcome_of(&Report::new(loaded, &nothing, &machine))));
    };
    let (motion, samples) = followed(loaded, &machine, &wanted);
    let columns = Columns::new(&samples, loaded);
    let beats = all_beats(&motion, wanted.first);
    let begins_lifted = from_rest && !samples.get(1).is_some_and(|s| s.presses.iter().any(|p| p.meeting.of_banking()));
    let stretches = stretches(&samples, &beats, &wanted, begins_lifted);
    let (outcome, sentence, runs) = wanted.outcome;
    Ok(Played {
        from_rest,
        outcome,
        sentence,
        runs,
        repeats: wanted.repeats,
        beats_before: wanted.before as u32,
        extreme_deg: beats.iter().map(|b| short(b.extreme_rad.to_degrees())).collect(),
        t_s: samples.iter().map(|s| s.at.t_s).collect(),
        wheel_deg: columns.wheel_deg,
        lever_deg: columns.lever_deg,
        jewel_deg: columns.jewel_deg,
        stretch: (0..samples.len() as u32)
            .map(|i| stretches.partition_point(|s| s.last <= i).min(stretches.len().saturating_sub(1)) as u32)
            .collect(),
        forces: samples.iter().skip(1).map(|s| s.presses.iter().map(force_row).collect()).collect(),
        touching: Meeting::ALL.iter().map(|m| touching(*m).to_owned()).collect(),
        shocks: shocks(&motion, &samples, &beats),
        stretches,
    })
}

fn outcome_of(report: &Report) -> (String, String, bool) {
    (report.outcome.code.to_owned(), report.outcome.words.clone(), report.outcome.runs)
}

fn empty(from_rest: bool, (outcome, sentence, runs): (String, String, bool)) -> Played {
    Played {
        from_rest,
        outcome,
        sentence,
        runs,
        repeats: false,
        beats_before: 0,
        extreme_deg: Vec::new(),
        t_s: Vec::new(),
        wheel_deg: Vec::new(),
        lever_deg: Vec::new(),
        jewel_deg: Vec::new(),
        stretch: Vec::new(),
        forces: Vec::new(),
        touching: Vec::new(),
        stretches: Vec::new(),
        shocks: Vec::new(),
    }
}

/// From rest; `None` where nothing stands.
fn at_rest(loaded: &Loaded, machine: &Machine) -> Result<Option<Wanted>, Stop> {
    let Some(started) = started(loaded, machine, FROM_REST)? else { return Ok(None) };
    let outcome = outcome_of(&started.report(loaded, machine));
    let (from, first) = (started.from, started.pallet);
    Ok(Some(Wanted { from, before: 0, count: FROM_REST, first, outcome, repeats: false }))
}

/// The steady motion; or of what comes of a usual amplitude the beats in which it fails, or where none is named the first
/// ones. `None` where no tooth locks.
fn going(loaded: &Loaded, machine: &Machine) -> Result<Option<Wanted>, Stop> {
    let first = Pallet::Entry;
    let report = sought(loaded)?;
    let outcome = outcome_of(&report);
    if let Some(steady) = report.steady {
        let count = steady.beats.len();
        return Ok(Some(Wanted { from: steady.state, before: 0, count, first, outcome, repeats: true }));
    }
    let Some(from) = machine.locked(first, BEGIN_RAD) else { return Ok(None) };
    let before = report.outcome.after_beats.map_or(0, |whole| (whole + 1).saturating_sub(RUN_DOWN));
    let from = if before == 0 { from } else { machine.play(&from, before, options(before)).state };
    let first = if before.is_multiple_of(2) { first } else { first.other() };
    Ok(Some(Wanted { from, before, count: RUN_DOWN, first, outcome, repeats: false }))
}

/// Plays it, and keeps the instants worth showing.
fn followed(loaded: &Loaded, machine: &Machine, wanted: &Wanted) -> (Motion, Vec<Sample>) {
    let each = if wanted.count > 2 { A_PERIOD_OF_MANY } else { A_PERIOD };
    let every_s = setting(&loaded.build.movement).nominal_period_s / each;
    let in_rest = (each / AT_REST) as u64;
    let mut samples: Vec<Sample> = Vec::new();
    let motion = machine.follow(&wanted.from, wanted.count, options(wanted.count), every_s, |moment| {
        let state = moment.state;
        let next = ((state.t_s - wanted.from.t_s) / every_s).round();
        let even = moment.event.is_none() && wanted.from.t_s + next * every_s == state.t_s;
        let rests = state.wheel_rad_per_s == 0.0 && state.lever_rad_per_s == 0.0;
        match samples.last_mut() {
            // A shock changes the speeds alone, and they are not shown.
            Some(last) if last.at.t_s == state.t_s => {}
            _ if even && rests && !(next as u64).is_multiple_of(in_rest) => {}
            _ => samples.push(Sample { at: state, presses: moment.presses.clone() }),
        }
    });
    (motion, samples)
}

/// Angles at the edge.
struct Columns {
    wheel_deg: Vec<f64>,
    lever_deg: Vec<f64>,
    jewel_deg: Vec<f64>,
}

impl Columns {
    fn new(samples: &[Sample], loaded: &Loaded) -> Columns {
        let rest_rad = loaded.build.parts.roller.rest_rad;
        let column = |read: &dyn Fn(&State) -> f64| samples.iter().map(|s| short(read(&s.at).to_degrees())).collect();
        Columns {
            wheel_deg: column(&|s| s.wheel_rad),
            lever_deg: column(&|s| s.lever_rad),
            jewel_deg: column(&|s| s.balance_rad + rest_rad),
        }
    }
}

/// A number without the digits that nobody sees: to 1e-7 of a degree, mm or mN.
fn short(value: f64) -> f64 {
    (value * 1e7).round() / 1e7
}

fn force_row(press: &Press) -> [f64; 5] {
    let what = Meeting::ALL.iter().position(|m| *m == press.meeting).unwrap_or(0);
    let (at, by) = (press.at_m * 1e3, press.force_n * 1e3);
    [what as f64, short(at.x), short(at.y), short(by.x), short(by.y)]
}

/// The beats, the last of them too where it has not ended.
fn all_beats(motion: &Motion, first: Pallet) -> Vec<Beat> {
    let mut events = motion.events.clone();
    events.push(Event::Extreme { t_s: motion.state.t_s, balance_rad: motion.state.balance_rad });
    let mut out = beats(&events, first);
    if out.len() > 1 && out.last().is_some_and(|last| last.extreme_s <= out[out.len() - 2].extreme_s) {
        out.pop();
    }
    out
}

/// Phases in order. The first beat from rest begins with the lift where the lever is not on a banking.
///
/// The lift is from where the tooth first presses beyond the locking corner, the notch having caught the jewel, to where it
/// last does.
fn stretches(samples: &[Sample], beats: &[Beat], wanted: &Wanted, lifted: bool) -> Vec<Stretch> {
    let mut out: Vec<Stretch> = Vec::new();
    let mut at = 0;
    let between = samples.len().saturating_sub(1);
    for (number, beat) in beats.iter().enumerate() {
        let end = (at..between).find(|&i| samples[i].at.t_s >= beat.extreme_s).unwrap_or(between);
        let beat = if lifted && number == 0 { begun(beat) } else { *beat };
        let number = (wanted.before + number) as u32;
        let own = if beat.pallet == Pallet::Entry { Meeting::ToothEntry } else { Meeting::ToothExit };
        // What presses from an instant to the next stands with the next.
        let lift = |i: usize| {
            let press =
                samples[i + 1].presses.iter().find(|p| p.meeting == own && samples[i].at.t_s >= caught_s(&beat))?;
            let [tooth, stone] = press.faces;
            let on_tooth = matches!(tooth, Face::ToothImpulse | Face::Heel | Face::HeelBack);
            let drives = !matches!(stone, Face::StoneLocking | Face::LockingCorner);
            drives.then_some(if on_tooth { Phase::ImpulseOnTooth } else { Phase::ImpulseOnStone })
        };
        let dropped_s = beat.drop_s.unwrap_or(f64::INFINITY);
        let leaves = (at..end).rev().find(|&i| samples[i].at.t_s < dropped_s && lift(i).is_some());
        let mut now = Phase::Catch;
        for (i, sample) in samples.iter().enumerate().take(end).skip(at) {
            now = lift(i).unwrap_or(now);
            let phase = phase(&beat, sample.at.t_s, now, leaves.is_some_and(|last| i > last));
            let name = phase.name();
            match out.last_mut() {
                Some(last) if last.beat == number && last.phase == name => last.last = i as u32 + 1,
                _ => out.push(Stretch {
                    pallet: beat.pallet.name().to_owned(),
                    beat: number,
                    phase: name.to_owned(),
                    first: i as u32,
                    last: i as u32 + 1,
                }),
            }
        }
        at = end;
    }
    if out.is_empty() && !samples.is_empty() {
        let (pallet, phase) = (wanted.first.name().to_owned(), Phase::FreeIn.name().to_owned());
        out.push(Stretch { pallet, beat: wanted.before as u32, phase, first: 0, last: samples.len() as u32 - 1 });
    }
    out
}

/// When the wheel drives the lever and the lever the balance: where the notch catches the jewel, or of a notch that never
/// left it where the wheel begins to advance.
fn caught_s(beat: &Beat) -> f64 {
    beat.catch_s.or(beat.advance_s).unwrap_or(f64::INFINITY)
}

/// A beat that begins with the lift.
fn begun(beat: &Beat) -> Beat {
    let now = Some(f64::NEG_INFINITY);
    Beat { unlocking_s: now, advance_s: now, catch_s: now, ..*beat }
}

/// What goes on from an instant on; `lift` until the drop.
fn phase(beat: &Beat, t_s: f64, lift: Phase, free: bool) -> Phase {
    let until = |at: Option<f64>| t_s < at.unwrap_or(f64::INFINITY);
    let advance_s = beat.advance_s.or(beat.catch_s).or(beat.drop_s);
    if until(beat.unlocking_s) {
        Phase::FreeIn
    } else if until(advance_s) {
        Phase::Unlocking
    } else if until(beat.drop_s) {
        if free { Phase::Drop } else { lift }
    } else if until(beat.banking_s) {
        Phase::Run
    } else {
        Phase::FreeOut
    }
}

/// The shocks; of the five of a beat each by its name.
fn shocks(motion: &Motion, samples: &[Sample], beats: &[Beat]) -> Vec<PlayedShock> {
    let struck = motion.events.iter().filter_map(|event| match event {
        Event::Shock(shock) => Some(shock),
        Event::Extreme { .. } | Event::Advances { .. } => None,
    });
    let mut said: Vec<(usize, Named)> = Vec::new();
    struck
        .map(|shock| {
            let beat = beats.partition_point(|b| b.extreme_s < shock.t_s);
            let named = beats.get(beat).and_then(|b| named(b, shock)).filter(|n| !said.contains(&(beat, *n)));
            said.extend(named.map(|n| (beat, n)));
            PlayedShock {
                instant: samples.partition_point(|s| s.at.t_s < shock.t_s) as u32,
                name: named.map_or_else(|| touching(shock.meeting), Named::name).to_owned(),
                of_five: named.is_some(),
                mm_per_s: 1e3 * shock.speed_m_per_s,
                lost_nj: 1e9 * shock.lost_j,
            }
        })
        .collect()
}

/// Which of the five of its beat a shock is.
fn named(beat: &Beat, shock: &Shock) -> Option<Named> {
    let is = |at: Option<f64>| at == Some(shock.t_s);
    let own = if beat.pallet == Pallet::Entry { Meeting::ToothEntry } else { Meeting::ToothExit };
    match shock.meeting {
        Meeting::JewelFork if is(beat.unlocking_s) => Some(Named::JewelMeetsNotch),
        Meeting::JewelFork if is(beat.catch_s) => Some(Named::NotchCatchesJewel),
        meeting if meeting == own && is(beat.impulse_s) => Some(Named::ToothMeetsImpulseFace),
        meeting if meeting.of_tooth() && meeting != own && is(beat.drop_s) => Some(Named::Drop),
        meeting if meeting.of_banking() && is(beat.banking_s) => Some(Named::Banking),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::input::demo;

    fn of(loaded: &Loaded, from_rest: bool) -> Played {
        played(loaded, from_rest).expect("it is played")
    }

    fn is_sound(played: &Played) {
        let count = played.t_s.len();
        assert!(played.t_s.windows(2).all(|t| t[0] < t[1]));
        assert_eq!((played.stretch.len(), played.forces.len() + 1), (count, count));
        let stretches = &played.stretches;
        assert_eq!((stretches[0].first, stretches.last().map(|s| s.last as usize)), (0, Some(count - 1)));
        assert!(stretches.windows(2).all(|s| s[0].last == s[1].first && s[0] != s[1]));
        for (i, &s) in played.stretch[..count - 1].iter().enumerate() {
            let own = &stretches[s as usize];
            assert!((own.first..own.last).contains(&(i as u32)), "{i} in {own:?}");
        }
    }

    #[test]
    fn the_steady_motion_has_all_phases_and_the_five_shocks_of_each_beat() {
        let loaded = demo("");
        let played = of(&loaded, false);
        is_sound(&played);
        let steady = sought(&loaded).ok().and_then(|r| r.steady).expect("it goes");
        assert!(played.repeats && played.runs && played.t_s.last() == Some(&steady.period_s));
        for (number, beat) in steady.beats.iter().enumerate() {
            let phases: Vec<&str> =
                played.stretches.iter().filter(|s| s.beat == number as u32).map(|s| s.phase.as_str()).collect();
            let wanted = ["free arc, coming", "unlocking", "notch catches jewel", "drop", "free arc, going"];
            assert_eq!(phases.contains(&"run"), beat.banking_s > beat.drop_s);
            assert!(wanted.iter().all(|w| phases.contains(w)), "{phases:?}");
            let five = [beat.unlocking_s, beat.impulse_s, beat.catch_s, beat.drop_s, beat.banking_s];
            let begins = if number == 0 { 0.0 } else { steady.beats[0].extreme_s };
            let t_s = |s: &PlayedShock| played.t_s[s.instant as usize];
            let said = played.shocks.iter().filter(|s| s.of_five && (begins..beat.extreme_s).contains(&t_s(s)));
            let said: Vec<f64> = said.map(t_s).collect();
            let mut named: Vec<f64> = five.into_iter().flatten().collect();
            named.sort_by(f64::total_cmp);
            assert_eq!(said, named);
        }
    }

    #[test]
    fn what_does_not_go_on_is_played_as_far_as_it_goes() {
        for (changes, from_rest, outcome) in [
            ("wheel.torque_un_m=0.05", true, "does-not-start"),
            ("wheel.torque_un_m=20", false, "knocks"),
            ("wheel.torque_un_m=0.01", false, "stops"),
        ] {
            let played = of(&demo(changes), from_rest);
            is_sound(&played);
            assert!(!played.runs && !played.repeats && played.outcome == outcome, "{}", played.sentence);
        }
        for from_rest in [true, false] {
            let played = of(&demo("pallets.entry.stone_out_mm=-0.3"), from_rest);
            assert!(!played.runs && played.t_s.is_empty() && !played.sentence.is_empty());
        }
    }

    /// However late it fails: what the sentence says is among the last beats played.
    #[test]
    fn what_fails_late_is_played_where_it_fails() {
        for (changes, outcome, after_s) in
            [("wheel.torque_un_m=1.6", "knocks", 5.0), ("wheel.torque_un_m=0.001", "stops", 20.0)]
        {
            let played = of(&demo(changes), false);
            is_sound(&played);
            assert_eq!(played.outcome, outcome, "{}", played.sentence);
            let said: Vec<&str> = played.sentence.split(" at ").nth(1).expect("it says when").split(" ms").collect();
            let fails_s = 1e-3 * said[0].parse::<f64>().expect("a time");
            let (first_s, last_s) = (played.t_s[0], played.t_s[played.t_s.len() - 1]);
            assert!(
                fails_s > after_s && (first_s..=last_s + 1e-6).contains(&fails_s),
                "{} in {first_s} to {last_s}",
                played.sentence
            );
            let numbers: Vec<u32> = played.stretches.iter().map(|s| s.beat).collect();
            let last = numbers[numbers.len() - 1];
            assert_eq!((numbers[0], played.extreme_deg.len() as u32), (played.beats_before, last - numbers[0] + 1));
            assert!((11..=12).contains(&(last - numbers[0])), "beats {} to {last}", numbers[0]);
            // Beats of an eighth of a second: the demo has 28,800 an hour.
            assert!(
                (8.0 * first_s - f64::from(played.beats_before)).abs() < 1.0,
                "{first_s} s, {}",
                played.beats_before
            );
            let strikes = played
                .shocks
                .iter()
                .filter(|s| s.name == touching(Meeting::JewelFork))
                .any(|s| (played.t_s[s.instant as usize] - fails_s).abs() < 1e-6);
            assert_eq!(strikes, outcome == "knocks", "{}", played.sentence);
        }
    }

    /// The angle told of a beat is that of the command: from the spring's rest, wherever the jewel then stands.
    #[test]
    fn extremes_are_counted_from_the_rest_of_the_spring() {
        let loaded = demo("roller.turn_deg=3");
        let played = of(&loaded, false);
        let steady = sought(&loaded).ok().and_then(|r| r.steady).expect("it goes");
        for (told, beat) in played.extreme_deg.iter().zip(&steady.beats) {
            assert!((told - beat.extreme_rad.to_degrees()).abs() < 1e-6, "{told} deg, {beat:?}");
        }
        let ends: Vec<usize> =
            [0, 1].map(|n| played.stretches.iter().rfind(|s| s.beat == n).expect("it is there").last as usize).into();
        for (told, end) in played.extreme_deg.iter().zip(ends) {
            assert!(
                (played.jewel_deg[end] - told - 3.0).abs() < 1e-3,
                "{told} deg, jewel at {} deg",
                played.jewel_deg[end]
            );
        }
    }

    /// The lift is what a tooth gives: from where it first presses beyond the locking corner, once the notch has caught the
    /// jewel, until it last does.
    #[test]
    fn a_lift_begins_with_the_tooth_pressing() {
        let text = include_str!("../../../../examples/handbook-1904-circular.toml");
        let statement = movement::read("handbook-1904-circular.toml", text).statement;
        let loaded = crate::input::work_out(statement, Vec::new()).unwrap_or_else(|r| panic!("{:?}", r.diagnostics));
        let played = of(&loaded, false);
        is_sound(&played);
        assert!(played.runs, "{}", played.sentence);
        let teeth = [Meeting::ToothEntry, Meeting::ToothExit].map(|m| touching(m).to_owned());
        for beat in 0..2 {
            let lift: Vec<&Stretch> =
                played.stretches.iter().filter(|s| s.beat == beat && s.phase.starts_with("impulse")).collect();
            let [first, last] = [lift[0].first as usize, lift[lift.len() - 1].last as usize];
            let own = &teeth[usize::from(lift[0].pallet == "exit")];
            let presses = |i: usize| played.forces[i].iter().any(|f| &played.touching[f[0] as usize] == own);
            assert!(presses(first) && presses(last - 1), "beat {beat}: {lift:?}");
            let lasts = |i: usize| played.t_s[i + 1] - played.t_s[i];
            for (phase, [first, last]) in [
                ("all of the lift", [first, last]),
                (lift[0].phase.as_str(), [lift[0].first as usize, lift[0].last as usize]),
            ] {
                let all_s: f64 = (first..last).map(lasts).sum();
                let pressed_s: f64 = (first..last).filter(|&i| presses(i)).map(lasts).sum();
                println!("beat {beat}, {phase}: {all_s} s of which {pressed_s} s pressed");
                assert!(pressed_s > 0.9 * all_s, "beat {beat}, {phase}: {all_s} s of which {pressed_s} s pressed");
            }
        }
    }

    #[test]
    fn where_teeth_differ_the_beats_of_a_whole_turn_are_played() {
        let played = of(&demo("wheel.teeth.3.longer_mm=0.002"), false);
        is_sound(&played);
        // Fifteen teeth, each in two beats.
        assert_eq!((played.repeats, played.stretches.last().map(|s| s.beat)), (true, Some(29)));
        let turned_deg = played.wheel_deg[0] - played.wheel_deg[played.wheel_deg.len() - 1];
        assert!((turned_deg - 360.0).abs() < 1e-3, "{turned_deg} deg");
    }

    #[test]
    fn from_rest_it_begins_with_nothing_moving() {
        let played = of(&demo(""), true);
        is_sound(&played);
        assert!(played.from_rest && !played.repeats && played.outcome == "starts-itself");
        assert_eq!(played.t_s[0], 0.0);
    }
}
