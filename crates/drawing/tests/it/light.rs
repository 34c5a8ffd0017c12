//! Maps of light and the year of a place.

use drawing::{
    Above, Grid, Level, LightMap, MapWords, MonthLight, PlantMark, YearLight, YearWords,
    light_maps, year_lights,
};

use crate::{attribute, count, is_clean, number, place, texts, touch};

/// A hill of light over the middle, 8 at its top; from 3 on each line is a whole ring.
fn hill(columns: usize, rows: usize) -> Vec<f64> {
    let mut out = Vec::new();
    for row in 0..rows {
        for column in 0..columns {
            let x = column as f64 / (columns - 1) as f64 - 0.5;
            let y = row as f64 / (rows - 1) as f64 - 0.5;
            out.push(8.0 - 24.0 * (x * x + y * y));
        }
    }
    out
}

fn levels() -> Vec<Level<'static>> {
    let plain = |value, label| Level { value, label, meaning: None };
    vec![
        plain(3.0, "3"),
        Level { value: 4.0, label: "4", meaning: Some("enough to flower") },
        plain(5.0, "5"),
        plain(6.0, "6"),
        plain(7.0, "7"),
    ]
}

fn words() -> MapWords<'static> {
    MapWords {
        left: "west window",
        middle: "two lamps, 26 cm above the leaves",
        right: "right",
        unit: "cm",
        aria: "lines & more",
        id: "light",
    }
}

fn drawn(plants: &[PlantMark<'_>], (width, depth): (f64, f64)) -> String {
    let values = hill(45, 17);
    let lamp = Above { x: 60.0, y: 10.0, width: 200.0, depth: 3.0 };
    light_maps(
        &LightMap {
            width,
            depth,
            grid: Grid { columns: 45, rows: 17, values: &values },
            levels: &levels(),
            lamps: &[lamp],
            readings: &[(30.0, 20.0)],
            plants,
        },
        &words(),
    )
}

fn mark(x: f64, y: f64, mark: &'static str) -> PlantMark<'static> {
    PlantMark { x, y, mark, name: "Begonia <rex> 7", href: "/plants/7" }
}

#[test]
fn a_map_has_its_lines_marks_and_words_twice() {
    let svg = drawn(&[mark(10.0, 10.0, "1"), mark(90.0, 30.0, "2")], (120.0, 45.0));
    is_clean(&svg);
    assert_eq!(svg.matches("<svg").count(), 2);
    // Four light lines and one heavy one, each whole, on both sizes.
    assert_eq!((count(&svg, "path", "iso"), count(&svg, "path", "iso idx")), (8, 2));
    assert_eq!(count(&svg, "circle", "pm"), 4);
    assert_eq!(count(&svg, "path", "read"), 2);
    assert!(svg.matches(">enough to flower<").count() == 2, "the heavy line is not named");
    assert!(svg.contains("&lt;rex&gt;") && svg.contains("lines &amp; more"));
    let ids: Vec<&str> = svg.split(" id=\"").skip(1).filter_map(|p| p.split('"').next()).collect();
    let mut once = ids.clone();
    once.sort_unstable();
    once.dedup();
    assert_eq!(once.len(), ids.len(), "{ids:?}");
    // A lamp that hangs over the edge is cut there.
    for lamp in svg.split("<rect class=\"lamp\"").skip(1) {
        let tag = lamp.split('>').next().unwrap();
        assert!(number(tag, "x") >= 1.0 && number(tag, "x") + number(tag, "width") <= 1167.1);
    }
}

#[test]
fn plants_of_one_spot_do_not_cover_each_other() {
    let crowd: Vec<PlantMark<'_>> =
        ["1", "2", "3", "4", "5", "6"].into_iter().map(|m| mark(20.0, 20.0, m)).collect();
    let svg = drawn(&crowd, (120.0, 45.0));
    for one in svg.split("</svg>").filter(|s| s.contains("<circle")) {
        let at: Vec<(f64, f64, f64)> = one
            .split("<circle class=\"pm\"")
            .skip(1)
            .map(|p| {
                let tag = p.split('>').next().unwrap();
                (number(tag, "cx"), number(tag, "cy"), number(tag, "r"))
            })
            .collect();
        assert_eq!(at.len(), 6);
        for (k, a) in at.iter().enumerate() {
            for b in &at[..k] {
                // Two decimals in the drawing.
                assert!((a.0 - b.0).hypot(a.1 - b.1) >= a.2 + b.2 - 0.02, "{a:?} {b:?}");
            }
        }
    }
}

#[test]
fn values_on_lines_do_not_touch_each_other_or_a_plant() {
    let svg = drawn(&[mark(60.0, 35.0, "1"), mark(80.0, 33.0, "2")], (120.0, 45.0));
    for one in svg.split("</svg>").filter(|s| s.contains("<text")) {
        let labels: Vec<_> = texts(one)
            .into_iter()
            .filter(|t| t.attributes.contains("c halo num"))
            .map(|t| place(&t, number(&t.attributes, "x"), drawing::width::sans(&t.content), 14.0))
            .collect();
        assert!(labels.len() >= 3, "hardly a line is named: {}", labels.len());
        for (k, a) in labels.iter().enumerate() {
            assert!(labels[..k].iter().all(|b| !touch(*a, *b)), "{labels:?}");
        }
    }
}

#[test]
fn a_deep_place_is_no_higher_than_a_screen_and_no_light_draws_nothing() {
    let svg = drawn(&[], (40.0, 60.0));
    for tag in svg.split("<svg").skip(1) {
        let height = number(tag.split('>').next().unwrap(), "height");
        assert!(height <= 500.0, "{height}");
        assert!(attribute(tag, "viewBox").is_some());
    }
    let empty = LightMap {
        width: 10.0,
        depth: 10.0,
        grid: Grid { columns: 0, rows: 0, values: &[] },
        levels: &[],
        lamps: &[],
        readings: &[],
        plants: &[],
    };
    assert_eq!(light_maps(&empty, &words()), "");
}

fn year(lamps: f64) -> Vec<MonthLight> {
    (0..12)
        .map(|k| {
            let total = lamps + 2.0 + f64::from(5 - (k - 6_i32).abs());
            MonthLight { lamps, total, lower: 0.8 * total, upper: 1.25 * total }
        })
        .collect()
}

fn year_words() -> YearWords<'static> {
    YearWords {
        months: ["J", "F", "M", "A", "M", "J", "J", "A", "S", "O", "N", "D"],
        wanted: "4 to 8, wanted to flower",
        lamps: "lamps, 13 h",
        brightest: "July 9",
        darkest: "January 3",
        aria: "the year",
    }
}

#[test]
fn a_year_has_a_whisker_for_each_month_inside_its_frame() {
    for (lamps, lines) in [(3.0, 12), (0.0, 0)] {
        let months = year(lamps);
        let svg =
            year_lights(&YearLight { months: &months, wanted: Some((4.0, 8.0)) }, &year_words());
        is_clean(&svg);
        assert_eq!(count(&svg, "line", "iv-w"), 24);
        assert_eq!(count(&svg, "line", "inkline"), 2 * lines);
        for tag in svg.split("<line class=\"iv-w\"").skip(1) {
            let tag = tag.split('>').next().unwrap();
            assert!(number(tag, "y2") >= 26.0 && number(tag, "y1") <= 190.0, "{tag}");
            assert!(number(tag, "y2") < number(tag, "y1"), "a whisker upside down: {tag}");
        }
    }
    assert_eq!(year_lights(&YearLight { months: &[], wanted: None }, &year_words()), "");
}
