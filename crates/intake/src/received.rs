//! As what a plant came.

use std::sync::LazyLock;

use regex::Regex;

use crate::{
    fold::fold,
    words::{self, find, pattern},
};

/// From the most telling to the least.
const KINDS: [&str; 6] = ["rooted_cutting", "seedling", "division", "cutting", "seed", "plant"];

/// Reads a cell of a column that says it.
pub(crate) fn cell(text: &str) -> Option<&'static str> {
    let t = fold(text).trim().trim_end_matches(['.', '!']).to_owned();
    if t.is_empty() {
        return None;
    }
    if let Some(kind) = KINDS.iter().find(|k| words::is(&t, k)) {
        return Some(kind);
    }
    // "unrooted" must win over "rooted" inside it; whole words see to that.
    if let Some(kind) = KINDS.iter().find(|k| find(&t, k).is_some()) {
        return Some(kind);
    }
    // German and Swedish compounds: the last part says what it is.
    let ends = [
        ("steckling", "cutting"),
        ("stecklinge", "cutting"),
        ("stickling", "cutting"),
        ("stek", "cutting"),
        ("samling", "seedling"),
        ("zaailing", "seedling"),
        ("froplanta", "seedling"),
        ("pflanze", "plant"),
        ("planta", "plant"),
        ("plant", "plant"),
        ("zwiebel", "plant"),
        ("knolle", "plant"),
        ("rhizom", "division"),
        ("samen", "seed"),
        ("blatt", "cutting"),
        ("blad", "cutting"),
        ("skott", "cutting"),
        ("lok", "plant"),
    ];
    let last = t.split([' ', ',']).next_back().unwrap_or(&t);
    ends.iter().find(|(e, _)| last.ends_with(e)).map(|(_, k)| *k)
}

static SWAP_CLAUSE: LazyLock<Regex> = LazyLock::new(|| {
    pattern(
        r"(?:swap(?:ped)?|swopped|traded|trade|exchanged?|in exchange|tausch|getauscht|geruild|ruil|bytt|byte|a cambio|cambiad[ao]|contre une?|contre|echange|troc)\s(?:for|gegen|tegen|mot|de|of|with)?[^.;,]*",
    )
});
/// What went to others is not how it came.
static GIVEN_CLAUSE: LazyLock<Regex> = LazyLock::new(|| {
    pattern(
        r"(?:gave|given|sold|passed|sent|promised|abgegeben|weggegeven|gegeben|verschenkt|donnee?|di una?|gav)\s[^.;,]*|(?:cuttings?|leaf|leaves|pups?|offsets?|stecklinge?|ableger|kindel|stek|stekje|boutures?|rejet|esquejes?|hijuelo|sticklingar?|sidoskott)\s(?:to|for|an|fur|aan|voor|a|pour|para|till|at)\s[^.;,]*",
    )
});
static COUNTED_SEEDLINGS: LazyLock<Regex> = LazyLock::new(|| {
    pattern(r"\d+ (?:seedlings|samlinge|zaailingen|plantules|plantulas|froplantor)")
});
static OTHER_WORDS: LazyLock<Regex> = LazyLock::new(|| {
    pattern(
        r"label(?:s)? off|leaf (?:spot|colour|mould|shape)|(?:red|green|silver|dark|big|hairy|spotted|lost|new|some|few|its|all|small|large|pink|nice|first|yellow) (?:leaf|leaves)|seed (?:pod )?parent|pollen parent|pod parent|pod(?:s)? set|(?:mother|parent|stock|huge|big|nice|lovely|good|strong|slow|same|this|the|own|my|each|one|per|another|second|sister) plant|sets seed|set seed|seed pod",
    )
});

/// Reads it from folded notes; what was given in exchange does not count.
pub(crate) fn in_notes(t: &str) -> Option<&'static str> {
    let t = SWAP_CLAUSE.replace_all(t, " ");
    let t = GIVEN_CLAUSE.replace_all(&t, " ");
    let t = COUNTED_SEEDLINGS.replace_all(&t, " ");
    let t = OTHER_WORDS.replace_all(&t, " ");
    let mut best: Option<(usize, &'static str)> = None;
    for kind in ["rooted_cutting", "cutting", "seedling", "division", "seed", "plant"] {
        let Some(range) = find(&t, kind) else { continue };
        if kind == "plant" && weak(&t[range.clone()]) {
            continue;
        }
        if kind == "division"
            && matches!(&t[range.clone()], "split" | "clump" | "runner" | "crown" | "divided")
        {
            continue;
        }
        if matches!(
            &t[range.clone()],
            "pod"
                | "berry"
                | "planta"
                | "semis"
                | "cut"
                | "rooted"
                | "blad"
                | "blatt"
                | "leaves"
                | "feuilles"
                | "hojas"
                | "stick"
                | "fro"
        ) && range.start > 0
        {
            continue;
        }
        if best.is_none_or(|b| range.start < b.0) {
            best = Some((range.start, kind));
        }
    }
    best.map(|b| b.1)
}

/// Words for any plant, which say little inside a remark.
fn weak(word: &str) -> bool {
    !matches!(
        word,
        "bulb"
            | "bulbs"
            | "plug"
            | "plugs"
            | "tube"
            | "tubes"
            | "tuber"
            | "potted"
            | "potted plant"
            | "young plant"
            | "starter plant"
            | "zwiebel"
            | "knolle"
            | "jungpflanze"
            | "bulbe"
            | "tubercule"
            | "bulbo"
            | "bol"
            | "lok"
            | "knol"
            | "corm"
            | "liner"
            | "tc plantlet"
            | "jeune plant"
            | "plant en godet"
            | "planta joven"
            | "jonge plant"
            | "pluggplanta"
    )
}
