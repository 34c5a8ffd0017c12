//! Names and other words, read back from the file.

use crate::support::{full, label, many, read, run_together, spans};
use printing::*;

const NAMES: &[&str] = &[
    "*Begonia listada*",
    "*Begonia bowerae* var. *nigramarga*",
    "*Streptocarpus* ×*kewensis*",
    "×*Achimenantha* ‘Small Fires’",
    "*Begonia listada* × *Begonia bowerae* var. *nigramarga*",
    "*Streptocarpus* ‘Thousand Quiet Lanterns over the Pond’",
    "*Streptocarpus* ‘Thousand Quiet Lanterns’ × *Streptocarpus* ‘Hartley Dusk’",
    "*Begonia* ^Pale Harbour^ (‘KMB0417’)",
    "*Begonia* (Rhizomatous Group) ‘Nachtgesang’",
    "+*Peperomioides longissimifolia*",
    "*Aeschynanthus* sp. aff. *parasiticus*",
    "*Dischidia* cf. *oiantha* f. *variegata*",
    "*Peperomia* ‘Grandma’s Pride’",
    "*Aeschynanthus* ‘Élodie Ångström’s Œuvre’",
    "*Begonia* ‘Żółta Łódź’ Σίσσυ Жанна",
];

fn packed(text: &str) -> String {
    text.replace(['*', '^'], "").split_whitespace().collect::<String>().to_lowercase()
}

#[test]
fn every_letter_of_every_name_is_printed_in_order() {
    for name in NAMES {
        for size in [
            Size::Stake60x25,
            Size::Stake75x20,
            Size::Tag50x30,
            Size::Tape { length: 90.0, width: 12.0 },
            Size::Own { width: 100.0, height: 40.0 },
        ] {
            for back in [Back::None, Back::FoldBelow, Back::DuplexLongEdge] {
                let mut one = label("214", "K7QD3M", name);
                one.parents = full().parents;
                let layout = Layout { back, ..Layout::single(size) };
                let pdf = labels_pdf(&[one], &layout, &Words::english())
                    .unwrap_or_else(|e| panic!("{name} on {size}: {e}"));
                let text = run_together(&read(&pdf.bytes).0);
                assert!(packed(&text).contains(&packed(name)), "{size}: {text}");
            }
        }
    }
}

#[test]
fn parents_origin_and_clone_are_on_the_label_or_named_as_left_off() {
    for size in [Size::Stake60x25, Size::Stake75x20, Size::Tag50x30] {
        for back in [Back::None, Back::FoldBelow, Back::DuplexShortEdge] {
            let layout = Layout { back, ..Layout::single(size) };
            let pdf = labels_pdf(&[full()], &layout, &Words::english()).unwrap();
            let text = packed(&run_together(&read(&pdf.bytes).0));
            for (field, said) in [
                (Field::Parents, "‘Low Lantern’"),
                (Field::Parents, "× ‘Marl Evening’"),
                (Field::FromWhom, "Ines Corvane"),
                (Field::When, "autumn 2022"),
                (Field::ReceivedAs, "tip cutting"),
                (Field::Clone, "clone 96, 3 pieces"),
            ] {
                let off = pdf.left_off.contains(&(0, field));
                assert!(text.contains(&packed(said)) != off, "{size} {back:?} {said}: {text}");
                assert!(back == Back::None || !off, "{size} {back:?} leaves {said} off");
            }
        }
    }
}

#[test]
fn unknown_parents_are_written_out_in_the_given_language() {
    let mut one = full();
    one.parents = vec![Vec::new(), Vec::new()];
    let layout = Layout { back: Back::FoldBelow, ..Layout::single(Size::Stake60x25) };
    for words in [Words::english(), Words::german()] {
        let pdf = labels_pdf(std::slice::from_ref(&one), &layout, &words).unwrap();
        let text = packed(&run_together(&read(&pdf.bytes).0));
        assert!(text.contains(&packed(&words.seed_parent_unknown)));
        assert!(text.contains(&packed(&words.pollen_parent_unknown)));
    }
}

#[test]
fn a_clone_is_named_from_two_pieces_on() {
    let words = Words::german();
    assert_eq!(words.clone_line("96", 1), None);
    assert_eq!(words.clone_line("96", 3).as_deref(), Some("Klon 96, 3 Stücke"));
}

#[test]
fn markup_is_printed_and_not_obeyed() {
    let nasty = "#pagebreak() $x^2$ *b* _e_ \\ <tag> [c] @ref // `raw` = h";
    let mut one = full();
    one.name = vec![Span::roman("Begonia #let x=1 $y$ *b* _e_ \\ <t> [c]")];
    one.from_whom = Some(nasty.into());
    one.parents = vec![vec![Span::roman("#panic(\"no\")")], vec![Span::italic("$\\alpha$")]];
    one.number = "#1".into();
    let layout = Layout {
        back: Back::FoldBelow,
        ..Layout::single(Size::Own { width: 100.0, height: 40.0 })
    };
    let pdf = labels_pdf(std::slice::from_ref(&one), &layout, &Words::english()).unwrap();
    let text = run_together(&read(&pdf.bytes).0);
    let plain = |text: &str| text.split_whitespace().collect::<String>();
    assert_eq!(pdf.pages, 1);
    for said in [nasty, "#panic(\"no\")", "×$\\alpha$", "#1", one.name[0].text.as_str()] {
        assert!(plain(&text).contains(&plain(said)), "{said} is missing from {text}");
    }
}

#[test]
fn a_name_set_smaller_is_named() {
    let mut labels = many(3);
    labels[1].name = spans("*Streptocarpus* ‘Thousand Quiet Lanterns over the Pond’");
    let layout = Layout { back: Back::FoldBelow, ..Layout::single(Size::Stake60x25) };
    let pdf = labels_pdf(&labels, &layout, &Words::english()).unwrap();
    assert_eq!(pdf.set_smaller, [1]);
}

#[test]
fn by_hand_both_sides_are_large_and_without_a_square() {
    let layout = Layout { hand: true, ..Layout::single(Size::Stake60x25) };
    let pdf = labels_pdf(&[full()], &layout, &Words::english()).unwrap();
    let (letters, pages) = read(&pdf.bytes);
    assert_eq!(pages.len(), 2);
    let text = packed(&run_together(&letters));
    for said in ["214", "k7qd3m", "aeschynanthus", "‘tallyember’", "‘lowlantern’", "inescorvane"]
    {
        assert!(text.contains(said), "{said}: {text}");
    }
    let picture = &crate::support::pictures(&pdf.bytes, 12.0)[0];
    assert!(crate::support::squares(picture).is_empty());
}

#[test]
fn the_words_of_a_document_come_back_too() {
    let source = "#let d = json(\"d.json\")\n#set text(font: \"Umbel Serif\")\n#d.name";
    let data = br##"{"name": "Begonia #1 listada"}"##.to_vec();
    let bytes = document_pdf(source, vec![("d.json", data)]).unwrap();
    assert!(packed(&run_together(&read(&bytes).0)).contains("begonia#1listada"));
    assert!(matches!(document_pdf("#json(\"no.json\")", vec![]), Err(PrintError::Document(_))));
    assert!(matches!(document_pdf("#read(\"/etc/passwd\")", vec![]), Err(PrintError::Document(_))));
}
