//! `umbel show`: a plant's page in the terminal.

use answers::{JournalLine, NameText, ParentNode, PlantPage, Sentence, plant_page, whole_journal};
use clap::Args;

use crate::{
    ask, evidence_text,
    house::House,
    out::{Form, Out, Table},
    problem::Result,
    target,
};

/// Show a plant's page: name, origin, parentage, answers, journal
#[derive(Debug, Args)]
pub struct ShowArgs {
    /// The plant, by number, code or seedling:19-7
    pub plant: String,
    /// Show the whole journal, not only the latest entries
    #[arg(long)]
    pub journal: bool,
}

/// How many entries are shown unless the whole journal is asked for.
const SHOWN: usize = 12;

/// Runs it.
pub fn run(house: &House, args: &ShowArgs) -> Result {
    let journal = house.journal()?;
    let (mut page, _) = house.read(&journal, |reader| {
        let number = target::plant(reader, &house.hand, &args.plant)?;
        let mut page = plant_page(reader, number, &house.hand)?;
        if args.journal {
            page.journal = whole_journal(reader, number, &house.hand)?;
        }
        Ok((page, ()))
    })?;
    match house.out.form() {
        Form::Json => house.out.json(&page),
        Form::Csv => house.out.table(&journal_table(&page.journal)),
        Form::Table => {
            let all = page.journal.len();
            if !args.journal {
                page.journal.truncate(SHOWN);
            }
            print(house, &page, all);
            Ok(())
        }
    }
}

/// A sentence with the names it mentions.
pub fn sentence(out: &Out, s: &Sentence) -> String {
    let mut text = String::new();
    let mut names = s.names.iter();
    for (i, piece) in s.text.split("{}").enumerate() {
        if i > 0
            && let Some(name) = names.next()
        {
            text.push_str(&out.name(name));
        }
        text.push_str(piece);
    }
    if let Some(note) = s.note.as_deref().filter(|n| !n.is_empty()) {
        if !text.is_empty() {
            text.push(' ');
        }
        text.push_str(note);
    }
    text
}

fn print(house: &House, page: &PlantPage, all: usize) {
    let out = &house.out;
    let t = house.hand.texts();
    let p = &page.plant;
    out.line(&format!("{}  {}", out.strong(&p.number.to_string()), out.name(&page.name)));
    let state = t.word(&p.state);
    out.line(&out.weak(&format!("code {}, {state}, {} entries", p.code, page.entries)));
    if let Some(words) = &page.suspected {
        out.line(&format!("suspected: {words}"));
    }
    origin(house, page);
    names_of(out, page);
    pieces(out, page);
    if let Some(parentage) = &page.parentage {
        out.heading("Parentage");
        tree(out, &parentage.tree);
        for share in &parentage.shares {
            out.line(&format!("  {:>5}  {}", share.fraction, out.name(&share.name)));
        }
        if parentage.inbreeding > 0.0 {
            out.line(&format!("  inbreeding {}", parentage.inbreeding));
        }
    }
    if !page.children.is_empty() {
        out.heading("Seedlings");
        for (name, plant) in &page.children {
            out.line(&format!("  {}{}", out.name(name), numbered(*plant)));
        }
    }
    out.heading("Answers");
    for answer in &page.answers {
        ask::print(house, answer);
    }
    if !page.answers.is_empty() {
        out.line(&out.weak(evidence_text::LEGEND));
    }
    journal(out, &page.journal, all);
    others(out, page);
    if !page.missing.is_empty() {
        out.heading("Not recorded yet");
        out.line(&format!("  {}", page.missing.join(", ")));
    }
}

fn numbered(plant: Option<i64>) -> String {
    plant.map(|n| format!(" ({n})")).unwrap_or_default()
}

fn origin(house: &House, page: &PlantPage) {
    let out = &house.out;
    let p = &page.plant;
    if let Some(s) = &page.arrived {
        out.line(&sentence(out, s));
    }
    if !p.place.is_empty() {
        let since = page.placed.as_ref().map(|d| format!(" since {d}")).unwrap_or_default();
        out.line(&format!("stands at {}{since}", p.place));
    }
    if let Some((s, when)) = &page.potted {
        out.line(&format!("{} {}", sentence(out, s), out.weak(when)));
    }
    if !p.tag.is_empty() {
        out.line(&format!("tag {}", p.tag));
    }
    if let Some(row) = &page.brought_in {
        out.line(&out.weak(&format!("brought in from {row}")));
    }
}

fn names_of(out: &Out, page: &PlantPage) {
    if page.names.len() < 2 && page.names.iter().all(|n| n.doubt.is_none()) {
        return;
    }
    out.heading("Names");
    for n in &page.names {
        let parts: Vec<String> = [
            Some(n.since.clone()),
            Some(n.standing.replace('_', " ")),
            n.doubt.clone(),
            n.said_by.as_ref().map(|w| format!("on the word of {w}")),
            n.reason.clone(),
        ]
        .into_iter()
        .flatten()
        .filter(|w| !w.is_empty())
        .collect();
        let mark = if n.holds { "now" } else { "was" };
        out.line(&format!("  {mark}  {}  {}", out.name(&n.name), out.weak(&parts.join(", "))));
    }
}

fn pieces(out: &Out, page: &PlantPage) {
    if page.pieces.is_empty() {
        return;
    }
    out.heading("Pieces of the same clone");
    for piece in &page.pieces {
        let plant = piece.plant.map(|n| format!("{n}  ")).unwrap_or_default();
        out.line(
            format!("  {plant}{}  {}  {}", piece.where_, piece.state, out.weak(&piece.since))
                .trim_end(),
        );
    }
}

fn tree(out: &Out, root: &ParentNode) {
    out.line(&format!("  {}", out.name(&root.name)));
    branches(out, root, "  ");
}

fn branches(out: &Out, node: &ParentNode, indent: &str) {
    let last = node.parents.len().saturating_sub(1);
    for (i, parent) in node.parents.iter().enumerate() {
        let (branch, below) = if i == last { ("└─", "   ") } else { ("├─", "│  ") };
        let side = if i == 0 { "seed parent" } else { "pollen parent" };
        let behind = match parent.behind {
            0 => String::new(),
            n => format!(", {n} more behind"),
        };
        out.line(&format!(
            "{indent}{branch} {} {}{}{}",
            out.weak(side),
            out.name(&parent.name),
            numbered(parent.plant),
            out.weak(&format!("  {}{behind}", parent.fraction)),
        ));
        branches(out, parent, &format!("{indent}{below}"));
    }
}

fn journal(out: &Out, lines: &[JournalLine], all: usize) {
    if lines.is_empty() {
        return;
    }
    out.heading("Journal");
    print_lines(out, lines);
    if lines.len() < all {
        out.line(&out.weak(&format!("  {} earlier entries: --journal", all - lines.len())));
    }
}

/// Prints lines of a journal, with the year where it changes.
pub fn print_lines(out: &Out, lines: &[JournalLine]) {
    let mut year = None;
    for line in lines {
        if line.year != year {
            year = line.year;
            if let Some(y) = year {
                out.line(&out.weak(&format!("  {y}")));
            }
        }
        let mut text = format!("  {:<12} {}", line.date, sentence(out, &line.sentence));
        if let Some(written) = &line.written {
            text.push_str(&out.weak(&format!(" (remembered, {written})")));
        }
        if !line.live {
            let why = line.why.as_deref().unwrap_or("withdrawn");
            text.push_str(&out.weak(&format!(" [{why}]")));
        }
        out.line(text.trim_end());
    }
}

/// Lines of a journal as a table.
pub fn journal_table(lines: &[JournalLine]) -> Table {
    let plain = Out::plain();
    let mut table = Table::new(&["date", "year", "kind", "sentence", "known", "holds"]);
    for line in lines {
        table.row(vec![
            (&line.date).into(),
            line.year.map(i64::from).into(),
            (&line.kind).into(),
            sentence(&plain, &line.sentence).into(),
            line.known.as_str().into(),
            crate::out::Cell::Value(line.live.into()),
        ]);
    }
    table
}

fn others(out: &Out, page: &PlantPage) {
    if !page.statements.is_empty() {
        out.heading("Said by others");
        for s in &page.statements {
            let source: Vec<&str> = [
                Some(s.row.said_by.as_str()),
                Some(s.said_on.as_str()),
                s.row.medium.as_deref(),
                s.row.address.as_deref(),
                s.row.spot.as_deref(),
                s.row.trust.as_deref(),
            ]
            .into_iter()
            .flatten()
            .filter(|w| !w.is_empty())
            .collect();
            out.line(&format!("  “{}” {}", s.row.text, out.weak(&source.join(", "))));
        }
    }
    let open: Vec<_> = page.questions.iter().filter(|q| !q.answered).collect();
    if !open.is_empty() {
        out.heading("To ask");
        for q in open {
            let whom =
                if q.keeper.is_empty() { String::new() } else { format!("  ({})", q.keeper) };
            out.line(&format!("  {}{whom}", q.text));
        }
    }
}

/// A set name as a line, for pages of crosses, keepers and places.
pub fn titled(out: &Out, number: i64, name: &NameText) {
    out.line(&format!("{}  {}", out.strong(&number.to_string()), out.name(name)));
}
