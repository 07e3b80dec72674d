//! A contact as a row of the equations of motion, and small systems of such rows.

use crate::pair::Gap;

/// Contacts that can bear at once.
pub(crate) const MOST: usize = 4;

/// One contact: what its unit force does to each coordinate. The fourth entry is the plate's.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Row {
    /// Along the normal.
    pub(crate) w: [f64; 4],
    /// Along the slip.
    pub(crate) t: [f64; 4],
    /// What of the gap's second derivative in time does not come from accelerations.
    pub(crate) curve_m_per_s2: f64,
    /// Rate of the gap.
    pub(crate) opening_m_per_s: f64,
    /// Speed of slip.
    pub(crate) slip_m_per_s: f64,
}

impl Row {
    #[inline]
    pub(crate) fn new(gap: &Gap, a: usize, b: usize, v: &[f64; 4]) -> Row {
        let mut row = Row::default();
        (row.w[a], row.w[b]) = (gap.w[0], gap.w[1]);
        (row.t[a], row.t[b]) = (gap.t[0], gap.t[1]);
        let (va, vb) = (v[a], v[b]);
        let [aa, ab, bb] = gap.second;
        row.curve_m_per_s2 = aa * va * va + 2.0 * ab * va * vb + bb * vb * vb;
        row.opening_m_per_s = gap.w[0] * va + gap.w[1] * vb;
        row.slip_m_per_s = gap.t[0] * va + gap.t[1] * vb;
        row
    }
}

#[inline]
pub(crate) fn dot(a: &[f64; 4], b: &[f64; 4]) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

/// `a` with each coordinate divided by its inertia.
#[inline]
pub(crate) fn over(a: &[f64; 4], lightness: &[f64; 4]) -> [f64; 4] {
    [a[0] * lightness[0], a[1] * lightness[1], a[2] * lightness[2], 0.0]
}

/// Pivot, as a part of the largest entry, below which a system is taken to have no solution of its own.
const SINGULAR_RATIO: f64 = 1e-12;

/// Solves the first `n` rows of `[matrix | right]`; `None` where they do not determine the unknowns.
#[inline]
pub(crate) fn solve(system: &mut [[f64; MOST + 1]; MOST], n: usize) -> Option<[f64; MOST]> {
    let mut out = [0.0; MOST];
    if n == 1 {
        let pivot = system[0][0];
        if pivot == 0.0 {
            return None;
        }
        out[0] = system[0][MOST] / pivot;
        return Some(out);
    }
    let largest = system[..n].iter().flat_map(|r| &r[..n]).fold(0.0_f64, |m, x| m.max(x.abs()));
    for column in 0..n {
        let best = (column..n).max_by(|&i, &j| system[i][column].abs().total_cmp(&system[j][column].abs()))?;
        if system[best][column].abs() <= SINGULAR_RATIO * largest {
            return None;
        }
        system.swap(column, best);
        let pivot = system[column];
        for row in &mut system[column + 1..n] {
            let part = row[column] / pivot[column];
            if part != 0.0 {
                for k in column..n {
                    row[k] -= part * pivot[k];
                }
                row[MOST] -= part * pivot[MOST];
            }
        }
    }
    for i in (0..n).rev() {
        let rest: f64 = (i + 1..n).map(|k| system[i][k] * out[k]).sum();
        out[i] = (system[i][MOST] - rest) / system[i][i];
    }
    Some(out)
}
