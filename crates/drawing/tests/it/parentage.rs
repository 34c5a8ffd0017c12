//! The parentage chart.

use drawing::width::{sans, serif};
use drawing::{ChartWords, Label, Size, Tree, Who, parentage_chart, parentage_charts};

use crate::{attribute, count, is_clean, number, place, texts, touch};

fn chart(tree: &Tree, size: Size) -> String {
    let words = ChartWords {
        seed_parent: "seed parent",
        pollen_parent: "pollen parent",
        behind: &|n| format!("… and {n} more behind"),
        aria: "said",
    };
    let svg = parentage_chart(tree, &words, size);
    is_clean(&svg);
    svg
}

fn species(name: &str) -> Tree {
    Tree::leaf(Who::Known(Label::italic(name)))
}

fn unknown() -> Tree {
    Tree::leaf(Who::Unknown(Label::roman("not recorded")))
}

const SHORT: [&str; 2] = ["‘Low Lantern’", "A. radicans"];
const LONG: [&str; 2] = [
    "Streptocarpus ‘Evening over the Long Causeway’",
    "Aeschynanthus longicaulis subsp. hypotheticus",
];
const UNBROKEN: [&str; 2] =
    ["‘Donaudampfschifffahrtsgesellschaftskapitän’", "Streptocarpusparviflorussoutpansbergensis"];

/// Every plant with two parents, `generations` up.
fn full(generations: usize, names: [&str; 2]) -> Tree {
    match generations {
        0 => species(names[1]),
        g => Tree::cross(Label::roman(names[0]), full(g - 1, names), full(g - 1, names)),
    }
}

/// One long line of back-crosses.
fn line(generations: usize, names: [&str; 2], seed_side: bool) -> Tree {
    (0..generations).fold(species(names[1]), |tree, i| {
        let other = if i % 2 == 0 { unknown() } else { species(names[1]) };
        let (a, b) = if seed_side { (tree, other) } else { (other, tree) };
        Tree::cross(Label::roman(names[0]), a, b)
    })
}

/// Boxes of all texts with their contents.
fn boxes(svg: &str) -> Vec<([f64; 4], String)> {
    let all = texts(svg).into_iter().filter(|t| !t.content.is_empty());
    all.map(|t| {
        let class = attribute(&t.attributes, "class").unwrap_or("");
        let (width, height) = match class {
            "frac" => (20.0, 15.0),
            c if c.starts_with('s') => (serif(&t.content), 18.0),
            _ => (sans(&t.content), 14.0),
        };
        (place(&t, number(&t.attributes, "x"), width, height), t.content)
    })
    .collect()
}

fn check_layout(tree: &Tree, what: &str) {
    for size in [Size::Wide, Size::Narrow] {
        let svg = chart(tree, size);
        let height = number(&svg, "height");
        let all = boxes(&svg);
        assert!(!all.is_empty(), "{what}");
        for (i, a) in all.iter().enumerate() {
            let inside =
                a.0[0] >= 0.0 && a.0[1] <= size.width() + 0.1 && a.0[2] >= 0.0 && a.0[3] <= height;
            assert!(inside, "{what} {size:?}: {a:?} leaves {} × {height}", size.width());
            for b in &all[i + 1..] {
                assert!(!touch(a.0, b.0), "{what} {size:?}: {a:?} touches {b:?}");
            }
        }
    }
}

#[test]
fn labels_never_touch() {
    for (kind, names) in [("short", SHORT), ("long", LONG), ("unbroken", UNBROKEN)] {
        for generations in 1..=6 {
            check_layout(&full(generations, names), &format!("full {kind} {generations}"));
            for side in [true, false] {
                let what = format!("line {kind} {generations} {side}");
                check_layout(&line(generations, names, side), &what);
            }
        }
    }
}

#[test]
fn labels_never_touch_when_some_plants_have_no_name_or_more_behind() {
    let unnamed = || Tree::cross(Label::default(), species("A. radicans"), unknown());
    let mut cut = species("A. longicaulis");
    cut.behind = 12;
    let one_of = Tree::leaf(Who::OneOf(Label::roman("‘Grey Ferry’ or ‘Pewter Vesper’ or a third")));
    let trees = [
        Tree::cross(Label::default(), unnamed(), unnamed()),
        Tree::cross(Label::default(), cut.clone(), one_of.clone()),
        Tree::cross(Label::default(), unnamed(), Tree::cross(Label::roman("‘X’"), cut, one_of)),
        Tree::cross(Label::default(), unknown(), unknown()),
    ];
    for (i, tree) in trees.iter().enumerate() {
        check_layout(tree, &format!("tree {i}"));
    }
}

#[test]
fn a_known_line_is_solid_and_an_unknown_one_two_dashed_lines_with_its_words() {
    let svg = chart(&Tree::cross(Label::default(), species("A. radicans"), unknown()), Size::Wide);
    assert_eq!(count(&svg, "path", "inkfill"), 2, "bend and straight piece");
    assert_eq!(count(&svg, "path", "unknown"), 2);
    let dashed = svg.split(r#"class="unknown" d=""#).nth(1).unwrap();
    assert_eq!(dashed.split('"').next().unwrap().matches('M').count(), 2, "two lines");
    assert!(svg.contains("not recorded"));
}

#[test]
fn the_seed_parent_is_above_the_pollen_parent() {
    for size in [Size::Wide, Size::Narrow] {
        for generations in [1, 2, 4] {
            let svg = chart(&full(generations, SHORT), size);
            let y = |word: &str| {
                let text = texts(&svg).into_iter().find(|t| t.content == word).unwrap();
                number(&text.attributes, "y")
            };
            assert!(y("seed parent") < y("pollen parent"));
        }
    }
}

/// Thickness of the first line that reaches each generation, from the ends of its path.
fn thickness(path: &str) -> f64 {
    let numbers: Vec<f64> = path
        .split(|c: char| !(c.is_ascii_digit() || c == '.' || c == '-'))
        .filter_map(|n| n.parse().ok())
        .collect();
    // M x a0 C … xb b0 V b1: the eighth number is b0, the ninth b1.
    numbers[8] - numbers[7]
}

#[test]
fn weight_halves_with_each_generation() {
    let svg = chart(&line(3, SHORT, true), Size::Wide);
    let mut found: Vec<f64> = svg
        .split(r#"class="inkfill" d=""#)
        .skip(1)
        .map(|p| (thickness(p.split('"').next().unwrap()) * 100.0).round() / 100.0)
        .collect();
    found.sort_by(f64::total_cmp);
    found.dedup();
    assert_eq!(found, [1.5, 3.0, 6.0]);
}

#[test]
fn shares_stand_at_the_ends() {
    let svg = chart(&line(2, SHORT, false), Size::Wide);
    let shares: Vec<String> = texts(&svg)
        .into_iter()
        .filter(|t| attribute(&t.attributes, "class") == Some("frac"))
        .map(|t| t.content)
        .collect();
    assert_eq!(shares, ["1/2", "1/4", "1/4"]);
}

#[test]
fn what_is_cut_is_counted() {
    // Seven generations of a single line: behind the fifth, the plant has 2 known ancestors on
    // its line and 1 beside it.
    let svg = chart(&line(7, SHORT, true), Size::Wide);
    assert!(svg.contains("… and 3 more behind"), "{svg}");
    assert_eq!(svg.matches("more behind").count(), 1);
}

#[test]
fn a_shortened_name_is_whole_in_its_title() {
    let svg = chart(&full(5, UNBROKEN), Size::Narrow);
    assert!(svg.contains('…'));
    assert!(svg.contains(&format!("<title>{}</title>", UNBROKEN[0])));
}

#[test]
fn names_keep_their_italics_and_lead_to_their_plants() {
    let label = Label::italic("B.").then_roman(" ‘A & B <x>’").linking("/plants/7?a=1&b=2");
    let svg =
        chart(&Tree::cross(Label::default(), Tree::leaf(Who::Known(label)), unknown()), Size::Wide);
    assert!(svg.contains(r#"<tspan class="si">B.</tspan> ‘A &amp; B &lt;x&gt;’"#), "{svg}");
    assert!(svg.contains(r#"<a href="/plants/7?a=1&amp;b=2">"#));
}

#[test]
fn an_address_that_could_run_a_script_is_left_out() {
    for bad in [
        "javascript:alert(1)",
        "JAVASCRIPT:x",
        "data:text/html,x",
        " javascript:x",
        "java\nscript:x",
    ] {
        let label = Label::roman("x").linking(bad);
        let svg = chart(
            &Tree::cross(Label::default(), Tree::leaf(Who::Known(label)), unknown()),
            Size::Wide,
        );
        assert!(!svg.contains("<a "), "{bad}");
    }
}

#[test]
fn both_sizes_and_nothing_for_a_plant_without_parents() {
    let words = ChartWords {
        seed_parent: "Samenelter",
        pollen_parent: "Pollenelter",
        behind: &|n| format!("… und {n} weitere"),
        aria: "\"said\"",
    };
    let both = parentage_charts(&full(1, SHORT), &words);
    assert!(both.contains(r#"<svg class="wide" width="552""#), "{both}");
    assert!(both.contains(r#"<svg class="narrow" width="328""#));
    assert_eq!(both.matches(r#"aria-label="&quot;said&quot;""#).count(), 2);
    assert!(both.contains("Samenelter"));
    assert_eq!(parentage_charts(&species("A. radicans"), &words), "");
}
