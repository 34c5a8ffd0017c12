//! Names, answers and journal lines as markup: the same everywhere.

use answers::{
    Answer, BitKind, Hand, JournalLine, Mark, NameText, ParentNode, Parentage, Said, Sentence, say,
};
use drawing::{ChartWords, EvidenceLine, EvidenceWords, Label, Seen, ShareRow, Tree, Who};
use journal::Known;
use maud::{Markup, PreEscaped, html};
use names::Style;
use texts::Texts;

/// A name, set.
pub(crate) fn name(text: &NameText) -> Markup {
    html! { span.n { (runs(text)) } }
}

/// The runs of a name. A cultivar epithet is not broken across lines if it fits.
fn runs(text: &NameText) -> Markup {
    html! {
        @for run in &text.runs {
            @match run.style {
                Style::Italic => { i { (run.text) } }
                Style::SmallCaps => { span.sc { (run.text) } }
                Style::Roman => {
                    @if run.text.starts_with('‘') { span.nb { (run.text) } } @else { (run.text) }
                }
            }
        }
    }
}

/// A name with its genus abbreviated, for lists under one genus.
pub(crate) fn linked(text: &NameText, plant: i64) -> Markup {
    html! { a.n href=(format!("/plants/{plant}")) { (runs(text)) } }
}

/// A sentence of the journal with its names.
pub(crate) fn sentence(s: &Sentence) -> Markup {
    let mut names = s.names.iter();
    html! {
        @for (i, piece) in s.text.split("{}").enumerate() {
            @if i > 0 { @if let Some(n) = names.next() { (name(n)) } }
            (piece)
        }
        @if let Some(note) = &s.note {
            @if !s.text.is_empty() { " " }
            (note)
        }
    }
}

/// A line of the journal, with the acts on it.
pub(crate) fn journal_line(line: &JournalLine, t: Texts, plant: Option<i64>) -> Markup {
    let class = match (line.live, line.known) {
        (false, _) => "void",
        (true, Known::Remembered) => "rem",
        _ => "",
    };
    html! {
        li class=(class) id=(format!("e-{}", line.uid)) {
            time { (line.date) }
            span {
                @if line.live { (sentence(&line.sentence)) } @else { s { (sentence(&line.sentence)) } }
                @if let Some(why) = &line.why {
                    span.why { (t.f("Withdrawn: {why}.", &[("why", why)])) }
                } @else if !line.live {
                    span.why { (t.t("Withdrawn.")) }
                }
                @if let Some(written) = &line.written {
                    span.why { (t.f("Remembered later, {when}.", &[("when", written)])) }
                }
                @match line.known {
                    Known::Photo => { span.why { (t.t("From a photo.")) } }
                    Known::Told => { span.why { (t.t("Told by somebody else.")) } }
                    _ => {}
                }
                @if line.live && line.kind == "damage_seen" { @if let Some(plant) = plant {
                    " " a.edit href=(format!("/plants/{plant}/sprayed?entry={}", line.uid)) { (t.t("what was sprayed before")) }
                } }
                @if line.live { @if let Some(plant) = plant {
                    a.mend href=(format!("/plants/{plant}/entries/{}", line.uid)) aria-label=(t.t("Mend this entry")) { (t.t("mend")) }
                } }
            }
        }
    }
}

/// A journal under headings of years.
pub(crate) fn journal_list(lines: &[JournalLine], t: Texts, plant: Option<i64>) -> Markup {
    html! {
        ol {
            @for year in lines.chunk_by(|a, b| a.year == b.year) {
                li.y {
                    @match year.first().and_then(|l| l.year) {
                        Some(y) => { (y) }
                        None => { (t.t("Date not known")) }
                    }
                }
                @for line in year { (journal_line(line, t, plant)) }
            }
        }
    }
}

pub(crate) fn bits(said: &[answers::Bit]) -> Markup {
    html! {
        @for bit in said {
            @match bit.kind {
                BitKind::Plain => { (bit.text) }
                BitKind::Weak => { span.w { (bit.text) } }
                BitKind::Value => { span.v { (bit.text) } }
                BitKind::Interval => { span.iv { (bit.text) } }
                BitKind::Absent => { span class="v gr" { (bit.text) } }
            }
        }
    }
}

/// An answer: sentence, evidence line, basis, and in the margin what is missing.
pub(crate) fn answer(
    answer: &Answer,
    said: &Said,
    first_day: i64,
    start: &str,
    hand: &Hand,
) -> Markup {
    let t = hand.texts();
    let wait = answer.usually.is_none();
    html! {
        section class="answer row" {
            div {
                p class=(if wait { "say wait" } else { "say" }) { (bits(&said.head)) }
                @if !said.next.is_empty() { p class="say next" { (bits(&said.next)) } }
                (PreEscaped(evidence(answer, said, first_day, start, hand)))
                p.basis { b { (said.count) } " " (said.basis) }
            }
            div {
                @for gap in &said.gaps { p.note { (gap) } }
                @for (lead, check) in &said.cautions { p class="note caution" { b { (lead) } " " (check) } }
                p.note { a href=(format!("/how/{}", answer.question)) { (t.t("How this was computed")) } }
            }
        }
    }
}

/// An answer said and set.
pub(crate) fn answer_of(a: &Answer, first_day: i64, start: &str, hand: &Hand) -> Markup {
    answer(a, &say(a, hand), first_day, start, hand)
}

fn seen(known: Known) -> Seen {
    match known {
        Known::Seen => Seen::AtTheTime,
        Known::Remembered => Seen::Remembered,
        Known::Photo => Seen::FromPhoto,
        Known::Told => Seen::Told,
    }
}

pub(crate) fn evidence(
    answer: &Answer,
    said: &Said,
    first_day: i64,
    start: &str,
    hand: &Hand,
) -> String {
    let t = hand.texts();
    let marks: Vec<drawing::Mark> = answer
        .evidence
        .marks
        .iter()
        .map(|m| match *m {
            Mark::At { day, known } => drawing::Mark::At { day, seen: seen(known) },
            Mark::Between { from, to, known } => {
                drawing::Mark::Between { from, to, seen: seen(known) }
            }
            Mark::Open { from, to, known } => drawing::Mark::Open { from, to, seen: seen(known) },
            Mark::Borrowed { day } => drawing::Mark::Borrowed { day },
            Mark::Missing { count } => drawing::Mark::Missing { count },
        })
        .collect();
    let whole = t.f("whole life, from {start}", &[("start", &start)]);
    let long = |months: u32| t.f("no record, one month|no record, {n} months", &[("n", &months)]);
    let short = |months: u32| t.f("one month|{n} months", &[("n", &months)]);
    let words = EvidenceWords {
        start,
        whole_life: &whole,
        today: t.t("today"),
        quarters: [t.t("April"), t.t("July"), t.t("October")],
        gap: &long,
        gap_short: &short,
    };
    drawing::evidence_line(&EvidenceLine {
        start: first_day,
        today: hand.today_number(),
        marks: &marks,
        aria: &said.line,
        words: &words,
    })
}

/// A name as a label of a drawing.
pub(crate) fn drawn(text: &NameText, plant: Option<i64>) -> Label {
    let mut label = Label::roman("");
    label.runs.clear();
    for run in &text.runs {
        label = match run.style {
            Style::Italic => label.then_italic(run.text.clone()),
            _ => label.then_roman(run.text.clone()),
        };
    }
    match plant {
        Some(n) => label.linking(format!("/plants/{n}")),
        None => label,
    }
}

fn tree(node: &ParentNode) -> Tree {
    let label = drawn(&node.name, node.plant);
    let who = if node.unknown { Who::Unknown(label) } else { Who::Known(label) };
    let parents = match node.parents.as_slice() {
        [seed, pollen] => Some(Box::new([tree(seed), tree(pollen)])),
        _ => None,
    };
    Tree { who, parents, behind: node.behind }
}

/// The parentage chart, wide and narrow, and the table of shares.
pub(crate) fn parentage(p: &Parentage, name: &NameText, t: Texts) -> Markup {
    let aria = t
        .f("Parentage of {name}: {tree}", &[("name", &name.plain), ("tree", &outline(&p.tree, t))]);
    let behind = |n: usize| t.f("… and one more behind|… and {n} more behind", &[("n", &n)]);
    let words = ChartWords {
        seed_parent: t.t("seed parent"),
        pollen_parent: t.t("pollen parent"),
        behind: &behind,
        aria: &aria,
    };
    let shares: Vec<ShareRow> = p
        .shares
        .iter()
        .map(|s| ShareRow {
            label: drawn(&s.name, None),
            fraction: s.fraction.clone(),
            share: s.share,
            unknown: s.unknown,
        })
        .collect();
    html! {
        div.row {
            div { (PreEscaped(drawing::parentage_charts(&tree(&p.tree), &words))) }
            div {
                (PreEscaped(drawing::shares_table(t.t("Shares, if each parent gave half"), &shares)))
                p class="note gap" { (t.t("Lines halve with each generation. Seed parent above, pollen parent below.")) }
                @if p.inbreeding > 0.0 {
                    p.note {
                        (t.t("Inbred, as far as recorded:")) " "
                        span.c { (t.f("{n} %", &[("n", &format!("{:.1}", p.inbreeding * 100.0))])) }
                        ". " (t.t("Parents that are not recorded count as unrelated."))
                    }
                }
            }
        }
    }
}

fn outline(node: &ParentNode, t: Texts) -> String {
    match node.parents.as_slice() {
        [seed, pollen] => format!("{} × {}", side(seed, t), side(pollen, t)),
        _ => node.name.plain.clone(),
    }
}

fn side(node: &ParentNode, t: Texts) -> String {
    if node.parents.is_empty() {
        node.name.plain.clone()
    } else {
        format!("{} ({})", node.name.plain, outline(node, t))
    }
}

/// The line that explains the marks of evidence lines: those that occur.
pub(crate) fn known_line(answers: &[Answer], t: Texts) -> Markup {
    use drawing::KnownKind;
    let all = [
        (KnownKind::Day(Seen::AtTheTime), t.t("seen at the time")),
        (KnownKind::Day(Seen::Remembered), t.t("remembered later")),
        (KnownKind::Day(Seen::FromPhoto), t.t("from a photo")),
        (KnownKind::Day(Seen::Told), t.t("told by somebody else")),
        (KnownKind::Between, t.t("between two looks")),
        (KnownKind::Open, t.t("still open")),
        (KnownKind::Borrowed, t.t("borrowed from similar plants")),
        (KnownKind::Missing, t.t("missing")),
    ];
    let occurs = |kind: KnownKind| {
        answers.iter().flat_map(|a| &a.evidence.marks).any(|m| match (m, kind) {
            (Mark::At { known, .. }, KnownKind::Day(s)) => seen(*known) == s,
            (Mark::Between { .. }, KnownKind::Between)
            | (Mark::Open { .. }, KnownKind::Open)
            | (Mark::Borrowed { .. }, KnownKind::Borrowed)
            | (Mark::Missing { .. }, KnownKind::Missing) => true,
            // How an interval is known shows in its stroke, so the stroke is explained too.
            (Mark::Between { known, .. } | Mark::Open { known, .. }, KnownKind::Day(s)) => {
                s != Seen::AtTheTime && seen(*known) == s
            }
            _ => false,
        })
    };
    let shown: Vec<_> = all.into_iter().filter(|(kind, _)| occurs(*kind)).collect();
    if shown.is_empty() {
        return html! {};
    }
    PreEscaped(drawing::known_line(&shown))
}
