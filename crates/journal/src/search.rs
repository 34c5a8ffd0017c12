//! One search over names, parents, keepers, places, tags and notes, tolerant of typing errors.

use std::collections::HashSet;

use rusqlite::params;

use crate::{Reader, Result};

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

/// Nobody reads more hits than these.
const MOST: usize = 2_000;

impl Reader<'_> {
    /// Searches. Every word of the question must be found, as the beginning of a word or as a
    /// word that differs by one letter (two from seven letters on).
    ///
    /// # Errors
    /// Those of the file.
    pub fn search(&self, question: &str) -> Result<Found> {
        let words = split(question);
        let mut found = Found::default();
        if words.is_empty() {
            return Ok(found);
        }
        let mut clauses = Vec::new();
        for word in &words {
            if self.has_word_beginning(word)? {
                clauses.push(format!("\"{word}\"*"));
                continue;
            }
            let near = self.near_words(word)?;
            if near.is_empty() {
                found.read_as.push((word.clone(), near));
                return Ok(found);
            }
            let quoted: Vec<_> = near.iter().map(|w| format!("\"{w}\"")).collect();
            clauses.push(format!("({})", quoted.join(" OR ")));
            found.read_as.push((word.clone(), near));
        }
        let query = clauses.join(" AND ");
        let mut stmt = self.conn().prepare_cached(
            "SELECT p.id FROM search s JOIN plant p ON p.id = s.rowid WHERE search MATCH ?1
             ORDER BY p.state = 'dead', p.state = 'gone', p.sort, p.number LIMIT ?2",
        )?;
        let limit = i64::try_from(MOST).unwrap_or(i64::MAX);
        found.plants = stmt
            .query_map(params![query, limit], |r| r.get(0))?
            .collect::<rusqlite::Result<_>>()?;
        found.total = found.plants.len();
        if found.total == MOST {
            let mut stmt =
                self.conn().prepare_cached("SELECT count(*) FROM search WHERE search MATCH ?1")?;
            let n: i64 = stmt.query_row([query], |r| r.get(0))?;
            found.total = usize::try_from(n).unwrap_or(MOST);
        }
        Ok(found)
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
        if letters.len() < 3 {
            return Ok(Vec::new());
        }
        let most = if letters.len() >= 7 { 2 } else { 1 };
        let mut stmt = self
            .conn()
            .prepare_cached("SELECT term FROM search_word WHERE length(term) BETWEEN ?1 AND ?2")?;
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
    question
        .split(|c: char| !c.is_alphanumeric())
        .filter(|w| !w.is_empty())
        .take(8)
        .map(|w| fold(&w.to_lowercase()))
        .collect()
}

/// Drops the marks that the index drops, for the letters that European names use.
fn fold(word: &str) -> String {
    word.chars()
        .map(|c| match c {
            'à' | 'á' | 'â' | 'ã' | 'ä' | 'å' | 'ā' => 'a',
            'ç' | 'č' | 'ć' => 'c',
            'è' | 'é' | 'ê' | 'ë' | 'ē' | 'ě' => 'e',
            'ì' | 'í' | 'î' | 'ï' | 'ī' => 'i',
            'ñ' | 'ň' => 'n',
            'ò' | 'ó' | 'ô' | 'õ' | 'ö' | 'ō' => 'o',
            'ù' | 'ú' | 'û' | 'ü' | 'ū' | 'ů' => 'u',
            'ý' | 'ÿ' => 'y',
            'š' => 's',
            'ž' => 'z',
            other => other,
        })
        .collect()
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
    }
}
