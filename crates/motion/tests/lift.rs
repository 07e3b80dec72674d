//! The effective lift of model trains.

#[path = "support/machine.rs"]
mod machine;

use beat::Shock;
use machine::{dynamics, machine};
use motion::{Figure, Options, Setting, Steady};
use movement::Pallet;

fn steady(torque_n_m: f64, quality_ratio: f64) -> Steady {
    let mut d = dynamics();
    (d.wheel.torque_n_m, d.wheel.recoil_torque_n_m) = (torque_n_m, torque_n_m);
    d.balance = d.balance.with_losses(quality_ratio, 300_f64.to_radians(), 0.8);
    machine(d).steady(Options::default()).expect("it goes")
}

const BOTH: [(Shock, &str); 2] =
    [(Shock::Drop, "amplitude_heard_to_drop_deg"), (Shock::Banking, "amplitude_heard_to_banking_deg")];

/// Amplitude, effective lifts to drop and to banking, deg; by each the sound gives back the true amplitude, read by the
/// function that makes figures of any train.
fn point(steady: &Steady) -> [f64; 3] {
    let lifts = BOTH.map(|(until, heard)| {
        let lift_rad = steady.effective_lift_rad(until, None).expect("both shocks");
        let setting =
            Setting { nominal_period_s: 0.25, balance: dynamics().balance, lift_rad, heard_lift_rad: lift_rad };
        let heard_rad = Figure::from_path(heard).and_then(|f| f.value(steady, &setting)).expect(heard);
        // Rounding, and that the period of the train is by least squares.
        assert!((heard_rad / steady.amplitude_rad() - 1.0).abs() < 1e-10, "{heard_rad} rad");
        // That of both pallets lies between those of each.
        let own = Pallet::BOTH.map(|p| steady.effective_lift_rad(until, Some(p)).expect("both shocks"));
        assert!(own[0].min(own[1]) <= lift_rad && lift_rad <= own[0].max(own[1]), "{own:?} {lift_rad} rad");
        lift_rad
    });
    [steady.amplitude_rad(), lifts[0], lifts[1]].map(f64::to_degrees)
}

/// The wheel falls through the drop in a time that goes as the reciprocal root of its torque, and the amplitude goes as the
/// root: what the balance turns meanwhile stays, and so does the lift (derived). From 137 to 286 deg it rose by 0.08 deg.
#[test]
fn by_torque_the_lift_hardly_changes() {
    let points = [0.4e-6, 0.7e-6, 1.0e-6, 1.3e-6, 1.6e-6].map(|torque_n_m| point(&steady(torque_n_m, 280.0)));
    println!("by torque: amplitude, lift to drop, lift to banking, deg: {points:?}");
    let (first, last) = (points[0], points[4]);
    assert!(last[0] > 2.0 * first[0], "{points:?} deg");
    assert!((last[1] - first[1]).abs() < 0.01 * first[1] && (last[2] - first[2]).abs() < 0.01 * first[2], "{points:?}");
}

/// At one torque the drop takes one time, and the lift beyond the geometric one, 31.4 deg, is what the balance turns in it:
/// it goes as the amplitude (derived), to 20 %, since at the let-off the wheel is on its way, and a faster balance has
/// brought it less far. From 152 to 250 deg it rose by 0.75 deg to the drop; to the banking, to which the jewel takes the
/// lever, by nothing. So no single number is the lift to the drop.
#[test]
fn by_losses_the_lift_grows_with_the_amplitude() {
    let points = [80.0, 150.0, 280.0, 500.0].map(|quality_ratio| point(&steady(1.0e-6, quality_ratio)));
    println!("by losses: amplitude, lift to drop, lift to banking, deg: {points:?}");
    let beyond = points.map(|[amplitude_deg, drop_deg, _]| (drop_deg - 31.3865) / amplitude_deg);
    let mean = beyond.iter().sum::<f64>() / 4.0;
    println!("beyond the geometric lift, a part of the amplitude: {beyond:?}");
    assert!(points[3][0] > 1.6 * points[0][0] && points[3][1] - points[0][1] > 0.5, "{points:?} deg");
    assert!(beyond.iter().all(|b| (b / mean - 1.0).abs() < 0.2), "{beyond:?}");
}
