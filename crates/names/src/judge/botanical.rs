//! Rules of the botanical code about the form of names.

use crate::read::Problems;
use crate::reading::{HybridSign, Parts};
use crate::rules;
use crate::tables::usage::{GIVEN_UP_NOTHOGENERA, MORPHOLOGY, TYPE_CLAIMS};
use crate::text::syllables;

/// Compounding first halves after which no hyphen is kept.
const UNHYPHENED: &[&str] = &[
    "pseudo-", "neo-", "sub-", "semi-", "albo-", "atro-", "rubro-", "griseo-", "flavo-", "viridi-",
];

pub(super) fn check(parts: &mut Parts, problems: &mut Problems) {
    if parts.common_name {
        return;
    }
    genus(parts, problems);
    ranks(parts, problems);
    hyphens(parts, problems);
    tautonym(parts, problems);
    final_epithet(parts, problems);
    gender(parts, problems);
    personal_ending(parts, problems);
}

fn genus(parts: &Parts, problems: &mut Problems) {
    let Some(genus) = parts.genus.as_deref() else { return };
    if MORPHOLOGY.contains(&genus) {
        let message = format!("{genus} is a term of morphology and cannot be a genus.");
        problems.error("morphology_genus", message, rules::ICN_20_2);
    }
    if parts.sign != Some(HybridSign::Hybrid) {
        return;
    }
    if let Some((_, instead)) = GIVEN_UP_NOTHOGENERA.iter().find(|(name, _)| *name == genus) {
        let message =
            format!("×{genus} is formed from a name that is not accepted; it is {instead}.");
        problems.error("nothogenus_from_synonym", message, rules::ICN_H8_1);
    }
    if genus.ends_with("ara") && syllables(genus) > 8 {
        let message = format!("×{genus} has more than eight syllables.");
        problems.error("nothogenus_too_long", message, rules::ICN_H6_3);
    }
}

/// Several ranks at once are a classification; the name keeps the last.
fn ranks(parts: &mut Parts, problems: &mut Problems) {
    if parts.infra.len() < 2 {
        return;
    }
    if let Some(last) = parts.infra.pop() {
        parts.infra = vec![last];
        let message = "Several ranks at once are a classification; the name keeps the last.";
        problems.fix("ranks_reduced", message, rules::ICN_24_1);
    }
}

fn hyphens(parts: &mut Parts, problems: &mut Problems) {
    let species = parts.species.iter_mut().map(|species| &mut species.text);
    let infra = parts.infra.iter_mut().map(|infra| &mut infra.epithet.text);
    for text in species.chain(infra) {
        if UNHYPHENED.iter().any(|prefix| text.starts_with(prefix)) {
            *text = text.replacen('-', "", 1);
            let message = format!("No hyphen stands after a compounding form: {text}.");
            problems.fix("hyphen", message, rules::ICN_60);
        }
    }
}

fn tautonym(parts: &Parts, problems: &mut Problems) {
    if let (Some(genus), Some(species)) = (&parts.genus, &parts.species)
        && genus.to_lowercase() == species.text
    {
        let message = format!("The species epithet repeats the genus {genus}.");
        problems.error("tautonym", message, rules::ICN_23_4);
    }
}

fn final_epithet(parts: &mut Parts, problems: &mut Problems) {
    let species = parts.species.as_ref().map(|species| species.text.clone());
    let Some(last) = parts.infra.last_mut() else { return };
    let autonym = species.as_deref() == Some(last.epithet.text.as_str());
    if autonym && last.epithet.author.take().is_some() {
        let message = "No author stands after the epithet of an autonym.";
        problems.fix("autonym_author", message, rules::ICN_26_1);
    }
    let text = last.epithet.text.as_str();
    let claims = |stem: &&str| {
        text.strip_prefix(*stem)
            .is_some_and(|ending| matches!(ending, "" | "us" | "a" | "um" | "is" | "e"))
    };
    if !autonym && TYPE_CLAIMS.iter().any(claims) {
        let message = format!("The epithet “{text}” claims to hold the type; it is not valid.");
        problems.error("type_claim", message, rules::ICN_24_3);
    }
}

/// Feminine trees in -us take feminine adjectives; other masculine endings are looked at.
fn gender(parts: &Parts, problems: &mut Problems) {
    let (Some(genus), Some(species)) = (&parts.genus, &parts.species) else { return };
    let ends = |endings: &[&str]| endings.iter().any(|end| species.text.ends_with(end));
    let masculine = ["atus", "osus", "icus", "inus", "anus", "utus", "florus", "folius"];
    let feminine = ["ata", "osa", "ica", "ina", "ana", "uta", "flora", "folia"];
    let neuter = ["atum", "osum", "icum", "inum", "anum", "utum", "florum", "folium"];
    let clash = if genus.ends_with("ia") || genus.ends_with("ella") {
        ends(&masculine) || ends(&neuter)
    } else if genus.ends_with("um") || genus.ends_with("phyllon") {
        ends(&masculine) || ends(&feminine)
    } else if genus.ends_with("anthus") || genus.ends_with("carpus") {
        ends(&feminine) || ends(&neuter)
    } else {
        false
    };
    if clash {
        let message = format!("“{}” may not agree in gender with {genus}.", species.text);
        problems.warn("gender", message, rules::ICN_23_5);
    }
}

/// A person's name that ends in a consonant takes -ii, but for -er.
fn personal_ending(parts: &Parts, problems: &mut Problems) {
    let Some(species) = &parts.species else { return };
    let Some(stem) = species.text.strip_suffix('i') else { return };
    let surname = ["son", "ton", "man", "ford", "mann", "berg", "ham", "ley", "smith", "ing"];
    if surname.iter().any(|end| stem.ends_with(end)) && !stem.ends_with("ley") {
        let message = format!("If “{}” honours a person, it ends in -ii.", species.text);
        problems.warn("personal_ending", message, rules::ICN_60);
    }
}
