//! Questions, each put once for all its rows.

use std::collections::BTreeMap;

use super::{draft::Draft, keepers, kin};
use crate::{Ask, Options, Question, RelationKind, fold::squeeze};

pub(super) fn questions(drafts: &[Draft], options: &Options) -> Vec<Question> {
    let mut out = Vec::new();
    out.extend(date_order(drafts));
    out.extend(currency(drafts));
    out.extend(keeper_spellings(drafts));
    out.extend(same_plant(drafts));
    out.extend(genera(drafts));
    out.extend(names(drafts));
    out.extend(dates(drafts));
    // An answer "leave" puts a question off.
    out.retain(|q| options.answers.get(&q.id).is_none_or(|a| a == "leave"));
    out
}

fn rows_where(drafts: &[Draft], wanted: impl Fn(&Draft) -> bool) -> Vec<usize> {
    drafts.iter().enumerate().filter(|(_, d)| wanted(d)).map(|(i, _)| i).collect()
}

fn texts(list: &[&str]) -> Vec<String> {
    list.iter().map(|s| (*s).to_owned()).collect()
}

fn date_order(drafts: &[Draft]) -> Option<Question> {
    let rows = rows_where(drafts, |d| d.date.ambiguous);
    let first = drafts.get(*rows.first()?)?;
    Some(Question {
        id: "date_order".to_owned(),
        ask: Ask::DateOrder { example: first.date_text.clone() },
        rows,
        choices: texts(&["day_first", "month_first"]),
    })
}

fn currency(drafts: &[Draft]) -> Option<Question> {
    let rows = rows_where(drafts, |d| {
        d.has("currency_unclear") && d.money.currency.as_deref() == Some("$")
    });
    let first = drafts.get(*rows.first()?)?;
    let example = first
        .input
        .price
        .as_ref()
        .map(|c| c.text.clone())
        .or_else(|| first.input.notes.iter().find(|n| n.contains('$')).cloned())
        .unwrap_or_default();
    Some(Question {
        id: "currency:$".to_owned(),
        ask: Ask::Currency { example },
        rows,
        choices: texts(&["USD", "CAD", "AUD", "NZD"]),
    })
}

fn keeper_spellings(drafts: &[Draft]) -> Vec<Question> {
    let mut pairs: BTreeMap<(String, String), Vec<usize>> = BTreeMap::new();
    for (i, d) in drafts.iter().enumerate() {
        if d.has("source_spelling_varies")
            && let Some(kept) = &d.source
        {
            let typed = squeeze(&d.input.source);
            pairs.entry((kept.clone(), typed)).or_default().push(i);
        }
    }
    pairs
        .into_iter()
        .map(|((kept, other), rows)| Question {
            id: keepers::question_id(&kept, &other),
            ask: Ask::Keeper { kept, other },
            rows,
            choices: texts(&["one", "two"]),
        })
        .collect()
}

fn same_plant(drafts: &[Draft]) -> Vec<Question> {
    let mut out = Vec::new();
    for (i, d) in drafts.iter().enumerate() {
        let open = d.relations.iter().find(|r| {
            matches!(
                r.kind,
                RelationKind::Duplicate
                    | RelationKind::PossibleDuplicate
                    | RelationKind::PossibleClone
            )
        });
        if let Some(r) = open {
            out.push(Question {
                id: kin::question_id(&drafts[r.to], d),
                ask: Ask::SamePlant { first: r.to, second: i },
                rows: vec![r.to, i],
                choices: texts(&["one_plant", "one_clone", "two_plants"]),
            });
        }
    }
    out
}

fn grouped(
    drafts: &[Draft],
    wanted: impl Fn(&Draft) -> bool,
    typed: impl Fn(&Draft) -> String,
) -> BTreeMap<String, Vec<usize>> {
    let mut groups: BTreeMap<String, Vec<usize>> = BTreeMap::new();
    for (i, d) in drafts.iter().enumerate() {
        if wanted(d) {
            groups.entry(typed(d)).or_default().push(i);
        }
    }
    groups
}

fn genera(drafts: &[Draft]) -> Vec<Question> {
    let groups = grouped(drafts, |d| d.has("genus_unclear"), |d| squeeze(&d.input.name));
    groups
        .into_iter()
        .map(|(typed, rows)| Question {
            id: format!("genus:{typed}"),
            choices: rows.first().map(|r| drafts[*r].name.choices.clone()).unwrap_or_default(),
            ask: Ask::Genus { typed },
            rows,
        })
        .collect()
}

fn names(drafts: &[Draft]) -> Vec<Question> {
    let open = |d: &Draft| d.ask && !d.has("genus_unclear");
    grouped(drafts, open, |d| squeeze(&d.input.name))
        .into_iter()
        .map(|(typed, rows)| Question {
            id: format!("name:{typed}"),
            choices: rows.first().map(|r| drafts[*r].name.choices.clone()).unwrap_or_default(),
            ask: Ask::Name { typed },
            rows,
        })
        .collect()
}

fn dates(drafts: &[Draft]) -> Vec<Question> {
    let open = |d: &Draft| d.has("date_impossible") || d.has("date_no_year");
    grouped(drafts, open, |d| d.date_text.clone())
        .into_iter()
        .map(|(typed, rows)| Question {
            id: format!("date:{typed}"),
            ask: Ask::Date { typed },
            rows,
            choices: Vec::new(),
        })
        .collect()
}
