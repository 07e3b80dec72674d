//! `motion`: what the escapement does in time.

use motion::{Beat, Dynamics, Ending, Machine, Motion, NotSteady, Options, Place, Steady, beats};
use movement::{Pallet, ParamKind as K};
use serde_json::{Value, json};

use crate::cli::MotionArgs;
use crate::input::{Loaded, load_quietly};
use crate::json;
use crate::output::{Status, Stop, edge, emit, pretty};

/// Amplitude from which a number of beats is played.
const BEGIN_RAD: f64 = 1.5 * std::f64::consts::PI;
const SECONDS_A_DAY: f64 = 86_400.0;

/// Plays a movement.
pub fn motion(args: &MotionArgs) -> Result<Status, Stop> {
    let loaded = load_quietly(&args.movement, args.json)?;
    let machine = Machine::new(&loaded.build.parts, &loaded.action, Dynamics::of(&loaded.build.movement));
    match args.beats {
        Some(count) => played(args, &loaded, &machine, count as usize),
        None => steady(args, &loaded, &machine),
    }
}

/// Period of the nominal oscillation.
fn nominal_s(loaded: &Loaded) -> f64 {
    2.0 / loaded.build.movement.si(K::BalanceBeats)
}

fn steady(args: &MotionArgs, loaded: &Loaded, machine: &Machine) -> Result<Status, Stop> {
    if !loaded.build.parts.wheel.alike() {
        return Err(Stop::problem(
            "a steady motion is sought of like teeth on a true wheel only",
            "give --beats to play a number of beats",
        ));
    }
    let found = machine.steady(Options::default());
    if args.json {
        let mut document = json::head("beatwright.motion/1", loaded);
        let (outcome, reason) = match &found {
            Ok(_) => ("steady", Value::Null),
            Err(why) => (outcome_of(why), json!(why_not(why))),
        };
        document.insert("outcome".to_owned(), json!(outcome));
        document.insert("reason".to_owned(), reason);
        let steady = found.as_ref().ok();
        document.insert("steady".to_owned(), steady.map_or(Value::Null, |s| steady_json(s, loaded)));
        document.insert("ledger".to_owned(), steady.map_or(Value::Null, ledger_json));
        emit(&pretty(&Value::Object(document)))?;
    } else {
        match &found {
            Ok(s) if args.csv => emit(&beats_csv(&s.beats))?,
            Ok(s) => emit(&steady_text(s, loaded))?,
            Err(why) => emit(&format!("{}: {}", loaded.statement.name, why_not(why)))?,
        }
    }
    Ok(if found.is_ok() { Status::Ok } else { Status::Finding })
}

fn outcome_of(why: &NotSteady) -> &'static str {
    match why {
        NotSteady::DoesNotLock => "does-not-lock",
        NotSteady::Ended(motion) => ending_code(motion.ending),
        NotSteady::OutOfStep(_) => "out-of-step",
        NotSteady::Unsettled { .. } => "unsettled",
    }
}

fn why_not(why: &NotSteady) -> String {
    match why {
        NotSteady::DoesNotLock => "no tooth locks, so there is nothing to begin with".to_owned(),
        NotSteady::Ended(motion) => {
            format!("{} at {:.3} ms", ending_words(motion.ending), 1e3 * motion.state.t_s)
        }
        NotSteady::OutOfStep(_) => "the wheel does not advance by one tooth in two beats".to_owned(),
        NotSteady::Unsettled { amplitude_rad, .. } => {
            format!("no steady motion found; the amplitude is {:.1} deg and still changes", amplitude_rad.to_degrees())
        }
    }
}

fn ending_code(ending: Ending) -> &'static str {
    match ending {
        Ending::Played => "played",
        Ending::Stands => "stops",
        Ending::Jams => "jams",
        Ending::BeyondBankings => "beyond-bankings",
        Ending::GivenUp => "given-up",
    }
}

fn ending_words(ending: Ending) -> &'static str {
    match ending {
        Ending::Played => "played",
        Ending::Stands => "stops",
        Ending::Jams => "jams",
        Ending::BeyondBankings => "the lever leaves its bankings",
        Ending::GivenUp => "given up after too many steps",
    }
}

fn steady_json(s: &Steady, loaded: &Loaded) -> Value {
    let nominal_s = nominal_s(loaded);
    json!({
        "amplitude_deg": edge(s.amplitude_rad().to_degrees()),
        "rate_s_per_day": edge(SECONDS_A_DAY * s.rate_ratio(nominal_s)),
        "beat_error_ms": s.beat_error_s().map(|e| edge(1e3 * e.abs())),
        "period_ms": edge(1e3 * s.period_s),
        "oscillations_to_settle": edge(settling(s)),
        "efficiency_ratio": edge(efficiency(s)),
        "beats": s.beats.iter().map(beat_json).collect::<Vec<_>>(),
    })
}

/// Oscillations after which a thousandth of a small departure is left.
fn settling(s: &Steady) -> f64 {
    1000.0_f64.ln() / -s.slope_ratio.ln()
}

/// What reaches the balance, which is what it loses, of what the train gives.
fn efficiency(s: &Steady) -> f64 {
    (s.work_j[Place::Air as usize] + s.work_j[Place::BalancePivots as usize]) / s.work_j[Place::Drive as usize]
}

fn beat_json(b: &Beat) -> Value {
    let ms = |t: Option<f64>| t.map(|t| edge(1e3 * t));
    json!({
        "pallet": b.pallet.name(),
        "unlocking_ms": ms(b.unlocking_s),
        "advance_ms": ms(b.advance_s),
        "impulse_ms": ms(b.impulse_s),
        "catch_ms": ms(b.catch_s),
        "drop_ms": ms(b.drop_s),
        "banking_ms": ms(b.banking_s),
        "extreme_ms": edge(1e3 * b.extreme_s),
        "extreme_deg": edge(b.extreme_rad.to_degrees()),
    })
}

fn ledger_json(s: &Steady) -> Value {
    let beat = |w: f64| edge(1e9 * 0.5 * w);
    let rows: Vec<Value> = Place::ALL
        .iter()
        .map(|p| json!({ "place": p.name(), "nj_per_beat": beat(s.work_j[*p as usize]) }))
        .collect();
    Value::Array(rows)
}

fn steady_text(s: &Steady, loaded: &Loaded) -> String {
    let m = &loaded.build.movement;
    let mut out = format!("{}: steady\n\n", loaded.statement.name);
    let mut row = |name: &str, value: String, unit: &str| out.push_str(&format!("  {name:<28}{value:>12} {unit}\n"));
    row("amplitude", format!("{:.2}", s.amplitude_rad().to_degrees()), "deg");
    row("rate", format!("{:+.2}", SECONDS_A_DAY * s.rate_ratio(nominal_s(loaded))), "s/d");
    row("beat error", s.beat_error_s().map_or("none".to_owned(), |e| format!("{:.4}", 1e3 * e.abs())), "ms");
    row("efficiency", format!("{:.3}", efficiency(s)), "");
    row("oscillations to settle", format!("{:.0}", settling(s)), "");
    out.push_str("\nfrom one extreme of the balance to the next, ms     entry      exit\n");
    let since = [0.0, s.beats[0].extreme_s];
    let mut times = |name: &str, read: fn(&Beat) -> Option<f64>| {
        let shown: Vec<String> = s
            .beats
            .iter()
            .zip(since)
            .map(|(b, from)| read(b).map_or("-".to_owned(), |t| format!("{:.3}", 1e3 * (t - from))))
            .collect();
        out.push_str(&format!("  {name:<44}{:>10}{:>10}\n", shown[0], shown[1]));
    };
    times("jewel meets notch", |b| b.unlocking_s);
    times("wheel begins to advance", |b| b.advance_s);
    times("tooth meets impulse face", |b| b.impulse_s);
    times("notch catches jewel", |b| b.catch_s);
    times("drop", |b| b.drop_s);
    times("banking", |b| b.banking_s);
    times("balance turns", |b| Some(b.extreme_s));
    out.push_str("\nenergy of a beat (mean of both)\n");
    let drive = s.work_j[Place::Drive as usize];
    for place in Place::ALL {
        let work = s.work_j[*place as usize];
        out.push_str(&format!("  {:<44}{:>10.3} nJ {:>6.1} %\n", place.name(), 1e9 * 0.5 * work, 100.0 * work / drive));
    }
    let assumed = [K::BalanceInertia, K::WheelTorque, K::StoneFriction, K::BalanceQuality];
    let unstated: Vec<String> = assumed
        .iter()
        .filter(|k| loaded.statement.values.get(k.once()).is_none())
        .map(|k| k.once().to_string())
        .collect();
    if !unstated.is_empty() {
        out.push_str(&format!("\nRests on defaults of {}: state them for your movement.\n", unstated.join(", ")));
    }
    out.push_str(&format!(
        "Taken: {} beats an hour; teeth alike, no unbalance, balance in poise.",
        3600.0 * m.si(K::BalanceBeats)
    ));
    out
}

fn played(args: &MotionArgs, loaded: &Loaded, machine: &Machine, count: usize) -> Result<Status, Stop> {
    let Some(from) = machine.locked(Pallet::Entry, BEGIN_RAD) else {
        return Err(Stop::problem("no tooth locks, so there is nothing to begin with", "see `beatwright check`"));
    };
    let motion: Motion = machine.play(&from, count, Options::default());
    let beats = beats(&motion.events, Pallet::Entry);
    if args.json {
        let mut document = json::head("beatwright.motion/1", loaded);
        document.insert("outcome".to_owned(), json!(ending_code(motion.ending)));
        document.insert("steady".to_owned(), Value::Null);
        document.insert("beats".to_owned(), beats.iter().map(beat_json).collect());
        emit(&pretty(&Value::Object(document)))?;
    } else {
        emit(&beats_csv(&beats))?;
        if motion.ending != Ending::Played {
            eprintln!("note: {} at {:.3} ms", ending_words(motion.ending), 1e3 * motion.state.t_s);
        }
    }
    Ok(if motion.ending == Ending::Played { Status::Ok } else { Status::Finding })
}

fn beats_csv(beats: &[Beat]) -> String {
    let mut out = "pallet,unlocking_ms,advance_ms,impulse_ms,catch_ms,drop_ms,banking_ms,extreme_ms,extreme_deg".to_owned();
    for b in beats {
        let ms = |t: Option<f64>| t.map_or(String::new(), |t| format!("{:.6}", 1e3 * t));
        let times = [b.unlocking_s, b.advance_s, b.impulse_s, b.catch_s, b.drop_s, b.banking_s, Some(b.extreme_s)].map(ms);
        out.push_str(&format!("\n{},{},{:.5}", b.pallet.name(), times.join(","), b.extreme_rad.to_degrees()));
    }
    out
}
