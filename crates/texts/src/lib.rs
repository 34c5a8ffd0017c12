//! The one catalogue of interface texts, English and German.
