//! The keys under which link secrets are fingerprinted.
//!
//! They live outside the workshop, so that a copied workshop can't be guessed
//! against: each in a file `<id>.key` of 32 random bytes that only its owner may read.
//! Equal secrets have equal fingerprints only under the same key; bring the key along
//! to another machine, or type each secret once there.

use std::collections::BTreeMap;
use std::fmt;
use std::fs::{self, File, OpenOptions};
use std::io::{ErrorKind, Write as _};
use std::path::{Path, PathBuf};

use hmac::{Hmac, KeyInit as _, Mac as _};
use register::value::SecretMark;
use sha2::Sha256;

use crate::error::StoreError;
use crate::open::sync_folder;

/// A link secret as it was typed; it can be fingerprinted and not be shown.
#[derive(Clone, PartialEq, Eq)]
pub struct SecretText(String);

impl SecretText {
    /// Takes a secret in.
    pub fn new(text: impl Into<String>) -> SecretText {
        SecretText(text.into())
    }
}

impl fmt::Debug for SecretText {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("SecretText(not shown)")
    }
}

/// The keys of this machine.
pub struct Keys {
    keys: BTreeMap<u64, [u8; 32]>,
    current: u64,
}

impl fmt::Debug for Keys {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Keys")
            .field("current", &format_args!("{:016x}", self.current))
            .finish_non_exhaustive()
    }
}

impl Keys {
    /// Opens the folder of keys; makes it, and a first key, when there is none.
    ///
    /// # Errors
    /// The folder can't be made, read or written, or a key file is damaged.
    pub fn open(folder: &Path) -> Result<Keys, StoreError> {
        make_folder(folder)?;
        // Two programs that start at once must not make two first keys.
        let lock_path = folder.join("lock");
        let lock = open_private(OpenOptions::new().create(true).truncate(false), &lock_path);
        let mut keys = read_all(folder)?;
        if keys.is_empty() {
            let lock = lock?;
            lock.lock().map_err(|error| StoreError::io(&lock_path, error))?;
            keys = read_all(folder)?;
            if keys.is_empty() {
                let key = make(folder)?;
                keys.insert(id_of(&key), key);
            }
        }
        let current = keys.keys().next().copied().unwrap_or_default();
        Ok(Keys { keys, current })
    }

    /// Uses the key with this id from now on, as a workshop that already has prints
    /// under it wants; says whether it is there.
    pub fn prefer(&mut self, id: u64) -> bool {
        let there = self.keys.contains_key(&id);
        if there {
            self.current = id;
        }
        there
    }

    /// The id of the key in use.
    pub fn current(&self) -> u64 {
        self.current
    }

    /// What the workshop keeps of a secret.
    pub fn fingerprint(&self, secret: &SecretText) -> SecretMark {
        if secret.0.is_empty() {
            return SecretMark::Blank;
        }
        let print = print(&self.keys[&self.current], secret);
        SecretMark::Print { key: self.current, print }
    }
}

fn print(key: &[u8; 32], secret: &SecretText) -> u128 {
    let mut mac = Hmac::<Sha256>::new_from_slice(key).expect("HMAC takes keys of every length");
    mac.update(secret.0.as_bytes());
    mac.finalize().into_bytes().iter().take(16).fold(0, |print, &byte| print << 8 | u128::from(byte))
}

fn id_of(key: &[u8; 32]) -> u64 {
    wire::digest(key).0.iter().take(8).fold(0, |id, &byte| id << 8 | u64::from(byte))
}

fn make_folder(folder: &Path) -> Result<(), StoreError> {
    if folder.is_dir() {
        return Ok(());
    }
    let mut builder = fs::DirBuilder::new();
    builder.recursive(true);
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    builder.create(folder).map_err(|error| StoreError::io(folder, error))
}

fn read_all(folder: &Path) -> Result<BTreeMap<u64, [u8; 32]>, StoreError> {
    let io = |error| StoreError::io(folder, error);
    let mut keys = BTreeMap::new();
    for item in fs::read_dir(folder).map_err(io)? {
        let path = item.map_err(io)?.path();
        if path.extension().is_some_and(|extension| extension == "key") {
            let key = read_one(&path)?;
            keys.insert(id_of(&key), key);
        }
    }
    Ok(keys)
}

fn read_one(path: &Path) -> Result<[u8; 32], StoreError> {
    let bytes = fs::read(path).map_err(|error| StoreError::io(path, error))?;
    let named =
        path.file_stem().and_then(|stem| stem.to_str()).and_then(|stem| u64::from_str_radix(stem, 16).ok());
    match <[u8; 32]>::try_from(bytes) {
        Ok(key) if named == Some(id_of(&key)) => Ok(key),
        _ => Err(StoreError::Key {
            path: path.to_owned(),
            what: "not the key its name promises; put the right file back, or move it away and type each link secret once more"
                .to_owned(),
        }),
    }
}

fn make(folder: &Path) -> Result<[u8; 32], StoreError> {
    let mut key = [0; 32];
    getrandom::fill(&mut key).map_err(|_| StoreError::Random)?;
    let part = folder.join("new.part");
    match fs::remove_file(&part) {
        Err(error) if error.kind() != ErrorKind::NotFound => return Err(StoreError::io(&part, error)),
        _ => {}
    }
    let mut file = open_private(OpenOptions::new().create_new(true), &part)?;
    file.write_all(&key).and_then(|()| file.sync_all()).map_err(|error| StoreError::io(&part, error))?;
    let path: PathBuf = folder.join(format!("{:016x}.key", id_of(&key)));
    fs::rename(&part, &path).map_err(|error| StoreError::io(&path, error))?;
    sync_folder(&path)?;
    Ok(key)
}

fn open_private(options: &mut OpenOptions, path: &Path) -> Result<File, StoreError> {
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(options, 0o600);
    options.write(true).open(path).map_err(|error| StoreError::io(path, error))
}
