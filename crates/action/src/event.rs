//! Lever angles at which something carried by the lever reaches a given place as seen from the wheel: closed forms.
//!
//! Frame: wheel axis at the origin, pallet axis at `to_pallet`. Theory: docs/theory/contact.md.

use parts::Face;
use plane::{Feature, Shape, Vector, direction_rad, wrap_rad};

/// Lever angles at which a contact between one feature of a tooth and one of a stone can end, begin or turn.
pub(crate) struct Events {
    to_pallet: Vector,
    found: [f64; 24],
    count: usize,
}

impl Events {
    /// Events of the pair `tooth` (wheel frame) and `stone` (lever frame).
    pub(crate) fn of_pair(tooth: &Feature, stone: &Feature, to_pallet: Vector) -> Events {
        let mut e = Events { to_pallet, found: [0.0; 24], count: 0 };
        match (&tooth.shape, &stone.shape) {
            (Shape::Round(a), Shape::Flat(s)) => {
                let n = s.normal();
                let height = n.dot(&s.start);
                // The contact reaches an end of the stone's face.
                for end in [s.start, s.start + s.along * s.length] {
                    e.point_at_distance(end + n * a.radius, a.centre.norm());
                }
                // The stone's face lies along the tooth's next face, or its normal passes through the wheel's axis.
                for m in [a.from, a.to] {
                    e.direction_at_height(n, -a.centre.dot(&m) - a.radius - height);
                }
                e.direction_at_height(n, -a.centre.norm() - a.radius - height);
            }
            (Shape::Flat(t), Shape::Round(b)) => {
                let n = t.normal();
                let height = n.dot(&t.start);
                for end in [t.start, t.start + t.along * t.length] {
                    e.point_at_distance(b.centre, (end + n * b.radius).norm());
                }
                for m in [b.from, b.to] {
                    e.direction_at_height(m, -(height + b.radius) - m.dot(&b.centre));
                }
                e.point_at_distance(b.centre, (height + b.radius).abs());
            }
            (Shape::Round(a), Shape::Round(b)) => {
                let reach = a.radius + b.radius;
                for m in [a.from, a.to] {
                    e.point_at_distance(b.centre, (a.centre + m * reach).norm());
                }
                for m in [b.from, b.to] {
                    e.point_at_distance(b.centre + m * reach, a.centre.norm());
                }
                e.point_at_distance(b.centre, a.centre.norm() + reach);
            }
            (Shape::Flat(_), Shape::Flat(_)) => {}
        }
        e
    }

    /// Lever angles at which the wheel's turning back ends while the pair is in contact: the contact's normal passes
    /// through the pallet axis.
    pub(crate) fn turn_backs(tooth: &Feature, stone: &Feature, to_pallet: Vector) -> Events {
        let mut e = Events { to_pallet, found: [0.0; 24], count: 0 };
        match (&tooth.shape, &stone.shape) {
            (Shape::Round(a), Shape::Flat(s)) => {
                let foot = s.start - s.along * s.start.dot(&s.along);
                e.point_at_distance(foot + s.normal() * a.radius, a.centre.norm());
            }
            (Shape::Flat(t), Shape::Round(b)) => {
                let height = t.normal().dot(&t.start);
                let out = b.centre.normalize();
                for m in [out, -out] {
                    e.direction_at_height(m, -(height + b.radius) - m.dot(&b.centre));
                }
            }
            (Shape::Round(a), Shape::Round(b)) => {
                let reach = a.radius + b.radius;
                for side in [1.0, -1.0] {
                    e.point_at_distance(b.centre * (1.0 + side * reach / b.centre.norm()), a.centre.norm());
                }
            }
            (Shape::Flat(_), Shape::Flat(_)) => {}
        }
        e
    }

    /// The lever point `q` stands at `distance` from the wheel's axis.
    fn point_at_distance(&mut self, q: Vector, distance: f64) {
        let (c2, q2) = (self.to_pallet.norm_squared(), q.norm_squared());
        let cosine = (distance * distance - c2 - q2) / (2.0 * (c2 * q2).sqrt());
        self.both_sides(direction_rad(self.to_pallet) - direction_rad(q), cosine);
    }

    /// The lever direction `m` has the component `height` along the line to the pallet axis.
    fn direction_at_height(&mut self, m: Vector, height: f64) {
        self.both_sides(direction_rad(self.to_pallet) - direction_rad(m), height / self.to_pallet.norm());
    }

    fn both_sides(&mut self, middle_rad: f64, cosine: f64) {
        if cosine.abs() <= 1.0 {
            let half = cosine.acos();
            for angle in [middle_rad + half, middle_rad - half] {
                self.found[self.count] = wrap_rad(angle);
                self.count += 1;
            }
        }
    }

    /// All of them, in no order.
    pub(crate) fn all(&self) -> impl Iterator<Item = f64> + '_ {
        self.found[..self.count].iter().copied()
    }

    /// The first one beyond `from_rad` by more than `margin_rad`, going in the sense `sense` (+1 or −1).
    pub(crate) fn next(&self, from_rad: f64, sense: f64, margin_rad: f64) -> Option<f64> {
        self.found[..self.count]
            .iter()
            .map(|&angle| (wrap_rad(angle - from_rad) * sense, angle))
            .filter(|(ahead, _)| *ahead > margin_rad)
            .min_by(|a, b| a.0.total_cmp(&b.0))
            .map(|(ahead, _)| from_rad + sense * ahead)
    }
}

/// The face a label stands for.
pub(crate) fn face_of(feature: &Feature) -> Face {
    feature.label.into()
}
