//! No text brings the reader of fault models down, and a model it takes can be reckoned with.
#![no_main]

use libfuzzer_sys::fuzz_target;
use trails::belief::Belief;
use trails::file::read;

fuzz_target!(|text: &str| {
    match read("fuzz.toml", text) {
        Ok(model) => {
            assert_eq!(model.check(), Ok(()));
            let weights = Belief::prior(&model).singles;
            assert_eq!(weights.len(), model.hypotheses());
            assert!((weights.iter().sum::<f64>() - 1.0).abs() < 1e-9, "{weights:?}");
        }
        Err(problems) => {
            assert!(!problems.is_empty());
            let lines = text.matches('\n').count() + 1;
            assert!(problems.iter().all(|problem| (1..=lines).contains(&problem.line)), "{problems:?}");
        }
    }
});
