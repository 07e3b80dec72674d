//! The parts as rows of numbers for the page: lines and arcs as they are, in mm, each in the frame of what it rides on.

use drawing::{disc, frame, guard, staff};
use movement::{Pallet, ParamKind as K};
use parts::Build;
use plane::{Edge, Profile};
use std::f64::consts::PI;

use crate::bench::wire::{Outlined, Rides};

/// Every part of a movement, the hindmost first. Seen from the bridge side: safety roller and dart lie below the fork and
/// are `hidden` where it covers them; the impulse roller, which carries the jewel, lies above it and is a `phantom`.
pub fn bodies(build: &Build) -> Vec<Outlined> {
    let parts = &build.parts;
    let body = |part: &str, rides, finish: &str, outlines: &[&Profile]| Outlined {
        part: part.to_owned(),
        rides,
        finish: finish.to_owned(),
        outlines_mm: outlines.iter().map(|p| outline_mm(p)).collect(),
    };
    let (lever, roller) = (&parts.lever, &parts.roller);
    let frame = frame(build);
    let outer: Vec<&Profile> = frame.outlines.iter().collect();
    let toothing = parts.wheel.outline();
    let wheel: Vec<&Profile> = std::iter::once(&toothing).chain(&parts.wheel.openings).collect();
    let upright = build.movement.word(K::GuardForm) == "pin";
    let below = |is_above: bool| if is_above { "steel" } else { "hidden" };
    let mut out = vec![
        body("safety roller", Rides::Roller, below(roller.single), &[&roller.safety.profile]),
        body("balance staff", Rides::Roller, "steel", &[&staff(build)]),
        body("escape wheel", Rides::Wheel, "brass", &wheel),
        body("lever", Rides::Lever, "steel", &outer),
        body("pallet arbor", Rides::Lever, "steel", &[&disc(frame.arbor_m)]),
        body("guard", Rides::Lever, below(upright), &[&guard(build)]),
    ];
    for p in Pallet::BOTH {
        out.push(body(&format!("{} stone", p.name()), Rides::Lever, "ruby", &[&lever.stones[p].body.profile]));
        out.push(body(&format!("{} banking", p.name()), Rides::Plate, "banking", &[&parts.bankings[p].profile]));
    }
    out.push(body("impulse jewel", Rides::Roller, "ruby", &[&roller.jewel.profile]));
    if !roller.single {
        out.push(body("impulse roller", Rides::Roller, "phantom", &[&disc(roller.radius_m)]));
    }
    out
}

/// A closed outline in the form of [`Outlined::outlines_mm`].
fn outline_mm(profile: &Profile) -> Vec<Vec<f64>> {
    let Some(first) = profile.edges.first() else { return Vec::new() };
    let mut rows = vec![vec![first.start().x * 1e3, first.start().y * 1e3]];
    for edge in &profile.edges {
        match *edge {
            Edge::Line { end, .. } => rows.push(vec![end.x * 1e3, end.y * 1e3]),
            Edge::Arc { sweep_rad, .. } if sweep_rad.abs() > 1.5 * PI => {
                // A whole circle has no one arc: its ends would coincide.
                rows.extend([(0.0, 0.5), (0.5, 1.0)].map(|(a, b)| arc_mm(&edge.trimmed(a, b))));
            }
            Edge::Arc { .. } => rows.push(arc_mm(edge)),
        }
    }
    rows
}

fn arc_mm(edge: &Edge) -> Vec<f64> {
    let end = edge.end();
    let Edge::Arc { radius, sweep_rad, .. } = *edge else { return vec![end.x * 1e3, end.y * 1e3] };
    let flag = |yes: bool| if yes { 1.0 } else { 0.0 };
    vec![end.x * 1e3, end.y * 1e3, radius * 1e3, flag(sweep_rad.abs() > PI), flag(sweep_rad > 0.0)]
}
