//! What an epithet may not say: banned words, claims of merit, the genus again.

use crate::context::Context;
use crate::read::Problems;
use crate::rules;
use crate::tables::words::{
    BANNED, DESCRIPTIVE, DISCOURAGED, JOINING, NOT_SUPERLATIVE, SUPERLATIVES, UNIVERSAL,
};
use crate::text::fold;

fn words(text: &str) -> Vec<String> {
    fold(text)
        .split(|c: char| !c.is_alphanumeric())
        .filter(|word| !word.is_empty())
        .map(str::to_owned)
        .collect()
}

/// Words that the code bans, whole words only.
pub(super) fn banned(text: &str, context: &Context, problems: &mut Problems) {
    for word in words(text) {
        let row = BANNED.iter().find(|row| row.words.contains(&word.as_str()));
        if let Some(row) = row.filter(|row| context.since(row.since)) {
            let message = format!("“{word}” ({}) may not be part of an epithet.", row.language);
            let source = if row.listed { rules::ICNCP } else { rules::ICNCP_MEMORY };
            problems.error("banned_word", message, source);
        } else if DISCOURAGED.contains(&word.as_str()) {
            let message = format!("Some registrars bar the word “{word}”.");
            problems.warn("discouraged_word", message, rules::REGISTRARS);
        }
    }
}

fn is_superlative(word: &str) -> bool {
    let regular = word.len() > 4 && word.ends_with("est") && !NOT_SUPERLATIVE.contains(&word);
    let romance = word.len() > 7 && (word.ends_with("isima") || word.ends_with("isimo"));
    regular || romance || SUPERLATIVES.contains(&word)
}

/// Claims to surpass all others.
pub(super) fn merit(text: &str, context: &Context, problems: &mut Problems) {
    if !context.since(1959) {
        return;
    }
    let words = words(text);
    let sentence = format!(" {} ", words.join(" "));
    let universal = UNIVERSAL.iter().any(|claim| sentence.contains(&format!(" {claim} ")));
    let superlative = words.iter().any(|word| is_superlative(word));
    let small = |word: &String| {
        matches!(
            word.as_str(),
            "the" | "very" | "der" | "die" | "das" | "le" | "la" | "el" | "il" | "plus"
        )
    };
    let alone = superlative && words.iter().all(|word| is_superlative(word) || small(word));
    // "Most Beautiful", "Plus Belle": the adverb makes the superlative.
    let adverb = matches!(words.first().map(String::as_str), Some("most")) && words.len() == 2;
    let adverbial = sentence.contains(" plus ") || sentence.contains(" mas ");
    let romance_claim = adverbial && universal;
    if (superlative && universal) || alone || adverb || romance_claim {
        let message = format!("“{text}” claims to surpass all others.");
        problems.error("merit_claim", message, rules::ICNCP);
    }
}

/// The genus inside its own epithet.
pub(super) fn genus_repeated(text: &str, genus: &str, problems: &mut Problems) {
    let genus = fold(genus);
    let plural = format!("{genus}s");
    if !genus.is_empty() && words(text).iter().any(|word| *word == genus || *word == plural) {
        let message = format!("“{text}” repeats the name of the genus.");
        problems.error("genus_repeated", message, rules::ICNCP);
    }
}

/// Nothing but common words of description.
pub(super) fn descriptive(text: &str, problems: &mut Problems) {
    let words = words(text);
    let tells = words.iter().any(|word| {
        !DESCRIPTIVE.contains(&word.as_str()) && !JOINING.contains(&word.as_str()) && word != "and"
    });
    if !words.is_empty() && !tells {
        let message = format!("“{text}” only describes; it tells the plant from few others.");
        problems.warn("only_descriptive", message, rules::ICNCP);
    }
}
