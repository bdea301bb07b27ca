//! Family files mean the same to another TOML parser.
//!
//! Source: Python's tomllib (TOML 1.0.0), by `reference/toml_values.py`.
#![expect(clippy::disallowed_types, clippy::disallowed_methods, reason = "the test runs another program")]

#[path = "../../../../reference/python.rs"]
mod python;
#[path = "../../../../reference/toml_values.rs"]
mod toml_values;

use proptest::prelude::*;
use proptest::strategy::ValueTree as _;
use proptest::test_runner::{Config, RngAlgorithm, TestRng, TestRunner};
use register::family::shipped;
use register::family::write::write;

use crate::arbitrary;
use toml_values::{agreed, hex};

#[test]
fn shipped_families_are_the_same_to_both_parsers() {
    let shipped = shipped::starters().iter().chain(shipped::demo_families());
    let texts: Vec<String> = shipped.map(|(_, text)| (*text).to_owned()).collect();
    assert!(agreed(&texts).iter().all(|lines| lines.lines().count() > 20));
}

#[test]
fn the_examples_in_the_docs_are_the_same_to_both_parsers() {
    let docs = include_str!("../../../../docs/families.md");
    let examples: Vec<String> = docs
        .split("```toml\n")
        .skip(1)
        .filter_map(|rest| rest.split("```").next())
        .map(str::to_owned)
        .collect();
    assert!(!examples.is_empty());
    agreed(&examples);
}

/// Fifty families of every shape, the same in every run.
#[test]
fn written_families_are_the_same_to_both_parsers() {
    let rng = TestRng::from_seed(RngAlgorithm::ChaCha, &[7; 32]);
    let mut runner = TestRunner::new_with_rng(Config::default(), rng);
    let families: Vec<_> =
        (0..50).map(|_| arbitrary::family().new_tree(&mut runner).unwrap().current()).collect();
    let texts: Vec<String> = families.iter().map(write).collect();
    for (family, lines) in families.iter().zip(agreed(&texts)) {
        let name = format!(".{}.{} text {}\n", hex("family"), hex("name"), hex(&family.name));
        assert!(lines.contains(&name), "{lines}");
    }
}
