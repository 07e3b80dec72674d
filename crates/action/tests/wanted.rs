//! Wanted angles that the properties do not read as figures, measured by contact: draw at a stated depth, the tooth's
//! share of the lift on the arc it is read on; and all wanted angles over counts of teeth and spans of the pallets.
#![allow(clippy::unwrap_used)]

#[path = "../../plane/tests/support/cases.rs"]
mod cases;
#[path = "support/random.rs"]
mod random;

use action::{Action, FigureId, PalletAction, Scratch, Segment, moment_at, solve};
use cases::cases;
use movement::{Movement, Pallet, ParamKind as K, Values};
use parts::{Build, Face};
use proptest::prelude::*;
use random::{Wanted, wanted, with_statement};

fn solved(v: &Values) -> Result<(Build, Action), TestCaseError> {
    let build = parts::build(v).map_err(|_| TestCaseError::reject("no such escapement"))?;
    let action = solve(&build.parts, &mut Scratch::default());
    // The construction supposes that each pallet locks on its face, unlocks at its corner and lets go at its other one.
    let usual = |b: &PalletAction| {
        let at = |c: &action::Contact, tooth, stone| (c.tooth_face, c.stone_face) == (tooth, stone);
        let corner = |c: &action::Contact, corner_m| {
            (build.parts.lever_pose(c.lever_rad).point(corner_m) - c.point_m).norm()
                < 1e-12 * build.parts.wheel.reach_m * 1e3
        };
        let stone = &build.parts.lever.stones[b.pallet];
        at(&b.landing, Face::Toe, Face::StoneLocking)
            && b.unlocking.tooth_face == Face::Toe
            && corner(&b.unlocking, stone.locking_corner_m)
            && corner(&b.let_off, stone.let_off_corner_m)
    };
    if action.beats.is_empty() || !action.beats.iter().all(usual) {
        return Err(TestCaseError::reject("another action than the construction supposes"));
    }
    Ok((build, action))
}

/// Lever angle for which the tooth's face works on the let-off corner, from the toe leaving it; `None` where the change
/// is of another kind.
fn tooth_share(b: &PalletAction) -> Option<f64> {
    let at = b
        .segments
        .iter()
        .position(|s| (s.from.tooth_face, s.from.stone_face) == (Face::ToothImpulse, Face::LetOffCorner))?;
    let before = at.checked_sub(1).map(|i| b.segments[i].to)?;
    let from_toe = (before.tooth_face, before.stone_face) == (Face::Toe, Face::StoneImpulse);
    from_toe.then(|| b.pallet.outward() * (b.let_off.lever_rad - b.segments[at].from.lever_rad))
}

fn returned(movement: &Movement, action: &Action) -> Result<(), TestCaseError> {
    for p in Pallet::BOTH {
        let b = action.of(p).next().unwrap();
        let figures = [
            (K::PalletLock, b.lock_rad),
            (K::PalletLift, b.lift_rad),
            (K::PalletDrop, b.drop_rad),
            (K::BankingRun, b.run_rad),
        ];
        for (kind, found) in figures {
            let wanted = movement.si_at(kind, p);
            prop_assert!((found - wanted).abs() < 1e-9, "{} {found}, wanted {wanted}", kind.at(p));
        }
    }
    Ok(())
}

/// What changes the lift at the balance beside the radii.
#[derive(Clone, Debug)]
struct Notch {
    shape: u8,
    cut: f64,
    width_deg: f64,
    freedom_ratio: f64,
    horn_freedom: f64,
}

fn notch() -> impl Strategy<Value = Notch> {
    (0..4u8, 0.2..0.6f64, 9.0..24.0f64, 0.0..0.08f64, 0.2..0.9f64).prop_map(
        |(shape, cut, width_deg, freedom_ratio, horn_freedom)| Notch {
            shape,
            cut,
            width_deg,
            freedom_ratio,
            horn_freedom,
        },
    )
}

/// The counts of teeth and spans that leave room for pallets: half the span from 20 to 55 deg.
fn counts() -> impl Strategy<Value = (u16, f64)> {
    (8..=30u16, 1..=7u8)
        .prop_map(|(n, k)| (n, f64::from(k) + 0.5))
        .prop_filter("room for pallets", |(n, k)| (20.0..=55.0).contains(&(180.0 * k / f64::from(*n))))
}

proptest! {
    #![proptest_config(cases(500))]

    #[test]
    fn draw_holds_at_the_depth_stated(w in wanted()) {
        let v = w.values();
        let (build, action) = solved(&v)?;
        for p in Pallet::BOTH {
            let b = action.of(p).next().unwrap();
            let (wanted, depth) = (build.movement.si_at(K::PalletDraw, p), build.movement.si_at(K::PalletDrawDepth, p));
            let lever_rad = b.unlocking.lever_rad - p.outward() * depth;
            // Where the front of the tooth leans less than the draw asks for, it and not the toe is on the corner at last.
            let by_toe = |s: &Segment| {
                p.outward() * (s.from.lever_rad - b.unlocking.lever_rad) >= 0.0 || s.from.tooth_face == Face::Toe
            };
            if !b.segments.iter().all(by_toe) {
                return Err(TestCaseError::reject("the tooth's front on the locking corner"));
            }
            let found = if depth == 0.0 {
                b.face_end.draw_rad
            } else if let Some(m) = moment_at(&build.parts, b, lever_rad, &mut Scratch::default()) {
                m.contact.draw_rad
            } else {
                continue; // deeper than the banking lets the lever go
            };
            prop_assert!((found - wanted).abs() < 1e-9, "{p:?} draw {found} at {depth}, wanted {wanted}");
        }
    }

    #[test]
    fn the_share_of_the_tooth_is_had_where_it_is_read(w in wanted()) {
        let v = w.values();
        let (build, action) = solved(&v)?;
        let share = Pallet::BOTH.map(|p| tooth_share(action.of(p).next().unwrap()));
        let found = match build.movement.word(K::WheelToothLiftReadOn) {
            "entry" => share[0],
            "exit" => share[1],
            _ => share[0].zip(share[1]).map(|(a, b)| 0.5 * (a + b)),
        };
        let Some(found) = found else { return Err(TestCaseError::reject("the toe leaves the stone elsewhere")) };
        let wanted = build.movement.si(K::WheelToothLift);
        prop_assert!((found - wanted).abs() < 1e-9, "{share:?}, wanted {wanted}");
    }

    /// From the jewel meeting the notch, run included, to let-off; both pallets' mean. Any jewel, notch and side.
    #[test]
    fn the_lift_at_the_balance_comes_back(w in wanted(), n in notch(), sized in 0..4usize) {
        let mut v = w.values();
        v.set(K::JewelShape.once(), f64::from(n.shape));
        v.set(K::JewelCutRatio.once(), n.cut);
        v.set(K::JewelWidthAngle.once(), n.width_deg.to_radians());
        let mm = w.radius_mm * 1e-3;
        v.set(K::ForkNotchFreedom.once(), n.freedom_ratio * 0.1 * mm);
        v.set(K::ForkHornFreedom.once(), n.horn_freedom.to_radians());
        let sizes = [None, Some((K::CentresPalletBalance, 1.5)), Some((K::ForkLength, 1.3)), Some((K::RollerJewelDistance, 0.3))];
        if let Some((kind, ratio)) = sizes[sized] {
            v.set(kind.once(), ratio * mm);
        }
        let (build, action) = solved(&v)?;
        let lifts = Pallet::BOTH.map(|p| {
            let id = FigureId::from_path(&format!("{}.balance_lift_deg", p.name())).unwrap();
            id.value(&action)
        });
        let faces_met = action.fork.iter().all(|f| {
            f.enters && matches!(f.engaging_face, Some(Face::NotchWall | Face::NotchCorner))
        });
        prop_assume!(faces_met);
        let found = 0.5 * (lifts[0].unwrap() + lifts[1].unwrap());
        let wanted = build.movement.si(K::BalanceLift);
        prop_assert!((found - wanted).abs() < 1e-9, "{lifts:?}, wanted {wanted}");
        prop_assert_eq!(wanted, w.balance_lift_deg.to_radians());
    }

    #[test]
    fn any_count_of_teeth_and_spaces(w in wanted(), (teeth, spaces) in counts()) {
        // Drops as parts of the pitch: 1 to 2.5 of 24 deg.
        let drop_deg = w.drop_deg.map(|d| d * 15.0 / f64::from(teeth));
        let v = Wanted { teeth, spaces, drop_deg, ..w }.values();
        let (build, action) = solved(&v)?;
        returned(&build.movement, &action).map_err(|e| with_statement(e, &v))?;
        let turned: f64 = action.beats.iter().map(|b| b.travel_rad + b.drop_rad - b.recoil_from_drop_rad).sum();
        prop_assert!((turned - build.parts.wheel.pitch_rad()).abs() < 1e-9, "{turned}");
    }
}
