//! From one row's cells to facts, and from rows to devices.

mod place;

use std::collections::HashMap;

use register::field::{Field, How, Part, Sort};
use register::id::DeviceId;
use register::time::Moment;

use super::mapping::Target;
use super::unguarded;
use crate::inventory::{self, BadRow, END_FIELDS, Inventory, Origin, Said, check_text, fields_of, said};

/// How many facts one part of a device may get from a list.
const MOST_FACTS: usize = 1_000;

/// One row as the reader hands it over.
pub(super) struct Cells<'a> {
    pub record: &'a ::csv::StringRecord,
    pub row: u64,
    pub line: u64,
}

/// What a row is about.
#[derive(Clone, Copy, PartialEq, Eq)]
enum RowSort {
    Device(Sort),
    /// A model memory of the transmitter in the `of` column.
    Memory,
    /// An end of the device in the `of` column.
    End(Sort),
}

/// A problem with one cell of a row, or (column 0 cells in) with the row.
struct Wrong {
    column: Option<usize>,
    says: String,
}

impl Wrong {
    fn row(says: impl Into<String>) -> Wrong {
        Wrong { column: None, says: says.into() }
    }
}

/// A row understood, yet to be put with its device.
struct Parsed {
    row: u64,
    line: u64,
    sort: Sort,
    id: Option<DeviceId>,
    code: Option<String>,
    name: Option<String>,
    /// For memories and further ends: what the row calls its device.
    of: Option<String>,
    /// The part that the row is about.
    part: Part,
    facts: Vec<(Part, Field, Said)>,
    how: Option<How>,
    seen: Option<Moment>,
    beside: bool,
}

/// Items by what names them.
#[derive(Default)]
struct Index {
    ids: HashMap<DeviceId, usize>,
    codes: HashMap<(Sort, String), usize>,
    names: HashMap<(Sort, String), Vec<usize>>,
    of: HashMap<(Sort, String), usize>,
}

/// Gathers rows into an inventory.
pub(super) struct Builder {
    names: Vec<String>,
    targets: Vec<Target>,
    /// The column of each target.
    columns: Vec<Option<usize>>,
    rows: Option<Sort>,
    has_decimal_commas: bool,
    inventory: Inventory,
    index: Index,
    /// The row that first spoke of a part, by how and when it was seen.
    stated: HashMap<(usize, Part, Option<How>, Option<Moment>), u64>,
    later: Vec<Parsed>,
    bad: Vec<BadRow>,
}

impl Builder {
    pub(super) fn new(
        names: Vec<String>,
        targets: Vec<Target>,
        rows: Option<Sort>,
        delimiter: u8,
    ) -> Builder {
        let mut columns = vec![None; Target::ALL.len()];
        for (i, target) in targets.iter().enumerate() {
            if *target != Target::Ignore {
                columns[*target as usize] = Some(i);
            }
        }
        let mut inventory = Inventory::default();
        for target in Target::ALL {
            if let (Some(field), Some(i)) = (target.field(), columns[*target as usize]) {
                inventory.columns.push((field, names[i].clone()));
            }
        }
        Builder {
            names,
            targets,
            columns,
            rows,
            has_decimal_commas: delimiter != b',',
            inventory,
            index: Index::default(),
            stated: HashMap::new(),
            later: Vec::new(),
            bad: Vec::new(),
        }
    }

    /// Notes a row that can't be taken.
    pub(super) fn refuse(&mut self, row: u64, line: u64, column: &str, says: impl Into<String>) {
        self.bad.push(BadRow {
            origin: Origin::Csv,
            row,
            line,
            column: column.to_owned(),
            says: says.into(),
        });
    }

    /// Takes a row in.
    pub(super) fn row(&mut self, cells: &Cells<'_>) {
        match self.parse(cells) {
            Ok(parsed) if parsed.of.is_some() => self.later.push(parsed),
            Ok(parsed) => self.place(parsed),
            Err(wrong) => {
                let column = wrong.column.map(|i| self.names[i].clone()).unwrap_or_default();
                self.refuse(cells.row, cells.line, &column, wrong.says);
                if let Ok(RowSort::Device(sort)) = self.sort_of(cells) {
                    for target in [Target::Id, Target::Code, Target::Name] {
                        let name = self.text(cells, target).0.to_lowercase();
                        let is_id = || name.parse::<DeviceId>().is_ok();
                        if !name.is_empty() && (target != Target::Id || is_id()) {
                            self.inventory.lost.insert((sort, name));
                        }
                    }
                }
            }
        }
    }

    /// The inventory, and the rows that can't be taken.
    pub(super) fn finish(mut self) -> (Inventory, Vec<BadRow>) {
        // Memories and further ends may stand above their device's own row.
        for parsed in std::mem::take(&mut self.later) {
            self.place(parsed);
        }
        (self.inventory, self.bad)
    }

    /// A cell's words, and whether they are to be taken word for word.
    fn text<'c>(&self, cells: &Cells<'c>, target: Target) -> (&'c str, bool) {
        let cell = self.columns[target as usize].and_then(|i| cells.record.get(i)).unwrap_or_default();
        if cell.is_empty() { ("", false) } else { unguarded(cell, target.field()) }
    }

    fn wrong(&self, target: Target, says: impl Into<String>) -> Wrong {
        Wrong { column: self.columns[target as usize], says: says.into() }
    }

    fn sort_of(&self, cells: &Cells<'_>) -> Result<RowSort, Wrong> {
        let word = self.text(cells, Target::Sort).0;
        if word.is_empty() {
            return self.rows.map(RowSort::Device).ok_or_else(|| {
                self.wrong(Target::Sort, "is empty; write transmitter, receiver, aircraft or memory")
            });
        }
        sort_word(word).ok_or_else(|| {
            self.wrong(Target::Sort, "is no sort of device; write transmitter, receiver, aircraft or memory")
        })
    }

    fn check_shape(&self, cells: &Cells<'_>) -> Result<(), Wrong> {
        let (have, want) = (cells.record.len(), self.names.len());
        let is_wider = have > want && cells.record.iter().skip(want).any(|cell| !cell.trim().is_empty());
        if have < want || is_wider {
            return Err(Wrong::row(format!(
                "has {have} cells where the header has {want}; look for a missing or an extra separator, or a \
                 quotation mark that is not closed"
            )));
        }
        for (i, (cell, target)) in cells.record.iter().zip(&self.targets).enumerate() {
            if *target != Target::Ignore {
                check_text(target.field(), cell.strip_prefix('\'').unwrap_or(cell))
                    .map_err(|says| Wrong { column: Some(i), says })?;
            }
        }
        Ok(())
    }

    fn parse(&self, cells: &Cells<'_>) -> Result<Parsed, Wrong> {
        self.check_shape(cells)?;
        let row_sort = self.sort_of(cells)?;
        let (how, beside) = self.how(cells)?;
        let seen = match self.text(cells, Target::Seen).0 {
            "" => None,
            text => Some(inventory::seen(text).map_err(|says| self.wrong(Target::Seen, says))?),
        };
        let id = match self.text(cells, Target::Id).0 {
            "" => None,
            text => {
                let says = "is no id; take the id as an export wrote it, or leave the cell empty";
                Some(text.parse().map_err(|_| self.wrong(Target::Id, says))?)
            }
        };
        let filled =
            |target| Some(self.text(cells, target).0).filter(|text| !text.is_empty()).map(str::to_owned);
        let mut parsed = Parsed {
            row: cells.row,
            line: cells.line,
            sort: Sort::Transmitter,
            id,
            code: filled(Target::Code),
            name: filled(Target::Name),
            of: None,
            part: Part::Whole,
            facts: Vec::new(),
            how,
            seen,
            beside,
        };
        match row_sort {
            RowSort::Device(sort) => self.device(cells, sort, &mut parsed)?,
            RowSort::End(sort) => self.end(cells, sort, &mut parsed)?,
            RowSort::Memory => self.memory(cells, &mut parsed)?,
        }
        Ok(parsed)
    }

    fn how(&self, cells: &Cells<'_>) -> Result<(Option<How>, bool), Wrong> {
        let text = self.text(cells, Target::How).0;
        let (text, beside) = match text.rsplit_once(',') {
            Some((text, also)) if also.trim().eq_ignore_ascii_case("also") => (text, true),
            _ => (text, false),
        };
        if text.is_empty() {
            return Ok((None, beside));
        }
        let how = inventory::how(text).map_err(|says| self.wrong(Target::How, says))?;
        Ok((Some(how), beside))
    }

    fn device(&self, cells: &Cells<'_>, sort: Sort, parsed: &mut Parsed) -> Result<(), Wrong> {
        parsed.sort = sort;
        if parsed.id.is_none() && parsed.code.is_none() && parsed.name.is_none() {
            return Err(Wrong::row(
                "has no code and no name; give the device one, so that it can be told apart",
            ));
        }
        let end = self.text(cells, Target::End).0;
        let key = if end.is_empty() { Part::MAIN } else { end };
        if sort == Sort::Aircraft && !end.is_empty() {
            return Err(self.wrong(Target::End, "is filled, but an aircraft has no ends; leave it empty"));
        }
        let mut has_end = !end.is_empty();
        for (target, field, said) in self.facts(cells)? {
            let is_of_end = END_FIELDS.contains(&field);
            let part = if is_of_end { Part::End(key.to_owned()) } else { Part::Whole };
            if !fields_of(sort, &part).contains(&field) {
                return Err(self.wrong(target, misplaced(sort, field)));
            }
            has_end |= is_of_end;
            parsed.facts.push((part, field, said));
        }
        if has_end {
            parsed.part = Part::End(key.to_owned());
        }
        Ok(())
    }

    fn end(&self, cells: &Cells<'_>, sort: Sort, parsed: &mut Parsed) -> Result<(), Wrong> {
        parsed.sort = sort;
        parsed.of = Some(self.of(cells, sort)?);
        let end = self.text(cells, Target::End).0;
        parsed.part = Part::End(if end.is_empty() { Part::MAIN } else { end }.to_owned());
        self.facts_of_part(cells, "an end", parsed)
    }

    fn memory(&self, cells: &Cells<'_>, parsed: &mut Parsed) -> Result<(), Wrong> {
        parsed.of = Some(self.of(cells, Sort::Transmitter)?);
        let key = parsed.code.clone().or_else(|| parsed.name.clone()).ok_or_else(|| {
            Wrong::row("has no code and no name; give the memory its number as code, or its name")
        })?;
        parsed.part = Part::Memory(key);
        let end = self.text(cells, Target::End).0;
        if !end.is_empty()
            && let Some(said) = said(Field::End, end).map_err(|says| self.wrong(Target::End, says))?
        {
            parsed.facts.push((parsed.part.clone(), Field::End, said));
        }
        self.facts_of_part(cells, "a memory", parsed)
    }

    fn of(&self, cells: &Cells<'_>, sort: Sort) -> Result<String, Wrong> {
        match self.text(cells, Target::Of).0 {
            "" => Err(self.wrong(
                Target::Of,
                format!("a row for a memory or an end names its {}; fill the cell", sort.word()),
            )),
            text => Ok(text.to_owned()),
        }
    }

    fn facts_of_part(&self, cells: &Cells<'_>, what: &str, parsed: &mut Parsed) -> Result<(), Wrong> {
        let is_memory = matches!(parsed.part, Part::Memory(_));
        let allowed = fields_of(parsed.sort, &parsed.part);
        for (target, field, said) in self.facts(cells)? {
            // The code is the memory's key; a name without a code is, too.
            if is_memory && (field == Field::Code || field == Field::Name && parsed.code.is_none()) {
                continue;
            }
            if !allowed.contains(&field) {
                return Err(self.wrong(
                    target,
                    format!("is filled, but {what} has no {}; leave it empty", field.label()),
                ));
            }
            parsed.facts.push((parsed.part.clone(), field, said));
        }
        Ok(())
    }

    /// Every fact that the row states, but for the end.
    fn facts(&self, cells: &Cells<'_>) -> Result<Vec<(Target, Field, Said)>, Wrong> {
        let mut facts = Vec::with_capacity(self.targets.len());
        for target in &self.targets {
            let Some(field) = target.field().filter(|field| *field != Field::End) else { continue };
            let (text, is_verbatim) = self.text(cells, *target);
            if text.is_empty() {
                continue;
            }
            let doubtful = matches!(
                field,
                Field::Family
                    | Field::Band
                    | Field::Region
                    | Field::Firmware
                    | Field::ModelId
                    | Field::Aircraft
                    | Field::Partners
            );
            if !is_verbatim && doubtful && text == "?" {
                continue;
            }
            let decimal = field == Field::Band || field == Field::Firmware && self.has_decimal_commas;
            let found = if !is_verbatim && decimal && has_decimal_comma(text) {
                said(field, &with_points(text))
            } else {
                said(field, text)
            };
            if let Some(said) = found.map_err(|says| self.wrong(*target, says))? {
                facts.push((*target, field, said));
            }
        }
        Ok(facts)
    }
}

/// The words people use for what a row is, in lower case.
fn sort_word(word: &str) -> Option<RowSort> {
    let word = word.to_lowercase();
    Some(match word.as_str() {
        "transmitter" | "tx" | "handset" | "radio" | "sender" => RowSort::Device(Sort::Transmitter),
        "receiver" | "rx" | "empfänger" | "empfaenger" => RowSort::Device(Sort::Receiver),
        "aircraft" | "plane" | "aeroplane" | "airplane" | "model" | "glider" | "heli" | "helicopter"
        | "multirotor" | "boat" | "car" | "flugzeug" | "modell" | "segler" | "hubschrauber" => {
            RowSort::Device(Sort::Aircraft)
        }
        "memory" | "model memory" | "modellspeicher" => RowSort::Memory,
        "receiver end" => RowSort::End(Sort::Receiver),
        "transmitter end" => RowSort::End(Sort::Transmitter),
        _ => return None,
    })
}

fn misplaced(sort: Sort, field: Field) -> String {
    let advice = match (sort, field) {
        (Sort::Transmitter, Field::ModelId | Field::Aircraft) => {
            "its model memories have: give each a row of its own (sort `memory`)"
        }
        (Sort::Aircraft, _) if END_FIELDS.contains(&field) => {
            "its receivers have: give each a row of its own"
        }
        _ => "leave it empty",
    };
    let article = if sort == Sort::Aircraft { "an" } else { "a" };
    format!("is filled, but {article} {} has no {}; {advice}", sort.word(), field.label())
}

/// Whether a comma stands between two digits.
pub(super) fn has_decimal_comma(text: &str) -> bool {
    text.as_bytes()
        .windows(3)
        .any(|three| three[1] == b',' && three[0].is_ascii_digit() && three[2].is_ascii_digit())
}

fn with_points(text: &str) -> String {
    let bytes = text.as_bytes();
    text.char_indices()
        .map(|(i, c)| {
            let digit = |at: usize| bytes.get(at).is_some_and(u8::is_ascii_digit);
            if c == ',' && i > 0 && digit(i - 1) && digit(i + 1) { '.' } else { c }
        })
        .collect()
}
