//! Numbers the closed forms are computed with: plain ones, and ones that carry their slopes.
//!
//! A [`Sloped`] number is a value with its derivative by each unknown; computing with it gives the derivatives of the
//! result exactly, by the rules of the calculus (forward differentiation), at the cost of one evaluation.

use std::ops::{Add, Div, Mul, Neg, Sub};

/// What the closed forms ask of a number.
pub(crate) trait Number:
    Copy
    + Add<Output = Self>
    + Sub<Output = Self>
    + Mul<Output = Self>
    + Div<Output = Self>
    + Neg<Output = Self>
    + Add<f64, Output = Self>
    + Sub<f64, Output = Self>
    + Mul<f64, Output = Self>
{
    /// A constant.
    fn of(value: f64) -> Self;
    fn value(self) -> f64;
    fn sqrt(self) -> Self;
    fn sin_cos(self) -> (Self, Self);
    fn acos(self) -> Self;
    /// Direction of the point (`x`, `self`).
    fn atan2(self, x: Self) -> Self;
}

impl Number for f64 {
    fn of(value: f64) -> f64 {
        value
    }
    fn value(self) -> f64 {
        self
    }
    fn sqrt(self) -> f64 {
        self.sqrt()
    }
    fn sin_cos(self) -> (f64, f64) {
        self.sin_cos()
    }
    fn acos(self) -> f64 {
        self.acos()
    }
    fn atan2(self, x: f64) -> f64 {
        self.atan2(x)
    }
}

/// A value and its derivative by each of `N` unknowns.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Sloped<const N: usize> {
    value: f64,
    pub slopes: [f64; N],
}

impl<const N: usize> Sloped<N> {
    /// The unknowns themselves, at `at`.
    pub(crate) fn unknowns(at: &[f64; N]) -> [Self; N] {
        std::array::from_fn(|i| {
            let mut slopes = [0.0; N];
            slopes[i] = 1.0;
            Sloped { value: at[i], slopes }
        })
    }

    /// A function of it, given its value and its slope there.
    #[inline]
    fn mapped(self, value: f64, slope: f64) -> Self {
        Sloped { value, slopes: self.slopes.map(|s| s * slope) }
    }

    /// A function of two, given its value and its slopes by the two.
    #[inline]
    fn of_two(self, other: Self, value: f64, by_self: f64, by_other: f64) -> Self {
        Sloped { value, slopes: std::array::from_fn(|i| self.slopes[i] * by_self + other.slopes[i] * by_other) }
    }
}

impl<const N: usize> Number for Sloped<N> {
    fn of(value: f64) -> Self {
        Sloped { value, slopes: [0.0; N] }
    }
    fn value(self) -> f64 {
        self.value
    }
    #[inline]
    fn sqrt(self) -> Self {
        let root = self.value.sqrt();
        self.mapped(root, 0.5 / root)
    }
    #[inline]
    fn sin_cos(self) -> (Self, Self) {
        let (sin, cos) = self.value.sin_cos();
        (self.mapped(sin, cos), self.mapped(cos, -sin))
    }
    #[inline]
    fn acos(self) -> Self {
        let v = self.value;
        self.mapped(v.acos(), -1.0 / (1.0 - v * v).sqrt())
    }
    #[inline]
    fn atan2(self, x: Self) -> Self {
        let square = self.value * self.value + x.value * x.value;
        self.of_two(x, self.value.atan2(x.value), x.value / square, -self.value / square)
    }
}

impl<const N: usize> Add for Sloped<N> {
    type Output = Self;
    #[inline]
    fn add(self, other: Self) -> Self {
        self.of_two(other, self.value + other.value, 1.0, 1.0)
    }
}

impl<const N: usize> Sub for Sloped<N> {
    type Output = Self;
    #[inline]
    fn sub(self, other: Self) -> Self {
        self.of_two(other, self.value - other.value, 1.0, -1.0)
    }
}

impl<const N: usize> Mul for Sloped<N> {
    type Output = Self;
    #[inline]
    fn mul(self, other: Self) -> Self {
        self.of_two(other, self.value * other.value, other.value, self.value)
    }
}

impl<const N: usize> Div for Sloped<N> {
    type Output = Self;
    #[inline]
    fn div(self, other: Self) -> Self {
        let ratio = self.value / other.value;
        self.of_two(other, ratio, 1.0 / other.value, -ratio / other.value)
    }
}

impl<const N: usize> Neg for Sloped<N> {
    type Output = Self;
    #[inline]
    fn neg(self) -> Self {
        self.mapped(-self.value, -1.0)
    }
}

impl<const N: usize> Add<f64> for Sloped<N> {
    type Output = Self;
    #[inline]
    fn add(self, constant: f64) -> Self {
        Sloped { value: self.value + constant, ..self }
    }
}

impl<const N: usize> Sub<f64> for Sloped<N> {
    type Output = Self;
    #[inline]
    fn sub(self, constant: f64) -> Self {
        Sloped { value: self.value - constant, ..self }
    }
}

impl<const N: usize> Mul<f64> for Sloped<N> {
    type Output = Self;
    #[inline]
    fn mul(self, constant: f64) -> Self {
        self.mapped(self.value * constant, constant)
    }
}

/// A point or displacement of the plane in such numbers.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Point<T> {
    pub x: T,
    pub y: T,
}

impl<T: Number> Point<T> {
    pub(crate) fn of(x: f64, y: f64) -> Self {
        Point { x: T::of(x), y: T::of(y) }
    }
    pub(crate) fn dot(self, other: Self) -> T {
        self.x * other.x + self.y * other.y
    }
    /// As [`plane::cross`].
    pub(crate) fn cross(self, other: Self) -> T {
        self.x * other.y - self.y * other.x
    }
    /// As [`plane::quarter`].
    pub(crate) fn quarter(self) -> Self {
        Point { x: -self.y, y: self.x }
    }
    pub(crate) fn norm(self) -> T {
        self.dot(self).sqrt()
    }
    pub(crate) fn unit(self) -> Self {
        self * (T::of(1.0) / self.norm())
    }
    /// As [`plane::direction_rad`].
    pub(crate) fn direction_rad(self) -> T {
        self.y.atan2(self.x)
    }
    /// Turned anticlockwise by the angle of this sine and cosine.
    pub(crate) fn turned(self, (sin, cos): (T, T)) -> Self {
        Point { x: cos * self.x - sin * self.y, y: sin * self.x + cos * self.y }
    }
}

impl<T: Number> Add for Point<T> {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Point { x: self.x + other.x, y: self.y + other.y }
    }
}

impl<T: Number> Sub for Point<T> {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Point { x: self.x - other.x, y: self.y - other.y }
    }
}

impl<T: Number> Mul<T> for Point<T> {
    type Output = Self;
    fn mul(self, by: T) -> Self {
        Point { x: self.x * by, y: self.y * by }
    }
}

impl<T: Number> Neg for Point<T> {
    type Output = Self;
    fn neg(self) -> Self {
        Point { x: -self.x, y: -self.y }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Each rule against a difference quotient, at a point of no special symmetry.
    #[test]
    fn slopes_are_those_of_difference_quotients() {
        type Function = (&'static str, fn([Sloped<2>; 2]) -> Sloped<2>, fn([f64; 2]) -> f64);
        macro_rules! functions {
            ($($name:literal: |$a:ident, $b:ident| $body:expr;)*) => {
                [$(($name, (|[$a, $b]: [Sloped<2>; 2]| $body) as fn([Sloped<2>; 2]) -> Sloped<2>,
                    (|[$a, $b]: [f64; 2]| $body) as fn([f64; 2]) -> f64),)*]
            };
        }
        let all: [Function; 12] = functions! {
            "add": |a, b| a + b;
            "sub": |a, b| a - b;
            "mul": |a, b| a * b;
            "div": |a, b| a / b;
            "neg": |a, b| -a + b;
            "constants": |a, b| (a + 0.3) * 2.5 - (b - 0.1) * 0.7;
            "sqrt": |a, b| Number::sqrt(a * b);
            "sin": |a, b| Number::sin_cos(a * b).0;
            "cos": |a, b| Number::sin_cos(a - b).1;
            "acos": |a, b| Number::acos(a * b);
            "atan2": |a, b| Number::atan2(a, -b);
            "turned": |a, b| Point { x: a, y: b }.turned(Number::sin_cos(a)).unit().direction_rad();
        };
        let at = [0.4, 0.9];
        for (name, sloped, plain) in all {
            let found = sloped(Sloped::unknowns(&at));
            assert!((found.value() - plain(at)).abs() < 1e-15, "{name}: {} and {}", found.value(), plain(at));
            for i in 0..2 {
                let aside = |by: f64| plain(std::array::from_fn(|k| at[k] + if k == i { by } else { 0.0 }));
                let quotient = (aside(1e-5) - aside(-1e-5)) / 2e-5;
                assert!((found.slopes[i] - quotient).abs() < 1e-9, "{name} by {i}: {} and {quotient}", found.slopes[i]);
            }
        }
    }
}
