//! Adding a plant, naming it, its parents, which plants are pieces of one clone.

use answers::acts::{self, NewPlant, ParentInput};
use axum::{
    Form,
    extract::{Path, Query},
};
use journal::Known;
use maud::{Markup, html};
use texts::Texts;

use super::ask::{Answered, Ask, go};
use crate::{
    WebError,
    forms::{Sent, choice, field, filled, known_names, line, pick},
    layout::{Nav, title},
    markup,
};

fn ways_of_coming(t: Texts) -> Vec<(String, String)> {
    ["cutting", "rooted_cutting", "plant", "seed", "seedling", "division"]
        .iter()
        .map(|w| ((*w).to_owned(), t.word(&w.replace('_', " "))))
        .collect()
}

/// The form for a new plant.
pub(crate) async fn new_form(ask: Ask) -> Answered {
    let t = ask.t();
    let (keepers, places) = ask.read(known_names)?;
    let body = html! {
        (title(&html! { a href="/plants" { (t.t("Plants")) } }, &html! { (t.t("Add a plant")) },
            Some(t.t("Write what you know. Everything can be left open and added later; “unknown” is a full answer."))))
        form.form method="post" action="/plants" data-draft="new" {
            (line(t.t("Name"), "name", "", t.t("as it came, such as Begonia 'Copper Lorry' or Begonia sp.")))
            (line(t.t("Number"), "number", "", t.t("empty for the next free one")))
            (pick(t.t("From"), "keeper", "", &keepers, "k"))
            (line(t.t("Came"), "came", "", t.t("as exactly as you remember: 7 May 2024, May 2024, spring 2024, 1998~")))
            (choice(t.t("Came as"), "as", &ways_of_coming(t), ""))
            label.tick { input type="checkbox" name="own" value="yes"; (t.t("raised here")) }
            (pick(t.t("Stands"), "place", "", &places, "p"))
            (line(t.t("Pot"), "pot", "", t.t("a number in cm, or with its unit: 9 cm, 2 l, 3.5 in")))
            (line(t.t("Seed parent"), "seed", "", t.t("a name, a plant's number, unknown, or A or B")))
            (line(t.t("Pollen parent"), "pollen", "", t.t("a name, a plant's number, unknown, or A or B")))
            (line(t.t("Suspected to be"), "suspected", "", t.t("if it came under a name that you doubt, such as a hybrid of it")))
            (line(t.t("Tag"), "tag", "", t.t("a number or word of your own that is not part of the name")))
            label.line { span { (t.t("Words")) } textarea name="note" rows="2" {} }
            button.btn.main { (t.t("Add it")) }
        }
    };
    ask.show(Nav::Plants, t.t("Add a plant"), &body)
}

/// Adds a plant.
pub(crate) async fn add(ask: Ask, Form(sent): Form<Sent>) -> Answered {
    let number = match field(&sent, "number") {
        "" => None,
        n => Some(n.parse().map_err(|_| {
            ask.failed(WebError::form(
                "number",
                n,
                "is not a whole number; leave it empty for the next free one",
            ))
        })?),
    };
    let came = match field(&sent, "came") {
        "" => None,
        typed => Some(acts::read_date(typed, &ask.hand).map_err(|e| ask.failed(e))?),
    };
    let known = if came.as_ref().and_then(dates::Edtf::day) == Some(ask.hand.today) {
        Known::Seen
    } else {
        Known::Remembered
    };
    let new = NewPlant {
        number,
        name: filled(&sent, "name"),
        suspected: filled(&sent, "suspected"),
        keeper: filled(&sent, "keeper"),
        own: field(&sent, "own") == "yes",
        came,
        known,
        received_as: filled(&sent, "as"),
        place: filled(&sent, "place"),
        pot: filled(&sent, "pot"),
        tag: filled(&sent, "tag"),
        note: filled(&sent, "note"),
        seed: ParentInput::read(field(&sent, "seed")),
        pollen: ParentInput::read(field(&sent, "pollen")),
        standing: Some("as_received".to_owned()),
        ..NewPlant::default()
    };
    let added = acts::add_plant(&ask.journal(), &ask.hand, &new).map_err(|e| ask.failed(e))?;
    go(&format!("/plants/{}", added.numbers.first().copied().unwrap_or(1)))
}

fn over(number: i64, t: Texts) -> Markup {
    html! { a href=(format!("/plants/{number}")) { (t.f("Plant {n}", &[("n", &number)])) } }
}

/// Naming: the name is judged before it is written.
pub(crate) async fn name_form(
    ask: Ask,
    Path(number): Path<i64>,
    Query(sent): Query<Sent>,
) -> Answered {
    let t = ask.t();
    let typed = field(&sent, "name").to_owned();
    let (row, verdict) = ask.read(|r| {
        let row = r.plant(number)?;
        let verdict = if typed.is_empty() { None } else { Some(acts::judge_name(r, &typed)?) };
        Ok((row, verdict))
    })?;
    let now = row.map(|p| p.name).unwrap_or_default();
    let body = html! {
        (title(&over(number, t), &html! { (t.t("Name it")) },
            Some(t.t("The name it has stays in its history. First it is looked at; nothing is written yet."))))
        form.form method="get" {
            (line(t.t("Name"), "name", if typed.is_empty() { &now } else { &typed }, ""))
            button.btn { (t.t("Look at it")) }
        }
        @if let Some(v) = &verdict {
            (verdict_words(v, t))
            form.form method="post" {
                input type="hidden" name="name" value=(typed);
                (choice(t.t("Standing"), "standing", &standings(t), "believed"))
                (line(t.t("On whose word"), "by", "", ""))
                (line(t.t("Why"), "why", "", t.t("leaf compared with a key, the raiser's list, a label found")))
                button.btn.main { (t.t("Name it so")) }
            }
        }
        section.sect {
            h2 { (t.t("Suspected to be something else")) }
            form.inline method="post" {
                input type="hidden" name="do" value="suspect";
                (line(t.t("Suspected to be"), "suspected", "", t.t("such as a hybrid of B. bowerae; empty takes it back")))
                button.btn { (t.t("Keep")) }
            }
        }
    };
    ask.show(Nav::Plants, t.t("Name it"), &body)
}

fn standings(t: Texts) -> Vec<(String, String)> {
    ["as_received", "believed", "determined", "doubted"]
        .iter()
        .map(|w| ((*w).to_owned(), t.word(&w.replace('_', " "))))
        .collect()
}

/// What was made of a name.
pub(crate) fn verdict_words(v: &acts::NameVerdict, t: Texts) -> Markup {
    let verdict = match v.reading.verdict {
        names::Verdict::Valid => t.t("well formed"),
        names::Verdict::Correctable => t.t("put right"),
        names::Verdict::Invalid => t.t("cannot stand as a formal name; it is kept as typed"),
    };
    html! {
        section class="answer row" {
            div {
                p.say { (markup::name(&v.shown)) }
                p.basis { (verdict) "." }
                @for (name, why) in &v.alike {
                    p.note { b { (t.t("Already here:")) } " " (markup::name(&answers::name_text(name))) ", " (t.word(why)) "." }
                }
            }
            div {
                @for p in &v.reading.problems {
                    p.note { (p.message) " " span.small { (p.source) } }
                }
            }
        }
    }
}

/// Names it.
pub(crate) async fn name(ask: Ask, Path(number): Path<i64>, Form(sent): Form<Sent>) -> Answered {
    let (journal, hand) = (ask.journal(), &ask.hand);
    if field(&sent, "do") == "suspect" {
        acts::suspect(&journal, hand, number, field(&sent, "suspected"))
            .map_err(|e| ask.failed(e))?;
    } else {
        acts::rename_clone(
            &journal,
            hand,
            number,
            field(&sent, "name"),
            Some(field(&sent, "standing")),
            Some(field(&sent, "by")),
            Some(field(&sent, "why")),
        )
        .map_err(|e| ask.failed(e))?;
    }
    go(&format!("/plants/{number}"))
}

/// The form for parents.
pub(crate) async fn parents_form(ask: Ask, Path(number): Path<i64>) -> Answered {
    let t = ask.t();
    let hint = t.t("a name, a plant's number, unknown, or A or B");
    let body = html! {
        (title(&over(number, t), &html! { (t.t("Its parents")) },
            Some(t.t("Parents need not stand here. “Unknown” is a full answer, and so is “A or B”. Empty means that nobody has said."))))
        form.form method="post" data-draft="parents" {
            (line(t.t("Seed parent"), "seed", "", hint))
            (line(t.t("Pollen parent"), "pollen", "", hint))
            (line(t.t("Why"), "why", "", ""))
            button.btn.main { (t.t("Write them down")) }
        }
    };
    ask.show(Nav::Plants, t.t("Its parents"), &body)
}

/// Writes parents down.
pub(crate) async fn parents(ask: Ask, Path(number): Path<i64>, Form(sent): Form<Sent>) -> Answered {
    acts::set_parents(
        &ask.journal(),
        &ask.hand,
        number,
        &ParentInput::read(field(&sent, "seed")),
        &ParentInput::read(field(&sent, "pollen")),
        Some(field(&sent, "why")),
    )
    .map_err(|e| ask.failed(e))?;
    go(&format!("/plants/{number}"))
}

/// The form for joining and parting clones.
pub(crate) async fn clone_form(ask: Ask, Path(number): Path<i64>) -> Answered {
    let t = ask.t();
    let body = html! {
        (title(&over(number, t), &html! { (t.t("Pieces of one clone")) },
            Some(t.t("Which plants are pieces of one clone is a claim: it can be doubted, and taken back."))))
        section {
            h2 { (t.t("It is a piece of the same clone as another plant")) }
            form.inline method="post" {
                input type="hidden" name="do" value="join";
                (line(t.t("Number of that plant"), "other", "", ""))
                (line(t.t("Why"), "why", "", ""))
                button.btn { (t.t("Join them")) }
            }
        }
        section.sect {
            h2 { (t.t("It is no piece of that clone")) }
            form.inline method="post" {
                input type="hidden" name="do" value="split";
                (line(t.t("Why"), "why", "", ""))
                button.btn { (t.t("Part it")) }
            }
        }
    };
    ask.show(Nav::Plants, t.t("Pieces of one clone"), &body)
}

/// Joins or parts clones.
pub(crate) async fn clone(ask: Ask, Path(number): Path<i64>, Form(sent): Form<Sent>) -> Answered {
    let why = filled(&sent, "why");
    if field(&sent, "do") == "split" {
        acts::split_clone(&ask.journal(), &ask.hand, number, why.as_deref())
    } else {
        let other = field(&sent, "other").trim_start_matches('#');
        let other = other
            .parse()
            .map_err(|_| ask.failed(WebError::form("other", other, "is not a plant's number")))?;
        acts::join_clones(&ask.journal(), &ask.hand, number, other, why.as_deref())
    }
    .map_err(|e| ask.failed(e))?;
    go(&format!("/plants/{number}"))
}

/// How the plant likes its water and whether it grows, as a sentence to complete.
pub(crate) fn wish_form(number: i64, wish: &str, growth: &str, t: Texts) -> Markup {
    let kinds = [
        ("never_dry", t.t("before it is dry")),
        ("just_dry", t.t("when just dry")),
        ("bone_dry", t.t("when dry through and through")),
    ];
    let growths = [
        ("growing", t.t("grows")),
        ("resting", t.t("rests")),
        ("rootless", t.t("has no roots yet")),
    ];
    html! {
        form.inline method="post" action=(format!("/plants/{number}/wish")) {
            label.line {
                span { (t.t("It gets water")) }
                select name="wish" {
                    @for (key, words) in kinds { option value=(key) selected[key == wish] { (words) } }
                }
            }
            label.line {
                span { (t.t("It now")) }
                select name="growth" {
                    @for (key, words) in growths { option value=(key) selected[key == growth] { (words) } }
                }
            }
            button.btn { (t.t("Keep")) }
        }
    }
}

/// Keeps how the plant likes its water.
pub(crate) async fn wish(ask: Ask, Path(number): Path<i64>, Form(sent): Form<Sent>) -> Answered {
    let (wished, grew) = ask.read(|r| {
        let Some(plant) = r.plant(number)? else { return Ok(Default::default()) };
        Ok((r.claimed_words(plant.id, "wish")?, r.claimed_words(plant.id, "growth")?))
    })?;
    let wish = answers::water::Wish::of_word(field(&sent, "wish"));
    if wish != answers::water::Wish::of_word(&wished) {
        acts::set_wish(&ask.journal(), &ask.hand, number, wish).map_err(|e| ask.failed(e))?;
    }
    let growth = answers::water::Growth::of_word(field(&sent, "growth"));
    if !field(&sent, "growth").is_empty() && growth != answers::water::Growth::of_word(&grew) {
        acts::set_growth(&ask.journal(), &ask.hand, number, growth).map_err(|e| ask.failed(e))?;
    }
    go(&format!("/plants/{number}"))
}
