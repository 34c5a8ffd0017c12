//! What holds for every text: no panic, and a normal form that reads back as itself.

use jiff::civil::date;
use names::{Context, Verdict, compare_epithets, epithet_key, read};
use proptest::prelude::*;

fn check(text: &str, context: &Context) -> Result<(), TestCaseError> {
    let reading = read(text, context);
    prop_assert_eq!(reading.normalised.is_none(), reading.verdict == Verdict::Invalid);
    let (html, typst) = (reading.html(), reading.typst());
    let breaks = reading.normalised.is_some() && reading.plain().contains('\u{A0}');
    prop_assert!(!breaks, "a data form has no bound spaces");
    prop_assert_eq!(html.matches('<').count(), html.matches('>').count());
    // Whatever is not our own markup is escaped.
    let bare = typst.replace("#emph[", "").replace("#smallcaps(all: true)[", "");
    prop_assert_eq!(bare.matches('#').count(), bare.matches("\\#").count());
    let _ = (reading.sort_key(), reading.full(), reading.short_html(true), reading.to_json());
    if let Some(normal) = &reading.normalised {
        let again = read(normal, context);
        prop_assert_ne!(again.verdict, Verdict::Invalid, "{} -> {}", text, normal);
        prop_assert_eq!(again.normalised.as_ref(), Some(normal), "{} -> {}", text, normal);
        // The data form differs in its apostrophes only.
        let plain = read(&reading.plain(), context).normalised.map(|form| form.replace('’', "'"));
        prop_assert_eq!(plain, Some(normal.replace('’', "'")), "plain form of {}", text);
    }
    Ok(())
}

/// Pieces that names are made of, and pieces that break them.
fn piece() -> impl Strategy<Value = String> {
    let fixed = [
        "Begonia",
        "begonia",
        "BEGONIA",
        "Cattleya",
        "×Achicodonia",
        "xAgropogon",
        "+Laburnocytisus",
        "maculata",
        "rex",
        "Rex",
        "mülleri",
        "capillus",
        "veneris",
        "x",
        "X",
        "×",
        "+",
        "?",
        "♀",
        "♂",
        "sp.",
        "spp.",
        "sp",
        "nov.",
        "cf.",
        "aff",
        "var.",
        "subsp.",
        "ssp",
        "f.",
        "forma",
        "nothosubsp.",
        "sect.",
        "L.",
        "Hook.",
        "f.",
        "&",
        "ex",
        "in",
        "(L.)",
        "Raddi",
        "hort.",
        "'",
        "‘",
        "’",
        "\"",
        "`",
        "'Lucerna'",
        "'Wet Slate'",
        "‘Feu d’Artifice’",
        "'Boys' Delight'",
        "cv.",
        "Group",
        "Gp",
        "(Teller Group)",
        "grex",
        "gx",
        "SURREY",
        "™",
        "®",
        "('Korlanum')",
        "U402",
        "EPC-319",
        "(Woods 1234)",
        "s.l.",
        "sensu",
        "auct.",
        "non",
        "(syn. X y)",
        "(",
        ")",
        "[",
        "]",
        "(bowerae × masoniana)",
        ",",
        ".",
        ";",
        "_",
        "-",
        "d'Arcy",
        "Mère",
        "de",
        "of",
        "the",
        "1234",
        "侘助",
        "#9",
        "M.",
        "B.",
        "=",
        "/",
        "!",
        "self",
        "unknown",
        "*",
        "<i>",
        "&times;",
        "X-",
    ];
    prop::sample::select(fixed.to_vec()).prop_map(str::to_owned)
}

proptest! {
    #![proptest_config(ProptestConfig {
        failure_persistence: None,
        ..ProptestConfig::with_cases(2000)
    })]

    #[test]
    fn any_text_is_read_without_panic(text in any::<String>()) {
        check(&text, &Context::default())?;
    }

    #[test]
    fn any_mixture_of_pieces_settles(pieces in prop::collection::vec(piece(), 0..9)) {
        check(&pieces.join(" "), &Context::default())?;
        check(&pieces.concat(), &Context::default())?;
        check(&format!("Begonia {}", pieces.join(" ")), &Context::on(date(1950, 1, 1)))?;
    }

    #[test]
    fn any_epithet_settles(text in "[A-Za-zàéüñœ0-9 '’.,!/&#x-]{0,24}") {
        check(&format!("Begonia '{text}'"), &Context::default())?;
        check(&format!("Begonia maculata {text}"), &Context::default())?;
    }

    #[test]
    fn comparing_is_symmetric_and_knows_itself(a in "[A-Za-zàé0-9 &'-]{0,16}", b in "[A-Za-zàé0-9 &'-]{0,16}") {
        prop_assert_eq!(compare_epithets(&a, &b), compare_epithets(&b, &a));
        prop_assert_eq!(compare_epithets(&a, &a), names::Confusable::Same);
        prop_assert_eq!(epithet_key(&a.to_uppercase()), epithet_key(&a.to_lowercase()));
    }
}
