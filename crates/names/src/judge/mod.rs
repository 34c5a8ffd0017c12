//! What the rules say about parts.
