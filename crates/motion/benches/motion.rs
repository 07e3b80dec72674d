//! Motion on one core: `cargo bench -p motion`.
//!
//! Asked for at 28,800 beats an hour, ledger and all events on: 15,000 times as fast as the watch, and a steady motion from
//! parts in 60 us. The movements are invented but for the first, which is the handbook's of 1904.

#[path = "../tests/support/machine.rs"]
mod machine;
#[path = "../tests/oracle/scene.rs"]
#[allow(dead_code, clippy::unwrap_used)]
mod scene;
#[path = "support/stepping.rs"]
mod stepping;
#[path = "../tests/oracle/touch.rs"]
#[allow(dead_code)]
mod touch;

use criterion::{Criterion, criterion_group, criterion_main};
use machine::{dynamics, values};
use motion::{Dynamics, Machine, Options};
use movement::{Pallet, ParamId, Values};
use std::hint::black_box;
use std::time::Instant;
use stepping::Stepping;

/// Beats played in one go.
const BEATS: usize = 32;

fn with(changes: &[(&str, f64)]) -> Values {
    let mut values = values();
    for (path, edge) in changes {
        for id in ParamId::from_path(path).expect("a path of the table") {
            values.set(id, id.param().unit.to_si(*edge));
        }
    }
    values
}

fn movements() -> Vec<(&'static str, Values, Dynamics)> {
    let round = [
        ("wheel.toe_round_mm", 0.002),
        ("wheel.heel_round_mm", 0.002),
        ("pallets.locking_corner_round_mm", 0.002),
        ("pallets.let_off_corner_round_mm", 0.002),
    ];
    let mut heavy = dynamics();
    heavy.balance.cubic_n_m_per_rad3 = 1e-3 * heavy.balance.stiffness_n_m_per_rad;
    heavy.balance.heavy_spot_n_m = 2e-9;
    vec![
        ("handbook", values(), dynamics()),
        ("rounded", with(&round), dynamics()),
        ("domed", with(&[("pallets.impulse_dome_mm", 0.004)]), dynamics()),
        ("handbook, heavy spot and cubic spring", values(), heavy),
    ]
}

/// Times as fast as the watch, the best of several tries.
fn speed_ratio(machine: &Machine) -> f64 {
    let Ok(steady) = machine.steady(Options::default()) else { return f64::NAN };
    let mut best = 0.0_f64;
    for _ in 0..200 {
        let begun = Instant::now();
        let motion = black_box(machine.play(black_box(&steady.state), BEATS, Options::default()));
        best = best.max(motion.state.t_s / begun.elapsed().as_secs_f64());
    }
    best
}

/// Step of the rigid time-stepping that speeds are compared with, and beats that it plays.
const STEP_S: f64 = 20e-6;
const STEPPED_BEATS: usize = 20;

/// How many times faster than rigid time-stepping of the same model it is, and by how much amplitudes then differ, deg.
fn against_stepping(
    parts: &parts::Parts,
    machine: &Machine,
    dynamics: Dynamics,
    speed_ratio: f64,
) -> Option<(f64, f64)> {
    let steady = machine.steady(Options::default()).ok()?;
    let mut best = 0.0_f64;
    let mut off_deg = f64::NAN;
    for _ in 0..3 {
        let mut stepping = Stepping::new(parts, dynamics, &steady.state);
        let begun = Instant::now();
        let amplitudes = stepping.play(STEPPED_BEATS, STEP_S);
        best = best.max(stepping.t_s() / begun.elapsed().as_secs_f64());
        let last = 0.5 * amplitudes.iter().rev().take(2).map(|a| a.abs()).sum::<f64>();
        off_deg = (last - steady.amplitude_rad()).to_degrees();
    }
    Some((speed_ratio / best, off_deg))
}

fn benches(c: &mut Criterion) {
    for (name, values, dynamics) in movements() {
        let parts = parts::build(&values).expect("sound").parts;
        let action = action::solve(&parts, &mut action::Scratch::default());
        let prepared = || Machine::new(black_box(&parts), &action, dynamics).expect("sound");
        let machine = prepared();
        let ratio = speed_ratio(&machine);
        println!("{name}: {ratio:.0} times as fast as the watch");
        // The time-stepping knows a plain balance only.
        if dynamics.balance.heavy_spot_n_m == 0.0
            && let Some((times, off_deg)) = against_stepping(&parts, &machine, dynamics, ratio)
        {
            println!(
                "{name}: {times:.0} times as fast as time-stepping, which is {off_deg:+.2} deg off after {STEPPED_BEATS} beats"
            );
        }
        let from = machine.locked(Pallet::Entry, 4.9).expect("it locks");
        let mut group = c.benchmark_group(name);
        group.bench_function("beats", |b| b.iter(|| machine.play(black_box(&from), BEATS, Options::default())));
        group.bench_function("prepare", |b| b.iter(prepared));
        group.bench_function("steady", |b| b.iter(|| prepared().steady(Options::default())));
        group.finish();
    }
}

criterion_group!(all, benches);
criterion_main!(all);
