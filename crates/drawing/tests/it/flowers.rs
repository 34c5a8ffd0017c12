//! How long flowers last, and the coming weeks.

use drawing::{
    LastingPoint, Life, Size, SurvivalWords, WeekAhead, lasting_chart, weeks_chart, width,
};

use crate::{count, is_clean, number, place, texts, touch};

fn nothing_touches(svg: &str) {
    let boxes: Vec<([f64; 4], String)> = texts(svg)
        .into_iter()
        .filter(|t| !t.content.is_empty())
        .map(|t| {
            let small = if t.attributes.contains("tiny") { 13.0 / 15.0 } else { 1.0 };
            let x = number(&t.attributes, "x");
            (place(&t, x, small * width::sans(&t.content), 14.0), t.content)
        })
        .collect();
    for (i, a) in boxes.iter().enumerate() {
        assert!(a.0[0] >= -0.5, "{a:?}");
        for b in &boxes[i + 1..] {
            assert!(!touch(a.0, b.0), "{a:?} {b:?}");
        }
    }
}

const WORDS: SurvivalWords<'static> = SurvivalWords {
    axis: "days since <opening>",
    all: "all",
    half: "half",
    none: "none",
    curve: "flowers still open",
    band: "80% interval",
    median: Some("half are over by day 7"),
    aria: "said",
};

fn points() -> Vec<LastingPoint> {
    let of = |share: f64, middle: f64| LastingPoint {
        share,
        times: [0.8 * middle, middle, 1.3 * middle],
    };
    vec![of(0.99, 3.0), of(0.9, 4.0), of(0.5, 7.0), of(0.1, 11.0), of(0.01, 16.0)]
}

#[test]
fn every_life_has_its_line_and_stays_in_the_drawing() {
    let life = |at_least, at_most, group| Life { at_least, at_most, group };
    let lives = [
        life(6.5, Some(7.5), 0),
        life(5.0, Some(9.0), 0),
        life(8.0, None, 1),
        life(0.0, Some(4.0), 2),
    ];
    for size in [Size::Wide, Size::Narrow] {
        let svg = lasting_chart(&points(), &lives, &WORDS, size);
        is_clean(&svg);
        assert_eq!(count(&svg, "line", "inkline"), lives.len());
        assert_eq!(count(&svg, "line", "inkthin dots"), 3, "an end that was not seen has a hook");
        assert_eq!(count(&svg, "path", "inkthin"), 1);
        assert_eq!(count(&svg, "path", "tintfill"), 1);
        assert!(svg.contains("days since &lt;opening&gt;"));
        let height = number(&svg, "height");
        let lines: Vec<f64> =
            svg.split("<line class=\"inkline\"").skip(1).map(|l| number(l, "y1")).collect();
        assert!(lines.windows(2).all(|w| w[0] < w[1]) && lines.iter().all(|y| *y < height - 3.0));
        // Umbels stand apart.
        assert!(lines[2] - lines[1] > lines[1] - lines[0]);
        for l in svg.split("<line ").skip(1) {
            assert!(number(l, "x2") <= size.width() && number(l, "x1") >= 0.0, "{l}");
        }
        nothing_touches(&svg);
    }
    // Very many are not drawn one under the other for ever.
    let many = vec![lives[0]; 500];
    let svg = lasting_chart(&points(), &many, &WORDS, Size::Wide);
    assert_eq!(count(&svg, "line", "inkline"), 60);
}

#[test]
fn weeks_are_as_high_as_their_chance() {
    let weeks: Vec<WeekAhead> = (0..12)
        .map(|k| WeekAhead { from: format!("{} Dec", 7 + k), chance: f64::from(k) / 11.0 })
        .collect();
    for size in [Size::Wide, Size::Narrow] {
        let svg = weeks_chart(&weeks, ["certain", "never"], "said", size);
        is_clean(&svg);
        let heights: Vec<f64> = svg.split("<rect ").skip(1).map(|r| number(r, "height")).collect();
        assert_eq!(heights.len(), 12);
        assert!(heights[0].abs() < 1e-9 && (heights[11] - 90.0).abs() < 0.02, "{heights:?}");
        assert!((heights[5] / heights[11] - 5.0 / 11.0).abs() < 0.01);
        nothing_touches(&svg);
    }
}
