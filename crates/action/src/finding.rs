//! Findings: what is wrong with an action, ranked, each with its numbers, its place and what moves it.

use movement::{Pallet, ParamId};
use parts::Parts;
use plane::Vector;

use crate::action::Action;
use crate::cycle::Broken;
use crate::figure::FigureId;
use crate::limit::{BANKED_SOURCE, GEOMETRY, LANDING_SOURCE, LIMITS, Limit, ORDER_SOURCE};
use crate::pallet::NoAction;

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

/// Everything found, worst first.
pub fn findings(parts: &Parts, action: &Action) -> Vec<Finding> {
    let mut out = Vec::new();
    if let Some(broken) = action.broken {
        out.push(broken_cycle(broken));
    }
    if action.notch.is_none() {
        out.push(fault(
            "notch-too-narrow",
            "the jewel has no freedom in the notch: it cannot enter".to_owned(),
            GEOMETRY,
            &["fork.notch_width_mm", "jewel.width_mm"],
            None,
        ));
    }
    for i in 0..action.beats.len() {
        of_beat(parts, action, i, &mut out);
    }
    for limit in LIMITS {
        outside(parts, action, limit, &mut out);
    }
    merge_teeth(&mut out);
    rank(&mut out);
    out
}

/// Faults in the order of what they cost: what keeps the wheel from being held, then what stops the balance, then what
/// a jolt can do. Codes that are not here come last.
const ORDER: [&str; 19] = [
    "no-banking",
    "not-stopped",
    "stone-out-of-reach",
    "no-locking-face",
    "no-let-off",
    "no-drop",
    "does-not-lock",
    "unlocked-when-banked",
    "banking-before-let-off",
    "stone-strikes-tooth",
    "notch-too-narrow",
    "jewel-does-not-enter",
    "jewel-cannot-leave",
    "no-freedom",
    "can-overbank",
    "safety-lock-used-up",
    "crescent-not-covered",
    "no-draw",
    "falls-in-lift",
];

/// Sorts findings: faults before cautions, then by what they cost, then by how far outside they are.
pub fn rank(found: &mut [Finding]) {
    let place = |f: &Finding| ORDER.iter().position(|c| *c == f.code).unwrap_or(ORDER.len());
    found.sort_by(|a, b| {
        a.gravity.cmp(&b.gravity).then(place(a).cmp(&place(b))).then(b.excess_ratio.total_cmp(&a.excess_ratio))
    });
}

/// Of findings that differ only in the tooth, keeps the worst and says how many teeth have it.
fn merge_teeth(found: &mut Vec<Finding>) {
    let mut kept: Vec<(Finding, usize)> = Vec::with_capacity(found.len());
    for f in found.drain(..) {
        match kept.iter_mut().find(|(k, _)| {
            k.tooth.is_some() && f.tooth.is_some() && k.code == f.code && k.pallet == f.pallet && k.figure == f.figure
        }) {
            Some((worst, count)) => {
                *count += 1;
                if f.excess_ratio > worst.excess_ratio {
                    *worst = f;
                }
            }
            None => kept.push((f, 1)),
        }
    }
    found.extend(kept.into_iter().map(|(mut f, count)| {
        if count > 1 {
            f.message.push_str(&format!("; the worst of {count} teeth"));
        }
        f
    }));
}

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

fn broken_cycle(broken: Broken) -> Finding {
    match broken {
        Broken::NoBanking { pallet } => fault(
            "no-banking",
            format!("the lever does not meet the {} banking within 60 deg", pallet.name()),
            GEOMETRY,
            &["bankings.*.open_mm", "bankings.*.lever_angle_deg"],
            Some(pallet),
        ),
        Broken::NotStopped { pallet, after_tooth } => fault(
            "not-stopped",
            format!(
                "after tooth {after_tooth} is let go, nothing on the {} pallet stops the wheel: it runs",
                pallet.name()
            ),
            GEOMETRY,
            &["pallets.*.stone_out_mm", "centres.wheel_pallet_change_mm"],
            Some(pallet),
        ),
        Broken::NoAction { pallet, tooth, why } => {
            let name = pallet.name();
            let (code, message) = match why {
                NoAction::StoneOutOfReach => {
                    ("stone-out-of-reach", format!("the {name} stone does not reach tooth {tooth}"))
                }
                NoAction::NoLockingFace => {
                    ("no-locking-face", format!("tooth {tooth} meets the {name} stone but never its locking face"))
                }
                NoAction::NoLetOff => ("no-let-off", format!("the {name} stone never lets tooth {tooth} go")),
            };
            let mut f = fault(
                code,
                message,
                GEOMETRY,
                &["pallets.*.stone_out_mm", "centres.wheel_pallet_change_mm"],
                Some(pallet),
            );
            f.tooth = Some(tooth);
            f
        }
    }
}

fn of_beat(parts: &Parts, action: &Action, i: usize, out: &mut Vec<Finding>) {
    let beat = &action.beats[i];
    let pallet = beat.pallet;
    let name = pallet.name();
    let tooth = (!parts.wheel.alike()).then_some(beat.tooth);
    let on_tooth = tooth.map_or(String::new(), |t| format!(" (tooth {t})"));
    let deg = f64::to_degrees;
    let figure = |path: &str| FigureId::from_path(&format!("{name}.{path}"));
    let mut push = |mut f: Finding, figure: Option<FigureId>, place_m: Option<Vector>, excess: f64| {
        f.tooth = tooth;
        f.found = figure.and_then(|id| id.of_beat(action, i));
        (f.figure, f.place_m, f.excess_ratio) = (figure, place_m, 1.0 + excess.abs());
        out.push(f);
    };
    let stone_moves = ["pallets.*.stone_out_mm", "pallets.^.stone_out_mm", "centres.wheel_pallet_change_mm"];

    if beat.lock_rad <= 0.0 {
        let message = format!(
            "{name} does not lock by {:.3} deg{on_tooth}: the tooth lands on the {}",
            deg(-beat.lock_rad),
            beat.landing.stone_face.name()
        );
        push(
            fault("does-not-lock", message, LANDING_SOURCE, &stone_moves, Some(pallet)),
            figure("lock_deg"),
            Some(beat.landing.point_m),
            deg(beat.lock_rad),
        );
    }
    if beat.run_rad < -crate::pallet::NO_RUN_RAD {
        let message = format!(
            "the lever meets the {name} banking {:.3} deg before the {} pallet lets go{on_tooth}: the watch stops",
            deg(-beat.run_rad),
            pallet.other().name()
        );
        push(
            fault(
                "banking-before-let-off",
                message,
                GEOMETRY,
                &["bankings.*.open_mm", "pallets.^.stone_out_mm"],
                Some(pallet),
            ),
            figure("run_deg"),
            None,
            deg(beat.run_rad),
        );
    } else if beat.total_lock_rad <= 0.0 && beat.lock_rad > 0.0 {
        let message = format!(
            "{name} is unlocked with the lever on its banking, by {:.3} deg{on_tooth}",
            deg(-beat.total_lock_rad)
        );
        push(
            fault("unlocked-when-banked", message, GEOMETRY, &["bankings.*.open_mm"], Some(pallet)),
            figure("total_lock_deg"),
            None,
            deg(beat.total_lock_rad),
        );
    }
    if beat.drop_rad <= 0.0 {
        let message = format!(
            "no drop after the {name} pallet{on_tooth}: the next tooth meets the {} stone {:.3} deg of the wheel before this one is free; the wheel jams",
            pallet.other().name(),
            deg(-beat.drop_rad)
        );
        let moves = ["pallets.*.stone_thicker_mm", "pallets.^.stone_spread_mm", "pallets.*.breadth_deg"];
        push(
            fault("no-drop", message, LANDING_SOURCE, &moves, Some(pallet)),
            figure("drop_deg"),
            Some(beat.let_off.point_m),
            deg(beat.drop_rad),
        );
    }
    if let Some(rear) = action.rear.get(i).copied().flatten()
        && rear.gap_m < 0.0
    {
        let message = format!(
            "the back of the {name} stone strikes a tooth by {:.1} um{on_tooth}, lever at {:.2} deg",
            -rear.gap_m * 1e6,
            deg(rear.lever_rad)
        );
        push(
            fault(
                "stone-strikes-tooth",
                message,
                BANKED_SOURCE,
                &["pallets.*.stone_thicker_mm", "wheel.back_lean_deg"],
                Some(pallet),
            ),
            figure("rear_freedom_um"),
            Some(rear.stone_m),
            rear.gap_m * 1e6,
        );
    }
    for s in beat.segments.iter().filter(|s| s.fall_rad > 0.0) {
        let message = format!(
            "the tooth loses the {name} stone during the lift{on_tooth} and falls {:.3} deg of the wheel",
            deg(s.fall_rad)
        );
        let mut f = fault(
            "falls-in-lift",
            message,
            GEOMETRY,
            &["wheel.tooth_lift_deg", "pallets.*.impulse_face_angle_deg"],
            Some(pallet),
        );
        f.gravity = Gravity::Caution;
        push(f, None, Some(s.from.point_m), deg(s.fall_rad));
    }
    if beat.face_end.draw_rad <= 0.0 {
        let message = format!(
            "no draw on the {name} pallet at the locking corner{on_tooth}: {:.2} deg; a jolt leaves the lever off its banking",
            deg(beat.face_end.draw_rad)
        );
        push(
            fault(
                "no-draw",
                message,
                LANDING_SOURCE,
                &["pallets.*.draw_deg", "pallets.*.stone_tilt_deg"],
                Some(pallet),
            ),
            figure("draw_unlocking_deg"),
            Some(beat.face_end.point_m),
            deg(beat.face_end.draw_rad),
        );
    }
    let Some(fork) = action.fork.get(i) else { return };
    // Fork and guard change with the tooth only through its lock: what does not depend on it is said once.
    let first = action.indices(pallet).next() == Some(i);
    if first {
        if !fork.enters {
            let what = fork.engaging_face.map_or("nothing of the fork".to_owned(), |f| format!("the {}", f.name()));
            push(
                fault(
                    "jewel-does-not-enter",
                    format!("coming back to the {name} side, the jewel meets {what} and does not get into the notch"),
                    GEOMETRY,
                    &["bankings.*.open_mm", "fork.longer_mm", "jewel.out_mm"],
                    Some(pallet),
                ),
                None,
                None,
                0.0,
            );
        }
        if let Some(face) = fork.leaving_strikes {
            push(
                fault(
                    "jewel-cannot-leave",
                    format!(
                        "after the {name} impulse the jewel cannot leave the notch: it strikes the {} with the lever on its banking",
                        face.name()
                    ),
                    BANKED_SOURCE,
                    &["bankings.^.open_mm", "fork.longer_mm", "jewel.out_mm"],
                    Some(pallet),
                ),
                None,
                None,
                0.0,
            );
        }
        if fork.can_overbank {
            push(
                fault(
                    "can-overbank",
                    format!(
                        "the lever can pass to the wrong side from the {name} banking: at some jewel angle neither guard nor horn holds it"
                    ),
                    ORDER_SOURCE,
                    &["guard.longer_mm", "fork.horn_length_mm", "roller.crescent_half_angle_deg"],
                    Some(pallet),
                ),
                figure("hold_overlap_deg"),
                None,
                1.0,
            );
        }
        for (freedom, path, what, moves) in [
            (
                fork.guard_freedom_rad,
                "guard_freedom_deg",
                "guard presses on the safety roller",
                ["guard.longer_mm", "bankings.*.open_mm"],
            ),
            (
                fork.horn_freedom_rad,
                "horn_freedom_deg",
                "horn presses on the jewel",
                ["jewel.out_mm", "bankings.*.open_mm"],
            ),
        ] {
            if let Some(freedom) = freedom.filter(|f| *f <= 0.0) {
                push(
                    fault(
                        "no-freedom",
                        format!("the {what} with the lever on the {name} banking, by {:.3} deg", deg(-freedom)),
                        ORDER_SOURCE,
                        &moves,
                        Some(pallet),
                    ),
                    figure(path),
                    None,
                    deg(freedom),
                );
            }
        }
        if let (Some(guard), Some(horn)) = (fork.guard_freedom_rad, fork.horn_freedom_rad)
            && guard >= horn
        {
            let message = format!(
                "guard freedom {:.3} deg is not smaller than horn freedom {:.3} deg on the {name} side",
                deg(guard),
                deg(horn)
            );
            let mut f = fault(
                "guard-after-horn",
                message,
                ORDER_SOURCE,
                &["guard.longer_mm", "fork.horn_freedom_deg"],
                Some(pallet),
            );
            f.gravity = Gravity::Caution;
            push(f, figure("guard_freedom_deg"), None, deg(guard - horn));
        }
        let overlap = fork.horn_holds_to_rad - fork.guard_holds_from_rad;
        if overlap < 0.0 && !fork.can_overbank && beat.total_lock_rad > 0.0 {
            push(
                fault(
                    "crescent-not-covered",
                    format!(
                        "between the horn's end and the crescent's edge the {name} tooth can be unlocked over {:.2} deg of the balance",
                        deg(-overlap)
                    ),
                    ORDER_SOURCE,
                    &["fork.horn_length_mm", "roller.crescent_half_angle_deg"],
                    Some(pallet),
                ),
                figure("hold_overlap_deg"),
                None,
                deg(overlap),
            );
        }
        let banked = fork.banked_to_drop;
        if let Some(face) = banked.jewel_strikes {
            let mut f = fault(
                "banked-to-drop-strikes",
                format!(
                    "banked to drop, the jewel strikes the {} when it leaves on the {name} side: fork too long or jewel too far out",
                    face.name()
                ),
                BANKED_SOURCE,
                &["fork.longer_mm", "jewel.out_mm"],
                Some(pallet),
            );
            f.gravity = Gravity::Caution;
            push(f, figure("banked_to_drop_horn_deg"), None, 0.0);
        }
        if let Some(guard) = banked.guard_freedom_rad.filter(|g| *g < 0.0) {
            let mut f = fault(
                "banked-to-drop-guard",
                format!("banked to drop, the guard presses on the roller on the {name} side by {:.3} deg", deg(-guard)),
                BANKED_SOURCE,
                &["guard.longer_mm"],
                Some(pallet),
            );
            f.gravity = Gravity::Caution;
            push(f, figure("banked_to_drop_guard_deg"), None, deg(guard));
        }
    }
    for (freedom, path, what, moves) in [
        (fork.guard_freedom_rad, "safety_lock_guard_deg", "guard", "guard.longer_mm"),
        (fork.horn_freedom_largest_rad, "safety_lock_horn_deg", "horn", "fork.horn_freedom_deg"),
    ] {
        if let Some(freedom) = freedom
            && freedom >= beat.total_lock_rad
            && beat.total_lock_rad > 0.0
        {
            let message = format!(
                "{what} freedom {:.3} deg at its largest is not smaller than the total lock {:.3} deg on the {name} pallet{on_tooth}: a jolt unlocks it",
                deg(freedom),
                deg(beat.total_lock_rad)
            );
            push(
                fault("safety-lock-used-up", message, ORDER_SOURCE, &[moves, "bankings.*.open_mm"], Some(pallet)),
                figure(path),
                None,
                deg(freedom - beat.total_lock_rad),
            );
        }
    }
}

/// A figure outside what is accepted, unless a fault has said so already.
fn outside(parts: &Parts, action: &Action, limit: &Limit, out: &mut Vec<Finding>) {
    let pallets: &[Option<Pallet>] =
        if limit.figure.contains('*') { &[Some(Pallet::Entry), Some(Pallet::Exit)] } else { &[None] };
    for &pallet in pallets {
        let path = pallet.map_or(limit.figure.to_owned(), |p| limit.figure.replace('*', p.name()));
        let Some(id) = FigureId::from_path(&path) else { continue };
        if out.iter().any(|f| f.figure == Some(id) && f.gravity == Gravity::Fault) {
            continue;
        }
        // Both ends count: of unlike teeth one may be too shallow and another too deep.
        let beats: Vec<usize> = match pallet {
            Some(p) => action.indices(p).collect(),
            None => Vec::new(),
        };
        let values: Vec<(Option<usize>, f64)> = match pallet {
            Some(_) => beats.iter().filter_map(|&i| Some((Some(i), id.of_beat(action, i)?))).collect(),
            None => id.value(action).map(|v| (None, v)).into_iter().collect(),
        };
        let unit = id.figure().unit;
        // Values are compared as they are shown, so that a stated limit is not failed by rounding in the last place.
        let shown = |si: f64| {
            let scale = 10_f64.powi(unit.decimals() as i32);
            (unit.from_si(si) * scale).round() / scale
        };
        let how_far = |v: f64| (limit.least - v).max(v - limit.most);
        let Some((beat, si)) = values.into_iter().max_by(|a, b| how_far(shown(a.1)).total_cmp(&how_far(shown(b.1))))
        else {
            continue;
        };
        let value = shown(si);
        if how_far(value) <= 0.0 {
            continue;
        }
        let width = if limit.most.is_finite() { limit.most - limit.least } else { limit.least.abs().max(1.0) };
        let tooth = beat.filter(|_| !parts.wheel.alike()).map(|i| action.beats[i].tooth);
        let accepted = if limit.most.is_finite() {
            format!("{} to {} {}", limit.least, limit.most, unit.sign())
        } else {
            format!("at least {} {}", limit.least, unit.sign())
        };
        // A safety lock that is used up is no matter of taste.
        let used_up = limit.figure.contains("safety_lock") && value <= 0.0;
        out.push(Finding {
            gravity: if used_up { Gravity::Fault } else { Gravity::Caution },
            code: if used_up { "safety-lock-used-up" } else { "outside-accepted" },
            message: format!(
                "{} is {:.*} {}{}, accepted {}: {}",
                words(&path),
                unit.decimals(),
                value,
                unit.sign(),
                tooth.map_or(String::new(), |t| format!(" (tooth {t})")),
                accepted.trim_end(),
                limit.meaning
            ),
            pallet,
            tooth,
            figure: Some(id),
            found: Some(si),
            accepted: Some((limit.least, limit.most)),
            moved_by: ids(limit.moved_by, pallet),
            source: limit.source,
            place_m: beat.and_then(|i| Some(action.beats.get(i)?.landing.point_m)),
            excess_ratio: how_far(value) / width,
        });
    }
}

/// `exit.safety_lock_guard_deg` as words: `exit safety lock guard`.
fn words(path: &str) -> String {
    let stem = path.trim_end_matches("_deg").trim_end_matches("_um").trim_end_matches("_mm").trim_end_matches("_ratio");
    stem.replace(['.', '_'], " ")
}
