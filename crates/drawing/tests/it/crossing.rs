//! A cross followed, estimates in rows, months, and a curve to choose from.

use drawing::{
    Choice, MonthShare, MonthWords, Size, ThinStage, TradeWords, Whisker, facing_ridges,
    month_chart, thinning_lines, trade_off, whisker, whisker_axis,
};

use crate::{attribute, count, is_clean, number, texts, touch};

fn stage(count: f64, number: &'static str, what: &'static str) -> ThinStage<'static> {
    ThinStage {
        count,
        expected: None,
        anew: false,
        number,
        interval: "",
        what,
        when: "3 Mar 2025",
        share: "74% (69–78)",
    }
}

fn path() -> Vec<ThinStage<'static>> {
    let expected = |s: ThinStage<'static>, low, high| ThinStage {
        expected: Some((low, high)),
        interval: "(38–61)",
        ..s
    };
    vec![
        stage(24.0, "24", "flowers treated"),
        stage(12.0, "12", "pods"),
        ThinStage { anew: true, ..stage(160.0, "160", "seeds sown") },
        stage(80.0, "80", "germinated"),
        expected(stage(52.0, "52", "seedlings that flower"), 38.0, 61.0),
    ]
}

/// The y of every corner of a path on a line that runs to the right.
fn heights(d: &str) -> Vec<f64> {
    let numbers: Vec<f64> = d
        .split(|c: char| c.is_ascii_alphabetic() || c == ' ')
        .filter(|n| !n.is_empty())
        .map(|n| n.parse().unwrap())
        .collect();
    numbers.chunks(2).map(|xy| xy[1]).collect()
}

#[test]
fn half_as_many_are_half_as_thick() {
    let svg = thinning_lines(&path(), "cross 24", "kept");
    is_clean(&svg);
    let wide = svg.split("</svg>").next().unwrap();
    let pieces: Vec<Vec<f64>> = wide
        .split(r#"<path class="inkfill""#)
        .skip(1)
        .map(|p| heights(attribute(p, "d").unwrap()))
        .collect();
    // Of the flowers and of the seeds: two pieces were counted.
    assert_eq!(pieces.len(), 2);
    for p in pieces {
        let (begin, end) = (p[p.len() - 1] - p[0], p[4] - p[3]);
        assert!((begin - 44.0).abs() < 0.05, "{p:?}");
        assert!((end - 22.0).abs() < 0.05, "{p:?}");
    }
    // Between them seven strands, and what is expected has a solid part, an edge and two lines.
    assert_eq!(count(wide, "path", "inkthin"), 7);
    assert_eq!(count(wide, "path", "accfill"), 1);
    assert_eq!(count(wide, "path", "tintfill"), 1);
    assert_eq!(count(wide, "path", "accline"), 2);
}

#[test]
fn no_words_of_a_cross_touch() {
    let mut long = path();
    for i in 0..5 {
        long.push(ThinStage { anew: i == 0, ..stage(9.0, "9", "seedlings that flowered") });
    }
    for stages in [path(), long] {
        let svg = thinning_lines(&stages, "a", "kept");
        for one in svg.split("</svg>").filter(|s| s.contains("<svg")) {
            let places: Vec<([f64; 4], String)> = texts(one)
                .iter()
                .map(|t| {
                    let big = t.attributes.contains("bign");
                    let width = if big {
                        15.0 * t.content.chars().count() as f64
                    } else {
                        drawing::width::sans(&t.content)
                    };
                    let x = number(&t.attributes, "x");
                    (crate::place(t, x, width, if big { 28.0 } else { 14.0 }), t.content.clone())
                })
                .collect();
            for (i, a) in places.iter().enumerate() {
                for b in &places[i + 1..] {
                    assert!(!touch(a.0, b.0), "{} touches {}", a.1, b.1);
                }
            }
        }
    }
}

#[test]
fn a_cross_without_stages_draws_nothing_and_words_are_escaped() {
    assert_eq!(thinning_lines(&[], "a", "kept"), "");
    let one = [ThinStage { when: "<b>", ..stage(f64::NAN, "–", "a & b") }];
    let svg = thinning_lines(&one, "\"x\"", "kept");
    is_clean(&svg);
    assert!(
        svg.contains("&lt;b&gt;") && svg.contains("a &amp; b") && svg.contains("&quot;x&quot;")
    );
}

#[test]
fn a_whisker_lies_where_its_share_lies() {
    let w = Whisker { at: 0.34, lower: 0.24, upper: 0.45, believed: false, end: 0.6 };
    let svg = whisker(&w, "34%");
    is_clean(&svg);
    let dot = svg.split("<circle").nth(1).unwrap();
    assert!((number(dot, "cx") - 56.67).abs() < 0.01);
    let bar = svg.split(r#"<line class="iv-w""#).nth(1).unwrap();
    assert!((number(bar, "x1") - 40.0).abs() < 0.01 && (number(bar, "x2") - 75.0).abs() < 0.01);
    let believed = whisker(&Whisker { believed: true, ..w }, "34%");
    assert_eq!(count(&believed, "line", "iv-w prior"), 1);
    assert_eq!(count(&believed, "circle", "iv-p"), 1);
    let axis: Vec<String> = texts(&whisker_axis(0.6)).into_iter().map(|t| t.content).collect();
    assert_eq!(axis, ["0", "20", "40", "60%"]);
}

#[test]
fn ridges_meet_only_where_both_are_likely() {
    let above = [0.9, 0.9, 0.1, 0.9];
    let below = [0.2, 0.8, 0.8, 0.8];
    let svg = facing_ridges(&above, &below, "meet");
    is_clean(&svg);
    let meets: Vec<(f64, f64)> = svg
        .split(r#"<line class="meet""#)
        .skip(1)
        .map(|l| (number(l, "x1"), number(l, "x2")))
        .collect();
    assert_eq!(meets, [(25.0, 50.0), (75.0, 100.0)]);
}

#[test]
fn a_month_nobody_looked_at_has_no_column() {
    let seen = |s, l, u, years| MonthShare { share: Some((s, l, u)), years };
    let mut months = [MonthShare { share: None, years: 0 }; 12];
    months[3] = seen(0.5, 0.2, 0.8, 4);
    months[4] = seen(1.0, 0.6, 1.0, 4);
    let letters = ["J", "F", "M", "A", "M", "J", "J", "A", "S", "O", "N", "D"];
    let words = MonthWords { months: letters, always: "every year", never: "never", aria: "a" };
    for size in [Size::Wide, Size::Narrow] {
        let svg = month_chart(&months, &words, size);
        is_clean(&svg);
        let tall: Vec<f64> =
            svg.split(r#"<rect class="ridge""#).skip(1).map(|r| number(r, "height")).collect();
        assert_eq!(tall, [55.0, 110.0]);
        assert_eq!(texts(&svg).iter().filter(|t| t.content == "0").count(), 10);
    }
}

#[test]
fn choices_stand_in_order_and_lead_somewhere() {
    let choice = |along, up, chosen| Choice {
        along,
        up,
        href: format!("/crosses/plan?weight={along}"),
        words: "three".to_owned(),
        chosen,
    };
    let all = [choice(2.0, 8.0, false), choice(0.0, 4.0, true), choice(1.0, 7.0, false)];
    let words = TradeWords { along: "kinship", up: "gain", aria: "a" };
    let svg = trade_off(&all, &words, Size::Wide);
    is_clean(&svg);
    let dots: Vec<(f64, f64)> =
        svg.split("<circle").skip(1).map(|c| (number(c, "cx"), number(c, "cy"))).collect();
    assert!(dots.windows(2).all(|w| w[0].0 < w[1].0 && w[0].1 > w[1].1), "{dots:?}");
    assert_eq!(count(&svg, "circle", "iv-d"), 1);
    assert_eq!(svg.matches("<a href=\"/crosses/plan?weight=").count(), 3);
    // All alike: one place in the middle, and no division by nothing.
    is_clean(&trade_off(&[choice(1.0, 1.0, true)], &words, Size::Narrow));
    assert_eq!(trade_off(&[], &words, Size::Narrow), "");
}
