//! Which rule a problem rests on.
