//! The logbook in SQLite.
