//! Times build and solve; for looking at while developing.
use movement::*;
use std::time::Instant;
fn main() {
    let mut v = Values::default();
    v.set(ParamKind::WheelToothCount.once(), 15.0);
    v.set(ParamKind::WheelLockingRadius.once(), 2.5e-3);
    let n = 5000;
    let t = Instant::now();
    for _ in 0..n { std::hint::black_box(parts::build(&v).unwrap()); }
    println!("build {:.1} us", t.elapsed().as_secs_f64() * 1e6 / n as f64);
    let b = parts::build(&v).unwrap();
    let mut s = action::Scratch::default();
    let t = Instant::now();
    for _ in 0..n { std::hint::black_box(action::solve(&b.parts, &mut s)); }
    println!("solve {:.1} us", t.elapsed().as_secs_f64() * 1e6 / n as f64);
}
