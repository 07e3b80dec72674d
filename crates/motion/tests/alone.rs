//! The balance under a prescribed torque against check values that stand outside this program
//! (`published/alone_*.toml`, each with its source), by two routes, and in what holds for every balance.
//!
//! `TOLERANCE_SCALE` multiplies every tolerance of the check values; `TOLERANCE_SCALE=0` lists every raw residual.
#![allow(clippy::unwrap_used)]

#[path = "../../plane/tests/support/cases.rs"]
mod cases;
#[path = "support/alone.rs"]
mod published;

use cases::cases;
use libm::j1;
use motion::alone::{Alone, HalfSwing, Outcome, Prescribed, TorqueSpan, rate_ratio};
use motion::{Balance, BalanceState, IndexPins};
use proptest::prelude::*;
use published::{compare, free_period_s, heavy_spot_from_rates_n_m, read_all};
use std::collections::{BTreeMap, BTreeSet};
use std::f64::consts::PI;
use std::path::Path;

fn at(angle_rad: f64, speed_rad_per_s: f64) -> BalanceState {
    BalanceState { angle_rad, speed_rad_per_s }
}

fn span(from_deg: f64, to_deg: f64, torque_n_m: f64) -> TorqueSpan {
    TorqueSpan { from_rad: from_deg.to_radians(), to_rad: to_deg.to_radians(), torque_n_m }
}

#[test]
fn every_published_value_holds() {
    let tolerance_scale = std::env::var("TOLERANCE_SCALE").map_or(1.0, |s| s.parse().unwrap());
    let directory = Path::new(env!("CARGO_MANIFEST_DIR")).join("published");
    let files = read_all(&directory);
    assert!(!files.is_empty(), "no check values in {}", directory.display());
    let (mut compared, mut written) = (0, 0);
    let mut failures = Vec::new();
    let mut by_status: BTreeMap<_, usize> = BTreeMap::new();
    for (path, file) in &files {
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        assert!(!file.source.trim().is_empty() && !file.check.is_empty(), "{name} names no source or has no entry");
        let mut used = BTreeSet::new();
        for (place, check) in file.check.iter().enumerate() {
            written += check.expect.len().max(1);
            used.insert(check.given.as_str());
            let about =
                format!("{name}, entry {}, {} ({}; {:?})", place + 1, check.quantity, check.place, check.status);
            let given = file.given.get(&check.given).ok_or(format!("no balance is given as {:?}", check.given));
            match given.and_then(|given| compare(check, given, tolerance_scale)) {
                Err(fault) => failures.push(format!("{about}: not compared: {fault}")),
                Ok(residuals) => {
                    compared += residuals.len();
                    *by_status.entry(check.status).or_default() += residuals.len();
                    let differs = check.differs.as_deref().map_or(String::new(), |d| format!(" [differs: {d}]"));
                    let failed = residuals.iter().filter(|r| !r.holds);
                    failures.extend(failed.map(|r| format!("{about}: {}{differs}", r.text)));
                }
            }
        }
        let unused = file.given.keys().filter(|given| !used.contains(given.as_str()));
        failures.extend(unused.map(|given| format!("{name}: {given} is given and not used")));
    }
    println!("{compared} of {written} values compared: {by_status:?}");
    assert!(failures.is_empty(), "{} of {written} values fail\n{}", failures.len(), failures.join("\n"));
    assert_eq!(compared, written, "entries that were not compared");
}

/// Balances with every term, and a torque by angles that drives and resists.
fn driven() -> impl Strategy<Value = (Balance, Prescribed)> {
    let span =
        (-40.0..20.0f64, 2.0..40.0f64, -0.5e-7..2e-7f64).prop_map(|(from, by, torque)| span(from, from + by, torque));
    let index = proptest::option::of(
        (0.0..0.8f64, 0.97..1.0f64)
            .prop_map(|(free_rad, free_stiffness_ratio)| IndexPins { free_rad, free_stiffness_ratio }),
    );
    let losses = (80.0..400.0f64, 0.0..1.0f64);
    (losses, index, proptest::collection::vec(span.clone(), 0..4), proptest::collection::vec(span, 0..4)).prop_map(
        |((quality_ratio, viscous_share_ratio), index, rising, falling)| {
            let balance = Balance { index, ..Balance::tuned(1.0e-9, 28_800.0) };
            let falling = Prescribed::mirrored(falling).falling;
            (balance.with_losses(quality_ratio, 4.5, viscous_share_ratio), Prescribed { rising, falling })
        },
    )
}

/// The same with what has no closed form.
fn bent() -> impl Strategy<Value = (Balance, Prescribed)> {
    (driven(), -1e-3..1e-3f64, 0.0..2e-3f64, -PI..PI).prop_map(
        |((balance, prescribed), cubic, spot, heavy_spot_rad)| {
            let k = balance.stiffness_n_m_per_rad;
            (Balance { cubic_n_m_per_rad3: cubic * k, heavy_spot_n_m: spot * k, heavy_spot_rad, ..balance }, prescribed)
        },
    )
}

fn mirrored(prescribed: &Prescribed) -> Prescribed {
    let Prescribed { rising, falling } = prescribed.clone();
    Prescribed { rising: Prescribed::mirrored(falling).falling, falling: Prescribed::mirrored(rising).falling }
}

/// What the ledger of half swings leaves open, over the energy at the start.
fn missing_ratio(balance: &Balance, from: BalanceState, half_swings: &[HalfSwing]) -> f64 {
    let mut before_j = balance.energy_j(from);
    let mut most = 0.0f64;
    for h in half_swings {
        let after_j = balance.energy_j(at(h.turning_rad, 0.0));
        assert!(h.driven_j >= 0.0 && h.resisted_j >= 0.0 && h.viscous_j >= 0.0 && h.dry_j >= 0.0, "{h:?}");
        most = most.max((after_j - before_j - h.driven_j + h.resisted_j + h.viscous_j + h.dry_j).abs());
        before_j = after_j;
    }
    most / balance.energy_j(from)
}

proptest! {
    #![proptest_config(cases(200))]

    /// Two routes to the same half swings, to 1e-10; and the ledger of each closes to 1e-12, its entries each on their own.
    #[test]
    fn closed_form_and_integration_agree((balance, prescribed) in driven(), angle in 3.0..5.5f64, speed in -40.0..40.0f64) {
        let from = at(angle, speed);
        let closed = Alone::new(balance, &prescribed).unwrap().swings(from, 6).unwrap();
        let integrated = Alone::integrated(balance, &prescribed, 1e-14).unwrap().swings(from, 6).unwrap();
        prop_assert_eq!(closed.half_swings.len(), 6);
        prop_assert_eq!(integrated.half_swings.len(), 6);
        for (a, b) in closed.half_swings.iter().zip(&integrated.half_swings) {
            prop_assert!((a.turning_rad - b.turning_rad).abs() < 1e-10, "{a:?} {b:?}");
            prop_assert!((a.time_s - b.time_s).abs() < 1e-10 * a.time_s, "{a:?} {b:?}");
            let stored_j = balance.spring_energy_j(angle);
            prop_assert!((a.viscous_j - b.viscous_j).abs() < 1e-10 * stored_j, "{a:?} {b:?}");
        }
        prop_assert!(missing_ratio(&balance, from, &closed.half_swings) < 1e-12);
        prop_assert!(missing_ratio(&balance, from, &integrated.half_swings) < 1e-12);
    }

    /// With a heavy point and a bent spring the ledger closes as well, and a mirrored balance, start and torque give the
    /// mirrored motion to the bit.
    #[test]
    fn the_ledger_closes_and_mirrors((balance, prescribed) in bent(), angle in 3.0..5.5f64, speed in -40.0..40.0f64) {
        let alone = |balance, prescribed: &Prescribed| Alone::new(balance, prescribed).unwrap();
        let swings = alone(balance, &prescribed).swings(at(angle, speed), 4).unwrap();
        prop_assert_eq!(swings.half_swings.len(), 4);
        let missing = missing_ratio(&balance, at(angle, speed), &swings.half_swings);
        prop_assert!(missing < 1e-12, "{missing:e}");
        let turned = Balance { heavy_spot_rad: -balance.heavy_spot_rad, ..balance };
        let mirror = alone(turned, &mirrored(&prescribed)).swings(at(-angle, -speed), 4).unwrap();
        let back: Vec<_> =
            mirror.half_swings.iter().map(|h| HalfSwing { turning_rad: -h.turning_rad, ..*h }).collect();
        prop_assert_eq!(back, swings.half_swings);
    }

    /// Without friction and drive it comes back to where it was, and takes as long back as there; the instants to a few
    /// 1e-12, with which the continuous extension places them.
    #[test]
    fn without_friction_it_comes_back((balance, _) in bent(), angle in 1.0..5.5f64) {
        let free = Balance { viscous_n_m_s: 0.0, dry_n_m: 0.0, ..balance };
        let swings = Alone::new(free, &Prescribed::default()).unwrap().swings(at(angle, 0.0), 2).unwrap();
        let [there, back] = swings.half_swings[..] else { return Err(TestCaseError::fail("it stopped")) };
        prop_assert!((back.turning_rad - angle).abs() < 1e-11, "{back:?}");
        prop_assert!((back.time_s - there.time_s).abs() < 1e-11 * there.time_s, "{there:?} {back:?}");
    }

    /// The rate of a small want of poise is 86 400 J1(A)/A times its moment over the stiffness: E4 of
    /// docs/theory/oscillator.md, J1 from a library of its own.
    #[test]
    fn poise_follows_the_bessel_function(amplitude in 1.0..7.0f64) {
        let spot_ratio = 1e-5;
        let balance = Balance::tuned(1.4e-9, 21_600.0);
        let spotted = Balance { heavy_spot_n_m: spot_ratio * balance.stiffness_n_m_per_rad, ..balance };
        let rate = rate_ratio(free_period_s(&spotted, amplitude), 2.0 * PI / balance.natural_rad_per_s());
        prop_assert!((rate / spot_ratio - j1(amplitude) / amplitude).abs() < 1e-5, "{rate:e}");
    }

    /// The heavy point is found from two opposite positions: E4 turned round.
    #[test]
    fn opposite_positions_tell_the_heavy_point(amplitude in 1.0..3.0f64, spot_ratio in 1e-4..1e-3f64, heavy_spot_rad in -1.0..1.0f64) {
        let balance = Balance::tuned(1.4e-9, 21_600.0);
        let k = balance.stiffness_n_m_per_rad;
        let rate = |turned_rad: f64| {
            let heavy_spot_rad = heavy_spot_rad + turned_rad;
            let spotted = Balance { heavy_spot_n_m: spot_ratio * k, heavy_spot_rad, ..balance };
            86_400.0 * rate_ratio(free_period_s(&spotted, amplitude), 2.0 * PI / balance.natural_rad_per_s())
        };
        let found = heavy_spot_from_rates_n_m(k, amplitude, rate(0.0) - rate(PI)) / (spot_ratio * k);
        prop_assert!((found - heavy_spot_rad.cos()).abs() < 2e-3, "{found} {}", heavy_spot_rad.cos());
    }

    /// A bent spring against the exact period of `a'' + w^2 (a + e a^3) = 0`: 4 K(m) / (w sqrt(1 + e A^2)) with
    /// m = e A^2 / (2 (1 + e A^2)), the complete elliptic integral K by the arithmetic-geometric mean.
    #[test]
    fn a_bent_spring_has_the_elliptic_period(amplitude in 0.5..5.5f64, bend in -0.02..0.2f64) {
        let balance = Balance::tuned(1.4e-9, 21_600.0);
        let bent = Balance { cubic_n_m_per_rad3: bend * balance.stiffness_n_m_per_rad, ..balance };
        let stiffer = bend * amplitude * amplitude;
        let (mut a, mut g) = (1.0, (1.0 - 0.5 * stiffer / (1.0 + stiffer)).sqrt());
        for _ in 0..8 {
            (a, g) = (0.5 * (a + g), (a * g).sqrt());
        }
        let expect_s = 2.0 * PI / (a * balance.natural_rad_per_s() * (1.0 + stiffer).sqrt());
        let found_s = free_period_s(&bent, amplitude);
        prop_assert!((found_s / expect_s - 1.0).abs() < 1e-11, "{found_s} {expect_s}");
    }

    /// The steady motion repeats, is the same from wherever it is looked for, and is found in a few oscillations.
    #[test]
    fn the_steady_motion_is_one(
        quality_ratio in 60.0..400.0f64,
        viscous_share_ratio in 0.2..1.0f64,
        impulse_n_m in 0.5e-7..2.5e-7f64,
        start_ratio in 0.5..1.5f64,
    ) {
        let balance = Balance::tuned(1.0e-9, 28_800.0).with_losses(quality_ratio, 4.5, viscous_share_ratio);
        let spans = vec![span(-28.0, -18.0, -0.3 * impulse_n_m), span(-18.0, 26.0, impulse_n_m)];
        let alone = Alone::new(balance, &Prescribed::mirrored(spans)).unwrap();
        let expected_rad = alone.expected_amplitude_rad().unwrap();
        prop_assume!(expected_rad > 1.5);
        let Outcome::Steady(steady) = alone.steady(start_ratio * expected_rad, 1e-13).unwrap() else {
            return Err(TestCaseError::fail("it stopped"));
        };
        let Outcome::Steady(near) = alone.steady(expected_rad, 1e-13).unwrap() else {
            return Err(TestCaseError::fail("it stopped"));
        };
        prop_assert!((steady.amplitude_rad() - near.amplitude_rad()).abs() < 1e-10);
        prop_assert!(steady.oscillation_count <= 12, "{steady:?}");
        // The estimate of first order is out by a few parts in a hundred where the balance loses fast.
        prop_assert!((expected_rad / steady.amplitude_rad() - 1.0).abs() < 2.0 / quality_ratio, "{expected_rad} {steady:?}");
        // Alike on both sides, to what is left of settling.
        let [up, down] = steady.half_swings;
        prop_assert!((up.time_s - down.time_s).abs() < 1e-10 * up.time_s);
        let lost_j = up.viscous_j + up.dry_j + up.resisted_j;
        prop_assert!((up.driven_j - lost_j).abs() < 1e-10 * up.driven_j, "{up:?}");
    }
}

/// Waiting leads where the secant leads: the published set, 2000 half swings.
#[test]
fn waiting_leads_to_the_same_amplitude() {
    let balance = Balance {
        stiffness_n_m_per_rad: 4.97428e-7,
        viscous_n_m_s: 1e-10,
        dry_n_m: 3e-9,
        ..Balance::tuned(1.4e-9, 21_600.0)
    };
    let prescribed = Prescribed::mirrored(vec![span(-25.0, -15.0, -0.654e-7), span(-13.0, 22.0, 2.18e-7)]);
    let alone = Alone::new(balance, &prescribed).unwrap();
    let Outcome::Steady(steady) = alone.steady(4.0, 1e-13).unwrap() else { panic!("it stopped") };
    let waited = alone.swings(at(-5.5, 0.0), 2000).unwrap();
    let last = waited.half_swings.last().unwrap();
    assert!((last.turning_rad.abs() - steady.amplitude_rad()).abs() < 1e-11, "{last:?} {steady:?}");
    assert!(steady.oscillation_count <= 8, "{steady:?}");
}

/// From rest in the middle, with the torque on: the balance reaches the end of the impulse if M > k theta / 2, and swings to
/// sqrt(2 M theta / k). E11 of docs/theory/oscillator.md.
#[test]
fn self_starting() {
    let balance = Balance::tuned(1.0e-9, 28_800.0);
    let (k, end_rad) = (balance.stiffness_n_m_per_rad, 26f64.to_radians());
    let first = |impulse_n_m: f64| {
        let prescribed = Prescribed::mirrored(vec![span(0.0, 26.0, impulse_n_m)]);
        let swings = Alone::new(balance, &prescribed).unwrap().swings(at(0.0, 0.0), 1).unwrap();
        swings.half_swings[0].turning_rad
    };
    let least_n_m = 0.5 * k * end_rad;
    assert!(first(1.001 * least_n_m) > end_rad);
    assert!(first(0.999 * least_n_m) < end_rad);
    let impulse_n_m = 5.0 * least_n_m;
    assert!((first(impulse_n_m) - (2.0 * impulse_n_m * end_rad / k).sqrt()).abs() < 1e-14);
}

/// A balance that turns just where the prescribed torque changes goes on from there.
#[test]
fn turning_at_an_edge() {
    let balance = Balance::tuned(1.4e-9, 21_600.0).with_losses(200.0, 1.0, 1.0);
    let undriven = Prescribed::default();
    for i in 1..500 {
        let from = at(0.0, 0.2 * f64::from(i));
        for alone in [Alone::new, |b, p: &_| Alone::integrated(b, p, 1e-13)] {
            let free = alone(balance, &undriven).unwrap().swings(from, 2).unwrap();
            let edge_rad = free.half_swings[0].turning_rad;
            let beyond = TorqueSpan { from_rad: edge_rad, to_rad: edge_rad + 0.5, torque_n_m: 1e-9 };
            let prescribed = Prescribed { rising: vec![beyond], falling: vec![] };
            let swings = alone(balance, &prescribed).unwrap().swings(from, 2).unwrap();
            assert_eq!((swings.half_swings.len(), swings.stops_rad), (2, None), "{edge_rad} {swings:?}");
            let miss_rad = swings.half_swings[1].turning_rad - free.half_swings[1].turning_rad;
            assert!(miss_rad.abs() < 1e-11, "{swings:?} {free:?}");
        }
    }
}

/// What drives too little stops, and says where; what loses nothing never settles, and says so.
#[test]
fn stopping_and_not_settling() {
    let tuned = Balance::tuned(1.0e-9, 28_800.0);
    let weak = Prescribed::mirrored(vec![span(-18.0, 26.0, 1e-9)]);
    let balance = Balance { dry_n_m: 5e-9, ..tuned };
    let alone = Alone::new(balance, &weak).unwrap();
    let Outcome::Stops { angle_rad } = alone.steady(4.0, 1e-12).unwrap() else { panic!("it goes on") };
    // Held by dry friction against spring and drive.
    assert!((balance.stiffness_n_m_per_rad * angle_rad).abs() <= balance.dry_n_m + 1e-9, "{angle_rad}");
    let swings = alone.swings(at(0.5, 0.0), 1000).unwrap();
    assert!(swings.stops_rad.is_some() && swings.half_swings.len() < 1000, "{swings:?}");
    // As much as the torque takes is given up.
    assert!(missing_ratio(&balance, at(0.5, 0.0), &swings.half_swings) < 1e-12);

    let lossless = Alone::new(tuned, &Prescribed::mirrored(vec![span(-18.0, 26.0, 1e-7)])).unwrap();
    assert_eq!(lossless.expected_amplitude_rad(), None);
    let fault = lossless.steady(4.0, 1e-12).unwrap_err().to_string();
    assert!(fault.starts_with("could not settle: change of amplitude = "), "{fault}");
}

/// Overlapping torques add up, an edge belongs to the side it is entered from, and a span turned round is refused.
#[test]
fn torques_by_angle() {
    let balance = Balance::tuned(1.0e-9, 28_800.0);
    let energy_j = |rising: Vec<TorqueSpan>| {
        let prescribed = Prescribed { rising, falling: vec![] };
        let swings = Alone::new(balance, &prescribed).unwrap().swings(at(-3.0, 0.0), 1).unwrap();
        swings.half_swings[0].driven_j
    };
    let one = energy_j(vec![span(-10.0, 20.0, 1e-7)]);
    assert!((one - 1e-7 * 30f64.to_radians()).abs() < 1e-22);
    let two = energy_j(vec![span(-10.0, 20.0, 1e-7), span(5.0, 40.0, 2e-7)]);
    assert!((two - one - 2e-7 * 35f64.to_radians()).abs() < 1e-22);
    let joined = energy_j(vec![span(-10.0, 5.0, 1e-7), span(5.0, 20.0, 1e-7)]);
    assert!((joined - one).abs() < 1e-22);
    let turned = Prescribed { rising: vec![span(20.0, 20.0, 1e-7)], falling: vec![] };
    let fault = Alone::new(balance, &turned).unwrap_err().to_string();
    assert!(
        fault.starts_with("could not simulate: upper end of a prescribed torque = ")
            && fault.ends_with("rad, needs more than its lower end"),
        "{fault}"
    );
    let fault =
        Alone::new(balance, &Prescribed::default()).unwrap().swings(at(f64::NAN, 0.0), 1).unwrap_err().to_string();
    assert_eq!(fault, "could not simulate: angle at the start = NaN rad, needs a finite number");
}
