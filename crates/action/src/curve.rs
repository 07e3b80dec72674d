//! The contact curve of one tooth with one stone: for every lever angle, the wheel angle at which the stone stops it.

use movement::Pallet;
use parts::{Body, Face, Parts};
use plane::{Feature, Pose, Touch, Vector, cross, quarter, touches, touches_of_pair, wrap_rad};

use crate::event::{Events, face_of};

/// How far beyond an event the next contact is looked up, small enough not to pass over one that matters, to find *which* pair of features it is. No figure depends
/// on it: positions come from the pair's closed form at the event itself. Contacts that last less are passed over.
const LOOK_RAD: f64 = 1e-9;
/// A curve that jumps by more than this at a change of contact has lost its contact: the tooth falls. Ten times what
/// `LOOK_RAD` can hide at an arm ratio of ten.
const JUMP_RAD: f64 = 1e-6;
/// Least arm of the wheel, as a part of the lever's, at which a ratio of torques is given: a ratio of 20; chosen, ten times
/// what a lift has.
const LEAST_ARM_RATIO: f64 = 0.05;
/// Changes of contact after which a curve is given up as endless; sound ones need about six.
const MOST_SEGMENTS: usize = 64;

/// One contact of a tooth with a pallet stone. Drawing's frame, metres and radians.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Contact {
    /// Lever angle.
    pub lever_rad: f64,
    /// Wheel angle; the wheel advances toward smaller ones.
    pub wheel_rad: f64,
    /// Where they touch.
    pub point_m: Vector,
    /// Unit normal out of the stone.
    pub normal: Vector,
    /// Face or corner of the tooth.
    pub tooth_face: Face,
    /// Face or corner of the stone.
    pub stone_face: Face,
    /// Arm of the contact normal about the wheel axis; positive drives the stone.
    pub wheel_arm_m: f64,
    /// Arm of the contact normal about the pallet axis, anticlockwise positive.
    pub lever_arm_m: f64,
    /// Speed with which the tooth slides along the stone, per radian per second of wheel. Positive toward the stone's let-off side.
    pub sliding_m: f64,
    /// Draw: angle by which the force leans from the line to the pallet axis, positive when it pulls the stone in.
    pub draw_rad: f64,
}

impl Contact {
    /// Torque on the lever over torque on the wheel without friction, counted positive outward for `pallet`. Nothing
    /// where the wheel's arm is less than a twentieth of the lever's: on a rounded heel it goes to nothing at the let-off,
    /// and the ratio, then above 20, says only how near that is.
    pub fn torque_ratio(&self, pallet: Pallet) -> Option<f64> {
        // The tooth pushes against the normal.
        (self.wheel_arm_m.abs() > LEAST_ARM_RATIO * self.lever_arm_m.abs())
            .then(|| -pallet.outward() * self.lever_arm_m / self.wheel_arm_m)
    }
}

/// A stretch of a contact curve on which the same two features touch.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Segment {
    /// Where it begins.
    pub from: Contact,
    /// Where it ends.
    pub to: Contact,
    /// Wheel angle by which the tooth falls before it begins; 0 when contact is unbroken.
    pub fall_rad: f64,
    pub(crate) pair: Pair,
}

/// Feature of the tooth and feature of the stone.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Pair {
    tooth: usize,
    stone: usize,
}

/// How a curve ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CurveEnd {
    /// The tooth gets free.
    LetOff,
    /// The contact does not end within a quarter turn of the lever: the parts do not work as an escapement.
    Endless,
}

/// Room for posed features, kept between calls so that the contact loop allocates nothing.
#[derive(Clone, Debug, Default)]
pub struct Scratch {
    pub(crate) first: Vec<Feature>,
    pub(crate) second: Vec<Feature>,
    pub(crate) held: Vec<(Touch, Face)>,
}

/// A tooth against a stone.
pub(crate) struct Track<'a> {
    parts: &'a Parts,
    pallet: Pallet,
    tooth: &'a Body,
    turn_rad: f64,
    stone: &'a Body,
    to_pallet: Vector,
}

impl<'a> Track<'a> {
    pub(crate) fn new(parts: &'a Parts, pallet: Pallet, tooth: u16) -> Track<'a> {
        let (body, turn_rad) = parts.wheel.tooth(tooth);
        let to_pallet = parts.centres.pallet_m - parts.centres.wheel_m;
        Track { parts, pallet, tooth: body, turn_rad, stone: &parts.lever.stones[pallet].body, to_pallet }
    }

    /// The first touch when the tooth comes up from behind (wheel turning clockwise) with the lever at `lever_rad`:
    /// wheel angle nearest `near_rad` by whole turns, and the pair.
    pub(crate) fn first(&self, scratch: &mut Scratch, lever_rad: f64, near_rad: f64) -> Option<(f64, Pair)> {
        self.stone.pose_into(&Pose::new(lever_rad, self.to_pallet), &mut scratch.first);
        let mut best: Option<(f64, Pair)> = None;
        touches(&self.tooth.features, Vector::zeros(), &scratch.first, |t| {
            // Clockwise turning closes where anticlockwise turning opens.
            if t.opening > 0.0 {
                let back = wrap_rad(t.angle_rad - self.turn_rad - near_rad);
                if best.is_none_or(|(b, _)| back > b) {
                    best = Some((back, Pair { tooth: t.moving, stone: t.standing }));
                }
            }
        });
        best.map(|(back, pair)| (near_rad + back, pair))
    }

    /// The contact of a known pair at `lever_rad`, nearest to `near_rad`, the features taken as unbounded. Of the places
    /// at which the two touch, the stone holds the wheel at one and lets it go at the other; on a flat dome they lie hard
    /// by one another, so it is the sense of the arm that tells them apart.
    pub(crate) fn follow(&self, pair: Pair, lever_rad: f64, near_rad: f64) -> Option<Contact> {
        let stone = self.stone.features[pair.stone].posed(&Pose::new(lever_rad, self.to_pallet));
        let mut best: Option<(f64, Touch)> = None;
        touches_of_pair::<false>(&self.tooth.features[pair.tooth], Vector::zeros(), &stone, |t| {
            let off = wrap_rad(t.angle_rad - self.turn_rad - near_rad);
            let lets_go = t.opening <= 0.0;
            if best.is_none_or(|(b, held)| (lets_go, off.abs()) < (held.opening <= 0.0, b.abs())) {
                best = Some((off, t));
            }
        });
        best.map(|(off, t)| self.contact(pair, lever_rad, near_rad + off, &t))
    }

    fn contact(&self, pair: Pair, lever_rad: f64, wheel_rad: f64, t: &Touch) -> Contact {
        let arm = t.point - self.to_pallet;
        let lever_arm_m = cross(arm, t.normal);
        // Along the stone from locking to let-off side: the material lies on the left of the way round the stone.
        let along = quarter(t.normal);
        let (wheel_arm_m, wheel_along) = (t.opening, quarter(t.point).dot(&along));
        // Wheel turning clockwise at 1 rad/s, lever as the contact makes it turn.
        let lever_per_wheel = wheel_arm_m / lever_arm_m;
        let sliding_m = -(wheel_along - lever_per_wheel * quarter(arm).dot(&along));
        Contact {
            lever_rad,
            wheel_rad,
            point_m: t.point + self.parts.centres.wheel_m,
            normal: t.normal,
            tooth_face: face_of(&self.tooth.features[pair.tooth]),
            stone_face: face_of(&self.stone.features[pair.stone]),
            wheel_arm_m,
            lever_arm_m,
            sliding_m: if lever_arm_m == 0.0 { 0.0 } else { sliding_m },
            draw_rad: (self.pallet.outward() * lever_arm_m / arm.norm()).asin(),
        }
    }

    /// The curve from `from_rad` outward to the let-off.
    pub(crate) fn curve(
        &self,
        scratch: &mut Scratch,
        from_rad: f64,
        near_rad: f64,
    ) -> Option<(Vec<Segment>, CurveEnd)> {
        let sense = self.pallet.outward();
        let (wheel_rad, mut pair) = self.first(scratch, from_rad + sense * LOOK_RAD, near_rad)?;
        let mut segments: Vec<Segment> = Vec::with_capacity(8);
        let mut start = self.follow(pair, from_rad, wheel_rad)?;
        let mut fall_rad = 0.0;
        let mut at_rad = from_rad;
        for _ in 0..MOST_SEGMENTS {
            let Some(next_rad) = self.events(pair).next(at_rad, sense, LOOK_RAD) else { break };
            if (next_rad - from_rad).abs() > std::f64::consts::FRAC_PI_2 {
                break;
            }
            // Another pair may take over before this one ends, where both touch at once.
            let before = self.first(scratch, next_rad - sense * LOOK_RAD, start.wheel_rad);
            let (end_rad, next) = match before {
                Some((_, found)) if found == pair => {
                    (next_rad, self.first(scratch, next_rad + sense * LOOK_RAD, start.wheel_rad))
                }
                _ => {
                    let crossing = self.last_with(
                        scratch,
                        pair,
                        at_rad + sense * LOOK_RAD,
                        next_rad - sense * LOOK_RAD,
                        start.wheel_rad,
                    );
                    (crossing, self.first(scratch, crossing + sense * LOOK_RAD, start.wheel_rad))
                }
            };
            if next.is_some_and(|(_, found)| found == pair) {
                at_rad = end_rad; // an event of the same circles elsewhere
                continue;
            }
            let end = self.follow(pair, end_rad, start.wheel_rad)?;
            segments.push(Segment { from: start, to: end, fall_rad, pair });
            let Some((wheel_rad, found)) = next else { return Some((segments, CurveEnd::LetOff)) };
            start = self.follow(found, end_rad, wheel_rad)?;
            let fell = end.wheel_rad - start.wheel_rad;
            fall_rad = if fell > JUMP_RAD { fell } else { 0.0 };
            (pair, at_rad) = (found, end_rad);
        }
        segments.push(Segment { from: start, to: start, fall_rad, pair });
        Some((segments, CurveEnd::Endless))
    }

    fn events(&self, pair: Pair) -> Events {
        Events::of_pair(&self.tooth.features[pair.tooth], &self.stone.features[pair.stone], self.to_pallet)
    }

    /// The last lever angle between two at which `pair` is the first touch, to rounding.
    fn last_with(&self, scratch: &mut Scratch, pair: Pair, from_rad: f64, to_rad: f64, near_rad: f64) -> f64 {
        let (mut low, mut high) = (from_rad, to_rad);
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            if middle == low || middle == high {
                break;
            }
            match self.first(scratch, middle, near_rad) {
                Some((_, found)) if found == pair => low = middle,
                _ => high = middle,
            }
        }
        low
    }

    /// Where, after the locking face has ended, the wheel stops turning back and begins to advance.
    pub(crate) fn turn_back_end(&self, segments: &[Segment]) -> Option<Contact> {
        let sense = self.pallet.outward();
        let advancing = |c: &Contact| -sense * c.lever_arm_m > 0.0;
        for segment in segments.iter().filter(|s| s.from.stone_face != Face::StoneLocking) {
            if advancing(&segment.from) {
                return Some(segment.from);
            }
            if advancing(&segment.to) {
                let pair = segment.pair;
                let turns = Events::turn_backs(
                    &self.tooth.features[pair.tooth],
                    &self.stone.features[pair.stone],
                    self.to_pallet,
                );
                // Seen from the other side of the pallet axis the same circles meet once more, hard by: the true one
                // is where the contact has no arm.
                let within = |at_rad: &f64| {
                    sense * (at_rad - segment.from.lever_rad) >= 0.0 && sense * (segment.to.lever_rad - at_rad) >= 0.0
                };
                let candidates =
                    turns.all().filter(within).filter_map(|at_rad| self.follow(pair, at_rad, segment.from.wheel_rad));
                return candidates.min_by(|a, b| a.lever_arm_m.abs().total_cmp(&b.lever_arm_m.abs()));
            }
        }
        None
    }

    /// The contact at `lever_rad` on a curve already found.
    pub(crate) fn on_curve(&self, segments: &[Segment], lever_rad: f64) -> Option<Contact> {
        let sense = self.pallet.outward();
        let segment = segments.iter().find(|s| sense * (s.to.lever_rad - lever_rad) >= 0.0).or(segments.last())?;
        self.follow(segment.pair, lever_rad, segment.from.wheel_rad)
    }
}
