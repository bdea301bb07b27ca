//! Fingerprints of link secrets.

use std::fs;
use std::os::unix::fs::PermissionsExt as _;

use register::value::SecretMark;
use store::keys::{Keys, SecretText};
use tempfile::TempDir;

#[test]
fn a_first_key_is_made_for_its_owner_only_and_kept() {
    let folder = TempDir::new().unwrap();
    let folder = folder.path().join("deep/keys");
    let keys = Keys::open(&folder).unwrap();
    let file = folder.join(format!("{:016x}.key", keys.current()));
    assert_eq!(fs::metadata(&file).unwrap().permissions().mode() & 0o777, 0o600);
    assert_eq!(fs::metadata(&folder).unwrap().permissions().mode() & 0o777, 0o700);
    assert_eq!(fs::read(&file).unwrap().len(), 32);
    let print = keys.fingerprint(&SecretText::new("over the hedge"));
    let again = Keys::open(&folder).unwrap();
    assert_eq!(again.fingerprint(&SecretText::new("over the hedge")), print);
    assert_ne!(again.fingerprint(&SecretText::new("over the hedges")), print);
    assert_eq!(again.fingerprint(&SecretText::new("")), SecretMark::Blank);
}

/// Source: RFC 4231, test cases 1 and 2. Shorter keys are the same as the key with
/// zeros behind it (RFC 2104, section 2), so they fit a file of 32 bytes.
#[test]
fn prints_are_hmac_sha_256() {
    let cases: [(&[u8], &str, u128); 2] = [
        (&[0x0b; 20], "Hi There", 0xb034_4c61_d8db_3853_5ca8_afce_af0b_f12b),
        (b"Jefe", "what do ya want for nothing?", 0x5bdc_c146_bf60_754e_6a04_2426_0895_75c7),
    ];
    let folder = TempDir::new().unwrap();
    for (short, secret, print) in cases {
        let mut key = [0; 32];
        key[..short.len()].copy_from_slice(short);
        let id = u64::from_str_radix(&wire::digest(&key).to_string()[..16], 16).unwrap();
        fs::write(folder.path().join(format!("{id:016x}.key")), key).unwrap();
        let mut keys = Keys::open(folder.path()).unwrap();
        assert!(keys.prefer(id));
        assert!(!keys.prefer(1));
        let secret = SecretText::new(secret);
        assert_eq!(keys.fingerprint(&secret), SecretMark::Print { key: id, print });
    }
}

#[test]
fn programs_that_start_at_once_make_one_key() {
    let folder = TempDir::new().unwrap();
    let opened = std::thread::scope(|scope| {
        let threads: Vec<_> =
            (0..8).map(|_| scope.spawn(|| Keys::open(folder.path()).unwrap().current())).collect();
        threads.into_iter().map(|thread| thread.join().unwrap()).collect::<Vec<_>>()
    });
    assert!(opened.iter().all(|id| *id == opened[0]), "{opened:x?}");
}

#[test]
fn secrets_and_keys_show_in_no_debug_output() {
    let folder = TempDir::new().unwrap();
    let keys = Keys::open(folder.path()).unwrap();
    assert_eq!(format!("{:?}", SecretText::new("canary")), "SecretText(not shown)");
    assert_eq!(format!("{keys:?}"), format!("Keys {{ current: {:016x}, .. }}", keys.current()));
}

#[test]
fn a_damaged_key_is_named() {
    let folder = TempDir::new().unwrap();
    let keys = Keys::open(folder.path()).unwrap();
    let file = folder.path().join(format!("{:016x}.key", keys.current()));
    fs::write(&file, [7; 32]).unwrap();
    let error = Keys::open(folder.path()).unwrap_err().to_string();
    assert!(error.starts_with(&format!("{}: not the key its name promises; ", file.display())), "{error}");
}
