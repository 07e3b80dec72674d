//! Which keys a movement file may hold, and which one was meant by a key that it may not.

use crate::param::{Indexed, Pallet, Param, ParamId, Unit};
use crate::table::TABLE;

/// Keys beside the tables of parameters.
pub(crate) const TOP_KEYS: [&str; 4] = ["format", "name", "notes", "kind"];

/// What a path names.
pub(crate) enum Known {
    /// These parameters.
    Parameters(Vec<ParamId>),
    /// A table that holds parameters.
    Table,
    /// Nothing.
    Nothing,
}

/// What the path of these segments names.
pub(crate) fn known(segments: &[&str]) -> Known {
    if segments.iter().any(|s| s.contains('.')) {
        return Known::Nothing;
    }
    if let Some(ids) = ParamId::from_path(&segments.join(".")) {
        return Known::Parameters(ids);
    }
    let is_table = TABLE.iter().any(|row| {
        let mut pattern = row.path.split('.');
        let fits = segments.iter().all(|s| pattern.next().is_some_and(|p| p == *s || p == "*" && fits_index(row, s)));
        fits && pattern.next().is_some()
    });
    if is_table { Known::Table } else { Known::Nothing }
}

fn fits_index(row: &Param, segment: &str) -> bool {
    match row.indexed() {
        Indexed::Once => false,
        Indexed::ByPallet => Pallet::BOTH.iter().any(|p| p.name() == segment),
        Indexed::ByTooth => tooth_number(segment).is_some(),
    }
}

/// The number of a tooth as a key writes it: digits without leading zeros.
pub(crate) fn tooth_number(segment: &str) -> Option<u64> {
    segment.parse().ok().filter(|n: &u64| n.to_string() == segment)
}

/// What to do about the key `path`, which names nothing: the key that was probably meant.
pub(crate) fn meant(path: &str) -> Option<String> {
    meant_of(path, candidates(path))
}

/// As [`meant`], of the keys that are parameters.
pub(crate) fn meant_parameter(path: &str) -> Option<String> {
    meant_of(path, candidates(path).into_iter().filter(|c| c.unit.is_some()).collect())
}

/// The first parameter of a table.
pub(crate) fn some_parameter_of(table: &str) -> Option<String> {
    let within =
        |c: &Candidate| c.unit.is_some() && c.path.strip_prefix(table).is_some_and(|rest| rest.starts_with('.'));
    candidates(table).into_iter().find(within).map(|c| c.path)
}

fn meant_of(path: &str, candidates: Vec<Candidate>) -> Option<String> {
    if path.len() > 80 {
        return None;
    }
    let last = path.rsplit('.').next().unwrap_or(path);
    if path.starts_with("wheel.teeth.") && path.matches('.').count() == 2 {
        return Some("teeth are numbered 0, 1, 2 and so on, without leading zeros: [wheel.teeth.3]".to_owned());
    }
    let table_of = |path: &str| path.rsplit_once('.').map_or(String::new(), |(table, _)| table.to_owned());
    let here = table_of(path);

    // The right name with another unit, or with none.
    let same_name = |c: &&Candidate| stem(c.last()) == stem(last) && c.last() != last;
    let mut named: Vec<&Candidate> = candidates.iter().filter(same_name).collect();
    named.sort_by_key(|c| (table_of(&c.path) != here, distance(&c.path, path)));
    if let Some(Candidate { path: meant, unit: Some(unit) }) = named.first() {
        let stated = match unit {
            Unit::Millimetre => "it is stated in millimetres",
            Unit::Degree => "it is stated in degrees",
            Unit::MilligramSquareCentimetre => "it is stated in mg cm2",
            Unit::MicronewtonMetre => "it is stated in uN m",
            Unit::PerHour => "it is stated in beats an hour",
            Unit::MillimetrePerSecond => "it is stated in mm/s",
            Unit::Ratio => "it is a ratio",
            Unit::Count => "it is a count",
            Unit::Choice(_) => "it is a word",
        };
        return Some(format!("{stated}: write `{meant}`"));
    }
    // The right key in another table.
    let mut elsewhere: Vec<&Candidate> = candidates.iter().filter(|c| c.last() == last && c.unit.is_some()).collect();
    elsewhere.sort_by_key(|c| distance(&c.path, path));
    if let Some(c) = elsewhere.first() {
        return Some(format!("write it as `{}`", c.path));
    }
    // A slip of the pen.
    let (best, nearest) = candidates
        .iter()
        .map(|c| {
            let of_last = if table_of(&c.path) == here { distance(c.last(), last) } else { usize::MAX };
            (of_last.min(distance(&c.path, path)), c)
        })
        .min_by_key(|(d, _)| *d)?;
    (best <= (last.len() / 3).clamp(1, 4)).then(|| format!("did you mean `{}`?", nearest.path))
}

/// A key that there is.
struct Candidate {
    path: String,
    /// Unit of the parameter; `None` for tables and for the keys at the top.
    unit: Option<Unit>,
}

impl Candidate {
    fn last(&self) -> &str {
        self.path.rsplit('.').next().unwrap_or(&self.path)
    }
}

/// Every key that there is, with the index that `path` uses where one is to be put.
fn candidates(path: &str) -> Vec<Candidate> {
    let tooth = path.split('.').find(|s| tooth_number(s).is_some()).unwrap_or("0");
    let mut all: Vec<Candidate> = TOP_KEYS.iter().map(|k| Candidate { path: (*k).to_owned(), unit: None }).collect();
    for row in TABLE {
        let mut forms = match row.indexed() {
            Indexed::Once => vec![row.path.to_owned()],
            Indexed::ByPallet => {
                let by_pallet = Pallet::BOTH.iter().map(|p| row.path.replacen('*', p.name(), 1));
                std::iter::once(row.path.replacen("*.", "", 1)).chain(by_pallet).collect()
            }
            Indexed::ByTooth => vec![row.path.replacen('*', tooth, 1)],
        };
        for form in &forms {
            for (at, _) in form.match_indices('.') {
                if !all.iter().any(|c| c.path == form[..at]) {
                    all.push(Candidate { path: form[..at].to_owned(), unit: None });
                }
            }
        }
        all.extend(forms.drain(..).map(|path| Candidate { path, unit: Some(row.unit) }));
    }
    all
}

/// A key without the unit at its end.
fn stem(key: &str) -> &str {
    // Those of several words before what they end in.
    const UNITS: &[&str] = &[
        "_mg_cm2",
        "_g_cm2",
        "_mg_mm2",
        "_g_mm2",
        "_kg_m2",
        "_mm_per_s",
        "_um_per_s",
        "_m_per_s",
        "_nn_m",
        "_un_m",
        "_mn_m",
        "_mn_mm",
        "_n_mm",
        "_n_m",
        "_g_cm",
        "_g_mm",
        "_per_hour",
        "_per_h",
        "_per_s",
        "_hz",
        "_mm",
        "_um",
        "_cm",
        "_m",
        "_inch",
        "_in",
        "_deg",
        "_degrees",
        "_rad",
        "_radians",
        "_grad",
        "_min",
        "_arcmin",
        "_percent",
        "_ratio",
        "_count",
    ];
    UNITS.iter().find_map(|unit| key.strip_suffix(unit)).filter(|stem| !stem.is_empty()).unwrap_or(key)
}

/// Number of characters to insert, delete, replace or exchange with their neighbour to make `a` into `b`.
pub(crate) fn distance(a: &str, b: &str) -> usize {
    let (a, b): (Vec<char>, Vec<char>) = (a.chars().collect(), b.chars().collect());
    let mut before: Vec<usize> = Vec::new();
    let mut above: Vec<usize> = (0..=b.len()).collect();
    for i in 1..=a.len() {
        let mut row = vec![i];
        for j in 1..=b.len() {
            let replace = above[j - 1] + usize::from(a[i - 1] != b[j - 1]);
            let mut least = replace.min(above[j] + 1).min(row[j - 1] + 1);
            if i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                least = least.min(before[j - 2] + 1);
            }
            row.push(least);
        }
        before = std::mem::replace(&mut above, row);
    }
    above[b.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn distances() {
        for (a, b, steps) in [
            ("", "", 0),
            ("lock", "lock", 0),
            ("", "abc", 3),
            ("lokc", "lock", 1),
            ("drop", "draw", 2),
            ("abcd", "bcd", 1),
        ] {
            assert_eq!((distance(a, b), distance(b, a)), (steps, steps), "{a} {b}");
        }
    }

    #[test]
    fn what_was_meant() {
        for (path, hint) in [
            ("pallets.lock_mm", "it is stated in degrees: write `pallets.lock_deg`"),
            ("pallets.exit.lock", "it is stated in degrees: write `pallets.exit.lock_deg`"),
            ("wheel.locking_radius_um", "it is stated in millimetres: write `wheel.locking_radius_mm`"),
            ("pallets.placing_deg", "it is a ratio: write `pallets.placing_ratio`"),
            ("balance.inertia_mm", "it is stated in mg cm2: write `balance.inertia_mg_cm2`"),
            ("wheel.torque_g_mm", "it is stated in uN m: write `wheel.torque_un_m`"),
            ("balance.beats_hz", "it is stated in beats an hour: write `balance.beats_per_hour`"),
            ("surfaces.keep_m_per_s", "it is stated in mm/s: write `surfaces.keep_mm_per_s`"),
            ("pallets.run_deg", "write it as `bankings.run_deg`"),
            ("pallet.lock_deg", "write it as `pallets.lock_deg`"),
            ("pallets.entry.lokc_deg", "did you mean `pallets.entry.lock_deg`?"),
            ("whel", "did you mean `wheel`?"),
            ("fromat", "did you mean `format`?"),
            ("wheel.teeth.7.longr_mm", "did you mean `wheel.teeth.7.longer_mm`?"),
            ("wheel.teeth.03", "teeth are numbered 0, 1, 2 and so on, without leading zeros: [wheel.teeth.3]"),
        ] {
            assert_eq!(meant(path).as_deref(), Some(hint), "{path}");
        }
        assert_eq!(meant("hairspring"), None);
    }
}
