//! What the template says of a parameter that is not stated is what the synthesis then makes of it.
#![allow(clippy::unwrap_used)]

use movement::{IfUnstated, Origin, ParamId, ParamKind as K, Values, unstated_text};
use parts::build;

#[test]
fn defaults_are_those_told() {
    for teeth in [15.0, 18.0] {
        let mut v = Values::default();
        v.set(K::WheelToothCount.once(), teeth);
        v.set(K::WheelLockingRadius.once(), 2.5e-3);
        v.set(K::PalletsSpacesSpanned.once(), (teeth / 6.0_f64).floor() + 0.5);
        let movement = build(&v).unwrap().movement;
        let mut compared = 0;
        for id in ParamId::dense().filter(|id| id.param().default == IfUnstated::Closed) {
            let told = unstated_text(id.param());
            let told = told.strip_prefix("unstated: ").unwrap();
            let (si, origin) = movement.get(id).unwrap();
            assert!(told != "derived", "{id}: nothing is told");
            assert!(origin != Origin::Default || !told.starts_with("follows"), "{id} is a default: {told}");
            let words: Vec<&str> = told.split_whitespace().collect();
            let Ok(number) = words[0].parse::<f64>() else { continue };
            let si_of = |kind: K| movement.si(kind);
            let expected = match (id.kind, &words[1..3]) {
                (_, ["deg", "/"]) => (number / teeth).to_radians(),
                (_, ["deg", _]) => number.to_radians(),
                (_, ["where", _]) => number,
                (K::BankingsDistance, _) => number * si_of(K::ForkLength),
                (K::CentresPalletBalance, _) => number * si_of(K::CentresWheelPallet),
                (K::JewelWidthAngle, _) => number * si_of(K::BalanceLiftOfRadii),
                (K::ForkNotchFreedom, _) => number * si_of(K::JewelWidth),
                (K::ForkHornFreedom | K::GuardFreedom, _) => {
                    let total = |p| movement.si_at(K::PalletLock, p) + movement.si_at(K::BankingRun, p);
                    number * movement::Pallet::BOTH.map(total).into_iter().fold(f64::INFINITY, f64::min)
                }
                (K::RollerRadius, _) => number * si_of(K::RollerJewelDistance),
                (K::RollerSafetyRatio, _) => number,
                // A first choice, which grows where it is too short.
                (K::ForkHornLength, _) => si.max(number * si_of(K::JewelWidth)),
                _ => panic!("{id}: {told}"),
            };
            assert!((si - expected).abs() < 1e-9, "{id} is {si}, told {told}");
            compared += 1;
        }
        assert!(compared >= 20, "{compared}");
    }
}
