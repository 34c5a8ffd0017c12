//! Small tables that the rules need. They are facts of language and usage, kept apart from the rules
//! so that they can grow without touching code.

pub(crate) mod latin;
pub(crate) mod orchids;
pub(crate) mod ranks;
pub(crate) mod usage;
pub(crate) mod words;
