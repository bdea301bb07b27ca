//! Readers and writers of inventories: CSV lists and workshop TOML files.
