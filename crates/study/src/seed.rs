//! The seed of a study and the seeds of its trials.

/// Start of a stream of chance. A study has one; every trial is handed its own.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct Seed(pub u64);

impl Seed {
    /// Seed of trial `index` of the study with this seed: output number `index` (from 0) of the generator SplitMix64
    /// started at this seed, reached directly. A trial that is itself a study may use its seed for that study.
    ///
    /// # Properties
    /// All 2^64 trials of one study have different seeds: the step is odd and the mixing can be undone.
    ///
    /// # Source
    /// G. L. Steele, D. Lea, C. H. Flood, "Fast splittable pseudorandom number generators", OOPSLA 2014, pp. 453-472;
    /// mixing constants as in S. Vigna, `splitmix64.c`, 2015 (public domain).
    ///
    /// # Examples
    /// ```
    /// assert_eq!(study::Seed(1_234_567).of_trial(0), study::Seed(6_457_827_717_110_365_317));
    /// ```
    pub fn of_trial(self, index: usize) -> Seed {
        let steps = (index as u64).wrapping_add(1);
        let mut mixed = self.0.wrapping_add(STEP.wrapping_mul(steps));
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        Seed(mixed ^ (mixed >> 31))
    }
}

/// 2^64 divided by the golden ratio, made odd: the step of SplitMix64's counter.
const STEP: u64 = 0x9e37_79b9_7f4a_7c15;

#[cfg(test)]
mod tests {
    use super::*;

    /// First five outputs for seed 1234567, as listed in Rosetta Code, "Pseudo-random numbers/Splitmix64".
    #[test]
    fn seeds_are_the_published_outputs_of_splitmix64() {
        let listed = [
            6_457_827_717_110_365_317,
            3_203_168_211_198_807_973,
            9_817_491_932_198_370_423,
            4_593_380_528_125_082_431,
            16_408_922_859_458_223_821,
        ];
        let seeds: Vec<u64> = (0..5).map(|index| Seed(1_234_567).of_trial(index).0).collect();
        assert_eq!(seeds, listed);
    }
}
