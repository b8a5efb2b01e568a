//! How properties draw what they try.

use proptest::test_runner::{Config, RngSeed};

/// `cases` of a property, the same ones in every run, so that a run tells of a change and not of luck.
///
/// `CUPWRIGHT_CASES=20` draws twenty times as many, and others each time.
pub(crate) fn cases(cases: u32) -> Config {
    let usual = Config { cases, ..Config::default() };
    match std::env::var("CUPWRIGHT_CASES") {
        Ok(times) => {
            let times: u32 = times.parse().expect("CUPWRIGHT_CASES is a whole number");
            Config { cases: cases * times, rng_seed: RngSeed::Random, ..usual }
        }
        Err(_) => {
            Config { rng_seed: RngSeed::Fixed(20_261_130), failure_persistence: None, ..usual }
        }
    }
}
