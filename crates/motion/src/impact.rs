//! Impacts: several contacts at once, with restitution and friction.
//!
//! Every contact is off, slides one way, slides the other, or sticks; the first combination that satisfies all laws is
//! taken, in a fixed order. Normal laws: an impulse only presses, a contact that presses separates at its restitution
//! times the speed of approach, one that is off does not approach. Friction: an impulse of μ times the normal one against
//! the slip that remains, or less where none remains.

use crate::row::{MOST, Row, dot, over, solve};

/// What a contact of an impact needs.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Struck {
    pub(crate) row: Row,
    pub(crate) friction_ratio: f64,
    pub(crate) rebound_ratio: f64,
}

/// What an impact did at one contact.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Blow {
    /// Impulse along the normal, N s.
    pub(crate) impulse_n_s: f64,
    /// Energy lost at this contact, J.
    pub(crate) lost_j: f64,
}

#[derive(Clone, Copy, Debug, PartialEq)]
enum Mode {
    Off,
    Slides(f64),
    Sticks,
}

/// Speeds smaller than this are rounding, m/s: nine orders below the speeds of an impact.
pub(crate) const SPEED_M_PER_S: f64 = 1e-10;

/// Speeds after the impact of up to four contacts, and what happened at each; `None` where no combination satisfies
/// every law.
///
/// # Properties
/// Kinetic energy never grows: where restitution with friction would make it, the impact is taken without restitution.
pub(crate) fn strike(v: &[f64; 4], lightness: &[f64; 4], struck: &[Struck]) -> Option<([f64; 4], [Blow; MOST])> {
    let kinetic = |v: &[f64; 4]| {
        (0..3).map(|k| if lightness[k] > 0.0 { 0.5 * v[k] * v[k] / lightness[k] } else { 0.0 }).sum::<f64>()
    };
    let before = kinetic(v);
    for rebound in [1.0, 0.0] {
        let mut modes = [Mode::Off; MOST];
        if let Some(found) = search(v, lightness, struck, rebound, &mut modes, 0)
            && kinetic(&found.0) <= before * (1.0 + 1e-12)
        {
            return Some(found);
        }
    }
    None
}

/// Tries modes for the contacts from `at` on.
fn search(
    v: &[f64; 4],
    lightness: &[f64; 4],
    struck: &[Struck],
    rebound: f64,
    modes: &mut [Mode; MOST],
    at: usize,
) -> Option<([f64; 4], [Blow; MOST])> {
    if at == struck.len() {
        return try_modes(v, lightness, struck, rebound, modes);
    }
    let sense = if struck[at].row.slip_m_per_s < 0.0 { -1.0 } else { 1.0 };
    for mode in [Mode::Slides(sense), Mode::Off, Mode::Sticks, Mode::Slides(-sense)] {
        modes[at] = mode;
        if let Some(found) = search(v, lightness, struck, rebound, modes, at + 1) {
            return Some(found);
        }
    }
    None
}

fn try_modes(
    v: &[f64; 4],
    lightness: &[f64; 4],
    struck: &[Struck],
    rebound: f64,
    modes: &[Mode; MOST],
) -> Option<([f64; 4], [Blow; MOST])> {
    // Unknowns: a normal impulse for each contact that presses, a tangential one for each that sticks.
    let mut demands: [([f64; 4], [f64; 4], f64); MOST] = [([0.0; 4], [0.0; 4], 0.0); MOST];
    let mut places = [(0, false); MOST];
    let mut n = 0;
    for (i, s) in struck.iter().enumerate() {
        let closing = s.row.opening_m_per_s;
        let back = if closing < -SPEED_M_PER_S { -rebound * s.rebound_ratio * closing } else { 0.0 };
        let needed = match modes[i] {
            Mode::Off => continue,
            _ if n == MOST => return None,
            Mode::Slides(sense) => {
                let mut push = s.row.w;
                for (p, t) in push.iter_mut().zip(&s.row.t) {
                    *p -= sense * s.friction_ratio * t;
                }
                demands[n] = (s.row.w, push, back - closing);
                1
            }
            Mode::Sticks => {
                if n + 1 >= MOST {
                    return None;
                }
                demands[n] = (s.row.w, s.row.w, back - closing);
                demands[n + 1] = (s.row.t, s.row.t, -s.row.slip_m_per_s);
                2
            }
        };
        for k in 0..needed {
            places[n + k] = (i, k == 1);
        }
        n += needed;
    }
    let impulses = match n {
        0 => [0.0; MOST],
        1 => impulses::<1>(&demands, lightness)?,
        2 => impulses::<2>(&demands, lightness)?,
        3 => impulses::<3>(&demands, lightness)?,
        _ => impulses::<4>(&demands, lightness)?,
    };
    let mut after = *v;
    let (mut normal, mut along) = ([0.0; MOST], [0.0; MOST]);
    for k in 0..n {
        let change = over(&demands[k].1, lightness);
        for (a, c) in after.iter_mut().zip(&change) {
            *a += impulses[k] * c;
        }
        let (i, tangential) = places[k];
        if tangential {
            along[i] = impulses[k];
        } else {
            normal[i] = impulses[k];
            if let Mode::Slides(sense) = modes[i] {
                along[i] = -sense * struck[i].friction_ratio * impulses[k];
            }
        }
    }
    let mut blows = [Blow::default(); MOST];
    for (i, s) in struck.iter().enumerate() {
        let (opening, slip) = (dot(&s.row.w, &after), dot(&s.row.t, &after));
        let holds = match modes[i] {
            Mode::Off => opening >= -SPEED_M_PER_S,
            Mode::Slides(sense) => normal[i] >= 0.0 && sense * slip >= -SPEED_M_PER_S,
            Mode::Sticks => normal[i] >= 0.0 && along[i].abs() <= s.friction_ratio * normal[i] * (1.0 + 1e-12),
        };
        if !holds {
            return None;
        }
        let mean = |before: f64, after: f64| 0.5 * (before + after);
        blows[i] = Blow {
            impulse_n_s: normal[i],
            lost_j: -normal[i] * mean(s.row.opening_m_per_s, opening) - along[i] * mean(s.row.slip_m_per_s, slip),
        };
    }
    Some((after, blows))
}

/// The impulses of `N` unknowns: what each is to change, what its unit does, and by how much it is to change.
fn impulses<const N: usize>(demands: &[([f64; 4], [f64; 4], f64); MOST], lightness: &[f64; 4]) -> Option<[f64; MOST]> {
    let (mut matrix, mut right) = ([[0.0; N]; N], [0.0; N]);
    for i in 0..N {
        for j in 0..N {
            matrix[i][j] = dot(&demands[i].0, &over(&demands[j].1, lightness));
        }
        right[i] = demands[i].2;
    }
    let found = solve(&matrix, &right)?;
    let mut out = [0.0; MOST];
    out[..N].copy_from_slice(&found);
    Some(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two bodies of inertia 2 and 3 kg m² meeting at arms of 1 m: momentum and restitution by hand.
    #[test]
    fn two_bodies_separate_at_the_restitution() {
        let lightness = [0.5, 1.0 / 3.0, 1.0, 0.0];
        let v = [1.0, -1.0, 0.0, 0.0];
        let row = Row { w: [-1.0, 1.0, 0.0, 0.0], opening_m_per_s: -2.0, ..Row::default() };
        let struck = [Struck { row, friction_ratio: 0.0, rebound_ratio: 0.5 }];
        let (after, blows) = strike(&v, &lightness, &struck).expect("it can be solved");
        // Impulse (1 + e) · closing speed · reduced inertia 6/5.
        let impulse = 1.5 * 2.0 * 1.2;
        assert!((blows[0].impulse_n_s - impulse).abs() < 1e-15);
        assert!((after[0] - (1.0 - impulse / 2.0)).abs() < 1e-15 && (after[1] - (-1.0 + impulse / 3.0)).abs() < 1e-15);
        // Loss: ½ · reduced inertia · (1 − e²) · speed².
        assert!((blows[0].lost_j - 0.5 * 1.2 * 0.75 * 4.0).abs() < 1e-15);
    }

    /// A contact that friction holds: one body on a fixed one, arms 1 along both directions, must stop.
    #[test]
    fn friction_that_is_large_enough_holds() {
        let lightness = [1.0, 1.0, 1.0, 0.0];
        let row = Row {
            w: [-1.0, 0.2, 0.0, 0.0],
            t: [0.3, 1.0, 0.0, 0.0],
            opening_m_per_s: -1.0,
            slip_m_per_s: 0.3,
            ..Row::default()
        };
        let struck = [Struck { row, friction_ratio: 5.0, rebound_ratio: 0.0 }];
        let (after, blows) = strike(&[1.0, 0.0, 0.0, 0.0], &lightness, &struck).expect("it can be solved");
        assert!(after[0].abs() < 1e-15 && after[1].abs() < 1e-15);
        assert!((blows[0].lost_j - 0.5).abs() < 1e-15);
    }
}
