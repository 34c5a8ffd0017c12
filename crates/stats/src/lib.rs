//! Time to event, success rates, mixed models, selection.
