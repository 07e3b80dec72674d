//! Diagnostics: what is wrong with a person's input, where, and what to do about it.

use serde::{Serialize, Serializer};

use crate::param::ParamId;

/// How grave a diagnostic is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Severity {
    /// The input cannot be used as it stands.
    Error,
    /// The input can be used, but something in it has no effect or contradicts something else.
    Warning,
    /// A remark.
    Note,
}

/// A span of a movement file or of an assignment given on the command line.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
pub struct Place {
    /// Name of the file, or [`SET_SOURCE`](crate::SET_SOURCE).
    pub source: String,
    /// First byte of the span in the source text (for an assignment: in the text of the assignment).
    pub start: usize,
    /// One past the last byte of the span.
    pub end: usize,
    /// Line of the first byte, from 1 (for an assignment: its number).
    pub line: u32,
    /// Column of the first byte in characters, from 1.
    pub column: u32,
    /// Path of the key as written, without quotes; empty where no key is concerned.
    pub key: String,
}

/// One fault or remark about a person's input.
///
/// # Examples
/// ```
/// use movement::{Diagnostic, ParamKind, Severity};
/// let fault = Diagnostic::error("too-little-lock", "the exit pallet does not lock")
///     .about(ParamKind::PalletLock.at(movement::Pallet::Exit))
///     .value("-1.43 deg")
///     .hint("move the exit stone out");
/// assert_eq!(fault.severity, Severity::Error);
/// assert_eq!(serde_json::to_value(&fault).expect("plain data")["about"][0], "pallets.exit.lock_deg");
/// ```
#[derive(Clone, Debug, PartialEq, Serialize)]
#[must_use]
pub struct Diagnostic {
    /// How grave it is.
    pub severity: Severity,
    /// Stable code in kebab case, such as `out-of-range`.
    pub code: &'static str,
    /// What is wrong, one sentence.
    pub message: String,
    /// The parameters concerned, the first one foremost. In JSON their paths.
    pub about: Vec<ParamId>,
    /// Where it is stated.
    pub place: Option<Place>,
    /// Further places that have to do with it, each with a label. In JSON objects `{place, label}`.
    #[serde(serialize_with = "related_as_objects")]
    pub related: Vec<(Place, String)>,
    /// The value found, with its unit.
    pub value: Option<String>,
    /// What would be allowed, with its unit.
    pub allowed: Option<String>,
    /// What to do.
    pub hint: Option<String>,
}

impl Diagnostic {
    fn new(severity: Severity, code: &'static str, message: impl Into<String>) -> Self {
        Diagnostic {
            severity,
            code,
            message: message.into(),
            about: Vec::new(),
            place: None,
            related: Vec::new(),
            value: None,
            allowed: None,
            hint: None,
        }
    }

    /// An error with its code and message.
    pub fn error(code: &'static str, message: impl Into<String>) -> Self {
        Diagnostic::new(Severity::Error, code, message)
    }

    /// A warning with its code and message.
    pub fn warning(code: &'static str, message: impl Into<String>) -> Self {
        Diagnostic::new(Severity::Warning, code, message)
    }

    /// A note with its code and message.
    pub fn note(code: &'static str, message: impl Into<String>) -> Self {
        Diagnostic::new(Severity::Note, code, message)
    }

    /// Adds a parameter that it is about.
    pub fn about(mut self, id: ParamId) -> Self {
        self.about.push(id);
        self
    }

    /// Sets the place.
    pub fn at(mut self, place: Place) -> Self {
        self.place = Some(place);
        self
    }

    /// Adds a further place with its label.
    pub fn related(mut self, place: Place, label: impl Into<String>) -> Self {
        self.related.push((place, label.into()));
        self
    }

    /// Sets the value found, with its unit.
    pub fn value(mut self, value: impl Into<String>) -> Self {
        self.value = Some(value.into());
        self
    }

    /// Sets what would be allowed, with its unit.
    pub fn allowed(mut self, allowed: impl Into<String>) -> Self {
        self.allowed = Some(allowed.into());
        self
    }

    /// Sets what to do.
    pub fn hint(mut self, hint: impl Into<String>) -> Self {
        self.hint = Some(hint.into());
        self
    }

    /// Whether it is an error.
    pub fn is_error(&self) -> bool {
        self.severity == Severity::Error
    }
}

impl Serialize for ParamId {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

fn related_as_objects<S: Serializer>(related: &[(Place, String)], serializer: S) -> Result<S::Ok, S::Error> {
    #[derive(Serialize)]
    struct Related<'a> {
        place: &'a Place,
        label: &'a str,
    }
    serializer.collect_seq(related.iter().map(|(place, label)| Related { place, label }))
}
