//! Worked values of the formulas, each with where it is from.

use beat::{
    Beat, BeatTrain, Error, Figures, Listening, Shock, Side, Timed, amplitude_rad, beat_angle_rad, figures, lift_rad,
};
use proptest::prelude::*;

const DAY_S: f64 = 86_400.0;

/// A train of `count` beats of `beat_s`, the beats from A to B longer by `error_s` and those from B to A shorter.
fn train(count: u64, beat_s: f64, error_s: f64, drop_s: f64, sigma_s: f64) -> BeatTrain {
    let beat = |number: u64| {
        let side = Side::of(number);
        let late_s = if side == Side::B { error_s } else { 0.0 };
        let t_s = number as f64 * beat_s + late_s;
        Beat::new(number, side)
            .with(Shock::Unlocking, Some(Timed { t_s, sigma_s }))
            .with(Shock::Drop, Some(Timed { t_s: t_s + drop_s, sigma_s }))
    };
    BeatTrain { beats: (0..count).map(beat).collect(), entry: None }
}

fn of(train: &BeatTrain, listening: &Listening) -> Figures {
    figures(train, listening).unwrap_or_else(|e| panic!("{e}"))
}

/// A = lift / (2 sin(pi t/T)), common practice in its straight form 3600 lift/(pi n t), derived; the values by a script of
/// its own, printed to 0.1 deg and 0.01 ms.
#[test]
fn amplitude_by_the_sound() {
    for (beats_per_hour, between_ms, deg) in [
        (28_800.0, 7.675, 270.0),
        (18_000.0, 12.280, 270.0),
        (28_800.0, 13.86, 150.0),
        (28_800.0, 10.37, 200.0),
        (28_800.0, 8.29, 250.0),
        (28_800.0, 6.91, 300.0),
        (18_000.0, 22.18, 150.0),
        (18_000.0, 16.60, 200.0),
        (18_000.0, 13.27, 250.0),
        (18_000.0, 11.05, 300.0),
    ] {
        let found = amplitude_rad(52_f64.to_radians(), 1e-3 * between_ms, 7200.0 / beats_per_hour).to_degrees();
        // Half a digit of the time.
        assert!((found - deg).abs() < 0.005 / between_ms * deg, "{found} deg, printed {deg}");
        let train = train(40, 3600.0 / beats_per_hour, 0.0, 1e-3 * between_ms, 0.0);
        let listening = Listening::new(3600.0 / beats_per_hour).lift(52_f64.to_radians(), Shock::Drop);
        let heard = of(&train, &listening).amplitude_rad.expect("both shocks").value_si.to_degrees();
        assert!((heard - found).abs() < 1e-9, "{heard} {found}");
    }
    // The straight form reads low by A x2/6, x = lift/(2 A): 0.42 deg at 270, 0.63 at 180, 0.95 at 120; derived.
    for (deg, low) in [(270.0_f64, 0.42), (180.0, 0.63), (120.0, 0.95)] {
        let lift = 52_f64.to_radians();
        let (period_s, amplitude) = (0.25, deg.to_radians());
        let between_s = period_s / std::f64::consts::PI * (0.5 * lift / amplitude).asin();
        let straight = lift * period_s / (2.0 * std::f64::consts::PI * between_s);
        let exact = amplitude_rad(lift, between_s, period_s);
        assert!(((exact - straight).to_degrees() - low).abs() < 0.02, "{} {low}", (exact - straight).to_degrees());
    }
}

/// A sine passes two angles a and b on both sides of its middle in T/(2 pi) (asin(a/A) + asin(b/A)). Alike, they add up to
/// the lift to rounding; unlike, the lift is A (sin x + sin y) / cos((x - y)/2), x and y the phases. Derived in
/// docs/theory/beats.md, B4.
#[test]
fn the_effective_lift_of_a_sine_is_the_sum_of_its_angles() {
    for (amplitude_deg, before_deg, after_deg) in [
        (270.0_f64, 26.0_f64, 26.0_f64),
        (120.0, 26.0, 26.0),
        (270.0, 20.0, 36.0),
        (150.0, 15.0, 40.0),
        (60.0, 50.0, 50.0),
    ] {
        let [amplitude, before, after] = [amplitude_deg, before_deg, after_deg].map(f64::to_radians);
        let [x, y] = [before, after].map(|angle| (angle / amplitude).asin());
        let period_s = 0.4;
        let between_s = period_s / std::f64::consts::TAU * (x + y);
        let found = lift_rad(amplitude, between_s, period_s);
        let expect = (before + after) / (0.5 * (x - y)).cos();
        assert!((found / expect - 1.0).abs() < 1e-14, "{found} {expect} rad");
        // At 150 deg, 15 and 40 deg from the middle: 0.4 % more than their sum.
        assert!((found / (before + after) - 1.0).abs() < 4e-3, "{found} {before} {after} rad");
        assert!((amplitude_rad(found, between_s, period_s) / amplitude - 1.0).abs() < 1e-14);
    }
}

/// Errors at 270 deg with a lift of 52: 1 deg of lift 5.19 deg, 0.1 ms 2.19 deg at 18,000 and 3.51 at 28,800 beats an hour;
/// the banking taken for the drop, 1 ms late, 250 and 239 deg. Derived, by a script of its own.
#[test]
fn what_errors_of_hearing_make() {
    let read = |lift_deg: f64, between_ms: f64, n: f64| {
        amplitude_rad(lift_deg.to_radians(), 1e-3 * between_ms, 7200.0 / n).to_degrees()
    };
    assert!((read(53.0, 7.675, 28_800.0) - read(52.0, 7.675, 28_800.0) - 5.19).abs() < 0.01);
    assert!((read(52.0, 12.380, 18_000.0) - read(52.0, 12.280, 18_000.0) + 2.19).abs() < 0.02);
    assert!((read(52.0, 7.775, 28_800.0) - read(52.0, 7.675, 28_800.0) + 3.51).abs() < 0.05);
    assert!((read(52.0, 13.280, 18_000.0) - 250.0).abs() < 0.5 && (read(52.0, 8.675, 28_800.0) - 239.0).abs() < 0.5);
}

/// E = T/pi asin(d/A), so d = A sin(pi E/T): 1.20 ms and 0.85 ms at 28,800 beats an hour and 270 deg are 4.07 and 2.88 deg.
/// Taken from the first shock the error is larger by 1/sqrt(1 - (lift/2A)2): 0.5 % at 270 deg, 2 % at 130. Derived, by a
/// script of its own.
#[test]
fn angle_out_of_beat() {
    let amplitude = 270_f64.to_radians();
    for (error_ms, deg) in [(1.20, 4.07), (0.85, 2.88)] {
        let found = beat_angle_rad(1e-3 * error_ms, amplitude, 0.0, 0.25).to_degrees();
        assert!((found - deg).abs() < 0.005, "{found} deg, printed {deg}");
    }
    for (deg, percent, half_digit) in [(270.0_f64, 0.5, 0.05), (130.0, 2.0, 0.5)] {
        let swing = deg.to_radians();
        let plain = beat_angle_rad(1e-4, swing, 0.0, 0.25);
        let first = beat_angle_rad(1e-4, swing, 52_f64.to_radians(), 0.25);
        let found = 100.0 * (plain / first - 1.0);
        assert!((found - percent).abs() < half_digit, "{found} %, printed {percent}");
    }
}

/// One s/d is 11.574 ppm; standard error of the rate 86,400 s/tau sqrt(12/(N(N2 - 1))): 0.167 s/d for 50 us over 10 s at
/// 28,800 beats an hour, 0.032 over 30 s; of the beat error 2 s/sqrt(N): 6.5 us of 240. Standard formulas of least squares,
/// the first held against random trials (0.174).
#[test]
fn rate_and_beat_error_with_their_standard_errors() {
    for (count, per_day) in [(80, 0.167), (240, 0.032)] {
        let found = of(&train(count, 0.125 / (1.0 + 11.574e-6), 0.3e-3, 7e-3, 50e-6), &Listening::new(0.125));
        assert!((DAY_S * found.rate_ratio.value_si - 1.0).abs() < 1e-4, "{found:?}");
        assert!((DAY_S * found.rate_ratio.sigma_si - per_day).abs() < 6e-4, "{}", DAY_S * found.rate_ratio.sigma_si);
        assert!((found.beat_error_s.value_si - 0.3e-3).abs() < 1e-12, "{found:?}");
        if count == 240 {
            assert!((found.beat_error_s.sigma_si - 6.5e-6).abs() < 0.06e-6, "{}", found.beat_error_s.sigma_si);
        }
    }
    let against = of(&train(80, 0.125, 0.0, 7e-3, 0.0), &Listening::new(0.125).free(0.1251));
    let free = against.rate_against_free_ratio.expect("a free beat is given").value_si;
    assert!((free - (0.1251 / 0.125 - 1.0)).abs() < 1e-12 && against.rate_ratio.value_si.abs() < 1e-12);
}

/// sd(A) = A sqrt(s1^2 + s3^2)/(t sqrt N): 7.1 deg for one beat, 0.8 deg for 80 (200 us, 30 us, 28,800 beats an hour, 270
/// deg). Derived.
#[test]
fn standard_error_of_the_amplitude() {
    for (count, deg) in [(4_u64, 7.1 / 2.0), (80, 0.8)] {
        let mut train = train(count, 0.125, 0.0, 7.675e-3, 200e-6);
        for beat in &mut train.beats {
            let drop = beat.at(Shock::Drop).map(|at| Timed { sigma_s: 30e-6, ..at });
            *beat = beat.with(Shock::Drop, drop);
        }
        let listening = Listening::new(0.125).lift(52_f64.to_radians(), Shock::Drop);
        let sigma = of(&train, &listening).amplitude_rad.expect("both shocks").sigma_si.to_degrees();
        assert!((sigma - deg).abs() < 0.05, "{sigma} deg, printed {deg}");
    }
}

/// The exact crossings of a sine out of beat by d, taken at the first shocks, give d back: closed form.
#[test]
fn a_sine_out_of_beat_gives_its_angle_back() {
    let (amplitude, lift, period_s) = (250_f64.to_radians(), 52_f64.to_radians(), 0.4);
    for deg in [-20.0_f64, -3.0, 0.0, 1.0, 15.0] {
        let d = deg.to_radians();
        let omega = 2.0 * std::f64::consts::PI / period_s;
        let (up, down) = (((0.5 * lift + d) / amplitude).acos() / omega, ((0.5 * lift - d) / amplitude).acos() / omega);
        let mut train = BeatTrain { beats: Vec::new(), entry: Some(Side::A) };
        for number in 0..6_u64 {
            let half_s = number as f64 * 0.5 * period_s;
            let t_s = half_s + if Side::of(number) == Side::A { up } else { down };
            train.beats.push(Beat {
                amplitude_rad: Some(amplitude),
                ..Beat::new(number, Side::of(number)).with(Shock::Unlocking, Some(Timed { t_s, sigma_s: 0.0 }))
            });
        }
        let listening = Listening::new(0.5 * period_s).lift(lift, Shock::Drop);
        let found = of(&train, &listening).beat_angle_rad.expect("the amplitude is known").to_degrees();
        assert!((found - deg).abs() < 1e-9, "{found} deg, {deg}");
        let turned = BeatTrain { entry: Some(Side::B), ..train };
        let found = of(&turned, &listening).beat_angle_rad.expect("the amplitude is known").to_degrees();
        assert!((found + deg).abs() < 1e-9, "{found} deg, {deg}");
    }
}

#[test]
fn what_is_no_train_is_refused_and_what_is_not_heard_is_left_out() {
    let good = train(10, 0.125, 0.0, 7e-3, 0.0);
    let listening = Listening::new(0.125).lift(0.9, Shock::Drop);
    for count in [0, 1, 2] {
        let few = BeatTrain { beats: good.beats[..count].to_vec(), entry: None };
        assert!(matches!(figures(&few, &listening), Err(Error::TooFew { .. })), "{count}");
    }
    let one_side = BeatTrain { beats: good.beats.iter().step_by(2).copied().collect(), entry: None };
    assert_eq!(figures(&one_side, &listening), Err(Error::TooFew { counts: [5, 0] }));
    let mut swapped = good.clone();
    swapped.beats.swap(2, 4);
    assert_eq!(figures(&swapped, &listening), Err(Error::Order { number: 3 }));
    let told = figures(&good, &Listening::new(0.0)).expect_err("no beat").to_string();
    assert_eq!(told, "could not make figures: nominal beat = 0e0 s, needs more than 0");
    let mut gap = train(40, 0.125, 0.2e-3, 7e-3, 0.0);
    gap.beats.drain(7..20);
    let found = of(&gap, &listening);
    assert!(
        (found.beat_s.value_si - 0.125).abs() < 1e-12 && (found.beat_error_s.value_si - 0.2e-3).abs() < 1e-12,
        "{found:?}"
    );
    let mut unheard = good;
    unheard.beats.iter_mut().for_each(|b| *b = b.with(Shock::Drop, None));
    assert_eq!(of(&unheard, &listening).amplitude_rad, None);
}

proptest! {
    /// A train that is late, or begins with another number, has the same figures; one that is twice as slow has them twice.
    #[test]
    fn lateness_changes_nothing_and_slowness_all(
        late_s in -1e3..1e3_f64, ahead in 0..1000_u64, error_s in -2e-3..2e-3_f64, drop_s in 5e-3..20e-3_f64,
    ) {
        let first = train(30, 0.125, error_s, drop_s, 20e-6);
        let listening = Listening::new(0.125).lift(0.9, Shock::Drop);
        let before = of(&first, &listening);
        let mut late = first.clone();
        for beat in &mut late.beats {
            beat.number += 2 * ahead;
            beat.shocks = beat.shocks.map(|at| at.map(|at| Timed { t_s: at.t_s + late_s, ..at }));
        }
        let after = of(&late, &listening);
        prop_assert!((before.beat_s.value_si - after.beat_s.value_si).abs() < 1e-12);
        prop_assert!((before.beat_error_s.value_si - after.beat_error_s.value_si).abs() < 1e-11);
        let (a, b) = (before.amplitude_rad.expect("heard"), after.amplitude_rad.expect("heard"));
        prop_assert!((a.value_si - b.value_si).abs() < 1e-8);
        let mut slow = first;
        for beat in &mut slow.beats {
            beat.shocks = beat.shocks.map(|at| at.map(|at| Timed { t_s: 2.0 * at.t_s, sigma_s: 2.0 * at.sigma_s }));
        }
        let slow = of(&slow, &Listening::new(0.25).lift(0.9, Shock::Drop));
        prop_assert!((slow.rate_ratio.value_si - before.rate_ratio.value_si).abs() < 1e-12);
        prop_assert!((slow.beat_error_s.value_si - 2.0 * before.beat_error_s.value_si).abs() < 1e-12);
        prop_assert!((slow.amplitude_rad.expect("heard").value_si - a.value_si).abs() < 1e-9);
    }
}
