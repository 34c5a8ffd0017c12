//! Reading: from the typed text to parts.

use crate::context::Context;
use crate::reading::{Epithet, Kind, Parts, Reading, Verdict};

/// Read a name.
pub fn read(input: &str, _context: &Context) -> Reading {
    let words: Vec<&str> = input.split_whitespace().collect();
    let mut parts = Parts::default();
    let (verdict, kind) = match words.as_slice() {
        [genus, species]
            if crate::text::starts_upper(genus) && crate::text::starts_lower(species) =>
        {
            parts.genus = Some((*genus).to_owned());
            parts.species = Some(Epithet { text: (*species).to_owned(), ..Epithet::default() });
            (Verdict::Valid, Kind::Botanical)
        }
        _ => (Verdict::Invalid, Kind::Unreadable),
    };
    let normalised = (verdict == Verdict::Valid).then(|| crate::write::normal_form(&parts));
    Reading { input: input.to_owned(), verdict, normalised, kind, parts, problems: Vec::new() }
}
