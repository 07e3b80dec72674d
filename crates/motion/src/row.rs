//! A contact as a row of the equations of motion, and small systems of such rows.

use crate::pair::{Gap, Pair};

/// Contacts that take part in an impact, and that are tried for bearing after it.
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
    pub(crate) fn new(pair: &Pair, gap: &Gap, v: &[f64; 4]) -> Row {
        let (a, b) = (pair.a, pair.b);
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

/// Pivot, as a part of the largest entry, below which a system is taken to have no solution of its own: a ratio, chosen
/// four orders above rounding.
const SINGULAR_RATIO: f64 = 1e-12;

/// The solution of a small system; `None` where it has none of its own.
#[inline]
pub(crate) fn solve<const N: usize>(matrix: &[[f64; N]; N], right: &[f64; N]) -> Option<[f64; N]> {
    let mut out = [0.0; N];
    if N == 1 {
        out[0] = right[0] / matrix[0][0];
        return (matrix[0][0] != 0.0).then_some(out);
    }
    if N == 2 {
        let (a, b, c, d) = (matrix[0][0], matrix[0][1], matrix[1][0], matrix[1][1]);
        let whole = a * d - b * c;
        if whole.abs() <= SINGULAR_RATIO * (a * d).abs().max((b * c).abs()) {
            return None;
        }
        (out[0], out[1]) = ((right[0] * d - b * right[1]) / whole, (a * right[1] - c * right[0]) / whole);
        return Some(out);
    }
    let (mut m, mut r) = (*matrix, *right);
    let largest = m.iter().flatten().fold(0.0_f64, |m, x| m.max(x.abs()));
    for column in 0..N {
        let best = (column..N).max_by(|&i, &j| m[i][column].abs().total_cmp(&m[j][column].abs()))?;
        if m[best][column].abs() <= SINGULAR_RATIO * largest {
            return None;
        }
        m.swap(column, best);
        r.swap(column, best);
        for row in column + 1..N {
            let part = m[row][column] / m[column][column];
            let above = m[column];
            for (x, y) in m[row][column..].iter_mut().zip(&above[column..]) {
                *x -= part * y;
            }
            r[row] -= part * r[column];
        }
    }
    for i in (0..N).rev() {
        let rest: f64 = (i + 1..N).map(|k| m[i][k] * out[k]).sum();
        out[i] = (r[i] - rest) / m[i][i];
    }
    Some(out)
}
