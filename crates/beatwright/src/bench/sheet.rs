//! From a worked-out movement to the sheet that the page shows.

use action::{Action, Contact, FigureId, Instant, Phase, Scratch, Shock, Turned, oscillation, sample_curve, struck};
use movement::{Diagnostic, Pallet, ParamId, ParamKind as K};
use plane::Vector;

use crate::bench::handles::handles;
use crate::bench::outlines::bodies;
use crate::bench::running::running;
use crate::bench::wire::{
    ContactCurve, DiagnosticRow, FigureRow, FindingRow, Oscillation, Sheet, ShockRow, Shown, Span, StopRow, ValueRow,
    View,
};
use crate::input::Loaded;
use crate::tables::{alike, verdict};

/// Jewel angle to which the balance is turned by hand, to each side; chosen, well outside any notch.
const EXTREME_RAD: f64 = 2.4;
/// Points of a contact curve on each of its stretches.
const CURVE_POINTS: usize = 12;
/// Half the width of a magnified view, in toe radii; chosen to show a stone's working end.
const VIEW_RATIO: f64 = 0.16;

/// What is wanted of a sheet.
pub struct Wanted {
    /// The beat with which the oscillation begins.
    pub beat: usize,
    /// What is held, where only what is drawn is wanted.
    pub held: Option<Vec<ParamId>>,
    /// The moment shown, where the others are not wanted.
    pub shown: Option<Shown>,
}

/// The sheet.
pub fn sheet(loaded: &Loaded, wanted: &Wanted) -> Sheet {
    let (parts, action, movement) = (&loaded.build.parts, &loaded.action, &loaded.build.movement);
    let (kind, sentence) = verdict(&loaded.findings);
    let mut scratch = Scratch::default();
    let mut turned = oscillation(parts, action, wanted.beat, EXTREME_RAD, &mut scratch);
    if let Some(at) = wanted.shown.as_ref().and_then(|shown| moment(&turned, shown)) {
        turned.instants = vec![turned.instants[at]];
        turned.shocks.clear();
    }
    let bankings = action.bankings_rad;
    let teeth = movement.values().teeth().iter().map(|(id, _)| *id);
    let whole = wanted.held.is_none();
    let values = ParamId::dense().chain(teeth).filter_map(|id| {
        let (si, origin) = movement.get(id)?;
        Some(ValueRow { path: id.to_string(), value: id.param().unit.from_si(si), origin: origin.name().to_owned() })
    });
    Sheet {
        name: loaded.statement.name.clone(),
        kind: loaded.statement.kind.to_owned(),
        verdict: kind.to_owned(),
        sentence,
        axes_mm: [parts.centres.wheel_m, parts.centres.pallet_m, parts.centres.balance_m].map(mm),
        line_deg: parts.line_rad.to_degrees(),
        locking_radius_mm: movement.si(K::WheelLockingRadius) * 1e3,
        tooth_count: parts.wheel.tooth_count,
        beat_count: action.beats.len() as u32,
        bodies: bodies(&loaded.build),
        oscillation: (!turned.instants.is_empty()).then(|| columns(&turned, action)),
        stop: turned
            .stop
            .map(|stop| StopRow { name: stop.name().to_owned(), message: unnumbered(&stop.to_string(), parts) }),
        bankings_deg: [bankings.entry, bankings.exit].map(|b| b.map(f64::to_degrees)),
        findings: findings(loaded, &turned.instants),
        running: whole.then(|| running(loaded)),
        figures: FigureId::all().map(|id| figure(loaded, id)).collect(),
        values: if whole { values.collect() } else { Vec::new() },
        handles: handles(&loaded.build, wanted.held.as_deref()),
        views: views(loaded),
        curves: if whole { curves(parts, action, turned.first) } else { Vec::new() },
        sideshake_combinations: loaded.shaken.as_ref().map(|s| s.count as u32),
    }
}

fn mm(v: Vector) -> [f64; 2] {
    [v.x * 1e3, v.y * 1e3]
}

fn findings(loaded: &Loaded, instants: &[Instant]) -> Vec<FindingRow> {
    let groups = alike(&loaded.findings).enumerate();
    let rows = groups.flat_map(|(group, found)| found.iter().map(move |f| (group, f)));
    rows.map(|(group, f)| FindingRow {
        gravity: f.gravity.name().to_owned(),
        code: f.code.to_owned(),
        message: unnumbered(&f.message, &loaded.build.parts),
        source: f.source.to_owned(),
        pallet: f.pallet.map(|p| p.name().to_owned()),
        figure: f.figure.map(|id| id.to_string()),
        moved_by: f.moved_by.iter().map(ToString::to_string).collect(),
        place_mm: f.place_m.map(mm),
        instants: struck(&loaded.build.parts, f, instants).iter().map(|r| [r.start as u32, r.end as u32]).collect(),
        group: group as u32,
    })
    .collect()
}

/// A sentence without the number of the tooth where all are alike: there it says nothing.
fn unnumbered(sentence: &str, parts: &parts::Parts) -> String {
    if !parts.wheel.alike() {
        return sentence.to_owned();
    }
    let mut out = String::new();
    for (i, piece) in sentence.split("tooth ").enumerate() {
        let rest = piece.trim_start_matches(|c: char| c.is_ascii_digit());
        match (i, rest.len() < piece.len()) {
            (0, _) => out.push_str(piece),
            (_, false) => out.extend(["tooth ", piece]),
            (1, true) => out.extend(["the tooth", rest]),
            (_, true) => out.extend(["another tooth", rest]),
        }
    }
    out
}

fn figure(loaded: &Loaded, id: FigureId) -> FigureRow {
    let unit = id.figure().unit;
    let range = loaded.shaken.as_ref().and_then(|s| s.ranges.get(&id));
    let wanted = crate::tables::wanted(loaded, id);
    FigureRow {
        path: id.to_string(),
        value: id.value(&loaded.action).map(|si| unit.from_si(si)),
        least: range.map(|r| unit.from_si(r.0)),
        most: range.map(|r| unit.from_si(r.1)),
        wanted: wanted.map(|(si, _)| unit.from_si(si)),
        wanted_origin: wanted.map(|(_, origin)| origin.name().to_owned()),
    }
}

/// A number without the digits that nobody needs: to 1e-10 of a degree or mm, on the smallest wheel a ten-thousandth of
/// what a drawing may be off by.
fn short(value: f64) -> f64 {
    (value * 1e10).round() / 1e10
}

/// Where the moment `shown` is; nowhere in an oscillation that has no such stretch, or stops at that very moment.
fn moment(turned: &Turned, shown: &Shown) -> Option<usize> {
    let same = |at: &Instant| {
        at.pallet.name() == shown.pallet && at.phase.name() == shown.phase && touching(at) == shown.contact
    };
    let within = (0.0..=1.0).contains(&shown.along);
    let first = turned.instants.iter().position(same).filter(|_| within)?;
    let count = turned.instants[first..].iter().take_while(|at| same(at)).count();
    let at = first + (shown.along * (count - 1) as f64).round() as usize;
    (turned.stop.is_none() || at + 1 < turned.instants.len()).then_some(at)
}

/// What touches what, in words.
fn touching(at: &Instant) -> Option<String> {
    at.contact.as_ref().map(|c| format!("{} on {}", c.tooth_face.name(), c.stone_face.name()))
}

/// Instants as columns, and the phases they belong to.
fn columns(turned: &Turned, action: &Action) -> Oscillation {
    let instants = &turned.instants;
    let mut spans: Vec<Span> = Vec::new();
    let mut span = Vec::with_capacity(instants.len());
    for (i, at) in instants.iter().enumerate() {
        let contact = touching(at);
        let same = spans
            .last()
            .is_some_and(|s| s.phase == at.phase.name() && s.pallet == at.pallet.name() && s.contact == contact);
        if !same {
            spans.push(Span {
                pallet: at.pallet.name().to_owned(),
                phase: at.phase.name().to_owned(),
                first: i as u32,
                end: 0,
                contact,
            });
        }
        if let Some(last) = spans.last_mut() {
            last.end = i as u32 + 1;
        }
        span.push(spans.len() as u32 - 1);
    }
    let degrees = |read: fn(&Instant) -> f64| instants.iter().map(|i| short(read(i).to_degrees())).collect();
    let contact = |c: &Contact| {
        let [x, y] = mm(c.point_m);
        [x, y, c.normal.x, c.normal.y, c.wheel_arm_m * 1e3, c.lever_arm_m * 1e3].map(short)
    };
    // After the drop it is the other pallet's stone that is touched.
    let touched = |at: &Instant| match at.phase {
        Phase::Run | Phase::FreeOut => at.pallet.other(),
        _ => at.pallet,
    };
    let advance = |at: &Instant| {
        let own = action.beats.iter().find(|own| own.pallet == touched(at) && own.tooth == at.tooth)?;
        Some(short((own.unlocking.wheel_rad - at.contact.as_ref()?.wheel_rad).to_degrees()))
    };
    let torque_ratio = |at: &Instant| at.contact.as_ref()?.torque_ratio(touched(at)).map(short);
    let shock = |&(at, shock): &(usize, Shock)| ShockRow {
        instant: at as u32,
        name: shock.name().to_owned(),
        short: strikes(shock).to_owned(),
    };
    Oscillation {
        first_beat: turned.first as u32,
        wheel_deg: degrees(|i| i.wheel_rad),
        lever_deg: degrees(|i| i.lever_rad),
        jewel_deg: degrees(|i| i.jewel_rad),
        span,
        contact: instants.iter().map(|i| i.contact.as_ref().map(contact)).collect(),
        advance_deg: instants.iter().map(advance).collect(),
        torque_ratio: instants.iter().map(torque_ratio).collect(),
        spans,
        shocks: turned.shocks.iter().map(shock).collect(),
    }
}

/// What strikes on what, in short.
fn strikes(shock: Shock) -> &'static str {
    match shock {
        Shock::JewelMeetsNotch => "jewel on notch",
        Shock::ToothMeetsImpulseFace => "tooth on face",
        Shock::NotchCatchesJewel => "notch on jewel",
        Shock::Drop => "tooth on stone",
        Shock::Banking => "banking",
    }
}

/// Both stones where they lock, the jewel in the middle, the guard.
fn views(loaded: &Loaded) -> Vec<View> {
    let parts = &loaded.build.parts;
    let half_width_mm = VIEW_RATIO * loaded.build.movement.si(K::WheelLockingRadius) * 1e3;
    let view = |name: &str, at: Vector| View { name: name.to_owned(), at_mm: mm(at), half_width_mm };
    let mut out: Vec<View> = Pallet::BOTH
        .into_iter()
        .map(|p| {
            let corner = parts.lever_pose(0.0).point(parts.lever.stones[p].locking_corner_m);
            let own = loaded.action.of(p).next();
            view(p.name(), own.map_or(corner, |own| own.unlocking.point_m))
        })
        .collect();
    let jewel = parts.roller_pose(0.0).point(Vector::new(0.0, -loaded.build.movement.si(K::RollerJewelDistance)));
    out.push(view("fork", jewel));
    let axis = parts.lever_pose(0.0).direction(parts.lever.fork_axis);
    out.push(view("guard", parts.centres.pallet_m + axis * loaded.build.movement.si(K::GuardReach)));
    out
}

/// Curves of the two beats from `first` on.
fn curves(parts: &parts::Parts, action: &Action, first: usize) -> Vec<ContactCurve> {
    let beats = action.beats.iter().cycle().skip(first).take(action.beats.len().min(2));
    beats.map(|own| curve(parts, own)).collect()
}

fn curve(parts: &parts::Parts, own: &action::PalletAction) -> ContactCurve {
    let points = sample_curve(parts, own, CURVE_POINTS);
    ContactCurve {
        pallet: own.pallet.name().to_owned(),
        lever_deg: points.iter().map(|c| c.lever_rad.to_degrees()).collect(),
        advance_deg: points.iter().map(|c| (own.unlocking.wheel_rad - c.wheel_rad).to_degrees()).collect(),
        torque_ratio: points.iter().map(|c| c.torque_ratio(own.pallet)).collect(),
    }
}

/// Diagnostics as rows, with lines of the text `source`; errors first.
pub fn diagnostics(all: &[Diagnostic], source: &str, text: &str) -> Vec<DiagnosticRow> {
    let mut sorted: Vec<&Diagnostic> = all.iter().collect();
    sorted.sort_by_key(|d| d.severity);
    let row = |d: &Diagnostic| {
        let place = d.place.as_ref().filter(|p| p.source == source);
        let characters = |p: &movement::Place| text.get(p.start..p.end).map_or(1, |t| t.chars().count() as u32);
        DiagnosticRow {
            severity: format!("{:?}", d.severity).to_lowercase(),
            code: d.code.to_owned(),
            message: d.message.clone(),
            value: d.value.clone(),
            allowed: d.allowed.clone(),
            hint: d.hint.clone(),
            about: d.about.iter().map(ToString::to_string).collect(),
            line: place.map(|p| p.line),
            column: place.map(|p| p.column),
            length: place.map(characters),
        }
    };
    sorted.into_iter().map(row).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::input::demo;

    fn of(loaded: &Loaded, held: Option<Vec<ParamId>>) -> Sheet {
        sheet(loaded, &Wanted { beat: 0, held, shown: None })
    }

    #[test]
    fn what_is_drawn_is_the_same_while_something_is_held() {
        let loaded = demo("pallets.exit.stone_out_mm=0.002");
        let own = K::StoneOut.at(Pallet::Exit);
        let (whole, brief) = (of(&loaded, None), of(&loaded, Some(vec![own])));
        let text = |sheet: &Sheet| {
            let drawn = (&sheet.bodies, &sheet.oscillation, &sheet.findings, &sheet.figures, &sheet.views);
            serde_json::to_string(&drawn).unwrap_or_default()
        };
        assert_eq!(text(&whole), text(&brief));
        let paths: Vec<&str> = brief.handles.iter().map(|h| h.path.as_str()).collect();
        assert_eq!(paths, ["pallets.exit.stone_out_mm"]);
        assert!(brief.values.is_empty() && brief.curves.is_empty());
        assert!(whole.handles.len() > 10 && !whole.values.is_empty() && whole.curves.len() == 2);
    }

    /// The sheet with the moment a part of the way along a stretch shown.
    fn showing(loaded: &Loaded, span: &Span, along: f64) -> Sheet {
        let (pallet, phase, contact) = (span.pallet.clone(), span.phase.clone(), span.contact.clone());
        let shown = Shown { pallet, phase, contact, along };
        sheet(loaded, &Wanted { beat: 0, held: None, shown: Some(shown) })
    }

    /// In one that is turned round, and in one that comes to a stop.
    #[test]
    fn the_moment_shown_is_that_of_the_whole_oscillation() {
        for change in ["guard.bend_mm=0.06", "bankings.exit.open_mm=-0.02"] {
            let loaded = demo(change);
            let whole = of(&loaded, None).oscillation.expect("it is turned");
            for span in &whole.spans {
                let along = 1.0 / 3.0;
                let i = (span.first + (along * f64::from(span.end - 1 - span.first)).round() as u32) as usize;
                let one = showing(&loaded, span, along).oscillation.expect("it is turned");
                let row = |o: &Oscillation, i: usize| {
                    let angles = (o.wheel_deg[i], o.lever_deg[i], o.jewel_deg[i]);
                    let span = &o.spans[o.span[i] as usize];
                    format!(
                        "{angles:?} {:?} {:?} {:?} {}",
                        o.contact[i], o.advance_deg[i], o.torque_ratio[i], span.phase
                    )
                };
                let again = whole
                    .spans
                    .iter()
                    .filter(|s| (&s.phase, &s.pallet, &s.contact) == (&span.phase, &span.pallet, &span.contact));
                if again.map(|s| s.first).min() == Some(span.first) {
                    assert_eq!((one.wheel_deg.len(), row(&one, 0)), (1, row(&whole, i)));
                }
            }
            let none = Span { pallet: "entry".into(), phase: "no such".into(), first: 0, end: 0, contact: None };
            let all = showing(&loaded, &none, 0.0).oscillation;
            assert_eq!(all.map(|o| o.wheel_deg.len()), Some(whole.wheel_deg.len()));
        }
    }

    /// On the demo's rounded heel the wheel's arm goes to nothing at the let-off.
    #[test]
    fn where_the_wheel_has_no_arm_there_is_no_ratio_of_torques() {
        let sheet = of(&demo(""), None);
        for curve in &sheet.curves {
            assert_eq!(curve.torque_ratio.last(), Some(&None), "{}", curve.pallet);
            let given: Vec<f64> = curve.torque_ratio.iter().flatten().copied().collect();
            assert!(given.len() > 20 && given.iter().all(|ratio| ratio.abs() < 20.0), "{given:?}");
        }
    }

    #[test]
    fn a_fault_of_overlapping_parts_names_its_instants() {
        let sheet = of(&demo("guard.bend_mm=0.06"), None);
        let count = sheet.oscillation.as_ref().map_or(0, |o| o.wheel_deg.len()) as u32;
        let guard = sheet.findings.iter().find(|f| f.code == "guard-strikes-crescent");
        let instants = guard.map_or(&[][..], |f| &f.instants);
        assert!(matches!(instants, [[first, end]] if first < end && *end < count), "{instants:?} of {count}");
        assert!(sheet.stop.is_none());
    }

    #[test]
    fn every_contact_shown_lies_on_its_curve() {
        let sheet = of(&demo(""), None);
        let at = sheet.oscillation.expect("it is turned");
        let mut seen = 0;
        for (i, contact) in at.contact.iter().enumerate() {
            let Some([.., wheel_arm_mm, lever_arm_mm]) = contact else {
                assert!(at.advance_deg[i].is_none() && at.torque_ratio[i].is_none(), "{i}");
                continue;
            };
            if let Some(ratio) = at.torque_ratio[i] {
                assert!((ratio.abs() - (lever_arm_mm / wheel_arm_mm).abs()).abs() < 1e-6, "{i}: {ratio}");
            }
            let (lever_deg, advance_deg) = (at.lever_deg[i], at.advance_deg[i].expect("what touches has unlocked"));
            // Between two neighbouring points of one of the curves, or on one of them.
            let near = sheet.curves.iter().any(|c| {
                let pairs = c.lever_deg.windows(2).zip(c.advance_deg.windows(2));
                let between =
                    |v: f64, ends: &[f64]| v >= ends[0].min(ends[1]) - 1e-3 && v <= ends[0].max(ends[1]) + 1e-3;
                pairs.into_iter().any(|(x, y)| between(lever_deg, x) && between(advance_deg, y))
            });
            assert!(near, "{i}: lever {lever_deg}, advance {advance_deg}");
            seen += 1;
        }
        assert!(seen > 200, "{seen} contacts");
    }

    #[test]
    fn where_all_teeth_are_alike_none_has_a_number() {
        let sheet = of(&demo("pallets.exit.stone_out_mm=-0.3"), None);
        let text = serde_json::to_string(&(&sheet.findings, &sheet.stop)).unwrap_or_default();
        assert!(text.contains("the tooth") && !text.contains("tooth 0"), "{text}");
    }

    #[test]
    fn what_stops_is_said_with_the_instants_up_to_it() {
        let loaded = demo("bankings.exit.open_mm=-0.02");
        let sheet = of(&loaded, None);
        let stop = sheet.stop.expect("it stops");
        assert_eq!(stop.name, "lever on banking");
        let turned = sheet.oscillation.expect("it is turned up to there");
        let last = turned.lever_deg[turned.lever_deg.len() - 1];
        let banking = sheet.bankings_deg[1].expect("the lever meets it");
        assert!((last - banking).abs() < 1e-9, "{last} {banking}");
        // Shown where it stops, all of it is sent, for it ends there.
        let at_stop = showing(&loaded, &turned.spans[turned.spans.len() - 1], 1.0).oscillation;
        assert_eq!(at_stop.map(|o| o.lever_deg.len()), Some(turned.lever_deg.len()));
    }
}
