//! The record: one SQLite file, operations, entries, projection, backup.
