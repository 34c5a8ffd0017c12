//! Attempts by others: brought in as a table, and only with their failures.

use journal::{Journal, Reader, Uid};
use serde::{Deserialize, Serialize};

use crate::{
    AskError, Hand, Result,
    acts::{Pen, plants::journal_read},
};

/// The setting of the house under which they are kept.
const KEY: &str = "crossing_told";

/// What another house tried, with the flowers that came to nothing among them.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Told {
    /// The seed parent.
    pub seed: Uid,
    /// The pollen parent.
    pub pollen: Uid,
    /// Flowers treated.
    pub flowers: u64,
    /// Pods of them.
    pub pods: u64,
    /// Who did it.
    pub by: String,
}

/// What others told, as far as it was brought in.
///
/// # Errors
/// If the record cannot be read.
pub fn told(reader: &Reader<'_>) -> Result<Vec<Told>> {
    Ok(reader.setting(KEY)?.and_then(|t| serde_json::from_str(&t).ok()).unwrap_or_default())
}

/// Most flowers of one line: more is a slip of the pen.
const MOST: u64 = 100_000;

/// Brings a table in: lines of seed parent, pollen parent, flowers treated, pods and who did it,
/// with tabs, semicolons or commas between, and a line of headers. All lines or none. Parents that
/// are not in the record become clones without plants. A line that is there already adds nothing.
///
/// A success without the number of flowers treated is refused: it belongs with the statements,
/// since nobody tells of the flowers that fell.
///
/// # Errors
/// The first line that cannot be used, with its number and what to write.
pub fn bring_in(journal: &Journal, hand: &Hand, table: &str) -> Result<usize> {
    let rows = read(table)?;
    let (operation, new) = journal_read(journal, |reader| {
        let about = "attempts by others";
        let mut pen = Pen::new(reader, hand, "bring_in", about);
        let mut new = Vec::new();
        for row in &rows {
            new.push(Told {
                seed: pen.clone_named(&row.seed)?,
                pollen: pen.clone_named(&row.pollen)?,
                flowers: row.flowers,
                pods: row.pods,
                by: row.by.clone(),
            });
        }
        Ok((pen.draft.finish(), new))
    })?;
    if !operation.changes.is_empty() {
        journal.write(&operation)?;
    }
    let added = journal.change_setting(KEY, |before| {
        let mut all: Vec<Told> =
            before.and_then(|t| serde_json::from_str(&t).ok()).unwrap_or_default();
        let had = all.len();
        for told in new {
            if !all.contains(&told) {
                all.push(told);
            }
        }
        let added = all.len() - had;
        (serde_json::to_string(&all).unwrap_or_else(|_| "[]".to_owned()), added)
    })?;
    Ok(added)
}

#[derive(Debug, PartialEq)]
struct Line {
    seed: String,
    pollen: String,
    flowers: u64,
    pods: u64,
    by: String,
}

const HEADERS: [&str; 5] = ["seed", "pollen", "flowers", "pods", "by"];

fn read(table: &str) -> Result<Vec<Line>> {
    let mut lines = table.lines().enumerate().filter(|(_, l)| !l.trim().is_empty());
    let Some((_, head)) = lines.next() else {
        let problem = "holds nothing; write a line of headers (seed, pollen, flowers, pods, by), \
                       then a line for each pair";
        return Err(AskError::field("table", "", problem));
    };
    let mark = ['\t', ';', ','].into_iter().find(|c| head.contains(*c)).unwrap_or(',');
    let titles: Vec<String> = head.split(mark).map(|c| c.trim().to_lowercase()).collect();
    let mut at = [0; 5];
    for (slot, wanted) in at.iter_mut().zip(HEADERS) {
        *slot = titles.iter().position(|t| t == wanted).ok_or_else(|| {
            let problem = if wanted == "flowers" {
                "has no column “flowers”: without the flowers that came to nothing a table tells \
                 nothing of a chance. Keep such successes as statements"
                    .to_owned()
            } else {
                format!("has no column “{wanted}”; the columns are {}", HEADERS.join(", "))
            };
            AskError::field("table", head.trim(), problem)
        })?;
    }
    lines
        .map(|(i, line)| one(i + 1, &line.split(mark).map(str::trim).collect::<Vec<_>>(), at))
        .collect()
}

fn one(number: usize, cells: &[&str], at: [usize; 5]) -> Result<Line> {
    let cell = |k: usize| cells.get(at[k]).copied().unwrap_or("");
    let wrong = |k: usize, problem: &str| {
        AskError::field(&format!("row {number}, {}", HEADERS[k]), cell(k), problem)
    };
    let count = |k: usize| {
        cell(k).parse::<u64>().ok().filter(|n| *n <= MOST).ok_or_else(|| {
            let problem = if k == 2 && cell(k).is_empty() {
                "is empty: without the flowers treated a pod says nothing of a chance. Count them, \
                 or keep this line as a statement"
            } else {
                "is not a whole number from 0 to 100000"
            };
            wrong(k, problem)
        })
    };
    let (flowers, pods) = (count(2)?, count(3)?);
    if flowers == 0 {
        return Err(wrong(2, "is none; leave the line out"));
    }
    if pods > flowers {
        return Err(wrong(3, "is more than the flowers treated; correct one of the two"));
    }
    for k in [0, 1, 4] {
        if cell(k).is_empty() {
            return Err(wrong(k, "is empty; write a name"));
        }
    }
    let (seed, pollen, by) = (cell(0).to_owned(), cell(1).to_owned(), cell(4).to_owned());
    Ok(Line { seed, pollen, flowers, pods, by })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tables_are_read_with_any_mark_and_any_order() {
        let commas = "seed,pollen,flowers,pods,by\nBegonia venosa,Begonia bowerae,6,2,Marl House";
        let tabs = "by\tpods\tflowers\tpollen\tseed\n\nMarl House\t2\t6\tBegonia bowerae\tBegonia venosa\n";
        let line = Line {
            seed: "Begonia venosa".to_owned(),
            pollen: "Begonia bowerae".to_owned(),
            flowers: 6,
            pods: 2,
            by: "Marl House".to_owned(),
        };
        assert_eq!(read(commas).unwrap(), [line]);
        assert_eq!(read(commas).unwrap(), read(tabs).unwrap());
    }

    #[test]
    fn a_success_without_its_failures_is_refused_with_its_row() {
        let head = "seed,pollen,flowers,pods,by\n";
        for (rest, named) in [
            ("a,b,,2,c", "row 2, flowers"),
            ("a,b,6,2,c\na,b,0,0,c", "row 3, flowers"),
            ("a,b,6,7,c", "row 2, pods"),
            ("a,b,6,some,c", "some"),
            (",b,6,2,c", "row 2, seed"),
            ("a,b,6,2,", "row 2, by"),
        ] {
            let error = read(&format!("{head}{rest}")).unwrap_err().to_string();
            assert!(error.contains(named), "{rest}: {error}");
        }
        let error = read("seed,pollen,pods,by\na,b,2,c").unwrap_err().to_string();
        assert!(error.contains("statements"), "{error}");
        assert!(read("").is_err());
    }
}
