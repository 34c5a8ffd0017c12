//! Plant names: read, judge, correct and typeset.
