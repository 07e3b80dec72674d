//! Every quantity that wheel and pallets may be stated by, measured on the drawn parts by plane trigonometry: the
//! definitions of the parameter table, read off the drawing, without the closed forms of the synthesis.
#![allow(dead_code)] // each test file uses a part of it

use movement::{Pallet, ParamId, ParamKind as K};
use parts::{Face, Parts};
use plane::{Edge, Vector};
use std::f64::consts::{FRAC_PI_2, TAU};

/// Quantities of wheel and lever.
pub const ONCE: [K; 5] =
    [K::WheelToothWidth, K::WheelHeelRadius, K::WheelToothLift, K::WheelToothFaceAngle, K::LeverOutOfAngle];

/// Quantities of each pallet.
pub const BY_PALLET: [K; 11] = [
    K::PalletLock,
    K::PalletLift,
    K::PalletBreadth,
    K::PalletDrop,
    K::PalletDraw,
    K::PalletLockingDistance,
    K::PalletLetOffDistance,
    K::PalletLockingAngle,
    K::PalletLetOffAngle,
    K::StoneWidth,
    K::StoneFaceAngle,
];

/// All of them.
pub fn quantities() -> Vec<ParamId> {
    let once = ONCE.into_iter().map(|k| k.once());
    once.chain(Pallet::BOTH.into_iter().flat_map(|p| BY_PALLET.into_iter().map(move |k| k.at(p)))).collect()
}

/// What the drawing shows, sharp corners.
pub struct Drawing {
    toe: Vector,
    heel: Vector,
    pitch: f64,
    centres: f64,
    stones: [(Vector, Vector, Vector); 2],
    draw_depth: [f64; 2],
    read_on: usize,
}

fn turn(v: Vector, angle: f64) -> Vector {
    let (s, c) = angle.sin_cos();
    Vector::new(c * v.x - s * v.y, s * v.x + c * v.y)
}

fn direction(v: Vector) -> f64 {
    v.y.atan2(v.x)
}

/// Signed angle from `a` to `b`, anticlockwise.
fn from_to(a: Vector, b: Vector) -> f64 {
    (a.x * b.y - a.y * b.x).atan2(a.dot(&b))
}

fn outward(p: usize) -> f64 {
    if p == 0 { -1.0 } else { 1.0 }
}

impl Drawing {
    /// Reads a drawing.
    pub fn of(parts: &Parts, movement: &movement::Movement) -> Drawing {
        let tooth = &parts.wheel.teeth[0].profile;
        let face = tooth.edges.iter().find(|e| Face::from(e.label()) == Face::ToothImpulse).unwrap();
        let Edge::Line { start, end, .. } = *face else { panic!("a flat face") };
        let stone = |p| {
            let s = &parts.lever.stones[p];
            (s.locking_corner_m, s.let_off_corner_m, s.face)
        };
        Drawing {
            toe: start,
            heel: end,
            pitch: TAU / f64::from(parts.wheel.tooth_count),
            centres: parts.centres.pallet_m.y,
            stones: [stone(Pallet::Entry), stone(Pallet::Exit)],
            draw_depth: Pallet::BOTH.map(|p| movement.si_at(K::PalletDrawDepth, p)),
            read_on: movement.si(K::WheelToothLiftReadOn) as usize,
        }
    }

    fn pallet(&self) -> Vector {
        Vector::new(0.0, self.centres)
    }

    /// Where a lever point stands.
    fn at(&self, point: Vector, lever: f64) -> Vector {
        self.pallet() + turn(point, lever)
    }

    /// Lever angle at which a point of stone `p` stands at `radius` from the wheel centre, on the stone's side.
    fn lever_at(&self, p: usize, point: Vector, radius: f64) -> f64 {
        let (c, rho) = (self.centres, point.norm());
        let opening = ((c * c + rho * rho - radius * radius) / (2.0 * c * rho)).acos();
        outward(p) * opening - point.x.atan2(-point.y)
    }

    fn unlocking(&self, p: usize) -> f64 {
        self.lever_at(p, self.stones[p].0, self.toe.norm())
    }

    fn let_off(&self, p: usize) -> f64 {
        self.lever_at(p, self.stones[p].1, self.heel.norm())
    }

    /// Toe on the line of the locking face of `p` with the lever at `lever`: its place, and the draw there.
    fn locked(&self, p: usize, lever: f64) -> (Vector, f64) {
        let (corner, _, face) = self.stones[p];
        let (corner, face) = (self.at(corner, lever), turn(face, lever));
        // |corner + t face| = R, the outer of the two.
        let (b, c) = (corner.dot(&face), corner.norm_squared() - self.toe.norm_squared());
        let toe = corner + face * (-b + (b * b - c).sqrt());
        let arm = toe - self.pallet();
        // Square to the arm, away from the wheel.
        let square = Vector::new(-arm.y, arm.x);
        let neutral = if square.dot(&toe) > 0.0 { square } else { -square };
        (toe, -from_to(neutral, face))
    }

    fn drop(&self, p: usize) -> f64 {
        let lever = self.let_off(p);
        let heel = self.at(self.stones[p].1, lever);
        let toe = direction(heel) - from_to(self.toe, self.heel);
        let next = self.locked(1 - p, lever).0;
        let free = (toe - direction(next)).rem_euclid(self.pitch);
        if free > 0.5 * self.pitch { free - self.pitch } else { free }
    }

    /// Polar angle of a point of stone `p` where it meets the circle of the toes.
    fn on_toe_circle(&self, p: usize, point: Vector) -> f64 {
        direction(self.at(point, self.lever_at(p, point, self.toe.norm())))
    }

    fn breadth(&self, p: usize) -> f64 {
        self.on_toe_circle(p, self.stones[p].0) - self.on_toe_circle(p, self.stones[p].1)
    }

    fn tooth_share(&self, p: usize) -> f64 {
        let corner = self.stones[p].1;
        outward(p) * (self.lever_at(p, corner, self.heel.norm()) - self.lever_at(p, corner, self.toe.norm()))
    }

    /// Placing of stone `p` for pallets that span `spaces`.
    pub fn placing(&self, p: usize, spaces: f64) -> f64 {
        let radius = FRAC_PI_2 - outward(p) * 0.5 * spaces * self.pitch;
        (self.on_toe_circle(p, self.stones[p].0) - radius) / self.breadth(p)
    }

    /// A quantity, SI.
    pub fn value(&self, id: ParamId) -> f64 {
        let p = match id.at {
            movement::At::Pallet(Pallet::Exit) => 1,
            _ => 0,
        };
        let (locking, let_off, face) = self.stones[p];
        let out = outward(p);
        // Angle at the pallet centre from the line to the wheel centre.
        let aside = |v: Vector| (out * v.x).atan2(-v.y);
        match id.kind {
            K::WheelToothWidth => from_to(self.toe, self.heel),
            K::WheelHeelRadius => self.heel.norm(),
            K::WheelToothLift => match self.read_on {
                1 => self.tooth_share(0),
                2 => self.tooth_share(1),
                _ => 0.5 * (self.tooth_share(0) + self.tooth_share(1)),
            },
            K::WheelToothFaceAngle => from_to(self.toe, self.heel - self.toe),
            K::LeverOutOfAngle => 0.5 * (self.let_off(0) + self.let_off(1)),
            K::PalletLock => out * (self.unlocking(p) - self.let_off(1 - p)),
            K::PalletLift => out * (self.let_off(p) - self.unlocking(p)),
            K::PalletBreadth => self.breadth(p),
            K::PalletDrop => self.drop(p),
            K::PalletDraw => self.locked(p, self.unlocking(p) - out * self.draw_depth[p]).1,
            K::PalletLockingDistance => locking.norm(),
            K::PalletLetOffDistance => let_off.norm(),
            K::PalletLockingAngle => aside(locking),
            K::PalletLetOffAngle => aside(let_off),
            K::StoneWidth => {
                let chord = let_off - locking;
                (chord - face * chord.dot(&face)).norm()
            }
            K::StoneFaceAngle => {
                // The cut square to the face, toward the let-off side; the impulse face falls below it.
                let chord = let_off - locking;
                (-chord.dot(&face)).atan2((chord - face * chord.dot(&face)).norm())
            }
            kind => panic!("{kind:?} is not measured here"),
        }
    }
}
