//! Rows as understood, with the original beside them, and what is left over.

use std::collections::{BTreeMap, HashMap};

use answers::{
    Hand,
    acts::bring_in::{Fate, Part, Preview, Reading, Row, problem_words},
    name_text,
};
use maud::{Markup, html};
use texts::Texts;

use super::questions::{at, date, number};
use crate::markup;

/// Rows on one page.
const PAGE: usize = 200;
/// Up to so many rows, every row with a correction stands open.
const SHORT: usize = 100;

struct Table<'a> {
    r: &'a Reading,
    preview: &'a Preview,
    hand: &'a Hand,
    /// Numbers of the open questions of each row.
    open: HashMap<usize, Vec<(usize, &'a str)>>,
}

/// Rows as understood: those with a question first, the others folded.
pub(super) fn understood(
    r: &Reading,
    preview: &Preview,
    hand: &Hand,
    id: &str,
    page: usize,
) -> Markup {
    let t = hand.texts();
    let mut open: HashMap<usize, Vec<(usize, &str)>> = HashMap::new();
    for q in r.questions.iter().filter(|q| r.open.contains(&q.id)) {
        if let Some(n) = number(r, &q.id) {
            for row in &q.rows {
                open.entry(*row).or_default().push((n, q.id.as_str()));
            }
        }
    }
    let table = Table { r, preview, hand, open };
    let (look, calm): (Vec<usize>, Vec<usize>) =
        (0..r.rows.len()).partition(|i| table.to_look_at(*i));
    let pages = look.len().max(calm.len()).div_ceil(PAGE);
    let slice = |list: &[usize]| -> Vec<usize> {
        list.iter().skip(page * PAGE).take(PAGE).copied().collect()
    };
    let (some, others) = (slice(&look), slice(&calm));
    html! {
        section.sect id="rows" {
            h2 { (t.t("Rows as understood")) }
            p class="note under" {
                (t.t("What Umbel corrected or filled in is")) " " span.fix { (t.t("set like this")) }
                (t.t("; everything else is as typed."))
            }
            @if r.rows.is_empty() { p { (t.t("No row was understood as a plant. The columns can be changed below.")) } }
            @if !some.is_empty() { (table.show(&some)) }
            @if !others.is_empty() {
                details.more open[look.is_empty()] {
                    summary {
                        @if look.is_empty() { (t.f("One row, without a question|{n} rows, none with a question", &[("n", &calm.len())])) }
                        @else { (t.f("One more row, without a question|{n} more rows, none with a question", &[("n", &calm.len())])) }
                    }
                    (table.show(&others))
                }
            }
            @if pages > 1 {
                nav.pager aria-label=(t.t("Pages of rows")) {
                    @if page > 0 { a href=(format!("/import/{id}?page={}#rows", page - 1)) { (t.t("earlier rows")) } }
                    span { (t.f("page {a} of {b}", &[("a", &(page + 1)), ("b", &pages)])) }
                    @if page + 1 < pages { a href=(format!("/import/{id}?page={}#rows", page + 1)) { (t.t("later rows")) } }
                }
            }
        }
    }
}

impl Table<'_> {
    fn t(&self) -> Texts {
        self.hand.texts()
    }

    fn to_look_at(&self, i: usize) -> bool {
        let row = &self.r.rows[i];
        self.open.contains_key(&i)
            || row.needs_a_person
            || matches!(self.preview.fates.get(i), Some(Fate::LeftOver(_)))
            || (self.r.rows.len() <= SHORT
                && (!row.corrected.is_empty()
                    || row.problems.iter().any(|p| problem_words(p, self.t()).is_some())))
    }

    fn show(&self, rows: &[usize]) -> Markup {
        let t = self.t();
        let sheet = |n: usize| self.r.rows[rows[n]].sheet.as_deref();
        html! {
            table class="t rows stack" {
                colgroup { col; col; col; col; col; col; }
                thead { tr {
                    th.no { (t.t("Row")) } th { (t.t("Plant, and its parents if told")) } th { (t.t("From")) }
                    th { (t.t("When")) } th { (t.t("Place")) } th { (t.t("In the file")) }
                } }
                tbody { @for (n, i) in rows.iter().enumerate() {
                    @let row = &self.r.rows[*i];
                    @if row.sheet.is_some() && (n == 0 || sheet(n) != sheet(n - 1)) {
                        tr.sheet { th colspan="6" scope="rowgroup" { (row.sheet.as_deref().unwrap_or("")) } }
                    }
                    (self.row(*i, row))
                } }
            }
        }
    }

    fn row(&self, i: usize, row: &Row) -> Markup {
        html! {
            tr id=(format!("row-{i}")) {
                td class="no num" { (row.row) }
                td { (self.name(i, row)) @for line in self.under(i, row) { small { (line) } } }
                td { (self.source(row)) }
                td.num { (self.when(i, row)) }
                td {
                    @if let Some(place) = &row.place { (part(row, Part::Place, &html! { (place) })) }
                    @if let Some(pot) = &row.pot { small { (part(row, Part::Pot, &html! { (pot.value) "\u{202f}" (pot.unit) })) } }
                }
                td.raw { (raw(row)) }
            }
        }
    }

    /// The open question of a row of this kind, as a link.
    fn question(&self, i: usize, kinds: &[&str]) -> Option<Markup> {
        let found = self.open.get(&i)?.iter().find(|q| kinds.iter().any(|k| q.1.starts_with(k)))?;
        Some(html! {
            a.open href=(format!("#question-{}", found.0)) { (self.t().f("question {n}", &[("n", &found.0)])) }
        })
    }

    fn name(&self, i: usize, row: &Row) -> Markup {
        let asked = self.question(i, &["name:", "genus:"]);
        match &row.name {
            Some(name) => html! {
                (part(row, Part::Name, &markup::name(&name_text(name))))
                @if let Some(q) = asked { ", " (q) } @else if row.needs_a_person { " " span.open { (self.t().t("in doubt")) } }
            },
            None => html! {
                span.open { (self.t().t("name not known yet")) }
                @if let Some(q) = asked { ", " (q) }
            },
        }
    }

    /// Parents, price, number, and what becomes of the row.
    fn under(&self, i: usize, row: &Row) -> Vec<Markup> {
        let t = self.t();
        let mut out = Vec::new();
        // A formula in place of a name says the parents already.
        let formula = row.name.as_deref().is_some_and(|n| n.contains(" × "));
        if !formula && (row.seed_parent.is_some() || row.pollen_parent.is_some()) {
            out.push(parents(row, t));
        }
        let fate = match self.preview.fates.get(i) {
            Some(Fate::LeftOver(why)) => t.f("left over: {why}", &[("why", why)]),
            Some(Fate::Before(_) | Fate::LeftBefore) => {
                t.t("brought in before; adds nothing").to_owned()
            }
            Some(Fate::Cross) => t.t("a cross without a plant").to_owned(),
            Some(Fate::Same(to)) => self.other(row, *to, t.t("the plant of row")),
            Some(Fate::Piece(to)) => self.other(row, *to, t.t("another piece of row")),
            _ => String::new(),
        };
        let count = (row.count > 1).then(|| t.f("one plant|{n} plants", &[("n", &row.count)]));
        let tag = row.tag.as_ref().map(|n| t.f("number {n}", &[("n", n)]));
        let price = row.price.as_ref().map(|p| match &p.currency {
            Some(currency) => format!("{:.2} {currency}", p.amount),
            None => {
                t.f("price {amount}, currency not told", &[("amount", &format!("{:.2}", p.amount))])
            }
        });
        let state = match row.state.as_str() {
            "dead" => Some(t.t("dead").to_owned()),
            "given_away" => Some(t.t("given away").to_owned()),
            "unknown" if !matches!(self.preview.fates.get(i), Some(Fate::Cross)) => {
                Some(t.t("not known whether it lives").to_owned())
            }
            _ => None,
        };
        let received = row.received_as.as_ref().map(|r| t.word(&r.replace('_', " ")));
        let facts: Vec<String> =
            [Some(fate).filter(|f| !f.is_empty()), tag, received, count, price, state]
                .into_iter()
                .flatten()
                .collect();
        if !facts.is_empty() {
            out.push(html! { (facts.join(", ")) });
        }
        let told: Vec<String> = row
            .problems
            .iter()
            .filter(|p| !said_elsewhere(p))
            .filter_map(|p| problem_words(p, t))
            .collect();
        if !told.is_empty() {
            out.push(html! { span.open { (told.join("; ")) } });
        }
        if let Some(q) = self.question(i, &["plants:"]) {
            out.push(q);
        }
        if let Some(q) = self.question(i, &["currency:"]) {
            out.push(html! { span.open { (t.t("price:")) } " " (q) });
        }
        out
    }

    fn other(&self, row: &Row, to: usize, words: &str) -> String {
        let Some(other) = self.r.rows.get(to) else { return String::new() };
        if other.sheet == row.sheet {
            format!("{words} {}", other.row)
        } else {
            format!("{words} {}", at(other))
        }
    }

    fn source(&self, row: &Row) -> Markup {
        match row.source.as_deref() {
            Some("own") => part(row, Part::Source, &html! { (self.t().t("own")) }),
            Some(source) => part(row, Part::Source, &html! { (source) }),
            None => html! {},
        }
    }

    fn when(&self, i: usize, row: &Row) -> Markup {
        if let Some(q) = self.question(i, &["date"]) {
            return q;
        }
        match &row.acquired {
            Some(edtf) => part(row, Part::Acquired, &html! { (date(edtf, self.hand)) }),
            None => html! {},
        }
    }
}

/// Problems that the row shows by itself.
fn said_elsewhere(code: &str) -> bool {
    let head = code.split(':').next().unwrap_or(code);
    matches!(
        head,
        "duplicate_of_row"
            | "same_clone_as_row"
            | "several_in_one_row"
            | "dead"
            | "given_away"
            | "possible_duplicate_of_row"
            | "same_clone_uncertain_row"
    )
}

fn part(row: &Row, part: Part, inside: &Markup) -> Markup {
    html! { @if row.corrected.contains(&part) { span.fix { (inside) } } @else { (inside) } }
}

fn parents(row: &Row, t: Texts) -> Markup {
    let one = |name: &Option<String>, which: Part| -> Markup {
        let words = match name.as_deref() {
            Some("unknown") => html! { (t.t("unknown")) },
            Some(name) => markup::name(&name_text(name)),
            None => html! { (t.t("not told")) },
        };
        part(row, which, &words)
    };
    html! { (one(&row.seed_parent, Part::SeedParent)) " × " (one(&row.pollen_parent, Part::PollenParent)) }
}

/// The row as it stood in the file.
fn raw(row: &Row) -> String {
    row.cells.iter().map(|c| c.trim()).filter(|c| !c.is_empty()).collect::<Vec<_>>().join(" | ")
}

fn cut(text: &str) -> String {
    let flat = text.split_whitespace().collect::<Vec<_>>().join(" ");
    match flat.char_indices().nth(90) {
        Some((end, _)) => format!("{}…", &flat[..end]),
        None => flat,
    }
}

type Group = (Vec<String>, Vec<String>);

/// Lines of the left-over list: where, what stood there, what becomes of it.
fn lines(r: &Reading, preview: &Preview, t: Texts) -> Vec<(String, String, String)> {
    let mut out = Vec::new();
    // By reason and sheet: the rows, and what stood there.
    let mut skipped: BTreeMap<(&str, Option<&str>), Group> = BTreeMap::new();
    for s in &r.skipped {
        let group = skipped.entry((s.why.as_str(), s.sheet.as_deref())).or_default();
        group.0.push(s.row.to_string());
        if !s.text.trim().is_empty() {
            group.1.push(format!("“{}”", cut(&s.text)));
        }
    }
    for ((why, sheet), (rows, texts)) in skipped {
        let place = places(&rows, sheet, t);
        let what = texts.iter().take(4).cloned().collect::<Vec<_>>().join(", ");
        let more = texts.len().saturating_sub(4);
        let what = if more > 0 {
            format!("{what} {}", t.f("and {n} more", &[("n", &more)]))
        } else {
            what
        };
        let fate = format!("{}; {}", t.word(why), t.t("skipped."));
        out.push((place, what, super::capital(&fate)));
    }
    for (i, row) in r.rows.iter().enumerate() {
        if let Some(Fate::LeftOver(why)) = preview.fates.get(i) {
            out.push((
                places(&[at(row)], None, t),
                format!("“{}”", cut(&raw(row))),
                t.f("Left over, to be mended: {why}", &[("why", why)]),
            ));
        }
    }
    for (i, plant) in &preview.tags_taken {
        if let Some(row) = r.rows.get(*i) {
            out.push((
                places(&[at(row)], None, t),
                row.tag.clone().unwrap_or_default(),
                t.f(
                    "Plant {n} has this number or tag already; it is kept on both.",
                    &[("n", plant)],
                ),
            ));
        }
    }
    out.extend(groups(r, preview, t));
    out
}

/// What many rows have in common.
fn groups(r: &Reading, preview: &Preview, t: Texts) -> Vec<(String, String, String)> {
    type Wanted<'a> = Box<dyn Fn(usize, &Row) -> bool + 'a>;
    let fate = |i: usize| preview.fates.get(i);
    let groups: [(Wanted<'_>, &str); 5] = [
        (
            Box::new(|i, row| {
                row.state == "dead" && matches!(fate(i), Some(Fate::Plants | Fate::Piece(_)))
            }),
            t.t("Kept, as plants that died; the day is not known."),
        ),
        (
            Box::new(|_, row| row.state == "given_away"),
            t.t("Kept, as plants that went; the day is not known."),
        ),
        (Box::new(|_, row| row.count > 1), t.t("Several plants of one row; each gets its number.")),
        (
            Box::new(|i, _| matches!(fate(i), Some(Fate::Same(_)))),
            t.t("The plant of another row; only the words are added to it."),
        ),
        (Box::new(|_, row| !row.notes.is_empty()), t.t("Kept word for word as notes.")),
    ];
    let mut out = Vec::new();
    for (g, (wanted, words)) in groups.iter().enumerate() {
        let rows: Vec<&Row> =
            r.rows.iter().enumerate().filter(|(i, row)| wanted(*i, row)).map(|p| p.1).collect();
        if rows.is_empty() {
            continue;
        }
        let place: Vec<String> = rows.iter().map(|r| at(r)).collect();
        let text = |row: &Row| match g {
            4 => row.notes.first().cloned().unwrap_or_default(),
            2 => format!("{} × {}", row.count, row.name.clone().unwrap_or_default()),
            _ => row.name.clone().unwrap_or_default(),
        };
        let mut what: Vec<String> =
            rows.iter().take(4).map(|r| format!("“{}”", cut(&text(r)))).collect();
        if rows.len() > 4 {
            what.push(t.f("and {n} more", &[("n", &(rows.len() - 4))]));
        }
        out.push((places(&place, None, t), what.join(", "), (*words).to_owned()));
    }
    out
}

fn places(rows: &[String], sheet: Option<&str>, t: Texts) -> String {
    let mut list = rows.iter().take(8).cloned().collect::<Vec<_>>().join(", ");
    if rows.len() > 8 {
        list.push_str(" …");
    }
    let words = t.f("row {list}|rows {list}", &[("n", &rows.len()), ("list", &list)]);
    match sheet {
        Some(sheet) => format!("{sheet}, {words}"),
        None => words,
    }
}

/// Lines shown before the rest is folded.
const LEFT: usize = 40;

/// What did not become a plant, or only in part.
pub(super) fn left(r: &Reading, preview: &Preview, t: Texts) -> Markup {
    let lines = lines(r, preview, t);
    let (first, more) = lines.split_at(lines.len().min(LEFT));
    let list = |lines: &[(String, String, String)]| {
        html! { ol.left { @for (place, what, fate) in lines {
            li { span class="q num" { (place) } span { (what) } span.q { (fate) } }
        } } }
    };
    html! {
        @if !lines.is_empty() {
            section.sect {
                h2 { (t.t("Left over")) }
                p class="note under" { (t.t("What did not become a plant, or only in part, and what is done with it.")) }
                (list(first))
                @if !more.is_empty() {
                    details.more { summary { (t.f("One more line|{n} more lines", &[("n", &more.len())])) } (list(&more[..more.len().min(500)])) }
                }
            }
        }
    }
}
