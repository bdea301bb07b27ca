//! Writing the demo's tables down as logbook entries, in the order in which the invented
//! club would have written them.

use std::collections::BTreeMap;

use register::entry::{Body, Draft};
use register::field::{Field, How, Part, Sort};
use register::fit::{Fitted, Proved, Signed, Worked};
use register::id::DeviceId;
use register::time::{DAY_MS, Moment};
use register::value::{EndRef, SecretMark, Value};
use store::Store;
use store::keys::SecretText;
use uuid::{NoContext, Timestamp, Uuid};

use super::club::{AIRCRAFT, TRANSMITTERS};
use super::fits::{FITTED, PROVEN, SIGNED, WORKED};
use super::gear::{End, Row, Word};
use super::history::{CLASH, FLASHED, FUTURE, NOTED, PAIRED, SAID, STRUCK, TWICE};
use super::receivers::RECEIVERS;
use crate::workshop::{Workshop, WorkshopError, now as clock};

type Facts = Vec<(Field, Value)>;

fn text(words: &str) -> Value {
    Value::Text(words.to_owned())
}

fn end_part(key: &str) -> Part {
    Part::End(key.to_owned())
}

/// The demo being written.
pub(super) struct Book<'a> {
    workshop: &'a mut Workshop,
    now: Moment,
    ids: BTreeMap<&'static str, DeviceId>,
    drafts: Vec<Draft>,
    club_word: SecretMark,
    former_word: SecretMark,
}

impl<'a> Book<'a> {
    /// Begins to write.
    ///
    /// # Errors
    /// The folder of keys can't be made.
    pub(super) fn new(workshop: &'a mut Workshop, now: Moment) -> Result<Book<'a>, WorkshopError> {
        let [club, former] = super::SECRETS;
        let club_word = workshop.fingerprint(&SecretText::new(club))?;
        let former_word = workshop.fingerprint(&SecretText::new(former))?;
        let codes = TRANSMITTERS.iter().map(|one| one.row.code);
        let codes = codes.chain(RECEIVERS.iter().map(|one| one.row.code));
        let codes = codes.chain(AIRCRAFT.iter().map(|one| one.row.code));
        // A millisecond apart, so that ids keep the order of the tables and ties among
        // equals fall the same way in every demo.
        let ids = codes.zip(0..).map(|(code, at)| (code, new_id(now, at))).collect();
        Ok(Book { workshop, now, ids, drafts: Vec::new(), club_word, former_word })
    }

    fn ago(&self, days: i64) -> Moment {
        Moment(self.now.0.saturating_sub(days * DAY_MS))
    }

    /// The device with this code; a test sees that every code in the tables is a row's.
    fn id(&self, code: &str) -> DeviceId {
        self.ids.get(code).copied().unwrap_or(DeviceId::WORKSHOP)
    }

    fn flush(&mut self) -> Result<(), WorkshopError> {
        let drafts = std::mem::take(&mut self.drafts);
        self.workshop.record(&drafts, &[]).map(|_| ())
    }

    fn push(&mut self, days: i64, code: &str, body: Body) {
        self.drafts.push(Draft { seen: self.ago(days), subject: self.id(code), body });
    }

    fn read(&mut self, days: i64, code: &str, part: Part, how: How, facts: Facts) {
        if !facts.is_empty() {
            let draft = self.workshop.reading(self.id(code), part, how, self.ago(days), facts);
            self.drafts.push(draft);
        }
    }

    /// Every device as it was first entered.
    pub(super) fn enter(&mut self) -> Result<(), WorkshopError> {
        for one in TRANSMITTERS {
            self.device(one.row, Sort::Transmitter, vec![(Field::Name, text(one.name))]);
            for end in one.ends {
                self.end(one.row, end);
            }
            for memory in one.memories {
                let flies = AIRCRAFT.iter().find(|craft| craft.row.code == memory.3);
                let name = flies.map_or(memory.3, |craft| craft.name);
                let mut facts = vec![
                    (Field::Name, text(name)),
                    (Field::End, text(memory.1)),
                    (Field::Aircraft, Value::Device(self.id(memory.3))),
                ];
                facts.extend(memory.2.value().map(|id| (Field::ModelId, id)));
                // A memory is as old as the younger of handset and aircraft.
                let days = flies.map_or(one.row.entered, |craft| craft.row.entered.min(one.row.entered));
                self.read(days, one.row.code, Part::Memory(memory.0.to_owned()), How::Seen, facts);
            }
        }
        for one in RECEIVERS {
            let mut facts = vec![(Field::Model, text(one.model))];
            if one.aircraft.is_empty() {
                facts.extend([(Field::State, text("shelf")), (Field::Aircraft, Value::None)]);
            } else {
                facts.push((Field::Aircraft, Value::Device(self.id(one.aircraft))));
            }
            self.device(one.row, Sort::Receiver, facts);
            for end in one.ends {
                self.end(one.row, end);
            }
        }
        for one in AIRCRAFT {
            let facts = vec![(Field::Name, text(one.name)), (Field::Craft, text(one.craft))];
            self.device(one.row, Sort::Aircraft, facts);
        }
        self.flush()
    }

    /// How some aircraft are fitted out, what was proven on them and what befell them, in the order
    /// of time.
    pub(super) fn commission(&mut self) -> Result<(), WorkshopError> {
        let mut all: Vec<(i64, &str, Body)> = Vec::new();
        for (days, code, part, text) in FITTED {
            let fitted = Fitted { part: *part, text: (*text).to_owned(), replaces: Vec::new() };
            all.push((*days, code, Body::Fitted(fitted)));
        }
        for one in PROVEN {
            let transmitter = (!one.transmitter.is_empty()).then(|| self.id(one.transmitter));
            let measured = one.measured.iter().map(|(key, value)| ((*key).to_owned(), *value)).collect();
            let proved = Proved {
                proof: one.proof,
                transmitter,
                held: one.held,
                steps: Vec::new(),
                measured,
                note: one.note.to_owned(),
            };
            all.push((one.days, one.code, Body::Proved(proved)));
        }
        for (days, code, what, note) in WORKED {
            all.push((*days, code, Body::Worked(Worked { what: *what, note: (*note).to_owned() })));
        }
        let (days, code, transmitter) = SIGNED;
        let checked = fitting::commission::About::ALL.map(fitting::commission::About::key).to_vec();
        let signed = Signed {
            transmitter: Some(self.id(transmitter)),
            checked,
            unchecked: Vec::new(),
            note: "After the winter.".to_owned(),
        };
        all.push((days, code, Body::Signed(signed)));
        // The oldest first; of one day as they stand in the tables.
        all.sort_by_key(|(days, _, _)| std::cmp::Reverse(*days));
        for (days, code, body) in all {
            self.push(days, code, body);
        }
        self.flush()
    }

    fn device(&mut self, row: Row, sort: Sort, more: Facts) {
        self.push(row.entered, row.code, Body::Device { sort });
        let note = format!("Invented for the demo. {}", row.note);
        let mut facts = vec![(Field::Code, text(row.code)), (Field::Note, text(&note))];
        facts.extend(more);
        self.read(row.entered, row.code, Part::Whole, How::Seen, facts);
    }

    fn end(&mut self, row: Row, end: &End) {
        let facts = vec![(Field::Family, text(end.family)), (Field::Band, text(end.band))];
        self.read(row.entered, row.code, end_part(end.key), How::Label, facts);
        let before = FLASHED.iter().find(|flash| flash.code == row.code && flash.end == end.key);
        let firmware = before.map_or(end.firmware, |flash| flash.from);
        let facts = self.settings(&End { firmware, ..*end });
        self.read(row.entered, row.code, end_part(end.key), How::Seen, facts);
        if let Word::ToldSameAs(code, key) = end.word {
            let mark = SecretMark::SameAs(self.end_ref(code, key));
            let facts = vec![(Field::Secret, Value::Secret(mark))];
            self.read(row.entered, row.code, end_part(end.key), How::Told, facts);
        }
    }

    fn end_ref(&self, code: &str, key: &str) -> EndRef {
        EndRef { device: self.id(code), end: key.to_owned() }
    }

    /// What the settings pages of an end show.
    fn settings(&self, end: &End) -> Facts {
        let mut facts = Vec::new();
        let texts = [(Field::Region, end.region), (Field::Firmware, end.firmware)];
        facts.extend(texts.iter().filter(|(_, words)| !words.is_empty()).map(|(f, words)| (*f, text(words))));
        let mark = match end.word {
            Word::Never | Word::ToldSameAs(..) => None,
            Word::Blank => Some(SecretMark::Blank),
            Word::Club => Some(self.club_word.clone()),
            Word::Former => Some(self.former_word.clone()),
        };
        facts.extend(mark.map(|mark| (Field::Secret, Value::Secret(mark))));
        facts.extend(end.id.value().map(|id| (Field::ModelId, id)));
        facts
    }

    /// Pairings, and what was flashed before the devices were last looked at.
    pub(super) fn tell_early(&mut self) -> Result<(), WorkshopError> {
        for (days, receiver, transmitter, end) in PAIRED {
            let transmitter = self.end_ref(transmitter, end);
            self.push(*days, receiver, Body::Paired { end: Part::MAIN.to_owned(), transmitter });
        }
        self.flashes(|days, looked| days > looked);
        self.flush()
    }

    fn flashes(&mut self, now: impl Fn(i64, i64) -> bool) {
        for flash in FLASHED {
            let rows = TRANSMITTERS.iter().map(|one| one.row).chain(RECEIVERS.iter().map(|one| one.row));
            let looked = rows.filter(|row| row.code == flash.code).map(|row| row.looked).next();
            if looked.is_some_and(|looked| now(flash.days, looked)) {
                let (end, version, route) =
                    (flash.end.to_owned(), flash.to.to_owned(), flash.route.to_owned());
                self.push(flash.days, flash.code, Body::Flashed { end, version, route });
            }
        }
    }

    /// The round of the bench, in which all settings were looked at again.
    pub(super) fn look(&mut self) -> Result<(), WorkshopError> {
        let transmitters = TRANSMITTERS.iter().map(|one| (one.row, one.ends));
        let receivers = RECEIVERS.iter().map(|one| (one.row, one.ends));
        for (row, ends) in transmitters.chain(receivers).filter(|(row, _)| row.looked < row.entered) {
            for end in ends {
                // What was flashed since is told later; until then it held the old version.
                let since = FLASHED
                    .iter()
                    .find(|flash| flash.code == row.code && flash.end == end.key && flash.days < row.looked);
                let firmware = since.map_or(end.firmware, |flash| flash.from);
                let facts = self.settings(&End { firmware, ..*end });
                self.read(row.looked, row.code, end_part(end.key), How::Seen, facts);
            }
        }
        for one in TRANSMITTERS.iter().filter(|one| one.row.looked < one.row.entered) {
            for memory in one.memories {
                let facts = memory.2.value().map(|id| (Field::ModelId, id)).into_iter().collect();
                let part = Part::Memory(memory.0.to_owned());
                self.read(one.row.looked, one.row.code, part, How::Seen, facts);
            }
        }
        self.flush()
    }

    /// What happened after that round.
    pub(super) fn tell_late(&mut self) -> Result<(), WorkshopError> {
        self.flashes(|days, looked| days < looked);
        for said in SAID {
            self.read(said.days, said.code, said.part(), said.how, vec![(said.field, text(said.text))]);
        }
        for (days, code, words) in NOTED {
            self.push(*days, code, Body::Note { text: (*words).to_owned() });
        }
        self.flush()
    }

    /// Mistakes, and how they were put right; one of them wasn't.
    pub(super) fn set_right(&mut self) -> Result<(), WorkshopError> {
        let main = || end_part(Part::MAIN);
        let (code, version, read, struck) = STRUCK;
        let wrong = vec![(Field::Firmware, text(version))];
        let wrong = self.workshop.reading(self.id(code), main(), How::Seen, self.ago(read), wrong);
        for written in self.workshop.record(&[wrong], &[])? {
            let subject = DeviceId::WORKSHOP;
            let body = Body::Strike { entry: written.stamp.id };
            self.workshop.record(&[Draft { seen: self.ago(struck), subject, body }], &[])?;
        }

        let (code, entered, words, noticed) = TWICE;
        let again = new_id(self.now, i64::try_from(self.ids.len()).unwrap_or(0));
        let seen = self.ago(entered);
        self.drafts.push(Draft { seen, subject: again, body: Body::Device { sort: Sort::Receiver } });
        let facts = vec![(Field::Name, text(words)), (Field::State, text("shelf"))];
        let draft = self.workshop.reading(again, Part::Whole, How::Seen, seen, facts);
        self.drafts.push(draft);
        self.push(noticed, code, Body::SameAs { other: again });

        let (code, days) = FUTURE;
        let held = RECEIVERS.iter().find(|one| one.row.code == code).map(|one| one.ends);
        let id = held.and_then(|ends| ends.first()).and_then(|end| end.id.value());
        self.read(-days, code, main(), How::Seen, id.map(|id| (Field::ModelId, id)).into_iter().collect());
        self.flush()
    }

    /// A club mate's copy of the workshop, on which another firmware was read than here
    /// at the same time; then both copies become one.
    pub(super) fn merge_a_second_copy(&mut self) -> Result<(), WorkshopError> {
        let (code, (here, here_days), (there, there_days)) = CLASH;
        let reading = |book: &Book, version: &str, days: i64| {
            let facts = vec![(Field::Firmware, text(version))];
            book.workshop.reading(book.id(code), end_part(Part::MAIN), How::Seen, book.ago(days), facts)
        };
        let (ours, theirs) = (reading(self, here, here_days), reading(self, there, there_days));
        let mut copy = Store::in_memory()?;
        copy.merge_store(&self.workshop.store)?;
        let theirs = store::Draft { seen: theirs.seen, subject: theirs.subject, body: theirs.body };
        copy.append(clock(), "a second helper (invented)", &[theirs], &[])?;
        self.workshop.record(&[ours], &[])?;
        self.workshop.store.merge_store(&copy)?;
        self.workshop.refresh()
    }
}

fn new_id(now: Moment, at: i64) -> DeviceId {
    let ms = u64::try_from(now.0.saturating_add(at)).unwrap_or(0);
    // Below 1000, so it fits.
    let nanos = u32::try_from(ms % 1000).unwrap_or(0) * 1_000_000;
    DeviceId(Uuid::new_v7(Timestamp::from_unix(NoContext, ms / 1000, nanos)).as_u128())
}
