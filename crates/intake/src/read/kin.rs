//! Ties between rows: entered twice, pieces of one clone, one number for two plants.

use std::{collections::HashMap, sync::LazyLock};

use regex::Regex;

use super::draft::Draft;
use crate::{
    Options, Relation, RelationKind, Role,
    fold::{fold, key},
    layout::Layout,
    words::{has, pattern},
};

static OFF_NUMBER: LazyLock<Regex> = LazyLock::new(|| {
    pattern(
        r"(?:off|of|from|von|van|de|du|fran|av|piece of|cutting of|sur)\s(?:my |meiner |mijn |min |mi |ma )?(?:no\.?|nr\.?|n[°º]|#|number|nummer|num\.?)\s?(\d+[a-z]?)(?:$|[^\d])",
    )
});
static THIS_NUMBER: LazyLock<Regex> = LazyLock::new(|| {
    pattern(r"(?:no\.?|nr\.?|n[°º]|#|number|nummer|num\.?)\s?(\d+[a-z]?)(?:$|[^\d])")
});
static IS_NUMBER: LazyLock<Regex> = LazyLock::new(|| {
    pattern(
        r"(?:is|now|=|ist|jetzt|nu|est|es|ar)\s(?:no\.?|nr\.?|n[°º]|#|number|nummer|num\.?)\s?(\d+[a-z]?)(?:$|[^\d])",
    )
});
static COPY: LazyLock<Regex> = LazyLock::new(|| {
    pattern(
        r"^(?:\d|[ivx]+|\d(?:nd|rd|th) pot|second pot|2(?:nd|e|\.)? ?(?:pot|topf|kruka|plant)|pot \d|zweiter topf|tweede pot|andra krukan|segunda maceta)$",
    )
});

/// How a row is written in a code: the row, with its sheet in a workbook.
pub(super) fn reference(d: &Draft, layout: &Layout) -> String {
    match &layout.sheets[d.input.sheet].name {
        Some(sheet) => format!("{sheet}!{}", d.input.row),
        None => d.input.row.to_string(),
    }
}

pub(super) fn tie(drafts: &mut [Draft], layout: &Layout, options: &Options) {
    numbers(drafts, layout);
    let mut groups: HashMap<String, Vec<usize>> = HashMap::new();
    let mut tags: HashMap<(usize, String), Vec<usize>> = HashMap::new();
    for (i, d) in drafts.iter().enumerate() {
        if let Some(tag) = &d.tag {
            tags.entry((d.input.sheet, fold(tag))).or_default().push(i);
        }
    }
    for i in 0..drafts.len() {
        across(drafts, i, &tags, layout);
        let Some(group) = group(&drafts[i]) else { continue };
        let earlier = groups.entry(group).or_default();
        if !earlier.is_empty() {
            one(drafts, i, earlier, &tags, layout, options);
        }
        earlier.push(i);
    }
}

/// What rows must share to be pieces of one clone.
fn group(d: &Draft) -> Option<String> {
    if d.unnamed || (d.ask && !d.has("possible_misspelling")) {
        return None;
    }
    let genus = d.name.genus.as_ref()?;
    match (&d.name.cultivar, &d.name.species) {
        (Some(c), _) => Some(format!("{genus} '{}'", key(c))),
        (None, Some(s)) => {
            Some(format!("{genus} {s} {}", d.name.infra.as_deref().unwrap_or_default()))
        }
        (None, None) => None,
    }
}

fn relate(drafts: &mut [Draft], i: usize, to: usize, kind: RelationKind, layout: &Layout) {
    let word = match kind {
        RelationKind::Duplicate => "duplicate_of_row",
        RelationKind::PossibleDuplicate => "possible_duplicate_of_row",
        RelationKind::SameClone => "same_clone_as_row",
        RelationKind::PossibleClone => "same_clone_uncertain_row",
        RelationKind::SameNumber => "number_used_twice",
        RelationKind::CompletedFrom | RelationKind::ParentsFrom => "",
    };
    if !word.is_empty() {
        let code = format!("{word}:{}", reference(&drafts[to], layout));
        drafts[i].code(code);
    }
    drafts[i].relations.push(Relation { kind, to });
}

fn one(
    drafts: &mut [Draft],
    i: usize,
    earlier: &[usize],
    tags: &HashMap<(usize, String), Vec<usize>>,
    layout: &Layout,
    options: &Options,
) {
    let said = drafts[i].said.clone();
    let aside = fold(&drafts[i].name.words.join("; "));
    let named_row = |re: &Regex| -> Option<usize> {
        let tag = re.captures(&said)?.get(1)?.as_str().to_owned();
        let rows = tags.get(&(drafts[i].input.sheet, tag))?;
        rows.iter().copied().find(|r| earlier.contains(r))
    };
    let first = earlier[0];
    if let Some(kind) = answered(drafts, i, earlier, options) {
        if let Some((kind, to)) = kind {
            relate(drafts, i, to, kind, layout);
        }
        return;
    }
    if has(&said, "twice") {
        let to = named_row(&THIS_NUMBER).or_else(|| twin(drafts, i, earlier)).unwrap_or(first);
        relate(drafts, i, to, RelationKind::PossibleDuplicate, layout);
        return;
    }
    if has(&said, "sameplant") {
        let to = earlier.last().copied().unwrap_or(first);
        relate(drafts, i, to, RelationKind::Duplicate, layout);
        return;
    }
    let own = drafts[i].source.as_deref() == Some("own");
    let piece =
        matches!(drafts[i].received, Some("cutting" | "rooted_cutting" | "division" | "plant"));
    let piece = piece || drafts[i].received.is_none();
    let told = has(&said, "mine") || has(&said, "above") || OFF_NUMBER.is_match(&said);
    let copy = drafts[i].name.words.iter().any(|w| COPY.is_match(&fold(w)))
        || has(&aside, "above")
        || drafts[i].name.ditto;
    if told || copy || (own && piece && drafts[i].seed.is_none()) {
        let to = named_row(&OFF_NUMBER).unwrap_or(first);
        relate(drafts, i, to, RelationKind::SameClone, layout);
        complete(drafts, i, to);
        return;
    }
    if let Some(to) = twin(drafts, i, earlier) {
        let numbered = drafts[i].tag.is_some() && drafts[i].tag != drafts[to].tag;
        let kind = if numbered { RelationKind::PossibleDuplicate } else { RelationKind::Duplicate };
        relate(drafts, i, to, kind, layout);
        return;
    }
    if drafts[i].name.cultivar.is_some() && drafts[i].seed.is_none() {
        relate(drafts, i, first, RelationKind::PossibleClone, layout);
    }
}

/// An answer to the question whether two rows are one plant.
#[allow(clippy::option_option, reason = "no answer, no tie, or a tie")]
fn answered(
    drafts: &[Draft],
    i: usize,
    earlier: &[usize],
    options: &Options,
) -> Option<Option<(RelationKind, usize)>> {
    if options.answers.is_empty() {
        return None;
    }
    earlier.iter().find_map(|to| {
        let id = question_id(&drafts[*to], &drafts[i]);
        match options.answers.get(&id)?.as_str() {
            "one_plant" => Some(Some((RelationKind::Duplicate, *to))),
            "one_clone" => Some(Some((RelationKind::SameClone, *to))),
            "two_plants" => Some(None),
            _ => None,
        }
    })
}

/// Key of the question whether two rows are one plant.
pub(super) fn question_id(a: &Draft, b: &Draft) -> String {
    format!("plants:{}:{}|{}:{}", a.input.sheet, a.input.row, b.input.sheet, b.input.row)
}

/// An earlier row that agrees in everything told.
fn twin(drafts: &[Draft], i: usize, earlier: &[usize]) -> Option<usize> {
    let d = &drafts[i];
    // Two bare names say too little to be the same plant.
    if d.source.is_none() || d.date.edtf.is_none() {
        return None;
    }
    earlier.iter().copied().find(|e| {
        let o = &drafts[*e];
        o.source == d.source
            && o.date.edtf == d.date.edtf
            && o.state == d.state
            && fold(o.place.as_deref().unwrap_or_default())
                == fold(d.place.as_deref().unwrap_or_default())
            && o.pot == d.pot
            && (o.received == d.received || o.received.is_none() || d.received.is_none())
    })
}

/// A piece of a clone bears its full name.
fn complete(drafts: &mut [Draft], i: usize, to: usize) {
    let other = drafts[to].name.clone();
    let d = &mut drafts[i];
    if d.name.cultivar.is_some() && d.name.species.is_none() && other.species.is_some() {
        d.name.species.clone_from(&other.species);
        d.name.hybrid = other.hybrid;
        d.text = d.name.text();
        d.code("name_completed_from_other_row");
        d.relations.push(Relation { kind: RelationKind::CompletedFrom, to });
    }
}

/// "is no. 8 in the cabinet": the same plant in another sheet.
fn across(
    drafts: &mut [Draft],
    i: usize,
    tags: &HashMap<(usize, String), Vec<usize>>,
    layout: &Layout,
) {
    if layout.sheets.len() < 2 {
        return;
    }
    let Some(tag) =
        IS_NUMBER.captures(&drafts[i].said).and_then(|c| c.get(1)).map(|m| m.as_str().to_owned())
    else {
        return;
    };
    let sheet = drafts[i].input.sheet;
    let found = (0..layout.sheets.len())
        .filter(|s| *s != sheet)
        .find_map(|s| tags.get(&(s, tag.clone())).and_then(|rows| rows.first()).copied());
    if let Some(to) = found {
        relate(drafts, i, to, RelationKind::Duplicate, layout);
    }
}

fn numbers(drafts: &mut [Draft], layout: &Layout) {
    let mut seen: HashMap<(usize, String), usize> = HashMap::new();
    for i in 0..drafts.len() {
        let sheet = drafts[i].input.sheet;
        if !layout.sheets[sheet].has(Role::Tag) || drafts[i].input.tag.trim().is_empty() {
            continue;
        }
        let Some(tag) = drafts[i].tag.clone() else { continue };
        match seen.get(&(sheet, tag.clone())) {
            Some(first) => relate(drafts, i, *first, RelationKind::SameNumber, layout),
            None => {
                seen.insert((sheet, tag), i);
            }
        }
    }
}
