//! The chart of day and night.

use drawing::{AirChart, AirMark, AirPoint, AirWords, Size, air_chart};

const WORDS: AirWords<'_> = AirWords {
    band: "0.5 to 1.0, wanted by day",
    day: "day 0.96",
    night: "night 0.58",
    aria: "Deficit over 28 days <&>",
    decimal: ',',
};

fn points(days: &[(Option<f64>, Option<f64>)]) -> Vec<AirPoint> {
    days.iter().map(|(day, night)| AirPoint { day: *day, night: *night }).collect()
}

fn drawn(points: &[AirPoint], marks: &[AirMark<'_>]) -> String {
    let ticks = [(0, "25 Oct"), (points.len() - 1, "21 Nov")];
    let chart = AirChart { points, band: (0.5, 1.0), marks, ticks: &ticks };
    air_chart(&chart, &WORDS, Size::Wide)
}

/// The numbers of an attribute, in order.
fn numbers(svg: &str, attribute: &str) -> Vec<f64> {
    svg.split(&format!(" {attribute}=\""))
        .skip(1)
        .filter_map(|rest| rest.split('"').next()?.parse().ok())
        .collect()
}

#[test]
fn lines_break_where_there_is_no_record_and_a_lone_day_is_a_dot() {
    let whole = points(&[(Some(0.9), Some(0.5)); 10]);
    let svg = drawn(&whole, &[]);
    assert_eq!(svg.matches("class=\"inkline\" d=").count(), 1);
    assert_eq!(svg.matches("class=\"inkline fine\" d=").count(), 1);
    let mut broken = whole;
    for at in [3, 4, 6] {
        broken[at] = AirPoint::default();
    }
    let svg = drawn(&broken, &[]);
    // Days 0 to 2 and 7 to 9 are lines, day 5 a dot, both by day and by night.
    assert_eq!(svg.matches("class=\"inkline\" d=").count(), 2);
    assert_eq!(svg.matches("<circle class=\"inkfill\"").count(), 2);
}

#[test]
fn the_scale_holds_every_value_and_begins_at_nothing() {
    let days: Vec<_> = (0..28).map(|i| (Some(0.4 + 0.1 * f64::from(i)), Some(0.3))).collect();
    let svg = drawn(&points(&days), &[]);
    assert!(svg.contains(">0,0<") && svg.contains(">3,0<") || svg.contains(">4,0<"), "{svg}");
    assert!(numbers(&svg, "y").iter().all(|y| (0.0..=226.0).contains(y)), "{svg}");
    assert!(numbers(&svg, "x").iter().all(|x| *x >= 0.0));
}

#[test]
fn both_lines_are_named_apart_even_where_they_meet() {
    let svg = drawn(&points(&[(Some(0.8), Some(0.79)); 5]), &[]);
    let y = |label: &str| -> f64 {
        let before = svg.split(&format!(">{label}<")).next().unwrap();
        let at = before.rfind(" y=\"").unwrap() + 4;
        before[at..].split('"').next().unwrap().parse().unwrap()
    };
    assert!(y("night 0.58") - y("day 0.96") >= 16.9, "{svg}");
}

#[test]
fn stretches_are_marked_with_words_and_words_are_escaped() {
    let marks = [AirMark { from: 1, to: 3, words: ["logger flat,", "2 – 6 <Nov>"] }];
    let svg = drawn(&points(&[(None, None), (Some(0.8), None)]), &marks);
    assert!(svg.contains(">logger flat,<") && svg.contains("2 – 6 &lt;Nov&gt;"));
    assert!(svg.contains("aria-label=\"Deficit over 28 days &lt;&amp;&gt;\""));
    assert!(!svg.contains("style="));
}

#[test]
fn the_words_of_the_band_keep_clear_of_the_lines() {
    let y_of_words = |days: &[(Option<f64>, Option<f64>)]| -> f64 {
        let svg = drawn(&points(days), &[]);
        let before = svg.split(">0.5 to 1.0, wanted by day<").next().unwrap();
        let at = before.rfind(" y=\"").unwrap() + 4;
        before[at..].split('"').next().unwrap().parse().unwrap()
    };
    let free = y_of_words(&[(None, None); 20]);
    // A line through the foot of the band moves them up, a line elsewhere does not.
    assert!(y_of_words(&[(Some(0.55), None); 20]) < free - 10.0);
    assert_eq!(y_of_words(&[(Some(1.4), None); 20]), y_of_words(&[(Some(1.4), Some(0.2)); 20]));
    // Only the lines under the words count.
    let late: Vec<_> = (0..20).map(|i| (None, (i > 12).then_some(0.55))).collect();
    assert_eq!(y_of_words(&late), free);
}
