//! How many cases a property runs, and from which seed.
#![allow(dead_code)] // each test file uses a part of it

use proptest::test_runner::{Config, RngSeed};

/// `ordinary` cases from a fixed seed, so that the ordinary run gives the same answer every time; with `PROPTEST_CASES`
/// set, that many 256ths of them from a new seed each time.
pub fn cases(ordinary: u32) -> Config {
    let base = Config { failure_persistence: None, max_global_rejects: 1 << 22, ..Config::default() };
    match std::env::var("PROPTEST_CASES").ok().and_then(|c| c.parse::<u64>().ok()) {
        Some(c) => {
            let scaled = (u64::from(ordinary) * c / 256).clamp(1, u64::from(u32::MAX));
            Config { cases: u32::try_from(scaled).unwrap_or(u32::MAX), ..base }
        }
        None => Config { cases: ordinary, rng_seed: RngSeed::Fixed(0x5eed), ..base },
    }
}
