//! Small pieces of markup.

use std::fmt::Write;

/// Text made safe inside elements and double-quoted attributes.
pub(crate) fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            // Control characters are not allowed in XML; a space keeps words apart.
            c if c.is_control() => out.push(' '),
            c => out.push(c),
        }
    }
    out
}

/// A number with at most two decimals and no trailing zeros.
pub(crate) fn num(x: f64) -> String {
    let x = (x * 100.0).round() / 100.0;
    // Negative zero would be written "-0".
    if x == 0.0 { "0".to_owned() } else { format!("{x}") }
}

/// A horizontal position in percent.
pub(crate) fn pct(x: f64) -> String {
    let n = num(x);
    if n == "0" { n } else { n + "%" }
}

/// An address that a drawing may link to: relative, or plain web. Anything else is left out, so
/// that no script can come in through a label.
pub(crate) fn safe_href(href: &str) -> Option<String> {
    let scheme = href.split(['/', '?', '#']).next().unwrap_or("");
    let plain =
        !scheme.contains(':') || href.starts_with("https://") || href.starts_with("http://");
    (plain && !href.chars().any(char::is_control)).then(|| escape(href))
}

/// Vertical or slanted line; x in percent.
pub(crate) fn line(out: &mut String, class: &str, x: [f64; 2], y: [f64; 2]) {
    let _ = write!(
        out,
        r#"<line class="{class}" x1="{}" x2="{}" y1="{}" y2="{}"/>"#,
        pct(x[0]),
        pct(x[1]),
        num(y[0]),
        num(y[1])
    );
}
