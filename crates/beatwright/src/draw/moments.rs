//! The instant at which a drawing shows the parts: one that is asked for, or the usual one, or what comes nearest to it.

use action::{MOMENT_NAMES, Moment, PalletAction, Scratch, moment, moment_at};
use drawing::ContactMark;
use movement::Pallet;
use parts::Parts;
use std::f64::consts::PI;

use crate::input::Loaded;
use crate::output::Stop;

/// Wheel angles tried over a pitch to find one at which no tooth lies in a stone. Chosen: a tenth of a tooth's width.
const WHEEL_STEPS: u16 = 240;

/// Where the bodies stand, and how that is called.
pub struct Standing {
    /// Its name, such as `entry-unlocking`.
    pub name: String,
    /// Where.
    pub moment: drawing::Moment,
    /// Tooth on stone, where they touch.
    pub contact: Option<ContactMark>,
}

impl From<Moment> for Standing {
    fn from(m: Moment) -> Standing {
        let contact = ContactMark {
            point_m: m.contact.point_m,
            normal: m.contact.normal,
            label: format!("{} on {}", m.contact.tooth_face.name(), m.contact.stone_face.name()),
        };
        Standing {
            name: m.name,
            moment: drawing::Moment { wheel_rad: m.wheel_rad, lever_rad: m.lever_rad, jewel_rad: m.jewel_rad },
            contact: Some(contact),
        }
    }
}

/// An instant as it is asked for.
#[derive(Clone, Copy)]
pub struct Wish<'a> {
    /// Its pallet.
    pub pallet: Pallet,
    at: Instant<'a>,
}

#[derive(Clone, Copy)]
enum Instant<'a> {
    Named(&'a str),
    LeverDeg(f64),
}

impl Wish<'_> {
    /// The usual one: lever on the entry banking, the jewel meeting the notch.
    pub const USUAL: Wish<'static> = Wish { pallet: Pallet::Entry, at: Instant::Named("banked") };

    /// Reads a name, or a pallet and a lever angle.
    pub fn read(text: &str) -> Result<Wish<'_>, Stop> {
        let pallet_named = |name: &str| Pallet::BOTH.into_iter().find(|p| p.name() == name);
        let angle = || {
            let (pallet, angle) = text.split_once(':')?;
            let lever_deg: f64 = angle.trim().parse().ok()?;
            Some(Wish { pallet: pallet_named(pallet)?, at: Instant::LeverDeg(lever_deg) })
        };
        let name = || {
            let (pallet, name) = text.split_once('-').filter(|(_, name)| MOMENT_NAMES.contains(name))?;
            Some(Wish { pallet: pallet_named(pallet)?, at: Instant::Named(name) })
        };
        angle().or_else(name).ok_or_else(|| {
            Stop::problem(
                format!("there is no moment '{text}'"),
                format!(
                    "choose one of {}; or a pallet and a lever angle such as entry:-2.5",
                    all_names().collect::<Vec<_>>().join(", ")
                ),
            )
        })
    }

    /// The instant in this movement, `text` being how it was asked for.
    pub fn place(self, loaded: &Loaded, text: &str) -> Result<Standing, Stop> {
        let (parts, action) = (&loaded.build.parts, &loaded.action);
        let mut scratch = Scratch::default();
        let found = match self.at {
            Instant::Named(name) => moment(parts, action, self.pallet, name, &mut scratch),
            Instant::LeverDeg(lever_deg) => action
                .of(self.pallet)
                .next()
                .and_then(|own| moment_at(parts, own, lever_deg.to_radians(), &mut scratch)),
        };
        found.map(Standing::from).ok_or_else(|| self.absent(loaded, text))
    }

    fn absent(self, loaded: &Loaded, text: &str) -> Stop {
        let existing: Vec<String> = all_names().filter(|name| exists(loaded, name)).collect();
        let others = if existing.is_empty() {
            "it has none; leave --moment out, and the lever is drawn on its entry banking".to_owned()
        } else {
            format!("choose one that it has: {}", existing.join(", "))
        };
        match (self.at, loaded.action.of(self.pallet).next()) {
            (Instant::LeverDeg(lever_deg), Some(own)) => {
                let [least, most] = lever_range_deg(own);
                Stop::problem(
                    format!(
                        "at a lever angle of {lever_deg} deg no tooth is on the {} pallet with the jewel in the notch",
                        self.pallet.name()
                    ),
                    format!(
                        "choose a lever angle from {least:.3} to {most:.3} deg, or {}",
                        others.replace("choose ", "")
                    ),
                )
            }
            (_, Some(_)) => Stop::problem(format!("this movement has no moment '{text}'"), others),
            (_, None) => {
                Stop::problem(format!("this movement has no moment '{text}': its cycle cannot be played"), others)
            }
        }
    }
}

fn all_names() -> impl Iterator<Item = String> {
    Pallet::BOTH.into_iter().flat_map(|p| MOMENT_NAMES.iter().map(move |n| format!("{}-{n}", p.name())))
}

fn exists(loaded: &Loaded, name: &str) -> bool {
    Wish::read(name).is_ok_and(|wish| match wish.at {
        Instant::Named(name) => {
            moment(&loaded.build.parts, &loaded.action, wish.pallet, name, &mut Scratch::default()).is_some()
        }
        Instant::LeverDeg(_) => false,
    })
}

/// Lever angles between which a tooth works on the pallet, in degrees.
fn lever_range_deg(own: &PalletAction) -> [f64; 2] {
    let last_rad = own.let_off.lever_rad;
    let first_rad = own.segments.first().map_or(last_rad, |s| s.from.lever_rad);
    [first_rad.min(last_rad).to_degrees(), first_rad.max(last_rad).to_degrees()]
}

/// The usual instant, or where it does not exist the lever on its entry banking, or in the middle; then a note says so.
pub fn usual(loaded: &Loaded) -> Standing {
    if let Ok(standing) = Wish::USUAL.place(loaded, "entry-banked") {
        return standing;
    }
    let (parts, action) = (&loaded.build.parts, &loaded.action);
    let (name, lever_rad) = match action.bankings_rad.entry {
        Some(lever_rad) => ("lever on its entry banking", lever_rad),
        None => ("lever in the middle", 0.0),
    };
    let banked = action.of(Pallet::Entry).next().and_then(|own| own.banked);
    let locked = banked.filter(|b| b.lever_rad == lever_rad);
    let (wheel_rad, wheel) = match (locked, clear_wheel_rad(parts, lever_rad)) {
        (Some(contact), _) => (contact.wheel_rad, "a tooth on the entry stone"),
        (None, Some(wheel_rad)) => (wheel_rad, "the teeth clear of both stones"),
        (None, None) => (0.0, "a tooth across a stone, since none is clear of both"),
    };
    eprintln!(
        "note: this movement has no moment 'entry-banked'; drawn with the {name}, {wheel}, the jewel away from the fork"
    );
    let moment = drawing::Moment { wheel_rad, lever_rad, jewel_rad: PI };
    Standing { name: name.to_owned(), moment, contact: None }
}

/// The middle of the widest range of wheel angles at which no tooth lies in a stone; `None` where there is none.
fn clear_wheel_rad(parts: &Parts, lever_rad: f64) -> Option<f64> {
    let stones = Pallet::BOTH.map(|p| parts.lever.stones[p].body.profile.posed(&parts.lever_pose(lever_rad)));
    let outline = parts.wheel.outline();
    let step_rad = parts.wheel.pitch_rad() / f64::from(WHEEL_STEPS);
    let is_clear = |i: u16| {
        let wheel = outline.posed(&parts.wheel_pose(f64::from(i) * step_rad));
        !stones.iter().any(|stone| stone.overlaps(&wheel))
    };
    let clear: Vec<bool> = (0..WHEEL_STEPS).map(is_clear).collect();
    // Twice round, so that a range over the end of the pitch is seen whole.
    let (mut best, mut from) = ((0, 0), None);
    for i in 0..2 * WHEEL_STEPS {
        match (clear[usize::from(i % WHEEL_STEPS)], from) {
            (true, None) => from = Some(i),
            (true, Some(first)) if i - first > best.1 - best.0 => best = (first, i),
            (false, Some(_)) => from = None,
            _ => {}
        }
    }
    let any = clear.iter().any(|c| *c);
    any.then(|| 0.5 * f64::from(best.0 + best.1) * step_rad)
}
