//! Acts and answers on whole records.

mod bring_in;
mod checklists;
