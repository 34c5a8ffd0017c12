//! What became of a plant, as notes and state cells tell it.

use std::sync::LazyLock;

use regex::Regex;

use crate::words::{self, find_all, has, pattern};

/// The four states.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Fate {
    Dead,
    Given,
    Unclear,
}

/// What may stand right before a word of death and take it back.
static SPARED: LazyLock<Regex> = LazyLock::new(|| {
    pattern(
        r"(?:nearly|almost|not|half|thought it was|thought|never|fast|beinahe|nicht|bijna|niet|presque|pas|failli|casi|no esta|nastan|inte|mother|mother plant|parent|parent plant|mutterpflanze|moederplant|one|two|label|tag|name|naam|etikett|etiket|schild|nom|nombre|etiqueta|label is|some|few|some leaves|leaves|leaf|\d+|top|main stem|tip|halb)\s?$",
    )
});
/// What may stand right after and take it back.
static SPARED_AFTER: LazyLock<Regex> = LazyLock::new(|| {
    pattern(
        r"^\s?(?:back|its|all|some|a few|most|label|the label|leaves|leaf|name|down|off|tag|track|flowers|buds|\?|de hojas|hojas|blad|blatter|quelques feuilles|ses feuilles|weight|el nombre|la etiqueta|l'etiquette|le nom|half|one|two)(?:$|[^\p{L}])",
    )
});
static HALF: LazyLock<Regex> = LazyLock::new(|| {
    pattern(
        r"(?:half|other half|halfte|helft|halva|halften|moitie|mitad|part of|piece|a bit|one for|some of|one of|cuttings? (?:to|given)|offset to|pup to|spare|ableger|steckling|stecklinge|stek|stekje|bouture|esqueje|stickling|hijuelo|kindel|rejet|sidoskott|split|divid|une partie|una parte|teil|ein stuck|een stuk|en bit|un bout|un trozo|leaf to|leaves to|blatt an)\W+(?:\p{L}+\W+){0,4}$|\d+\s?$",
    )
});

/// Reads the fate from folded notes.
pub(crate) fn in_notes(t: &str) -> Option<Fate> {
    if t.contains('†') {
        return Some(Fate::Dead);
    }
    for range in find_all(t, "dead") {
        let (before, after) = (&t[..range.start], &t[range.end..]);
        let word = &t[range.clone()];
        if SPARED.is_match(before) || SPARED_AFTER.is_match(after) {
            continue;
        }
        // "the rest rotted, 3 left": what is left lives on.
        let all = [
            "all ",
            "alle ",
            "allemaal ",
            "toutes ",
            "tous ",
            "todas ",
            "todos ",
            "alla ",
            "both ",
        ];
        let none_left = word == "all rotted" || all.iter().any(|a| before.ends_with(a));
        if crate::amount::how_many(t) > 1 && !none_left {
            continue;
        }
        if after.trim_start().starts_with('?') || maybe(before) {
            return Some(Fate::Unclear);
        }
        // A mother who died is not the plant, a plant's own place of rest is.
        if word == "seco" || word == "hin" || word == "no more" || word == "kaputt" {
            let alone = t.trim() == word || before.trim().is_empty();
            if !alone {
                continue;
            }
        }
        return Some(Fate::Dead);
    }
    for range in find_all(t, "given") {
        let before = &t[..range.start];
        // Only what stands in the same clause takes it back.
        let clause = before.rsplit(['.', ';']).next().unwrap_or(before);
        if HALF.is_match(before) || maybe(before) || has(clause, "partial") {
            continue;
        }
        // Given by somebody is how it came, not where it went.
        if t[range.end..].trim_start().starts_with("by ")
            || t[range.end..].trim_start().starts_with("me")
        {
            continue;
        }
        if crate::amount::how_many(t) > 1 && !t.contains("the lot") && !t.contains("all of") {
            continue;
        }
        return Some(Fate::Given);
    }
    gone(t)
}

fn maybe(before: &str) -> bool {
    [
        "maybe",
        "perhaps",
        "probably",
        "vielleicht",
        "wohl",
        "misschien",
        "peut-etre",
        "quizas",
        "kanske",
        "possibly",
    ]
    .iter()
    .any(|w| before.trim_end().ends_with(w))
}

static GONE: LazyLock<Regex> = LazyLock::new(|| {
    pattern(r"^gone(?:$|[^\p{L}])|(?:^|[,;.] ?)(?:is weg|weg|borta|parti|partie|se fue|fort|gone)$")
});

fn gone(t: &str) -> Option<Fate> {
    if !GONE.is_match(t) {
        return None;
    }
    let away = has(t, "swap") || has(t, "given");
    Some(if away { Fate::Given } else { Fate::Unclear })
}

/// Reads a cell of a state column.
pub(crate) fn in_state_cell(t: &str) -> Option<Fate> {
    let t = t.trim().trim_end_matches(['.', '!']);
    if t.is_empty() || words::is(t, "alive") {
        return None;
    }
    if matches!(t, "no" | "n" | "nein" | "nee" | "non" | "nej" | "gone") {
        return Some(if t == "gone" { Fate::Unclear } else { Fate::Dead });
    }
    if words::is(t, "swap")
        || matches!(
            t,
            "weg"
                | "given"
                | "away"
                | "gift"
                | "traded"
                | "swapped"
                | "donne"
                | "donnee"
                | "regalada"
                | "regalado"
                | "bytt"
                | "skankt"
                | "vendu"
                | "vendue"
                | "geruild"
                | "getauscht"
        )
    {
        return Some(Fate::Given);
    }
    if t.contains('?') || words::is(t, "unknown") || has(t, "vague") {
        return Some(Fate::Unclear);
    }
    in_notes(t)
}
