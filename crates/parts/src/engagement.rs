//! Lift at the balance by contact, from the dimensions of fork and jewel alone: what the closing of the fork solves for.
//!
//! The touches are those by which the action is found on the drawn parts, taken here between the jewel and the wall and
//! corner of the notch that it meets; bench moves come later and are not in it.

use movement::{ByPallet, Diagnostic, Movement, Pallet, ParamKind as K};
use plane::{
    Feature, Flat, Label, Pose, Profile, Round, SLACK_RATIO, Shape, Touch, Vector, cross, features, quarter,
    touches_of_pair,
};
use std::f64::consts::FRAC_PI_2;

use crate::face::Face;
use crate::lever::horn_mouth;
use crate::parts::corner_fault;
use crate::roller;

/// Jewel width as a part of the balance lift of the radii: 12 of 30 deg in Watch and Clock Escapements, 1904, fig. 56.
pub(crate) const JEWEL_OF_LIFT_RATIO: f64 = 0.4;
/// Notch freedom as a part of the jewel's width. Assumed.
pub(crate) const NOTCH_FREEDOM_RATIO: f64 = 0.03;

/// Lever angles of both sides that differ by less are the same: the rounding of a few operations on them.
const MIRRORED_RAD: f64 = 4e-15;

/// What the closing of the fork varies.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Radii {
    pub centres_m: f64,
    pub jewel_m: f64,
    /// Half the balance lift of the radii.
    pub half_lift_rad: f64,
}

/// What is fixed before the fork is closed: where the lever stands, the jewel's section, and what is stated of widths.
#[derive(Clone, Debug)]
pub(crate) struct Engagement {
    /// Lever angles at the bankings, at the let-offs, and from which each horn is drawn.
    banked_rad: ByPallet<f64>,
    let_off_rad: ByPallet<f64>,
    horn_rad: ByPallet<f64>,
    /// The jewel's section of width 1, about its own centre.
    section: Profile,
    touching: Vec<Feature>,
    jewel_width_m: Option<f64>,
    jewel_width_rad: Option<f64>,
    notch_width_m: Option<f64>,
    notch_freedom_m: Option<f64>,
}

impl Engagement {
    /// Reads what is stated; bankings, horn freedom and the let-offs must be there.
    pub(crate) fn new(movement: &Movement, let_off_rad: ByPallet<f64>) -> Result<Engagement, Vec<Diagnostic>> {
        let si = |kind: K| movement.get(kind.once()).map(|(v, _)| v);
        let banked = |p: Pallet| movement.si_at(K::BankingLeverAngle, p);
        let section = roller::section(movement.word(K::JewelShape), movement.si(K::JewelCutRatio), 1.0)
            .map_err(|e| vec![corner_fault(e, K::JewelShape.once(), movement)])?;
        Ok(Engagement {
            banked_rad: ByPallet::from_fn(|p| -p.outward() * banked(p)),
            let_off_rad,
            horn_rad: ByPallet::from_fn(|p| banked(p) - movement.si(K::ForkHornFreedom)),
            touching: features(&section),
            section,
            jewel_width_m: si(K::JewelWidth),
            jewel_width_rad: si(K::JewelWidthAngle),
            notch_width_m: si(K::ForkNotchWidth),
            notch_freedom_m: si(K::ForkNotchFreedom),
        })
    }

    /// The pallets on whose sides the lever stands differently: one of them where they are mirror images.
    pub(crate) fn sides(&self) -> &'static [Pallet] {
        let apart = |a: &ByPallet<f64>, sign: f64| (a.entry + sign * a.exit).abs();
        let mirrored = apart(&self.banked_rad, 1.0).max(apart(&self.let_off_rad, 1.0)).max(apart(&self.horn_rad, -1.0));
        if mirrored < MIRRORED_RAD { &Pallet::BOTH[..1] } else { &Pallet::BOTH }
    }

    /// Width of the jewel, stated or default.
    pub(crate) fn jewel_width_m(&self, radii: &Radii) -> f64 {
        let angle_rad = self.jewel_width_rad.unwrap_or(JEWEL_OF_LIFT_RATIO * 2.0 * radii.half_lift_rad);
        self.jewel_width_m.unwrap_or(2.0 * radii.jewel_m * (0.5 * angle_rad).sin())
    }

    /// Width of the notch, stated or default.
    fn notch_width_m(&self, jewel_width_m: f64) -> f64 {
        let freedom_m = self.notch_freedom_m.unwrap_or(NOTCH_FREEDOM_RATIO * jewel_width_m);
        self.notch_width_m.unwrap_or(jewel_width_m + freedom_m)
    }

    /// Distance of the jewel's outermost point from the balance centre.
    pub(crate) fn jewel_reach_m(&self, radii: &Radii) -> f64 {
        let width_m = self.jewel_width_m(radii);
        width_m * self.section.reach(Vector::new(0.0, radii.jewel_m / width_m))
    }

    /// The two corners of the notch's mouth with the centres of their horns, in the lever's frame with the fork on +y;
    /// not a number where a horn cannot be drawn.
    pub(crate) fn mouths(&self, radii: &Radii) -> ByPallet<(Vector, Vector)> {
        let width_m = self.jewel_width_m(radii);
        let half_notch_m = 0.5 * self.notch_width_m(width_m);
        let reach_m = self.jewel_reach_m(radii);
        ByPallet::from_fn(|p| horn_mouth(p, radii.centres_m, half_notch_m, reach_m, self.horn_rad[p]))
    }

    /// The jewel on the line of centres.
    pub(crate) fn jewel(&self, radii: &Radii) -> Jewel<'_> {
        Jewel {
            touching: &self.touching,
            width_m: self.jewel_width_m(radii),
            centre_m: Vector::new(0.0, radii.centres_m - radii.jewel_m),
            balance_m: Vector::new(0.0, radii.centres_m),
        }
    }

    /// Lift at the balance: from the jewel meeting the notch with the lever banked to let-off, the mean of both pallets.
    /// Not a number where the jewel meets no wall of the notch.
    pub(crate) fn lift_rad(&self, radii: &Radii) -> f64 {
        let (mouths, jewel) = (self.mouths(radii), self.jewel(radii));
        let lift = |p: Pallet| {
            jewel.driven_rad(&mouths, p, self.let_off_rad[p]) - jewel.pressing_rad(&mouths, p, self.banked_rad[p])
        };
        let sides = self.sides();
        let mean_rad = sides.iter().map(|&p| lift(p)).sum::<f64>() / sides.len() as f64;
        if mean_rad.is_finite() { mean_rad } else { f64::NAN }
    }
}

/// The jewel on the line of centres, in the plate's frame: pallet centre at the origin, balance centre on +y.
pub(crate) struct Jewel<'a> {
    /// Features of the section of width 1, about its own centre.
    touching: &'a [Feature],
    width_m: f64,
    centre_m: Vector,
    balance_m: Vector,
}

impl Jewel<'_> {
    /// Jewel angle, in the sense in which the impulse of `p` turns the balance, at which the jewel coming in meets the far
    /// side of the notch with the lever at `lever_rad`; infinite where it does not.
    pub(crate) fn pressing_rad(&self, mouths: &ByPallet<(Vector, Vector)>, p: Pallet, lever_rad: f64) -> f64 {
        let sense = -p.outward();
        let mut met_rad = f64::INFINITY;
        self.touches(p.other(), mouths[p.other()], lever_rad, |t| {
            if t.opening * sense < 0.0 {
                met_rad = met_rad.min(t.angle_rad * sense);
            }
        });
        met_rad
    }

    /// The same at which the near side of the notch drives the jewel out; minus infinity where it does not.
    pub(crate) fn driven_rad(&self, mouths: &ByPallet<(Vector, Vector)>, p: Pallet, lever_rad: f64) -> f64 {
        let sense = -p.outward();
        let mut left_rad = f64::NEG_INFINITY;
        self.touches(p, mouths[p], lever_rad, |t| {
            if t.opening * sense > 0.0 && cross(t.point, t.normal) * sense < 0.0 {
                left_rad = left_rad.max(t.angle_rad * sense);
            }
        });
        left_rad
    }

    /// Touches, within a quarter turn of the line of centres, of the jewel with the wall of the notch on the side of
    /// `side` and with that wall's corner at `mouth`, the lever held at `lever_rad`.
    fn touches(
        &self,
        side: Pallet,
        (mouth, horn_centre): (Vector, Vector),
        lever_rad: f64,
        mut found: impl FnMut(&Touch),
    ) {
        let pose = Pose::new(lever_rad, Vector::zeros());
        let (at, inward) = (pose.point(mouth), pose.direction(Vector::new(-side.outward(), 0.0)));
        let onto_jewel = pose.direction((horn_centre - mouth).normalize());
        // As in the outline walked with the material on the left; as deep as the jewel can ask for.
        let (flat, from, to) = match side {
            Pallet::Exit => (Flat { start: at, along: quarter(inward), length: self.balance_m.y }, onto_jewel, inward),
            Pallet::Entry => {
                let along = quarter(inward);
                let length = self.balance_m.y;
                (Flat { start: at - along * length, along, length }, inward, onto_jewel)
            }
        };
        let label = Label::from(Face::NotchWall);
        let corner = Round { centre: at, radius: 0.0, from, to, wide: false, slack: SLACK_RATIO };
        let notch = [Shape::Flat(flat), Shape::Round(corner)].map(|shape| Feature { shape, label });
        self.touches_with(&notch, &mut found);
    }

    /// Touches, within a quarter turn of the line of centres, of the jewel with features that stand still.
    pub(crate) fn touches_with(&self, standing: &[Feature], mut found: impl FnMut(&Touch)) {
        for feature in self.touching {
            let moving = self.placed(feature);
            for standing in standing {
                touches_of_pair::<true>(&moving, self.balance_m, standing, |t| {
                    if t.angle_rad.abs() < FRAC_PI_2 {
                        found(&t);
                    }
                });
            }
        }
    }

    /// A feature of the section in its size and place.
    fn placed(&self, feature: &Feature) -> Feature {
        let at = |p: Vector| self.centre_m + p * self.width_m;
        let shape = match feature.shape {
            Shape::Flat(f) => Shape::Flat(Flat { start: at(f.start), length: f.length * self.width_m, ..f }),
            Shape::Round(r) => Shape::Round(Round { centre: at(r.centre), radius: r.radius * self.width_m, ..r }),
        };
        Feature { shape, ..*feature }
    }
}
