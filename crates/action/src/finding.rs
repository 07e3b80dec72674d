//! Findings: what is wrong with an action, ranked, each with its numbers, its place and what moves it.

mod clearance;
mod fork;
mod notch;
mod pallet;
mod place;
mod range;

use movement::{Pallet, ParamId};
use parts::Parts;
use plane::Vector;
use std::collections::BTreeSet;

pub(crate) use notch::floor_m;

use crate::action::Action;
use crate::curve::Scratch;
use crate::figure::FigureId;
use crate::limit::LIMITS;
use crate::oscillation::last_beat;

/// How grave a finding is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Gravity {
    /// It does not work, or is not safe.
    Fault,
    /// It works, outside what is usually accepted.
    Caution,
}

impl Gravity {
    /// The word shown.
    pub fn name(self) -> &'static str {
        match self {
            Gravity::Fault => "fault",
            Gravity::Caution => "caution",
        }
    }
}

/// One thing found.
#[derive(Clone, Debug)]
pub struct Finding {
    /// How grave.
    pub gravity: Gravity,
    /// Stable name, such as `does-not-lock`.
    pub code: &'static str,
    /// Whole sentence with the numbers.
    pub message: String,
    /// The pallet concerned.
    pub pallet: Option<Pallet>,
    /// The tooth concerned, where teeth differ.
    pub tooth: Option<u16>,
    /// The figure concerned.
    pub figure: Option<FigureId>,
    /// Its SI value.
    pub found: Option<f64>,
    /// Accepted range, in the figure's edge unit.
    pub accepted: Option<(f64, f64)>,
    /// Parameters that move it; what was moved at the bench comes first by [`crate::moved_first`].
    pub moved_by: Vec<ParamId>,
    /// Where the demand comes from.
    pub source: &'static str,
    /// Where on the drawing, metres.
    pub place_m: Option<Vector>,
    /// Rank within its gravity: how far outside, in widths of what is accepted; larger is worse.
    pub excess_ratio: f64,
}

impl Finding {
    /// Whether both say the same, of the two pallets or of one.
    pub fn is_like(&self, other: &Finding) -> bool {
        let row = |f: &Finding| f.figure.map(|id| id.figure().path);
        (self.gravity, self.code, row(self), self.source) == (other.gravity, other.code, row(other), other.source)
    }

    fn caution(mut self) -> Finding {
        self.gravity = Gravity::Caution;
        self
    }
}

/// Everything found, worst first.
pub fn findings(parts: &Parts, action: &Action) -> Vec<Finding> {
    let mut out = Vec::new();
    if let Some(broken) = action.broken {
        out.push(pallet::broken_cycle(broken));
        if let Some((beat, fork)) = last_beat(parts, action, &mut Scratch::default()) {
            out.extend(fork::slips(action, &beat, &fork));
        }
    }
    notch::of_notch(parts, action, &mut out);
    clearance::of_parts(parts, action, &mut out);
    // A finding is about what happens: at lever angles that the lever gets to between its bankings.
    for i in 0..action.beats.len() {
        let tooth = (!parts.wheel.alike()).then_some(action.beats[i].tooth);
        let mut beat = Beat { parts, action, i, tooth, pitch_rad: parts.wheel.pitch_rad(), out: &mut out };
        pallet::of_beat(&mut beat);
        fork::of_beat(&mut beat);
    }
    fork::at_rest(action, &mut out);
    for limit in LIMITS {
        range::outside(parts, action, limit, &mut out);
    }
    for f in &mut out {
        f.place_m = f.place_m.or_else(|| place::of(parts, action, f));
    }
    merge_teeth(&mut out);
    rank(&mut out);
    out
}

/// Findings about one beat, to which each adds its own.
struct Beat<'a> {
    parts: &'a Parts,
    action: &'a Action,
    i: usize,
    /// The tooth, where teeth differ.
    tooth: Option<u16>,
    pitch_rad: f64,
    out: &'a mut Vec<Finding>,
}

impl Beat<'_> {
    /// The tooth as words after a message; nothing where all are alike.
    fn on_tooth(&self) -> String {
        self.tooth.map_or(String::new(), |t| format!(" (tooth {t})"))
    }

    /// Adds a finding about the figure `stem` of this beat's pallet, so far outside.
    fn push(&mut self, mut f: Finding, stem: Option<&str>, place_m: Option<Vector>, excess: f64) {
        let name = self.action.beats[self.i].pallet.name();
        f.tooth = f.tooth.or(self.tooth);
        f.figure = stem.and_then(|s| FigureId::from_path(&format!("{name}.{s}")));
        f.found = f.figure.and_then(|id| id.of_beat(self.action, self.i));
        (f.place_m, f.excess_ratio) = (place_m, 1.0 + excess.abs());
        self.out.push(f);
    }
}

/// Every code and what it means, faults in the order of what they cost: what keeps the wheel from being held, then what
/// stops the balance, then what a jolt can do; cautions after them.
pub const CODES: [(&str, &str); 31] = [
    ("no-banking", "the lever never meets a banking"),
    ("not-stopped", "after one pallet has let go, nothing on the other stops the wheel"),
    ("stone-out-of-reach", "a stone does not reach the teeth"),
    ("no-locking-face", "a tooth meets a stone, but never its locking face"),
    ("no-let-off", "a stone never lets a tooth go"),
    ("no-drop", "the next tooth meets the other stone before this one is free: the wheel jams"),
    ("tooth-passes", "a short or bent tooth is not stopped: the wheel runs on to the next"),
    ("does-not-lock", "the tooth lands past the locking corner, by the angle given"),
    ("jewel-slips", "the notch loses the jewel before the tooth is let go"),
    ("banking-before-let-off", "the lever meets its banking before the tooth is let go: the watch stops"),
    ("stone-strikes-banking", "a stone and a banking are in one another's way, seen in plan"),
    ("banking-in-teeth", "a banking stands where the teeth pass, seen in plan"),
    ("banking-in-jewels-way", "a banking stands where the jewel passes, seen in plan"),
    ("stone-strikes-rim", "a stone reaches the rim between the teeth"),
    ("stone-strikes-tooth", "the stone's back and a tooth overlap somewhere in the cycle"),
    ("notch-too-shallow", "the jewel strikes the floor of the notch, by the depth given"),
    ("notch-too-narrow", "the jewel has no freedom in the notch"),
    ("jewel-does-not-enter", "the returning jewel meets another part of the fork than the notch, or nothing"),
    ("jewel-cannot-leave", "the jewel cannot leave the notch: the lever stands in its way on the banking"),
    ("rests-outside-notch", "at rest the balance holds the jewel outside the notch: it does not start"),
    ("guard-strikes-crescent", "while the jewel is in the notch the guard does not clear the crescent"),
    ("guard-strikes-jewel", "while the jewel is in the notch the guard of a single roller does not clear it"),
    ("no-freedom", "guard or horn presses with the lever on its banking"),
    ("can-overbank", "the lever can pass to the wrong side"),
    ("safety-lock-used-up", "guard or horn freedom reaches the total lock: a jolt unlocks"),
    ("crescent-not-covered", "between the horn's end and the crescent's edge a jolt unlocks"),
    (
        "no-draw",
        "somewhere on the locking face the draw is no more than the angle of friction: the tooth does not pull the stone in",
    ),
    ("falls-in-lift", "contact is lost during the lift and the tooth falls"),
    ("guard-after-horn", "guard freedom is not smaller than horn freedom"),
    ("banked-to-drop", "with the bankings closed to the drop the jewel cannot leave, or the guard presses"),
    ("lever-over-teeth", "seen in plan the lever lies over the teeth; sound where it runs at another height"),
];

/// Code of a figure outside its accepted limits.
pub(crate) const OUTSIDE: &str = "outside-accepted";

/// Place of a code in the order of what it costs.
fn place_of(code: &str) -> usize {
    CODES.iter().position(|(listed, _)| *listed == code).unwrap_or(CODES.len())
}

/// Whether `f` costs more than `g`.
pub(crate) fn graver(f: &Finding, g: &Finding) -> bool {
    (f.gravity, place_of(f.code)) < (g.gravity, place_of(g.code))
}

/// Sorts findings: faults before cautions, then by what they cost, then by how far outside they are. Like ones of both
/// pallets stand together.
pub fn rank(found: &mut [Finding]) {
    let worst: Vec<f64> = found
        .iter()
        .map(|f| found.iter().filter(|g| g.is_like(f)).map(|g| g.excess_ratio).fold(f.excess_ratio, f64::max))
        .collect();
    let mut order: Vec<usize> = (0..found.len()).collect();
    order.sort_by(|&a, &b| {
        let (f, g) = (&found[a], &found[b]);
        f.gravity
            .cmp(&g.gravity)
            .then(place_of(f.code).cmp(&place_of(g.code)))
            .then(worst[b].total_cmp(&worst[a]))
            .then(g.excess_ratio.total_cmp(&f.excess_ratio))
    });
    let sorted: Vec<Finding> = order.into_iter().map(|i| found[i].clone()).collect();
    found.clone_from_slice(&sorted);
}

/// Of findings that differ only in the tooth, keeps the worst and says how many teeth have it.
fn merge_teeth(found: &mut Vec<Finding>) {
    let mut kept: Vec<(Finding, BTreeSet<Option<u16>>)> = Vec::with_capacity(found.len());
    for f in found.drain(..) {
        match kept.iter_mut().find(|(k, _)| {
            let alike = k.code == f.code && k.pallet == f.pallet && k.figure == f.figure;
            // Each tooth that passes is named; so is what is wrong all the same for each tooth.
            let same = k.code != "tooth-passes" || k.tooth == f.tooth;
            k.tooth.is_some() && f.tooth.is_some() && alike && same
        }) {
            Some((worst, teeth)) => {
                teeth.insert(f.tooth);
                if f.excess_ratio > worst.excess_ratio {
                    *worst = f;
                }
            }
            None => kept.push((f.clone(), BTreeSet::from([f.tooth]))),
        }
    }
    found.extend(kept.into_iter().map(|(mut f, teeth)| {
        if teeth.len() > 1 {
            f.message.push_str(&format!("; the worst of {} teeth", teeth.len()));
        }
        f
    }));
}

/// Parameters named by path; `*` is the pallet, `^` the other one.
fn ids(paths: &[&str], pallet: Option<Pallet>) -> Vec<ParamId> {
    paths
        .iter()
        .flat_map(|path| {
            let named = match pallet {
                Some(p) => path.replace('*', p.name()).replace('^', p.other().name()),
                None => (*path).to_owned(),
            };
            ParamId::from_path(&named).unwrap_or_default()
        })
        .collect()
}

fn fault(
    code: &'static str,
    message: String,
    source: &'static str,
    moved_by: &[&str],
    pallet: Option<Pallet>,
) -> Finding {
    Finding {
        gravity: Gravity::Fault,
        code,
        message,
        pallet,
        tooth: None,
        figure: None,
        found: None,
        accepted: None,
        moved_by: ids(moved_by, pallet),
        source,
        place_m: None,
        excess_ratio: 1.0,
    }
}
