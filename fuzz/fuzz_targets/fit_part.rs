//! No text brings the readers of an aircraft's fit down, and what they take they write again.
#![no_main]

use fitting::part::{self, LARGEST_BYTES, Problem};
use fitting::{antennas::Antennas, failsafe::Failsafe, outputs::Outputs, supply::Supply};
use libfuzzer_sys::fuzz_target;
use register::fit::Part;

/// What is refused has a reason, and none is without words.
fn judged<T>(read: Result<T, Vec<Problem>>) -> bool {
    match read {
        Ok(_) => true,
        Err(problems) => {
            assert!(!problems.is_empty());
            assert!(problems.iter().all(|one| !one.to_string().is_empty()));
            false
        }
    }
}

fn typed(part: Part, text: &str) -> bool {
    match part {
        Part::Outputs => judged(Outputs::read("fuzz.toml", text)),
        Part::Supply => judged(Supply::read("fuzz.toml", text)),
        Part::Failsafe => judged(Failsafe::read("fuzz.toml", text)),
        Part::Antennas => judged(Antennas::read("fuzz.toml", text)),
    }
}

fuzz_target!(|text: &str| {
    for part in Part::ALL {
        let schema = part::schema(*part);
        let taken = typed(*part, text);
        let Ok(filled) = part::read(schema, "fuzz.toml", text) else {
            assert!(!taken, "the {} take what their schema refuses", part.word());
            continue;
        };
        let written = part::write(&filled);
        if written.len() <= LARGEST_BYTES {
            assert_eq!(part::read(schema, "again.toml", &written).as_ref(), Ok(&filled));
            assert_eq!(typed(*part, &written), taken, "what was written means the same");
        }
    }
});
