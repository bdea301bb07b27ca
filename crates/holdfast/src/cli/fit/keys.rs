//! What may stand in a part's text.

use std::io;

use wire::answers::fit::keys::Keys;

use crate::cli::Session;
use crate::cli::out::columns;

/// Prints the tables and keys of a part.
pub fn print(session: &mut Session, keys: &Keys) -> io::Result<()> {
    let out = &mut session.out;
    out.line(&format!(
        "The {} as a text. [table] stands once, [[table]] as often as wanted; for `set`, rows count from 1.",
        keys.part
    ))?;
    let names = keys.tables.iter().flat_map(|table| &table.keys).map(|key| columns(key.name));
    let wide = names.max().unwrap_or(0);
    for table in &keys.tables {
        out.gap()?;
        let name = if table.several { format!("[[{}]]", table.name) } else { format!("[{}]", table.name) };
        out.hanging(0, &name, table.what)?;
        for key in &table.keys {
            let left_out = key
                .otherwise
                .map_or_else(|| "must be there".to_owned(), |otherwise| format!("left out: {otherwise}"));
            let what = key.what.trim_end_matches('.');
            out.hanging(2, &format!("{:<wide$}", key.name), &format!("{what} ({}); {left_out}", key.values))?;
        }
    }
    Ok(())
}
