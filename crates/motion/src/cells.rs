//! Which pairs can touch at which angles of their two bodies: found once for each small cell of the angles, and for each
//! block of cells, when it is first asked for, and kept.

use std::sync::OnceLock;
use std::sync::atomic::{AtomicU64, Ordering::Relaxed};

/// Pairs of which a cell can tell; the bit above them says that it has been looked at.
pub(crate) const MOST_PAIRS: usize = 63;
const LOOKED_AT: u64 = 1 << MOST_PAIRS;
/// Cells of a block, along each angle: chosen, so that a beat comes through some thirty blocks.
const SIDE: i64 = 8;

#[derive(Debug)]
struct Block {
    /// Pairs that can touch anywhere in it.
    any: u64,
    cells: [AtomicU64; (SIDE * SIDE) as usize],
}

/// A way that is so many cells across, along both angles, is looked at in parts: chosen, since what lies beside it need not
/// be looked at.
const MOST_ACROSS: i64 = 6;

/// A box of two angles, rad.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Span {
    pub(crate) low_rad: [f64; 2],
    pub(crate) high_rad: [f64; 2],
}

/// A way between two places of two angles, from which it departs to both sides by no more than others.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Way {
    pub(crate) from_rad: [f64; 2],
    pub(crate) to_rad: [f64; 2],
    pub(crate) bow_rad: [f64; 2],
}

/// Places along the two angles of cells or blocks, ends included.
type Places = [[i64; 2]; 2];

/// The cells of two angles. What a cell holds depends on nothing but its place, whoever asks first.
#[derive(Debug)]
pub(crate) struct Cells {
    low_rad: [f64; 2],
    size_rad: [f64; 2],
    per_rad: [f64; 2],
    /// Number of cells along each angle, a multiple of `SIDE`.
    count: [i64; 2],
    /// Whether the first angle goes round.
    round: bool,
    blocks: Vec<OnceLock<Box<Block>>>,
}

impl Clone for Cells {
    fn clone(&self) -> Cells {
        Cells { blocks: empty(self.count), ..*self }
    }
}

fn empty(count: [i64; 2]) -> Vec<OnceLock<Box<Block>>> {
    (0..count[0] * count[1] / (SIDE * SIDE)).map(|_| OnceLock::new()).collect()
}

impl Way {
    /// The box around the way.
    #[inline]
    pub(crate) fn span(&self) -> Span {
        let (a, b, bow) = (self.from_rad, self.to_rad, self.bow_rad);
        Span {
            low_rad: [a[0].min(b[0]) - bow[0], a[1].min(b[1]) - bow[1]],
            high_rad: [a[0].max(b[0]) + bow[0], a[1].max(b[1]) + bow[1]],
        }
    }

    /// The part of it between two parts of its length.
    fn part(&self, from: f64, to: f64) -> Way {
        let at = |x: f64| [0, 1].map(|k| self.from_rad[k] + x * (self.to_rad[k] - self.from_rad[k]));
        Way { from_rad: at(from), to_rad: at(to), bow_rad: self.bow_rad }
    }
}

impl Span {
    /// A box that holds nothing.
    pub(crate) const NONE: Span = Span { low_rad: [f64::INFINITY; 2], high_rad: [f64::NEG_INFINITY; 2] };

    /// Whether another lies within it.
    #[inline]
    pub(crate) fn holds(&self, other: &Span) -> bool {
        (self.low_rad[0] <= other.low_rad[0])
            & (self.low_rad[1] <= other.low_rad[1])
            & (self.high_rad[0] >= other.high_rad[0])
            & (self.high_rad[1] >= other.high_rad[1])
    }
}

/// The whole number below.
#[inline]
fn below(x: f64) -> i64 {
    let whole = x as i64;
    whole - i64::from((whole as f64) > x)
}

impl Cells {
    /// Cells of about a size. Beyond the ends of the first angle nothing touches, unless it goes round; beyond those of the
    /// second it is as in the last cell.
    pub(crate) fn new(ends_rad: [[f64; 2]; 2], about_rad: [f64; 2], round: bool) -> Cells {
        let count = [0, 1].map(|k| {
            let blocks = ((ends_rad[k][1] - ends_rad[k][0]) / (about_rad[k] * SIDE as f64)).ceil();
            SIDE * (blocks as i64).max(1)
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

    /// The pairs that can touch anywhere on a way, by bits, and a box in which no others can. `find` says which of some
    /// can within halves about a middle.
    pub(crate) fn pairs(&self, way: &Way, find: &impl Fn([f64; 2], [f64; 2], u64) -> u64) -> (u64, Span) {
        let span = way.span();
        let Some(places) = self.places(&span) else { return (0, span) };
        let blocks = places.map(|ends| ends.map(|at| at.div_euclid(SIDE)));
        let mut any = 0;
        for y in blocks[1][0]..=blocks[1][1] {
            for x in blocks[0][0]..=blocks[0][1] {
                any |= self.block(x, y, find).any;
            }
        }
        if any == 0 {
            return (0, self.around(&blocks, SIDE));
        }
        let across = [0, 1].map(|k| places[k][1] - places[k][0]);
        let least = across[0].min(across[1]);
        if least <= MOST_ACROSS {
            return (self.cells(&places, find), self.around(&places, 1));
        }
        let parts = least as f64;
        let mut out = 0;
        for i in 0..least {
            if let Some(places) = self.places(&way.part(i as f64 / parts, (i + 1) as f64 / parts).span()) {
                out |= self.cells(&places, find);
            }
        }
        (out, span)
    }

    /// The places of the cells of a box.
    #[inline]
    fn places(&self, span: &Span) -> Option<Places> {
        let place = |at_rad: f64, k: usize| (at_rad - self.low_rad[k]) * self.per_rad[k];
        let most = [(self.count[0] - 1) as f64, (self.count[1] - 1) as f64];
        let (mut first, mut last) = (place(span.low_rad[0], 0), place(span.high_rad[0], 0));
        if self.round {
            last = last.min(first + most[0]);
        } else if last < 0.0 || first >= self.count[0] as f64 {
            return None;
        } else {
            (first, last) = (first.max(0.0), last.min(most[0]));
        }
        let row = |at_rad: f64| place(at_rad, 1).clamp(0.0, most[1]);
        Some([[below(first), below(last)], [row(span.low_rad[1]) as i64, row(span.high_rad[1]) as i64]])
    }

    /// The box about cells, or about blocks of so many.
    fn around(&self, places: &Places, side: i64) -> Span {
        let edge = |at: i64, k: usize| self.low_rad[k] + (at * side) as f64 * self.size_rad[k];
        let mut out = Span {
            low_rad: [edge(places[0][0], 0), edge(places[1][0], 1)],
            high_rad: [edge(places[0][1] + 1, 0), edge(places[1][1] + 1, 1)],
        };
        if places[1][0] == 0 {
            out.low_rad[1] = f64::NEG_INFINITY;
        }
        if (places[1][1] + 1) * side == self.count[1] {
            out.high_rad[1] = f64::INFINITY;
        }
        out
    }

    #[inline]
    fn block(&self, x: i64, y: i64, find: &impl Fn([f64; 2], [f64; 2], u64) -> u64) -> &Block {
        let across = self.count[0] / SIDE;
        let x = if self.round { x.rem_euclid(across) } else { x };
        self.blocks[(y * across + x) as usize].get_or_init(|| {
            let half = self.size_rad.map(|size| 0.5 * SIDE as f64 * size);
            let middle = [0, 1].map(|k| self.low_rad[k] + (2 * [x, y][k] + 1) as f64 * half[k]);
            let any = find(middle, half, u64::MAX);
            Box::new(Block { any, cells: [const { AtomicU64::new(0) }; (SIDE * SIDE) as usize] })
        })
    }

    fn cells(&self, places: &Places, find: &impl Fn([f64; 2], [f64; 2], u64) -> u64) -> u64 {
        let [[left, right], [low, high]] = *places;
        let mut out = 0;
        for y in low / SIDE..=high / SIDE {
            let rows = (low - y * SIDE).max(0)..=(high - y * SIDE).min(SIDE - 1);
            for x in left.div_euclid(SIDE)..=right.div_euclid(SIDE) {
                let block = self.block(x, y, find);
                if block.any == 0 {
                    continue;
                }
                let (first, last) = ((left - x * SIDE).max(0), (right - x * SIDE).min(SIDE - 1));
                for row in rows.clone() {
                    let from = row * SIDE;
                    for at in from + first..=from + last {
                        let known = block.cells[(at & (SIDE * SIDE - 1)) as usize].load(Relaxed);
                        out |= if known != 0 { known } else { self.look(block, [x, y], at, find) };
                    }
                }
            }
        }
        out & !LOOKED_AT
    }

    /// Looks at a cell of a block for the first time.
    #[cold]
    fn look(&self, block: &Block, [x, y]: [i64; 2], at: i64, find: &impl Fn([f64; 2], [f64; 2], u64) -> u64) -> u64 {
        let half = self.size_rad.map(|size| 0.5 * size);
        let x = if self.round { x.rem_euclid(self.count[0] / SIDE) } else { x };
        let place = [x * SIDE + at % SIDE, y * SIDE + at / SIDE];
        let middle = [0, 1].map(|k| self.low_rad[k] + (2 * place[k] + 1) as f64 * half[k]);
        let known = find(middle, half, block.any) | LOOKED_AT;
        block.cells[at as usize].store(known, Relaxed);
        known
    }
}
