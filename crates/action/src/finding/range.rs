//! Figures outside what is accepted.

use movement::Pallet;
use parts::Parts;

use super::{Finding, Gravity, OUTSIDE, ids, place};
use crate::action::Action;
use crate::figure::FigureId;
use crate::limit::Limit;

/// A figure outside what is accepted, unless a fault has said so already.
pub(super) fn outside(parts: &Parts, action: &Action, limit: &Limit, out: &mut Vec<Finding>) {
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
            Some(_) => {
                let reached = beats.into_iter().filter(|&i| reached(action, limit.figure, i));
                reached.filter_map(|i| Some((Some(i), id.of_beat(action, i)?))).collect()
            }
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
        // Out of angle is what the lever is, whatever the bankings let it do.
        let lets_go = limit.figure != "out_of_angle_deg" || (0..action.beats.len().min(2)).all(|i| action.lets_go(i));
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
            code: if used_up { "safety-lock-used-up" } else { OUTSIDE },
            message: format!(
                "{} is {:.*} {}{}, accepted {}: {}{}",
                words(&path),
                unit.decimals(),
                value,
                unit.sign(),
                tooth.map_or(String::new(), |t| format!(" (tooth {t})")),
                accepted.trim_end(),
                if value < limit.least { limit.below } else { limit.above },
                if lets_go { "" } else { "; counted with the bankings out of the way" }
            ),
            pallet,
            tooth,
            figure: Some(id),
            found: Some(si),
            accepted: Some((limit.least, limit.most)),
            moved_by: ids(limit.moved_by, pallet),
            source: limit.source,
            place_m: beat.and_then(|i| place::of_figure(action, limit.figure, i)),
            excess_ratio: how_far(value) / width,
        });
    }
}

/// Whether the lever gets to where a figure of a beat is counted.
fn reached(action: &Action, figure: &str, beat: usize) -> bool {
    match figure {
        "*.lock_deg" => action.beats[beat].lands(),
        "*.drop_deg" | "*.balance_lift_deg" => action.lets_go(beat),
        "*.draw_unlocking_deg" => action.reaches(action.beats[beat].face_end.lever_rad),
        _ => true,
    }
}

/// `exit.safety_lock_guard_deg` as words: `exit safety lock guard`.
fn words(path: &str) -> String {
    let stem = path.trim_end_matches("_deg").trim_end_matches("_um").trim_end_matches("_mm").trim_end_matches("_ratio");
    stem.replace(['.', '_'], " ")
}
