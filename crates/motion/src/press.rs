//! What presses where, and how hard: the contact forces by which a motion was made.

use parts::Face;
use plane::{Vector, quarter};

use crate::laws::{Instant, Laws, Phase};
use crate::pair::{LEVER, Meeting, PLATE, Turns, WHEEL};
use crate::row::{Row, solve};
use crate::watch::Watch;

/// A force between two parts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Press {
    /// What touches.
    pub meeting: Meeting,
    /// Faces of the first and the second of the meeting.
    pub faces: [Face; 2],
    /// Where, as the parts are drawn.
    pub at_m: Vector,
    /// Force of the first on the second, friction included.
    pub force_n: Vector,
}

/// On what wheel and lever rest: places of a tooth's pair, and of a banking's where the lever lies on one.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Rest {
    pub(crate) tooth: usize,
    pub(crate) banking: Option<usize>,
}

/// A pair that presses: its place, and the forces on the body of its round along the normal and along the slip.
type Load = (usize, f64, f64);

impl Laws<'_> {
    /// What presses between two instants of one phase: the forces halfway in time, which are the means to the square of the
    /// time.
    pub(crate) fn presses(
        &self,
        watch: &Watch,
        phase: &Phase,
        rest: Option<Rest>,
        from: &Instant,
        to: &Instant,
    ) -> Vec<Press> {
        if to.t_s <= from.t_s {
            return Vec::new();
        }
        let now = midway(from, to);
        let turns = self.scene.turns(&now.q);
        let loads = match rest {
            Some(rest) => self.resting_loads(watch, rest, &now, &turns),
            None => self.loads(watch, phase, &now, &turns),
        };
        let press = |(at, along_n, across_n): &Load| {
            let pair = watch.pair(*at);
            let (from_a, normal) = pair.contact(&turns);
            let on_a = normal * *along_n + quarter(normal) * *across_n;
            let (first, _) = pair.meeting.bodies();
            Press {
                meeting: pair.meeting,
                faces: pair.faces,
                at_m: self.scene.axis_m(pair.a) + from_a,
                force_n: if pair.a == first { -on_a } else { on_a },
            }
        };
        loads.iter().map(press).collect()
    }

    /// Of what moves: the forces of the contacts that bear; none where the parts jam.
    fn loads(&self, watch: &Watch, phase: &Phase, now: &Instant, turns: &Turns) -> Vec<Load> {
        let mut loads: Vec<Load> = Vec::new();
        let Some(forces_n) = self.forces_n(watch, turns, &now.q, &now.v, phase) else { return loads };
        for (bearing, force_n) in phase.bearing().iter().zip(forces_n) {
            match loads.last_mut().filter(|_| bearing.sticks) {
                Some(load) => load.2 = force_n,
                None => loads.push((bearing.at, force_n, -bearing.sense * bearing.friction_ratio * force_n)),
            }
        }
        loads
    }

    /// Of what rests: the tooth takes the drive, the banking what the lever is turned with. Friction is what it has to be
    /// where there is no banking, or none that could hold the lever, and else none.
    fn resting_loads(&self, watch: &Watch, rest: Rest, now: &Instant, turns: &Turns) -> Vec<Load> {
        let row = |at: usize| {
            let pair = watch.pair(at);
            Row::new(pair, &pair.gap(turns), &[0.0; 4])
        };
        let torques = self.torques(&now.q, &[0.0; 4], &[0.0; 3]);
        let tooth = row(rest.tooth);
        let along_n = -torques[WHEEL] / tooth.w[WHEEL];
        let left_n_m = torques[LEVER] + along_n * tooth.w[LEVER];
        if let Some((at, banking_n)) = rest.banking.map(|at| (at, -left_n_m / row(at).w[LEVER]))
            && banking_n >= 0.0
        {
            return vec![(rest.tooth, along_n, 0.0), (at, banking_n, 0.0)];
        }
        let pivot_n_m = self.dynamics.lever.pivot_n_m.min(left_n_m.abs()).copysign(left_n_m);
        let matrix = [[tooth.w[WHEEL], tooth.t[WHEEL]], [tooth.w[LEVER], tooth.t[LEVER]]];
        match solve(&matrix, &[-torques[WHEEL], pivot_n_m - torques[LEVER]]) {
            Some([along_n, across_n]) => vec![(rest.tooth, along_n, across_n)],
            None => Vec::new(),
        }
    }
}

/// Angles and speeds halfway in time, by the cubic through both ends.
fn midway(from: &Instant, to: &Instant) -> Instant {
    let lasts_s = to.t_s - from.t_s;
    let mut out = Instant { t_s: from.t_s + 0.5 * lasts_s, ..Instant::default() };
    for k in 0..PLATE {
        let (a, b, u, w) = (from.q[k], to.q[k], from.v[k], to.v[k]);
        out.q[k] = 0.5 * (a + b) + 0.125 * lasts_s * (u - w);
        out.v[k] = 1.5 * (b - a) / lasts_s - 0.25 * (u + w);
    }
    out
}
