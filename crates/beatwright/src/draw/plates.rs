//! What the plates show: positions found by contact, and which angle or distance of them is which figure.

use action::{Action, Contact, ForkAction, PalletAction, Scratch, moment_at};
use drawing::{ContactMark, Dimensioned, Measured, Moment, Panel, Part, Plate, State, degrees, millimetres};
use movement::Pallet;
use parts::{Face, Parts};
use plane::{Edge, Pose, Vector, quarter, touches};
use std::f64::consts::{FRAC_PI_2, PI};

/// Radius of what a panel shows, over the toe radius: of the corner of a stone, of a whole contact, of the place where
/// faces and radii are seen. Chosen.
const CORNER_RATIO: f64 = 0.068;
const CONTACT_RATIO: f64 = 0.136;
const FACE_RATIO: f64 = 0.27;

/// How much of a panel's radius what is measured may take. Chosen.
const FILLED_RATIO: f64 = 0.8;

/// The panels of a plate, and whose they are.
pub struct Shown {
    /// The pallet on whose side they are.
    pub pallet: Pallet,
    /// The tooth; `None` where all are alike.
    pub tooth: Option<u16>,
    /// The panels.
    pub panels: Vec<Panel>,
}

impl Shown {
    /// Pallet and tooth in words.
    pub fn said(&self) -> String {
        let tooth = self.tooth.map_or("all teeth alike".to_owned(), |n| format!("tooth {n}"));
        format!("{} pallet, {tooth}", self.pallet.name())
    }

    /// Title of the first panel, and where its bodies stand.
    pub fn first(&self) -> Option<(&str, Moment)> {
        let panel = self.panels.first()?;
        Some((panel.title.as_str(), panel.states.first()?.moment))
    }
}

/// What a plate shows on the side of `pallet`; no panels where the movement has no such action.
pub fn shown(plate: Plate, parts: &Parts, action: &Action, pallet: Pallet) -> Shown {
    let first = action.of(pallet).next();
    let tooth = first.filter(|_| !parts.wheel.alike()).map(|own| own.tooth);
    Shown { pallet, tooth, panels: panels(plate, parts, action, pallet) }
}

fn panels(plate: Plate, parts: &Parts, action: &Action, pallet: Pallet) -> Vec<Panel> {
    let place = |p: Pallet| {
        let at = action.beats.iter().position(|b| b.pallet == p)?;
        Some(Bench { parts, own: &action.beats[at], fork: &action.fork[at] })
    };
    let (Some(own), Some(other)) = (place(pallet), place(pallet.other())) else { return Vec::new() };
    let wanted = match plate {
        Plate::Lock => [Some(own.lock()), own.lock_depth()],
        Plate::Draw => [own.draw(), other.draw()],
        Plate::Lift => [own.lift_on_stone(), own.lift_on_tooth()],
        Plate::Drop => [Some(own.drop(other.own)), Some(other.drop(own.own))],
        Plate::Recoil => [
            own.recoil_from(own.own.banked, "the banking"),
            own.recoil_from(own.at(own.own.landing.lever_rad), "the drop"),
        ],
        Plate::Freedom => {
            let (from_rad, place) = (own.own.banking_rad, "banking");
            [
                own.guard(from_rad, own.fork.guard_freedom_rad, place),
                own.horn(from_rad, own.fork.horn_freedom_rad, place),
            ]
        }
        Plate::Safety => {
            [own.safety("guard", own.fork.guard_freedom_rad), own.safety("horn", own.fork.horn_freedom_largest_rad)]
        }
        Plate::BankedToDrop => {
            let (from_rad, closed) = (own.own.landing.lever_rad, &own.fork.banked_to_drop);
            let place = "drop";
            [own.guard(from_rad, closed.guard_freedom_rad, place), own.horn(from_rad, closed.horn_freedom_rad, place)]
        }
    };
    wanted.into_iter().flatten().map(wide_enough).collect()
}

/// A panel that holds everything measured on it: moved and widened where it would not.
fn wide_enough(panel: Panel) -> Panel {
    let ends: Vec<Vector> = panel
        .dimensions
        .iter()
        .flat_map(|d| match d.measured {
            Measured::AngleAfar { a_m, b_m, .. } | Measured::Length { a_m, b_m, .. } => vec![a_m, b_m],
            Measured::Angle { .. } | Measured::Place { .. } => Vec::new(),
        })
        .collect();
    let reach_m = |from: Vector| ends.iter().map(|p| (p - from).norm()).fold(0.0, f64::max);
    if ends.is_empty() || reach_m(panel.centre_m) <= FILLED_RATIO * panel.radius_m {
        return panel;
    }
    let (low, high) = ends.iter().fold((ends[0], ends[0]), |(low, high), p| (low.inf(p), high.sup(p)));
    let centre_m = 0.5 * (low + high);
    Panel { centre_m, radius_m: panel.radius_m.max(reach_m(centre_m) / FILLED_RATIO), ..panel }
}

/// One pallet's side of a movement.
struct Bench<'a> {
    parts: &'a Parts,
    own: &'a PalletAction,
    fork: &'a ForkAction,
}

impl Bench<'_> {
    fn size_m(&self, ratio: f64) -> f64 {
        ratio * self.parts.wheel.reach_m
    }

    fn pallet_m(&self) -> Vector {
        self.parts.centres.pallet_m
    }

    /// The lever's sense from a banking toward the middle.
    fn inward(&self) -> f64 {
        self.own.pallet.outward()
    }

    /// A title, with the pallet and, where they differ, the tooth.
    fn of(&self, title: &str) -> String {
        let tooth = if self.parts.wheel.alike() { String::new() } else { format!(", tooth {}", self.own.tooth) };
        format!("{title}, {}{tooth}", self.own.pallet.name())
    }

    /// The stone's locking or let-off corner at a lever angle.
    fn locking_m(&self, lever_rad: f64) -> Vector {
        self.parts.lever_pose(lever_rad).point(self.parts.lever.stones[self.own.pallet].locking_corner_m)
    }

    fn let_off_m(&self, lever_rad: f64) -> Vector {
        self.parts.lever_pose(lever_rad).point(self.parts.lever.stones[self.own.pallet].let_off_corner_m)
    }

    /// The contact at a lever angle.
    fn at(&self, lever_rad: f64) -> Option<Contact> {
        Some(moment_at(self.parts, self.own, lever_rad, &mut Scratch::default())?.contact)
    }

    /// Wheel and lever as they stand in a contact.
    fn now(&self, contact: &Contact) -> State {
        let moment = Moment { wheel_rad: contact.wheel_rad, lever_rad: contact.lever_rad, jewel_rad: 0.0 };
        State { moment, parts: vec![Part::Lever, Part::Wheel], other: false }
    }

    /// The stone alone in another position.
    fn stone_at(&self, lever_rad: f64) -> State {
        State {
            moment: Moment { lever_rad, ..Moment::default() },
            parts: vec![Part::Stone(self.own.pallet)],
            other: true,
        }
    }

    /// The wheel alone in another position.
    fn wheel_at(wheel_rad: f64) -> State {
        State { moment: Moment { wheel_rad, ..Moment::default() }, parts: vec![Part::Wheel], other: true }
    }

    /// A lever angle, seen at the stone's locking corner.
    fn lever_angle(&self, name: &str, meaning: &str, from_rad: f64, to_rad: f64, value_rad: f64) -> Dimensioned {
        let (a_m, b_m) = (self.locking_m(from_rad), self.locking_m(to_rad));
        afar(name, meaning, self.pallet_m(), a_m, b_m, value_rad)
    }

    fn lock(&self) -> Panel {
        let own = self.own;
        let (drop_rad, unlocking_rad) = (own.landing.lever_rad, own.unlocking.lever_rad);
        let centre_m = 0.5 * (self.locking_m(own.banking_rad) + self.locking_m(unlocking_rad));
        Panel {
            states: vec![self.now(&own.landing), self.stone_at(own.banking_rad), self.stone_at(unlocking_rad)],
            dimensions: vec![
                self.lever_angle(
                    "lock",
                    "lock, lever angle from drop to unlocking",
                    drop_rad,
                    unlocking_rad,
                    own.lock_rad,
                ),
                self.lever_angle("run", "run, from drop to banking", own.banking_rad, drop_rad, own.run_rad),
                self.lever_angle(
                    "total lock",
                    "total lock, from banking to unlocking",
                    own.banking_rad,
                    unlocking_rad,
                    own.total_lock_rad,
                ),
            ],
            ..panel(&self.of("Lever angles at the drop"), centre_m, self.size_m(CORNER_RATIO))
        }
    }

    fn lock_depth(&self) -> Option<Panel> {
        let banked = self.own.banked?;
        let (corner_m, total_m) = (self.locking_m(banked.lever_rad), self.own.total_lock_depth_m?);
        let along = self.face(banked.lever_rad);
        let depth = |name: &str, meaning: &str, depth_m: f64| Dimensioned {
            name: name.to_owned(),
            value: millimetres(depth_m),
            meaning: meaning.to_owned(),
            measured: Measured::Length { a_m: corner_m, b_m: corner_m + along * depth_m, along },
        };
        Some(Panel {
            states: vec![self.now(&banked)],
            contacts: vec![mark(&banked)],
            dimensions: vec![
                depth("total depth", "depth of the lock on the locking face, lever on its banking", total_m),
                depth("depth", "the same when the drop ends", self.own.lock_depth_m),
            ],
            ..panel(&self.of("Depths, banked"), corner_m, self.size_m(CORNER_RATIO))
        })
    }

    /// Direction of the locking face from its corner into the stone.
    fn face(&self, lever_rad: f64) -> Vector {
        self.parts.lever_pose(lever_rad).direction(self.parts.lever.stones[self.own.pallet].face)
    }

    fn draw(&self) -> Option<Panel> {
        let banked = self.own.banked.filter(|b| b.stone_face == Face::StoneLocking)?;
        let (at_m, radius_m) = (banked.point_m, self.size_m(FACE_RATIO));
        // The lines end beyond the picture, where their names have room.
        let (reach_m, end_m) = (0.85 * radius_m, 1.06 * radius_m);
        // The face where it is touched, which on a domed stone is not the direction of its chord.
        let along = quarter(banked.normal);
        let face = if along.dot(&self.face(banked.lever_rad)) > 0.0 { along } else { -along };
        let to_pallet = (self.pallet_m() - at_m).normalize();
        let neutral = if quarter(to_pallet).dot(&face) > 0.0 { quarter(to_pallet) } else { -quarter(to_pallet) };
        let to_wheel = (self.parts.centres.wheel_m - at_m).normalize();
        let angle = |name: &str, meaning: &str, a: Vector, b: Vector, value_rad: f64| Dimensioned {
            name: name.to_owned(),
            value: degrees(value_rad),
            meaning: format!("{} {meaning}", self.own.pallet.name()),
            measured: Measured::Angle { vertex_m: at_m, a_m: at_m + a * reach_m, b_m: at_m + b * reach_m },
        };
        let from_radius_rad = to_wheel.dot(&-face).clamp(-1.0, 1.0).acos();
        Some(Panel {
            states: vec![self.now(&banked)],
            chain_lines_m: [neutral, to_pallet, to_wheel].map(|d| (at_m, at_m + d * end_m)).to_vec(),
            thin_lines_m: vec![(at_m, at_m - face * reach_m)],
            dimensions: vec![
                angle("draw", "draw, from the neutral line (this program)", neutral, face, banked.draw_rad),
                angle("from radius", "draw, from the wheel's radius (elsewhere)", to_wheel, -face, from_radius_rad),
                named("neutral line", at_m + neutral * end_m, neutral),
                named("to P", at_m + to_pallet * end_m, to_pallet),
                named("to O", at_m + to_wheel * end_m, to_wheel),
            ],
            ..panel(&format!("{} stone, banked", capital(self.own.pallet.name())), at_m, radius_m)
        })
    }

    /// Lever angle at which the tooth's work begins.
    fn change_rad(&self) -> f64 {
        self.own.unlocking.lever_rad + self.inward() * self.own.lift_on_stone_rad
    }

    /// The way from one lever angle to a contact, seen at the let-off corner.
    fn lift(&self, title: &str, words: (&str, &str), from_rad: f64, to: &Contact, value_rad: f64) -> Panel {
        let (a_m, b_m) = (self.let_off_m(from_rad), self.let_off_m(to.lever_rad));
        Panel {
            states: vec![self.now(to), self.stone_at(from_rad)],
            contacts: vec![mark(to)],
            dimensions: vec![afar(words.0, words.1, self.pallet_m(), a_m, b_m, value_rad)],
            ..panel(title, b_m, self.size_m(CONTACT_RATIO))
        }
    }

    fn lift_on_stone(&self) -> Option<Panel> {
        let to = self.at(self.change_rad())?;
        let words = ("on stone", "part of the lift on the stone: the toe works");
        Some(self.lift(
            &self.of("Unlocking to change"),
            words,
            self.own.unlocking.lever_rad,
            &to,
            self.own.lift_on_stone_rad,
        ))
    }

    fn lift_on_tooth(&self) -> Option<Panel> {
        let words = ("on tooth", "part of the lift on the tooth: its face or heel works");
        let let_off = self.own.let_off;
        Some(self.lift(&self.of("Change to let-off"), words, self.change_rad(), &let_off, self.own.lift_on_tooth_rad))
    }

    /// What the wheel turns freely when this pallet has let go, until a tooth lands on `next`.
    fn drop(&self, next: &PalletAction) -> Panel {
        let (landing, turned_rad) = (&next.landing, self.own.drop_rad);
        let side = if self.own.pallet == Pallet::Entry { "Inside" } else { "Outside" };
        let meaning = format!("{} drop, wheel angle", side.to_lowercase());
        Panel {
            states: vec![self.now(landing), Bench::wheel_at(landing.wheel_rad + turned_rad)],
            contacts: vec![mark(landing)],
            dimensions: vec![self.wheel_angle("drop", &meaning, landing.point_m, turned_rad)],
            ..panel(
                &format!("{side}, on the {} stone", next.pallet.name()),
                landing.point_m,
                self.size_m(CONTACT_RATIO),
            )
        }
    }

    /// A wheel angle from a point back against the wheel's turning.
    fn wheel_angle(&self, name: &str, meaning: &str, at_m: Vector, back_rad: f64) -> Dimensioned {
        let wheel_m = self.parts.centres.wheel_m;
        afar(name, meaning, wheel_m, at_m, Pose::about(wheel_m, back_rad).point(at_m), back_rad)
    }

    fn recoil_from(&self, from: Option<Contact>, what: &str) -> Option<Panel> {
        let (from, to) = (from?, &self.own.unlocking);
        let back_rad = to.wheel_rad - from.wheel_rad;
        let meaning = format!("recoil, the wheel's turning back from {what} to unlocking");
        Some(Panel {
            states: vec![self.now(to), Bench::wheel_at(from.wheel_rad), self.stone_at(from.lever_rad)],
            contacts: vec![mark(to)],
            dimensions: vec![self.wheel_angle("recoil", &meaning, from.point_m, back_rad)],
            ..panel(&self.of(&format!("From {what}")), to.point_m, self.size_m(CORNER_RATIO))
        })
    }

    /// Lever as it lies, and where guard or horn has come to the roller.
    fn held(&self, from_rad: f64, freedom_rad: f64, jewel_rad: f64) -> Vec<State> {
        let state =
            |lever_rad, parts, other| State { moment: Moment { wheel_rad: 0.0, lever_rad, jewel_rad }, parts, other };
        // A single roller lies over the lever, a safety roller under the fork.
        let single = self.parts.roller.single;
        let bodies = if single { vec![Part::Lever, Part::Rollers] } else { vec![Part::Rollers, Part::Lever] };
        vec![state(from_rad, bodies, false), state(from_rad + self.inward() * freedom_rad, vec![Part::Lever], true)]
    }

    fn guard(&self, from_rad: f64, freedom_rad: Option<f64>, place: &str) -> Option<Panel> {
        let freedom_rad = freedom_rad?;
        let guard = &self.parts.lever.guard.profile;
        let round = guard.edges.iter().filter_map(|e| match *e {
            Edge::Arc { centre, radius, .. } => Some(centre + centre.normalize() * radius),
            Edge::Line { .. } => None,
        });
        let tip = round.chain(guard.edges.iter().map(Edge::end)).max_by(|a, b| a.norm().total_cmp(&b.norm()))?;
        let at = |lever_rad: f64| self.parts.lever_pose(lever_rad).point(tip);
        let (a_m, b_m) = (at(from_rad), at(from_rad + self.inward() * freedom_rad));
        let meaning = format!("guard freedom, from the {place}");
        Some(Panel {
            states: self.held(from_rad, freedom_rad, PI),
            dimensions: vec![afar("freedom", &meaning, self.pallet_m(), a_m, b_m, freedom_rad)],
            ..panel(&self.of(&format!("Guard on the roller, {place}")), a_m, self.size_m(CONTACT_RATIO))
        })
    }

    fn horn(&self, from_rad: f64, freedom_rad: Option<f64>, place: &str) -> Option<Panel> {
        let freedom_rad = freedom_rad?;
        let (jewel_rad, touch_m) = self.on_horn(from_rad + self.inward() * freedom_rad)?;
        let back_m = Pose::about(self.pallet_m(), -self.inward() * freedom_rad).point(touch_m);
        let meaning = format!("horn freedom, from the {place}");
        Some(Panel {
            states: self.held(from_rad, freedom_rad, jewel_rad),
            dimensions: vec![afar("freedom", &meaning, self.pallet_m(), back_m, touch_m, freedom_rad)],
            ..panel(&self.of(&format!("Horn on the jewel, {place}")), touch_m, self.size_m(CONTACT_RATIO))
        })
    }

    /// Jewel angle and place at which the returning jewel meets the fork held at a lever angle.
    fn on_horn(&self, lever_rad: f64) -> Option<(f64, Vector)> {
        let parts = self.parts;
        let (mut jewel, mut fork) = (Vec::new(), Vec::new());
        parts.roller.jewel.pose_into(&parts.roller_pose(0.0), &mut jewel);
        parts.lever.fork.pose_into(&parts.lever_pose(lever_rad), &mut fork);
        let mut first: Option<(f64, Vector)> = None;
        let side = self.inward();
        touches(&jewel, parts.centres.balance_m, &fork, |t| {
            let outside = t.angle_rad * side;
            let closing = t.opening * side > 0.0;
            if closing && (0.0..FRAC_PI_2).contains(&outside) && first.is_none_or(|(a, _)| outside > a * side) {
                first = Some((t.angle_rad, t.point));
            }
        });
        first
    }

    fn safety(&self, what: &str, freedom_rad: Option<f64>) -> Option<Panel> {
        let (own, freedom_rad) = (self.own, freedom_rad?);
        let held_rad = own.banking_rad + self.inward() * freedom_rad;
        let unlocking_rad = own.unlocking.lever_rad;
        let contact = self.at(held_rad)?;
        let freedom = format!("{what} freedom, from the banking");
        let left = format!("safety lock with the {what} held");
        let left_rad = own.total_lock_rad - freedom_rad;
        Some(Panel {
            states: vec![self.now(&contact), self.stone_at(own.banking_rad), self.stone_at(unlocking_rad)],
            dimensions: vec![
                self.lever_angle("safety lock", &left, held_rad, unlocking_rad, left_rad),
                self.lever_angle("freedom", &freedom, own.banking_rad, held_rad, freedom_rad),
            ],
            ..panel(&self.of(&format!("{} held", capital(what))), contact.point_m, self.size_m(CORNER_RATIO))
        })
    }
}

fn panel(title: &str, centre_m: Vector, radius_m: f64) -> Panel {
    Panel {
        title: title.to_owned(),
        centre_m,
        radius_m,
        states: Vec::new(),
        chain_lines_m: Vec::new(),
        thin_lines_m: Vec::new(),
        contacts: Vec::new(),
        dimensions: Vec::new(),
    }
}

fn afar(name: &str, meaning: &str, vertex_m: Vector, a_m: Vector, b_m: Vector, value_rad: f64) -> Dimensioned {
    let (name, meaning) = (name.to_owned(), meaning.to_owned());
    Dimensioned { name, value: degrees(value_rad), meaning, measured: Measured::AngleAfar { vertex_m, a_m, b_m } }
}

fn named(name: &str, at_m: Vector, toward: Vector) -> Dimensioned {
    let (name, value, meaning) = (name.to_owned(), String::new(), String::new());
    Dimensioned { name, value, meaning, measured: Measured::Place { at_m, toward } }
}

/// The place of a contact, without words.
fn mark(contact: &Contact) -> ContactMark {
    ContactMark { point_m: contact.point_m, normal: contact.normal, label: String::new() }
}

fn capital(word: &str) -> String {
    let mut letters = word.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}
