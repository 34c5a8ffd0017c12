//! Slash notation of pedigrees (Purdy, Loegering, Konzak, Peterson & Allan 1968, Crop Science
//! 8:405–406; from memory): `A/B` is A × B, `A/B//C` is (A × B) × C, `A/B//C/3/D` goes on with the
//! order of the cross as a number, and `A*2/B` is A × (A × B), the star after the parent that comes
//! again with how often it stands. It is read and written; it is never what is kept.

use std::fmt;

use journal::{Journal, OpId, ParentClaim, Reader, SubjectKind, Uid};
use serde_json::json;

use crate::{
    AskError, Hand, Result,
    acts::{
        Pen,
        plants::{journal_read, numbers_of},
    },
};

/// A pedigree.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Tree {
    /// A named parent.
    Leaf(String),
    /// Seed parent and pollen parent.
    Cross(Box<Tree>, Box<Tree>),
}

/// How deep a pedigree may be: more crosses in turn nobody writes.
const DEEPEST: usize = 20;

impl Tree {
    /// A cross of two.
    #[must_use]
    pub fn cross(seed: Self, pollen: Self) -> Self {
        Self::Cross(Box::new(seed), Box::new(pollen))
    }

    /// Crosses in turn up to this one.
    fn depth(&self) -> usize {
        match self {
            Self::Leaf(_) => 0,
            Self::Cross(a, b) => 1 + a.depth().max(b.depth()),
        }
    }

    /// Reads a pedigree as written.
    ///
    /// # Errors
    /// What cannot be read, with the place and what to write.
    pub fn read(text: &str) -> Result<Self> {
        let wrong = |problem: String| AskError::field("pedigree", text, problem);
        let (names, marks) = tokens(text).map_err(wrong)?;
        let tree = join(&names, &marks).map_err(wrong)?;
        if tree.depth() > DEEPEST {
            return Err(wrong(format!("has more than {DEEPEST} crosses in turn; split it")));
        }
        Ok(tree)
    }

    /// The recurrent parent, how often it stands and the other, of a back-cross with the recurrent
    /// parent on the seed side (or on the pollen side).
    fn back(&self, on_seed_side: bool) -> Option<(&str, usize, &Tree)> {
        let Self::Cross(seed, pollen) = self else { return None };
        let (again, rest) = if on_seed_side { (seed, pollen) } else { (pollen, seed) };
        let Self::Leaf(name) = &**again else { return None };
        match rest.back(on_seed_side) {
            Some((same, n, other)) if same == name => Some((name, n + 1, other)),
            // The other parent must not be the same name: that is a self.
            _ => (**rest != Self::Leaf(name.clone())).then_some((name.as_str(), 1, &**rest)),
        }
    }
}

/// Names in turn and the orders of the slashes between them.
fn tokens(text: &str) -> Result<(Vec<String>, Vec<usize>), String> {
    let chars: Vec<char> = text.trim().chars().collect();
    let (mut names, mut marks, mut name) = (Vec::new(), Vec::new(), String::new());
    let mut i = 0;
    while i < chars.len() {
        if chars[i] != '/' {
            name.push(chars[i]);
            i += 1;
            continue;
        }
        // `/3/` before `//`, which begins alike.
        let digits: String = chars[i + 1..].iter().take_while(|c| c.is_ascii_digit()).collect();
        let end = i + 1 + digits.len();
        let numbered = (!digits.is_empty() && chars.get(end) == Some(&'/'))
            .then(|| digits.parse::<usize>().ok())
            .flatten();
        let (order, next) = match numbered {
            Some(n) if n < 3 => {
                return Err(format!("has /{n}/; the first two crosses are written / and //"));
            }
            Some(n) => (n, end + 1),
            None if chars.get(i + 1) == Some(&'/') => (2, i + 2),
            None => (1, i + 1),
        };
        if chars.get(next) == Some(&'/') {
            return Err("has slashes in a row; from the third cross on write /3/, /4/".to_owned());
        }
        names.push(std::mem::take(&mut name));
        marks.push(order);
        i = next;
    }
    names.push(name);
    let names: Vec<String> = names.iter().map(|n| n.trim().to_owned()).collect();
    if let Some(at) = names.iter().position(String::is_empty) {
        return Err(format!("has no name in place {}; write the parent there, or ?", at + 1));
    }
    Ok((names, marks))
}

/// The tree of names with slashes of these orders: the highest is the last cross.
fn join(names: &[String], marks: &[usize]) -> Result<Tree, String> {
    let Some(top) = marks.iter().max() else {
        let [name] = names else { return Err("holds no name".to_owned()) };
        return match starred(name)? {
            (name, 1) => Ok(Tree::Leaf(name)),
            (name, n) => Err(format!("has {name}*{n} with nothing to cross it with")),
        };
    };
    let mut at = marks.iter().enumerate().filter(|(_, m)| *m == top).map(|(i, _)| i);
    let (Some(split), None) = (at.next(), at.next()) else {
        return Err(format!(
            "has two crosses of order {top} side by side; the later one gets the next order"
        ));
    };
    let (seed_names, pollen_names) = names.split_at(split + 1);
    let (seed_marks, pollen_marks) = (&marks[..split], &marks[split + 1..]);
    let star = |names: &[String], marks: &[usize]| match (names, marks) {
        ([one], []) => starred(one),
        _ => Ok((String::new(), 1)),
    };
    let (seed_star, pollen_star) =
        (star(seed_names, seed_marks)?, star(pollen_names, pollen_marks)?);
    match (seed_star, pollen_star) {
        ((_, m), (_, n)) if m > 1 && n > 1 => {
            Err("has stars on both sides of one slash; one parent comes again".to_owned())
        }
        ((name, n), _) if n > 1 => {
            let other = join(pollen_names, pollen_marks)?;
            Ok((0..n).fold(other, |rest, _| Tree::cross(Tree::Leaf(name.clone()), rest)))
        }
        (_, (name, n)) if n > 1 => {
            let other = join(seed_names, seed_marks)?;
            Ok((0..n).fold(other, |rest, _| Tree::cross(rest, Tree::Leaf(name.clone()))))
        }
        _ => Ok(Tree::cross(join(seed_names, seed_marks)?, join(pollen_names, pollen_marks)?)),
    }
}

/// A name with how often it stands: `A*2`, or `2*A` on the pollen side.
fn starred(name: &str) -> Result<(String, usize), String> {
    let Some((before, after)) = name.split_once('*') else { return Ok((name.to_owned(), 1)) };
    let (before, after) = (before.trim(), after.trim());
    let (count, name) = match (before.parse::<usize>(), after.parse::<usize>()) {
        (Err(_), Ok(n)) => (n, before),
        (Ok(n), Err(_)) => (n, after),
        _ => return Err(format!("has “{name}”; write the name, a star and a number, such as A*2")),
    };
    if !(2..=DEEPEST).contains(&count) || name.is_empty() {
        return Err(format!("has “*{count}”; a parent comes again from 2 to {DEEPEST} times"));
    }
    Ok((name.to_owned(), count))
}

impl fmt::Display for Tree {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", written(self).0)
    }
}

/// The text of a tree and the order of its last slash.
fn written(tree: &Tree) -> (String, usize) {
    let Tree::Cross(seed, pollen) = tree else {
        let Tree::Leaf(name) = tree else { return (String::new(), 0) };
        return (name.clone(), 0);
    };
    for side in [true, false] {
        if let Some((name, n, other)) = tree.back(side).filter(|b| b.1 > 1) {
            let (text, order) = written(other);
            let slash = slashes(order + 1);
            let text = if side {
                format!("{name}*{n}{slash}{text}")
            } else {
                format!("{text}{slash}{n}*{name}")
            };
            return (text, order + 1);
        }
    }
    let ((a, m), (b, n)) = (written(seed), written(pollen));
    let order = m.max(n) + 1;
    (format!("{a}{}{b}", slashes(order)), order)
}

fn slashes(order: usize) -> String {
    match order {
        1 => "/".to_owned(),
        2 => "//".to_owned(),
        n => format!("/{n}/"),
    }
}

/// A cross in slash notation, as far back as parents are recorded. A name with a slash in it is in
/// the way.
///
/// # Errors
/// If there is no such cross, a name has a slash, or the record cannot be read.
pub fn of_cross(reader: &Reader<'_>, number: i64) -> Result<String> {
    let row = reader.cross(number)?.ok_or_else(|| AskError::NotThere {
        kind: "cross",
        which: number.to_string(),
        next: "the list of crosses shows which there are",
    })?;
    let seed = tree_of(reader, &row.seed, 0)?;
    let pollen = tree_of(reader, &row.pollen, 0)?;
    Ok(Tree::cross(seed, pollen).to_string())
}

fn tree_of(reader: &Reader<'_>, parent: &ParentClaim, depth: usize) -> Result<Tree> {
    let ParentClaim::Clone(uid) = parent else { return Ok(Tree::Leaf("?".to_owned())) };
    let Some(clone) = reader.clone_by_uid(*uid)? else { return Ok(Tree::Leaf("?".to_owned())) };
    // A name stands for the whole behind it; only what has none is written out.
    let known = |p: &ParentClaim| matches!(p, ParentClaim::Clone(_));
    let bare = clone.name.is_empty() || clone.name == clone.genus;
    if bare && depth < DEEPEST && (known(&clone.seed) || known(&clone.pollen)) {
        let seed = tree_of(reader, &clone.seed, depth + 1)?;
        return Ok(Tree::cross(seed, tree_of(reader, &clone.pollen, depth + 1)?));
    }
    if clone.name.contains(['/', '*']) {
        let problem = "has a slash or star in it, which slash notation cannot write";
        return Err(AskError::field("name", &clone.name, problem));
    }
    Ok(Tree::Leaf(if clone.name.is_empty() { "?".to_owned() } else { clone.name }))
}

/// Brings a pedigree in: its last cross becomes a cross, the crosses before it clones without a
/// name and with their parents. Returns the operation and the number of the cross.
///
/// # Errors
/// If the pedigree cannot be read or is a single name.
pub fn bring_in(journal: &Journal, hand: &Hand, text: &str) -> Result<(OpId, i64)> {
    let tree = Tree::read(text)?;
    let Tree::Cross(seed, pollen) = &tree else {
        return Err(AskError::field("pedigree", text, "is a single name; write two with a slash"));
    };
    let (operation, cross) = journal_read(journal, |reader| {
        let mut pen = Pen::new(reader, hand, "bring_in", text);
        let mut made = Vec::new();
        let seed = clone_of(&mut pen, seed, &mut made)?;
        let pollen = clone_of(&mut pen, pollen, &mut made)?;
        let cross = pen.draft.create(SubjectKind::Cross, None);
        pen.claim_parents(cross, &seed, &pollen);
        Ok((pen.draft.finish(), cross))
    })?;
    journal.write(&operation)?;
    let number = numbers_of(journal, &[cross])?.first().copied().unwrap_or(0);
    Ok((operation.id, number))
}

/// The clone of a tree; the same tree twice is the same clone.
fn clone_of<'t>(
    pen: &mut Pen<'_, '_>,
    tree: &'t Tree,
    made: &mut Vec<(&'t Tree, Uid)>,
) -> Result<ParentClaim> {
    match tree {
        Tree::Leaf(name) if name == "?" => Ok(ParentClaim::Unknown),
        Tree::Leaf(name) => Ok(ParentClaim::Clone(pen.clone_named(name)?)),
        Tree::Cross(seed, pollen) => {
            if let Some((_, uid)) = made.iter().find(|(t, _)| *t == tree) {
                return Ok(ParentClaim::Clone(*uid));
            }
            let seed = clone_of(pen, seed, made)?;
            let pollen = clone_of(pen, pollen, made)?;
            let uid = pen.draft.create(SubjectKind::Clone, None);
            pen.draft.claim(uid, "parents", json!({"seed": seed, "pollen": pollen}));
            made.push((tree, uid));
            Ok(ParentClaim::Clone(uid))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn leaf(name: &str) -> Tree {
        Tree::Leaf(name.to_owned())
    }

    #[test]
    fn crosses_are_read_from_the_highest_slash_down() {
        let ab = Tree::cross(leaf("A"), leaf("B"));
        let cases = [
            ("A/B", ab.clone()),
            ("A/B//C", Tree::cross(ab.clone(), leaf("C"))),
            ("C//A/B", Tree::cross(leaf("C"), ab.clone())),
            ("A/B//C/D", Tree::cross(ab.clone(), Tree::cross(leaf("C"), leaf("D")))),
            ("A/B//C/3/D", Tree::cross(Tree::cross(ab.clone(), leaf("C")), leaf("D"))),
            ("A*2/B", Tree::cross(leaf("A"), ab.clone())),
            ("B/2*A", Tree::cross(Tree::cross(leaf("B"), leaf("A")), leaf("A"))),
            ("A*3/B", Tree::cross(leaf("A"), Tree::cross(leaf("A"), ab.clone()))),
            ("A", leaf("A")),
        ];
        for (text, tree) in cases {
            assert_eq!(Tree::read(text).unwrap(), tree, "{text}");
            assert_eq!(tree.to_string(), text, "{tree:?}");
        }
        let spaced = Tree::read(" Begonia venosa / B. bowerae // ? ").unwrap();
        assert_eq!(spaced.to_string(), "Begonia venosa/B. bowerae//?");
    }

    #[test]
    fn what_cannot_be_read_says_where() {
        for (text, named) in [
            ("A//", "place 2"),
            ("/B", "place 1"),
            ("A/B/C", "order 1"),
            ("A///B", "in a row"),
            ("A/2/B", "/2/"),
            ("A*1/B", "*1"),
            ("A*2", "nothing to cross"),
            ("A*2/2*B", "both sides"),
            ("A*x/B", "A*x"),
        ] {
            let error = Tree::read(text).unwrap_err().to_string();
            assert!(error.contains(named), "{text}: {error}");
        }
    }
}
