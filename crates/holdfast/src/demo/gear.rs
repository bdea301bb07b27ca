//! The shapes of the demo's tables.

use register::value::Value;

/// What somebody knows of a link secret.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Word {
    /// Nobody looked.
    Never,
    /// Seen to be blank.
    Blank,
    /// The club's word, typed in.
    Club,
    /// The word of a former owner, typed in.
    Former,
    /// Told to be the same as that of another end: code and end.
    ToldSameAs(&'static str, &'static str),
}

/// What somebody knows of a model ID.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Id {
    /// Nobody looked.
    Never,
    /// The check is off.
    Off,
    /// The number.
    Number(u32),
}

impl Id {
    /// The value to write down, where there is one.
    pub(super) fn value(self) -> Option<Value> {
        match self {
            Id::Never => None,
            Id::Off => Some(Value::Off),
            Id::Number(number) => Some(Value::Number(number)),
        }
    }
}

/// One end; an empty text is a fact that nobody looked at.
#[derive(Clone, Copy, Debug)]
pub(super) struct End {
    pub(super) key: &'static str,
    pub(super) family: &'static str,
    pub(super) band: &'static str,
    pub(super) region: &'static str,
    pub(super) firmware: &'static str,
    pub(super) word: Word,
    pub(super) id: Id,
}

impl End {
    /// The same end under a key of its own, for a device with several.
    pub(super) const fn called(self, key: &'static str) -> End {
        End { key, ..self }
    }

    /// The same end in another region variant.
    pub(super) const fn of_region(self, region: &'static str) -> End {
        End { region, ..self }
    }
}

/// A Whimbrel end in the EU variant.
pub(super) const fn whimbrel(band: &'static str, firmware: &'static str, word: Word, id: Id) -> End {
    End { key: "main", family: "Whimbrel", band, region: "EU", firmware, word, id }
}

/// A Plover end; that family has one band, no regions and no secrets.
pub(super) const fn plover(firmware: &'static str, id: Id) -> End {
    End { key: "main", family: "Plover", band: "2.4 GHz", region: "", firmware, word: Word::Never, id }
}

/// An end of the old Dunlin sets, for which the club has no family file.
pub(super) const fn dunlin(firmware: &'static str) -> End {
    let (region, word, id) = ("", Word::Never, Id::Never);
    End { key: "main", family: "Dunlin", band: "2.4 GHz", region, firmware, word, id }
}

/// A model memory: its key, the end it chooses, its model ID and the aircraft it flies.
#[derive(Clone, Copy, Debug)]
pub(super) struct Memory(
    pub(super) &'static str,
    pub(super) &'static str,
    pub(super) Id,
    pub(super) &'static str,
);

/// Whom a device's table row is about, and since when (days ago).
#[derive(Clone, Copy, Debug)]
pub(super) struct Row {
    pub(super) code: &'static str,
    pub(super) entered: i64,
    /// When its settings were last looked at.
    pub(super) looked: i64,
    pub(super) note: &'static str,
}

/// A row of a table.
pub(super) const fn row(code: &'static str, entered: i64, looked: i64, note: &'static str) -> Row {
    Row { code, entered, looked, note }
}

/// A transmitter.
#[derive(Clone, Copy, Debug)]
pub(super) struct Transmitter {
    pub(super) row: Row,
    pub(super) name: &'static str,
    pub(super) ends: &'static [End],
    pub(super) memories: &'static [Memory],
}

/// A receiver; one in no aircraft lies on the shelf.
#[derive(Clone, Copy, Debug)]
pub(super) struct Receiver {
    pub(super) row: Row,
    pub(super) model: &'static str,
    pub(super) aircraft: &'static str,
    pub(super) ends: &'static [End],
}

/// An aircraft.
#[derive(Clone, Copy, Debug)]
pub(super) struct Aircraft {
    pub(super) row: Row,
    pub(super) name: &'static str,
    pub(super) craft: &'static str,
}
