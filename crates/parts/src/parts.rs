//! The drawn parts, each in a frame of its own, and where their axes stand.

use movement::{ByPallet, Diagnostic, Movement, Pallet, ParamId, ParamKind as K};
use plane::{Feature, Pose, Profile, ProfileError, Vector, features, polar};
use std::f64::consts::{FRAC_PI_2, TAU};

use crate::build::shown;
use crate::face::Face;
use crate::{banking, lever, roller, stone, wheel};

/// An outline and what it touches others with. Lengths in metres.
#[derive(Clone, Debug, Default)]
pub struct Body {
    /// Lines and arcs, material on the left.
    pub profile: Profile,
    /// The same as faces and corners with outward normals.
    pub features: Vec<Feature>,
}

impl Body {
    pub(crate) fn new(profile: Profile) -> Body {
        Body { features: features(&profile), profile }
    }

    /// The face that feature number `at` belongs to.
    pub fn face(&self, at: usize) -> Face {
        self.features[at].label.into()
    }

    /// Features in another place, written over `into`.
    pub fn pose_into(&self, pose: &Pose, into: &mut Vec<Feature>) {
        into.clear();
        into.extend(self.features.iter().map(|f| f.posed(pose)));
    }
}

/// Axes of the three arbors, in the drawing's frame (wheel centre as planted at the origin, pallet centre on +y). Metres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Centres {
    /// Escape wheel.
    pub wheel_m: Vector,
    /// Pallets and lever.
    pub pallet_m: Vector,
    /// Balance.
    pub balance_m: Vector,
    /// Pallet centre of the plate, from which the bankings were planted (no sideshake).
    pub plate_pallet_m: Vector,
}

/// Escape wheel. Frame: axis at the origin; at wheel angle 0 the toe of tooth 0 points to +y; tooth j follows it by j
/// pitches, anticlockwise, and so arrives j pitches later.
#[derive(Clone, Debug)]
pub struct Wheel {
    /// Number of teeth.
    pub tooth_count: u16,
    /// Outline of tooth 0 alone when all are alike, else of every tooth: open chains from the foot of the front to the
    /// foot of the next tooth's front.
    pub teeth: Vec<Body>,
    /// Largest distance of any tooth from the axis.
    pub reach_m: f64,
    /// Openings of the web and the bore, each a closed outline walked clockwise; for drawing and inertia.
    pub openings: Vec<Profile>,
}

impl Wheel {
    /// Whether every tooth is like tooth 0 and the wheel runs true.
    pub fn alike(&self) -> bool {
        self.teeth.len() == 1
    }

    /// Angle from one tooth to the next.
    pub fn pitch_rad(&self) -> f64 {
        TAU / f64::from(self.tooth_count)
    }

    /// Outline of tooth `tooth` and the turn that brings it to its place on the wheel (in SI: radians).
    pub fn tooth(&self, tooth: u16) -> (&Body, f64) {
        if self.alike() {
            (&self.teeth[0], f64::from(tooth) * self.pitch_rad())
        } else {
            (&self.teeth[tooth as usize], 0.0)
        }
    }

    /// The whole toothed outline in the wheel's frame, closed.
    pub fn outline(&self) -> Profile {
        let mut whole = Profile { closed: true, ..Profile::default() };
        for j in 0..self.tooth_count {
            let (body, turn) = self.tooth(j);
            let posed = body.profile.posed(&Pose::new(turn, Vector::zeros()));
            whole.edges.extend(posed.edges);
            whole.corners.extend(posed.corners);
        }
        whole
    }
}

/// A pallet stone, in the lever's frame.
#[derive(Clone, Debug)]
pub struct Stone {
    /// Closed outline.
    pub body: Body,
    /// Locking corner before rounding.
    pub locking_corner_m: Vector,
    /// Let-off corner before rounding.
    pub let_off_corner_m: Vector,
    /// Unit direction of the locking face from its corner into the stone.
    pub face: Vector,
}

/// Lever with its stones, fork and guard. Frame: pallet axis at the origin, turned as when the lever is in the middle.
#[derive(Clone, Debug)]
pub struct Lever {
    /// The two stones.
    pub stones: ByPallet<Stone>,
    /// Bar, fork notch and horns: one closed outline.
    pub fork: Body,
    /// Unit direction of the fork's middle, from the pallet axis.
    pub fork_axis: Vector,
    /// Dart or guard pin.
    pub guard: Body,
}

/// Rollers and impulse jewel. Frame: balance axis at the origin; at jewel angle 0 the jewel points at the pallet
/// centre; turned with the line of the lever.
#[derive(Clone, Debug)]
pub struct Roller {
    /// Impulse jewel.
    pub jewel: Body,
    /// Guarded edge with its crescent.
    pub safety: Body,
    /// Radius of the impulse roller, for drawing.
    pub radius_m: f64,
    /// Whether the crescent is cut into the impulse roller itself.
    pub single: bool,
    /// Jewel angle when the balance is at rest.
    pub rest_rad: f64,
    /// Distance of the jewel's outermost point from the balance axis.
    pub jewel_reach_m: f64,
}

/// All parts of an escapement, drawn.
#[derive(Clone, Debug)]
pub struct Parts {
    /// Where the axes stand.
    pub centres: Centres,
    /// Escape wheel.
    pub wheel: Wheel,
    /// Lever.
    pub lever: Lever,
    /// Rollers and jewel.
    pub roller: Roller,
    /// The banking on which the lever rests while a tooth is locked on the pallet named; in the drawing's frame.
    pub bankings: ByPallet<Body>,
    /// Direction from pallet to balance centre less +y, anticlockwise.
    pub line_rad: f64,
}

impl Parts {
    /// Draws the parts of a closed movement.
    ///
    /// # Errors
    /// Dimensions that make no part, as diagnostics about their parameters; all of them.
    pub fn draw(movement: &Movement) -> Result<Parts, Vec<Diagnostic>> {
        let mut faults = Vec::new();
        let line_rad = movement.si(K::LeverLineAngle);
        let centres = centres(movement);
        let mut keep = |part: Result<Body, Vec<Diagnostic>>| {
            part.unwrap_or_else(|found| {
                faults.extend(found);
                Body::default()
            })
        };
        let fork = keep(lever::fork(movement));
        let guard = keep(lever::guard(movement));
        let jewel = keep(roller::jewel(movement));
        let safety = keep(roller::safety(movement));
        let bankings = ByPallet::from_fn(|p| keep(banking::banking(movement, p)));
        let mut stone_of = |p| stone::stone(movement, p).map_err(|found| faults.extend(found)).ok();
        let stones = (stone_of(Pallet::Entry), stone_of(Pallet::Exit));
        let wheel = wheel::wheel(movement).map_err(|found| faults.extend(found)).ok();
        let (Some(wheel), (Some(entry), Some(exit)), true) = (wheel, stones, faults.is_empty()) else {
            return Err(faults);
        };
        let jewel_reach_m = jewel.profile.reach(Vector::zeros());
        Ok(Parts {
            centres,
            wheel,
            lever: Lever { stones: ByPallet { entry, exit }, fork, fork_axis: lever::fork_axis(movement), guard },
            roller: Roller {
                jewel,
                safety,
                radius_m: movement.si(K::RollerRadius),
                single: movement.word(K::RollerForm) == "single",
                rest_rad: movement.si(K::RollerTurn),
                jewel_reach_m,
            },
            bankings,
            line_rad,
        })
    }

    /// Pose of the wheel's parts at a wheel angle (anticlockwise positive; it advances toward negative angles).
    pub fn wheel_pose(&self, wheel_rad: f64) -> Pose {
        Pose::new(wheel_rad, self.centres.wheel_m)
    }

    /// Pose of the lever's parts at a lever angle.
    pub fn lever_pose(&self, lever_rad: f64) -> Pose {
        Pose::new(lever_rad, self.centres.pallet_m)
    }

    /// Pose of the roller's parts at a jewel angle (balance angle plus the jewel's own angle at rest).
    pub fn roller_pose(&self, jewel_rad: f64) -> Pose {
        Pose::new(jewel_rad + self.line_rad, self.centres.balance_m)
    }
}

fn centres(movement: &Movement) -> Centres {
    let at = |across: K, along: K| Vector::new(movement.si(across), movement.si(along));
    let plate_pallet_m =
        Vector::new(0.0, movement.si(K::CentresWheelPallet) + movement.si(K::CentresWheelPalletChange));
    let to_balance = movement.si(K::CentresPalletBalance) + movement.si(K::CentresPalletBalanceChange);
    let line_rad = FRAC_PI_2 + movement.si(K::LeverLineAngle);
    Centres {
        wheel_m: at(K::WheelAcross, K::WheelAlong),
        pallet_m: plate_pallet_m + at(K::PalletAcross, K::PalletAlong),
        balance_m: plate_pallet_m + polar(to_balance, line_rad) + at(K::BalanceAcross, K::BalanceAlong),
        plate_pallet_m,
    }
}

/// A corner that does not fit, as a diagnostic about the parameter that asked for it.
pub(crate) fn corner_fault(error: ProfileError, id: ParamId, movement: &Movement) -> Diagnostic {
    let ProfileError::CornerTooLarge { before, after, .. } = error else {
        return Diagnostic::error("no-such-part", error.to_string()).about(id);
    };
    let value = movement.get(id).map_or(f64::NAN, |(si, _)| si);
    let room_mm = 1e3 * before.min(after);
    Diagnostic::error("corner-too-large", format!("{id} does not fit between its faces"))
        .about(id)
        .value(shown(id, value))
        .allowed(format!("less than the shorter face, {room_mm:.4} mm, and than the angle of the corner lets through"))
        .hint("make the corner smaller")
}

/// The order two dimensions must have.
pub(crate) fn must_exceed(larger: ParamId, smaller: ParamId, movement: &Movement, faults: &mut Vec<Diagnostic>) {
    let si = |id: ParamId| movement.get(id).map_or(f64::NAN, |(v, _)| v);
    if si(larger) > si(smaller) {
        return;
    }
    faults.push(
        Diagnostic::error("no-such-part", format!("{larger} must be larger than {smaller}"))
            .about(larger)
            .about(smaller)
            .value(shown(larger, si(larger)))
            .allowed(format!("more than {}", shown(smaller, si(smaller))))
            .hint("correct one of the two"),
    );
}
