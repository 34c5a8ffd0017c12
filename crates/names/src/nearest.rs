//! The nearest spellings in a list of names.

use crate::text::fold;

/// A list of names that can be gone through, for instance a checklist.
pub trait NameList {
    /// Call `visit` with each name; stop when it returns false.
    fn each_name(&self, visit: &mut dyn FnMut(&str) -> bool);
}

impl<T: AsRef<str>> NameList for [T] {
    fn each_name(&self, visit: &mut dyn FnMut(&str) -> bool) {
        for name in self {
            if !visit(name.as_ref()) {
                return;
            }
        }
    }
}

impl<T: AsRef<str>> NameList for Vec<T> {
    fn each_name(&self, visit: &mut dyn FnMut(&str) -> bool) {
        self.as_slice().each_name(visit);
    }
}

/// The names within `max_distance` of `name`, nearest first, equal distances in alphabetical order.
///
/// Distance is the number of letters put in, left out, changed, or swapped with their neighbour
/// (optimal string alignment), after case and diacritics were folded.
pub fn nearest<L: NameList + ?Sized>(
    name: &str,
    list: &L,
    max_distance: usize,
) -> Vec<(String, usize)> {
    let wanted = fold(name);
    let length = wanted.chars().count();
    let mut found = Vec::new();
    list.each_name(&mut |candidate| {
        let folded = fold(candidate);
        // Each letter more or less costs one: most of a long list falls out here.
        if folded.chars().count().abs_diff(length) <= max_distance {
            let distance = strsim::osa_distance(&wanted, &folded);
            if distance <= max_distance {
                found.push((candidate.to_owned(), distance));
            }
        }
        true
    });
    found.sort_by(|a, b| a.1.cmp(&b.1).then_with(|| a.0.cmp(&b.0)));
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_dropped_letter_is_one_away() {
        let list = ["Begonia masoniana", "Begonia maculata", "Begonia mazae"];
        assert_eq!(
            nearest("Begonia masonana", &list[..], 2),
            [("Begonia masoniana".to_owned(), 1)]
        );
        assert_eq!(nearest("begonia maculata", &list[..], 0).len(), 1);
        assert!(nearest("Kohleria", &list[..], 2).is_empty());
    }
}
