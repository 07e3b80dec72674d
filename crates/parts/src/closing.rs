//! Closing a system: which equations hold, and the unknowns that satisfy them.
//!
//! Every stated value is one equation `value(unknowns) = wanted`. Stated equations are taken first, then default
//! ones in their order; each is accepted only if it raises the rank of the Jacobian. A stated equation that does not
//! is over-determined: it must come out right by itself, or it clashes with the stated equations it depends on.

use nalgebra::{DMatrix, DVector};

/// One equation of a system.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Equation<Q> {
    pub quantity: Q,
    /// Value it must have.
    pub wanted: f64,
    /// Stated by the person, or a default.
    pub stated: bool,
}

/// A stated equation that could not be satisfied because others already fix it.
#[derive(Clone, Debug)]
pub(crate) struct Clash {
    /// Index of the equation.
    pub equation: usize,
    /// Indices of the stated equations that fix its value.
    pub with: Vec<usize>,
    /// Value less wanted value.
    pub residual: f64,
}

/// A system that has been closed.
#[derive(Clone, Debug)]
pub(crate) struct Closed<const N: usize> {
    pub unknowns: [f64; N],
    /// For each equation, whether it was accepted.
    pub accepted: Vec<bool>,
    pub clashes: Vec<Clash>,
}

/// Why a system could not be closed.
#[derive(Clone, Debug)]
pub(crate) struct NotClosed {
    /// The equation that is farthest from holding where the search ended.
    pub worst: usize,
    /// Its residual; not a number where it has no value.
    pub residual: f64,
    /// The stated equations that were accepted.
    pub stated: Vec<usize>,
}

/// Rows whose part outside the accepted ones is below this ratio count as dependent. Between the 1e-10 error of the
/// difference quotients and the 1e-3 of the most nearly parallel independent rows seen (draw at a depth, and draw).
const RANK_RATIO: f64 = 1e-6;

/// A redundant stated equation agrees below this (radians, or ratio of the toe radius): half the last digit of a value
/// written with nine digits.
const AGREE: f64 = 1e-9;

/// How far the search begins from the guess where it failed from the guess itself, as a ratio or in radians; assumed:
/// a few degrees are clear of any one special place and within reach of the answer.
const ASIDE: f64 = 0.03;

/// How many places aside of the guess are tried.
const MOST_TRIES: usize = 8;

/// Closes a system from the point `guess`. `depends` tells by its bits which unknowns a quantity can depend on.
pub(crate) fn close<const N: usize, Q: Copy>(
    equations: &[Equation<Q>],
    guess: [f64; N],
    value: impl Fn(&[f64; N], Q) -> f64,
    depends: impl Fn(Q) -> u32,
) -> Result<Closed<N>, NotClosed> {
    let holds = |c: &Result<Closed<N>, NotClosed>| c.as_ref().is_ok_and(|c| c.clashes.is_empty());
    let closed = close_from(equations, guess, &value, &depends);
    if holds(&closed) {
        return closed;
    }
    // At special places values depend on one another that do not elsewhere: at tangential planting the angle of a corner
    // does not change with its distance. Only what clashes when begun aside of the guess, too, is over-determined.
    (0..MOST_TRIES)
        .map(|try_at| {
            // Another pattern of signs and another distance each time.
            let sign = |i: usize| if (0x9e37_79b9_u32 >> ((5 * try_at + i) % 31)) & 1 == 0 { 1.0 } else { -1.0 };
            let step = ASIDE * (1.0 + try_at as f64 / MOST_TRIES as f64);
            let aside = std::array::from_fn(|i| guess[i] + sign(i) * step);
            close_from(equations, aside, &value, &depends)
        })
        .find(holds)
        .unwrap_or(closed)
}

/// Closes a system with the equations that are independent at `guess`.
fn close_from<const N: usize, Q: Copy>(
    equations: &[Equation<Q>],
    guess: [f64; N],
    value: &impl Fn(&[f64; N], Q) -> f64,
    depends: &impl Fn(Q) -> u32,
) -> Result<Closed<N>, NotClosed> {
    let all: Vec<usize> = (0..equations.len()).collect();
    let rows = jacobian_of(&all, equations, &guess, value, depends);
    let (accepted, dependent) = independent(equations, &rows);
    let chosen: Vec<usize> = (0..equations.len()).filter(|&i| accepted[i]).collect();
    let stated = || chosen.iter().copied().filter(|&i| equations[i].stated).collect::<Vec<_>>();
    let residuals = |u: &[f64; N]| {
        DVector::from_iterator(N, chosen.iter().map(|&i| value(u, equations[i].quantity) - equations[i].wanted))
    };
    let worst_of = |r: &DVector<f64>| {
        let at = (0..r.len()).max_by(|&a, &b| key(r[a]).total_cmp(&key(r[b]))).unwrap_or(0);
        NotClosed {
            worst: chosen.get(at).copied().unwrap_or(0),
            residual: r.get(at).copied().unwrap_or(f64::NAN),
            stated: stated(),
        }
    };
    if chosen.len() != N {
        return Err(NotClosed { worst: 0, residual: f64::NAN, stated: stated() });
    }

    // Newton, with halved steps where a full one makes things worse or leaves the domain. A Jacobian is kept as long as
    // each step with it takes off three quarters (ratio chosen by trial): near the answer that costs a few residuals instead of a Jacobian a step.
    const KEEP_RATIO: f64 = 0.25;
    let mut u = guess;
    let mut r = residuals(&u);
    // The first is the one the rank was found with.
    let mut kept = Some(DMatrix::from_fn(N, N, |row, column| rows[(chosen[row], column)]).lu());
    let mut fresh = true;
    for _ in 0..100 {
        let size = r.amax();
        if size < 1e-14 {
            break;
        }
        fresh |= kept.is_none();
        let lu = kept.take().unwrap_or_else(|| jacobian_of(&chosen, equations, &u, value, depends).lu());
        let Some(step) = lu.solve(&r) else { return Err(worst_of(&r)) };
        let mut part = 1.0;
        let better = loop {
            let mut next = u;
            next.iter_mut().zip(step.iter()).for_each(|(x, s)| *x -= part * s);
            let residual = residuals(&next);
            let new_size = residual.amax();
            if residual.iter().all(|x| x.is_finite()) && new_size < size {
                break Some((next, residual, new_size));
            }
            part *= 0.5;
            if part < 1e-6 {
                break None;
            }
        };
        match better {
            Some((next, residual, new_size)) => {
                (u, r) = (next, residual);
                if new_size < KEEP_RATIO * size {
                    kept = Some(lu);
                }
                fresh = false;
            }
            None if size < 1e-12 => break, // as near as rounding allows
            None if !fresh => {}           // try again with a Jacobian of this place
            None => return Err(worst_of(&r)),
        }
    }
    if r.amax().is_nan() || r.amax() > 1e-12 {
        return Err(worst_of(&r));
    }
    let clashes = dependent
        .into_iter()
        .filter(|(i, _)| equations[*i].stated)
        .map(|(equation, with)| Clash {
            equation,
            with,
            residual: value(&u, equations[equation].quantity) - equations[equation].wanted,
        })
        .filter(|c| c.residual.is_nan() || c.residual.abs() > AGREE)
        .collect();
    Ok(Closed { unknowns: u, accepted, clashes })
}

/// Orders residuals by size, what is not a number last.
fn key(residual: f64) -> f64 {
    if residual.is_nan() { f64::INFINITY } else { residual.abs() }
}

/// Central differences.
fn jacobian_of<const N: usize, Q: Copy>(
    chosen: &[usize],
    equations: &[Equation<Q>],
    at: &[f64; N],
    value: &impl Fn(&[f64; N], Q) -> f64,
    depends: &impl Fn(Q) -> u32,
) -> DMatrix<f64> {
    // Radians or ratio: where truncation and rounding error are alike, about 1e-10.
    const STEP: f64 = 5e-6;
    let mut j = DMatrix::zeros(chosen.len(), N);
    for column in 0..N {
        let (mut ahead, mut behind) = (*at, *at);
        ahead[column] += STEP;
        behind[column] -= STEP;
        for (row, &i) in chosen.iter().enumerate() {
            let q = equations[i].quantity;
            if depends(q) & (1 << column) == 0 {
                continue;
            }
            j[(row, column)] = (value(&ahead, q) - value(&behind, q)) / (2.0 * STEP);
        }
    }
    j
}

/// Which rows are independent of those before them; and for each dependent one, the stated rows it depends on.
fn independent<Q>(equations: &[Equation<Q>], rows: &DMatrix<f64>) -> (Vec<bool>, Vec<(usize, Vec<usize>)>) {
    let n = rows.ncols();
    let order = (0..equations.len())
        .filter(|&i| equations[i].stated)
        .chain((0..equations.len()).filter(|&i| !equations[i].stated));
    // Orthonormal basis of the accepted rows, each with the combination of accepted rows that makes it.
    let mut basis: Vec<(DVector<f64>, DVector<f64>)> = Vec::new();
    let mut taken: Vec<usize> = Vec::new();
    let mut accepted = vec![false; equations.len()];
    let mut dependent = Vec::new();
    for i in order {
        let row = rows.row(i).transpose();
        let size = row.norm();
        if !size.is_finite() || size == 0.0 {
            dependent.push((i, Vec::new()));
            continue;
        }
        let mut rest = row.clone();
        let mut made_of = DVector::zeros(n);
        // Twice, so that rounding of the first pass is removed by the second.
        for _ in 0..2 {
            for (vector, combination) in &basis {
                let part = rest.dot(vector);
                rest -= vector * part;
                made_of += combination * part;
            }
        }
        let left = rest.norm();
        if left > RANK_RATIO * size && taken.len() < n {
            let mut combination = -made_of;
            combination[taken.len()] += 1.0;
            basis.push((rest / left, combination / left));
            taken.push(i);
            accepted[i] = true;
        } else {
            let with = taken
                .iter()
                .enumerate()
                .filter(|(at, t)| equations[**t].stated && made_of[*at].abs() > RANK_RATIO * size)
                .map(|(_, t)| *t);
            dependent.push((i, with.collect()));
        }
    }
    (accepted, dependent)
}
