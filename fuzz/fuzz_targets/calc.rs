//! Whatever is typed for a formula or for a link sheet gives an answer or a reason, and an
//! answer holds no number that is none.
#![no_main]

use std::sync::LazyLock;

use libfuzzer_sys::fuzz_target;
use link::calc::{self, Value};
use link::law::Limits;
use link::sheet::sheet;
use link::wish::{Gear, WISHES, build};
use register::family::{read::read, shipped};
use register::radio::gear;

/// The gear of the starters.
static GEAR: LazyLock<Vec<Gear>> = LazyLock::new(|| {
    let families = shipped::starters().iter().filter_map(|(name, text)| read(name, text).ok());
    families
        .flat_map(|family| family.bands.iter().map(|band| gear(&family, band)).collect::<Vec<_>>())
        .collect()
});

// The first line names a formula, or the number of a gear; each further line is KEY=VALUE, where a key may be a number:
// that of an input.
fuzz_target!(|text: &str| {
    let (name, rest) = text.split_once('\n').unwrap_or((text, ""));
    let typed = |keys: &[&str]| -> Vec<(String, String)> {
        let pairs = rest.lines().filter_map(|line| line.split_once('='));
        let named = |key: &str| {
            key.parse().ok().and_then(|at: usize| keys.get(at).copied()).unwrap_or(key).to_owned()
        };
        pairs.map(|(key, text)| (named(key), text.to_owned())).collect()
    };
    if let Ok(formula) = calc::find(name) {
        let keys: Vec<&str> = formula.inputs.iter().map(|input| input.key).collect();
        match formula.answer(&typed(&keys)) {
            Ok(answer) => {
                assert!(
                    answer
                        .values
                        .iter()
                        .all(|(_, value)| !matches!(value, Value::Number(n) if !n.is_finite()))
                );
            }
            Err(why) => assert!(!why.to_string().is_empty()),
        }
        return;
    }
    let Some(gear) = name.parse().ok().and_then(|at: usize| GEAR.get(at)) else { return };
    let keys: Vec<&str> = WISHES.iter().map(|wish| wish.key).collect();
    let limits = Limits::shipped();
    match build(gear, &typed(&keys), &limits) {
        Ok(asked) => {
            if let Ok(sheet) = sheet(&asked.setup, &asked.setting, &asked.others, &limits) {
                for way in [Some(&sheet.control), sheet.telemetry.as_ref()].into_iter().flatten() {
                    assert!((0.0..=1.0).contains(&way.probability), "{}", way.probability);
                    assert!(way.margin.0.is_finite(), "{}", way.margin);
                }
            }
        }
        Err(wrong) => assert!(!wrong.is_empty()),
    }
});
