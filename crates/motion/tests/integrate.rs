//! The integrator against exact solutions and a published orbit.
#![allow(clippy::unwrap_used)]

use motion::Error;
use motion::integrate::{Integrator, leap};

/// `y' = -2 t y^2`, `y(0) = 1`: the curve 1 / (1 + t^2), which no method has exactly.
fn curve(t: f64) -> f64 {
    1.0 / (1.0 + t * t)
}

fn slope(t: f64, y: &[f64; 1]) -> [f64; 1] {
    [-2.0 * t * y[0] * y[0]]
}

fn order(coarse: f64, fine: f64) -> f64 {
    (coarse.abs() / fine.abs()).log2()
}

/// The weights integrate powers of the time up to the seventh exactly, the eighth not: the method is of order 8.
#[test]
fn powers_of_the_time() {
    for power in 0..=8 {
        let step = leap(&mut |t: f64, _: &[f64; 1]| [t.powi(power)], 0.0, &[0.0], 1.0);
        let error = step.to[0] - 1.0 / f64::from(power + 1);
        assert_eq!(error.abs() < 1e-14, power < 8, "t^{power}: {error:e}");
    }
}

/// Halving the step divides the error over an interval by 2^8.
#[test]
fn error_falls_with_the_eighth_power() {
    let error = |count: u32| {
        let duration_s = 4.0 / f64::from(count);
        let mut y = [curve(-2.0)];
        for i in 0..count {
            y = leap(&mut slope, -2.0 + f64::from(i) * duration_s, &y, duration_s).to;
        }
        y[0] - curve(2.0)
    };
    let orders: Vec<f64> = [16, 32].map(|n| order(error(n), error(2 * n))).to_vec();
    assert!(orders.iter().all(|o| (7.5..9.0).contains(o)), "{orders:?}");
}

/// The continuous extension is of order 7: the error inside one step falls with the eighth power of its duration. It
/// joins the ends in state and slope.
#[test]
fn dense_falls_with_the_eighth_power_and_joins() {
    let from_s = 0.3;
    let error = |duration_s: f64| {
        let dense = leap(&mut slope, from_s, &[curve(from_s)], duration_s).dense(&mut slope);
        let instants = (1..50).map(|i| from_s + f64::from(i) / 50.0 * duration_s);
        instants.map(|t| (dense.at(t)[0] - curve(t)).abs()).fold(0.0, f64::max)
    };
    let errors = [0.4, 0.2, 0.1].map(error);
    let orders = [order(errors[0], errors[1]), order(errors[1], errors[2])];
    assert!(orders.iter().all(|o| (7.5..9.5).contains(o)), "{errors:?} {orders:?}");
    let step = leap(&mut slope, from_s, &[curve(from_s)], 0.1);
    let dense = step.dense(&mut slope);
    assert_eq!(dense.at(from_s), step.from);
    assert!((dense.at(from_s + 0.1)[0] - step.to[0]).abs() < 1e-16);
    let end_s = from_s + 0.1;
    for (t, toward_s) in [(from_s, 1e-6), (end_s, -1e-6)] {
        let found = (dense.at(t + toward_s)[0] - dense.at(t)[0]) / toward_s;
        assert!((found - slope(t, &[curve(t)])[0]).abs() < 1e-5, "{t} {found}");
    }
}

/// A root is found to the accuracy of the extension, and none where there is none.
#[test]
fn roots_within_a_step() {
    let dense = leap(&mut slope, 0.3, &[curve(0.3)], 0.1).dense(&mut slope);
    let root_s = dense.root_s(|y| y[0] - curve(0.37)).unwrap();
    assert!((root_s - 0.37).abs() < 1e-11, "{root_s}");
    // A function that bends sharply, for which one end would stay.
    let root_s = dense.root_s(|y| (y[0] - curve(0.37)).powi(7)).unwrap();
    assert!((root_s - 0.37).abs() < 1e-4, "{root_s}");
    assert_eq!(dense.root_s(|y| y[0] + 1.0), None);
}

/// Error over a fixed time follows the tolerance.
#[test]
fn steps_keep_the_tolerance() {
    let mut last = f64::INFINITY;
    for tolerance_ratio in [1e-6, 1e-8, 1e-10, 1e-12] {
        let mut integrator = Integrator::new(tolerance_ratio, [1.0], 1e-3, 1.0);
        let (mut t, mut y) = (-2.0, [curve(-2.0)]);
        while t < 2.0 {
            let step = integrator.step(&mut slope, t, &y).unwrap();
            (t, y) = (t + step.duration_s, step.to);
        }
        let error = (y[0] - curve(t)).abs();
        assert!(error < 10.0 * tolerance_ratio && error < last, "{tolerance_ratio:e}: {error:e}");
        assert!(integrator.work.step_count < 60, "{:?}", integrator.work);
        last = error;
    }
}

/// A body between earth and moon whose orbit closes. Starting values and period as printed: E. Hairer, S. P. Nørsett,
/// G. Wanner, Solving Ordinary Differential Equations I, 2nd ed. 1993, II.0, (0.1) and (0.2).
#[test]
fn published_orbit_closes() {
    const PERIOD_S: f64 = 17.065_216_560_157_96;
    let from = [0.994, 0.0, 0.0, -2.001_585_106_379_082_5];
    let mut slope = |_: f64, y: &[f64; 4]| {
        let moon = 0.012_277_471;
        let earth = 1.0 - moon;
        let d1 = ((y[0] + moon).powi(2) + y[1] * y[1]).powf(1.5);
        let d2 = ((y[0] - earth).powi(2) + y[1] * y[1]).powf(1.5);
        let ax = y[0] + 2.0 * y[3] - earth * (y[0] + moon) / d1 - moon * (y[0] - earth) / d2;
        [y[2], y[3], ax, y[1] - 2.0 * y[2] - earth * y[1] / d1 - moon * y[1] / d2]
    };
    let mut integrator = Integrator::new(1e-13, [1.0; 4], 1e-3, 1.0);
    let (mut t, mut y) = (0.0, from);
    loop {
        let step = integrator.step(&mut slope, t, &y).unwrap();
        if t + step.duration_s >= PERIOD_S {
            y = leap(&mut slope, t, &y, PERIOD_S - t).to;
            break;
        }
        (t, y) = (t + step.duration_s, step.to);
    }
    // Errors grow a millionfold on the way round.
    let miss = (y[0] - from[0]).hypot(y[1] - from[1]);
    assert!(miss < 1e-6, "{miss:e} {:?}", integrator.work);
    assert!(integrator.work.step_count < 500, "{:?}", integrator.work);
}

/// A slope that is no number, and a jump, end in an error with its place, not in a wrong state.
#[test]
fn what_cannot_be_followed_is_an_error() {
    let mut integrator = Integrator::new(1e-12, [1.0], 0.1, 0.1);
    let fault = integrator.step(&mut |_: f64, _: &[f64; 1]| [f64::NAN], 2.0, &[0.0]).unwrap_err();
    assert!(matches!(fault, Error::Step { time_s: 2.0, .. }), "{fault}");
    assert!(fault.to_string().starts_with("could not integrate: step = "), "{fault}");
}
