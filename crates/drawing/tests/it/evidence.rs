//! The evidence line.

use drawing::width::sans;
use drawing::{EvidenceLine, EvidenceWords, Mark, Seen, evidence_line};

use crate::{attribute, count, is_clean, number, place, texts, touch};

const TODAY: i64 = 20_413; // 21 November 2025

fn draw_with(start: i64, start_label: &str, today: &str, marks: &[Mark]) -> String {
    let whole = format!("whole life, from {start_label}");
    let words = EvidenceWords {
        start: start_label,
        whole_life: &whole,
        today,
        quarters: ["April", "July", "October"],
        gap: &|n| format!("no record, {n} months"),
        gap_short: &|n| format!("{n} months"),
    };
    let svg =
        evidence_line(&EvidenceLine { start, today: TODAY, marks, aria: "said", words: &words });
    is_clean(&svg);
    svg
}

fn draw(life: i64, marks: &[Mark]) -> String {
    draw_with(TODAY - life, "autumn 2022", "today", marks)
}

fn at(ago: i64, seen: Seen) -> Mark {
    Mark::At { day: TODAY - ago, seen }
}

fn between(ago: i64, length: i64, seen: Seen) -> Mark {
    Mark::Between { from: TODAY - ago, to: TODAY - ago + length, seen }
}

#[test]
fn each_kind_of_mark_is_drawn_once() {
    let svg = draw(
        700,
        &[
            at(600, Seen::AtTheTime),
            at(500, Seen::Remembered),
            at(400, Seen::FromPhoto),
            at(300, Seen::Told),
            between(200, 30, Seen::AtTheTime),
            between(120, 40, Seen::Remembered),
            Mark::Open { from: TODAY - 60, to: TODAY - 20, seen: Seen::AtTheTime },
            Mark::Borrowed { day: TODAY - 450 },
            Mark::Missing { count: 2 },
        ],
    );
    assert_eq!(count(&svg, "line", "x"), 2, "seen, and the stem of the photo");
    assert_eq!(count(&svg, "line", "x rem"), 1);
    assert_eq!(count(&svg, "circle", "ring"), 1);
    assert_eq!(count(&svg, "line", "told"), 1);
    assert_eq!(count(&svg, "rect", "i"), 1);
    assert_eq!(count(&svg, "rect", "i rem"), 1);
    assert_eq!(count(&svg, "line", "i"), 2, "post and roof");
    assert_eq!(count(&svg, "line", "b"), 1);
    assert_eq!(count(&svg, "rect", "m"), 2);
    assert_eq!(count(&svg, "line", "life"), 1);
    assert_eq!(count(&svg, "line", "now"), 1);
    assert!(svg.starts_with(r#"<svg class="ev" role="img" aria-label="said">"#));
}

#[test]
fn places_are_in_percent_of_the_life() {
    let svg = draw(400, &[at(300, Seen::AtTheTime)]);
    assert!(svg.contains(r#"<line class="x" x1="25%" x2="25%" y1="4" y2="23"/>"#), "{svg}");
    let svg = draw(400, &[between(100, 40, Seen::AtTheTime)]);
    let true_width = r#"<rect class="i" x="75%" y="5.5" width="10%" height="13"/>"#;
    assert!(svg.contains(true_width), "{svg}");
}

#[test]
fn a_short_interval_stays_visible_and_on_the_axis() {
    let svg = draw(1000, &[between(1, 1, Seen::AtTheTime), between(500, 20, Seen::AtTheTime)]);
    let tag = svg.split("<rect").nth(1).unwrap();
    assert_eq!(number(tag, "width"), 1.55);
    assert_eq!(number(tag, "x") + number(tag, "width"), 100.0);
}

#[test]
fn records_75_days_apart_are_joined_and_76_are_not() {
    let joined = draw(900, &[at(300, Seen::AtTheTime), at(225, Seen::AtTheTime)]);
    assert_eq!(count(&joined, "line", "span"), 1);
    let apart = draw(900, &[at(300, Seen::AtTheTime), at(224, Seen::AtTheTime)]);
    assert_eq!(count(&apart, "line", "span"), 0);
    let told = draw(900, &[at(300, Seen::AtTheTime), at(280, Seen::Told)]);
    assert_eq!(count(&told, "line", "span"), 0, "what others told covers nothing");
}

#[test]
fn two_scales_only_for_short_intervals_in_a_long_life() {
    let tall = |life, marks: &[Mark]| draw(life, marks).contains(r#"class="ev both""#);
    let week = between(100, 7, Seen::AtTheTime);
    assert!(tall(800, &[week]));
    assert!(!tall(700, &[week]), "life under two years");
    assert!(!tall(800, &[between(100, 20, Seen::AtTheTime)]), "long intervals");
    assert!(!tall(800, &[at(100, Seen::AtTheTime)]), "no intervals");
    assert!(!tall(1500, &[between(900, 7, Seen::AtTheTime)]), "nothing in the last year");
}

#[test]
fn two_scales_show_every_record_above_and_the_last_year_below() {
    let marks = [
        between(1000, 7, Seen::Remembered),
        between(800, 7, Seen::AtTheTime),
        between(200, 7, Seen::AtTheTime),
        between(100, 7, Seen::AtTheTime),
    ];
    let svg = draw(1100, &marks);
    assert_eq!(count(&svg, "circle", "dot"), 3);
    assert_eq!(count(&svg, "circle", "dot rem"), 1);
    assert_eq!(count(&svg, "rect", "i"), 2);
    assert!(svg.contains(r#"y="41.5""#));
}

#[test]
fn long_gaps_are_named() {
    let svg =
        draw(1000, &[at(900, Seen::AtTheTime), at(400, Seen::AtTheTime), at(10, Seen::AtTheTime)]);
    let words: Vec<String> = texts(&svg).into_iter().map(|t| t.content).collect();
    assert!(words.contains(&"no record, 16 months".to_owned()), "{words:?}");
    assert!(words.contains(&"no record, 13 months".to_owned()), "{words:?}");
    let short =
        draw(1000, &[at(900, Seen::AtTheTime), at(820, Seen::AtTheTime), at(10, Seen::AtTheTime)]);
    assert!(!short.contains("3 months"), "80 days are under an eighth");
}

#[test]
fn hundreds_of_records_are_drawn_a_pixel_apart() {
    let marks: Vec<Mark> = (0..3000).map(|i| at(i % 1000, Seen::AtTheTime)).collect();
    let svg = draw(1000, &marks);
    let drawn = count(&svg, "line", "x");
    assert!((300..=553).contains(&drawn), "{drawn}");
    assert!(svg.len() < 60_000, "{} bytes", svg.len());
}

#[test]
fn words_are_escaped() {
    let svg = draw_with(TODAY - 400, "<b>\"A&B\"</b>", "it's", &[]);
    assert!(svg.contains("&lt;b&gt;&quot;A&amp;B&quot;&lt;/b&gt;"), "{svg}");
    assert!(svg.contains("it&#39;s"));
}

#[test]
fn odd_days_do_not_break_the_axis() {
    // A life that begins today, records before it and after today, an interval that runs backwards.
    let svg = draw_with(
        TODAY,
        "today",
        "today",
        &[
            at(50, Seen::AtTheTime),
            at(-50, Seen::AtTheTime),
            Mark::Between { from: TODAY, to: TODAY - 9, seen: Seen::Told },
            Mark::Missing { count: 400 },
        ],
    );
    assert_eq!(count(&svg, "line", "x"), 2);
    assert_eq!(count(&svg, "rect", "m"), 6);
    for tag in svg.split('<').filter(|t| t.contains("x1=")) {
        assert!((0.0..=100.0).contains(&number(tag, "x1")), "{tag}");
    }
}

/// Texts of a drawing that a column of this width shows, with their places.
fn shown(svg: &str, column: f64, hidden: &str) -> Vec<([f64; 4], String)> {
    let visible =
        texts(svg).into_iter().filter(|t| attribute(&t.attributes, "class") != Some(hidden));
    visible
        .map(|t| {
            let x = number(&t.attributes, "x") * column / 100.0;
            (place(&t, x, sans(&t.content), 14.0), t.content)
        })
        .collect()
}

#[test]
fn texts_never_touch_at_any_width_and_age() {
    let mut checked = 0;
    for label in ["May", "autumn 2022", "17 September 2022", "Frühherbst 2022, etwa"] {
        for life in [1, 20, 90, 200, 400, 729, 731, 1100, 1500, 2500, 4000, 9000, 20_000, 40_000] {
            for marks in [
                vec![],
                vec![at(life / 2, Seen::AtTheTime), at(life / 9, Seen::AtTheTime)],
                vec![between(80, 7, Seen::AtTheTime), between(life - 1, 7, Seen::AtTheTime)],
            ] {
                let svg = draw_with(TODAY - life, label, "heute", &marks);
                for (column, hidden) in [
                    (288.0, "wide"),
                    (328.0, "wide"),
                    (700.0, "wide"),
                    (388.0, "narrow"),
                    (552.0, "narrow"),
                ] {
                    let all = shown(&svg, column, hidden);
                    for (i, a) in all.iter().enumerate() {
                        assert!(a.0[0] > -9.0 && a.0[1] < column + 9.0, "{a:?} leaves {column}");
                        for b in &all[i + 1..] {
                            assert!(!touch(a.0, b.0), "{a:?} {b:?} at {column}, life {life}");
                            checked += 1;
                        }
                    }
                }
            }
        }
    }
    assert!(checked > 2000, "{checked}");
}

#[test]
fn years_are_still_named_where_there_is_room() {
    let svg = draw(1100, &[]);
    let wide: Vec<String> = shown(&svg, 388.0, "narrow").into_iter().map(|t| t.1).collect();
    assert!(wide.contains(&"2024".to_owned()) && wide.contains(&"2025".to_owned()), "{wide:?}");
    let decades = draw_with(TODAY - 14_600, "1985", "today", &[]);
    let narrow: Vec<String> = shown(&decades, 288.0, "wide").into_iter().map(|t| t.1).collect();
    assert!(narrow.contains(&"2000".to_owned()), "{narrow:?}");
}
