//! What the beats of both sides sound like, made of some of them.

use std::collections::VecDeque;

use crate::found::Match;
use crate::portrait::{Making, Portrait};
use crate::shocks::{Shocks, shocks};

/// Portraits are made of so many parts of the beats too: how they differ says how well they are known.
const PARTS: u64 = 4;
/// Portraits of both sides are the same where they differ by no more than this many times what parts of one side do, or
/// are as like as this: chosen.
const SAME_RATIO: f32 = 3.0;
const SAME_LIKE: f32 = 0.85;
/// What of a portrait is compared, s before its loudest and from it on.
const COMPARED_S: [f64; 2] = [8e-3, 8e-3];

pub(crate) struct Sides {
    pub(crate) portraits: [Portrait; 2],
    pub(crate) shocks: [Shocks; 2],
    /// Whether both sound the same.
    pub(crate) same: bool,
    /// What the portraits were made of, and which beats: their numbers, and their instants in values.
    makings: [Making; 2],
    laid: [VecDeque<Match>; 2],
}

impl Sides {
    /// # Arguments
    /// `values`: square roots of the loudness, `rate_hz` of them a second.
    /// `matched`: the beats of each side with their numbers, even for A, and their instants in them; `reach`: what is before and beyond.
    pub(crate) fn new(
        values: &[f32],
        rate_hz: f64,
        period: f64,
        reach: [usize; 2],
        matched: &[Vec<Match>; 2],
    ) -> Option<Sides> {
        let making = |own: &[Match], part: Option<u64>| {
            let mut making = Making::new(reach);
            own.iter().filter(|m| part.is_none_or(|p| m.0 / 2 % PARTS == p)).for_each(|m| making.add(values, m.1));
            making
        };
        let makings = [making(&matched[0], None), making(&matched[1], None)];
        let portraits = [makings[0].done()?, makings[1].done()?];
        let parts: [Vec<Portrait>; 2] =
            [0, 1].map(|side| (0..PARTS).filter_map(|p| making(&matched[side], Some(p)).done()).collect());
        let of = |p: &Portrait| shocks(p, rate_hz, period / rate_hz);
        let shocks = [0, 1].map(|side| of(&portraits[side]).with_sigma(parts[side].iter().map(of).collect()));
        let same = same(&portraits, &parts, rate_hz);
        let laid = matched.each_ref().map(|own| own.iter().copied().collect());
        Some(Sides { portraits, shocks, same, makings, laid })
    }

    /// The portrait of its side for a beat: made of the others, where that one is in it.
    pub(crate) fn without(&mut self, number: u64, values: &[f32]) -> Option<Portrait> {
        let side = (number % 2) as usize;
        let laid = &mut self.laid[side];
        while laid.front().is_some_and(|l| l.0 < number) {
            laid.pop_front();
        }
        let at = laid.front().filter(|l| l.0 == number)?.1;
        self.makings[side].without(values, at)
    }

    /// Values were taken away at the beginning.
    pub(crate) fn forget(&mut self, count: usize) {
        self.laid.iter_mut().flatten().for_each(|l| l.1 -= count as f64);
    }
}

/// Whether portraits differ by no more than parts of the beats make them.
fn same(portraits: &[Portrait; 2], parts: &[Vec<Portrait>; 2], rate_hz: f64) -> bool {
    let compared = COMPARED_S.map(|s| (s * rate_hz) as usize);
    let part = |p: &Portrait| {
        let top = p.loudest();
        let from = top.saturating_sub(compared[0]);
        p.mean[from..(top + compared[1]).min(p.mean.len())].to_vec()
    };
    let [a, b] = portraits;
    let inner = a.part(a.loudest() as isize - (compared[0] + a.before) as isize, compared[0] + compared[1]);
    let near = (b.loudest() + a.before) as f64 - a.loudest() as f64;
    let found = inner.find(&b.mean, near, compared[0] / 4);
    let like = found.map_or(0.0, |m| m.like);
    // What one part of the beats differs from the whole by; the whole is so much better known as it has more beats.
    let apart = |x: &[f32], y: &[f32]| x.iter().zip(y).map(|(x, y)| (x - y) * (x - y)).sum::<f32>();
    let own = [0, 1].map(|side| {
        let count = parts[side].len() as f32;
        let whole = part(&portraits[side]);
        let top = portraits[side].loudest().saturating_sub(compared[0]);
        let one = |p: &Portrait| apart(&whole, &p.mean[top.min(p.mean.len())..]);
        parts[side].iter().map(one).sum::<f32>() / (count * (count - 1.0)).max(1.0)
    });
    // By likeness: 1 - like is half of what they differ by, each of size 1.
    let size = |p: &Portrait| {
        let own = part(p);
        let mean = own.iter().sum::<f32>() / own.len().max(1) as f32;
        own.iter().map(|v| (v - mean) * (v - mean)).sum::<f32>()
    };
    let differ = 2.0 * (1.0 - like) * (size(a) * size(b)).sqrt();
    like > SAME_LIKE || differ < SAME_RATIO * (own[0] + own[1])
}
