//! Parents: from their columns, from a formula, from remarks, from other rows.

use std::{collections::HashMap, sync::LazyLock};

use regex::Regex;

use super::draft::{Draft, Setting, crosses, is_ditto};
use crate::{
    Part, Relation, RelationKind, Role,
    fold::{fold, key, squeeze},
    name::{self, Context, Name},
    parents::{self, Parent, Told},
    words::{self, has, pattern},
};

/// One parent cell as read.
enum Side {
    Nothing,
    Known(Box<Name>),
    Unknown { bees: bool, unsure: bool },
    Itself,
}

fn side(cell: &str, genus: Option<&str>, set: &Setting<'_>) -> Side {
    let text = squeeze(cell);
    let t = fold(&text);
    if t.is_empty() || t == "-" {
        return Side::Nothing;
    }
    let bare = t.trim_matches(|c: char| matches!(c, '(' | ')' | '.' | '!'));
    if words::is(bare, "bees") || (has(bare, "bees") && bare.split(' ').count() <= 3) {
        return Side::Unknown { bees: true, unsure: false };
    }
    if words::is(bare, "selfed") {
        return Side::Itself;
    }
    if words::is(bare, "unknown")
        || bare.chars().all(|c| c == '?')
        || words::is(bare, "unidentified")
    {
        return Side::Unknown { bees: false, unsure: false };
    }
    let ctx = Context {
        registry: &set.registry,
        lang: set.lang,
        genus: genus.map(str::to_owned),
        parent: true,
    };
    let Some(name) = name::read_parent(&text, &ctx) else { return Side::Nothing };
    if name.codes.contains(&"owner_unsure") {
        return Side::Unknown { bees: false, unsure: true };
    }
    if name.text().is_none() {
        return Side::Unknown { bees: false, unsure: true };
    }
    Side::Known(Box::new(name))
}

/// Name in full, with the species another row gives for the cultivar.
pub(super) fn full(name: &Name, set: &Setting<'_>) -> Option<String> {
    let mut name = name.clone();
    if let (Some(genus), Some(cultivar), None) = (&name.genus, &name.cultivar, &name.species)
        && let Some(known) = set.registry.cultivar(&key(cultivar), Some(genus))
    {
        if let Some((hybrid, species)) = &known.species {
            name.hybrid = *hybrid;
            name.species = Some(species.clone());
        }
        name.cultivar = Some(known.epithet.clone());
    }
    name.ask = false;
    name.text()
}

pub(super) fn read(d: &mut Draft, set: &Setting<'_>, previous: Option<&Draft>) {
    if d.name.ditto
        && d.name.formula.is_some()
        && let Some(above) = previous
    {
        d.seed.clone_from(&above.seed);
        d.pollen.clone_from(&above.pollen);
        d.text.clone_from(&above.text);
        return;
    }
    let columns = !d.input.seed.trim().is_empty() || !d.input.pollen.trim().is_empty();
    if columns {
        from_columns(d, set);
        return;
    }
    if !d.input.parents.trim().is_empty() && from_parents_cell(d, set, previous) {
        return;
    }
    if half_in_name(d, set) {
        return;
    }
    if d.name.formula.is_some() {
        from_formula(d, set);
        return;
    }
    from_notes(d, set);
}

/// "Begonia rex x ?", "Tin Drum x open": one parent in the name cell, the other not known.
fn half_in_name(d: &mut Draft, set: &Setting<'_>) -> bool {
    let text = squeeze(&d.input.name);
    let Some((a, b)) = name::sides(&text) else { return false };
    let unknown = |s: &str| {
        let t = fold(s);
        let bare = t.trim_matches(|c: char| !c.is_alphanumeric() && c != '?');
        words::is(bare, "unknown") || words::is(bare, "bees") || bare.chars().all(|c| c == '?')
    };
    if unknown(a) == unknown(b) {
        return false;
    }
    let known = if unknown(a) { b } else { a };
    let first = fold(known.split(' ').next().unwrap_or_default());
    // A genus and a question mark doubt the name, no parent.
    if known.split(' ').count() == 1 && crate::flora::FLORA.genus(&first).is_some() {
        return false;
    }
    let before = (d.name.clone(), d.ask, d.codes.clone());
    d.name.cultivar = None;
    d.name.species = None;
    d.name.formula = None;
    for code in ["owner_unsure", "words_in_name", "not_a_name"] {
        d.drop_code(code);
    }
    if !half_known(d, &text, set) || d.text.is_none() {
        (d.name, d.ask, d.codes) = before;
        return false;
    }
    if text.contains([' ']) && !text.contains('×') {
        d.code("hybrid_sign_fixed");
    }
    true
}

/// Which side of a formula bears a sign or word for the mother, if one does.
fn marked_mother(text: &str) -> Option<bool> {
    let (a, b) = name::sides(text)?;
    let bears = |s: &str, meaning: &str, letter: &str| {
        let t = fold(s);
        has(&t, meaning) || t.contains(&format!("({letter})"))
    };
    let (fa, fb) = (bears(a, "mother", "f"), bears(b, "mother", "f"));
    let (ma, mb) = (bears(a, "father", "m"), bears(b, "father", "m"));
    // "(m)" alone may mean mother or male.
    let sure_ma = has(&fold(a), "father") || (ma && fb);
    let sure_mb = has(&fold(b), "father") || (mb && fa);
    match (fa || sure_mb, fb || sure_ma) {
        (true, false) => Some(true),
        (false, true) => Some(false),
        _ => None,
    }
}

fn from_columns(d: &mut Draft, set: &Setting<'_>) {
    let own_genus = d.name.genus.clone();
    let mut seed = side(&d.input.seed, own_genus.as_deref(), set);
    let pollen_genus = |s: &Side| match s {
        Side::Known(n) => n.genus.clone(),
        _ => None,
    };
    let genus = own_genus.clone().or_else(|| pollen_genus(&seed));
    let pollen = side(&d.input.pollen, genus.as_deref(), set);
    // "ferox" alone as mother: the father's genus settles it.
    if pollen_genus(&seed).is_none()
        && let Some(genus) = pollen_genus(&pollen)
    {
        seed = side(&d.input.seed, Some(&genus), set);
    }
    let genus = own_genus.or_else(|| pollen_genus(&seed)).or_else(|| pollen_genus(&pollen));
    let first = match (&seed, &pollen) {
        (Side::Known(n), _) | (_, Side::Known(n)) => Some(n.as_ref().clone()),
        _ => None,
    };
    if first.as_ref().is_some_and(|n| !n.full_genus) {
        d.code("parent_genus_filled");
    }
    let selfed = matches!(pollen, Side::Itself);
    d.seed = put(d, &seed, set, "unknown_seed_parent");
    d.pollen = match &pollen {
        Side::Itself => {
            d.code("self_pollinated");
            d.seed.clone()
        }
        other => put(d, other, set, "unknown_pollen_parent"),
    };
    let given = !d.input.name.trim().is_empty() && !d.name.seedling && !nameless(d);
    if given {
        return;
    }
    unnamed(d, genus, &seed, &pollen, selfed, set);
}

fn put(d: &mut Draft, side: &Side, set: &Setting<'_>, code: &'static str) -> Option<String> {
    match side {
        Side::Nothing | Side::Itself => None,
        Side::Known(name) => full(name, set),
        Side::Unknown { bees, unsure } => {
            if *bees {
                d.code("open_pollinated");
            }
            if *unsure {
                d.code("parents_owner_unsure");
            }
            d.code(code);
            Some("unknown".to_owned())
        }
    }
}

static CALLED: LazyLock<Regex> = LazyLock::new(|| {
    pattern(
        r#"(?:called|named|named it|genannt|heist|benannt|getauft|nomme|nommee|appele|appelee|baptise|la llame|llamada|bautizada|noemde|genoemd|gedoopt|dopte|kallad|kallar|dopt)[^'"‘“„«]{0,12}['"]([^'"]{3,40})['"]"#,
    )
});

fn unnamed(
    d: &mut Draft,
    genus: Option<String>,
    seed: &Side,
    pollen: &Side,
    selfed: bool,
    set: &Setting<'_>,
) {
    d.drop_code("not_a_name");
    let original = squeeze(&d.input.notes.join("; "));
    let folded = fold(&original);
    if let Some(m) = CALLED.captures(&folded).and_then(|c| c.get(1))
        && let Some(genus) = &genus
    {
        let called = crate::fold::under(&original, &folded, m.range()).to_owned();
        d.name = Name { genus: Some(genus.clone()), cultivar: Some(called), ..Name::default() };
        d.code("genus_missing");
        d.ask = false;
        d.text = d.name.text();
        d.corrected(Part::Name);
        return;
    }
    let about = &set.layout.sheets[d.input.sheet];
    d.code("unnamed_seedling");
    if about.has(Role::Name) && d.name.genus.is_none() {
        d.code("genus_missing");
    }
    let both = match (seed, pollen) {
        (Side::Known(a), Side::Known(b)) if !selfed => Some((a, b)),
        _ => None,
    };
    if let Some((a, b)) = both {
        let missing = [a, b].iter().any(|n| n.codes.contains(&"quotes_missing"));
        if missing && !about.has(Role::Name) {
            d.code("quotes_missing");
        }
    }
    d.text = match (&d.seed, &d.pollen, both) {
        (Some(s), Some(p), Some(_)) => Some(format!("{s} × {p}")),
        _ => genus.clone(),
    };
    d.ask = d.text.is_none();
    d.unnamed = true;
    d.name.genus = genus;
    d.corrected(Part::Name);
}

/// "idem" under the parents of the row above.
fn parents_above(d: &mut Draft, previous: Option<&Draft>) -> bool {
    let Some(above) = previous.filter(|p| p.seed.is_some() || p.pollen.is_some()) else {
        return false;
    };
    d.seed.clone_from(&above.seed);
    d.pollen.clone_from(&above.pollen);
    for code in ["ditto", "parents_from_other_row", "parent_genus_filled"] {
        d.code(code);
    }
    if nameless(d) {
        d.name.genus = d.name.genus.take().or_else(|| above.name.genus.clone());
        d.drop_code("not_a_name");
        d.code("unnamed_seedling");
        d.text = match (&d.seed, &d.pollen) {
            (Some(s), Some(p)) if s != p && p != "unknown" => Some(format!("{s} × {p}")),
            _ => d.name.genus.clone(),
        };
        d.ask = d.text.is_none();
        d.unnamed = true;
    }
    true
}

/// "tamiana x ?", "? x rexii", "Zoute Drop selfed" in a column for parents.
fn half_known(d: &mut Draft, text: &str, set: &Setting<'_>) -> bool {
    let genus = d.name.genus.clone();
    let folded = fold(text);
    let (seed, pollen, selfed) = if let Some((a, b)) = name::sides(text) {
        let seed = side(a, genus.as_deref(), set);
        let pollen = side(b, genus.as_deref(), set);
        let half = |s: &Side| matches!(s, Side::Unknown { .. } | Side::Itself);
        if !half(&seed) && !half(&pollen) {
            return false;
        }
        d.code("parent_order_assumed");
        let selfed = matches!(pollen, Side::Itself);
        (seed, pollen, selfed)
    } else if let Some(range) = words::find(&folded, "selfed") {
        let rest = text.get(..range.start).unwrap_or_default();
        let after = text.get(range.end..).unwrap_or_default();
        let bare = format!("{rest} {after}");
        let seed =
            side(bare.trim_matches([' ', ',', '(', ')', ':', '-', '=']), genus.as_deref(), set);
        if !matches!(seed, Side::Known(_)) {
            return false;
        }
        (seed, Side::Itself, true)
    } else {
        return false;
    };
    if selfed {
        d.drop_code("parent_order_assumed");
        d.code("self_pollinated");
    }
    let known = match (&seed, &pollen) {
        (Side::Known(n), _) | (_, Side::Known(n)) => Some(n.as_ref().clone()),
        _ => None,
    };
    if known.as_ref().is_some_and(|n| !n.full_genus) {
        d.code("parent_genus_filled");
    }
    d.seed = put(d, &seed, set, "unknown_seed_parent");
    d.pollen = if selfed { d.seed.clone() } else { put(d, &pollen, set, "unknown_pollen_parent") };
    if nameless(d) {
        d.name.genus = d.name.genus.take().or_else(|| known.and_then(|n| n.genus));
        d.drop_code("not_a_name");
        d.code("unnamed_seedling");
        d.text.clone_from(&d.name.genus);
        d.ask = d.text.is_none();
        d.unnamed = true;
    }
    d.corrected(Part::SeedParent);
    true
}

/// A single column "parents": A × B, or one of them.
fn from_parents_cell(d: &mut Draft, set: &Setting<'_>, previous: Option<&Draft>) -> bool {
    let text = squeeze(&d.input.parents);
    if text == "-" || words::is(&fold(&text), "unknown") {
        return false;
    }
    if is_ditto(&text) {
        return parents_above(d, previous);
    }
    // Beside a formula the column only explains it.
    if d.name.formula.is_some() && name::sides(&text).is_none() {
        d.input.notes.push(text);
        return false;
    }
    let described = d.name.genus.is_none() && !d.input.name.trim().is_empty();
    if half_known(d, &text, set) {
        return true;
    }
    let about = &set.layout.sheets[d.input.sheet];
    let ctx = Context {
        registry: &set.registry,
        lang: set.lang,
        genus: d.name.genus.clone(),
        parent: true,
    };
    let name = name::read(&text, &ctx);
    let Some(pair) = &name.formula else {
        let lang = set.lang;
        let genus = d.name.genus.clone();
        let mut told = parents::told(&text, genus.as_deref(), &[], &set.registry, lang);
        let found = parents::mentions(&text, genus.as_deref(), &[], &set.registry, lang);
        if let [mother] = found.as_slice()
            && told.bees
            && told.seed.is_none()
        {
            told.seed = Some(Parent::Known(Box::new(mother.name.clone())));
            told.pollen = Some(Parent::Unknown);
            d.code("open_pollinated");
        }
        let applied = apply(d, &told, set);
        d.drop_code("parents_in_notes");
        if applied && nameless(d) {
            d.drop_code("not_a_name");
            d.code("unnamed_seedling");
            d.ask = d.name.genus.is_none();
            d.unnamed = true;
        }
        return applied;
    };
    d.seed = full(&pair.0, set);
    d.pollen = full(&pair.1, set);
    if !pair.0.full_genus {
        d.code("parent_genus_filled");
    }
    let notes = squeeze(&d.input.notes.join("; "));
    let aliases = [pair.0.clone(), pair.1.clone()];
    let told = parents::told(&notes, d.name.genus.as_deref(), &aliases, &set.registry, set.lang);
    let is = |p: &Option<Parent>, text: &Option<String>| matches!(p, Some(Parent::Known(n)) if full(n, set) == *text);
    let first = is(&told.seed, &d.seed) || is(&told.pollen, &d.pollen);
    let second = is(&told.seed, &d.pollen) || is(&told.pollen, &d.seed);
    if second && !first && !told.by_order {
        std::mem::swap(&mut d.seed, &mut d.pollen);
        d.code("parent_order_contradicted");
    } else if (!first || told.by_order) && !about.mother_first {
        d.code("parent_order_assumed");
    }
    if d.input.name.trim().is_empty() || d.text.is_none() || nameless(d) {
        d.name.genus.clone_from(&pair.0.genus);
        d.text = match (&d.seed, &d.pollen) {
            (Some(s), Some(p)) => Some(format!("{s} × {p}")),
            _ => d.name.genus.clone(),
        };
        d.ask = d.text.is_none();
        d.drop_code("not_a_name");
        if described {
            d.code("not_a_name");
            d.code("genus_missing");
        }
        d.code("unnamed_seedling");
        d.unnamed = true;
    }
    true
}

/// A genus and at most a number: no name was given.
fn nameless(d: &Draft) -> bool {
    d.name.cultivar.is_none()
        && d.name.species.is_none()
        && d.name.formula.is_none()
        && !d.has("unidentified")
        && !d.has("owner_unsure")
}

fn from_formula(d: &mut Draft, set: &Setting<'_>) {
    let Some(pair) = d.name.formula.clone() else { return };
    let (a, b) = (full(&pair.0, set), full(&pair.1, set));
    let aliases = [pair.0.clone(), pair.1.clone()];
    let notes = squeeze(&d.input.notes.join("; "));
    let genus = pair.0.genus.clone();
    let told = parents::told(&notes, genus.as_deref(), &aliases, &set.registry, set.lang);
    let is = |p: &Option<Parent>, text: &Option<String>| matches!(p, Some(Parent::Known(n)) if full(n, set) == *text);
    let mother_b = is(&told.seed, &b) || is(&told.pollen, &a);
    let mother_a = is(&told.seed, &a) || is(&told.pollen, &b);
    let marked = marked_mother(&d.input.name);
    let mother_b = marked.map_or(mother_b, |left| !left);
    let mother_a = marked.map_or(mother_a, |left| left);
    if marked.is_some() {
        d.drop_code("words_in_name");
    }
    let about = &set.layout.sheets[d.input.sheet];
    if a == b {
        d.code("self_pollinated");
    }
    (d.seed, d.pollen) = if mother_b && !mother_a && !told.by_order { (b, a) } else { (a, b) };
    let other_row = d.name.ditto || CROSS_REF.is_match(&d.said);
    if mother_b && !mother_a && !told.by_order {
        if !d.name.ditto {
            d.code("parent_order_contradicted");
        }
    } else if (!mother_a || told.by_order) && !about.mother_first && !other_row {
        d.code("parent_order_assumed");
    }
    d.corrected(Part::SeedParent);
    d.corrected(Part::PollenParent);
    // The name keeps the order typed, with the species its parents have.
    if let (Some(first), Some(second)) = (full(&pair.0, set), full(&pair.1, set)) {
        d.text = Some(format!("{first} × {second}"));
    }
}

pub(super) static CROSS_REF: LazyLock<Regex> = LazyLock::new(|| {
    pattern(
        r"(?:cross|kreuzung|kruising|croisement|cruce|korsning)\s(?:no\.?\s?|nr\.?\s?|n°\s?)?([a-z]{0,2}[-]?\d+[a-z]?)(?:$|[^\p{L}\d])",
    )
});
static SAME_CROSS: LazyLock<Regex> = LazyLock::new(|| {
    pattern(
        r"(?:same cross|same pod|same parents|same seed|sister|sibling|gleiche kreuzung|dieselbe kreuzung|selbe kreuzung|geschwister|zelfde kruising|zus|meme croisement|soeur|mismo cruce|hermana|samma korsning|syster)[^\d#]{0,20}(?:no\.?|nr\.?|n°|#|num\.?)?\s?(\d+[a-z]?)(?:$|[^\d])",
    )
});

fn from_notes(d: &mut Draft, set: &Setting<'_>) {
    let mut notes = squeeze(&d.input.notes.join("; "));
    if !d.name.words.is_empty() {
        notes = format!("{notes}; {}", d.name.words.join("; "));
    }
    let seedling_of = d.name.seedling && (d.name.cultivar.is_some() || d.name.species.is_some());
    if notes.trim_matches([';', ' ']).is_empty() && !seedling_of {
        finish_seedling(d, None);
        return;
    }
    let genus = d.name.genus.clone();
    let mut told = parents::told(&notes, genus.as_deref(), &[], &set.registry, set.lang);
    if seedling_of {
        // "Late Bus Home sdl 3": a seedling of it.
        let mut of = d.name.clone();
        of.ask = false;
        told.seed = Some(Parent::Known(Box::new(of)));
        if told.bees {
            told.pollen = Some(Parent::Unknown);
        } else if told.selfed {
            told.pollen.clone_from(&told.seed);
        }
        let full_genus = d.name.full_genus;
        apply_sides(d, &told, set);
        if !full_genus {
            d.code("parent_genus_filled");
        }
        d.drop_code("quotes_missing");
        d.drop_code("parents_in_notes");
        d.name.cultivar = None;
        d.name.species = None;
        finish_seedling(d, genus);
        return;
    }
    let own_seed = d.source.as_deref() == Some("own") && d.name.seedling;
    if told.bees && told.seed.is_none() && own_seed {
        told.pollen = Some(Parent::Unknown);
    }
    let found = apply(d, &told, set);
    let parent_genus = match (&told.seed, &told.pollen) {
        (Some(Parent::Known(n)), _) | (_, Some(Parent::Known(n))) => n.genus.clone(),
        _ => None,
    };
    if found && !d.name.full_genus {
        d.code("parent_genus_filled");
    }
    let raised = d.source.as_deref() == Some("own") || d.date.sowing;
    if (told.by_order || (found && raised)) && nameless(d) && d.name.genus.is_some() {
        d.name.seedling = true;
        d.drop_code("not_a_name");
        d.ask = false;
    }
    finish_seedling(d, parent_genus);
}

/// Writes what was told into the row; whether there was anything.
fn apply(d: &mut Draft, told: &Told, set: &Setting<'_>) -> bool {
    let something = apply_sides(d, told, set);
    if something {
        d.code("parents_in_notes");
        if told.by_order && !set.layout.sheets[d.input.sheet].mother_first {
            d.code("parent_order_assumed");
        }
        d.corrected(Part::SeedParent);
    }
    something
}

fn apply_sides(d: &mut Draft, told: &Told, set: &Setting<'_>) -> bool {
    let text = |p: &Option<Parent>| match p {
        Some(Parent::Known(n)) => full(n, set),
        Some(Parent::Unknown) => Some("unknown".to_owned()),
        None => None,
    };
    let (seed, pollen) = (text(&told.seed), text(&told.pollen));
    // A plant is not its own parent: a mention of the row's own name tells nothing.
    let own = d.text.clone();
    if seed.is_some() && seed == own && !d.name.seedling && pollen.is_none() {
        return false;
    }
    if seed.is_none() && pollen.is_none() {
        return false;
    }
    d.seed = seed;
    d.pollen = pollen;
    if matches!(told.pollen, Some(Parent::Unknown)) {
        d.code("unknown_pollen_parent");
        if told.bees && d.name.seedling {
            d.code("open_pollinated");
        }
    }
    if matches!(told.seed, Some(Parent::Unknown)) {
        d.code("unknown_seed_parent");
    }
    true
}

/// A seedling without a name gets the genus of its parents.
fn finish_seedling(d: &mut Draft, genus: Option<String>) {
    let nameless =
        d.name.cultivar.is_none() && d.name.species.is_none() && d.name.formula.is_none();
    if !d.name.seedling || !nameless {
        return;
    }
    if d.name.genus.is_none() {
        d.name.genus = genus;
        d.code("not_a_name");
        d.code("genus_missing");
    }
    d.code("unnamed_seedling");
    d.unnamed = true;
    d.text.clone_from(&d.name.genus);
    d.ask = d.text.is_none();
    d.corrected(Part::Name);
}

/// Rows that point to other rows for their parents, and seedlings whose genus
/// only their siblings tell.
pub(super) fn complete(drafts: &mut [Draft], set: &Setting<'_>) {
    let mut by_tag: HashMap<(usize, String), usize> = HashMap::new();
    for (i, d) in drafts.iter().enumerate() {
        if let Some(tag) = &d.tag {
            by_tag.entry((d.input.sheet, fold(tag))).or_insert(i);
        }
    }
    for i in 0..drafts.len() {
        let sheet = drafts[i].input.sheet;
        if let Some(tag) = SAME_CROSS.captures(&drafts[i].said).and_then(|c| c.get(1)) {
            let other = by_tag.get(&(sheet, tag.as_str().to_owned())).copied();
            if let Some(other) = other.filter(|o| *o != i) {
                adopt(drafts, i, other);
            }
            continue;
        }
        let reference = CROSS_REF
            .captures(&drafts[i].said)
            .and_then(|c| c.get(1))
            .map(|m| m.as_str().to_owned());
        if let Some(reference) = reference {
            let found = (0..set.layout.sheets.len())
                .filter(|s| *s != sheet)
                .find_map(|s| by_tag.get(&(s, reference.clone())).copied());
            if let Some(other) = found.filter(|o| crosses(&drafts[*o], set.layout)) {
                let (seed, pollen) = (drafts[other].seed.clone(), drafts[other].pollen.clone());
                let d = &mut drafts[i];
                d.code("parents_from_other_row");
                d.relations.push(Relation { kind: RelationKind::ParentsFrom, to: other });
                if seed.is_some() {
                    (d.seed, d.pollen) = (seed, pollen);
                }
            }
        }
    }
}

fn adopt(drafts: &mut [Draft], i: usize, other: usize) {
    let from = drafts[other].clone();
    let d = &mut drafts[i];
    if d.seed.is_some() || from.seed.is_none() {
        return;
    }
    d.seed.clone_from(&from.seed);
    d.pollen.clone_from(&from.pollen);
    d.code("parents_in_notes");
    d.code("parents_from_other_row");
    d.code("parent_genus_filled");
    d.relations.push(Relation { kind: RelationKind::ParentsFrom, to: other });
    if d.name.genus.is_none() {
        d.name.genus.clone_from(&from.name.genus);
        d.text.clone_from(&from.name.genus);
        d.ask = d.text.is_none();
    }
}
