//! Random closed outlines of lines and arcs, convex and hollow, with sharp, rounded and chamfered corners.
#![allow(dead_code)] // each test file uses a part of it

use plane::{Corner, Edge, Label, Profile, Vector};
use proptest::prelude::*;
use std::f64::consts::TAU;

use crate::polygon::{Bound, crosses_itself, polygon};

/// Numbers from which an outline is made: one entry per corner.
#[derive(Clone, Debug)]
pub struct Sketch {
    /// Distance from the middle, turn from even spacing, bow of the edge after it and size of its corner, as ratios;
    /// and the kind of its corner.
    pub corners: Vec<(f64, f64, f64, f64, u8)>,
}

/// Sketches with 3 to 7 corners.
pub fn sketch() -> impl Strategy<Value = Sketch> {
    let bow = prop_oneof![2 => Just(0.0), 2 => 0.01..0.2f64, 2 => -0.2..-0.01f64, 1 => 1e-7..1e-4f64];
    let size = prop_oneof![4 => 0.01..0.25f64, 1 => 1e-7..1e-4f64];
    let corner = (0.4..1.2f64, -0.3..0.3f64, bow, size, 0..4u8);
    proptest::collection::vec(corner, 3..8).prop_map(|corners| Sketch { corners })
}

impl Sketch {
    /// Its corners before they are finished, and its edges each with the corner at its start.
    pub fn edges(&self) -> Vec<(Corner, Label, Edge)> {
        let n = self.corners.len();
        let point = |i: usize| {
            let (r, jitter, ..) = self.corners[i % n];
            let a = ((i % n) as f64 + jitter) * TAU / n as f64;
            Vector::new(r * a.cos(), r * a.sin())
        };
        (0..n)
            .map(|i| {
                let (_, _, bow, size, kind) = self.corners[i];
                let (a, b) = (point(i), point(i + 1));
                let size = size * (b - a).norm();
                let corner = match kind {
                    0 | 1 => Corner::Sharp,
                    2 => Corner::Round(size),
                    _ => Corner::Chamfer(size),
                };
                (corner, Label(i as u8), Edge::bow(a, b, bow * (b - a).norm(), Label(100 + i as u8)))
            })
            .collect()
    }

    /// The outline, where its corners fit and it does not cross itself.
    pub fn outline(&self) -> Option<Profile> {
        let profile = Profile::with_corners(&self.edges(), true).ok()?;
        let simple = (turn_rad(&profile) - TAU).abs() < 1e-6 && !crosses_itself(&polygon(&profile, Bound::Outer, 0.1));
        simple.then_some(profile)
    }
}

/// Angle through which the direction of walking turns on the way round; a whole turn where no corner is inside out.
fn turn_rad(profile: &Profile) -> f64 {
    let n = profile.edges.len();
    let of = |i: usize| {
        let edge = profile.edges[i];
        let (a, b) = (edge.tangent(1.0), profile.edges[(i + 1) % n].tangent(0.0));
        let sweep_rad = if let Edge::Arc { sweep_rad, .. } = edge { sweep_rad } else { 0.0 };
        sweep_rad + (a.x * b.y - a.y * b.x).atan2(a.dot(&b))
    };
    (0..n).map(of).sum()
}
