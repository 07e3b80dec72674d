//! Closing a system: which equations hold, and the unknowns that satisfy them.
//!
//! Every stated value is one equation `value(unknowns) = wanted`. Stated equations are taken first, then default
//! ones in their order; each is accepted only if it raises the rank of the Jacobian. A stated equation that does not
//! is over-determined: it must come out right by itself, or it clashes with the stated equations it depends on.

use nalgebra::{DMatrix, DVector};
use std::marker::PhantomData;

/// Quantities as functions of `N` unknowns.
pub(crate) trait System<const N: usize> {
    type Quantity: Copy;

    /// Values of the quantities at a point.
    fn values(&self, at: &[f64; N], of: impl Iterator<Item = Self::Quantity>) -> Vec<f64>;

    /// Slopes of the quantities by each unknown at a point.
    fn slopes(&self, at: &[f64; N], of: impl Iterator<Item = Self::Quantity>) -> Vec<[f64; N]>;
}

/// Quantities given by a function of one at a time; slopes by central differences.
struct OneByOne<Q, F, D> {
    value: F,
    /// By its bits, the unknowns a quantity can depend on.
    depends: D,
    quantity: PhantomData<Q>,
}

impl<const N: usize, Q: Copy, F: Fn(&[f64; N], Q) -> f64, D: Fn(Q) -> u32> System<N> for OneByOne<Q, F, D> {
    type Quantity = Q;

    fn values(&self, at: &[f64; N], of: impl Iterator<Item = Q>) -> Vec<f64> {
        of.map(|q| (self.value)(at, q)).collect()
    }

    fn slopes(&self, at: &[f64; N], of: impl Iterator<Item = Q>) -> Vec<[f64; N]> {
        // Radians or ratio: where truncation and rounding error are alike, about 1e-10.
        const STEP: f64 = 5e-6;
        let moved = |column: usize, by: f64| std::array::from_fn(|i| at[i] + if i == column { by } else { 0.0 });
        let places: [_; N] = std::array::from_fn(|column| (moved(column, STEP), moved(column, -STEP)));
        let slope = |column: usize, q: Q| {
            let (ahead, behind) = &places[column];
            ((self.value)(ahead, q) - (self.value)(behind, q)) / (2.0 * STEP)
        };
        of.map(|q| {
            let depends = (self.depends)(q);
            std::array::from_fn(|column| if depends & (1 << column) == 0 { 0.0 } else { slope(column, q) })
        })
        .collect()
    }
}

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

/// Rows whose part outside the accepted ones is below this ratio count as dependent. Between the error of
/// difference quotients, 1e-10, and the 1e-3 of the most nearly parallel independent rows seen (draw at a depth, and draw).
const RANK_RATIO: f64 = 1e-6;

/// A redundant stated equation agrees below this (radians, or ratio of the toe radius): half the last digit of a value
/// written with nine digits.
const AGREE: f64 = 1e-9;

/// How far the search begins from the guess where it failed from the guess itself, as a ratio or in radians; assumed:
/// a few degrees are clear of any one special place and within reach of the answer.
const ASIDE: f64 = 0.03;

/// How many places aside of the guess are tried.
const MOST_TRIES: usize = 8;

/// Closes a system of quantities that are given by a function of one at a time. `depends` tells by its bits which
/// unknowns a quantity can depend on.
pub(crate) fn close<const N: usize, Q: Copy>(
    equations: &[Equation<Q>],
    guess: [f64; N],
    value: impl Fn(&[f64; N], Q) -> f64,
    depends: impl Fn(Q) -> u32,
) -> Result<Closed<N>, NotClosed> {
    close_system(equations, guess, &OneByOne { value, depends, quantity: PhantomData })
}

/// Closes a system from the point `guess`.
pub(crate) fn close_system<const N: usize, S: System<N>>(
    equations: &[Equation<S::Quantity>],
    guess: [f64; N],
    system: &S,
) -> Result<Closed<N>, NotClosed> {
    let holds = |c: &Result<Closed<N>, NotClosed>| c.as_ref().is_ok_and(|c| c.clashes.is_empty());
    let closed = close_from(equations, guess, system);
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
            close_from(equations, aside, system)
        })
        .find(holds)
        .unwrap_or(closed)
}

/// Closes a system with the equations that are independent at `guess`.
fn close_from<const N: usize, S: System<N>>(
    equations: &[Equation<S::Quantity>],
    guess: [f64; N],
    system: &S,
) -> Result<Closed<N>, NotClosed> {
    let rows = system.slopes(&guess, equations.iter().map(|e| e.quantity));
    let (accepted, dependent) = independent(equations, &rows);
    let chosen: Vec<usize> = (0..equations.len()).filter(|&i| accepted[i]).collect();
    let stated = || chosen.iter().copied().filter(|&i| equations[i].stated).collect::<Vec<_>>();
    let quantities = || chosen.iter().map(|&i| equations[i].quantity);
    let residuals = |u: &[f64; N]| {
        let mut r = system.values(u, quantities());
        r.iter_mut().zip(&chosen).for_each(|(r, &i)| *r -= equations[i].wanted);
        DVector::from_vec(r)
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
    let mut kept = Some(DMatrix::from_fn(N, N, |row, column| rows[chosen[row]][column]).lu());
    let mut fresh = true;
    for _ in 0..100 {
        let size = r.amax();
        if size < 1e-14 {
            break;
        }
        fresh |= kept.is_none();
        let lu = kept.take().unwrap_or_else(|| {
            let rows = system.slopes(&u, quantities());
            DMatrix::from_fn(N, N, |row, column| rows[row][column]).lu()
        });
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
    let found = system.values(&u, dependent.iter().map(|(i, _)| equations[*i].quantity));
    let clashes = dependent
        .into_iter()
        .zip(found)
        .map(|((equation, with), found)| Clash { equation, with, residual: found - equations[equation].wanted })
        .filter(|c| c.residual.is_nan() || c.residual.abs() > AGREE)
        .collect();
    Ok(Closed { unknowns: u, accepted, clashes })
}

/// Orders residuals by size, what is not a number last.
fn key(residual: f64) -> f64 {
    if residual.is_nan() { f64::INFINITY } else { residual.abs() }
}

/// Which rows are independent of those before them; and for each stated one that is not, the stated rows it depends on.
fn independent<const N: usize, Q>(
    equations: &[Equation<Q>],
    rows: &[[f64; N]],
) -> (Vec<bool>, Vec<(usize, Vec<usize>)>) {
    let order = (0..equations.len())
        .filter(|&i| equations[i].stated)
        .chain((0..equations.len()).filter(|&i| !equations[i].stated));
    let dot = |a: &[f64; N], b: &[f64; N]| (0..N).map(|i| a[i] * b[i]).sum::<f64>();
    // Orthonormal basis of the accepted rows, each with the combination of accepted rows that makes it.
    let mut basis: Vec<([f64; N], [f64; N])> = Vec::with_capacity(N);
    let mut taken: Vec<usize> = Vec::with_capacity(N);
    let mut accepted = vec![false; equations.len()];
    let mut dependent = Vec::new();
    for i in order {
        if taken.len() == N && !equations[i].stated {
            break;
        }
        let row = rows[i];
        let size = dot(&row, &row).sqrt();
        if !size.is_finite() || size == 0.0 {
            if equations[i].stated {
                dependent.push((i, Vec::new()));
            }
            continue;
        }
        let mut rest = row;
        let mut made_of = [0.0; N];
        let mut left = size;
        // Again where little is left, so that rounding of the first pass is removed by the second.
        for pass in 0..2 {
            if pass == 1 && left > 0.5 * size {
                break;
            }
            for (vector, combination) in &basis {
                let part = dot(&rest, vector);
                for k in 0..N {
                    rest[k] -= vector[k] * part;
                    made_of[k] += combination[k] * part;
                }
            }
            left = dot(&rest, &rest).sqrt();
        }
        if left > RANK_RATIO * size && taken.len() < N {
            let mut combination = made_of.map(|m| -m / left);
            combination[taken.len()] += 1.0 / left;
            basis.push((rest.map(|x| x / left), combination));
            taken.push(i);
            accepted[i] = true;
        } else if equations[i].stated {
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
