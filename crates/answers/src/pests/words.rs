//! Words that the answers about pests share.

use culture::heat::Chance;
use texts::Texts;

use super::{house::Named, species::read};
use crate::{Bit, BitKind, Caution, Hand, said::day_words};

/// What a pest is called: its name in the reader's language, or as it was typed.
pub(crate) fn pest_words(typed: &str, t: Texts) -> String {
    let known = match read(typed).words {
        "root mealybug" => t.t("root mealybug"),
        "citrus mealybug" => t.t("citrus mealybug"),
        "long-tailed mealybug" => t.t("long-tailed mealybug"),
        "papaya mealybug" => t.t("papaya mealybug"),
        "mealybug" => t.t("mealybug"),
        "cyclamen or broad mite" => t.t("cyclamen or broad mite"),
        "spider mite" => t.t("spider mite"),
        "melon thrips" => t.t("melon thrips"),
        "western flower thrips" => t.t("western flower thrips"),
        "thrips" => t.t("thrips"),
        "shore fly" => t.t("shore fly"),
        "fungus gnat" => t.t("fungus gnat"),
        "hemispherical scale" => t.t("hemispherical scale"),
        "scale" => t.t("scale"),
        "aphid" => t.t("aphid"),
        "whitefly" => t.t("whitefly"),
        "virus" => t.t("virus"),
        "powdery mildew" => t.t("powdery mildew"),
        "grey mould" => t.t("grey mould"),
        "leaf spot" => t.t("leaf spot"),
        "rot" => t.t("rot"),
        _ => typed.trim(),
    };
    known.to_owned()
}

/// A chance in words and in whole percent, never 0 or 100.
pub(crate) fn chance_words(chance: f64, t: Texts) -> String {
    format!("{}, {}", likely(chance, t), percent(chance))
}

fn likely(chance: f64, t: Texts) -> &'static str {
    match (chance * 100.0).round() {
        p if p >= 95.0 => t.t("almost certainly"),
        p if p >= 80.0 => t.t("very likely"),
        p if p >= 60.0 => t.t("likely"),
        p if p >= 40.0 => t.t("as likely as not"),
        p if p >= 20.0 => t.t("unlikely yet"),
        p if p >= 5.0 => t.t("very unlikely"),
        _ => t.t("almost certainly not"),
    }
}

/// Whole percent, never 0 or 100.
pub(crate) fn percent(chance: f64) -> String {
    format!("{:.0} %", (chance * 100.0).round().clamp(1.0, 99.0))
}

/// The chance as bits of a sentence, with its range where the guesses move it.
pub(crate) fn chance_bits(chance: Chance, t: Texts) -> Vec<Bit> {
    let range =
        format!("{}–{}", percent(chance.lower).trim_end_matches(" %"), percent(chance.upper));
    vec![
        Bit { kind: BitKind::Value, text: chance_words(chance.value, t) },
        Bit { kind: BitKind::Interval, text: format!(" ({range})") },
    ]
}

pub(crate) fn plain(text: impl Into<String>) -> Bit {
    Bit { kind: BitKind::Plain, text: text.into() }
}

pub(crate) fn value(text: impl Into<String>) -> Bit {
    Bit { kind: BitKind::Value, text: text.into() }
}

/// “3–9 December”, or one day.
pub(crate) fn days_words(from: i64, to: i64, hand: &Hand) -> String {
    if from == to {
        return day_words(from, hand);
    }
    format!("{}–{}", day_words(from, hand), day_words(to, hand))
}

/// Numbers of plants, such as “plants 12, 14 and 17”.
pub(crate) fn numbers(named: &[Named], t: Texts) -> String {
    let list: Vec<String> = named.iter().map(|n| n.unit.number.to_string()).collect();
    match list.as_slice() {
        [] => String::new(),
        [one] => t.f("plant {n}", &[("n", one)]),
        [most @ .., last] => {
            t.f("plants {most} and {last}", &[("most", &most.join(", ")), ("last", last)])
        }
    }
}

pub(crate) fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |c| c.to_uppercase().chain(chars).collect())
}

/// What comes before every date of a treatment.
pub(crate) fn label_first() -> Caution {
    Caution {
        lead: "The label is the law.",
        text: "The label's interval and yearly maximum come first, and its plants, place and dose; many products of nurseries may not be used in a home. Local rules hold. No product and no dose is proposed here.",
    }
}

/// Pets and fish.
pub(crate) fn pets() -> Caution {
    Caution {
        lead: "Cats, fish, birds, bees.",
        text: "Permethrin can kill a cat, and what kills insects kills fish and shrimps: keep animals away until all is dry, cover tanks and turn their air pumps off, and open the window.",
    }
}
