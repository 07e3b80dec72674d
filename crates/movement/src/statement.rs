//! The statement: what a movement file says, with the place of every value.

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::diagnostic::{Diagnostic, Place};
use crate::param::ParamId;
use crate::values::Values;

/// Name of the source of values that were not read from a file but set on the command line.
pub const SET_SOURCE: &str = "--set";

/// Kinds of movement that can be stated.
pub const KINDS: &[&str] = &["club"];

/// What a movement file states, with overrides made on it. It is not closed: what is not stated is absent.
#[derive(Clone, Debug)]
pub struct Statement {
    /// Name of the movement.
    pub name: String,
    /// Free text about it.
    pub notes: Option<String>,
    /// Kind of escapement, one of [`KINDS`].
    pub kind: &'static str,
    /// The stated values, in SI units.
    pub values: Values,
    pub(crate) source: Arc<str>,
    pub(crate) text: Arc<str>,
    pub(crate) places: Arc<BTreeMap<ParamId, Place>>,
    /// Text of every override, each its own source text; `line` of a [`Place`] in [`SET_SOURCE`] is its number.
    pub(crate) overrides: Vec<String>,
}

impl Statement {
    /// A club-tooth movement with the given values and no text (so no places).
    pub fn from_values(name: &str, values: Values) -> Self {
        Statement {
            name: name.to_owned(),
            notes: None,
            kind: KINDS[0],
            values,
            source: Arc::from(""),
            text: Arc::from(""),
            places: Arc::default(),
            overrides: Vec::new(),
        }
    }

    /// Name of the file it was read from.
    pub fn source_name(&self) -> &str {
        &self.source
    }

    /// The text it was read from.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// Where a parameter is stated; `None` when it is not, or was not read from a text.
    pub fn place(&self, id: ParamId) -> Option<&Place> {
        self.places.get(&id)
    }

    /// The source text that a place lies in.
    pub fn source_text(&self, place: &Place) -> Option<&str> {
        if place.source == SET_SOURCE {
            self.overrides.get((place.line as usize).checked_sub(1)?).map(String::as_str)
        } else if *place.source == *self.source {
            Some(&self.text)
        } else {
            None
        }
    }

    /// Fills the places of a diagnostic from the parameters it is about: the first that is stated gives the place,
    /// every further one that is stated elsewhere a related place. A place already there is kept.
    pub fn placed(&self, mut diagnostic: Diagnostic) -> Diagnostic {
        for id in &diagnostic.about {
            let Some(place) = self.place(*id) else { continue };
            match &diagnostic.place {
                None => diagnostic.place = Some(place.clone()),
                Some(first) if first == place => {}
                Some(_) if diagnostic.related.iter().any(|(known, _)| known == place) => {}
                Some(_) => diagnostic.related.push((place.clone(), format!("{id} is stated here"))),
            }
        }
        diagnostic
    }
}
