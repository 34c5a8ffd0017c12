//! Lists of accepted names with their native areas.
