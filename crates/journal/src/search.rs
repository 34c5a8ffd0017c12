//! One search over names, parents, keepers, places, tags and notes, tolerant of typing errors.

use std::collections::HashSet;

use rusqlite::params;
use unicode_normalization::{UnicodeNormalization as _, char::is_combining_mark};

use crate::{Code, Reader, Result, derive::code_word};

/// What a search found.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Found {
    /// Rows of plants, the best first.
    pub plants: Vec<i64>,
    /// How many there are in all, as far as they were counted.
    pub total: usize,
    /// Words of the question that are not in the record, with the nearest that are.
    pub read_as: Vec<(String, Vec<String>)>,
}

/// A question as the index understands it.
#[derive(Debug, Default)]
pub(crate) struct Matching {
    /// The query; none if nothing can be found.
    pub(crate) query: Option<String>,
    /// As in [`Found::read_as`].
    read_as: Vec<(String, Vec<String>)>,
}

/// Nobody reads more hits than these.
const MOST: usize = 2_000;
/// From so many hits on, the index is walked instead of sorting them.
const MANY: usize = 5_000;

impl Reader<'_> {
    /// Searches. Every word of the question must be found, as the beginning of a word or as a
    /// word that differs by one letter (two from seven letters on). Numbers and codes are exact.
    ///
    /// # Errors
    /// Those of the file.
    pub fn search(&self, question: &str) -> Result<Found> {
        let asked = self.matching(question)?;
        let mut found = Found { read_as: asked.read_as, ..Found::default() };
        let Some(query) = asked.query else { return Ok(found) };
        let mut stmt =
            self.conn().prepare_cached("SELECT rowid FROM search WHERE search MATCH ?1")?;
        let hits: Vec<i64> =
            stmt.query_map([query], |r| r.get(0))?.collect::<rusqlite::Result<_>>()?;
        found.total = hits.len();
        found.plants = self.in_order(hits)?;
        self.exact_first(question, &mut found.plants)?;
        Ok(found)
    }

    /// The query that a question becomes, for the index.
    pub(crate) fn matching(&self, question: &str) -> Result<Matching> {
        let words = split(question);
        let mut asked = Matching::default();
        let mut clauses = Vec::new();
        for word in &words {
            if let Ok(code) = word.parse::<Code>() {
                let code = code_word(code.as_str()).to_lowercase();
                clauses.push(format!("(\"{code}\" OR \"{word}\"*)"));
                continue;
            }
            if self.has_word_beginning(word)? {
                clauses.push(format!("\"{word}\"*"));
                continue;
            }
            let near = self.near_words(word)?;
            let found_none = near.is_empty();
            let quoted: Vec<_> = near.iter().map(|w| format!("\"{w}\"")).collect();
            asked.read_as.push((word.clone(), near));
            if found_none {
                return Ok(asked);
            }
            clauses.push(format!("({})", quoted.join(" OR ")));
        }
        asked.query = (!clauses.is_empty()).then(|| clauses.join(" AND "));
        Ok(asked)
    }

    /// Hits in the order in which they are shown, as far as anybody reads: the living before
    /// those that are gone or dead, then by name.
    fn in_order(&self, hits: Vec<i64>) -> Result<Vec<i64>> {
        if hits.len() > MANY {
            // Walking the index in its order costs less than sorting this many hits.
            let hits: HashSet<i64> = hits.into_iter().collect();
            let mut stmt = self.conn().prepare_cached(
                "SELECT id FROM plant ORDER BY state = 'dead', state = 'gone', sort, number",
            )?;
            let mut rows = stmt.query([])?;
            let mut out = Vec::with_capacity(MOST);
            while out.len() < MOST
                && let Some(row) = rows.next()?
            {
                let id: i64 = row.get(0)?;
                if hits.contains(&id) {
                    out.push(id);
                }
            }
            return Ok(out);
        }
        let list = serde_json::Value::from(hits).to_string();
        let mut stmt = self.conn().prepare_cached(
            "SELECT id FROM plant WHERE id IN (SELECT value FROM json_each(?1))
             ORDER BY state = 'dead', state = 'gone', sort, number LIMIT ?2",
        )?;
        let limit = i64::try_from(MOST).unwrap_or(i64::MAX);
        Ok(stmt.query_map(params![list, limit], |r| r.get(0))?.collect::<rusqlite::Result<_>>()?)
    }

    /// Whoever types a number or a code means that plant: it comes first.
    fn exact_first(&self, question: &str, plants: &mut Vec<i64>) -> Result<()> {
        let typed = question.trim();
        let meant = match (typed.parse::<i64>(), typed.parse::<Code>()) {
            (Ok(number), _) => self.plant(number)?,
            (_, Ok(code)) => self.plant_by_code(code)?,
            _ => None,
        };
        if let Some(plant) = meant {
            plants.retain(|p| *p != plant.id);
            plants.insert(0, plant.id);
        }
        Ok(())
    }

    fn has_word_beginning(&self, word: &str) -> Result<bool> {
        // The vocabulary is sorted: the first term from `word` on tells.
        let mut stmt = self.conn().prepare_cached(
            "SELECT term FROM search_word WHERE term >= ?1 ORDER BY term LIMIT 1",
        )?;
        let mut rows = stmt.query([word])?;
        Ok(match rows.next()? {
            Some(row) => row.get::<_, String>(0)?.starts_with(word),
            None => false,
        })
    }

    /// Words of the record within the distance that is forgiven, the nearest first.
    fn near_words(&self, word: &str) -> Result<Vec<String>> {
        let letters: Vec<char> = word.chars().collect();
        // Numbers are exact: 712 is not nearly 713.
        if letters.len() < 3 || letters.iter().any(char::is_ascii_digit) {
            return Ok(Vec::new());
        }
        let most = if letters.len() >= 7 { 2 } else { 1 };
        let mut stmt = self.conn().prepare_cached(
            // Numbers and codes begin with a digit and sort before this.
            "SELECT term FROM search_word WHERE term >= 'a' AND length(term) BETWEEN ?1 AND ?2",
        )?;
        let low = i64::try_from(letters.len().saturating_sub(most)).unwrap_or(0);
        let high = i64::try_from(letters.len() + most).unwrap_or(i64::MAX);
        let mut near: Vec<(usize, String)> = Vec::new();
        let mut rows = stmt.query(params![low, high])?;
        while let Some(row) = rows.next()? {
            let term: String = row.get(0)?;
            let other: Vec<char> = term.chars().collect();
            if let Some(d) = distance_within(&letters, &other, most) {
                near.push((d, term));
            }
        }
        near.sort();
        let mut seen = HashSet::new();
        Ok(near.into_iter().map(|n| n.1).filter(|w| seen.insert(w.clone())).take(8).collect())
    }
}

/// The words of a question as the index keeps them: letters and digits, lower case, without marks.
fn split(question: &str) -> Vec<String> {
    // Composed first: a mark that is written apart from its letter would split the word.
    let question: String = question.nfc().collect();
    question
        .split(|c: char| !c.is_alphanumeric())
        .filter(|w| !w.is_empty())
        .take(8)
        .map(|w| fold(&w.to_lowercase()))
        .collect()
}

/// Drops the marks that the index drops, so that “Küche” and “Kuche” are one word.
fn fold(word: &str) -> String {
    word.nfd().filter(|c| !is_combining_mark(*c)).collect()
}

/// The Damerau–Levenshtein distance (optimal string alignment) if it is at most `most`.
fn distance_within(a: &[char], b: &[char], most: usize) -> Option<usize> {
    if a.len().abs_diff(b.len()) > most {
        return None;
    }
    let mut before: Vec<usize> = Vec::new();
    let mut last: Vec<usize> = (0..=b.len()).collect();
    for i in 1..=a.len() {
        let mut row = vec![i; b.len() + 1];
        for j in 1..=b.len() {
            let cost = usize::from(a[i - 1] != b[j - 1]);
            let mut d = (last[j] + 1).min(row[j - 1] + 1).min(last[j - 1] + cost);
            if i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                d = d.min(before[j - 2] + 1);
            }
            row[j] = d;
        }
        if row.iter().min().is_some_and(|m| *m > most) {
            return None;
        }
        before = std::mem::replace(&mut last, row);
    }
    last.last().copied().filter(|d| *d <= most)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn distances_are_those_of_the_alignment() {
        let cases = [
            ("bowerae", "bowerea", 2, Some(1)),
            ("maculata", "maculta", 2, Some(1)),
            ("tansy", "tansy", 1, Some(0)),
            ("lantern", "lanter", 1, Some(1)),
            ("wether", "weather", 2, Some(1)),
            ("rex", "radicans", 2, None),
            ("abcd", "dcba", 2, None),
        ];
        for (a, b, most, expected) in cases {
            let (a, b): (Vec<char>, Vec<char>) = (a.chars().collect(), b.chars().collect());
            assert_eq!(distance_within(&a, &b, most), expected, "{a:?} {b:?}");
        }
    }

    #[test]
    fn questions_are_folded_like_the_index() {
        assert_eq!(split("  Küche, ‘Bohnerwachs’!"), ["kuche", "bohnerwachs"]);
        assert_eq!(split("Ku\u{308}che Őrség"), ["kuche", "orseg"]);
    }
}
