//! Where on a place something stands, in centimetres or in words.

/// Words for each third: from the left, and from the back.
const ACROSS: [&[&str]; 3] =
    [&["left", "links"], &["middle", "centre", "center", "mitte"], &["right", "rechts"]];
const DEEP: [&[&str]; 3] = [
    &["back", "rear", "behind", "hinten"],
    &["middle", "centre", "center", "mitte"],
    &["front", "vorn", "vorne"],
];

/// Reads a spot: two numbers in centimetres from the left and from the back (`60, 20`), or words
/// (`left back`, `middle`, `right front`). None when it is neither, or lies outside.
#[must_use]
pub(crate) fn read(text: &str, width: f64, depth: f64) -> Option<(f64, f64)> {
    let lower = text.to_lowercase();
    let numbers: Vec<f64> = lower
        .split(|c: char| !(c.is_ascii_digit() || c == '.'))
        .filter_map(|part| part.trim_matches('.').parse().ok())
        .collect();
    if let [x, y] = numbers.as_slice() {
        let inside = (0.0..=width).contains(x) && (0.0..=depth).contains(y);
        return inside.then_some((*x, *y));
    }
    if !numbers.is_empty() {
        return None;
    }
    let words: Vec<&str> = lower.split(|c: char| !c.is_alphabetic()).collect();
    let third = |names: &[&[&str]; 3], which: [usize; 2]| {
        which.into_iter().find(|k| words.iter().any(|w| names[*k].contains(w)))
    };
    let middle = words.iter().any(|w| ACROSS[1].contains(w));
    let (across, deep) = (third(&ACROSS, [0, 2]), third(&DEEP, [0, 2]));
    if across.is_none() && deep.is_none() && !middle {
        return None;
    }
    let part =
        |third: Option<usize>, whole: f64| whole * (third.unwrap_or(1) as f64 * 2.0 + 1.0) / 6.0;
    Some((part(across, width), part(deep, depth)))
}

#[cfg(test)]
mod tests {
    use super::read;

    #[test]
    fn a_spot_is_two_numbers_or_words() {
        for (text, expected) in [
            ("60, 20", Some((60.0, 20.0))),
            ("60 x 20 cm", Some((60.0, 20.0))),
            ("7.5;12", Some((7.5, 12.0))),
            ("left", Some((20.0, 30.0))),
            ("Left, back", Some((20.0, 10.0))),
            ("rechts vorne", Some((100.0, 50.0))),
            ("middle", Some((60.0, 30.0))),
            ("front middle", Some((60.0, 50.0))),
            ("130, 20", None),
            ("60", None),
            ("near the plug", None),
            ("", None),
        ] {
            assert_eq!(read(text, 120.0, 60.0), expected, "{text}");
        }
    }
}
