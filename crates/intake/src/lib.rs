//! A messy list read into rows as understood; nothing is written.
