//! Random escapements, stated as a person would state them: wanted angles, then finish of corners and faces, then moves
//! at the bench. Invented numbers, spread wider than what is made.
#![allow(dead_code)] // each test file uses a part of it

use movement::{Pallet, ParamKind as K, Values};
use proptest::prelude::*;

/// Wanted angles in degrees and lengths in mm.
#[derive(Clone, Debug)]
pub struct Wanted {
    pub teeth: u16,
    pub spaces: f64,
    pub radius_mm: f64,
    pub lock_deg: [f64; 2],
    pub lift_deg: f64,
    pub tooth_lift_deg: f64,
    pub read_on: u8,
    pub tooth_of_pitch: f64,
    pub drop_deg: [f64; 2],
    pub placing: f64,
    pub draw_deg: [f64; 2],
    pub draw_depth_deg: [f64; 2],
    pub run_deg: [f64; 2],
    pub out_of_angle_deg: f64,
    pub balance_lift_deg: f64,
}

/// Sound escapements of 15 teeth and 2.5 spaces, R about 2.5 mm.
pub fn wanted() -> impl Strategy<Value = Wanted> {
    let pair = |low: f64, high: f64| [low..high, low..high];
    let depth = prop_oneof![Just(0.0), 0.5..2.0f64];
    (
        (pair(0.6, 2.5), 6.0..10.0f64, 1.0..4.0f64, 0..3u8, 0.1..0.2f64, pair(1.0, 2.5), -0.2..1.2f64),
        (pair(6.0, 16.0), [depth.clone(), depth], pair(0.05, 0.8), -0.5..0.5f64, 35.0..60.0f64, 1.0..6.0f64),
    )
        .prop_map(
            |((lock, lift, share, read_on, tooth, drop, placing), (draw, depth, run, out, balance, radius))| Wanted {
                teeth: 15,
                spaces: 2.5,
                radius_mm: radius,
                lock_deg: lock,
                lift_deg: lift,
                tooth_lift_deg: share,
                read_on,
                tooth_of_pitch: tooth,
                drop_deg: drop,
                placing,
                draw_deg: draw,
                draw_depth_deg: depth,
                run_deg: run,
                out_of_angle_deg: out,
                balance_lift_deg: balance,
            },
        )
}

impl Wanted {
    /// The statement. The exit pallet's lift is not stated: with the locks and the entry lift it follows.
    pub fn values(&self) -> Values {
        let mut v = Values::default();
        let d = f64::to_radians;
        v.set(K::WheelToothCount.once(), f64::from(self.teeth));
        v.set(K::PalletsSpacesSpanned.once(), self.spaces);
        v.set(K::WheelLockingRadius.once(), self.radius_mm * 1e-3);
        v.set(K::WheelToothLift.once(), d(self.tooth_lift_deg));
        v.set(K::WheelToothLiftReadOn.once(), f64::from(self.read_on));
        v.set(K::WheelToothWidth.once(), d(self.tooth_of_pitch * 360.0 / f64::from(self.teeth)));
        v.set(K::PalletsPlacingRatio.once(), self.placing);
        v.set(K::PalletLift.at(Pallet::Entry), d(self.lift_deg));
        v.set(K::LeverOutOfAngle.once(), d(self.out_of_angle_deg));
        v.set(K::BalanceLift.once(), d(self.balance_lift_deg));
        for (i, p) in Pallet::BOTH.into_iter().enumerate() {
            v.set(K::PalletLock.at(p), d(self.lock_deg[i]));
            v.set(K::PalletDrop.at(p), d(self.drop_deg[i]));
            v.set(K::PalletDraw.at(p), d(self.draw_deg[i]));
            v.set(K::PalletDrawDepth.at(p), d(self.draw_depth_deg[i]));
            v.set(K::BankingRun.at(p), d(self.run_deg[i]));
        }
        v
    }
}

/// Corners rounded or chamfered, faces domed; as ratios of R.
#[derive(Clone, Debug)]
pub struct Finish {
    /// Toe, heel; locking and let-off corner of entry and exit: kind 0 sharp, 1 round, 2 chamfer, and size.
    pub corners: [(u8, f64); 6],
    /// Rise of impulse and locking faces, entry and exit.
    pub domes: [f64; 4],
}

/// Any finish: sharp and flat, usual, and minute.
pub fn finish() -> impl Strategy<Value = Finish> {
    // 1e-6 mm at R = 2.5 mm is 4e-7 R.
    let size = prop_oneof![3 => 0.0005..0.012f64, 1 => 3e-7..3e-6f64];
    let corner = (0..3u8, size);
    let dome = prop_oneof![2 => Just(0.0), 2 => 0.0001..0.004f64, 1 => 1e-6..1e-5f64];
    (
        [corner.clone(), corner.clone(), corner.clone(), corner.clone(), corner.clone(), corner],
        [dome.clone(), dome.clone(), dome.clone(), dome],
    )
        .prop_map(|(corners, domes)| Finish { corners, domes })
}

impl Finish {
    /// Adds the finish to a statement of the toe radius `radius_m`.
    pub fn apply(&self, v: &mut Values, radius_m: f64) {
        let places = [
            (K::WheelToeRound.once(), K::WheelToeChamfer.once()),
            (K::WheelHeelRound.once(), K::WheelHeelChamfer.once()),
            (K::StoneLockingRound.at(Pallet::Entry), K::StoneLockingChamfer.at(Pallet::Entry)),
            (K::StoneLockingRound.at(Pallet::Exit), K::StoneLockingChamfer.at(Pallet::Exit)),
            (K::StoneLetOffRound.at(Pallet::Entry), K::StoneLetOffChamfer.at(Pallet::Entry)),
            (K::StoneLetOffRound.at(Pallet::Exit), K::StoneLetOffChamfer.at(Pallet::Exit)),
        ];
        for ((round, chamfer), (kind, size)) in places.into_iter().zip(self.corners) {
            match kind {
                1 => v.set(round, size * radius_m),
                2 => v.set(chamfer, size * radius_m),
                _ => {}
            }
        }
        let faces = [K::StoneImpulseDome, K::StoneLockingDome];
        for (i, p) in Pallet::BOTH.into_iter().enumerate() {
            for (j, face) in faces.into_iter().enumerate() {
                if self.domes[2 * i + j] > 0.0 {
                    v.set(face.at(p), self.domes[2 * i + j] * radius_m);
                }
            }
        }
    }
}

/// Moves at the bench: lengths as ratios of R, angles in degrees, in the order of [`BENCH`].
pub type Bench = Vec<f64>;

/// What is moved on each pallet, with the largest move.
const BENCH: [(K, f64); 6] = [
    (K::StoneOut, 0.006),
    (K::StoneSpread, 0.004),
    (K::StoneThicker, 0.008),
    (K::StoneTilt, 3.0),
    (K::StoneTiltPivot, 0.2),
    (K::StoneLean, 8.0),
];
const BENCH_ONCE: [(K, f64); 8] = [
    (K::CentresWheelPalletChange, 0.004),
    (K::WheelRadiusChange, 0.004),
    (K::ForkBend, 0.01),
    (K::ForkLonger, 0.004),
    (K::JewelOut, 0.004),
    (K::GuardBend, 0.004),
    (K::PalletAcross, 0.002),
    (K::WheelAlong, 0.002),
];

/// No moves, or small ones everywhere.
pub fn bench() -> impl Strategy<Value = Bench> {
    let count = 2 * BENCH.len() + BENCH_ONCE.len();
    prop_oneof![1 => Just(vec![0.0; count]), 2 => proptest::collection::vec(-1.0..1.0f64, count)]
}

/// Adds bench moves to a statement of the toe radius `radius_m`.
pub fn move_at_bench(v: &mut Values, bench: &Bench, radius_m: f64) {
    let si = |kind: K, most: f64, part: f64| match kind.param().unit {
        movement::Unit::Degree => (most * part).to_radians(),
        _ => most * part * radius_m,
    };
    let mut parts = bench.iter();
    for p in Pallet::BOTH {
        for ((kind, most), part) in BENCH.into_iter().zip(&mut parts) {
            v.set(kind.at(p), si(kind, most, *part));
        }
    }
    for ((kind, most), part) in BENCH_ONCE.into_iter().zip(&mut parts) {
        v.set(kind.once(), si(kind, most, *part));
    }
}

/// A failure with the statement that showed it, as keys and values.
pub fn with_statement(error: TestCaseError, v: &Values) -> TestCaseError {
    let TestCaseError::Fail(why) = error else { return error };
    let stated: Vec<String> = v.iter().map(|(id, si)| format!("{id}={}", id.param().unit.from_si(si))).collect();
    TestCaseError::fail(format!("{why}\n{}", stated.join(" ")))
}
