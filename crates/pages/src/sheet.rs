//! What pages are given, where the engine's own answer types don't say it.

use register::entry::{Body, Stamp};
use register::field::{Field, Part, Sort};
use register::id::EntryId;
use register::mend::Step;
use register::rule::{Rule, Verdict};
use register::time::Moment;
use register::verdict::Link;
use register::view::Card;
use units::Minutes;

/// One cord of the drawing: a link between a transmitter and a receiver.
#[derive(Clone, Debug, PartialEq)]
pub struct Cord {
    /// The transmitter.
    pub transmitter: Card,
    /// The receiver.
    pub receiver: Card,
    /// The aircraft it is in.
    pub aircraft: Option<Card>,
    /// The verdict.
    pub verdict: Verdict,
    /// Why, in a sentence; may be empty.
    pub text: String,
}

impl Cord {
    /// The cord of a link: its text is that of the first finding that decides.
    pub fn of(link: &Link) -> Cord {
        let worst = link.findings.iter().map(|finding| finding.status).max();
        Cord {
            transmitter: link.transmitter.clone(),
            receiver: link.receiver.clone(),
            aircraft: link.aircraft.clone(),
            verdict: link.verdict(),
            text: match link.verdict() {
                Verdict::Links => String::new(),
                _ => link
                    .findings
                    .iter()
                    .find(|finding| Some(finding.status) == worst)
                    .map(|finding| finding.text.clone())
                    .unwrap_or_default(),
            },
        }
    }
}

/// The filters of `/links` and `/matrix`, as they stand in the query.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct LinksQuery {
    /// `verdict=links|unknown|blocked`.
    pub verdict: Option<Verdict>,
    /// `rule=`: a rule's word; links that this rule breaks (with `verdict=unknown`: that
    /// it leaves open; with `verdict=links`: no meaning).
    pub rule: Option<Rule>,
    /// `transmitter=`: code, name or id, as typed.
    pub transmitter: String,
    /// `receiver=`: likewise.
    pub receiver: String,
    /// `aircraft=`: likewise.
    pub aircraft: String,
    /// `family=`: a name.
    pub family: String,
    /// `wanted=1`: only links that are meant to hold.
    pub wanted: bool,
    /// `page=`, from 1.
    pub page: u64,
}

/// A page of links.
#[derive(Clone, Debug)]
pub struct LinksSheet<'a> {
    /// The filters.
    pub query: LinksQuery,
    /// How many links the filters take in all.
    pub total: u64,
    /// How many links there are without filters.
    pub of_all: u64,
    /// By verdict, without filters: links, unknown, blocked.
    pub by_verdict: [u64; 3],
    /// Those of this page.
    pub links: &'a [Link],
    /// How many a page holds.
    pub per_page: u64,
    /// The families that links are reported under, for the filter.
    pub families: Vec<String>,
}

/// One row of the matrix: a receiver against every transmitter of [`MatrixSheet`].
#[derive(Clone, Debug, PartialEq)]
pub struct MatrixRow {
    /// The receiver.
    pub receiver: Card,
    /// The aircraft it is in.
    pub aircraft: Option<Card>,
    /// A verdict for each transmitter, in order; `None` where the filters leave it out.
    pub cells: Vec<Option<MatrixCell>>,
}

/// One verdict of the matrix.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct MatrixCell {
    /// The verdict.
    pub verdict: Verdict,
    /// Whether the link is meant to hold.
    pub wanted: bool,
}

/// The matrix.
#[derive(Clone, Debug)]
pub struct MatrixSheet {
    /// The filters; `page` counts pages of rows.
    pub query: LinksQuery,
    /// The columns.
    pub transmitters: Vec<Card>,
    /// How many transmitters there are without filters, when more than are shown.
    pub transmitters_total: u64,
    /// The rows of this page.
    pub rows: Vec<MatrixRow>,
    /// How many rows there are in all.
    pub rows_total: u64,
    /// How many a page holds.
    pub per_page: u64,
    /// The families, for the filter.
    pub families: Vec<String>,
}

/// One line of a list of devices.
#[derive(Clone, Debug, PartialEq)]
pub struct DeviceLine {
    /// The device.
    pub card: Card,
    /// What else to say about it: its families and bands, the aircraft it is in, the
    /// sort of craft. Words for a table cell.
    pub about: String,
    /// How many of its links that are meant to hold do so, don't, or are unknown: links,
    /// unknown, blocked.
    pub wanted: [u64; 3],
}

/// A list of devices.
#[derive(Clone, Debug, PartialEq)]
pub struct DevicesSheet {
    /// Which.
    pub sort: Sort,
    /// Those of this page.
    pub lines: Vec<DeviceLine>,
    /// How many there are.
    pub total: u64,
    /// The page, from 1.
    pub page: u64,
    /// How many a page holds.
    pub per_page: u64,
    /// Those that the workshop no longer has, or that are only spoken of (shown on the
    /// last page).
    pub gone: Vec<Card>,
}

/// An entry of the logbook, as pages list it.
#[derive(Clone, Debug, PartialEq)]
pub struct LogLine {
    /// Where it stands.
    pub stamp: Stamp,
    /// What it says; [`Body::Opaque`] when it was erased or is of an unknown kind.
    pub body: Body,
    /// Who wrote it; may be empty.
    pub author: String,
    /// Whether a later entry struck it.
    pub struck: bool,
    /// Whether its body was erased.
    pub erased: bool,
    /// The kind's word as written (`reading`, `pairing`), for entries that can't be read.
    pub kind: String,
}

/// A page of the logbook.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct HistorySheet {
    /// The newest first.
    pub lines: Vec<LogLine>,
    /// How many entries the logbook has.
    pub total: u64,
    /// Where the older ones are, when there are any.
    pub older: Option<String>,
    /// Where the newer ones are, when there are any.
    pub newer: Option<String>,
}

/// Which fact a reading form is open for (`?part=end:main&field=firmware`).
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Edit {
    /// The part.
    pub part: Part,
    /// The fact.
    pub field: Field,
}

/// What a device's page shows beside its facts.
#[derive(Clone, Debug, Default)]
pub struct DeviceSheet<'a> {
    /// Its links that are meant to hold (for an aircraft: of its receivers), then some
    /// of the others, as many as the door cares to list.
    pub links: &'a [Link],
    /// How many links it has in all.
    pub links_total: u64,
    /// What the logbook says about it, the newest first.
    pub log: Vec<LogLine>,
    /// Whether there are older entries than those.
    pub log_goes_on: bool,
    /// The fact that the reading form is open for.
    pub edit: Option<Edit>,
    /// An aircraft's commissioning list.
    pub commission: Option<&'a fitting::commission::Commission>,
}

/// A column of an imported list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Column {
    /// Its place, from 0: the select is called `column.0`.
    pub at: usize,
    /// Its header. Never a cell: a cell may hold a secret.
    pub name: String,
    /// How many of its cells are filled.
    pub filled: u64,
    /// The key of what it is taken to mean (one of [`MappingSheet::meanings`]).
    pub means: String,
}

/// What is asked before a list is read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MappingSheet {
    /// The import.
    pub job: String,
    /// The file's name.
    pub file: String,
    /// How many rows it has, the header left out.
    pub rows: u64,
    /// What was found out about its shape, a sentence each (`Columns are parted by
    /// semicolons.`).
    pub shape: Vec<String>,
    /// Its columns.
    pub columns: Vec<Column>,
    /// What a column may mean: key and words, in the order to offer them. The first is
    /// usually "leave it out".
    pub meanings: Vec<(String, String)>,
    /// Further choices for the whole file: name of the select, label, choices (value and
    /// words), the value chosen.
    pub options: Vec<FileOption>,
    /// Whether the meanings are those of an earlier file with the same columns.
    pub remembered: bool,
}

/// A choice that holds for a whole imported file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FileOption {
    /// The name of its select.
    pub name: String,
    /// Its label.
    pub label: String,
    /// Value and words of each choice.
    pub choices: Vec<(String, String)>,
    /// The value chosen.
    pub chosen: String,
}

/// One fact that an import would change.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Difference {
    /// What the fact is, in words (`firmware of main`).
    pub what: String,
    /// What the workshop holds now, in words; empty for nothing.
    pub before: String,
    /// What the file says, in words. A secret is only ever `set` or `blank`.
    pub after: String,
}

/// One device that an import would add or change.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DeviceDifference {
    /// What the file calls it.
    pub name: String,
    /// What it is.
    pub sort: Option<Sort>,
    /// The rows it comes from, in words (`row 12`).
    pub place: String,
    /// Whether it is new to the workshop.
    pub new: bool,
    /// What would change.
    pub differences: Vec<Difference>,
}

/// A row that can't be read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BadRow {
    /// Its number in the file, the header being 1.
    pub row: u64,
    /// The column, by its header; may be empty.
    pub column: String,
    /// What is wrong and what to do. Never the cell.
    pub says: String,
}

/// What an import would do.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ImportPreview {
    /// The import.
    pub job: String,
    /// The file's name.
    pub file: String,
    /// How many devices are new.
    pub added: u64,
    /// How many change.
    pub changed: u64,
    /// How many are as the workshop has them.
    pub unchanged: u64,
    /// How many rows can't be read.
    pub bad: u64,
    /// The first differences.
    pub differences: Vec<DeviceDifference>,
    /// How many devices with differences are not listed.
    pub more_differences: u64,
    /// The first bad rows.
    pub bad_rows: Vec<BadRow>,
    /// How many bad rows are not listed.
    pub more_bad_rows: u64,
    /// Whether the file's columns can be given other meanings (a spreadsheet).
    pub has_mapping: bool,
    /// Anything else worth a sentence (families that are named but not written yet).
    pub notes: Vec<String>,
}

/// How far a long piece of work is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Progress {
    /// What is being done, `Reading club.csv`.
    pub what: String,
    /// How much is done.
    pub done: u64,
    /// Of how much; 0 when that isn't known.
    pub total: u64,
    /// Of what, `rows`.
    pub unit: String,
}

/// A place that takes part in a collision: a model memory or a receiver end.
#[derive(Clone, Debug, PartialEq)]
pub struct IdPlace {
    /// The device.
    pub device: Card,
    /// The memory's label or the end's key; empty for the device's only end.
    pub part: String,
    /// What it holds, in words (`7`, `check off`).
    pub holds: String,
    /// The aircraft it flies or sits in.
    pub aircraft: Option<Card>,
}

/// Several things that would answer together.
#[derive(Clone, Debug, PartialEq)]
pub struct IdCollision {
    /// What collides and what it means, in a sentence.
    pub text: String,
    /// Whether it is certain; the others are possible, because something is not known.
    pub certain: bool,
    /// Who takes part.
    pub places: Vec<IdPlace>,
}

/// One change of a new allocation.
#[derive(Clone, Debug, PartialEq)]
pub struct IdStep {
    /// Sent back as `step` when it is done.
    pub key: String,
    /// The device it is done on.
    pub device: Card,
    /// What to do, its minutes and cautions.
    pub step: Step,
}

/// The model IDs of the fleet.
#[derive(Clone, Debug, PartialEq)]
pub struct IdsSheet {
    /// How many memories and receivers hold a model ID.
    pub held: u64,
    /// Memories (or receivers) that hold the same ID where one receiver would obey both.
    pub collisions: Vec<IdCollision>,
    /// Receivers with the check switched off that could answer together.
    pub unchecked: Vec<IdCollision>,
    /// A new allocation that changes the fewest IDs: its steps; empty when there is
    /// nothing to change.
    pub steps: Vec<IdStep>,
    /// The minutes of all steps.
    pub minutes: Minutes,
    /// What no allocation can resolve (more memories than IDs), a sentence each.
    pub stuck: Vec<String>,
}

/// A device that is tried out, or a change of one, as it stands in the query of
/// `/whatif`.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct WhatIfAnswer {
    /// What was supposed, in a sentence.
    pub supposed: String,
    /// The links of a device not yet bought, where one was supposed: links, unknown,
    /// blocked.
    pub new_device: Option<[u64; 3]>,
}

/// A figure of minutes in the settings.
#[derive(Clone, Debug, PartialEq)]
pub struct MinutesLine {
    /// Its key, `check.firmware`; its input is called `minutes.check.firmware`.
    pub key: String,
    /// What holds without a figure of the workshop's own.
    pub shipped: Minutes,
    /// The workshop's own figure.
    pub own: Option<Minutes>,
}

/// The settings.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct SettingsSheet {
    /// The workshop's name (`name`).
    pub name: String,
    /// Minutes (`minutes.check.firmware`, …).
    pub minutes: Vec<MinutesLine>,
    /// `stale.settable_days`, empty for the default.
    pub stale_settable_days: String,
    /// `stale.wearing_days`, empty for the default.
    pub stale_wearing_days: String,
    /// `share.address`, empty for none.
    pub printed_address: String,
    /// `commission.utc_offset_hours`, empty for the default.
    pub utc_offset_hours: String,
}

/// A phone that gave its code.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Phone {
    /// What it calls itself, or its address.
    pub name: String,
    /// When it gave the code.
    pub since: Moment,
}

/// The state of sharing.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct SharingSheet {
    /// Whether it is on.
    pub on: bool,
    /// Where phones find the workshop, `http://192.0.2.7:7420`.
    pub addresses: Vec<String>,
    /// The one-time code that was just made, and until when it holds.
    pub code: Option<(String, Moment)>,
    /// The phones that gave a code.
    pub phones: Vec<Phone>,
}

/// A way on from an error page.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WayOn {
    /// Where to.
    pub href: String,
    /// What it is called.
    pub label: String,
}

/// The anchor of an entry on a page, so that a fact can point at it.
pub(crate) fn anchor(entry: EntryId) -> String {
    format!("entry-{entry}")
}
