//! One value: from what is written to a number in the unit of its row, with every check that the row asks for.

use toml::de::DeValue;

use crate::diagnostic::Diagnostic;
use crate::keys::distance;
use crate::param::{IfUnstated, Param, Unit};
use crate::syntax::slip_in_value;
use crate::table::ParamKind;
use crate::unstated::closed_text;

/// The range of a row as it is shown: `0.2 to 100 mm`, or the words to choose from.
///
/// # Examples
/// ```
/// use movement::{ParamKind, allowed_text};
/// assert_eq!(allowed_text(ParamKind::PalletDraw.param()), "-20 to 45 deg");
/// assert_eq!(allowed_text(ParamKind::GuardForm.param()), "\"dart\" or \"pin\"");
/// ```
pub fn allowed_text(param: &Param) -> String {
    match param.unit {
        Unit::Choice(words) => words_text(words),
        unit => with_unit(&format!("{} to {}", param.min, param.max), unit),
    }
}

/// A value in the unit of its row as it is shown: `1.5 deg`, `15`, `"dart"`.
///
/// # Examples
/// ```
/// use movement::{ParamKind, value_text};
/// assert_eq!(value_text(ParamKind::PalletDraw.param(), 12.0), "12 deg");
/// assert_eq!(value_text(ParamKind::GuardForm.param(), 1.0), "\"pin\"");
/// ```
pub fn value_text(param: &Param, value: f64) -> String {
    match param.unit {
        Unit::Choice(words) => match words.get(value as usize) {
            Some(word) if value >= 0.0 && value.fract() == 0.0 => format!("\"{word}\""),
            _ => value.to_string(),
        },
        unit => with_unit(&value.to_string(), unit),
    }
}

/// What holds while a parameter is not stated, as it is shown.
///
/// # Examples
/// ```
/// use movement::{ParamKind, unstated_text};
/// assert_eq!(unstated_text(ParamKind::PalletDrawDepth.param()), "unstated: 0 deg");
/// assert_eq!(unstated_text(ParamKind::WheelHubRadius.param()), "unstated: 0.2 of the locking radius");
/// assert_eq!(unstated_text(ParamKind::PalletLift.param()), "unstated: 8.5 deg where the rest leaves it free");
/// ```
pub fn unstated_text(param: &Param) -> String {
    match param.default {
        IfUnstated::Value(value) => format!("unstated: {}", value_text(param, value)),
        IfUnstated::Of(_, _, words) => format!("unstated: {words}"),
        IfUnstated::OfWheel(ratio) => format!("unstated: {ratio} of the locking radius"),
        IfUnstated::Closed => format!("unstated: {}", closed_text(param.kind)),
        IfUnstated::Needed => "must be stated".to_owned(),
        IfUnstated::Absent => "unstated: follows from the rest".to_owned(),
    }
}

pub(crate) fn with_unit(number: &str, unit: Unit) -> String {
    match unit.sign() {
        "" => number.to_owned(),
        sign => format!("{number} {sign}"),
    }
}

pub(crate) fn words_text(words: &[&str]) -> String {
    let quoted: Vec<String> = words.iter().map(|w| format!("\"{w}\"")).collect();
    match quoted.split_last() {
        Some((last, [])) => last.clone(),
        Some((last, others)) => format!("{} or {last}", others.join(", ")),
        None => String::new(),
    }
}

/// A text from a file, short enough to be shown.
pub(crate) fn shown(text: &str) -> String {
    const MOST: usize = 60;
    match text.char_indices().nth(MOST) {
        Some((at, _)) => format!("{}...", &text[..at]),
        None => text.to_owned(),
    }
}

/// The number that a TOML value gives a parameter, in the unit of its row.
///
/// `written` is the value as it stands in the text.
pub(crate) fn from_toml(param: &Param, key: &str, value: &DeValue<'_>, written: &str) -> Result<f64, Diagnostic> {
    let number = match (param.unit, value) {
        (Unit::Choice(words), DeValue::String(word)) => return choose(param, key, words, word),
        (Unit::Choice(_), other) => return Err(wrong_type(param, key, kind_of(other)).value(shown(written))),
        (_, DeValue::Integer(digits)) if digits.as_str().is_empty() => {
            let fault = Diagnostic::error("syntax", format!("`{key}` has a number without digits"));
            return Err(fault.value(shown(written)).hint("write a plain number"));
        }
        (_, DeValue::Integer(digits)) => match i128::from_str_radix(digits.as_str(), digits.radix()) {
            Ok(whole) => whole as f64,
            Err(_) if digits.radix() == 10 => digits.as_str().parse().unwrap_or(f64::NAN),
            Err(_) => f64::INFINITY,
        },
        (_, DeValue::Float(digits)) => digits.as_str().parse().unwrap_or(f64::NAN),
        (_, DeValue::String(text)) => {
            let fault = wrong_type(param, key, "a string").value(shown(written));
            return Err(match slip_in_value(text.trim()) {
                Some(hint) if text.trim().starts_with(|c: char| !c.is_alphabetic()) => fault.hint(hint),
                _ => fault,
            });
        }
        (_, other) => return Err(wrong_type(param, key, kind_of(other)).value(shown(written))),
    };
    check(param, key, number).map_err(|fault| fault.value(with_unit(&shown(written), param.unit)))?;
    Ok(number)
}

/// The number that a text given on the command line gives a parameter, in the unit of its row.
pub(crate) fn from_text(param: &Param, key: &str, text: &str) -> Result<f64, Diagnostic> {
    if let Unit::Choice(words) = param.unit {
        return choose(param, key, words, text.trim_matches(['"', '\'']));
    }
    let Ok(number) = text.parse::<f64>() else {
        let fault = wrong_type(param, key, "this").value(shown(text));
        return Err(match slip_in_value(text) {
            Some(hint) if text.starts_with(|c: char| !c.is_alphabetic()) => fault.hint(hint),
            _ => fault,
        });
    };
    check(param, key, number).map_err(|fault| fault.value(with_unit(&shown(text), param.unit)))?;
    Ok(number)
}

fn choose(param: &Param, key: &str, words: &[&str], word: &str) -> Result<f64, Diagnostic> {
    if let Some(at) = words.iter().position(|w| *w == word) {
        return Ok(at as f64);
    }
    let fault = Diagnostic::error("unknown-word", format!("`{key}` does not know this word"))
        .value(format!("\"{}\"", shown(word)))
        .allowed(allowed_text(param));
    Err(match nearest(word, words) {
        Some(near) => fault.hint(format!("did you mean \"{near}\"?")),
        None => fault.hint("choose one of these words"),
    })
}

/// The word of a list that is spelled almost like `word`.
///
/// # Examples
/// ```
/// assert_eq!(movement::nearest("entry.lok_deg", &["entry.lock_deg", "entry.lift_deg"]), Some("entry.lock_deg"));
/// assert_eq!(movement::nearest("weight", &["entry.lock_deg", "entry.lift_deg"]), None);
/// ```
pub fn nearest<'w>(word: &str, words: &[&'w str]) -> Option<&'w str> {
    if word.len() > 80 {
        return None;
    }
    let plain = |w: &str| w.to_lowercase().replace(['-', ' '], "_");
    let (steps, near) = words.iter().map(|w| (distance(&plain(word), w), *w)).min()?;
    (steps <= (near.len() / 3).max(1)).then_some(near)
}

/// Every check of a number in the unit of its row: finite, whole where it counts, within the range.
pub(crate) fn check(param: &Param, key: &str, number: f64) -> Result<(), Diagnostic> {
    let fault = |code, message: String| {
        Diagnostic::error(code, message).value(value_text(param, number)).allowed(allowed_text(param))
    };
    if !number.is_finite() {
        let message = format!("`{key}` needs a finite number");
        return Err(fault("not-finite", message).hint("write a number within the range"));
    }
    let whole = matches!(param.unit, Unit::Count | Unit::Choice(_));
    if whole && number.fract() != 0.0 {
        return Err(fault("not-whole", format!("`{key}` needs a whole number")).hint("write it without a fraction"));
    }
    if !(param.min..=param.max).contains(&number) {
        let message = format!("`{key}` is out of range");
        let way = if number < param.min { "larger" } else { "smaller" };
        return Err(fault("out-of-range", message).hint(format!("state a {way} value; it means: {}", param.definition)));
    }
    if param.kind == ParamKind::PalletsSpacesSpanned && number.fract() != 0.5 {
        let message = format!("`{key}` needs a whole number and a half");
        let (below, above) = (number.floor() - 0.5, number.floor() + 0.5);
        let near = [below, above].map(|n| n.clamp(param.min, param.max));
        let hint =
            if near[0] < near[1] { format!("write {} or {}", near[0], near[1]) } else { format!("write {}", near[0]) };
        return Err(fault("not-half", message).hint(hint));
    }
    Ok(())
}

/// The fault of a parameter that is given something other than a number or a word.
pub(crate) fn wrong_type(param: &Param, key: &str, given: &str) -> Diagnostic {
    let needed = match param.unit {
        Unit::Choice(_) => "a word",
        Unit::Count => "a whole number",
        Unit::Millimetre => "a number of millimetres",
        Unit::Degree => "a number of degrees",
        Unit::MilligramSquareCentimetre => "a number of mg cm2",
        Unit::MicronewtonMetre => "a number of uN m",
        Unit::PerHour => "a number of beats an hour",
        Unit::MillimetrePerSecond => "a number of mm/s",
        Unit::Ratio => "a number",
    };
    let hint = match param.unit {
        Unit::Choice(words) => format!("write one of the words in quotes, such as \"{}\"", words[0]),
        _ => "write a plain number".to_owned(),
    };
    Diagnostic::error("wrong-type", format!("`{key}` needs {needed}, not {given}"))
        .allowed(allowed_text(param))
        .hint(hint)
}

/// What a TOML value is, with its article.
pub(crate) fn kind_of(value: &DeValue<'_>) -> &'static str {
    match value {
        DeValue::String(_) => "a string",
        DeValue::Integer(_) => "a whole number",
        DeValue::Float(_) => "a number",
        DeValue::Boolean(_) => "true or false",
        DeValue::Datetime(_) => "a date",
        DeValue::Array(_) => "a list",
        DeValue::Table(_) => "a table",
    }
}
