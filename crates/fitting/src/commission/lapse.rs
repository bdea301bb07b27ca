//! What makes a proof lapse: the written table, and everything in the logbook that it speaks of.

use std::sync::LazyLock;

use register::field::Sort;
use register::fit::{FitLog, Part, Proof, Shown, Work};
use register::fleet::Fleet;
use register::id::{DeviceId, EntryId};
use register::register::Register;
use register::scene::Scene;
use register::time::{Clock, DAY_MS, Moment};
use register::view::{self, ReceiverView};

macro_rules! happenings {
    ($( $(#[$doc:meta])* $name:ident = $word:literal; )*) => {
        /// Something that can make a proof lapse.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Happening { $( $(#[$doc])* $name, )* }

        impl Happening {
            /// Every one, in the order of the table.
            pub const ALL: &[Happening] = &[ $( Happening::$name, )* ];

            /// The word in the table and in JSON.
            pub fn word(self) -> &'static str {
                match self { $( Happening::$name => $word, )* }
            }
        }
    };
}

happenings! {
    /// A crash.
    Crash = "crash";
    /// A hard landing.
    HardLanding = "hard_landing";
    /// A receiver came into the aircraft.
    ReceiverIn = "receiver_in";
    /// A receiver left it.
    ReceiverOut = "receiver_out";
    /// A receiver in it was flashed.
    ReceiverFlash = "receiver_flash";
    /// The RF module in play was flashed.
    TransmitterFlash = "transmitter_flash";
    /// The handset was flashed.
    HandsetFlash = "handset_flash";
    /// A receiver in it was paired.
    Pairing = "pairing";
    /// The transmitter got another RF module.
    RfModule = "rf_module";
    /// An antenna was changed or moved.
    Antenna = "antenna";
    /// The motor or its speed controller was changed.
    Motor = "motor";
    /// A servo or its linkage was changed.
    Servo = "servo";
    /// Another pack.
    Pack = "pack";
    /// A pack sits elsewhere.
    PackPlace = "pack_place";
    /// Wires, connectors, switch or regulator.
    Wiring = "wiring";
    /// A model memory.
    Memory = "memory";
    /// The fit's outputs were written anew.
    Outputs = "outputs";
    /// The fit's supply was written anew.
    Supply = "supply";
    /// The fit's failsafe was written anew.
    Failsafe = "failsafe";
    /// The fit's antennas were written anew.
    Antennas = "antennas";
    /// A flying day began.
    FlyingDay = "flying_day";
}

/// One row of the table.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Rule {
    /// What happens.
    pub happening: Happening,
    /// In words.
    pub what: String,
    /// The proofs that lapse by it.
    pub lapses: Vec<Proof>,
    /// Why.
    pub why: String,
    /// Where this comes from.
    pub source: String,
}

/// The table as a file, so that docs and tests read the same.
pub const TABLE: &str = include_str!("../../data/lapses.csv");

static RULES: LazyLock<Vec<Rule>> = LazyLock::new(|| {
    let mut reader = csv::Reader::from_reader(TABLE.as_bytes());
    let rows: Vec<csv::StringRecord> = reader.records().filter_map(Result::ok).collect();
    let row = |happening: &Happening| {
        let cells = rows.iter().find(|cells| cells.get(0) == Some(happening.word()));
        let cell = |at: usize| cells.and_then(|cells| cells.get(at)).unwrap_or_default().to_owned();
        let places = [(2, Proof::Directions), (3, Proof::Failsafe), (4, Proof::Range), (5, Proof::Supply)];
        let lapses =
            places.into_iter().filter(|(at, _)| cell(*at) == "yes").map(|(_, proof)| proof).collect();
        Rule { happening: *happening, what: cell(1), lapses, why: cell(6), source: cell(7) }
    };
    Happening::ALL.iter().map(row).collect()
});

/// The table: which happening lapses which proofs.
pub fn rules() -> &'static [Rule] {
    &RULES
}

/// One row of the table.
pub fn rule(happening: Happening) -> &'static Rule {
    &RULES[happening as usize]
}

/// Something that happened.
#[derive(Clone, Debug, PartialEq)]
pub struct Event {
    /// What.
    pub happening: Happening,
    /// When it was seen.
    pub seen: Moment,
    /// The order of its entry.
    pub clock: Clock,
    /// Its entry; `None` for a day that began by itself.
    pub entry: Option<EntryId>,
    /// In words: `R7 was flashed with 4.1`.
    pub text: String,
    /// What somebody noted with it; on no card.
    pub note: String,
}

/// What a sort of work is, in the table's words.
pub fn of_work(work: Work) -> Happening {
    match work {
        Work::Crash => Happening::Crash,
        Work::HardLanding => Happening::HardLanding,
        Work::Antenna => Happening::Antenna,
        Work::Motor => Happening::Motor,
        Work::Servo => Happening::Servo,
        Work::Pack => Happening::Pack,
        Work::PackPlace => Happening::PackPlace,
        Work::Wiring => Happening::Wiring,
        Work::RfModule => Happening::RfModule,
        Work::Memory => Happening::Memory,
        Work::FlyingDay => Happening::FlyingDay,
    }
}

fn of_part(part: Part) -> Happening {
    match part {
        Part::Outputs => Happening::Outputs,
        Part::Supply => Happening::Supply,
        Part::Failsafe => Happening::Failsafe,
        Part::Antennas => Happening::Antennas,
    }
}

/// Whether such work can be done on such a device; `None` stands for the workshop as a whole.
pub fn may(work: Work, sort: Option<Sort>) -> bool {
    match sort {
        None => work == Work::FlyingDay,
        Some(Sort::Aircraft) => !matches!(work, Work::RfModule | Work::Memory),
        Some(Sort::Receiver) => matches!(work, Work::Antenna | Work::Wiring | Work::Pack | Work::Crash),
        Some(Sort::Transmitter) => {
            matches!(work, Work::Antenna | Work::RfModule | Work::Memory | Work::Pack | Work::Crash)
        }
    }
}

/// The row of the table for such work on such a device; `None` where it lapses nothing there: a
/// transmitter's own pack feeds no receiver. `None` as a sort stands for the workshop as a whole.
pub fn rule_of(work: Work, sort: Option<Sort>) -> Option<&'static Rule> {
    let counts = match sort {
        Some(Sort::Transmitter) => of_a_transmitter(work),
        _ => may(work, sort),
    };
    counts.then(|| rule(of_work(work)))
}

/// Work on a transmitter that is about its links.
fn of_a_transmitter(work: Work) -> bool {
    matches!(work, Work::Antenna | Work::RfModule | Work::Memory)
}

/// Moments are put into days by this: minutes that the workshop's clock is before UTC.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct DayRule {
    /// Minutes east of UTC.
    pub offset_minutes: i32,
}

/// The setting that says how many hours the workshop's clock is before UTC.
pub const DAY_SETTING: &str = "commission.utc_offset_hours";

impl DayRule {
    /// The rule of a workshop: its setting, else UTC.
    pub fn of(register: &Register) -> DayRule {
        let hours = register.setting(DAY_SETTING).and_then(|text| text.trim().parse::<f64>().ok());
        let hours = hours.filter(|hours| hours.abs() <= 14.0).unwrap_or(0.0);
        #[expect(clippy::cast_possible_truncation, reason = "at most 840")]
        let offset_minutes = (hours * 60.0).round() as i32;
        DayRule { offset_minutes }
    }

    /// The number of a moment's day.
    pub fn day(self, at: Moment) -> i64 {
        at.0.saturating_add(i64::from(self.offset_minutes) * 60_000).div_euclid(DAY_MS)
    }

    /// When the day of a moment began.
    fn begins(self, at: Moment) -> Moment {
        Moment(self.day(at).saturating_mul(DAY_MS).saturating_sub(i64::from(self.offset_minutes) * 60_000))
    }
}

struct Collector<'a> {
    scene: &'a Scene<'a>,
    events: Vec<Event>,
}

impl Collector<'_> {
    fn add(&mut self, happening: Happening, at: (Moment, Clock, EntryId), text: String) {
        let (seen, clock, entry) = at;
        self.events.push(Event { happening, seen, clock, entry: Some(entry), text, note: String::new() });
    }

    fn label(&self, id: DeviceId) -> String {
        self.scene.device(id).map_or_else(|| "a device".to_owned(), |device| view::card(device).label())
    }

    fn works(&mut self, id: DeviceId, log: &FitLog, is_counted: impl Fn(Work) -> bool) {
        let name = self.label(id);
        for mark in log.works.iter().filter(|mark| is_counted(mark.what.what)) {
            self.events.push(Event {
                happening: of_work(mark.what.what),
                seen: mark.seen,
                clock: mark.clock,
                entry: Some(mark.entry),
                text: format!("{}, noted on {name}", mark.what.what.label()),
                note: mark.what.note.clone(),
            });
        }
    }

    fn aircraft(&mut self, id: DeviceId, log: &FitLog) {
        let name = self.label(id);
        self.works(id, log, |_| true);
        for mark in &log.changes {
            let text = format!("the {} of {name} were written anew", mark.what.label());
            self.add(of_part(mark.what), (mark.seen, mark.clock, mark.entry), text);
        }
        for mark in &log.shown {
            let (happening, text) = match &mark.what {
                Shown::ReceiverIn(one) => {
                    (Happening::ReceiverIn, format!("{} was fitted in {name}", self.label(*one)))
                }
                Shown::ReceiverOut(one) => {
                    (Happening::ReceiverOut, format!("{} was taken out of {name}", self.label(*one)))
                }
                Shown::Crashed => (Happening::Crash, format!("{name} was read to have crashed")),
                Shown::PackChanged => (Happening::Pack, format!("{name} has another pack")),
                Shown::AntennaChanged(_) => (Happening::Antenna, format!("{name} has another antenna")),
                // An aircraft has no firmware of its own.
                Shown::FirmwareChanged(_) | Shown::HandsetChanged | Shown::MemoryEndChanged(_) => continue,
            };
            self.add(happening, (mark.seen, mark.clock, mark.entry), text);
        }
    }

    /// Flashes of ends, as recorded and as readings show.
    fn flashes(&mut self, id: DeviceId, ends: Option<&[String]>, happening: Happening) {
        let Some(device) = self.scene.device(id) else { return };
        let name = self.label(id);
        let counts = |end: &str| ends.is_none_or(|ends| ends.iter().any(|one| one == end));
        for (_, end) in device.ends.iter().filter(|(key, _)| counts(key)) {
            for flash in &end.flashes {
                let text = format!("{name} was flashed with {}", flash.version);
                self.add(happening, (flash.seen, flash.clock, flash.entry), text);
            }
        }
        let Some(log) = self.scene.register.fit(id) else { return };
        for mark in &log.shown {
            if let Shown::FirmwareChanged(end) = &mark.what
                && counts(end)
            {
                let text = format!("{name} was read to hold another firmware");
                self.add(happening, (mark.seen, mark.clock, mark.entry), text);
            }
        }
    }

    fn receiver(&mut self, view: &ReceiverView) {
        let id = view.card.id;
        let name = self.label(id);
        self.flashes(id, None, Happening::ReceiverFlash);
        let Some(device) = self.scene.device(id) else { return };
        for end in device.ends.values() {
            for pairing in &end.pairings {
                let with = self.label(pairing.transmitter.device);
                let text = format!("{name} was paired with {with}");
                self.add(Happening::Pairing, (pairing.seen, pairing.clock, pairing.entry), text);
            }
        }
        let Some(log) = self.scene.register.fit(id) else { return };
        self.works(id, log, |work| may(work, Some(Sort::Receiver)));
        for mark in &log.shown {
            let (happening, text) = match &mark.what {
                Shown::PackChanged => (Happening::Pack, format!("{name} has another pack")),
                Shown::AntennaChanged(_) => (Happening::Antenna, format!("{name} has another antenna")),
                _ => continue,
            };
            self.add(happening, (mark.seen, mark.clock, mark.entry), text);
        }
    }

    /// `memories` are those that fly the aircraft.
    fn transmitter(&mut self, id: DeviceId, ends: &[String], memories: &[&str]) {
        self.flashes(id, Some(ends), Happening::TransmitterFlash);
        let Some(log) = self.scene.register.fit(id) else { return };
        let name = self.label(id);
        // Its own pack feeds no receiver.
        self.works(id, log, of_a_transmitter);
        for mark in &log.shown {
            let (happening, text) = match &mark.what {
                Shown::HandsetChanged => {
                    (Happening::HandsetFlash, format!("{name} was read to hold another handset firmware"))
                }
                Shown::AntennaChanged(end) if ends.contains(end) => {
                    (Happening::Antenna, format!("{name} has another antenna"))
                }
                Shown::MemoryEndChanged(memory) if memories.contains(&memory.as_str()) => (
                    Happening::RfModule,
                    format!("{name}'s model memory {memory} was read to choose another RF module"),
                ),
                _ => continue,
            };
            self.add(happening, (mark.seen, mark.clock, mark.entry), text);
        }
    }
}

/// Everything that happened to an aircraft with a transmitter, in the order of time. `ends` are the
/// transmitter's ends that its receivers listen to.
pub fn events(
    scene: &Scene,
    fleet: &Fleet,
    aircraft: DeviceId,
    transmitter: Option<(DeviceId, &[String])>,
    now: Moment,
) -> Vec<Event> {
    let mut all = Collector { scene, events: Vec::new() };
    if let Some(log) = scene.register.fit(aircraft) {
        all.aircraft(aircraft, log);
    }
    for receiver in fleet.fitted_in(aircraft) {
        all.receiver(receiver);
    }
    if let Some((id, ends)) = transmitter {
        let memories = fleet.transmitter(id).map(|view| view.memories.as_slice()).unwrap_or_default();
        let flying: Vec<&str> = memories
            .iter()
            .filter(|memory| memory.flies(aircraft))
            .map(|memory| memory.key.as_str())
            .collect();
        all.transmitter(id, ends, &flying);
    }
    if let Some(log) = scene.register.fit(DeviceId::WORKSHOP) {
        for mark in log.works.iter().filter(|mark| mark.what.what == Work::FlyingDay) {
            let text = "a flying day began".to_owned();
            all.add(Happening::FlyingDay, (mark.seen, mark.clock, mark.entry), text);
        }
    }
    let begins = DayRule::of(scene.register).begins(now);
    all.events.push(Event {
        happening: Happening::FlyingDay,
        seen: begins,
        clock: Clock::ZERO,
        entry: None,
        text: "it was on an earlier day".to_owned(),
        note: String::new(),
    });
    all.events.sort_by_key(|event| (event.seen, event.clock, event.entry));
    all.events
}
