//! Writing, mending and withdrawing entries; photos.

use answers::acts::{self, EntryInput, Target};
use axum::{
    Form,
    extract::{Multipart, Path, Query},
    http::header,
    response::IntoResponse as _,
};
use journal::{KINDS, Known, SubjectKind};
use maud::{Markup, html};
use texts::Texts;

use super::ask::{Answered, Ask, go, own_path};
use crate::{
    WebError,
    forms::{Sent, choice, entry_fields, field, filled, known_names, line},
    layout::{Failed, Nav, title},
    markup,
};

/// What a kind of entry is called in a list.
pub(crate) fn kind_words(key: &str, t: Texts) -> String {
    let words = match key {
        "reservoir" => t.t("reservoir level").to_owned(),
        "reading" => t.t("air, light or conductivity read by hand").to_owned(),
        "clean" => t.t("looked and clean").to_owned(),
        "damage_seen" => t.t("damage on a leaf").to_owned(),
        "shared" => t.t("shared a tool, tray or water").to_owned(),
        "kept_apart" => t.t("kept apart, in quarantine").to_owned(),
        "let_in" => t.t("let in with the others").to_owned(),
        "placed" => t.t("placed or moved").to_owned(),
        "doubtful" => t.t("doubtful whether it is still there").to_owned(),
        other => t.word(&other.replace('_', " ")),
    };
    let mut chars = words.chars();
    chars.next().map_or_else(String::new, |c| c.to_uppercase().chain(chars).collect())
}

const GROUPS: [(&str, &[&str]); 7] = [
    ("Care", &["watered", "checked", "weighed", "reservoir", "potted", "placed"]),
    ("Pests", &["pest_seen", "clean", "treated", "damage_seen", "shared", "kept_apart", "let_in"]),
    (
        "Growth and flowers",
        &["measured", "reading", "bud_seen", "opened", "still_open", "ended", "scored", "photo"],
    ),
    ("Multiplying", &["cuttings_taken", "rooted", "germinated", "pricked_out", "sown"]),
    ("Crossing", &["pollinated", "pod_seen", "pod_ripe", "pod_lost", "seeds_counted"]),
    ("Coming and going", &["arrived", "promised", "given", "sold", "swapped", "lost", "doubtful"]),
    ("Words", &["note", "asked", "named", "shown"]),
];

/// The kinds of entry that fit a subject, as links.
pub(crate) fn kinds_list(about: SubjectKind, base: &str, t: Texts) -> Markup {
    html! {
        div.kinds {
            @for (group, keys) in GROUPS {
                @let fitting: Vec<_> = keys.iter().filter(|k| KINDS.iter().any(|d| d.key == **k && d.about.contains(&about)) && **k != "photo").collect();
                @if !fitting.is_empty() {
                    section {
                        h2 { (t.word(group)) }
                        ul { @for key in fitting { li data-row { a href=(format!("{base}{key}")) { (kind_words(key, t)) } } } }
                    }
                }
            }
        }
    }
}

/// The fields that every entry has: when, how known, words.
pub(crate) fn common_fields(when: &str, known: Known, note: &str, t: Texts) -> Markup {
    let ways = [
        ("seen", t.t("seen then")),
        ("remembered", t.t("remembered later")),
        ("photo", t.t("from a photo")),
        ("told", t.t("told by somebody else")),
    ];
    html! {
        (line(t.t("When"), "when", when, t.t("empty for today; or yesterday, 2024-05-07, May 2024, spring 2024, 2019/2020, 1998~")))
        fieldset.ways {
            legend { (t.t("How known")) }
            @for (value, words) in ways {
                label.tick { input type="radio" name="known" value=(value) checked[value == known.as_str()]; (words) }
            }
        }
        label.line { span { (t.t("Words")) } textarea name="note" rows="2" { (note) } }
    }
}

/// The entry that a form sent.
pub(crate) fn input(ask: &Ask, sent: &Sent) -> Result<EntryInput, Failed> {
    let key = field(sent, "kind");
    let kind = journal::entry_kind(key)
        .ok_or_else(|| ask.failed(WebError::form("kind", key, "is not a kind of entry")))?;
    Ok(EntryInput {
        kind: key.to_owned(),
        when: field(sent, "when").to_owned(),
        known: Known::of_word(field(sent, "known")).unwrap_or_default(),
        detail: super::plants::details(ask, kind, sent)?,
        note: filled(sent, "note"),
        confirmed: field(sent, "sure") == "yes",
    })
}

/// Writes an entry, or asks again with the form as it was sent where something is odd.
fn written(ask: &Ask, targets: &[Target], sent: &Sent, back: &str) -> Answered {
    let input = input(ask, sent)?;
    match acts::log(&ask.journal(), &ask.hand, targets, &input) {
        Ok(_) => go(back),
        Err(answers::AskError::Odd(words)) => {
            let t = ask.t();
            let body = html! {
                section.sect.error role="alert" {
                    h2 { (t.t("Possible, but odd")) }
                    p { (words) ". " (t.t("Nothing is written yet.")) }
                    form method="post" {
                        @for (k, v) in sent { @if k != "sure" { input type="hidden" name=(k) value=(v); } }
                        input type="hidden" name="sure" value="yes";
                        div.printrow {
                            button.btn.main { (t.t("It is right: write it")) }
                            a href=(back) { (t.t("Leave it")) }
                        }
                    }
                }
            };
            ask.show(Nav::Plants, t.t("Possible, but odd"), &body)
        }
        Err(e) => Err(ask.failed(e)),
    }
}

/// The form for an entry about a plant: first the kind, then its fields.
pub(crate) async fn log_form(
    ask: Ask,
    Path(number): Path<i64>,
    Query(sent): Query<Sent>,
) -> Answered {
    let t = ask.t();
    let (row, parts, (keepers, places)) = ask.read(|r| {
        let row = r.plant(number)?.ok_or(WebError::Ask(answers::AskError::NotThere {
            kind: "plant",
            which: number.to_string(),
            next: "the list of plants shows which there are",
        }))?;
        let parts = r.parts(row.id)?;
        Ok((row, parts, known_names(r)?))
    })?;
    let name = answers::name_text(if row.name.is_empty() { t.t("not named") } else { &row.name });
    let key = field(&sent, "kind");
    let kind = journal::entry_kind(key);
    let over = html! { a href=(format!("/plants/{number}")) { (t.f("Plant {n}", &[("n", &number)])) } ", " (markup::name(&name)) };
    let body = match kind {
        None => html! {
            (title(&over, &html! { (t.t("What happened?")) }, None))
            (kinds_list(SubjectKind::Plant, &format!("/plants/{number}/log?kind="), t))
        },
        Some(kind) if kind.key == "pollinated" => {
            let lots = super::crosses::in_store(&ask)?;
            html! {
            (title(&over, &html! { (kind_words(kind.key, t)) }, None))
            (super::crosses::pollination_form(&Sent::from([("seed".to_owned(), number.to_string())]), &lots, t))
            }
        }
        Some(kind) => html! {
            (title(&over, &html! { (kind_words(kind.key, t)) }, None))
            form.form method="post" action=(format!("/plants/{number}/log")) data-draft=(kind.key) {
                input type="hidden" name="kind" value=(kind.key);
                @if kind.about.contains(&SubjectKind::Part) { (part_choice(&parts, kind.field("part").is_some(), t)) }
                (entry_fields(kind, &serde_json::Map::new(), &keepers, &places, t))
                (common_fields("", Known::Seen, "", t))
                div.printrow {
                    button.btn.main { (t.t("Write it")) }
                    a href=(format!("/plants/{number}/log")) { (t.t("Another kind")) }
                }
            }
        },
    };
    ask.show(Nav::Plants, t.t("Add an entry"), &body)
}

fn part_choice(parts: &[journal::PartRow], typed: bool, t: Texts) -> Markup {
    let mut options: Vec<(String, String)> = parts
        .iter()
        .rev()
        .take(40)
        .map(|p| {
            let what = if p.what.is_empty() { t.t("part").to_owned() } else { t.word(&p.what) };
            (p.number.to_string(), format!("{what} {} {}", p.number, p.name).trim().to_owned())
        })
        .collect();
    if typed {
        options.insert(0, ("new".to_owned(), t.t("a new one, numbered on").to_owned()));
    }
    html! { @if !options.is_empty() { (choice(t.t("Which part"), "which", &options, "")) } }
}

/// Writes an entry about a plant or one of its parts.
pub(crate) async fn log(ask: Ask, Path(number): Path<i64>, Form(sent): Form<Sent>) -> Answered {
    let what = field(&sent, "part").to_owned();
    let target = match field(&sent, "which") {
        "" => Target::Plant(number),
        "new" => {
            Target::Part(number, None, if what.is_empty() { "flower".to_owned() } else { what })
        }
        n => Target::Part(number, n.parse().ok(), what),
    };
    written(&ask, &[target], &sent, &back_or(&sent, &format!("/plants/{number}")))
}

/// Where a form leads when it was taken: to the page that it was sent from, if that says so.
fn back_or(sent: &Sent, usual: &str) -> String {
    filled(sent, "back").map_or_else(|| usual.to_owned(), |b| own_path(&b).to_owned())
}

/// The sentence at the foot of a plant's page, completed.
pub(crate) async fn says(ask: Ask, Path(number): Path<i64>, Form(sent): Form<Sent>) -> Answered {
    let mut detail = serde_json::Map::new();
    let kind = match field(&sent, "is") {
        "dry" => {
            detail.insert("found".to_owned(), "dry".into());
            "watered"
        }
        "moist" => {
            detail.insert("found".to_owned(), "moist".into());
            "checked"
        }
        "flower" => "opened",
        other => {
            return Err(ask.failed(WebError::form("is", other, "does not complete the sentence")));
        }
    };
    let input =
        EntryInput { kind: kind.to_owned(), detail, confirmed: true, ..EntryInput::default() };
    acts::log(&ask.journal(), &ask.hand, &[Target::Plant(number)], &input)
        .map_err(|e| ask.failed(e))?;
    go(&format!("/plants/{number}"))
}

/// The form for an entry about a place.
pub(crate) async fn place_log_form(
    ask: Ask,
    Path(number): Path<i64>,
    Query(sent): Query<Sent>,
) -> Answered {
    let t = ask.t();
    let (place, (keepers, places)) = ask.read(|r| Ok((r.place(number)?, known_names(r)?)))?;
    let name = place.map(|p| p.name).unwrap_or_default();
    let over = html! { a href=(format!("/places/{number}")) { (name) } };
    let body = match journal::entry_kind(field(&sent, "kind")) {
        None => html! {
            (title(&over, &html! { (t.t("What happened?")) }, None))
            (kinds_list(SubjectKind::Place, &format!("/places/{number}/log?kind="), t))
        },
        Some(kind) => html! {
            (title(&over, &html! { (kind_words(kind.key, t)) }, None))
            form.form method="post" action=(format!("/places/{number}/log")) data-draft=(kind.key) {
                input type="hidden" name="kind" value=(kind.key);
                (entry_fields(kind, &serde_json::Map::new(), &keepers, &places, t))
                (common_fields("", Known::Seen, "", t))
                button.btn.main { (t.t("Write it")) }
            }
        },
    };
    ask.show(Nav::Places, t.t("Add an entry"), &body)
}

/// Writes an entry about a place.
pub(crate) async fn place_log(
    ask: Ask,
    Path(number): Path<i64>,
    Form(sent): Form<Sent>,
) -> Answered {
    written(
        &ask,
        &[Target::Numbered(SubjectKind::Place, number)],
        &sent,
        &back_or(&sent, &format!("/places/{number}")),
    )
}

/// Writes an entry about a subject other than a plant.
pub(crate) fn log_about(
    ask: &Ask,
    kind: SubjectKind,
    number: i64,
    sent: &Sent,
    back: &str,
) -> Answered {
    written(ask, &[Target::Numbered(kind, number)], sent, back)
}

/// Mending an entry: its fields as they are, to be put right, withdrawn, or given to another plant.
pub(crate) async fn mend_form(ask: Ask, Path((number, uid)): Path<(i64, String)>) -> Answered {
    let t = ask.t();
    let (entry, sentence, (keepers, places)) = ask.read(|r| {
        let missing = || {
            WebError::Ask(answers::AskError::NotThere {
                kind: "entry",
                which: uid.clone(),
                next: "open the plant's journal again",
            })
        };
        let entry = r.entry(uid.parse().map_err(|_| missing())?)?.ok_or_else(missing)?;
        let sentence = answers::entry_sentence(r, &entry, t)?;
        Ok((entry, sentence, known_names(r)?))
    })?;
    let mut detail = entry.detail.clone();
    ask.read(|r| Ok(name_subjects(r, &mut detail)?))?;
    let kind = journal::entry_kind(&entry.kind);
    let body = html! {
        (title(&html! { a href=(format!("/plants/{number}")) { (t.f("Plant {n}", &[("n", &number)])) } },
            &html! { (t.t("Mend this entry")) },
            Some(t.t("What stands now stays in the history, struck through.")) ))
        p { (dates::say(&entry.happened, ask.hand.lang, None)) ": " (markup::sentence(&sentence)) }
        @if let Some(kind) = kind {
            form.form method="post" {
                input type="hidden" name="do" value="mend";
                input type="hidden" name="kind" value=(kind.key);
                (entry_fields(kind, &detail, &keepers, &places, t))
                (common_fields(entry.happened.as_str(), entry.known, entry.note.as_deref().unwrap_or(""), t))
                button.btn.main { (t.t("Put it right")) }
            }
        }
        section.sect {
            h2 { (t.t("It does not hold at all")) }
            form.inline method="post" {
                input type="hidden" name="do" value="withdraw";
                (line(t.t("Why"), "why", "", ""))
                button.btn { (t.t("Withdraw it")) }
            }
        }
        section.sect {
            h2 { (t.t("It belongs to another plant")) }
            form.inline method="post" {
                input type="hidden" name="do" value="move";
                (line(t.t("Number of that plant"), "to", "", ""))
                button.btn { (t.t("Move it there")) }
            }
        }
    };
    ask.show(Nav::Plants, t.t("Mend this entry"), &body)
}

/// Shows keepers, places and plants by name or number instead of their identifier.
fn name_subjects(
    r: &journal::Reader<'_>,
    detail: &mut serde_json::Map<String, serde_json::Value>,
) -> Result<(), journal::Error> {
    for value in detail.values_mut() {
        match value {
            serde_json::Value::Array(list) => {
                let named: Result<Vec<_>, _> = list.iter().map(|v| subject_words(r, v)).collect();
                let named: Vec<String> = named?.into_iter().flatten().collect();
                *value = serde_json::Value::String(named.join(", "));
            }
            one => {
                if let Some(words) = subject_words(r, one)? {
                    *one = serde_json::Value::String(words);
                }
            }
        }
    }
    Ok(())
}

/// What a field that holds an identifier is called: a name, or a number.
fn subject_words(
    r: &journal::Reader<'_>,
    value: &serde_json::Value,
) -> Result<Option<String>, journal::Error> {
    let Some(uid) = value.as_str().and_then(|s| s.parse::<journal::Uid>().ok()) else {
        return Ok(None);
    };
    let Some(s) = r.subject(uid)? else { return Ok(None) };
    let words = match s.kind {
        SubjectKind::Keeper => r.keeper(s.number)?.map(|k| k.name),
        SubjectKind::Place => r.place(s.number)?.map(|p| p.name),
        SubjectKind::Clone => r.clone_by_id(s.id)?.map(|c| c.name),
        _ => Some(s.number.to_string()),
    };
    Ok(Some(words.unwrap_or_default()))
}

/// Puts an entry right, withdraws it or gives it to another plant.
pub(crate) async fn mend(
    ask: Ask,
    Path((number, uid)): Path<(i64, String)>,
    Form(sent): Form<Sent>,
) -> Answered {
    let entry = uid
        .parse()
        .map_err(|_| ask.failed(WebError::form("entry", &uid, "is not an entry of this record")))?;
    let (journal, hand) = (ask.journal(), &ask.hand);
    match field(&sent, "do") {
        "withdraw" => acts::withdraw(
            &journal,
            hand,
            entry,
            &format!("plant {number}"),
            Some(field(&sent, "why")),
        ),
        "move" => {
            let to = field(&sent, "to");
            let plant = to
                .trim_start_matches('#')
                .parse()
                .map_err(|_| ask.failed(WebError::form("to", to, "is not a plant's number")))?;
            acts::move_entry(&journal, hand, entry, plant)
        }
        _ => acts::replace_entry(&journal, hand, entry, &input(&ask, &sent)?),
    }
    .map_err(|e| ask.failed(e))?;
    go(&format!("/plants/{number}"))
}

/// Keeps a photo of a plant.
pub(crate) async fn photo(ask: Ask, Path(number): Path<i64>, mut form: Multipart) -> Answered {
    let broken = |e: axum::extract::multipart::MultipartError| {
        ask.failed(WebError::form("photo", "", &e.to_string()))
    };
    let (mut bytes, mut sent) = (Vec::new(), Sent::new());
    while let Some(part) = form.next_field().await.map_err(broken)? {
        let name = part.name().unwrap_or("").to_owned();
        if name == "photo" {
            bytes = part.bytes().await.map_err(broken)?.to_vec();
        } else {
            sent.insert(name, part.text().await.map_err(broken)?);
        }
    }
    acts::add_photo(
        &ask.journal(),
        &ask.hand,
        &bytes,
        &[Target::Plant(number)],
        field(&sent, "when"),
        field(&sent, "credit"),
        filled(&sent, "note"),
    )
    .map_err(|e| ask.failed(e))?;
    go(&format!("/plants/{number}"))
}

/// The file of a photo.
pub(crate) async fn photo_file(ask: Ask, Path(file): Path<String>) -> Answered {
    let nowhere = || ask.failed(WebError::NoPage(format!("/photos/{file}")));
    let (hash, ending) = file.split_once('.').ok_or_else(nowhere)?;
    let path = ask.journal().photo_path(hash, ending).ok_or_else(nowhere)?;
    let bytes = std::fs::read(&path).map_err(|e| ask.failed(WebError::file(&path)(e)))?;
    let kind = match ending {
        "png" => "image/png",
        "webp" => "image/webp",
        _ => "image/jpeg",
    };
    Ok((
        [(header::CONTENT_TYPE, kind), (header::CACHE_CONTROL, "max-age=31536000, immutable")],
        bytes,
    )
        .into_response())
}
