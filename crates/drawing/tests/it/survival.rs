//! The survival chart and its table.

use drawing::width::sans;
use drawing::{Size, SurvivalChart, SurvivalPoint, SurvivalWords, survival_chart, survival_table};

use crate::{count, is_clean, number, place, texts, touch};

fn point(time: f64, survival: f64) -> SurvivalPoint {
    let limit = |by: f64| (survival > 0.0).then_some((survival + by).clamp(0.0, 1.0));
    SurvivalPoint { time, survival, lower: limit(-0.2), upper: limit(0.2) }
}

fn draw(points: &[SurvivalPoint], median: Option<f64>, last: f64, size: Size) -> String {
    let chart = SurvivalChart { points, still_open: &[1.5], median, last };
    let words = SurvivalWords {
        axis: "days since <opening>",
        all: "all",
        half: "half",
        none: "none",
        curve: "flowers still open",
        band: "80% interval",
        median: Some("half are over by day 4"),
        aria: "said",
    };
    let svg = survival_chart(&chart, &words, size);
    is_clean(&svg);
    svg
}

#[test]
fn the_curve_falls_in_steps_and_stays_in_its_frame() {
    let points = [point(2.0, 0.75), point(4.0, 0.5), point(6.0, 0.0)];
    for size in [Size::Wide, Size::Narrow] {
        let svg = draw(&points, Some(4.0), 6.0, size);
        let path = svg.split(r#"class="accline" d="M"#).nth(1).unwrap().split('"').next().unwrap();
        let corners: Vec<(f64, f64)> = path
            .split('L')
            .map(|p| p.split_once(' ').unwrap())
            .map(|(x, y)| (x.parse().unwrap(), y.parse().unwrap()))
            .collect();
        assert_eq!(corners.len(), 2 + 2 * points.len());
        // Heights are rounded to hundredths of a pixel.
        let bottom = corners.last().unwrap().1;
        let top = corners[0].1;
        assert!((corners[2].1 - (bottom - 0.75 * (bottom - top))).abs() < 0.011);
        for w in corners.windows(2) {
            assert!(w[0].0 <= w[1].0 && w[0].1 <= w[1].1, "{corners:?}");
            assert!(w[0].0 == w[1].0 || w[0].1 == w[1].1, "neither level nor upright");
        }
        assert!(corners.iter().all(|c| c.0 <= size.width()));
        assert_eq!(count(&svg, "path", "tintfill"), 1);
        assert_eq!(count(&svg, "circle", "accfill"), 1);
        assert!(svg.contains("days since &lt;opening&gt;"));
    }
}

#[test]
fn the_words_do_not_touch() {
    for (last, median) in [(6.0, 4.0), (13.0, 1.0), (400.0, 390.0), (0.5, 0.25)] {
        let points = [point(0.5 * last, 0.5)];
        for size in [Size::Wide, Size::Narrow] {
            let svg = draw(&points, Some(median), last, size);
            let boxes: Vec<([f64; 4], String)> = texts(&svg)
                .into_iter()
                .map(|t| {
                    let x = number(&t.attributes, "x");
                    (place(&t, x, sans(&t.content), 14.0), t.content)
                })
                .collect();
            for (i, a) in boxes.iter().enumerate() {
                assert!(a.0[0] >= 0.0, "{a:?}");
                for b in &boxes[i + 1..] {
                    assert!(!touch(a.0, b.0), "{last} {size:?}: {a:?} {b:?}");
                }
            }
        }
    }
}

#[test]
fn no_points_and_no_limits_are_drawn_as_nothing_lost() {
    let svg = draw(&[], None, 0.0, Size::Wide);
    assert_eq!(count(&svg, "path", "tintfill"), 0);
    assert_eq!(count(&svg, "circle", "accfill"), 0);
    assert!(!svg.contains("80% interval"));
}

#[test]
fn the_table_holds_the_same_numbers() {
    let points = [point(2.0, 0.75), point(6.0, 0.0)];
    let chart = SurvivalChart { points: &points, still_open: &[], median: None, last: 6.0 };
    let percent = |p: f64| format!("{:.0}%", 100.0 * p);
    let html = survival_table(&chart, "Still <open>", ["Day", "Open", "from", "to"], &percent);
    is_clean(&html);
    assert!(html.contains("<tr><td>2</td><td>75%</td><td>55%</td><td>95%</td></tr>"), "{html}");
    assert!(html.contains("<tr><td>6</td><td>0%</td><td>–</td><td>–</td></tr>"));
    assert!(html.contains("Still &lt;open&gt;"));
}
