//! Random numbers that are the same for the same seed.

use std::f64::consts::TAU;

/// SplitMix64.
///
/// # Source
/// G. L. Steele, D. Lea, C. H. Flood, "Fast splittable pseudorandom number generators", OOPSLA 2014, pp. 453-472; mixing
/// constants as in S. Vigna, `splitmix64.c`, 2015 (public domain).
pub(crate) struct Chance(u64);

/// Bits of a uniform number: the 53 digits of a double.
const DIGITS: u32 = 53;

impl Chance {
    pub(crate) fn new(seed: u64) -> Chance {
        Chance(seed)
    }

    fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// From 0, which it may be, to 1, which it may not.
    fn part(&mut self) -> f64 {
        (self.bits() >> (u64::BITS - DIGITS)) as f64 / (1_u64 << DIGITS) as f64
    }

    /// Two numbers of a normal law with mean 0 and variance 1.
    ///
    /// # Source
    /// G. E. P. Box, M. E. Muller, Annals of Mathematical Statistics 29 (1958) 610-611 (from memory).
    pub(crate) fn two_normal(&mut self) -> [f64; 2] {
        let size = (-2.0 * (1.0 - self.part()).ln()).sqrt();
        let (sin, cos) = (TAU * self.part()).sin_cos();
        [size * cos, size * sin]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// First outputs for seed 1234567, as listed in Rosetta Code, "Pseudo-random numbers/Splitmix64".
    #[test]
    fn bits_are_the_published_outputs_of_splitmix64() {
        let mut chance = Chance::new(1_234_567);
        let listed = [6_457_827_717_110_365_317, 3_203_168_211_198_807_973, 9_817_491_932_198_370_423];
        assert_eq!([chance.bits(), chance.bits(), chance.bits()], listed);
    }

    /// Moments of the normal law: 0, 1, 0, 3; each within four of its standard errors.
    #[test]
    fn normal_numbers_have_the_moments_of_their_law() {
        let mut chance = Chance::new(7);
        let count = 400_000.0_f64;
        let all: Vec<f64> = (0..200_000).flat_map(|_| chance.two_normal()).collect();
        let moment = |power: i32| all.iter().map(|x| x.powi(power)).sum::<f64>() / count;
        for (power, expected, variance) in [(1, 0.0, 1.0), (2, 1.0, 2.0), (3, 0.0, 15.0), (4, 3.0, 96.0_f64)] {
            let error = moment(power) - expected;
            assert!(error.abs() < 4.0 * (variance / count).sqrt(), "moment {power} off by {error}");
        }
    }
}
