//! Motion on one core: `cargo bench -p motion`.
//!
//! Asked for at 28,800 beats an hour, ledger and all events on: 15,000 times as fast as the watch, and a steady motion from
//! parts in 60 us. The movements are invented but for the first, which is the handbook's of 1904.

#[path = "../tests/support/machine.rs"]
mod machine;

use criterion::{Criterion, criterion_group, criterion_main};
use machine::{dynamics, values};
use motion::{Dynamics, Machine, Options};
use movement::{Pallet, ParamId, Values};
use std::hint::black_box;
use std::time::Instant;

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

fn benches(c: &mut Criterion) {
    for (name, values, dynamics) in movements() {
        let parts = parts::build(&values).expect("sound").parts;
        let action = action::solve(&parts, &mut action::Scratch::default());
        let prepared = || Machine::new(black_box(&parts), &action, dynamics).expect("sound");
        let machine = prepared();
        println!("{name}: {:.0} times as fast as the watch", speed_ratio(&machine));
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
