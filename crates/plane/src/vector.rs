//! Vectors of the plane, and the few operations on them that have no name in nalgebra.

/// A point or a displacement of the plane. The unit is the caller's.
pub type Vector = nalgebra::Vector2<f64>;

/// The vector of length `radius` in the direction `angle_rad`, anticlockwise from +x.
pub fn polar(radius: f64, angle_rad: f64) -> Vector {
    let (sin, cos) = angle_rad.sin_cos();
    Vector::new(radius * cos, radius * sin)
}

/// Direction of `v`, anticlockwise from +x, in (−π, π].
pub fn direction_rad(v: Vector) -> f64 {
    v.y.atan2(v.x)
}

/// `a × b`: positive when `b` is anticlockwise of `a`.
#[inline]
pub fn cross(a: Vector, b: Vector) -> f64 {
    a.x * b.y - a.y * b.x
}

/// `v` turned a quarter anticlockwise.
#[inline]
pub fn quarter(v: Vector) -> Vector {
    Vector::new(-v.y, v.x)
}

/// `angle_rad` brought into (−π, π].
pub fn wrap_rad(angle_rad: f64) -> f64 {
    let turn = std::f64::consts::TAU;
    let wrapped = angle_rad - turn * (angle_rad / turn).round();
    if wrapped <= -std::f64::consts::PI { wrapped + turn } else { wrapped }
}

/// `angle_rad` brought into [0, `period_rad`).
pub fn wrap_to(angle_rad: f64, period_rad: f64) -> f64 {
    let wrapped = angle_rad - period_rad * (angle_rad / period_rad).floor();
    if wrapped >= period_rad { 0.0 } else { wrapped }
}

/// A rotation followed by a displacement: `p ↦ turn · p + shift`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pose {
    cos: f64,
    sin: f64,
    shift: Vector,
}

impl Pose {
    /// Leaves everything in place.
    pub const IDENTITY: Pose = Pose { cos: 1.0, sin: 0.0, shift: Vector::new(0.0, 0.0) };

    /// Turns by `angle_rad` about the origin, then moves the origin to `origin`.
    pub fn new(angle_rad: f64, origin: Vector) -> Pose {
        let (sin, cos) = angle_rad.sin_cos();
        Pose { cos, sin, shift: origin }
    }

    /// Turns by `angle_rad` about `centre`.
    pub fn about(centre: Vector, angle_rad: f64) -> Pose {
        let turn = Pose::new(angle_rad, Vector::zeros());
        Pose { shift: centre - turn.direction(centre), ..turn }
    }

    /// Displaces by `shift`.
    pub fn shift(shift: Vector) -> Pose {
        Pose { shift, ..Pose::IDENTITY }
    }

    /// Where the point `p` goes.
    #[inline]
    pub fn point(&self, p: Vector) -> Vector {
        self.direction(p) + self.shift
    }

    /// Where the direction `d` goes (turned, not displaced).
    #[inline]
    pub fn direction(&self, d: Vector) -> Vector {
        Vector::new(self.cos * d.x - self.sin * d.y, self.sin * d.x + self.cos * d.y)
    }

    /// The point that goes to `p`.
    pub fn back(&self, p: Vector) -> Vector {
        let d = p - self.shift;
        Vector::new(self.cos * d.x + self.sin * d.y, self.cos * d.y - self.sin * d.x)
    }

    /// First `self`, then `next`.
    pub fn then(&self, next: &Pose) -> Pose {
        Pose {
            cos: next.cos * self.cos - next.sin * self.sin,
            sin: next.sin * self.cos + next.cos * self.sin,
            shift: next.point(self.shift),
        }
    }

    /// Angle of the rotation, in (−π, π].
    pub fn angle_rad(&self) -> f64 {
        self.sin.atan2(self.cos)
    }
}
