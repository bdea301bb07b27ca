//! No text brings the reader of path profiles down; what it takes reads back the same, and a
//! loss over it is a number.
#![no_main]

use libfuzzer_sys::fuzz_target;
use link::path::Path;
use link::profile::Profile;
use units::{Metres, Mhz};

fuzz_target!(|text: &str| {
    let Ok(profile) = Profile::read(text) else { return };
    let points = profile.distances_m().iter().zip(profile.heights_m());
    let again: Vec<String> = points.map(|(distance, height)| format!("{distance},{height}")).collect();
    assert_eq!(Profile::read(&again.join("\n")).as_ref(), Ok(&profile));
    let length = profile.length();
    let path = Path { profile: Some(profile), ..Path::level(Metres(1.5), Metres(30.0)) };
    if let Ok(loss) = path.loss(Mhz(2440.0), length) {
        assert!(loss.total.0.is_finite(), "{loss:?}");
    }
});
