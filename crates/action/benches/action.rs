//! Building and solving one movement, on one core: `cargo bench -p action`.
//!
//! Asked for: parts and full action of one movement within 100 us. The movements are invented.

use action::{Scratch, solve};
use criterion::{Criterion, criterion_group, criterion_main};
use movement::{ParamId, Values};
use std::hint::black_box;

fn stated(changes: &[(&str, f64)]) -> Values {
    let mut values = Values::default();
    let base = [("wheel.tooth_count", 15.0), ("wheel.locking_radius_mm", 2.5)];
    for (path, edge) in base.iter().chain(changes) {
        for id in ParamId::from_path(path).expect("a path of the table") {
            values.set(id, id.param().unit.to_si(*edge));
        }
    }
    values
}

fn benches(c: &mut Criterion) {
    let rounded = [
        ("wheel.toe_round_mm", 0.002),
        ("wheel.heel_round_mm", 0.002),
        ("pallets.locking_corner_round_mm", 0.002),
        ("pallets.let_off_corner_round_mm", 0.002),
        ("pallets.drop_deg", 1.6),
    ];
    let full = [&rounded[..], &[("pallets.placing_ratio", 0.5), ("pallets.impulse_dome_mm", 0.004)]].concat();
    let movements = [
        ("equidistant", stated(&[])),
        ("circular", stated(&[("pallets.placing_ratio", 0.5)])),
        ("domed", stated(&[("pallets.impulse_dome_mm", 0.004)])),
        ("rounded, by drop", stated(&rounded)),
        ("circular, domed, rounded, by drop", stated(&full)),
    ];
    for (name, values) in &movements {
        let mut scratch = Scratch::default();
        let parts = parts::build(values).expect("sound").parts;
        c.bench_function(&format!("{name}: build"), |b| b.iter(|| parts::build(black_box(values))));
        c.bench_function(&format!("{name}: solve"), |b| b.iter(|| solve(black_box(&parts), &mut scratch)));
        c.bench_function(&format!("{name}: build and solve"), |b| {
            b.iter(|| {
                let build = parts::build(black_box(values)).expect("sound");
                solve(&build.parts, &mut scratch)
            });
        });
    }
}

criterion_group!(all, benches);
criterion_main!(all);
