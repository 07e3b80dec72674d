//! Closed forms of wheel and pallets with flat faces and sharp or rounded corners: what each parameter of the pallets
//! is, given the drawn ones. Chamfers and domes are not in them: what these change is found by contact.
//!
//! Used by the synthesis only. The action is found by contact and never calls these.
//! Lengths here are ratios of the toe radius R; angles in radians; `eps` is the lever angle of the theory notes,
//! positive when the entry pallet is lifted out (minus the lever angle of the movement).
//! Theory: docs/theory/geometry.md.

use movement::{At, ByPallet, Pallet, ParamId, ParamKind};
use std::f64::consts::{FRAC_PI_2, PI, TAU};

use crate::number::{Number, Point};

/// Number of unknown dimensions: tooth width and heel radius, and five for each stone.
pub(crate) const UNKNOWNS: usize = 12;

/// The five dimensions that fix a stone's two corners and its locking face.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct StoneDims<T> {
    /// Distance of the locking corner from the pallet centre.
    pub locking_distance_ratio: T,
    /// Its angle from the line to the wheel centre, lever in the middle.
    pub locking_rad: T,
    /// Distance of the let-off corner from the pallet centre.
    pub let_off_distance_ratio: T,
    /// Its angle.
    pub let_off_rad: T,
    /// Draw at the locking corner.
    pub draw_rad: T,
}

/// What is given before anything is closed: counts, planting, finish of the corners, where draw and share are read.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Frame {
    pub tooth_count: f64,
    pub spaces_spanned_ratio: f64,
    pub centres_ratio: f64,
    pub draw_depth_rad: ByPallet<f64>,
    pub front_lean_rad: f64,
    pub back_lean_rad: f64,
    pub toe_round_ratio: f64,
    pub heel_round_ratio: f64,
    pub locking_round_ratio: ByPallet<f64>,
    pub let_off_round_ratio: ByPallet<f64>,
    /// 0 mean, 1 entry, 2 exit.
    pub read_on: usize,
}

/// Wheel and pallets as far as their theoretical corners go.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Drawn<T = f64> {
    pub frame: Frame,
    pub tooth_width_rad: T,
    pub heel_ratio: T,
    pub stones: ByPallet<StoneDims<T>>,
}

/// What several quantities of a drawing are read from, each computed once.
pub(crate) struct Placed<T = f64> {
    drawn: Drawn<T>,
    /// Centre of the toe's rounding, toe direction along +x.
    toe_centre: Point<T>,
    toe_centre_ratio: T,
    heel: Point<T>,
    /// Centre of the heel's rounding, in the same frame.
    heel_centre: Point<T>,
    heel_centre_ratio: T,
    stones: ByPallet<PlacedStone<T>>,
}

/// A stone in the lever's frame (pallet centre at the origin, lever in the middle).
#[derive(Clone, Copy)]
struct PlacedStone<T> {
    locking: Point<T>,
    let_off: Point<T>,
    /// Direction of the locking face into the stone.
    face: Point<T>,
    /// Distance of the centre of the let-off corner's rounding from the pallet centre.
    let_off_centre_ratio: T,
    unlocking_rad: T,
    let_off_rad: T,
}

/// A quantity with a closed form: a parameter, or the placing of one stone (the parameter speaks of both).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Quantity {
    Param(ParamId),
    Placing(Pallet),
}

impl Frame {
    /// The drawing with these unknowns: tooth width, heel radius, and the five of each stone.
    pub(crate) fn drawn<T: Number>(&self, u: &[T; UNKNOWNS]) -> Drawn<T> {
        let stone = |at: usize| StoneDims {
            locking_distance_ratio: u[at],
            locking_rad: u[at + 1],
            let_off_distance_ratio: u[at + 2],
            let_off_rad: u[at + 3],
            draw_rad: u[at + 4],
        };
        let stones = ByPallet { entry: stone(2), exit: stone(7) };
        Drawn { frame: *self, tooth_width_rad: u[0], heel_ratio: u[1], stones }
    }

    /// Half the angle spanned by the pallets at the wheel centre.
    pub(crate) fn half_span_rad(&self) -> f64 {
        PI * self.spaces_spanned_ratio / self.tooth_count
    }

    /// Angle at the pallet centre, from the line to the wheel centre, of a point at `rho` from it and `r` from the wheel centre.
    pub(crate) fn beta<T: Number>(&self, rho: T, r: T) -> T {
        let c = self.centres_ratio;
        ((rho * rho + c * c - r * r) / (rho * (2.0 * c))).acos()
    }

    /// Angle at the wheel centre, from the line to the pallet centre, of the same point.
    pub(crate) fn kappa<T: Number>(&self, rho: T, r: T) -> T {
        let c = self.centres_ratio;
        ((r * r + c * c - rho * rho) / (r * (2.0 * c))).acos()
    }

    /// Distance from the pallet centre of the point of the circle `r` at `kappa` from the line of centres.
    pub(crate) fn rho(&self, r: f64, kappa: f64) -> f64 {
        let c = self.centres_ratio;
        (r * r + c * c - 2.0 * r * c * kappa.cos()).sqrt()
    }
}

impl Drawn {
    pub(crate) fn unknowns(&self) -> [f64; UNKNOWNS] {
        let mut u = [0.0; UNKNOWNS];
        (u[0], u[1]) = (self.tooth_width_rad, self.heel_ratio);
        for (pallet, at) in [(Pallet::Entry, 2), (Pallet::Exit, 7)] {
            let s = self.stones[pallet];
            u[at..at + 5].copy_from_slice(&[
                s.locking_distance_ratio,
                s.locking_rad,
                s.let_off_distance_ratio,
                s.let_off_rad,
                s.draw_rad,
            ]);
        }
        u
    }
}

impl<T: Number> Drawn<T> {
    pub(crate) fn placed(self) -> Placed<T> {
        let f = &self.frame;
        let toe = Point::of(1.0, 0.0);
        let (sin, cos) = self.tooth_width_rad.sin_cos();
        let out = Point { x: cos, y: sin };
        let heel = out * self.heel_ratio;
        let (mut toe_centre, mut heel_centre) = (toe, heel);
        if f.toe_round_ratio > 0.0 || f.heel_round_ratio > 0.0 {
            let up_front = Point::of(f.front_lean_rad.cos(), -f.front_lean_rad.sin());
            let down_back = -out * T::of(f.back_lean_rad.cos()) + out.quarter() * T::of(f.back_lean_rad.sin());
            let along = (heel - toe).unit();
            toe_centre = rounding_centre(toe, up_front, along, f.toe_round_ratio);
            heel_centre = rounding_centre(heel, along, down_back, f.heel_round_ratio);
        }
        let (toe_centre_ratio, heel_centre_ratio) = (
            norm_of(toe_centre, f.toe_round_ratio, T::of(1.0)),
            norm_of(heel_centre, f.heel_round_ratio, self.heel_ratio),
        );
        let stones = ByPallet::from_fn(|p| self.placed_stone(p, toe_centre_ratio, heel_centre_ratio));
        Placed { drawn: self, toe_centre, toe_centre_ratio, heel, heel_centre, heel_centre_ratio, stones }
    }

    fn placed_stone(&self, pallet: Pallet, toe_centre_ratio: T, heel_centre_ratio: T) -> PlacedStone<T> {
        let (f, s, outward) = (&self.frame, &self.stones[pallet], pallet.outward());
        let at = |rho: T, (sin, cos): (T, T)| Point { x: rho * sin * outward, y: -(rho * cos) };
        let to_locking = s.locking_rad.sin_cos();
        let locking = at(s.locking_distance_ratio, to_locking);
        let let_off = at(s.let_off_distance_ratio, s.let_off_rad.sin_cos());
        // Square to the line from the pallet centre, away from the wheel; then turned by the draw so that the
        // corner trails toward the oncoming tooth.
        let neutral = at(T::of(outward), to_locking).quarter();
        let (sin, cos) = s.draw_rad.sin_cos();
        let face = neutral.turned((-sin, cos));

        let (locking_round, let_off_round) = (f.locking_round_ratio[pallet], f.let_off_round_ratio[pallet]);
        // Of a sharp corner the distance and angle are unknowns themselves.
        let (mut locking_centre, mut let_off_centre) =
            ((s.locking_distance_ratio, s.locking_rad), (s.let_off_distance_ratio, s.let_off_rad));
        if locking_round > 0.0 || let_off_round > 0.0 {
            let along = (let_off - locking).unit();
            // Distance from the pallet centre, and angle from the line to the wheel centre to the pallet's side.
            let seen = |p: Point<T>| (p.norm(), (p.x * outward).atan2(-p.y));
            if locking_round > 0.0 {
                locking_centre = seen(rounding_centre(locking, -face, along, locking_round));
            }
            if let_off_round > 0.0 {
                let_off_centre = seen(rounding_centre(let_off, along, face, let_off_round));
            }
        }
        // The tooth lies beyond the entry stone's corner, and on the near side of the exit stone's.
        let tooth_ratio = locking_centre.0 - outward * (f.toe_round_ratio + locking_round);
        let let_off_circle = heel_centre_ratio + (f.heel_round_ratio + let_off_round);
        PlacedStone {
            locking,
            let_off,
            face,
            let_off_centre_ratio: let_off_centre.0,
            unlocking_rad: (f.beta(tooth_ratio, toe_centre_ratio) - locking_centre.1) * -outward,
            let_off_rad: (f.beta(let_off_centre.0, let_off_circle) - let_off_centre.1) * -outward,
        }
    }
}

impl<T: Number> Placed<T> {
    pub(crate) fn drawn(&self) -> &Drawn<T> {
        &self.drawn
    }

    /// `eps` at which the wheel's turning back ends: the contact of toe and locking corner lies on the line from the
    /// pallet centre through the corner's rounding. With both sharp, the locking corner stands on the toe circle.
    pub(crate) fn unlocking_rad(&self, pallet: Pallet) -> T {
        self.stones[pallet].unlocking_rad
    }

    /// `eps` at which the stone has left the largest circle of the wheel.
    pub(crate) fn let_off_rad(&self, pallet: Pallet) -> T {
        self.stones[pallet].let_off_rad
    }

    /// Toe on the line of the locking face at `eps`: centre of the toe's rounding, direction of the face, and what leads
    /// from where they touch to the centre.
    fn on_locking_face(&self, pallet: Pallet, eps: T) -> (Point<T>, Point<T>, Point<T>) {
        let s = &self.stones[pallet];
        let (sin, cos) = eps.sin_cos();
        let turn = (-sin, cos);
        let along = s.face.turned(turn);
        let off_face = along.quarter() * T::of(self.drawn.frame.toe_round_ratio);
        let corner = s.locking.turned(turn) + Point::of(0.0, self.drawn.frame.centres_ratio) + off_face;
        let b = corner.dot(along);
        let reach = self.toe_centre_ratio * self.toe_centre_ratio;
        let centre = corner + along * ((b * b - corner.dot(corner) + reach).sqrt() - b);
        (centre, along, off_face)
    }

    /// Draw where the toe touches the locking face at `eps`.
    fn draw_at_rad(&self, pallet: Pallet, eps: T) -> T {
        let (centre, along, off_face) = self.on_locking_face(pallet, eps);
        let arm = centre - off_face - Point::of(0.0, self.drawn.frame.centres_ratio);
        let neutral = arm.quarter() * T::of(pallet.outward());
        along.cross(neutral).atan2(along.dot(neutral))
    }

    fn drop_rad(&self, pallet: Pallet) -> T {
        let (f, s) = (&self.drawn.frame, &self.stones[pallet]);
        let let_off_circle = self.heel_centre_ratio + (f.heel_round_ratio + f.let_off_round_ratio[pallet]);
        let at_let_off = f.kappa(s.let_off_centre_ratio, let_off_circle);
        let heel = at_let_off * -pallet.outward() + FRAC_PI_2;
        let (toe, ..) = self.on_locking_face(pallet.other(), s.let_off_rad);
        let width = self.heel_centre.direction_rad() - self.toe_centre.direction_rad();
        let free = heel - width - toe.direction_rad();
        let pitch = TAU / f.tooth_count;
        free - pitch * (free.value() / pitch).round()
    }

    fn breadth_rad(&self, pallet: Pallet) -> T {
        let (f, s) = (&self.drawn.frame, &self.drawn.stones[pallet]);
        let kappa = |rho: T| f.kappa(rho, T::of(1.0));
        (kappa(s.locking_distance_ratio) - kappa(s.let_off_distance_ratio)) * -pallet.outward()
    }

    /// Share of the lift given by the tooth's face on the let-off arc of one pallet.
    pub(crate) fn tooth_share_rad(&self, pallet: Pallet) -> T {
        let rho = self.drawn.stones[pallet].let_off_distance_ratio;
        let f = &self.drawn.frame;
        f.beta(rho, self.drawn.heel_ratio) - f.beta(rho, T::of(1.0))
    }

    /// Value of a quantity; lengths as ratios of R.
    pub(crate) fn value(&self, quantity: Quantity) -> T {
        use ParamKind as K;
        let d = &self.drawn;
        let id = match quantity {
            Quantity::Placing(p) => {
                let locking = d.frame.kappa(d.stones[p].locking_distance_ratio, T::of(1.0));
                return (locking - d.frame.half_span_rad()) * -p.outward() / self.breadth_rad(p);
            }
            Quantity::Param(id) => id,
        };
        let At::Pallet(p) = id.at else {
            return match id.kind {
                K::WheelToothWidth => d.tooth_width_rad,
                K::WheelHeelRadius => d.heel_ratio,
                K::WheelToothLift => match d.frame.read_on {
                    1 => self.tooth_share_rad(Pallet::Entry),
                    2 => self.tooth_share_rad(Pallet::Exit),
                    _ => (self.tooth_share_rad(Pallet::Entry) + self.tooth_share_rad(Pallet::Exit)) * 0.5,
                },
                K::WheelToothFaceAngle => (self.heel - Point::of(1.0, 0.0)).direction_rad(),
                K::LeverOutOfAngle => (self.let_off_rad(Pallet::Entry) + self.let_off_rad(Pallet::Exit)) * -0.5,
                _ => unreachable!("{id} has no closed form here"),
            };
        };
        let s = &d.stones[p];
        match id.kind {
            K::PalletLock => (self.unlocking_rad(p) - self.let_off_rad(p.other())) * -p.outward(),
            K::PalletLift => (self.let_off_rad(p) - self.unlocking_rad(p)) * -p.outward(),
            K::PalletBreadth => self.breadth_rad(p),
            K::PalletDrop => self.drop_rad(p),
            K::PalletDraw => {
                let depth_rad = d.frame.draw_depth_rad[p];
                if depth_rad == 0.0 {
                    s.draw_rad
                } else {
                    self.draw_at_rad(p, self.unlocking_rad(p) + p.outward() * depth_rad)
                }
            }
            K::PalletLockingDistance => s.locking_distance_ratio,
            K::PalletLetOffDistance => s.let_off_distance_ratio,
            K::PalletLockingAngle => s.locking_rad,
            K::PalletLetOffAngle => s.let_off_rad,
            K::StoneWidth | K::StoneFaceAngle => {
                let PlacedStone { locking, let_off, face, .. } = self.stones[p];
                let chord = let_off - locking;
                let square = -face.quarter();
                if id.kind == K::StoneWidth { chord.dot(square) } else { (-chord.dot(face)).atan2(chord.dot(square)) }
            }
            _ => unreachable!("{id} has no closed form here"),
        }
    }
}

/// Centre of the rounding of radius `radius` of a corner, given the unit directions of walking into it and out of it.
fn rounding_centre<T: Number>(corner: Point<T>, walk_in: Point<T>, walk_out: Point<T>, radius: f64) -> Point<T> {
    if radius == 0.0 { corner } else { corner + (walk_out - walk_in) * (T::of(radius) / walk_in.cross(walk_out)) }
}

/// Distance of the centre of a corner's rounding from the axis; `sharp` is that of the corner.
fn norm_of<T: Number>(centre: Point<T>, radius: f64, sharp: T) -> T {
    if radius == 0.0 { sharp } else { centre.norm() }
}
