//! What each column of a list holds: guessed, settled by a person, remembered.

use std::fmt::Write as _;

use register::field::{Field, Sort};

use super::{Header, Refused};

macro_rules! targets {
    ($( $(#[$doc:meta])* $name:ident = $key:literal, $field:expr, [$($word:literal),*]; )*) => {
        /// What a column can hold.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Target { $( $(#[$doc])* $name, )* }

        impl Target {
            /// Every target, in the order in which an export writes its columns.
            pub const ALL: &[Target] = &[ $( Target::$name, )* ];

            /// The word in mappings and in the header of an export.
            pub fn key(self) -> &'static str {
                match self { $( Target::$name => $key, )* }
            }

            /// The fact that it is, where it is one.
            pub fn field(self) -> Option<Field> {
                match self { $( Target::$name => $field, )* }
            }

            /// What columns of this sort are called in people's lists, in lower case.
            fn words(self) -> &'static [&'static str] {
                match self { $( Target::$name => &[$($word),*], )* }
            }
        }
    };
}

targets! {
    /// Transmitter, receiver, aircraft, memory.
    Sort = "sort", None, ["sort", "what", "device", "device type", "category", "art", "gerät", "geräteart"];
    /// The id of a device, in exports.
    Id = "id", None, ["id"];
    /// The device that a memory's or end's row belongs to.
    Of = "of", None, ["of", "belongs to", "transmitter", "handset of", "sender", "gehört zu"];
    /// The short code.
    Code = "code", Some(Field::Code), ["code", "no", "number", "nr", "label", "tag", "short name", "kürzel", "nummer"];
    /// The name.
    Name = "name", Some(Field::Name), ["name", "title", "called", "bezeichnung", "description", "empfänger", "receiver"];
    /// The maker.
    Maker = "maker", Some(Field::Maker), ["maker", "make", "manufacturer", "brand", "hersteller"];
    /// The type name.
    Model = "model", Some(Field::Model), ["model", "type", "type name", "typ", "product"];
    /// The sort of craft.
    Craft = "craft", Some(Field::Craft), ["craft", "sort of craft", "kind", "aircraft type", "flugzeugtyp"];
    /// Where it is.
    State = "state", Some(Field::State), ["state", "status", "where", "zustand"];
    /// Whose it is.
    Owner = "owner", Some(Field::Owner), ["owner", "whose", "pilot", "besitzer", "eigentümer"];
    /// The aircraft it is in, or flies.
    Aircraft = "aircraft", Some(Field::Aircraft),
        ["aircraft", "in aircraft", "plane", "in plane", "fitted in", "fitted to", "installed in", "mounted in", "in", "airframe",
            "flugzeug", "modell", "eingebaut in"];
    /// The end that the row is about, or that a memory chooses.
    End = "end", Some(Field::End), ["end", "module", "rf module", "radio interface", "modul"];
    /// The link family.
    Family = "family", Some(Field::Family), ["family", "link family", "system", "protocol", "protokoll"];
    /// The band.
    Band = "band", Some(Field::Band), ["band", "frequency", "freq", "frequency band", "frequenz"];
    /// The region variant.
    Region = "region", Some(Field::Region), ["region", "region variant", "variant", "regulatory"];
    /// The firmware version.
    Firmware = "firmware", Some(Field::Firmware), ["firmware", "fw", "version", "firmware version", "software"];
    /// The link secret.
    Secret = "secret", Some(Field::Secret),
        ["secret", "link secret", "phrase", "passphrase", "pass phrase", "key phrase", "geheimnis"];
    /// The model ID.
    ModelId = "model_id", Some(Field::ModelId), ["model id", "modelid", "model number", "modell id"];
    /// The transmitters it remembers.
    PairedWith = "paired_with", Some(Field::Partners),
        ["paired with", "paired to", "pairing", "bound to", "partners", "gepaart mit", "gebunden an"];
    /// The antenna.
    Antenna = "antenna", Some(Field::Antenna), ["antenna", "antennas", "antenne"];
    /// The pack.
    Pack = "pack", Some(Field::Pack), ["pack", "battery", "supply", "akku"];
    /// The firmware of the handset itself.
    Handset = "handset", Some(Field::Handset), ["handset", "handset firmware"];
    /// Other words.
    Note = "note", Some(Field::Note), ["note", "notes", "remark", "remarks", "comment", "comments", "notiz", "bemerkung"];
    /// How it is known.
    How = "how", None, ["how", "how known", "known by", "source", "quelle"];
    /// When it was seen.
    Seen = "seen", None, ["seen", "last seen", "date", "checked", "checked on", "datum", "gesehen"];
    /// Nothing that Holdfast needs: the cells are not looked at.
    Ignore = "ignore", None, [];
}

impl Target {
    /// The target with this word.
    pub fn from_key(key: &str) -> Option<Target> {
        Target::ALL.iter().copied().find(|target| target.key() == key)
    }
}

/// Which column holds what.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Mapping {
    /// Columns by name; those left out are not read.
    pub columns: Vec<(String, Target)>,
    /// What the rows are, where no column says so.
    pub rows: Option<Sort>,
}

fn squashed(name: &str) -> String {
    let spaced: String = name
        .chars()
        .flat_map(char::to_lowercase)
        .map(|c| if c.is_alphanumeric() { c } else { ' ' })
        .collect();
    spaced.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Whether a column's name says that link secrets or other passwords are in it.
pub fn smells_of_secret(name: &str) -> bool {
    squashed(name).split(' ').any(|word| {
        matches!(
            word,
            "pass" | "pin" | "pins" | "passwort" | "kennwort" | "geheimnis" | "password" | "passcode"
        ) || word.contains("secret")
            || word.contains("phrase")
    })
}

/// Guesses what the columns hold by their names, in plain English and some German.
pub fn guess(header: &Header) -> Mapping {
    let names: Vec<String> = header.columns.iter().map(|column| squashed(&column.name)).collect();
    let mut columns: Vec<(String, Target)> = Vec::new();
    let mut taken = [false; 64];
    // Two passes: the best word of each target first, over all columns.
    let most = Target::ALL.iter().map(|target| target.words().len()).max().unwrap_or(0);
    let mut at: Vec<Option<Target>> = vec![None; names.len()];
    for rank in 0..most {
        for target in Target::ALL.iter().copied() {
            let Some(word) = target.words().get(rank) else { continue };
            let slot = &mut taken[target as usize];
            if *slot {
                continue;
            }
            if let Some(i) = (0..names.len()).find(|i| at[*i].is_none() && names[*i] == *word) {
                at[i] = Some(target);
                *slot = true;
            }
        }
    }
    for (column, target) in header.columns.iter().zip(at) {
        if let Some(target) = target {
            columns.push((column.name.clone(), target));
        }
    }
    Mapping { columns, rows: None }
}

impl Mapping {
    /// Checks that the mapping can be used on a list with these columns.
    ///
    /// # Errors
    /// A column that isn't there, two columns for one thing, secrets in plain sight, no
    /// key, or nothing that says what the rows are.
    pub fn check(&self, names: &[String]) -> Result<(), Refused> {
        let mut seen: Vec<(Target, &str)> = Vec::new();
        for (column, target) in self.columns.iter().filter(|(_, target)| *target != Target::Ignore) {
            if !names.contains(column) {
                return Err(Refused::NoColumn { column: column.clone() });
            }
            if let Some((_, one)) = seen.iter().find(|(have, _)| have == target) {
                return Err(Refused::Twice {
                    one: (*one).to_owned(),
                    other: column.clone(),
                    target: target.key(),
                });
            }
            if *target != Target::Secret && smells_of_secret(column) {
                return Err(Refused::ShownSecret { column: column.clone(), target: target.key() });
            }
            seen.push((*target, column));
        }
        let has = |target| seen.iter().any(|(have, _)| *have == target);
        if !has(Target::Code) && !has(Target::Name) && !has(Target::Id) {
            return Err(Refused::NoKey);
        }
        if !has(Target::Sort) && self.rows.is_none() {
            return Err(Refused::NoSort);
        }
        Ok(())
    }

    /// The column mapped to a target.
    pub fn column(&self, target: Target) -> Option<&str> {
        self.columns.iter().find(|(_, have)| *have == target).map(|(column, _)| column.as_str())
    }

    /// A small TOML file, to be kept.
    pub fn to_text(&self) -> String {
        let mut out = String::from("schema = 1\n");
        if let Some(rows) = self.rows {
            out.push_str("rows = ");
            out.push_str(&crate::toml::quoted(rows.word()));
            out.push('\n');
        }
        out.push_str("\n[columns]\n");
        for (column, target) in &self.columns {
            // Writing to a string can't fail.
            let _ = writeln!(out, "{} = \"{}\"", crate::toml::quoted(column), target.key());
        }
        out
    }

    /// Reads what [`Mapping::to_text`] writes.
    ///
    /// # Errors
    /// The text is not such a file, or of a newer schema.
    pub fn from_text(text: &str) -> Result<Mapping, Refused> {
        use ::toml::de::{DeTable, DeValue};
        let bad = || Refused::BadMapping { at: String::new() };
        let root = DeTable::parse(text).map_err(|error| {
            let at = error.span().map_or(0, |span| span.start);
            let line = text.as_bytes().iter().take(at).filter(|byte| **byte == b'\n').count() + 1;
            Refused::BadMapping { at: format!(" (line {line})") }
        })?;
        let root = root.into_inner();
        match root.get("schema").map(::toml::Spanned::get_ref) {
            Some(DeValue::Integer(number)) if number.as_str() == "1" => {}
            _ => return Err(bad()),
        }
        let rows = match root.get("rows").map(::toml::Spanned::get_ref) {
            None => None,
            Some(DeValue::String(word)) => Some(Sort::from_word(word).ok_or_else(bad)?),
            Some(_) => return Err(bad()),
        };
        let Some(DeValue::Table(table)) = root.get("columns").map(::toml::Spanned::get_ref) else {
            return Err(bad());
        };
        let mut columns: Vec<(usize, String, Target)> = Vec::new();
        for (name, target) in table {
            let DeValue::String(key) = target.get_ref() else { return Err(bad()) };
            let target = Target::from_key(key).ok_or_else(bad)?;
            columns.push((name.span().start, name.get_ref().to_string(), target));
        }
        columns.sort_by_key(|(at, _, _)| *at);
        Ok(Mapping { columns: columns.into_iter().map(|(_, name, target)| (name, target)).collect(), rows })
    }
}
