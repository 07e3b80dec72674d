//! No tooth is ever in a stone: the outlines, posed as the motion says, are looked at all along it.

#[path = "support/machine.rs"]
mod machine;

use machine::{dynamics, values};
use motion::{Machine, Options, State};
use movement::{ByPallet, Pallet, ParamKind as K, Values};

/// Between two looks, s.
const EVERY_S: f64 = 5e-5;
/// The wheel is turned back by this before it is looked at, rad: what touches is free then, and what is deeper than
/// 25 nm is not.
const BACK_RAD: f64 = 1e-5;

/// Polished corners and no sharp ones: each contact passes over many short faces.
fn rounded() -> Values {
    let mut values = values();
    for kind in [K::WheelToeRound, K::WheelHeelRound] {
        values.set(kind.once(), 2e-6);
    }
    for pallet in Pallet::BOTH {
        for kind in [K::StoneLockingRound, K::StoneLetOffRound] {
            values.set(kind.at(pallet), 2e-6);
        }
    }
    values
}

/// Places along the motion at which a tooth is in a stone.
fn overlaps(values: &Values, from: impl Fn(&Machine, &parts::Parts, &action::Action) -> State) -> usize {
    let parts = parts::build(values).expect("it can be drawn").parts;
    let action = action::solve(&parts, &mut action::Scratch::default());
    let machine = Machine::new(&parts, &action, dynamics()).expect("dynamics that something can have");
    let stones = ByPallet::from_fn(|p| &parts.lever.stones[p].body.profile);
    let outline = parts.wheel.outline();
    let (mut looks, mut found) = (0, 0);
    machine.follow(&from(&machine, &parts, &action), 4, Options::default(), EVERY_S, |moment| {
        let wheel = outline.posed(&parts.wheel_pose(moment.state.wheel_rad + BACK_RAD));
        let lever = parts.lever_pose(moment.state.lever_rad);
        looks += 1;
        found += usize::from(Pallet::BOTH.iter().any(|&p| stones[p].posed(&lever).overlaps(&wheel)));
    });
    assert!(looks > 1000, "{looks}");
    found
}

#[test]
fn no_tooth_is_in_a_stone_at_any_amplitude() {
    for values in [values(), rounded()] {
        for amplitude_deg in [30.0_f64, 40.0, 60.0, 90.0, 120.0, 180.0, 270.0] {
            let from = |machine: &Machine, _: &parts::Parts, _: &action::Action| {
                machine.locked(Pallet::Entry, amplitude_deg.to_radians()).expect("it locks")
            };
            assert_eq!(overlaps(&values, from), 0, "at {amplitude_deg} deg");
        }
    }
}

#[test]
fn no_tooth_is_in_a_stone_when_it_starts_from_rest() {
    for values in [values(), rounded()] {
        for pallet in Pallet::BOTH {
            let from = |machine: &Machine, parts: &parts::Parts, action: &action::Action| {
                machine.at_rest(parts, action, pallet).expect("a tooth comes to the stone")
            };
            assert_eq!(overlaps(&values, from), 0, "from the {} stone", pallet.name());
        }
    }
}
