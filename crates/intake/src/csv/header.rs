//! The first row of a list: what its columns are called and how they are separated.

use super::decode::{Encoding, decode};
use super::{LARGEST_FILE_BYTES, MOST_COLUMNS, Refused};

/// How much of a file is looked at to find its delimiter, bytes.
const SNIFFED_BYTES: usize = 128 << 10;

/// How many rows are looked at to find the delimiter.
const SNIFFED_ROWS: usize = 200;

/// The longest column name kept, characters.
const LONGEST_NAME_CHARS: usize = 200;

/// One column: what it is called and how much is in it, never what.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Column {
    /// Its name; `column 3` where the header leaves it blank, `Band (2)` where the name
    /// came before.
    pub name: String,
    /// How many rows have something in it.
    pub filled: u64,
}

/// The header of a list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Header {
    /// The columns, from the left.
    pub columns: Vec<Column>,
    /// How many rows below the header have anything in them.
    pub rows: u64,
    /// The delimiter.
    pub delimiter: u8,
    /// How the bytes were read.
    pub encoding: Encoding,
}

impl Header {
    /// Reads a list's header and counts the filled cells below it.
    ///
    /// # Errors
    /// The list is empty, too large or too wide.
    pub fn read(bytes: &[u8]) -> Result<Header, Refused> {
        let source = Source::of(bytes.to_vec())?;
        let mut columns: Vec<Column> =
            source.names.iter().map(|name| Column { name: name.clone(), filled: 0 }).collect();
        let mut reader = reader(source.text.as_bytes(), source.delimiter);
        let mut record = ::csv::StringRecord::new();
        let mut rows = 0;
        let mut is_header = true;
        while let Ok(true) = reader.read_record(&mut record) {
            if is_blank(&record) {
                continue;
            }
            if is_header {
                is_header = false;
                continue;
            }
            rows += 1;
            for (column, cell) in columns.iter_mut().zip(&record) {
                column.filled += u64::from(!cell.trim().is_empty());
            }
        }
        Ok(Header { columns, rows, delimiter: source.delimiter, encoding: source.encoding })
    }

    /// What to remember a list of this shape by: its column names in lower case.
    pub fn signature(&self) -> String {
        let names: Vec<String> =
            self.columns.iter().map(|column| column.name.trim().to_lowercase()).collect();
        names.join(" | ")
    }
}

/// A list's text with its header understood.
pub(super) struct Source {
    pub text: String,
    pub names: Vec<String>,
    pub delimiter: u8,
    pub encoding: Encoding,
}

impl Source {
    pub(super) fn of(bytes: Vec<u8>) -> Result<Source, Refused> {
        if bytes.len() > LARGEST_FILE_BYTES {
            return Err(Refused::TooLarge { bytes: bytes.len() });
        }
        let (mut text, encoding) = decode(bytes);
        let stated = stated_delimiter(&mut text);
        let delimiter = stated.unwrap_or_else(|| sniff(&text));
        let mut reader = reader(text.as_bytes(), delimiter);
        let mut record = ::csv::StringRecord::new();
        loop {
            if !reader.read_record(&mut record).unwrap_or(false) {
                return Err(Refused::Empty);
            }
            if !is_blank(&record) {
                break;
            }
        }
        let mut cells: Vec<&str> = record.iter().map(str::trim).collect();
        while cells.last().is_some_and(|cell| cell.is_empty()) {
            cells.pop();
        }
        if cells.len() > MOST_COLUMNS {
            return Err(Refused::TooWide { columns: cells.len() });
        }
        let mut names: Vec<String> = Vec::with_capacity(cells.len());
        for (i, cell) in cells.into_iter().enumerate() {
            let name: String = if cell.is_empty() {
                format!("column {}", i + 1)
            } else {
                cell.chars().take(LONGEST_NAME_CHARS).collect()
            };
            let mut unique = name.clone();
            let mut nth = 1;
            while names.contains(&unique) {
                nth += 1;
                unique = format!("{name} ({nth})");
            }
            names.push(unique);
        }
        Ok(Source { text, names, delimiter, encoding })
    }
}

pub(super) fn reader<B: AsRef<[u8]>>(bytes: B, delimiter: u8) -> ::csv::Reader<std::io::Cursor<B>> {
    // Over memory: nothing is read from outside.
    ::csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(delimiter)
        .from_reader(std::io::Cursor::new(bytes))
}

pub(super) fn is_blank(record: &::csv::StringRecord) -> bool {
    record.iter().all(|cell| cell.trim().is_empty())
}

/// Some spreadsheets write `sep=;` as a first line; it is blanked out, so that line
/// numbers stay.
fn stated_delimiter(text: &mut String) -> Option<u8> {
    let rest = text.strip_prefix("sep=")?;
    let delimiter = *rest.as_bytes().first().filter(|byte| matches!(byte, b',' | b';' | b'\t' | b'|'))?;
    if !matches!(rest.as_bytes().get(1), Some(b'\r' | b'\n')) {
        return None;
    }
    text.drain(.."sep=;".len());
    Some(delimiter)
}

/// The delimiter under which the most rows have as many cells as the header.
fn sniff(text: &str) -> u8 {
    let mut end = text.len().min(SNIFFED_BYTES);
    while !text.is_char_boundary(end) {
        end -= 1;
    }
    let is_cut = end < text.len();
    let score = |delimiter: u8| {
        let mut reader = reader(&text.as_bytes()[..end], delimiter);
        let mut widths: Vec<usize> = Vec::new();
        let mut record = ::csv::StringRecord::new();
        while widths.len() < SNIFFED_ROWS && reader.read_record(&mut record).unwrap_or(false) {
            if !is_blank(&record) {
                widths.push(record.len());
            }
        }
        if is_cut && widths.len() > 1 && widths.len() < SNIFFED_ROWS {
            widths.pop();
        }
        let header = widths.first().copied().unwrap_or(0);
        if header < 2 {
            return (0, 0);
        }
        // In thousandths, so that a stray wide row doesn't decide.
        let same = widths.iter().filter(|width| **width == header).count() * 1000 / widths.len();
        (same, header)
    };
    [b',', b';', b'\t'].into_iter().rev().max_by_key(|delimiter| score(*delimiter)).unwrap_or(b',')
}
