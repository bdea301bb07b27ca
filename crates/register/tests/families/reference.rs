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

fn agree(text: &str) {
    let theirs = String::from_utf8(python::python("toml_values.py", &[], text.as_bytes())).unwrap();
    assert!(theirs.lines().count() > 5, "{theirs}");
    assert_eq!(toml_values::values(text), theirs, "{text}");
}

#[test]
fn shipped_families_are_the_same_to_both_parsers() {
    for (_, text) in shipped::starters().iter().chain(shipped::demo_families()) {
        agree(text);
    }
}

#[test]
fn the_example_in_the_docs_is_the_same_to_both_parsers() {
    let docs = include_str!("../../../../docs/families.md");
    let examples: Vec<&str> =
        docs.split("```toml\n").skip(1).filter_map(|rest| rest.split("```").next()).collect();
    assert!(!examples.is_empty());
    for example in examples {
        let theirs = python::python("toml_values.py", &[], example.as_bytes());
        assert_eq!(toml_values::values(example), String::from_utf8(theirs).unwrap(), "{example}");
    }
}

/// Fifty families of every shape, the same in every run.
#[test]
fn written_families_are_the_same_to_both_parsers() {
    let rng = TestRng::from_seed(RngAlgorithm::ChaCha, &[7; 32]);
    let mut runner = TestRunner::new_with_rng(Config::default(), rng);
    let families = arbitrary::family();
    for _ in 0..50 {
        let family = families.new_tree(&mut runner).unwrap().current();
        let text = write(&family);
        agree(&text);
        let name = toml_values::hex(&family.name);
        let line = format!(".{}.{} text {name}\n", toml_values::hex("family"), toml_values::hex("name"));
        assert!(toml_values::values(&text).contains(&line), "{text}");
    }
}
