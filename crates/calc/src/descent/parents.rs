//! A table of parents, read without keeping its cells.

use std::collections::HashMap;

use descent::{Gametes, Pedigree, PedigreeBuilder, PedigreeError, Side};

use super::DescentArgs;
use crate::{
    Problem, Result,
    table::{Input, no_column, no_header, no_rows, not_a_row, text, unequal},
};

/// The columns of gametes, copies first.
const GAMETES: [&str; 4] = ["tau_seed", "tau_pollen", "lambda_seed", "lambda_pollen"];

/// Reads the table of parents that the words name.
pub fn read(args: &DescentArgs) -> Result<Pedigree> {
    let (text, file) = text(&args.file)?;
    let mut candidates = candidates(args)?;
    let mut reading: Option<Reading<'_>> = None;
    each_block(&text, &file, |cells, width| {
        let mut records = cells.chunks(width);
        if reading.is_none() {
            let header: Vec<String> =
                records.next().unwrap_or(&[]).iter().map(|&c| c.to_owned()).collect();
            let all = std::mem::take(&mut candidates);
            reading = Some(Reading::new(&file, &header, args, text.len(), all)?);
        }
        let Some(reading) = &mut reading else { return Ok(()) };
        // Parents are named again and again, so that they are at hand as it is.
        let id = reading.at[0];
        reading.rows.expect(records.clone().map(|record| record[id]));
        records.try_for_each(|record| reading.row(|i| record[i]))
    })?;
    match reading {
        Some(reading) if reading.row > 1 => reading.end(),
        _ => Err(no_rows(&file)),
    }
}

/// Reads a table of parents that is there already.
pub fn from_input(input: &Input, args: &DescentArgs) -> Result<Pedigree> {
    let mut reading = Reading::new(input.file(), input.header(), args, 0, Candidates::new())?;
    for record in input.records() {
        reading.row(|i| record.get(i).unwrap_or(""))?;
    }
    reading.end()
}

/// Records that are handed on together.
const BLOCK: usize = 48;

/// Calls `each` with the cells of some dozens of records and how many each has, the header first.
///
/// Without quotes a record is a line and a cell is what lies between commas; that is read here, some
/// five times as fast. With quotes the general reader does it.
fn each_block(
    text: &str,
    file: &str,
    mut each: impl FnMut(&[&str], usize) -> Result<()>,
) -> Result<()> {
    if text.contains('"') {
        return each_quoted(text, file, each);
    }
    let mut cells: Vec<&str> = Vec::new();
    // Of the line that is read: its number, where its cell and where its first cell begin.
    let (mut line, mut from, mut first) = (1, 0, 0);
    let mut width = 0;
    let bytes = text.as_bytes();
    // One step more than there are bytes: the last line need not end.
    for at in 0..=bytes.len() {
        let byte = bytes.get(at).copied().unwrap_or(b'\n');
        if byte != b',' && byte != b'\n' {
            continue;
        }
        cells.push(trimmed(&text[from..at]));
        from = at + 1;
        if byte == b',' {
            continue;
        }
        line += 1;
        let record = &cells[first..];
        // Blank lines are passed over, as the general reader does.
        if record == [""] {
            cells.pop();
            continue;
        }
        if width == 0 {
            width = record.len();
            if record.iter().all(|c| c.is_empty()) {
                return Err(no_header(file));
            }
        }
        if record.len() != width {
            let found = record.len() as u64;
            // What stands above comes first, so that the first fault of the file is the one told.
            each(&cells[..first], width)?;
            return Err(unequal(file, line - 1, found, width as u64));
        }
        first = cells.len();
        if first >= BLOCK * width {
            each(&cells, width)?;
            cells.clear();
            first = 0;
        }
    }
    if cells.is_empty() { Ok(()) } else { each(&cells, width) }
}

fn each_quoted(
    text: &str,
    file: &str,
    mut each: impl FnMut(&[&str], usize) -> Result<()>,
) -> Result<()> {
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .trim(csv::Trim::All)
        .from_reader(text.as_bytes());
    let mut record = csv::StringRecord::new();
    while reader.read_record(&mut record).map_err(|e| not_a_row(file, &e))? {
        let cells: Vec<&str> = record.iter().collect();
        each(&cells, cells.len())?;
    }
    Ok(())
}

fn trimmed(cell: &str) -> &str {
    match cell.as_bytes() {
        [b'!'..=b'~', .., b'!'..=b'~'] | [b'!'..=b'~'] => cell,
        _ => cell.trim(),
    }
}

/// Those who may be a parent: for an id, on the seed and on the pollen side.
type Candidates = HashMap<String, [Vec<(String, f64)>; 2]>;

fn candidates(args: &DescentArgs) -> Result<Candidates> {
    let mut all = Candidates::new();
    let Some(path) = &args.candidates else { return Ok(all) };
    let input = Input::read(path)?;
    for column in ["id", "side", "parent"] {
        input.column(column)?;
    }
    for row in input.each() {
        let side = match row.text("side") {
            Some("seed") => Side::Seed,
            Some("pollen") => Side::Pollen,
            _ => return Err(row.refuse("side", "seed or pollen", "write one of the two")),
        };
        let fill = "fill the cell in";
        let id = row.text("id").ok_or_else(|| row.refuse("id", "an id", fill))?;
        let parent = row.text("parent").ok_or_else(|| row.refuse("parent", "an id", fill))?;
        let weight = row.maybe("weight")?.unwrap_or(1.0);
        if weight <= 0.0 {
            let next = "leave out who cannot be the parent";
            return Err(row.refuse("weight", "a number above 0", next));
        }
        let both = all.entry(id.to_owned()).or_default();
        both[side as usize].push((parent.to_owned(), weight));
    }
    Ok(all)
}

/// A table of parents while it is read.
struct Reading<'a> {
    file: &'a str,
    args: &'a DescentArgs,
    /// Columns of id, seed parent, pollen parent.
    at: [usize; 3],
    clone_of: Option<usize>,
    gametes: Option<[Option<usize>; 4]>,
    candidates: Candidates,
    rows: PedigreeBuilder,
    /// Of the file; the header is row 1.
    row: usize,
}

impl<'a> Reading<'a> {
    fn new(
        file: &'a str,
        header: &[String],
        args: &'a DescentArgs,
        text: usize,
        candidates: Candidates,
    ) -> Result<Self> {
        let maybe = |column: &str| header.iter().position(|h| h == column);
        let must = |column: &str| maybe(column).ok_or_else(|| no_column(file, header, column));
        let gametes = GAMETES.map(maybe);
        Ok(Reading {
            file,
            args,
            at: [must(&args.id)?, must(&args.seed_parent)?, must(&args.pollen_parent)?],
            clone_of: maybe(&args.clone_of),
            gametes: gametes.iter().any(Option::is_some).then_some(gametes),
            candidates,
            // Three ids of eight letters in a row.
            rows: PedigreeBuilder::with_capacity(text / 26, text / 3),
            row: 1,
        })
    }

    fn row<'c>(&mut self, cell: impl Fn(usize) -> &'c str) -> Result<()> {
        self.row += 1;
        let [id, seed, pollen] = self.at.map(&cell);
        let clone_of = self.clone_of.map_or("", &cell);
        let failed = |e: &PedigreeError| problem(self.file, self.args, e);
        self.rows.row(id, seed, pollen, clone_of).map_err(|e| failed(&e))?;
        let doubts = if self.candidates.is_empty() { None } else { self.candidates.remove(id) };
        if let Some(both) = doubts {
            for (side, list) in Side::BOTH.into_iter().zip(&both) {
                let known = [seed, pollen][side as usize];
                if !list.is_empty() && !known.is_empty() {
                    let column = [&self.args.seed_parent, &self.args.pollen_parent][side as usize];
                    return Err(Problem::cell(
                        self.file,
                        self.row,
                        column,
                        known,
                        format!("blank: “{id}” has candidates for it"),
                        "leave the cell blank, or leave the candidates out",
                    ));
                }
                let list: Vec<(&str, f64)> = list.iter().map(|(p, w)| (p.as_str(), *w)).collect();
                self.rows.candidates(side, &list).map_err(|e| failed(&e))?;
            }
        }
        if let Some(gametes) = self.told(&cell)? {
            self.rows.gametes(gametes).map_err(|e| failed(&e))?;
        }
        Ok(())
    }

    /// What the row says of its gametes, if anything.
    fn told<'c>(&self, cell: &impl Fn(usize) -> &'c str) -> Result<Option<Gametes>> {
        let Some(at) = self.gametes else { return Ok(None) };
        let text = at.map(|column| column.map_or("", cell));
        if text.iter().all(|t| t.is_empty()) {
            return Ok(None);
        }
        let mut gametes = Gametes::default();
        for side in 0..2 {
            let (copies, double) = (text[side], text[2 + side]);
            let refuse = |column: usize, expected: &str, hint: &str| {
                Err(Problem::cell(
                    self.file,
                    self.row,
                    GAMETES[column],
                    text[column],
                    expected,
                    hint,
                ))
            };
            if !copies.is_empty() {
                match copies.parse::<f64>() {
                    Ok(n) if n.fract() == 0.0 && (0.0..=f64::from(Gametes::MOST)).contains(&n) => {
                        gametes.copies[side] = n as u8;
                    }
                    _ => {
                        let next = "write how many copies of each gene the gamete had";
                        return refuse(side, "a whole number from 0 to 32", next);
                    }
                }
                let other = 1 - side;
                if at[other].is_none() && gametes.copies[side] != 1 {
                    let expected = format!("usable without the column {}", GAMETES[other]);
                    return refuse(side, &expected, "add the column, so that the ploidy is known");
                }
            }
            if !double.is_empty() {
                match double.parse::<f64>() {
                    Ok(x) if (0.0..=1.0).contains(&x) => gametes.double_reduction[side] = x,
                    _ => {
                        let next = "write the share of double reduction, with a dot";
                        return refuse(2 + side, "a number from 0 to 1", next);
                    }
                }
            }
        }
        Ok(Some(gametes))
    }

    fn end(self) -> Result<Pedigree> {
        if let Some(id) = self.candidates.keys().min() {
            let named = self.args.candidates.as_ref().map(|p| p.display().to_string());
            return Err(Problem::input(
                format!(
                    "{}: “{id}” has candidates but no row in {}",
                    named.unwrap_or_default(),
                    self.file
                ),
                "correct the id, or add a row for it",
            ));
        }
        self.rows.build().map_err(|e| problem(self.file, self.args, &e))
    }
}

/// Rows of the calculator count from 1 below the header; in the file the header is row 1.
fn problem(file: &str, args: &DescentArgs, error: &PedigreeError) -> Problem {
    match error {
        PedigreeError::BlankId { row } => {
            Problem::cell(file, row + 1, &args.id, "", "an id", "give the plant an id")
        }
        PedigreeError::Duplicate { id, first, second } => Problem::cell(
            file,
            second + 1,
            &args.id,
            id,
            format!("new: row {} has it too", first + 1),
            "keep one of the rows, or give the second another id",
        ),
        PedigreeError::CloneOfTwo { id, first, second, row } => Problem::cell(
            file,
            row + 1,
            &args.clone_of,
            second,
            format!("possible: “{id}” is already said to be a piece of “{first}”"),
            "keep the one that is right",
        ),
        PedigreeError::Gametes { row, id, fault } => {
            let text = fault.to_string();
            let (what, next) = text.rsplit_once("; ").unwrap_or((&text, "correct the row"));
            Problem::input(format!("{file}, row {}: “{id}” has {what}", row + 1), next)
        }
        other => {
            let text = other.to_string();
            let (what, next) = text.rsplit_once("; ").unwrap_or((&text, "correct the table"));
            Problem::input(format!("{file}: {what}"), next)
        }
    }
}
