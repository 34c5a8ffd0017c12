//! Labels: what the record says of a plant, as a label wants it.

use answers::{AskError, Hand, NameText, cross_page, label_facts, parent_words};
use journal::{ParentClaim, Reader};
use names::Style;
use printing::{Label, Span, Words};
use texts::Lang;

use crate::WebError;

/// The house's fixed name on labels, where none was chosen.
pub const HOUSE: &str = "UMBEL.LOCAL";

fn spans(name: &NameText) -> Vec<Span> {
    name.runs
        .iter()
        .map(|r| match r.style {
            Style::Italic => Span::italic(r.text.clone()),
            Style::SmallCaps => Span::small_caps(r.text.clone()),
            Style::Roman => Span::roman(r.text.clone()),
        })
        .collect()
}

/// The few fixed words of labels.
#[must_use]
pub fn words(lang: Lang) -> Words {
    match lang {
        Lang::En => Words::english(),
        Lang::De => Words::german(),
    }
}

/// The tag of a cross, to hang on the flowers of one of its pollinations, or of the latest.
///
/// # Errors
/// If there is no such cross or pollination, or the record cannot be read.
pub fn tag_of(
    reader: &Reader<'_>,
    cross: i64,
    pollination: Option<i64>,
    hand: &Hand,
) -> Result<Label, WebError> {
    let page = cross_page(reader, cross, hand)?;
    let t = hand.texts();
    let of = match pollination {
        None => page.pollinations.last(),
        Some(n) => {
            Some(page.pollinations.iter().find(|p| p.0 == n).ok_or_else(|| AskError::NotThere {
                kind: "pollination",
                which: n.to_string(),
                next: "the page of the cross shows which there are",
            })?)
        }
    };
    let made = of.and_then(|(_, _, lines)| lines.last());
    let when = made.map(|l| match l.year {
        Some(year) => format!("{} {year}", l.date),
        None => l.date.clone(),
    });
    let house = reader.setting("house")?.unwrap_or_else(|| HOUSE.to_owned()).to_uppercase();
    let seed = of.and_then(|(_, plant, _)| *plant);
    Ok(Label {
        number: format!("× {cross}"),
        code: format!("X-{cross}"),
        qr: format!("HTTP://{house}/X-{cross}"),
        name: spans(&page.title),
        name_plain: page.title.plain.clone(),
        parents: Vec::new(),
        from_whom: seed.map(|n| t.f("on plant {n}", &[("n", &n)])),
        when,
        received_as: of.map(|(n, _, _)| t.f("pollination {n}", &[("n", n)])),
        clone: None,
    })
}

/// The label of a plant.
///
/// # Errors
/// If there is no such plant or the record cannot be read.
pub fn label_of(reader: &Reader<'_>, number: i64, hand: &Hand) -> Result<Label, WebError> {
    let page = label_facts(reader, number, hand)?;
    let t = hand.texts();
    let w = words(hand.lang);
    let mut parents = Vec::new();
    let told = |p: &ParentClaim| *p != ParentClaim::NotTold;
    if told(&page.clone.seed) || told(&page.clone.pollen) {
        for (claim, unknown) in [
            (&page.clone.seed, &w.seed_parent_unknown),
            (&page.clone.pollen, &w.pollen_parent_unknown),
        ] {
            parents.push(match claim {
                ParentClaim::NotTold | ParentClaim::Unknown => vec![Span::roman(unknown.clone())],
                // The genus stands in full above: its initial is enough here.
                other => spans(&parent_words(reader, other, t)?.short(&page.plant.genus)),
            });
        }
    }
    let from = if page.plant.own {
        Some(t.t("raised here").to_owned())
    } else {
        Some(page.plant.keeper.clone()).filter(|k| !k.is_empty())
    };
    let pieces = usize::try_from(page.clone.pieces).unwrap_or(0);
    let house = reader.setting("house")?.unwrap_or_else(|| HOUSE.to_owned()).to_uppercase();
    Ok(Label {
        number: number.to_string(),
        code: page.plant.code.clone(),
        qr: format!("HTTP://{house}/{}", page.plant.code),
        name: spans(&page.name),
        name_plain: page.name.plain.clone(),
        parents,
        from_whom: from,
        when: page.plant.came.as_ref().map(|d| dates::say(d, hand.lang, None)),
        received_as: page.plant.received_as.as_ref().map(|r| t.word(&r.replace('_', " "))),
        clone: if pieces > 1 { w.clone_line(&page.clone.number.to_string(), pieces) } else { None },
    })
}
