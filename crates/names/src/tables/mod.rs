//! Small tables the rules need.
