//! Parents told outside the name: in notes, with words for mother and father.

use std::sync::LazyLock;

use regex::Regex;

use crate::{
    flora::{FLORA, Spelling},
    fold::{fold, key, under},
    name::{self, Name, Registry},
    words::{find_all, has, pattern},
};

/// One parent as told.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Parent {
    Known(Box<Name>),
    Unknown,
}

#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) struct Told {
    pub seed: Option<Parent>,
    pub pollen: Option<Parent>,
    /// Told as "A x B" without saying which is the mother.
    pub by_order: bool,
    pub bees: bool,
    pub selfed: bool,
}

/// A plant mentioned in a remark.
#[derive(Debug, Clone)]
pub(crate) struct Mention {
    pub range: std::ops::Range<usize>,
    pub name: Name,
}

/// Finds the plants a remark mentions: cultivars of the file, quoted names,
/// species of the row's genus.
pub(crate) fn mentions(
    text: &str,
    genus: Option<&str>,
    aliases: &[Name],
    registry: &Registry,
    lang: crate::Language,
) -> Vec<Mention> {
    let folded = fold(text);
    let tokens = tokens(&folded);
    let mut found: Vec<Mention> = Vec::new();
    let mut i = 0;
    while i < tokens.len() {
        let longest = registry.longest.clamp(1, 6) + 1;
        let hit = (1..=longest.min(tokens.len() - i)).rev().find_map(|n| {
            let range = tokens[i].start..tokens[i + n - 1].end;
            let name = mention(text, &folded, range.clone(), n, genus, aliases, registry, lang)?;
            Some((n, Mention { range, name }))
        });
        match hit {
            Some((n, mention)) => {
                found.push(mention);
                i += n;
            }
            None => i += 1,
        }
    }
    found
}

fn tokens(folded: &str) -> Vec<std::ops::Range<usize>> {
    let mut out: Vec<std::ops::Range<usize>> = Vec::new();
    let mut start = None;
    for (i, c) in folded.char_indices().chain([(folded.len(), ' ')]) {
        let word = c.is_alphanumeric() || matches!(c, '\'' | '-');
        match (word, start) {
            (true, None) => start = Some(i),
            (false, Some(s)) => {
                out.push(s..i);
                start = None;
            }
            _ => {}
        }
    }
    out
}

#[allow(clippy::too_many_arguments, reason = "all of it is what a mention depends on")]
fn mention(
    text: &str,
    folded: &str,
    range: std::ops::Range<usize>,
    words: usize,
    genus: Option<&str>,
    aliases: &[Name],
    registry: &Registry,
    lang: crate::Language,
) -> Option<Name> {
    let part = folded[range.clone()].trim_matches('\'');
    let k = key(part);
    if k.len() < 3 {
        return None;
    }
    let ctx = name::Context { registry, lang, genus: genus.map(str::to_owned), parent: true };
    let known = registry.cultivar(&k, genus).or_else(|| registry.cultivar(&k, None));
    if known.is_some() {
        return name::read_parent(under(text, folded, range), &ctx);
    }
    if words > 1 {
        return None;
    }
    if crate::words::is(part, "stop") {
        return None;
    }
    if let Some(alias) = aliases.iter().find(|a| answers_to(a, &k)) {
        return Some(alias.clone());
    }
    let genus = genus?;
    let species = FLORA.has(genus, part)
        || registry.has_species(genus, part)
        || (part.len() > 8 && matches!(FLORA.spelling(genus, part), Spelling::Corrected(_)));
    if species { name::read_parent(part, &ctx) } else { None }
}

/// Whether a parent goes by one of its words ("Ilsebill" for 'Tante Ilsebill').
fn answers_to(name: &Name, k: &str) -> bool {
    k.len() >= 4 && name.cultivar.as_ref().is_some_and(|c| key(c).split(' ').any(|w| w == k))
}

static GAP_AFTER: LazyLock<Regex> = LazyLock::new(|| {
    pattern(
        r#"^[\s:='"(]*(?:(?:is|was|war|ist|are|er|de|of|from|von|van|fran|av|the|la|le|el|est|etait|es|era|var|ar|plant|plante|pflanze|planta|plantan|parent|=|b|begonia|son|sur)\.?[\s:='"(]+){0,2}$"#,
    )
});
static GAP_BEFORE: LazyLock<Regex> = LazyLock::new(|| {
    pattern(
        r#"^[\s:='")(]*(?:(?:is|was|war|ist|as|als|the|the|la|le|el|est|etait|es|era|var|ar|die|der|de|som|como|comme|om|on|seed|a|\()\.?[\s:='"(]*){0,2}$"#,
    )
});

/// The parent each word for mother or father belongs to.
fn spoken_of<'m>(
    folded: &str,
    meaning: &str,
    other: &str,
    mentions: &'m [Mention],
) -> Option<&'m Mention> {
    let others = find_all(folded, other);
    for word in find_all(folded, meaning) {
        let after = mentions.iter().find(|m| {
            m.range.start >= word.end && GAP_AFTER.is_match(&folded[word.end..m.range.start])
        });
        if after.is_some() {
            return after;
        }
        let before = mentions.iter().rev().find(|m| {
            m.range.end <= word.start
                && GAP_BEFORE.is_match(&folded[m.range.end..word.start])
                && !others.iter().any(|o| o.start >= m.range.end && o.end <= word.start)
        });
        if before.is_some() {
            return before;
        }
        let looser = mentions.iter().find(|m| {
            m.range.start >= word.end
                && folded[word.end..m.range.start].trim_matches([',', ' ', ':']).is_empty()
        });
        if looser.is_some() {
            return looser;
        }
    }
    None
}

fn told_unknown(folded: &str, meaning: &str) -> bool {
    find_all(folded, meaning).iter().any(|word| {
        let after: String = folded[word.end..].chars().take(24).collect();
        let after = after.split([';', '.']).next().unwrap_or_default().to_owned();
        let first = after.split(',').next().unwrap_or_default();
        has(first, "unknown") || first.trim() == "?" || first.trim() == ": ?"
    })
}

/// Reads what a remark says about the parents.
pub(crate) fn told(
    text: &str,
    genus: Option<&str>,
    aliases: &[Name],
    registry: &Registry,
    lang: crate::Language,
) -> Told {
    let folded = fold(text);
    let found = mentions(text, genus, aliases, registry, lang);
    let mut told =
        Told { bees: has(&folded, "bees"), selfed: has(&folded, "selfed"), ..Told::default() };
    let known = |m: &Mention| Parent::Known(Box::new(m.name.clone()));
    let mother = spoken_of(&folded, "mother", "father", &found);
    let father = spoken_of(&folded, "father", "mother", &found)
        .filter(|f| mother.is_none_or(|m| m.range != f.range));
    told.seed = mother.map(known);
    told.pollen = father.map(known);
    if told.seed.is_none() && told_unknown(&folded, "mother") {
        told.seed = Some(Parent::Unknown);
    }
    if told.pollen.is_none()
        && (told_unknown(&folded, "father") || (told.bees && told.seed.is_some()))
    {
        told.pollen = Some(Parent::Unknown);
    }
    if told.seed.is_none() && told.pollen.is_none() {
        for pair in found.windows(2) {
            let between =
                folded[pair[0].range.end..pair[1].range.start].trim_matches(['\'', '"', ' ']);
            let tail = between.rsplit(' ').next().unwrap_or_default();
            if matches!(between, "x" | "×" | "*")
                || (matches!(between.split(' ').next(), Some("x" | "×")) && tail.ends_with('.'))
            {
                told.seed = Some(known(&pair[0]));
                told.pollen = Some(known(&pair[1]));
                told.by_order = true;
                break;
            }
        }
    }
    told
}
