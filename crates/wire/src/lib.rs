//! Entries and answers as JSON, to the exact byte.
