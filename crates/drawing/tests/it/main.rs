//! Tests of the `drawing` crate: what is drawn, that texts do not touch, that nothing gets through
//! unescaped.
#![allow(clippy::unwrap_used, reason = "a test that panics has failed, which is its job")]

mod air;
mod crossing;
mod evidence;
mod flowers;
mod light;
mod parentage;
mod small;
mod survival;

/// A text of a drawing, as far as its place is concerned.
#[derive(Debug, Clone, PartialEq)]
struct Text {
    attributes: String,
    content: String,
}

/// Value of an attribute.
fn attribute<'a>(tag: &'a str, name: &str) -> Option<&'a str> {
    let from = tag.find(&format!(" {name}=\""))? + name.len() + 3;
    Some(&tag[from..from + tag[from..].find('"')?])
}

fn number(tag: &str, name: &str) -> f64 {
    attribute(tag, name).unwrap().trim_end_matches('%').parse().unwrap()
}

/// All texts, with titles and markup taken out of their contents and escapes undone.
fn texts(svg: &str) -> Vec<Text> {
    // Words along a line are a text with a path in it.
    let svg = svg.replace("<textPath", "<along").replace("</textPath>", "</along>");
    let pieces = svg.split("<text").skip(1).map(|piece| {
        let (attributes, rest) = piece.split_once('>').unwrap();
        let body = rest.split_once("</text>").unwrap().0;
        let body = match body.split_once("</title>") {
            Some((_, after)) => after,
            None => body,
        };
        let mut content = String::new();
        let mut inside = false;
        for c in body.chars() {
            match c {
                '<' => inside = true,
                '>' => inside = false,
                c if !inside => content.push(c),
                _ => {}
            }
        }
        let content = content.replace("&#39;", "'").replace("&amp;", "&");
        Text { attributes: attributes.to_owned(), content }
    });
    pieces.collect()
}

/// Number of elements with exactly this class.
fn count(svg: &str, element: &str, class: &str) -> usize {
    svg.matches(&format!("<{element} class=\"{class}\"")).count()
}

/// Left, right, top and bottom of a text with the given width and height.
fn place(text: &Text, x: f64, width: f64, height: f64) -> [f64; 4] {
    let y = number(&text.attributes, "y");
    let left = match attribute(&text.attributes, "text-anchor") {
        Some("end") => x - width,
        Some("middle") => x - 0.5 * width,
        _ => x,
    };
    [left, left + width, y - 0.75 * height, y + 0.25 * height]
}

fn touch(a: [f64; 4], b: [f64; 4]) -> bool {
    a[0] < b[1] && b[0] < a[1] && a[2] < b[3] && b[2] < a[3]
}

/// No drawing may carry inline styles or scripts, and every tag must be closed.
fn is_clean(svg: &str) {
    for forbidden in ["style=", "<style", "<script", "onclick", "javascript:", "NaN", "inf"] {
        assert!(!svg.contains(forbidden), "{forbidden} in {svg}");
    }
    assert_eq!(svg.matches("<svg").count(), svg.matches("</svg>").count());
    let along = svg.matches("<textPath").count();
    assert_eq!(svg.matches("<text").count() - along, svg.matches("</text>").count());
    assert_eq!(along, svg.matches("</textPath>").count());
    assert_eq!(svg.matches("<a ").count(), svg.matches("</a>").count());
}

#[test]
fn the_helpers_see_what_touches() {
    let svg = r#"<svg><text x="5" y="10" text-anchor="end"><title>all</title><tspan class="si">A.</tspan> &amp; b</text></svg>"#;
    let text = &texts(svg)[0];
    assert_eq!(text.content, "A. & b");
    assert_eq!(place(text, 5.0, 4.0, 8.0), [1.0, 5.0, 4.0, 12.0]);
    assert!(touch([0.0, 2.0, 0.0, 2.0], [1.0, 3.0, 1.0, 3.0]));
    assert!(!touch([0.0, 2.0, 0.0, 2.0], [2.0, 3.0, 0.0, 2.0]));
}
