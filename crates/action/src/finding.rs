//! Findings: what is wrong with an action, ranked, each with its numbers, its place and what moves it.

mod clearance;
mod fork;
mod notch;
mod pallet;
mod range;

use movement::{Pallet, ParamId};
use parts::Parts;
use plane::Vector;
use std::collections::BTreeSet;

use crate::action::Action;
use crate::figure::FigureId;
use crate::limit::LIMITS;

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
    /// Parameters that move it.
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
    }
    notch::of_notch(parts, action, &mut out);
    clearance::of_parts(parts, action, &mut out);
    for i in 0..action.beats.len() {
        let tooth = (!parts.wheel.alike()).then_some(action.beats[i].tooth);
        let mut beat = Beat { action, i, tooth, pitch_rad: parts.wheel.pitch_rad(), out: &mut out };
        pallet::of_beat(&mut beat);
        fork::of_beat(&mut beat);
    }
    for limit in LIMITS {
        range::outside(parts, action, limit, &mut out);
    }
    merge_teeth(&mut out);
    rank(&mut out);
    out
}

/// Findings about one beat, to which each adds its own.
struct Beat<'a> {
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
        f.tooth = self.tooth;
        f.figure = stem.and_then(|s| FigureId::from_path(&format!("{name}.{s}")));
        f.found = f.figure.and_then(|id| id.of_beat(self.action, self.i));
        (f.place_m, f.excess_ratio) = (place_m, 1.0 + excess.abs());
        self.out.push(f);
    }
}

/// Faults in the order of what they cost: what keeps the wheel from being held, then what stops the balance, then what
/// a jolt can do. Codes that are not here come last.
const ORDER: [&str; 23] = [
    "no-banking",
    "not-stopped",
    "stone-out-of-reach",
    "no-locking-face",
    "no-let-off",
    "no-drop",
    "tooth-passes",
    "does-not-lock",
    "banking-before-let-off",
    "in-the-way",
    "stone-strikes-rim",
    "stone-strikes-tooth",
    "notch-too-shallow",
    "notch-too-narrow",
    "jewel-does-not-enter",
    "jewel-cannot-leave",
    "guard-strikes-in-passing",
    "no-freedom",
    "can-overbank",
    "safety-lock-used-up",
    "crescent-not-covered",
    "no-draw",
    "falls-in-lift",
];

/// Sorts findings: faults before cautions, then by what they cost, then by how far outside they are. Like ones of both
/// pallets stand together.
pub fn rank(found: &mut [Finding]) {
    let place = |f: &Finding| ORDER.iter().position(|c| *c == f.code).unwrap_or(ORDER.len());
    let worst: Vec<f64> = found
        .iter()
        .map(|f| found.iter().filter(|g| g.is_like(f)).map(|g| g.excess_ratio).fold(f.excess_ratio, f64::max))
        .collect();
    let mut order: Vec<usize> = (0..found.len()).collect();
    order.sort_by(|&a, &b| {
        let (f, g) = (&found[a], &found[b]);
        f.gravity
            .cmp(&g.gravity)
            .then(place(f).cmp(&place(g)))
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
            k.tooth.is_some() && f.tooth.is_some() && k.code == f.code && k.pallet == f.pallet && k.figure == f.figure
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
