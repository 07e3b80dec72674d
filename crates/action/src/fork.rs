//! Fork, impulse jewel, horns, guard and rollers, found by contact: engagement, freedoms, knocking, overbanking.
//!
//! Jewel angle: turn of the roller from where the jewel stands on the line of centres, anticlockwise positive. While a
//! tooth is locked on the entry pallet the jewel is, or comes, on the clockwise (negative) side.

use movement::Pallet;
use parts::{Body, Face, Parts};
use plane::{Pose, Touch, Vector, cross, direction_rad, touches, wrap_rad};
use std::f64::consts::{FRAC_PI_2, PI, TAU};

use crate::curve::Scratch;
use crate::pallet::{NOTHING_RAD, PalletAction};

/// Number of jewel angles at which the horn's freedom is taken, from the notch to its end.
const HORN_SAMPLES: usize = 5;

/// What fork, jewel and guard do on the side of one pallet: while a tooth is locked on it, and during its impulse.
/// Freedoms are lever angles from the banking toward the middle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ForkAction {
    /// Jewel angle at which the returning jewel meets the notch with the lever banked; `None` when it first meets another
    /// part of the fork, or nothing.
    pub engaging_rad: Option<f64>,
    /// What of the fork it first meets.
    pub engaging_face: Option<Face>,
    /// Whether that is the notch and pushes the lever off its banking; if not, the jewel does not get into the notch.
    pub enters: bool,
    /// Jewel angle at this pallet's let-off, notch driving the jewel.
    pub releasing_rad: Option<f64>,
    /// Balance angle from meeting the notch to the let-off: the lift at the balance.
    pub balance_lift_rad: Option<f64>,
    /// The same without run: lever standing where it was at the drop.
    pub balance_lift_no_run_rad: Option<f64>,
    /// What the departing jewel strikes with the lever on the other banking; `None` when it leaves freely.
    pub leaving_strikes: Option<Face>,
    /// Guard freedom against the full edge of the safety roller; `None` when the guard never touches it.
    pub guard_freedom_rad: Option<f64>,
    /// Smallest horn freedom over the horn's length; `None` when the horn never touches the jewel.
    pub horn_freedom_rad: Option<f64>,
    /// Largest horn freedom over the horn's length.
    pub horn_freedom_largest_rad: Option<f64>,
    /// Lever angle at which the notch loses the jewel before the let-off; `None` where it keeps it.
    pub loses_jewel_rad: Option<f64>,
    /// Jewel angle (positive magnitude) beyond which the guard holds, lever at the unlocking angle or, where that comes
    /// first, in the middle.
    pub guard_holds_from_rad: f64,
    /// Jewel angle (positive magnitude) up to which horn or notch hold, lever as before.
    pub horn_holds_to_rad: f64,
    /// Whether, at some jewel angle outside the notch, neither guard nor horn keeps the lever from the middle.
    pub can_overbank: bool,
    /// Balance angle from the line of centres at which the jewel strikes the outside of the fork, lever on this banking.
    pub knocking_rad: Option<f64>,
    /// Where it strikes.
    pub knocking_m: Option<Vector>,
    /// The same inspection with the bankings closed until the lever meets them as the tooth drops.
    pub banked_to_drop: BankedToDrop,
}

/// Freedoms with the banking closed to the drop, as inspected at the bench.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BankedToDrop {
    /// Guard freedom; negative when the guard presses on the roller.
    pub guard_freedom_rad: Option<f64>,
    /// Horn freedom; negative when the jewel cannot pass.
    pub horn_freedom_rad: Option<f64>,
    /// What the departing jewel strikes; `None` when it passes freely.
    pub jewel_strikes: Option<Face>,
}

/// Freedom of the jewel in the notch.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct NotchFreedom {
    /// Lever angle between the two walls, jewel on the line of centres.
    pub lever_rad: f64,
    /// The same along the jewel's path.
    pub way_m: f64,
}

/// Poses the parts of the fork and asks for touches; keeps room for the features.
struct Bench<'a> {
    parts: &'a Parts,
    scratch: &'a mut Scratch,
    /// Lever angle of the touches in `scratch.held`.
    held_at_rad: Option<f64>,
}

impl<'a> Bench<'a> {
    fn new(parts: &'a Parts, scratch: &'a mut Scratch) -> Bench<'a> {
        Bench { parts, scratch, held_at_rad: None }
    }
}

impl Bench<'_> {
    /// Touches of the jewel, turned with the balance, on the fork held at `lever_rad`. Angles are jewel angles. Found
    /// once for questions about one lever angle that follow one another.
    fn jewel_on_fork(&mut self, lever_rad: f64, mut found: impl FnMut(Touch, Face)) {
        if self.held_at_rad != Some(lever_rad) {
            let parts = self.parts;
            let mut held = std::mem::take(&mut self.scratch.held);
            held.clear();
            turned(
                &parts.roller.jewel,
                parts.roller_pose(0.0),
                parts.centres.balance_m,
                &parts.lever.fork,
                parts.lever_pose(lever_rad),
                self.scratch,
                |t, face| held.push((t, face)),
            );
            self.scratch.held = held;
            self.held_at_rad = Some(lever_rad);
        }
        for (t, face) in &self.scratch.held {
            found(*t, *face);
        }
    }

    /// The same on the walls and corners of the notch alone: most of the fork is in no question about the lift.
    fn jewel_on_notch(&mut self, lever_rad: f64, found: impl FnMut(Touch)) {
        let (parts, scratch) = (self.parts, &mut *self.scratch);
        let there = parts.lever_pose(lever_rad);
        let walls = parts.lever.fork.features.iter().filter(|f| is_notch(f.label.into()));
        parts.roller.jewel.pose_into(&parts.roller_pose(0.0), &mut scratch.first);
        scratch.second.clear();
        scratch.second.extend(walls.map(|f| f.posed(&there)));
        touches(&scratch.first, parts.centres.balance_m, &scratch.second, found);
    }

    /// Touches of the safety roller, turned with the balance, on the guard held at `lever_rad`.
    fn roller_on_guard(&mut self, lever_rad: f64, found: impl FnMut(Touch, Face)) {
        let (parts, scratch) = (self.parts, &mut *self.scratch);
        turned(
            &parts.roller.safety,
            parts.roller_pose(0.0),
            parts.centres.balance_m,
            &parts.lever.guard,
            parts.lever_pose(lever_rad),
            scratch,
            found,
        );
    }

    /// Touches of the fork, turned with the lever, on the jewel held at `jewel_rad`. Angles are lever angles.
    fn fork_on_jewel(&mut self, jewel_rad: f64, mut found: impl FnMut(Touch)) {
        let (parts, scratch) = (self.parts, &mut *self.scratch);
        turned(
            &parts.lever.fork,
            parts.lever_pose(0.0),
            parts.centres.pallet_m,
            &parts.roller.jewel,
            parts.roller_pose(jewel_rad),
            scratch,
            |t, _| found(t),
        );
    }

    /// Touches of the guard, turned with the lever, on the safety roller held at `jewel_rad`.
    fn guard_on_roller(&mut self, jewel_rad: f64, mut found: impl FnMut(Touch)) {
        let (parts, scratch) = (self.parts, &mut *self.scratch);
        turned(
            &parts.lever.guard,
            parts.lever_pose(0.0),
            parts.centres.pallet_m,
            &parts.roller.safety,
            parts.roller_pose(jewel_rad),
            scratch,
            |t, _| found(t),
        );
    }

    /// Jewel angle and face first met when the jewel comes from outside toward the line of centres, on the side of `pallet`.
    fn coming(&mut self, lever_rad: f64, pallet: Pallet) -> Option<(Touch, Face)> {
        let sense = -pallet.outward();
        let mut best: Option<(Touch, Face)> = None;
        self.jewel_on_fork(lever_rad, |t, face| {
            let outside = t.angle_rad * sense > -FRAC_PI_2 && t.angle_rad * sense < FRAC_PI_2;
            if outside && t.opening * sense < 0.0 && best.is_none_or(|(b, _)| t.angle_rad * sense < b.angle_rad * sense)
            {
                best = Some((t, face));
            }
        });
        best
    }

    /// Jewel angle at which the jewel, in the notch and turning toward the line of centres, presses the lever outward.
    fn pressing(&mut self, lever_rad: f64, pallet: Pallet) -> Option<f64> {
        let sense = -pallet.outward();
        let pallet_m = self.parts.centres.pallet_m;
        let mut best: Option<f64> = None;
        self.jewel_on_notch(lever_rad, |t| {
            let outward = cross(t.point - pallet_m, t.normal) * sense > 0.0;
            let near = t.angle_rad.abs() < FRAC_PI_2 && t.opening * sense < 0.0;
            if outward && near && best.is_none_or(|b| t.angle_rad * sense < b * sense) {
                best = Some(t.angle_rad);
            }
        });
        best
    }

    /// Jewel angle at which the notch, lever at `lever_rad` in the impulse of `pallet`, drives the jewel.
    fn driving(&mut self, lever_rad: f64, pallet: Pallet) -> Option<f64> {
        let sense = -pallet.outward();
        let pallet_m = self.parts.centres.pallet_m;
        let mut best: Option<f64> = None;
        self.jewel_on_notch(lever_rad, |t| {
            let pushes_jewel = t.opening * sense > 0.0;
            let by_lever = cross(t.point - pallet_m, t.normal) * sense < 0.0;
            let near = t.angle_rad.abs() < FRAC_PI_2;
            if near && pushes_jewel && by_lever && best.is_none_or(|b| t.angle_rad * sense > b * sense) {
                best = Some(t.angle_rad);
            }
        });
        best
    }

    /// Where and what the jewel strikes when it leaves, after the impulse of `pallet`, with the lever held at `lever_rad`.
    fn leaving(&mut self, lever_rad: f64, pallet: Pallet) -> Option<(f64, Face)> {
        let sense = -pallet.outward();
        let from_rad = self.driving(lever_rad, pallet)?;
        let mut best: Option<(f64, Face)> = None;
        self.jewel_on_fork(lever_rad, |t, face| {
            let ahead = (t.angle_rad - from_rad) * sense;
            if ahead > 0.0 && ahead < FRAC_PI_2 && t.opening * sense < 0.0 && best.is_none_or(|(b, _)| ahead < b) {
                best = Some((ahead, face));
            }
        });
        best.map(|(ahead, face)| (from_rad + sense * ahead, face))
    }

    fn leaving_strikes(&mut self, lever_rad: f64, pallet: Pallet) -> Option<Face> {
        self.leaving(lever_rad, pallet).map(|(_, face)| face)
    }

    /// Lever angle from `lever_rad`, on the side of `pallet`'s banking, toward the middle until the guard touches the
    /// safety roller; negative when it presses on it there.
    fn guard_freedom(&mut self, pallet: Pallet, lever_rad: f64, jewel_rad: f64) -> Option<f64> {
        let mut best = None;
        self.guard_on_roller(jewel_rad, |t| nearest(&mut best, &t, lever_rad, pallet));
        best
    }

    /// The same until the horn on that side touches the jewel.
    fn horn_freedom(&mut self, pallet: Pallet, lever_rad: f64, jewel_rad: f64) -> Option<f64> {
        let (pallet_m, axis) = (self.parts.centres.pallet_m, self.parts.lever.fork_axis);
        let fork = &self.parts.lever.fork;
        let mut best = None;
        self.fork_on_jewel(jewel_rad, |t| {
            let on_horn = matches!(fork.face(t.moving), Face::Horn | Face::HornTip | Face::NotchCorner);
            // The entry banking's horn is the left one: anticlockwise of the fork's middle.
            let left = cross(Pose::new(t.angle_rad, Vector::zeros()).direction(axis), t.point - pallet_m);
            if on_horn && left * pallet.outward() < 0.0 {
                nearest(&mut best, &t, lever_rad, pallet);
            }
        });
        best
    }

    /// Lever angle at which the notch, turned outward in the impulse of `pallet` from `lever_rad`, meets the jewel standing
    /// at `jewel_rad`.
    fn catching(&mut self, pallet: Pallet, lever_rad: f64, jewel_rad: f64) -> Option<f64> {
        let sense = pallet.outward();
        let fork = &self.parts.lever.fork;
        let mut best: Option<f64> = None;
        self.fork_on_jewel(jewel_rad, |t| {
            let way = (t.angle_rad - lever_rad) * sense;
            if is_notch(fork.face(t.moving)) && way > 0.0 && t.opening * sense < 0.0 && best.is_none_or(|b| way < b) {
                best = Some(way);
            }
        });
        best.map(|way| lever_rad + sense * way)
    }

    /// Lever angle at which the notch loses the jewel: while it is pressed before unlocking, or while it drives.
    fn loses_rad(&mut self, own: &PalletAction, enters: bool, releasing_rad: Option<f64>) -> Option<f64> {
        let (pallet, unlocking_rad, let_off_rad) = (own.pallet, own.unlocking.lever_rad, own.let_off.lever_rad);
        if !enters {
            return None;
        }
        let Some(at_rad) = self.pressing(unlocking_rad, pallet) else {
            return Some(last_where(own.banking_rad, unlocking_rad, |rad| self.pressing(rad, pallet).is_some()));
        };
        if releasing_rad.is_some() {
            return None;
        }
        // A notch that would catch the jewel beyond the let-off only has nothing to lose.
        let caught_rad = self.catching(pallet, unlocking_rad, at_rad)?;
        let caught = pallet.outward() * (caught_rad - let_off_rad) <= 0.0;
        caught.then(|| last_where(caught_rad, let_off_rad, |rad| self.driving(rad, pallet).is_some()))
    }

    /// Jewel angle, on the side of `pallet`, at which the guard held at `lever_rad` meets the safety roller when that is
    /// turned out of the crescent; π where it never does.
    fn guard_reached_at(&mut self, lever_rad: f64, pallet: Pallet) -> f64 {
        let outside = pallet.outward(); // entry: clockwise, negative
        let mut best = PI;
        self.roller_on_guard(lever_rad, |t, _| {
            if t.opening * outside < 0.0 && t.angle_rad * outside > 0.0 && t.angle_rad * outside < best {
                best = t.angle_rad * outside;
            }
        });
        best
    }

    /// Jewel angle, as a positive magnitude on the side of `pallet`, up to which the fork held at `lever_rad` keeps the
    /// jewel out; 0 where it passes.
    fn fork_reached_at(&mut self, lever_rad: f64, pallet: Pallet) -> f64 {
        self.coming(lever_rad, pallet).map_or(0.0, |(t, _)| (t.angle_rad * pallet.outward()).max(0.0))
    }
}

/// Whether a face of the fork is one of the notch that presses on the jewel: its floor is not.
fn is_notch(face: Face) -> bool {
    matches!(face, Face::NotchWall | Face::NotchCorner)
}

/// Halvings by which a place between two angles is found to rounding.
const HALVINGS: usize = 60;

/// The last value from one, where `holds` does, toward another, where it does not, to rounding.
pub(crate) fn last_where(from: f64, to: f64, mut holds: impl FnMut(f64) -> bool) -> f64 {
    let (mut last, mut beyond) = (from, to);
    for _ in 0..HALVINGS {
        let middle = 0.5 * (last + beyond);
        if holds(middle) {
            last = middle;
        } else {
            beyond = middle;
        }
    }
    last
}

/// Keeps in `best` the least lever angle from `lever_rad` away from the banking of `pallet` at which a touch closes.
fn nearest(best: &mut Option<f64>, t: &Touch, lever_rad: f64, pallet: Pallet) {
    let sense = pallet.outward(); // from the entry banking the lever goes clockwise
    let way = (t.angle_rad - lever_rad) * sense;
    if t.angle_rad.abs() < FRAC_PI_2 && t.opening * sense < 0.0 && best.is_none_or(|b| way < b) {
        *best = Some(way);
    }
}

/// Touches of `moving`, posed by `at` and turned about `axis`, with `standing` posed by `there`; and the standing
/// body's face for each.
fn turned(
    moving: &Body,
    at: Pose,
    axis: Vector,
    standing: &Body,
    there: Pose,
    scratch: &mut Scratch,
    mut found: impl FnMut(Touch, Face),
) {
    moving.pose_into(&at, &mut scratch.first);
    standing.pose_into(&there, &mut scratch.second);
    let second = &scratch.second;
    touches(&scratch.first, axis, second, |t| found(t, second[t.standing].label.into()));
}

/// Fork and guard on the side of `own.pallet`; `other_banking_rad` is where the lever goes after this pallet's impulse.
pub(crate) fn fork_action(
    parts: &Parts,
    own: &PalletAction,
    other_banking_rad: f64,
    scratch: &mut Scratch,
) -> ForkAction {
    let pallet = own.pallet;
    let outside = pallet.outward();
    let mut bench = Bench::new(parts, scratch);
    let coming = bench.coming(own.banking_rad, pallet);
    // Only the notch unlocks: a jewel that meets the horn first has no freedom there.
    let on_notch = |met: Option<(Touch, Face)>| met.filter(|(_, face)| is_notch(*face)).map(|(t, _)| t.angle_rad);
    let met_rad = coming.map(|(t, _)| t.angle_rad);
    let engaging_rad = on_notch(coming);
    // The jewel pushes against the normal; unlocking turns the lever outward.
    let pushes = |t: Touch| -cross(t.point - parts.centres.pallet_m, t.normal) * outside > 0.0;
    let enters = engaging_rad.is_some() && coming.is_some_and(|(t, _)| pushes(t));
    let mut knocking: Option<(f64, Vector)> = None;
    bench.jewel_on_fork(own.banking_rad, |t, _| {
        // Going out on this side and round: from a quarter turn outside to a whole turn and more.
        let way = if t.angle_rad * outside < FRAC_PI_2 { t.angle_rad * outside + TAU } else { t.angle_rad * outside };
        if t.opening * outside < 0.0 && knocking.is_none_or(|(k, _)| way < k) {
            knocking = Some((way, t.point));
        }
    });

    let releasing_rad = bench.driving(own.let_off.lever_rad, pallet);
    let lift = |from: Option<f64>| Some((releasing_rad? - from?).abs());
    let at_drop_rad = own.landing.lever_rad;
    let no_run = on_notch(bench.coming(at_drop_rad, pallet));
    let jewel_strikes = bench.leaving_strikes(at_drop_rad, pallet.other());

    let guard_freedom_rad = bench.guard_freedom(pallet, own.banking_rad, PI);
    let horns = horn_freedoms(&mut bench, pallet, own.banking_rad, met_rad);
    let unlocking_rad = own.unlocking.lever_rad;
    // A lock that reaches beyond the middle is held there.
    let held_rad = if outside * unlocking_rad > 0.0 { 0.0 } else { unlocking_rad };
    let guard_holds_from_rad = bench.guard_reached_at(held_rad, pallet);
    let horn_holds_to_rad = bench.fork_reached_at(held_rad, pallet);
    let loses_jewel_rad = bench.loses_rad(own, enters, releasing_rad);
    let can_overbank = bench.fork_reached_at(0.0, pallet) < bench.guard_reached_at(0.0, pallet);

    // The same touches, counted from where the lever stood at the drop. The jewel that leaves toward this side was
    // driven by the other pallet.
    let banked_to_drop = BankedToDrop {
        guard_freedom_rad: guard_freedom_rad.map(|freedom| freedom - own.run_rad),
        horn_freedom_rad: horns.map(|(least, _)| least - own.run_rad),
        // A horn that just lets the jewel pass does not stop it.
        jewel_strikes: jewel_strikes.filter(|_| horns.is_none_or(|(least, _)| least - own.run_rad < -NOTHING_RAD)),
    };
    ForkAction {
        engaging_rad,
        engaging_face: coming.map(|(_, face)| face),
        enters,
        releasing_rad,
        balance_lift_rad: lift(engaging_rad),
        balance_lift_no_run_rad: lift(no_run),
        leaving_strikes: bench.leaving_strikes(other_banking_rad, pallet),
        guard_freedom_rad,
        horn_freedom_rad: horns.map(|(least, _)| least),
        horn_freedom_largest_rad: horns.map(|(_, most)| most),
        loses_jewel_rad,
        guard_holds_from_rad,
        horn_holds_to_rad,
        can_overbank,
        knocking_rad: knocking.map(|(way, _)| way),
        knocking_m: knocking.map(|(_, point)| point),
        banked_to_drop,
    }
}

/// Smallest and largest horn freedom from where the jewel has left the fork, at `met_rad`, to the end of the horn.
fn horn_freedoms(bench: &mut Bench<'_>, pallet: Pallet, lever_rad: f64, met_rad: Option<f64>) -> Option<(f64, f64)> {
    let outside = pallet.outward();
    let notch_rad = met_rad?.abs();
    // The jewel is over the horn until it has passed its tip with the lever pressed to the middle of its freedom.
    let end_rad = bench.fork_reached_at(0.5 * lever_rad, pallet).max(notch_rad);
    let mut range: Option<(f64, f64)> = None;
    for i in 0..HORN_SAMPLES {
        let part = (i as f64 + 0.5) / HORN_SAMPLES as f64;
        let jewel_rad = outside * (notch_rad + part * (end_rad - notch_rad));
        if let Some(freedom) = bench.horn_freedom(pallet, lever_rad, jewel_rad) {
            let (least, most) = range.unwrap_or((freedom, freedom));
            range = Some((least.min(freedom), most.max(freedom)));
        }
    }
    range
}

/// Guard freedom of the lever on the side of `pallet` from `lever_rad`, at any jewel angle.
///
/// # Returns
/// Lever angle to the first touch of guard and safety roller; `None` inside the crescent.
pub fn guard_freedom_rad(
    parts: &Parts,
    pallet: Pallet,
    lever_rad: f64,
    jewel_rad: f64,
    scratch: &mut Scratch,
) -> Option<f64> {
    Bench::new(parts, scratch).guard_freedom(pallet, lever_rad, jewel_rad)
}

/// Jewel angle with the lever at `lever_rad` in the beat of `pallet`: pressing on the notch before the lift, driven by
/// it during the lift.
pub(crate) fn jewel_rad(
    parts: &Parts,
    pallet: Pallet,
    lever_rad: f64,
    lifting: bool,
    scratch: &mut Scratch,
) -> Option<f64> {
    let mut bench = Bench::new(parts, scratch);
    if lifting { bench.driving(lever_rad, pallet) } else { bench.pressing(lever_rad, pallet) }
}

/// Jewel angle and part of the fork first met when the jewel comes in toward `pallet` with the lever at `lever_rad`.
pub(crate) fn meeting(parts: &Parts, pallet: Pallet, lever_rad: f64, scratch: &mut Scratch) -> Option<(f64, Face)> {
    Bench::new(parts, scratch).coming(lever_rad, pallet).map(|(t, face)| (t.angle_rad, face))
}

/// Jewel angle at which, after the impulse of `pallet`, the jewel strikes the fork in leaving, with the lever at
/// `lever_rad`; and what it strikes.
pub(crate) fn leaving(parts: &Parts, pallet: Pallet, lever_rad: f64, scratch: &mut Scratch) -> Option<(f64, Face)> {
    Bench::new(parts, scratch).leaving(lever_rad, pallet)
}

/// Lever angle at which the notch, turned outward in the impulse of `pallet` from `lever_rad`, meets the jewel standing
/// at `jewel_rad`.
pub(crate) fn catching_rad(
    parts: &Parts,
    pallet: Pallet,
    lever_rad: f64,
    jewel_rad: f64,
    scratch: &mut Scratch,
) -> Option<f64> {
    Bench::new(parts, scratch).catching(pallet, lever_rad, jewel_rad)
}

/// Freedom between jewel and notch with the jewel on the line of centres; `None` where the jewel overlaps the fork there.
pub(crate) fn notch_freedom(parts: &Parts, scratch: &mut Scratch) -> Option<NotchFreedom> {
    let to_balance = parts.centres.balance_m - parts.centres.pallet_m;
    // Seen from where the fork's middle points at the jewel: the nearest touches on both sides.
    let edges = &parts.roller.jewel.profile.edges;
    let middle = edges.iter().map(|e| e.at(0.0) + e.at(0.5)).sum::<Vector>() / (2 * edges.len().max(1)) as f64;
    let to_jewel = parts.roller_pose(0.0).point(middle) - parts.centres.pallet_m;
    let middle_rad = direction_rad(to_jewel) - direction_rad(parts.lever.fork_axis);
    let mut nearest: [Option<(f64, bool)>; 2] = [None; 2];
    Bench::new(parts, scratch).fork_on_jewel(0.0, |t| {
        let way = wrap_rad(t.angle_rad - middle_rad);
        let side = &mut nearest[usize::from(way > 0.0)];
        if side.is_none_or(|(w, _)| way.abs() < w.abs()) {
            *side = Some((way, t.opening * way < 0.0));
        }
    });
    let [Some((back, true)), Some((on, true))] = nearest else { return None };
    let lever_rad = on - back;
    Some(NotchFreedom { lever_rad, way_m: lever_rad * (to_balance.norm() - parts.roller.jewel_reach_m) })
}
