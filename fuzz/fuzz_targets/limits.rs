//! No text brings the reader of limits down, and what it takes can be asked about.
#![no_main]

use libfuzzer_sys::fuzz_target;
use link::law::{Limits, power_limit};
use units::{Db, Dbi};

fuzz_target!(|text: &str| {
    let Ok(limits) = Limits::read(text) else { return };
    for row in limits.rows() {
        assert!(limits.row(&row.id).is_some(), "{}", row.id);
        let _ = power_limit(&limits, &row.region, &row.id, "", Dbi(2.15), Db(0.5));
    }
});
