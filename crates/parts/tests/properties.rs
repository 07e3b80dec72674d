//! What holds for every statement: it closes to parts that have the values stated, or it is refused with a reason.
#![allow(clippy::unwrap_used)]

#[path = "../../plane/tests/support/cases.rs"]
mod cases;
#[path = "support/drawn.rs"]
mod drawn;
#[path = "../../action/tests/support/random.rs"]
mod random;

use cases::cases;
use drawn::{Drawing, quantities};
use movement::{Diagnostic, Movement, Pallet, ParamId, ParamKind as K, Unit, Values};
use parts::{Build, build, build_tersely};
use proptest::prelude::*;
use random::{Wanted, wanted};
use std::sync::atomic::{AtomicU32, Ordering::Relaxed};

/// In radians, and in ratios of R.
const CLOSE: f64 = 1e-9;

/// A quantity with lengths as ratios of R, so that one tolerance serves all.
fn scaled(id: ParamId, si: f64, radius_m: f64) -> f64 {
    if id.param().unit == Unit::Millimetre { si / radius_m } else { si }
}

/// What is stated beside the quantities: size, counts, where draw and share are read.
fn frame(of: &Movement) -> Values {
    let mut v = Values::default();
    let once = [
        K::WheelToothCount,
        K::WheelLockingRadius,
        K::CentresWheelPallet,
        K::PalletsSpacesSpanned,
        K::WheelToothLiftReadOn,
    ];
    for id in once.into_iter().map(|k| k.once()).chain(Pallet::BOTH.into_iter().map(|p| K::PalletDrawDepth.at(p))) {
        v.set(id, of.get(id).unwrap().0);
    }
    v
}

fn sound(w: &Wanted) -> Result<Build, TestCaseError> {
    build_tersely(&w.values()).map_err(|_| TestCaseError::reject("no such escapement"))
}

proptest! {
    #![proptest_config(cases(600))]

    /// Every resolved value is what the drawing shows.
    #[test]
    fn resolved_values_are_those_of_the_drawing(w in wanted()) {
        let b = sound(&w)?;
        let drawing = Drawing::of(&b.parts, &b.movement);
        let radius_m = b.movement.si(K::WheelLockingRadius);
        for id in quantities() {
            let (resolved, _) = b.movement.get(id).unwrap();
            let off = scaled(id, drawing.value(id) - resolved, radius_m);
            prop_assert!(off.abs() < CLOSE, "{id}: {resolved} on paper, {} drawn", drawing.value(id));
        }
        for p in 0..2 {
            prop_assert!((drawing.placing(p, w.spaces) - w.placing).abs() < CLOSE, "placing {}", drawing.placing(p, w.spaces));
        }
    }

    /// One value too many, and wrong: it is named with the values it clashes with, and leaving out any one of those
    /// named, and none of the others, mends it.
    #[test]
    fn a_value_too_many_is_told_with_its_residual(
        w in wanted(), pick in 0..64usize, wrong in prop_oneof![1e-3..0.02f64, -0.02..-1e-3f64],
    ) {
        let b = sound(&w)?;
        let radius_m = b.movement.si(K::WheelLockingRadius);
        // Twelve that fix the parts: the corners and draws, tooth and heel.
        let mut v = frame(&b.movement);
        let base = dimensions();
        for id in &base {
            v.set(*id, b.movement.get(*id).unwrap().0);
        }
        let others: Vec<ParamId> = quantities().into_iter().filter(|id| !base.contains(id)).collect();
        let id = others[pick % others.len()];
        let unit = if id.param().unit == Unit::Millimetre { radius_m } else { 1.0 };
        v.set(id, b.movement.get(id).unwrap().0 + wrong * unit);
        let Err(faults) = build(&v) else { return Err(TestCaseError::fail(format!("{id} off by {wrong} goes unnoticed"))) };
        prop_assert_eq!(faults.len(), 1, "{:?}", faults);
        let fault = &faults[0];
        prop_assert!(fault.is_error() && fault.about.contains(&id), "{fault:?}");
        // So wrong that the rest cannot follow it: no such pallets.
        if fault.code == "no-such-pallets" {
            return Ok(());
        }
        prop_assert_eq!(fault.code, "over-determined");
        // Which of those that clash is called wrong is a matter of order; taking the value allowed for it mends it.
        let edge = |text: &Option<String>| text.as_ref().unwrap().split_whitespace().next().unwrap().parse::<f64>().unwrap();
        let called = fault.about[0];
        let unit = called.param().unit;
        prop_assert!((edge(&fault.value) - unit.from_si(v.get(called).unwrap())).abs() < 1e-8, "{fault:?}");
        let mut mended = v.clone();
        mended.set(called, unit.to_si(edge(&fault.allowed)));
        let over = |v: &Values| matches!(build_tersely(v), Err(f) if f.iter().any(|d| d.code == "over-determined"));
        prop_assert!(!over(&mended), "{called} = {:?} does not mend it", fault.allowed);
        if called == id {
            let residual = edge(&fault.allowed) - edge(&fault.value);
            prop_assert!((residual + unit.from_si(wrong * if unit == Unit::Millimetre { radius_m } else { 1.0 })).abs() < 1e-6, "{residual}");
        }
        for other in &base {
            let mut without = v.clone();
            without.remove(*other);
            // At tangential planting a corner's distance does not change its angle at first, and then to one side only:
            // leaving that out may help where it is not named, and not help where it is.
            if !matches!(other.kind, K::PalletLockingDistance | K::PalletLetOffDistance) {
                prop_assert!(!fault.about.contains(other) || !over(&without), "leaving out {other} does not help: {fault:?}");
                prop_assert!(fault.about.contains(other) || build_tersely(&without).is_err(), "{other} is to blame, too: {fault:?}");
            }
        }
    }

    /// Values from anywhere in their ranges, many at once: parts, or diagnostics that each name a parameter and never a
    /// number that is none.
    #[test]
    fn anything_within_the_ranges_gets_an_answer(
        teeth in 6..=60u16, radius_mm in 0.2..100.0f64, picks in prop::collection::vec((any::<prop::sample::Index>(), 0.0..=1.0f64), 0..40),
        bad in prop::collection::vec((0..60u16, -2.0..2.0f64, -10.0..10.0f64), 0..3),
    ) {
        let ids: Vec<ParamId> = ParamId::dense().collect();
        let mut v = Values::default();
        v.set(K::WheelToothCount.once(), f64::from(teeth));
        v.set(K::WheelLockingRadius.once(), radius_mm * 1e-3);
        for (pick, part) in picks {
            let id = ids[pick.index(ids.len())];
            let row = id.param();
            let edge = row.min + part * (row.max - row.min);
            let whole = matches!(row.unit, Unit::Count | Unit::Choice(_));
            v.set(id, row.unit.to_si(if whole { edge.round() } else { edge }));
        }
        for (tooth, longer_mm, bent_deg) in bad {
            v.set(K::ToothLonger.tooth(tooth), longer_mm * 1e-3);
            v.set(K::ToothBent.tooth(tooth), bent_deg.to_radians());
        }
        match build(&v) {
            Ok(b) => {
                for id in ParamId::dense() {
                    prop_assert!(b.movement.get(id).is_none_or(|(si, _)| si.is_finite()), "{id}");
                }
                let outlines = b.parts.lever.stones.map(|s| s.body.profile);
                for p in [&outlines.entry, &outlines.exit, &b.parts.lever.fork.profile, &b.parts.roller.jewel.profile, &b.parts.roller.safety.profile] {
                    prop_assert!(p.area().is_finite() && p.largest_jump() < 1e-9, "jump {}", p.largest_jump());
                }
                for p in [&outlines.entry, &outlines.exit] {
                    prop_assert!(p.area() > 0.0, "a stone is inside out");
                }
            }
            Err(faults) => named(&faults)?,
        }
    }
}

/// Any choice of the values of a sound movement, wanted angles and dimensions mixed, few or all, closes to parts that have
/// the values stated; or the defaults that it leaves room for do not go with it. Now and then the search ends in another
/// answer to the same statements, one that no one could cut: 337 of 12,485 times when all was tried 10,000 times, which is
/// why 4 in 100 are let pass and not 2.
#[test]
fn any_choice_of_statements_closes() {
    let (fixed, refused) = (AtomicU32::new(0), AtomicU32::new(0));
    let choice = (wanted(), Just(quantities()).prop_shuffle(), 1..28usize);
    let check = |(w, order, count): (Wanted, Vec<ParamId>, usize)| {
        let b = sound(&w)?;
        let radius_m = b.movement.si(K::WheelLockingRadius);
        let mut v = frame(&b.movement);
        let chosen = &order[..count.min(order.len())];
        for id in chosen {
            v.set(*id, b.movement.get(*id).unwrap().0);
        }
        let determined = determined(&b, chosen);
        fixed.fetch_add(u32::from(determined), Relaxed);
        match build_tersely(&v) {
            Ok(again) => {
                let drawing = Drawing::of(&again.parts, &again.movement);
                for id in chosen {
                    let off = scaled(*id, drawing.value(*id) - v.get(*id).unwrap(), radius_m);
                    let all = || {
                        quantities()
                            .iter()
                            .map(|q| format!("{q} {} {}", drawing.value(*q), again.movement.get(*q).unwrap().0))
                            .collect::<Vec<_>>()
                    };
                    prop_assert!(off.abs() < 2.0 * CLOSE, "{id} is off by {off} with {chosen:?} {:#?}", all());
                }
            }
            Err(faults) => {
                named(&faults)?;
                refused.fetch_add(u32::from(determined), Relaxed);
            }
        }
        Ok(())
    };
    proptest::test_runner::TestRunner::new(cases(600)).run(&choice, check).unwrap_or_else(|e| panic!("{e}"));
    let (fixed, refused) = (fixed.into_inner(), refused.into_inner());
    assert!(fixed > 0 && refused * 25 <= fixed, "{refused} of {fixed} that fix the parts are refused");
}

/// Diagnostics that a person can use.
fn named(faults: &[Diagnostic]) -> Result<(), TestCaseError> {
    prop_assert!(!faults.is_empty());
    for f in faults {
        prop_assert!(!f.about.is_empty() && f.is_error() && f.hint.is_some(), "{f:?}");
        let texts = [Some(&f.message), f.value.as_ref(), f.allowed.as_ref()];
        prop_assert!(texts.iter().flatten().all(|t| !t.contains("NaN") && !t.contains("inf ")), "{f:?}");
    }
    Ok(())
}

/// The twelve dimensions of the drawing.
fn dimensions() -> Vec<ParamId> {
    let stones =
        [K::PalletLockingDistance, K::PalletLockingAngle, K::PalletLetOffDistance, K::PalletLetOffAngle, K::PalletDraw];
    let both = Pallet::BOTH.into_iter().flat_map(|p| stones.into_iter().map(move |k| k.at(p)));
    [K::WheelToothWidth.once(), K::WheelHeelRadius.once()].into_iter().chain(both).collect()
}

/// Whether `chosen` fix the parts of `b`: the rank of what they measure on parts drawn with each dimension a little
/// changed. Clear cases only: a choice that all but fixes them counts as either.
fn determined(b: &Build, chosen: &[ParamId]) -> bool {
    let radius_m = b.movement.si(K::WheelLockingRadius);
    let base = dimensions();
    let step = 1e-6;
    let drawn = |changed: usize, by: f64| -> Vec<f64> {
        let mut v = frame(&b.movement);
        for (i, id) in base.iter().enumerate() {
            let unit = if id.param().unit == Unit::Millimetre { radius_m } else { 1.0 };
            let by = if i == changed { by * unit } else { 0.0 };
            v.set(*id, b.movement.get(*id).unwrap().0 + by);
        }
        let b = build_tersely(&v).unwrap();
        let d = Drawing::of(&b.parts, &b.movement);
        chosen.iter().map(|id| scaled(*id, d.value(*id), radius_m)).collect()
    };
    let columns: Vec<Vec<f64>> = (0..base.len())
        .map(|i| drawn(i, step).iter().zip(drawn(i, -step)).map(|(a, b)| (a - b) / (2.0 * step)).collect())
        .collect();
    let j = nalgebra::DMatrix::from_fn(chosen.len(), base.len(), |r, c| columns[c][r]);
    j.singular_values().iter().filter(|s| **s > 1e-5).count() == base.len()
}
