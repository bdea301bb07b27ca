//! No bytes bring the reader of lists down, and every row is taken or told.
#![no_main]

use intake::csv::{Header, Options, mapping, read};
use libfuzzer_sys::fuzz_target;
use register::field::Sort;

fuzz_target!(|bytes: &[u8]| {
    let Ok(header) = Header::read(bytes) else { return };
    let mut mapping = mapping::guess(&header);
    mapping.rows = Some(Sort::Receiver);
    assert_eq!(mapping::Mapping::from_text(&mapping.to_text()).as_ref(), Ok(&mapping));
    if let Ok(list) = read(bytes.to_vec(), &mapping, Options::default()) {
        assert!(list.inventory.units.len() as u64 + list.bad.len() as u64 >= list.rows);
    }
});
