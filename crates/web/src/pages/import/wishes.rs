//! What a reader wants otherwise: answers and columns.

use answers::{
    Hand,
    acts::{
        self,
        bring_in::{Ask, Mapping, Reading, Role},
    },
};
use maud::{Markup, html};
use texts::Texts;

use super::drafts::Draft;
use crate::{
    WebError,
    forms::{Sent, field},
};

const ROLES: [Role; 20] = [
    Role::Name,
    Role::Genus,
    Role::Species,
    Role::Cultivar,
    Role::SeedParent,
    Role::PollenParent,
    Role::Parents,
    Role::Source,
    Role::Date,
    Role::Sown,
    Role::ReceivedAs,
    Role::Price,
    Role::Currency,
    Role::Pot,
    Role::Place,
    Role::State,
    Role::Tag,
    Role::Count,
    Role::Notes,
    Role::Ignore,
];

fn words(role: Role, t: Texts) -> &'static str {
    match role {
        Role::Name => t.t("name"),
        Role::Genus => t.t("genus"),
        Role::Species => t.t("species"),
        Role::Cultivar => t.t("cultivar"),
        Role::SeedParent => t.t("seed parent"),
        Role::PollenParent => t.t("pollen parent"),
        Role::Parents => t.t("both parents"),
        Role::Source => t.t("from whom"),
        Role::Date => t.t("when it came"),
        Role::Sown => t.t("when it was sown"),
        Role::ReceivedAs => t.t("as what it came"),
        Role::Price => t.t("price"),
        Role::Currency => t.t("currency"),
        Role::Pot => t.t("pot"),
        Role::Place => t.t("place"),
        Role::State => t.t("whether it lives"),
        Role::Tag => t.t("its number or tag"),
        Role::Count => t.t("how many"),
        Role::Notes => t.t("notes"),
        Role::Ignore => t.t("kept with the row, not read"),
    }
}

fn code(role: Role) -> String {
    serde_json::to_value(role).ok().and_then(|v| v.as_str().map(str::to_owned)).unwrap_or_default()
}

/// How the columns were read; each can be changed.
pub(super) fn columns(r: &Reading, t: Texts) -> Markup {
    let any = r.mappings.iter().any(|m| m.columns.len() > 1);
    html! {
        @if any {
            section.sect {
                details.more {
                    summary { (t.t("How the columns were read")) }
                    @for (s, m) in r.mappings.iter().enumerate() {
                        @if let Some(sheet) = &m.sheet { h3 { (sheet) } }
                        div.columns { @for (c, role) in m.columns.iter().enumerate() {
                            label.line {
                                span { (column_words(m, c, t)) }
                                select name=(format!("m:{s}:{c}")) {
                                    @for one in ROLES { option value=(code(one)) selected[one == *role] { (words(one, t)) } }
                                }
                            }
                        } }
                    }
                    div.printrow { button.btn { (t.t("Read it again with these columns")) } }
                }
            }
        }
    }
}

fn column_words(m: &Mapping, c: usize, t: Texts) -> String {
    match m.header.get(c).map(|h| h.trim()).filter(|h| !h.is_empty()) {
        Some(header) => format!("“{header}”"),
        None => t.f("column {n}", &[("n", &(c + 1))]),
    }
}

/// Takes over what a form sent.
pub(super) fn take(
    draft: &mut Draft,
    r: &Reading,
    sent: &Sent,
    hand: &Hand,
) -> Result<(), WebError> {
    for q in &r.questions {
        let typed = field(sent, &format!("o:{}", q.id));
        let chosen = field(sent, &format!("q:{}", q.id));
        let kept = r.answers.get(&q.id).map(String::as_str).unwrap_or("");
        // Typed words that are new win over a choice; a choice that is new over words kept.
        let answer = if !typed.is_empty() && (typed != kept || chosen.is_empty()) {
            match q.ask {
                Ask::Date { .. } => acts::read_date(typed, hand)?.as_str().to_owned(),
                _ => typed.to_owned(),
            }
        } else {
            chosen.to_owned()
        };
        let told = sent.contains_key(&format!("o:{}", q.id)) || !chosen.is_empty();
        if !answer.is_empty() {
            draft.wishes.answers.insert(q.id.clone(), answer);
        } else if told && typed.is_empty() {
            draft.wishes.answers.remove(&q.id);
        }
    }
    let mut mappings = r.mappings.clone();
    for (s, m) in mappings.iter_mut().enumerate() {
        for (c, role) in m.columns.iter_mut().enumerate() {
            let wanted = field(sent, &format!("m:{s}:{c}"));
            if let Ok(wanted) = serde_json::from_value(serde_json::json!(wanted)) {
                *role = wanted;
            }
        }
    }
    if mappings != r.mappings {
        draft.wishes.mappings = mappings;
    }
    if sent.contains_key("numbers") {
        draft.choices.use_numbers = field(sent, "use_numbers") == "yes";
    }
    Ok(())
}
