//! An open workshop: the store, the register it adds up to, and the keys of this machine.

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::{SystemTime, UNIX_EPOCH};

use register::entry::{Body, Draft};
use register::family::read::{self, Problem};
use register::family::{Family, Releases, release, shipped};
use register::field::{Field, How, Part, Sort};
use register::fleet::Fleet;
use register::id::DeviceId;
use register::refit;
use register::register::{Folded, Register};
use register::scene::{Change, Scene};
use register::time::Moment;
use register::trail;
use register::value::{SecretMark, Value};
use store::keys::{Keys, SecretText};
use store::{Extent, Store, StoreError, Written};
use uuid::{NoContext, Timestamp, Uuid};

/// The present moment. The doors alone read the clock.
pub fn now() -> Moment {
    let since = SystemTime::now().duration_since(UNIX_EPOCH).unwrap_or_default();
    Moment(i64::try_from(since.as_millis()).unwrap_or(i64::MAX))
}

/// An id for a new device.
pub fn new_device_id() -> DeviceId {
    let now = now().0;
    let seconds = u64::try_from(now / 1000).unwrap_or(0);
    let nanos = u32::try_from(now % 1000).unwrap_or(0) * 1_000_000;
    DeviceId(Uuid::new_v7(Timestamp::from_unix(NoContext, seconds, nanos)).as_u128())
}

/// Where things are kept.
#[derive(Clone, Debug)]
pub struct Places {
    /// The workshop file.
    pub workshop: PathBuf,
    /// The folder of keys for link secrets, outside the workshop.
    pub keys: PathBuf,
}

impl Places {
    /// The platform's data folder for Holdfast.
    pub fn data_folder() -> PathBuf {
        let var = |name: &str| std::env::var_os(name).filter(|value| !value.is_empty()).map(PathBuf::from);
        if cfg!(windows) {
            var("APPDATA").unwrap_or_else(|| PathBuf::from(".")).join("Holdfast")
        } else if cfg!(target_os = "macos") {
            var("HOME").unwrap_or_else(|| PathBuf::from(".")).join("Library/Application Support/Holdfast")
        } else {
            var("XDG_DATA_HOME")
                .or_else(|| var("HOME").map(|home| home.join(".local/share")))
                .unwrap_or_else(|| PathBuf::from("."))
                .join("holdfast")
        }
    }

    /// The folder of keys, when nobody names another: beside the program's settings, not
    /// beside the workshop, so that a copied workshop can't be guessed against.
    pub fn key_folder() -> PathBuf {
        let var = |name: &str| std::env::var_os(name).filter(|value| !value.is_empty()).map(PathBuf::from);
        if let Some(named) = var("HOLDFAST_KEYS") {
            return named;
        }
        if cfg!(windows) {
            return var("LOCALAPPDATA").unwrap_or_else(|| PathBuf::from(".")).join("Holdfast/keys");
        }
        if cfg!(target_os = "macos") {
            let home = var("HOME").unwrap_or_else(|| PathBuf::from("."));
            return home.join("Library/Application Support/Holdfast keys");
        }
        var("XDG_CONFIG_HOME")
            .or_else(|| var("HOME").map(|home| home.join(".config")))
            .unwrap_or_else(|| PathBuf::from("."))
            .join("holdfast/keys")
    }

    /// The places for a workshop file; the platform's data folder when none is named.
    pub fn of(workshop: Option<PathBuf>) -> Places {
        let workshop = workshop.unwrap_or_else(|| Places::data_folder().join("workshop.holdfast"));
        Places { workshop, keys: Places::key_folder() }
    }
}

/// An open workshop.
#[derive(Debug)]
pub struct Workshop {
    /// The logbook.
    pub store: Store,
    /// Who is written down as the author of new entries.
    pub author: String,
    register: Arc<Register>,
    fleet: Arc<Fleet>,
    extent: Extent,
    keys_at: PathBuf,
    keys: Option<Keys>,
    /// Family files in the workshop that can't be read, and releases added to families that
    /// don't fit them, with their problems.
    family_problems: Vec<(String, Vec<Problem>)>,
}

/// Something went wrong with a workshop.
#[derive(Debug, thiserror::Error)]
pub enum WorkshopError {
    /// The store.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// The folder for the workshop can't be made.
    #[error("the folder {folder} can't be made ({why}); name another place with --workshop")]
    Folder {
        /// Which.
        folder: String,
        /// Why.
        why: String,
    },
}

impl Workshop {
    /// Opens a workshop, beginning one (and its folder) when there is none.
    ///
    /// # Errors
    /// It can't be made, opened or read.
    pub fn open(places: &Places, author: &str) -> Result<Workshop, WorkshopError> {
        if let Some(folder) = places.workshop.parent().filter(|folder| !folder.as_os_str().is_empty())
            && !folder.is_dir()
        {
            std::fs::create_dir_all(folder).map_err(|why| WorkshopError::Folder {
                folder: folder.display().to_string(),
                why: why.to_string(),
            })?;
        }
        Workshop::around(Store::open(&places.workshop)?, &places.keys, author)
    }

    /// Opens a workshop that must be there already.
    ///
    /// # Errors
    /// It is not there, or can't be read.
    pub fn open_existing(places: &Places, author: &str) -> Result<Workshop, WorkshopError> {
        Workshop::around(Store::open_existing(&places.workshop)?, &places.keys, author)
    }

    /// A workshop around an open store.
    ///
    /// # Errors
    /// The store can't be read.
    pub fn around(store: Store, keys: &Path, author: &str) -> Result<Workshop, WorkshopError> {
        let mut workshop = Workshop {
            store,
            author: author.to_owned(),
            register: Arc::default(),
            fleet: Arc::default(),
            extent: Extent { last_row: 0, erasures: 0 },
            keys_at: keys.to_owned(),
            keys: None,
            family_problems: Vec::new(),
        };
        workshop.rebuild()?;
        Ok(workshop)
    }

    /// What the logbook adds up to.
    pub fn register(&self) -> &Arc<Register> {
        &self.register
    }

    /// The fleet, viewed.
    pub fn fleet(&self) -> &Arc<Fleet> {
        &self.fleet
    }

    /// Family files that can't be read, and releases added to families that don't fit them,
    /// with their problems.
    pub fn family_problems(&self) -> &[(String, Vec<Problem>)] {
        &self.family_problems
    }

    /// The workshop's name.
    pub fn name(&self) -> &str {
        workshop_name(&self.register)
    }

    fn rebuild(&mut self) -> Result<(), WorkshopError> {
        // Every family is read anew.
        self.family_problems.clear();
        let extent = self.store.extent()?;
        let prelude = self.store.prelude()?;
        let mut register = Register::begin(prelude.iter().map(|(stamp, body)| (stamp, body)));
        self.store.for_each(0, |stamp, body| {
            // Read in order, so nothing can ask for a rebuild that would say more.
            let _ = register.fold(&stamp, body);
        })?;
        self.extent = extent;
        self.settle(register)
    }

    /// Reads family files that are new, and views the fleet.
    fn settle(&mut self, mut register: Register) -> Result<(), WorkshopError> {
        let unread = register.unread_families();
        self.family_problems.retain(|(name, _)| unread.iter().all(|(again, _)| again != name));
        for (name, digest) in unread {
            let text = self.store.file(digest)?.map(String::from_utf8);
            let origin = format!("family {name}");
            let problems = if let Some(Ok(text)) = text {
                match read::read(&origin, &text) {
                    Ok(family) => {
                        let (family, problems) = with_releases(&register, &name, family);
                        register.give_family(digest, &Arc::new(family));
                        if !problems.is_empty() {
                            self.family_problems.push((name, problems));
                        }
                        continue;
                    }
                    Err(problems) => problems,
                }
            } else {
                let says = "is missing from the workshop or is no text; add the family file again";
                vec![Problem { origin, line: 0, key: "file".to_owned(), says: says.to_owned() }]
            };
            self.family_problems.push((name, problems));
        }
        self.fleet = Arc::new(Fleet::of(&Scene::new(&register)));
        self.register = Arc::new(register);
        Ok(())
    }

    /// Takes in what another program has written since.
    ///
    /// # Errors
    /// The store can't be read.
    pub fn refresh(&mut self) -> Result<(), WorkshopError> {
        let extent = self.store.extent()?;
        if extent == self.extent {
            return Ok(());
        }
        if extent.erasures != self.extent.erasures {
            return self.rebuild();
        }
        let newer = self.store.newer_than(self.extent.last_row)?;
        self.fold(newer, extent)
    }

    fn fold(
        &mut self,
        entries: Vec<(register::entry::Stamp, Body)>,
        extent: Extent,
    ) -> Result<(), WorkshopError> {
        let mut register = Arc::unwrap_or_clone(std::mem::take(&mut self.register));
        for (stamp, body) in entries {
            if register.fold(&stamp, body) == Folded::Rebuild {
                return self.rebuild();
            }
        }
        self.extent = extent;
        self.settle(register)
    }

    /// Writes entries, and the files they name, and folds them in. When this returns,
    /// they are on the disk.
    ///
    /// # Errors
    /// The store can't be written; then nothing was.
    pub fn record(&mut self, drafts: &[Draft], files: &[Vec<u8>]) -> Result<Vec<Written>, WorkshopError> {
        let drafts: Vec<store::Draft> = drafts
            .iter()
            .map(|draft| store::Draft { seen: draft.seen, subject: draft.subject, body: draft.body.clone() })
            .collect();
        let author = self.author.clone();
        let written = self.store.append(now(), &author, &drafts, files)?;
        // Another program may have written in between: what is new is read back in order.
        self.refresh()?;
        Ok(written)
    }

    /// Records changes as carried out and seen now.
    ///
    /// # Errors
    /// The store can't be written.
    pub fn carry_out(&mut self, changes: &[Change]) -> Result<Vec<Written>, WorkshopError> {
        let seen = now();
        let drafts: Vec<Draft> = changes
            .iter()
            .map(|change| Draft { seen, subject: change.device(), body: change.body(&self.register) })
            .collect();
        self.record(&drafts, &[])
    }

    /// A reading of some facts of one part, naming what it replaces.
    pub fn reading(
        &self,
        device: DeviceId,
        part: Part,
        how: How,
        seen: Moment,
        facts: Vec<(Field, Value)>,
    ) -> Draft {
        let fields: Vec<Field> = facts.iter().map(|(field, _)| *field).collect();
        let replaces = self
            .register
            .device(device)
            .map(|known| known.standing(&part, fields.iter().copied()))
            .unwrap_or_default();
        Draft { seen, subject: device, body: Body::Reading { part, how, facts, replaces } }
    }

    /// A further device, with facts of the whole.
    pub fn new_device(&self, sort: Sort, facts: Vec<(Field, Value)>) -> (DeviceId, Vec<Draft>) {
        let (id, seen) = (new_device_id(), now());
        let mut drafts = vec![Draft { seen, subject: id, body: Body::Device { sort } }];
        if !facts.is_empty() {
            drafts.push(self.reading(id, Part::Whole, How::Seen, seen, facts));
        }
        (id, drafts)
    }

    /// The fingerprint of a link secret under this machine's key.
    ///
    /// # Errors
    /// The key folder can't be made or read.
    pub fn fingerprint(&mut self, secret: &SecretText) -> Result<SecretMark, WorkshopError> {
        Ok(self.keys()?.fingerprint(secret))
    }

    /// The keys of this machine, opened (and made) when they are first wanted.
    ///
    /// # Errors
    /// The key folder can't be made or read.
    pub fn keys(&mut self) -> Result<&Keys, WorkshopError> {
        let keys = if let Some(keys) = self.keys.take() {
            keys
        } else {
            let mut keys = Keys::open(&self.keys_at)?;
            if let Some(id) = self.newest_key() {
                keys.prefer(id);
            }
            keys
        };
        Ok(self.keys.insert(keys))
    }

    /// The key of the newest fingerprint that is written down: of a device, in a wish of a refit,
    /// or of a guest's gear in a fault trail.
    fn newest_key(&self) -> Option<u64> {
        let print = |mark: &SecretMark| match mark {
            SecretMark::Print { key, .. } => Some(*key),
            _ => None,
        };
        let value = |value: &Value| match value {
            Value::Secret(mark) => print(mark),
            _ => None,
        };
        let ends = self.register.devices().iter().flat_map(|device| device.ends.values());
        let of_ends = ends
            .flat_map(|end| end.facts.of(Field::Secret))
            .filter_map(|reading| Some((reading.clock, value(&reading.value)?)));
        let of_refits = self.register.refits().iter().flat_map(|log| {
            let begun = (log.begun.clock, log.begun.what.wishes.as_slice());
            let planned = log.events.iter().filter_map(|mark| match &mark.what {
                refit::Event::Planned { wishes, .. } => Some((mark.clock, wishes.as_slice())),
                _ => None,
            });
            std::iter::once(begun).chain(planned)
        });
        let of_refits = of_refits.flat_map(|(clock, wishes)| {
            wishes.iter().filter_map(move |wish| match wish {
                refit::Wish::Secret { mark, .. } => Some((clock, print(mark)?)),
                _ => None,
            })
        });
        let of_trails = self.register.trails().iter().flat_map(|log| {
            let begun = (log.begun.clock, log.begun.what.facts.as_slice());
            let events = log.events.iter().filter_map(|mark| match &mark.what {
                trail::Event::Answered { facts, .. } | trail::Event::Tried { facts, .. } => {
                    Some((mark.clock, facts.as_slice()))
                }
                _ => None,
            });
            std::iter::once(begun).chain(events)
        });
        let of_trails = of_trails.flat_map(|(clock, facts)| {
            facts.iter().filter_map(move |(_, _, told)| Some((clock, value(told)?)))
        });
        of_ends.chain(of_refits).chain(of_trails).max().map(|(_, key)| key)
    }

    /// Adds a family file; the workshop uses it from now on.
    ///
    /// # Errors
    /// The store can't be written.
    pub fn add_family(&mut self, family: &Family, text: &str) -> Result<(), WorkshopError> {
        let draft = Draft {
            seen: now(),
            subject: DeviceId::WORKSHOP,
            body: Body::Family { name: family.name.clone(), file: wire::digest(text.as_bytes()) },
        };
        self.record(&[draft], &[text.as_bytes().to_vec()]).map(|_| ())
    }

    /// Reads a text of releases that is to be added to a family.
    ///
    /// # Errors
    /// What is wrong, a line each: the workshop has no such family, or the text doesn't fit it.
    pub fn read_releases(&self, family: &str, text: &str) -> Result<Releases, Vec<String>> {
        let digest = self.register.families().find(|(name, _)| *name == family).map(|(_, used)| used.file);
        // The file itself is what they must fit, not what was added to it before.
        let file = digest.and_then(|digest| self.store.file(digest).ok().flatten());
        let read = file.and_then(|bytes| String::from_utf8(bytes).ok());
        let Some(read) = read.and_then(|text| read::read(family, &text).ok()) else {
            let says = "the workshop has no link family of that name that can be read; `families` lists them";
            return Err(vec![says.to_owned()]);
        };
        let origin = format!("releases of {}", read.name);
        release::read_releases_for(&origin, text, &read)
            .map_err(|problems| problems.iter().map(ToString::to_string).collect())
    }

    /// Sets a setting; `None` returns to the default.
    ///
    /// # Errors
    /// The store can't be written.
    pub fn set(&mut self, key: &str, value: Option<&str>) -> Result<(), WorkshopError> {
        let body = Body::Setting { key: key.to_owned(), value: value.map(str::to_owned) };
        self.record(&[Draft { seen: now(), subject: DeviceId::WORKSHOP, body }], &[]).map(|_| ())
    }
}

/// A family with the releases that the workshop adds to it. A text of them that doesn't fit
/// leaves the family as it is; what is wrong with it is given beside.
fn with_releases(register: &Register, name: &str, family: Family) -> (Family, Vec<Problem>) {
    let Some(text) = register.setting(&release::setting_of(name)) else {
        return (family, Vec::new());
    };
    let origin = format!("releases of {}", family.name);
    match release::read_releases_for(&origin, text, &family) {
        Ok(more) => (family.with_releases(&more), Vec::new()),
        Err(problems) => (family, problems),
    }
}

/// The name that a workshop has given itself.
pub fn workshop_name(register: &Register) -> &str {
    register.setting("name").unwrap_or("Workshop")
}

/// The text of a starter or demo family file by its file name.
pub fn shipped_family(file_name: &str) -> Option<&'static str> {
    shipped::starters()
        .iter()
        .chain(shipped::demo_families())
        .find(|(name, _)| *name == file_name)
        .map(|(_, text)| *text)
}
