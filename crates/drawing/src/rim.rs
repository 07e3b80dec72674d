//! The wheel as it is drawn: its teeth are those of the action; what the back's arc cuts out of the rim is filled.

use parts::{Face, Wheel};
use plane::{Edge, Profile, Vector};

/// Bisections until a crossing is known to rounding; enough because each halves the interval.
const HALVINGS: usize = 60;

/// The toothed outline, no point of it inside the rim.
///
/// The back of a tooth is an arc down to the foot of the next front and may dip below the rim on its way. Nothing acts
/// there, so the rim is drawn through.
pub(crate) fn outline(wheel: &Wheel) -> Profile {
    let mut whole = wheel.outline();
    for i in 1..whole.edges.len() {
        let (before, after) = (whole.edges[i - 1], whole.edges[i]);
        if let Some((back, rim)) = filled(&before, &after) {
            (whole.edges[i - 1], whole.edges[i]) = (back, rim);
        }
    }
    whole
}

/// A back that dips below the rim that follows it, and that rim, both ended where the back first meets the rim.
fn filled(back: &Edge, rim: &Edge) -> Option<(Edge, Edge)> {
    let is = |edge: &Edge, face: Face| Face::from(edge.label()) == face;
    let Edge::Arc { centre, radius, label, .. } = *rim else { return None };
    if !is(back, Face::ToothBack) || !is(rim, Face::Root) || !matches!(back, Edge::Arc { .. }) {
        return None;
    }
    let above = |part: f64| (back.at(part) - centre).norm() - radius;
    // One arc meets a circle twice at most, once at the back's end: if the middle between is below, it dips.
    let lowest = (1..64).map(|i| f64::from(i) / 64.0).min_by(|a, b| above(*a).total_cmp(&above(*b)))?;
    // Rounding of the parts' coordinates, over the radius of the rim.
    if above(lowest) >= -1e-9 * radius {
        return None;
    }
    let (mut high, mut low) = (0.0, lowest);
    for _ in 0..HALVINGS {
        let middle = 0.5 * (high + low);
        if above(middle) > 0.0 { high = middle } else { low = middle }
    }
    let meet: Vector = back.at(high);
    Some((back.trimmed(0.0, high), Edge::arc(centre, meet, rim.end(), true, label)))
}
