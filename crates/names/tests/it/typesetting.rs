//! How names are set, sorted and judged by date.

use jiff::civil::date;
use names::{Context, Kind, KnownGroup, Severity, Span, Style, Verdict, read};

fn html(text: &str) -> String {
    read(text, &Context::default()).html()
}

#[test]
fn html_follows_the_conventions() {
    assert_eq!(
        html("Begonia rex 'Pewter Moth'"),
        "<i>Begonia</i> <i>rex</i> <span class=\"nb\">‘Pewter Moth’</span>"
    );
    assert_eq!(html("Begonia x credneri"), "<i>Begonia</i> ×<i>credneri</i>");
    assert_eq!(
        html("Begonia maculata var. wightii Fotsch & Co."),
        "<i>Begonia</i> <i>maculata</i> var.\u{A0}<i>wightii</i> Fotsch &amp; Co."
    );
    assert_eq!(
        html("Begonia bowerae × B. heracleifolia"),
        "<i>Begonia</i> <i>bowerae</i> ×\u{A0}<i>B.</i> <i>heracleifolia</i>"
    );
    assert_eq!(
        html("Rosa SURREY ('Korlanum')"),
        "<i>Rosa</i> <span class=\"sc\">SURREY</span> <span class=\"nb\">(‘Korlanum’)</span>"
    );
    assert_eq!(
        html("Rosa 'Feu d'Artifice'"),
        "<i>Rosa</i> <span class=\"nb\">‘Feu d’Artifice’</span>"
    );
    assert_eq!(html("Begonia cf. rex"), "<i>Begonia</i> cf.\u{A0}<i>rex</i>");
    assert_eq!(html("Hosta Fortunei Group"), "<i>Hosta</i> Fortunei Group");
    assert_eq!(html("apple 'Discovery'"), "apple <span class=\"nb\">‘Discovery’</span>");
    // What is no name is given back as typed, harmless.
    assert_eq!(
        html("<script>alert('x')</script>"),
        "&lt;script&gt;alert(&#39;x&#39;)&lt;/script&gt;"
    );
    assert_eq!(html("B. rex"), "B. rex");
}

#[test]
fn other_forms() {
    let reading = read("Rosa 'Feu d'Artifice'", &Context::default());
    assert_eq!(reading.normalised.as_deref(), Some("Rosa 'Feu d’Artifice'"));
    assert_eq!(reading.plain(), "Rosa 'Feu d'Artifice'");
    assert_eq!(reading.cultivar(), Some("Feu d’Artifice"));
    assert_eq!(reading.typst(), "#emph[Rosa] ‘Feu d’Artifice’");
    let reading = read("Begonia sp. #1 [a] *b*", &Context::default());
    assert!(!reading.typst().replace("\\#", "").replace("#emph[", "").contains('#'));
    let reading = read("Begonia bowerae × B. 'Wet Slate'", &Context::default());
    assert_eq!(reading.full(), "Begonia bowerae × Begonia 'Wet Slate'");
    assert_eq!(reading.genus(), Some("Begonia"));
    let short = read("Begonia 'Wet Slate'", &Context::default()).short_html(true);
    assert_eq!(short, "<i>B.</i> <span class=\"nb\">‘Wet Slate’</span>");
    let spans = read("×Achicodonia 'Sunday Coin'", &Context::default()).spans();
    let span =
        |text: &str, style, keep_together| Span { text: text.to_owned(), style, keep_together };
    assert_eq!(
        spans,
        [
            span("×", Style::Roman, false),
            span("Achicodonia", Style::Italic, false),
            span(" ", Style::Roman, false),
            span("‘Sunday Coin’", Style::Roman, true),
        ]
    );
}

#[test]
fn names_sort_by_genus_species_rank_and_cultivar() {
    let sorted = [
        "Begonia",
        "Begonia 'Élan'",
        "Begonia 'Wet Slate'",
        "Begonia ×credneri",
        "Begonia maculata Raddi",
        "Begonia maculata subsp. zeta",
        "Begonia maculata var. alba",
        "Begonia rex 'Pewter Moth'",
        "Begoniella rex",
        "×Fatshedera lizei",
    ];
    let keys: Vec<String> =
        sorted.iter().map(|name| read(name, &Context::default()).sort_key()).collect();
    assert!(keys.is_sorted(), "{keys:#?}");
}

#[test]
fn rules_apply_from_their_dates() {
    let check = |name: &str, year: i16, verdict: Verdict| {
        let reading = read(name, &Context::on(date(year, 1, 1)));
        assert_eq!(reading.verdict, verdict, "{name} in {year}: {:?}", reading.problems);
    };
    check("Begonia 'Rubra Grandiflora'", 1958, Verdict::Valid);
    check("Begonia 'Rubra Grandiflora'", 1959, Verdict::Invalid);
    check("Begonia 'Silver Variety'", 1958, Verdict::Valid);
    check("Begonia 'Silver Variety'", 1959, Verdict::Invalid);
    check("Begonia 'Silver Strain'", 1995, Verdict::Valid);
    check("Begonia 'Silver Strain'", 1996, Verdict::Invalid);
    check("Begonia 'Quiet Lanterns over the Stiller Pond'", 1995, Verdict::Valid);
    check("Begonia 'Quiet Lanterns over the Stiller Pond'", 1996, Verdict::Invalid);
    check("Begonia 'A'", 1950, Verdict::Invalid);
}

#[test]
fn tables_of_the_caller_are_used() {
    let groups = [KnownGroup { genus: "Begonia", group: "Lantern" }];
    let known = Context::default().with_groups(&groups);
    let reading = read("Begonia 'Lantern Group'", &known);
    assert_eq!(reading.normalised.as_deref(), Some("Begonia Lantern Group"));
    assert_eq!(reading.kind, Kind::Group);
    assert_eq!(read("Begonia 'Lantern Group'", &Context::default()).verdict, Verdict::Invalid);

    let genera = ["Begonia", "Aeschynanthus", "Achimenes"];
    let known = Context::default().with_genera(&genera);
    let reading = read("Aesch. radicans", &known);
    assert_eq!(reading.normalised.as_deref(), Some("Aeschynanthus radicans"));
    assert!(reading.problems.iter().any(|p| p.severity == Severity::Ask));
    assert_eq!(read("B. rex", &known).normalised.as_deref(), Some("Begonia rex"));
    assert!(read("A. radicans", &known).has("genus_unclear"));
}

#[test]
fn json_has_the_documented_shape() {
    let json = read("begonia Maculata", &Context::default()).to_json();
    let keys: Vec<&str> = json.as_object().unwrap().keys().map(String::as_str).collect();
    assert_eq!(keys, ["input", "verdict", "normalised", "kind", "parts", "problems", "html"]);
    assert_eq!(json["verdict"], "correctable");
    assert_eq!(json["normalised"], "Begonia maculata");
    assert_eq!(json["parts"]["species"]["text"], "maculata");
    for field in ["code", "severity", "message", "source"] {
        assert!(json["problems"][0][field].is_string(), "{field}");
    }
    let invalid = read("Linaria linaria", &Context::default()).to_json();
    assert!(invalid["normalised"].is_null());
    assert_eq!(invalid["problems"][0]["source"], "ICN 23.4");
}
