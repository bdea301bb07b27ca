//! A workshop as JSON Lines.

use std::io::Write;

use wire::lines::{entry_line, file_line, header_line};

use crate::error::StoreError;
use crate::open::Store;
use crate::row::text;

impl Store {
    /// Writes the whole logbook as JSON Lines: files first, then the entries in order.
    /// Equal logbooks give equal bytes.
    ///
    /// # Errors
    /// The workshop can't be read, or `out` can't be written.
    pub fn export(&self, out: &mut impl Write) -> Result<(), StoreError> {
        let tx = self.conn.unchecked_transaction().map_err(self.sql())?;
        let io = |source| StoreError::Io { path: "the export".into(), source };
        writeln!(out, "{}", header_line()).map_err(io)?;
        let mut statement = tx.prepare("SELECT bytes FROM files ORDER BY hash").map_err(self.sql())?;
        let mut rows = statement.query(()).map_err(self.sql())?;
        while let Some(row) = rows.next().map_err(self.sql())? {
            let bytes: Vec<u8> = row.get(0).map_err(self.sql())?;
            writeln!(out, "{}", file_line(&bytes)).map_err(io)?;
        }
        let mut statement =
            tx.prepare("SELECT head, body FROM entries ORDER BY clock, id").map_err(self.sql())?;
        let mut rows = statement.query(()).map_err(self.sql())?;
        while let Some(row) = rows.next().map_err(self.sql())? {
            let head = text(row, 0).map_err(self.sql())?.unwrap_or_default();
            let body = text(row, 1).map_err(self.sql())?;
            writeln!(out, "{}", entry_line(head, body)).map_err(io)?;
        }
        out.flush().map_err(io)
    }
}
