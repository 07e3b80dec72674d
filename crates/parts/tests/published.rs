//! The synthesis against printed corners: fixture of the geometry notes, section 5 (derived there from the closed
//! forms of 3.1-3.2 by an independent script), and the planting table 1.1.
#![allow(clippy::unwrap_used)]

use movement::{Pallet, ParamKind as K, Values};
use parts::build;

fn fixture(placing: f64) -> Values {
    let mut v = Values::default();
    let deg = f64::to_radians;
    v.set(K::WheelToothCount.once(), 15.0);
    v.set(K::WheelLockingRadius.once(), 1e-3);
    v.set(K::WheelToothWidth.once(), deg(3.5));
    v.set(K::WheelToothLift.once(), deg(2.5));
    v.set(K::PalletsPlacingRatio.once(), placing);
    v.set(K::LeverOutOfAngle.once(), 0.0);
    for p in Pallet::BOTH {
        v.set(K::PalletBreadth.at(p), deg(7.0));
        v.set(K::PalletLock.at(p), deg(1.5));
        v.set(K::PalletLift.at(p), deg(8.5));
        v.set(K::PalletDraw.at(p), deg(12.0));
    }
    v
}

#[test]
fn fixture_corners() {
    let printed = [
        (0.0, 1.023903, [[-0.492272, 0.853036], [-0.359401, 0.874791], [0.537177, 0.943101], [0.613727, 0.819584]], [109.5, 56.5]),
        (0.5, 1.024864, [[-0.543350, 0.819548], [-0.409913, 0.840785], [0.479693, 0.963740], [0.564045, 0.855687]], [109.6674, 56.2930]),
    ];
    for (placing, heel, corners, faces) in printed {
        let b = build(&fixture(placing)).unwrap();
        assert!((b.movement.si(K::WheelHeelRadius) * 1e3 - heel).abs() < 6e-7);
        assert!((b.movement.si(K::CentresWheelPallet) * 1e3 - 1.154701).abs() < 6e-7);
        // Printed at eps = 0, "exit just let go": our lever stands half its travel anticlockwise of the middle.
        let pose = b.parts.lever_pose(5.0_f64.to_radians());
        let found: Vec<_> = Pallet::BOTH
            .iter()
            .flat_map(|p| {
                let s = &b.parts.lever.stones[*p];
                [pose.point(s.locking_corner_m), pose.point(s.let_off_corner_m)]
            })
            .collect();
        for (f, c) in found.iter().zip(corners) {
            assert!((f.x * 1e3 - c[0]).abs() < 6e-7 && (f.y * 1e3 - c[1]).abs() < 6e-7, "{f} {c:?}");
        }
        for (p, face) in Pallet::BOTH.iter().zip(faces) {
            let d = pose.direction(b.parts.lever.stones[*p].face);
            assert!((d.y.atan2(d.x).to_degrees() - face).abs() < 6e-5);
        }
    }
}

#[test]
fn planting_table() {
    // N, k, C/R, PT/R to 1e-5.
    for (n, k, c) in [
        (15.0, 2.5, 1.15470),
        (15.0, 3.5, 1.34563),
        (18.0, 2.5, 1.10338),
        (18.0, 3.5, 1.22077),
        (20.0, 2.5, 1.08239),
        (20.0, 3.5, 1.17283),
        (21.0, 3.5, 1.15470),
    ] {
        let mut v = Values::default();
        v.set(K::WheelToothCount.once(), n);
        v.set(K::PalletsSpacesSpanned.once(), k);
        v.set(K::WheelLockingRadius.once(), 1e-3);
        let b = build(&v).unwrap_or_else(|e| panic!("{n} {k}: {e:#?}"));
        assert!((b.movement.si(K::CentresWheelPallet) * 1e3 - c).abs() < 1e-5);
    }
}
