//! What a person can do about statements that do not go together: what each would have to be, or how far it could go,
//! with the rest as stated. Found by building the movement again with one of them left out or changed; that takes some
//! hundred builds, so only what is shown to a person is explained.

use movement::{Diagnostic, Movement, ParamId, ParamKind as K, Unit, Values};

use crate::build::{build_tersely, exactly};

/// Faults explained; what is wrong beyond them mostly follows from the same statements.
const MOST_FAULTS: usize = 4;

/// Dimensionless: ratios of the way from what is stated to either end of the range, tried in order for a value that mends a fault: chosen
/// so that a slip of a hundredth is met near by and each end is tried.
const TRIED_RATIOS: [f64; 6] = [0.003, 0.01, 0.03, 0.1, 0.3, 1.0];

/// Statements of one fault whose limit is looked for.
const MOST_LIMITS: usize = 6;

/// Halvings of the way to a limit: to a ten-millionth of it.
const HALVINGS: usize = 24;

/// Faults of an early stage, behind which nothing later was looked at.
const EARLY: [&str; 4] = ["missing", "no-such-planting", "no-such-pallets", "over-determined"];

/// A value that is not stated and came out beyond the range of its row.
const OUT_OF_RANGE: &str = "derived-out-of-range";

type Built = Result<Movement, Vec<Diagnostic>>;

/// Adds to the faults of building `stated` what the person can do.
pub(crate) fn explained(stated: &Values, faults: Vec<Diagnostic>) -> Vec<Diagnostic> {
    // Of several clashes none comes right by changing one value.
    let one_clash = faults.iter().filter(|f| f.code == "over-determined").count() == 1;
    let mut without: Option<Vec<(ParamId, Built)>> = None;
    let all = faults.clone();
    let mut told: Vec<Diagnostic> = Vec::with_capacity(faults.len());
    let mut count = 0;
    // Values out of their ranges that come right all at once are one fault, told of the first of them.
    let mut one: Option<usize> = None;
    for fault in faults {
        if let Some(at) = one.filter(|_| fault.code == OUT_OF_RANGE) {
            told[at].about.extend(fault.about);
            continue;
        }
        if !["over-determined", "no-such-pallets", OUT_OF_RANGE].contains(&fault.code) || count == MOST_FAULTS {
            told.push(fault);
            continue;
        }
        count += 1;
        if fault.code == "over-determined" {
            told.push(if one_clash { would_have_to_be(stated, fault) } else { fault });
            continue;
        }
        let without = without.get_or_insert_with(|| leave_each_out(stated));
        if fault.code == OUT_OF_RANGE && without.iter().any(|(_, built)| mended(built, Gone::All)) {
            one = Some(told.len());
        }
        told.push(how_far(stated, fault, &all, without));
    }
    told
}

fn built(values: &Values) -> Built {
    build_tersely(values).map(|build| build.movement)
}

/// The build with each statement left out that says something of the drawn parts.
fn leave_each_out(stated: &Values) -> Vec<(ParamId, Built)> {
    let ids = stated.iter().map(|(id, _)| id).filter(|id| id.param().is_drawn());
    ids.map(|id| {
        let mut values = stated.clone();
        values.remove(id);
        (id, built(&values))
    })
    .collect()
}

/// Statements with their values: `a = 1 mm, b = 2 deg and c = 3`.
pub(crate) fn listed(ids: &[ParamId], value: impl Fn(ParamId) -> Option<f64>) -> String {
    and(ids.iter().map(|&id| value(id).map_or(id.to_string(), |si| format!("{id} = {}", exactly(id, si)))).collect())
}

fn and(mut texts: Vec<String>) -> String {
    match texts.pop() {
        Some(last) if !texts.is_empty() => format!("{} and {last}", texts.join(", ")),
        last => last.unwrap_or_default(),
    }
}

/// Over-determined: every statement of the set evenly, each with the value the others make of it.
fn would_have_to_be(stated: &Values, fault: Diagnostic) -> Diagnostic {
    let mut ids = fault.about.clone();
    ids.sort_unstable();
    let told: Vec<String> = ids
        .iter()
        .filter_map(|&id| {
            let mut values = stated.clone();
            values.remove(id);
            let (si, _) = built(&values).ok()?.get(id)?;
            let off = si - stated.get(id)?;
            (off != 0.0)
                .then(|| format!("{id} would have to be {} (off by {})", exactly(id, si), roughly(id, off.abs())))
        })
        .collect();
    if told.is_empty() {
        return fault;
    }
    let list = listed(&ids, |id| stated.get(id));
    let message = format!("these cannot all be stated: {list}; with the others kept, {}", told.join(", or "));
    let hint = "leave out one of them, which is then derived, or give one of them the value named";
    Diagnostic { message, ..fault }.hint(hint)
}

/// A difference, with its first three digits.
pub(crate) fn roughly(id: ParamId, si: f64) -> String {
    let unit = id.param().unit;
    let edge = unit.from_si(si);
    let digits = if edge == 0.0 { 0 } else { (2.0 - edge.abs().log10().floor()).clamp(0.0, 12.0) as usize };
    format!("{edge:.digits$} {}", unit.sign()).trim_end().to_owned()
}

/// What has to be gone for a fault to be mended.
#[derive(Clone, Copy)]
enum Gone<'a> {
    /// Every fault.
    All,
    /// This one, with no new fault that may have kept it from being looked for.
    This(&'a Diagnostic, &'a [Diagnostic]),
    /// This one, whatever new fault of a late stage there is.
    ThisAlone(&'a Diagnostic),
}

fn mended(built: &Built, gone: Gone<'_>) -> bool {
    let same = |f: &Diagnostic, g: &Diagnostic| f.code == g.code && f.about.first() == g.about.first();
    built.as_ref().err().is_none_or(|left| match gone {
        Gone::All => false,
        Gone::This(fault, all) => {
            left.iter().all(|f| !same(f, fault) && (f.code == OUT_OF_RANGE || all.iter().any(|g| same(f, g))))
        }
        Gone::ThisAlone(fault) => !left.iter().any(|f| same(f, fault) || EARLY.contains(&f.code)),
    })
}

/// Statements that cannot be met: those of which any one left out mends it, and how far each could go.
fn how_far(stated: &Values, fault: Diagnostic, all: &[Diagnostic], without: &[(ParamId, Built)]) -> Diagnostic {
    let to_blame = |gone| -> Vec<(ParamId, Option<f64>)> {
        let mending = without.iter().filter(|(_, built)| mended(built, gone));
        mending.map(|(id, built)| (*id, built.as_ref().ok().and_then(|m| m.get(*id)).map(|(si, _)| si))).collect()
    };
    // Of several faults with one cause each tells the limit of them all; else what mends this one and brings up no other,
    // else what mends it at all.
    let tries = [Gone::All, Gone::This(&fault, all), Gone::ThisAlone(&fault)];
    let found = tries.into_iter().map(|gone| (gone, to_blame(gone))).find(|(_, ids)| !ids.is_empty());
    let (gone, to_blame) = found.unwrap_or((Gone::All, Vec::new()));
    if to_blame.is_empty() {
        return if fault.code == OUT_OF_RANGE { moved_by(stated, fault, all) } else { fault };
    }
    let mut limits: Vec<(ParamId, Option<Limit>)> = to_blame
        .iter()
        .enumerate()
        .map(|(i, &(id, free))| {
            let free = if i < MOST_LIMITS { free.or_else(|| mending_value(stated, gone, id)) } else { None };
            (id, free.and_then(|free| limit(stated, gone, id, free)))
        })
        .collect();
    // What has to be corrected least comes first.
    let correction = |(id, limit): &(ParamId, Option<Limit>)| match (limit, stated.get(*id)) {
        (Some(limit), Some(is)) => ((limit.si - is) / is).abs(),
        _ => f64::INFINITY,
    };
    limits.sort_by(|a, b| a.1.is_none().cmp(&b.1.is_none()).then(correction(a).total_cmp(&correction(b))));
    let ids: Vec<ParamId> = limits.iter().map(|(id, _)| *id).collect();
    let list = listed(&ids, |id| stated.get(id));
    let message = match (fault.code, ids.len()) {
        (OUT_OF_RANGE, 1) => format!("{}; it follows from {list}", fault.message),
        (OUT_OF_RANGE, _) => format!("{list} do not go together: {}", fault.message.replace("is not stated and ", "")),
        (_, 1) => format!("{list} cannot be met with the rest as stated"),
        _ => format!("these cannot be met together: {list}"),
    };
    let told: Vec<String> =
        limits.iter().filter_map(|(id, limit)| Some(format!("{id} can be {}", limit.as_ref()?.text))).collect();
    let change = if told.is_empty() {
        "change one of the values named".to_owned()
    } else {
        format!("with the rest as stated, {}", told.join(", or "))
    };
    let leave_out =
        if ids.len() == 1 { "leave it out to have it derived" } else { "leave one of them out to have it derived" };
    let mut about = ids.clone();
    about.extend(fault.about.iter().copied().filter(|id| fault.code == OUT_OF_RANGE && !ids.contains(id)));
    // Of several the values stand in the message, and the limits in the hint.
    let single = ids.len() == 1;
    let value = stated.get(ids[0]).filter(|_| single).map(|si| exactly(ids[0], si));
    let allowed = limits.swap_remove(0).1.filter(|_| single).map(|limit| limit.text);
    Diagnostic { message, about, value, allowed, ..fault }.hint(format!("{change}; or {leave_out}"))
}

/// A value out of its range that comes right by leaving out no single statement: the statements that bring it right when
/// they are changed, as the size does, which cannot be left out, with how far each has to go.
fn moved_by(stated: &Values, fault: Diagnostic, all: &[Diagnostic]) -> Diagnostic {
    let gone = Gone::This(&fault, all);
    let reached = |id: ParamId| {
        let (is, found) = (stated.get(id)?, mending_value(stated, gone, id)?);
        Some(format!("{id} = {} can be {}", exactly(id, is), limit(stated, gone, id, found)?.text))
    };
    let drawn = stated.iter().map(|(id, _)| id).filter(|id| id.param().is_drawn() && continuous(*id));
    let told: Vec<(ParamId, String)> = drawn.filter_map(|id| Some((id, reached(id)?))).take(MOST_LIMITS).collect();
    if told.is_empty() {
        return fault;
    }
    let mut about: Vec<ParamId> = told.iter().map(|(id, _)| *id).collect();
    about.extend(fault.about.iter().copied());
    let told: Vec<String> = told.into_iter().map(|(_, text)| text).collect();
    Diagnostic { about, ..fault }.hint(format!("with the rest as stated, {}", told.join(", or ")))
}

/// A value of a statement at which the fault is mended, near the one stated.
fn mending_value(stated: &Values, gone: Gone<'_>, id: ParamId) -> Option<f64> {
    let (row, is) = (id.param(), stated.get(id).filter(|_| continuous(id))?);
    let ends = [row.min, row.max].map(|end| row.unit.to_si(end) - is);
    let tried = TRIED_RATIOS.into_iter().flat_map(|ratio| ends.map(|way| is + ratio * way));
    tried.into_iter().find(|&si| {
        let mut values = stated.clone();
        values.set(id, si);
        mended(&built(&values), gone)
    })
}

/// Whether a parameter has values between its values.
fn continuous(id: ParamId) -> bool {
    !matches!(id.param().unit, Unit::Count | Unit::Choice(_)) && id.kind != K::PalletsSpacesSpanned
}

/// How far a value can go.
struct Limit {
    si: f64,
    /// As said: `at most 5 deg`.
    text: String,
}

/// How far `id` can go from the value `free`, at which the fault is mended, toward what is stated.
fn limit(stated: &Values, gone: Gone<'_>, id: ParamId, free: f64) -> Option<Limit> {
    let row = id.param();
    if !continuous(id) {
        return None;
    }
    let mends = |si: f64| {
        let mut values = stated.clone();
        values.set(id, si);
        mended(&built(&values), gone)
    };
    let asked = stated.get(id)?;
    if !mends(free) {
        return None;
    }
    let (mut good, mut bad) = (free, asked);
    for _ in 0..HALVINGS {
        let middle = 0.5 * (good + bad);
        if mends(middle) {
            good = middle;
        } else {
            bad = middle;
        }
    }
    if (good - free).abs() < 1e-5 * (asked - free).abs() {
        return Some(Limit { si: free, text: format!("{} only", exactly(id, free)) });
    }
    // Rounded to the side on which it is sound.
    let steps = 10_f64.powi(if row.unit == Unit::Millimetre { 4 } else { 3 });
    let scaled = row.unit.from_si(good) * steps;
    let rounded = row.unit.to_si(if asked > free { scaled.floor() } else { scaled.ceil() } / steps);
    let within = if asked > free { rounded >= free } else { rounded <= free };
    let shown = exactly(id, if within && mends(rounded) { rounded } else { good });
    let text = if asked > free { format!("at most {shown}") } else { format!("at least {shown}") };
    Some(Limit { si: good, text })
}
