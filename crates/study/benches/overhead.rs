//! What the executor costs: 10,000 trials of about 50 us each, in a plain loop and as a study.

use std::hint::black_box;
use std::num::NonZeroUsize;

use criterion::{Criterion, criterion_group, criterion_main};
use study::{Seed, Study, Trial};

const TRIALS: usize = 10_000;

/// Takes about 50 us.
fn work(trial: Trial) -> f64 {
    (0..5_200).fold(trial.seed.0 as f64, |value, _| black_box((value * 0.5 + 1.0).sqrt()))
}

fn overhead(bench: &mut Criterion) {
    let mut group = bench.benchmark_group("10,000 trials of 50 us");
    group.sample_size(10);
    group.bench_function("plain loop", |bench| {
        bench.iter(|| {
            (0..TRIALS).map(|index| work(Trial { index, seed: Seed(1).of_trial(index) })).collect::<Vec<f64>>()
        });
    });
    for threads in [1, 2] {
        let study = Study { seed: Seed(1), threads: NonZeroUsize::new(threads), ..Study::default() };
        group.bench_function(format!("study, {threads} threads"), |bench| {
            bench.iter(|| study.execute(TRIALS, || (), |trial, ()| work(trial)));
        });
    }
    group.finish();
    bench.bench_function("10,000 empty trials, 1 thread", |bench| {
        let study = Study { threads: NonZeroUsize::new(1), ..Study::default() };
        bench.iter(|| study.execute(TRIALS, || (), |trial, ()| trial.index));
    });
}

criterion_group!(benches, overhead);
criterion_main!(benches);
