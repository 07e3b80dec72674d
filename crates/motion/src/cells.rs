//! Which pairs can touch at which angles of their two bodies: found once for each small cell of the angles, when it is
//! first asked for, and kept.

use std::sync::OnceLock;
use std::sync::atomic::{AtomicU64, Ordering::Relaxed};

/// Pairs of which a cell can tell; the bit above them says that it has been looked at.
pub(crate) const MOST_PAIRS: usize = 63;
const LOOKED_AT: u64 = 1 << MOST_PAIRS;
/// Cells of a block, along each angle: chosen, so that a beat comes through some thirty blocks.
const SIDE: usize = 8;

type Block = [AtomicU64; SIDE * SIDE];

/// The cells of two angles. What a cell holds depends on nothing but its place, whoever asks first.
#[derive(Debug)]
pub(crate) struct Cells {
    low_rad: [f64; 2],
    size_rad: [f64; 2],
    per_rad: [f64; 2],
    /// Number of cells along each angle, a multiple of `SIDE`.
    count: [usize; 2],
    /// Whether the first angle goes round.
    round: bool,
    blocks: Vec<OnceLock<Box<Block>>>,
}

impl Clone for Cells {
    fn clone(&self) -> Cells {
        Cells { blocks: empty(self.count), ..*self }
    }
}

fn empty(count: [usize; 2]) -> Vec<OnceLock<Box<Block>>> {
    (0..count[0] * count[1] / (SIDE * SIDE)).map(|_| OnceLock::new()).collect()
}

impl Cells {
    /// Cells of about a size. Beyond the ends of the first angle nothing touches, unless it goes round; beyond those of the
    /// second it is as in the last cell.
    pub(crate) fn new(ends_rad: [[f64; 2]; 2], about_rad: [f64; 2], round: bool) -> Cells {
        let count = [0, 1].map(|k| {
            let blocks = ((ends_rad[k][1] - ends_rad[k][0]) / (about_rad[k] * SIDE as f64)).ceil();
            SIDE * (blocks as usize).max(1)
        });
        let size_rad = [0, 1].map(|k| (ends_rad[k][1] - ends_rad[k][0]) / count[k] as f64);
        Cells {
            low_rad: ends_rad.map(|ends| ends[0]),
            size_rad,
            per_rad: size_rad.map(|size| 1.0 / size),
            count,
            round,
            blocks: empty(count),
        }
    }

    /// Half of a cell, along each angle.
    pub(crate) fn half_rad(&self) -> [f64; 2] {
        self.size_rad.map(|size| 0.5 * size)
    }

    /// The pairs that can touch anywhere between angles, by bits; `find` says which can in the cell about a middle.
    #[inline]
    pub(crate) fn pairs(&self, from: [f64; 2], to: [f64; 2], find: impl Fn([f64; 2]) -> u64) -> u64 {
        let place = |at_rad: f64, k: usize| ((at_rad - self.low_rad[k]) * self.per_rad[k]).floor();
        let most = (self.count[0] - 1) as f64;
        let (mut first, mut last) = (place(from[0], 0), place(to[0], 0));
        if self.round {
            last = last.min(first + most);
        } else {
            if last < 0.0 || first > most {
                return 0;
            }
            (first, last) = (first.max(0.0), last.min(most));
        }
        let row = |at_rad: f64| (place(at_rad, 1).max(0.0) as usize).min(self.count[1] - 1);
        let (low, high) = (row(from[1]), row(to[1]));
        let (mut x, last) = (first as i64, last as i64);
        let mut out = 0;
        while x <= last {
            let column = if self.round { x.rem_euclid(self.count[0] as i64) as usize } else { x as usize };
            for y in low..=high {
                out |= self.cell(column, y, &find);
            }
            x += 1;
        }
        out & !LOOKED_AT
    }

    #[inline]
    fn cell(&self, x: usize, y: usize, find: &impl Fn([f64; 2]) -> u64) -> u64 {
        let block = self.blocks[y / SIDE * (self.count[0] / SIDE) + x / SIDE]
            .get_or_init(|| Box::new([const { AtomicU64::new(0) }; SIDE * SIDE]));
        let cell = &block[y % SIDE * SIDE + x % SIDE];
        let known = cell.load(Relaxed);
        if known != 0 {
            return known;
        }
        let middle = |place: usize, k: usize| self.low_rad[k] + (place as f64 + 0.5) * self.size_rad[k];
        let found = find([middle(x, 0), middle(y, 1)]) | LOOKED_AT;
        cell.store(found, Relaxed);
        found
    }
}
