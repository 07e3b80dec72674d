//! The oscillation turned through by hand: it runs on without a jump, and shows what the action says.
#![allow(clippy::unwrap_used)]

#[path = "../../plane/tests/support/cases.rs"]
mod cases;
#[path = "support/random.rs"]
mod random;

use action::{Phase, Scratch, oscillation, solve};
use cases::cases;
use movement::Values;
use proptest::prelude::*;
use random::wanted;

const EXTREME_RAD: f64 = 2.5;

fn checked(v: &Values) -> Result<bool, TestCaseError> {
    let Ok(build) = parts::build(v) else { return Ok(false) };
    let mut scratch = Scratch::default();
    let action = solve(&build.parts, &mut scratch);
    let Some(all) = oscillation(&build.parts, &action, 0, EXTREME_RAD, &mut scratch) else { return Ok(false) };
    // Each angle moves by no more than its steps: the largest of lever and wheel are those of lift and drop.
    for w in all.windows(2) {
        prop_assert!((w[1].lever_rad - w[0].lever_rad).abs() < 0.02, "{w:?}");
        // Near a contact without an arm the wheel runs far for little of the lever.
        prop_assert!((w[1].wheel_rad - w[0].wheel_rad).abs() < 0.1, "{w:?}");
        prop_assert!((w[1].jewel_rad - w[0].jewel_rad).abs() < 0.15, "{w:?}");
    }
    // After one oscillation the wheel has gone on by one pitch and all else stands as before.
    let (a, z) = (all.first().unwrap(), all.last().unwrap());
    prop_assert!((a.wheel_rad - z.wheel_rad - build.parts.wheel.pitch_rad()).abs() < 1e-9);
    prop_assert!((a.lever_rad - z.lever_rad).abs() < 1e-9 && (a.jewel_rad - z.jewel_rad).abs() < 1e-9);
    // Its phases begin and end at the angles of the action.
    for (i, beat) in action.beats.iter().enumerate() {
        let of = |phase: Phase| all.iter().filter(move |x| x.pallet == beat.pallet && x.phase == phase);
        prop_assert_eq!(of(Phase::Unlocking).next_back().unwrap().lever_rad, beat.unlocking.lever_rad);
        let lifts = of(Phase::ImpulseOnStone).chain(of(Phase::ImpulseOnTooth));
        let last = lifts.last().unwrap();
        prop_assert!((last.lever_rad - beat.let_off.lever_rad).abs() < 1e-12);
        prop_assert!((last.jewel_rad - action.fork[i].releasing_rad.unwrap()).abs() < 1e-9);
        let drop: Vec<_> = of(Phase::Drop).collect();
        prop_assert!((drop[0].wheel_rad - drop[drop.len() - 1].wheel_rad - beat.drop_rad).abs() < 1e-9);
    }
    Ok(true)
}

proptest! {
    #![proptest_config(cases(300))]

    #[test]
    fn it_runs_on_and_agrees_with_the_action(w in wanted()) {
        if !checked(&w.values())? {
            return Err(TestCaseError::reject("not turned through"));
        }
    }
}
