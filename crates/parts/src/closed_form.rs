//! Closed forms of wheel and pallets with flat faces and sharp or rounded corners: what each parameter of the pallets
//! is, given the drawn ones. Chamfers and domes are not in them: what these change is found by contact.
//!
//! Used by the synthesis only. The action is found by contact and never calls these.
//! Lengths here are ratios of the toe radius R; angles in radians; `eps` is the lever angle of the theory notes,
//! positive when the entry pallet is lifted out (minus the lever angle of the movement).
//! Theory: docs/theory/geometry.md.

use movement::{At, ByPallet, Pallet, ParamId, ParamKind};
use plane::{Pose, Vector, cross, direction_rad, polar, quarter, wrap_rad};
use std::f64::consts::{FRAC_PI_2, PI, TAU};

/// The five dimensions that fix a stone's two corners and its locking face.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct StoneDims {
    /// Distance of the locking corner from the pallet centre.
    pub locking_distance_ratio: f64,
    /// Its angle from the line to the wheel centre, lever in the middle.
    pub locking_rad: f64,
    /// Distance of the let-off corner from the pallet centre.
    pub let_off_distance_ratio: f64,
    /// Its angle.
    pub let_off_rad: f64,
    /// Draw at the locking corner.
    pub draw_rad: f64,
}

/// Wheel and pallets as far as their theoretical corners go.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Drawn {
    pub tooth_count: f64,
    pub spaces_spanned_ratio: f64,
    pub centres_ratio: f64,
    pub tooth_width_rad: f64,
    pub heel_ratio: f64,
    pub stones: ByPallet<StoneDims>,
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

/// Number of unknown dimensions: tooth width and heel radius, and five for each stone.
pub(crate) const UNKNOWNS: usize = 12;

/// A quantity with a closed form: a parameter, or the placing of one stone (the parameter speaks of both).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Quantity {
    Param(ParamId),
    Placing(Pallet),
}

impl Quantity {
    /// The unknowns it can depend on, as bits in the order of [`Drawn::unknowns`].
    pub(crate) fn depends(self) -> u32 {
        use ParamKind as K;
        const TOOTH: u32 = 0b11;
        const ALL: u32 = (1 << UNKNOWNS) - 1;
        let stone = |p: Pallet| if p == Pallet::Entry { 0b11111 << 2 } else { 0b11111 << 7 };
        match self {
            Quantity::Placing(p) => stone(p),
            Quantity::Param(ParamId { kind: K::PalletLock | K::PalletDrop, .. }) => ALL,
            Quantity::Param(ParamId { kind: K::PalletLift | K::PalletDraw, at: At::Pallet(p) }) => TOOTH | stone(p),
            Quantity::Param(ParamId { at: At::Pallet(p), .. }) => stone(p),
            Quantity::Param(ParamId { kind: K::WheelToothLift | K::LeverOutOfAngle, .. }) => ALL,
            Quantity::Param(_) => TOOTH,
        }
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

    pub(crate) fn with_unknowns(&self, u: &[f64; UNKNOWNS]) -> Drawn {
        let stone = |at: usize| StoneDims {
            locking_distance_ratio: u[at],
            locking_rad: u[at + 1],
            let_off_distance_ratio: u[at + 2],
            let_off_rad: u[at + 3],
            draw_rad: u[at + 4],
        };
        Drawn { tooth_width_rad: u[0], heel_ratio: u[1], stones: ByPallet { entry: stone(2), exit: stone(7) }, ..*self }
    }

    /// Half the angle spanned by the pallets at the wheel centre.
    pub(crate) fn half_span_rad(&self) -> f64 {
        PI * self.spaces_spanned_ratio / self.tooth_count
    }

    /// Angle at the pallet centre, from the line to the wheel centre, of a point at `rho` from it and `r` from the wheel centre.
    pub(crate) fn beta(&self, rho: f64, r: f64) -> f64 {
        let c = self.centres_ratio;
        ((rho * rho + c * c - r * r) / (2.0 * rho * c)).acos()
    }

    /// Angle at the wheel centre, from the line to the pallet centre, of the same point.
    pub(crate) fn kappa(&self, rho: f64, r: f64) -> f64 {
        let c = self.centres_ratio;
        ((c * c + r * r - rho * rho) / (2.0 * c * r)).acos()
    }

    /// Distance from the pallet centre of the point of the circle `r` at `kappa` from the line of centres.
    pub(crate) fn rho(&self, r: f64, kappa: f64) -> f64 {
        let c = self.centres_ratio;
        (r * r + c * c - 2.0 * r * c * kappa.cos()).sqrt()
    }

    /// `eps` at which the wheel's turning back ends: the contact of toe and locking corner lies on the line from the
    /// pallet centre through the corner's rounding. With both sharp, the locking corner stands on the toe circle.
    pub(crate) fn unlocking_rad(&self, pallet: Pallet) -> f64 {
        let s = self.stones[pallet];
        let both = self.toe_round_ratio + self.locking_round_ratio[pallet];
        if both == 0.0 {
            return (self.beta(s.locking_distance_ratio, 1.0) - s.locking_rad) * -pallet.outward();
        }
        let (locking, let_off, face) = self.corners(pallet);
        let centre = rounding_centre(locking, -face, (let_off - locking).normalize(), self.locking_round_ratio[pallet]);
        // The tooth lies beyond the entry stone's corner, and on the near side of the exit stone's.
        let tooth_ratio = centre.norm() - pallet.outward() * both;
        (self.beta(tooth_ratio, self.toe_centre().norm()) - from_centres(centre, pallet)) * -pallet.outward()
    }

    /// `eps` at which the stone has left the largest circle of the wheel.
    pub(crate) fn let_off_rad(&self, pallet: Pallet) -> f64 {
        let s = self.stones[pallet];
        if self.heel_round_ratio == 0.0 && self.let_off_round_ratio[pallet] == 0.0 {
            return (self.beta(s.let_off_distance_ratio, self.heel_ratio) - s.let_off_rad) * -pallet.outward();
        }
        let centre = self.let_off_centre(pallet);
        (self.beta(centre.norm(), self.let_off_circle(pallet)) - from_centres(centre, pallet)) * -pallet.outward()
    }

    /// Centre of the toe's rounding, toe direction along +x.
    fn toe_centre(&self) -> Vector {
        let toe = Vector::new(1.0, 0.0);
        let up_front = Vector::new(self.front_lean_rad.cos(), -self.front_lean_rad.sin());
        rounding_centre(toe, up_front, (self.heel() - toe).normalize(), self.toe_round_ratio)
    }

    fn heel(&self) -> Vector {
        polar(self.heel_ratio, self.tooth_width_rad)
    }

    /// Centre of the heel's rounding, in the same frame.
    fn heel_centre(&self) -> Vector {
        let heel = self.heel();
        let (out, back) = (heel.normalize(), self.back_lean_rad);
        let down_back = -out * back.cos() + quarter(out) * back.sin();
        rounding_centre(heel, (heel - Vector::new(1.0, 0.0)).normalize(), down_back, self.heel_round_ratio)
    }

    /// Centre of the let-off corner's rounding, in the lever's frame.
    fn let_off_centre(&self, pallet: Pallet) -> Vector {
        let (locking, let_off, face) = self.corners(pallet);
        rounding_centre(let_off, (let_off - locking).normalize(), face, self.let_off_round_ratio[pallet])
    }

    /// Distance from the wheel centre at which that centre stands at let-off.
    fn let_off_circle(&self, pallet: Pallet) -> f64 {
        self.heel_centre().norm() + self.heel_round_ratio + self.let_off_round_ratio[pallet]
    }

    /// Locking and let-off corner and the direction of the locking face into the stone, in the lever's frame
    /// (pallet centre at the origin, lever in the middle).
    pub(crate) fn corners(&self, pallet: Pallet) -> (Vector, Vector, Vector) {
        let s = self.stones[pallet];
        let at = |rho: f64, a: f64| Vector::new(pallet.outward() * rho * a.sin(), -rho * a.cos());
        let locking = at(s.locking_distance_ratio, s.locking_rad);
        let let_off = at(s.let_off_distance_ratio, s.let_off_rad);
        // Square to the line from the pallet centre, away from the wheel; then turned by the draw so that the
        // corner trails toward the oncoming tooth.
        let neutral = quarter(locking) * (pallet.outward() / s.locking_distance_ratio);
        let face = Pose::new(-s.draw_rad, Vector::zeros()).direction(neutral);
        (locking, let_off, face)
    }

    /// Toe on the line of the locking face at `eps`: polar angle of the centre of the toe's rounding, and the draw where
    /// it touches.
    fn on_locking_face(&self, pallet: Pallet, eps: f64) -> (f64, f64) {
        let (locking, _, face) = self.corners(pallet);
        let pose = Pose::new(-eps, Vector::new(0.0, self.centres_ratio));
        let along = pose.direction(face);
        let off_face = quarter(along) * self.toe_round_ratio;
        let corner = pose.point(locking) + off_face;
        let b = corner.dot(&along);
        let centre = corner + along * (-b + (b * b - corner.norm_squared() + self.toe_centre().norm_squared()).sqrt());
        let arm = centre - off_face - Vector::new(0.0, self.centres_ratio);
        let neutral = quarter(arm) * pallet.outward();
        (direction_rad(centre), cross(along, neutral).atan2(along.dot(&neutral)))
    }

    fn drop_rad(&self, pallet: Pallet) -> f64 {
        let eps = self.let_off_rad(pallet);
        let at_let_off = self.kappa(self.let_off_centre(pallet).norm(), self.let_off_circle(pallet));
        let heel = FRAC_PI_2 - pallet.outward() * at_let_off;
        let (toe, _) = self.on_locking_face(pallet.other(), eps);
        let pitch = TAU / self.tooth_count;
        let width = direction_rad(self.heel_centre()) - direction_rad(self.toe_centre());
        let free = heel - width - toe;
        free - pitch * (free / pitch).round()
    }

    fn breadth_rad(&self, pallet: Pallet) -> f64 {
        let s = self.stones[pallet];
        (self.kappa(s.locking_distance_ratio, 1.0) - self.kappa(s.let_off_distance_ratio, 1.0)) * -pallet.outward()
    }

    /// Share of the lift given by the tooth's face on the let-off arc of one pallet.
    pub(crate) fn tooth_share_rad(&self, pallet: Pallet) -> f64 {
        let rho = self.stones[pallet].let_off_distance_ratio;
        self.beta(rho, self.heel_ratio) - self.beta(rho, 1.0)
    }

    /// Value of a quantity; lengths as ratios of R.
    pub(crate) fn value(&self, quantity: Quantity) -> f64 {
        use ParamKind as K;
        let id = match quantity {
            Quantity::Placing(p) => {
                let from_radius = self.kappa(self.stones[p].locking_distance_ratio, 1.0) - self.half_span_rad();
                return -p.outward() * from_radius / self.breadth_rad(p);
            }
            Quantity::Param(id) => id,
        };
        let At::Pallet(p) = id.at else {
            return match id.kind {
                K::WheelToothWidth => self.tooth_width_rad,
                K::WheelHeelRadius => self.heel_ratio,
                K::WheelToothLift => match self.read_on {
                    1 => self.tooth_share_rad(Pallet::Entry),
                    2 => self.tooth_share_rad(Pallet::Exit),
                    _ => 0.5 * (self.tooth_share_rad(Pallet::Entry) + self.tooth_share_rad(Pallet::Exit)),
                },
                K::WheelToothFaceAngle => {
                    direction_rad(polar(self.heel_ratio, self.tooth_width_rad) - Vector::new(1.0, 0.0))
                }
                K::LeverOutOfAngle => -0.5 * (self.let_off_rad(Pallet::Entry) + self.let_off_rad(Pallet::Exit)),
                _ => unreachable!("{id} has no closed form here"),
            };
        };
        let s = self.stones[p];
        match id.kind {
            K::PalletLock => (self.unlocking_rad(p) - self.let_off_rad(p.other())) * -p.outward(),
            K::PalletLift => (self.let_off_rad(p) - self.unlocking_rad(p)) * -p.outward(),
            K::PalletBreadth => self.breadth_rad(p),
            K::PalletDrop => self.drop_rad(p),
            K::PalletDraw => {
                if self.draw_depth_rad[p] == 0.0 {
                    s.draw_rad
                } else {
                    self.on_locking_face(p, self.unlocking_rad(p) + p.outward() * self.draw_depth_rad[p]).1
                }
            }
            K::PalletLockingDistance => s.locking_distance_ratio,
            K::PalletLetOffDistance => s.let_off_distance_ratio,
            K::PalletLockingAngle => s.locking_rad,
            K::PalletLetOffAngle => s.let_off_rad,
            K::StoneWidth | K::StoneFaceAngle => {
                let (locking, let_off, face) = self.corners(p);
                let chord = let_off - locking;
                let square = -quarter(face);
                if id.kind == K::StoneWidth {
                    chord.dot(&square)
                } else {
                    wrap_rad((-chord.dot(&face)).atan2(chord.dot(&square)))
                }
            }
            _ => unreachable!("{id} has no closed form here"),
        }
    }
}

/// Centre of the rounding of radius `radius` of a corner, given the unit directions of walking into it and out of it.
fn rounding_centre(corner: Vector, walk_in: Vector, walk_out: Vector, radius: f64) -> Vector {
    if radius == 0.0 { corner } else { corner + (walk_out - walk_in) * (radius / cross(walk_in, walk_out)) }
}

/// Angle of a lever point from the line to the wheel centre, positive to the pallet's side.
fn from_centres(point: Vector, pallet: Pallet) -> f64 {
    (pallet.outward() * point.x).atan2(-point.y)
}
