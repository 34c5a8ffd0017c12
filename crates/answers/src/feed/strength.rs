//! How strong a feed was, from the words of an entry.

use culture::Estimate;
use journal::EntryRow;
use serde_json::Value;

use super::kept::{FeedKept, Kept};

/// What an entry says about the feed in the water.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Fed {
    /// Plain water.
    Plain,
    /// This much nitrogen \[mg/L\], of the feed with this place on the shelf.
    Known {
        /// Its place among the feeds.
        feed: usize,
        /// Nitrogen \[mg/L\].
        nitrogen: Estimate,
    },
    /// A feed that is not on the shelf.
    Unknown,
}

/// How far off a measured amount is: scale and can. Common practice, no source.
pub(crate) const MEASURED: f64 = 0.08;
/// How far off “half strength” or “a capful” is. Common practice, no source.
const BY_WORDS: f64 = 0.35;
/// What a feed is given at where neither its label nor the entry says \[mg/L of nitrogen\], and how
/// far off that is. Common practice, no source.
const NOTHING_SAID: (f64, f64) = (75.0, 0.6);

/// Reads the feed of an entry.
pub(crate) fn fed(entry: &EntryRow, kept: &Kept) -> Fed {
    let words = |key: &str| entry.detail.get(key).and_then(Value::as_str).unwrap_or("");
    fed_words(words("feed"), words("feed_rate"), kept)
}

pub(crate) fn fed_words(feed: &str, rate: &str, kept: &Kept) -> Fed {
    if feed.trim().is_empty() {
        return Fed::Plain;
    }
    // The name may carry the rate: “orchid feed 0.5 g/L”.
    let lower = feed.trim().to_lowercase();
    let place = kept
        .feeds
        .iter()
        .position(|f| f.name.to_lowercase() == lower)
        .or_else(|| kept.feeds.iter().position(|f| lower.starts_with(&f.name.to_lowercase())));
    let Some(place) = place else { return Fed::Unknown };
    let of = &kept.feeds[place];
    let rest = lower.strip_prefix(&of.name.to_lowercase()).unwrap_or("");
    let rate = if rate.trim().is_empty() { rest } else { rate };
    Fed::Known { feed: place, nitrogen: nitrogen(of, rate) }
}

/// Nitrogen \[mg/L\] of a feed at a rate in words.
pub(crate) fn nitrogen(feed: &FeedKept, rate: &str) -> Estimate {
    let text = rate.trim().to_lowercase().replace(',', ".");
    let each = 10.0 * feed.label.nitrogen;
    let usual = feed.usual.map(|g| g * each);
    if let Some((number, unit)) = number_first(&text) {
        if unit.starts_with("mg") || unit.starts_with("ppm") {
            return Estimate::lognormal(number, MEASURED);
        }
        if unit.starts_with("ml") {
            return Estimate::lognormal(number * feed.density.unwrap_or(1.0) * each, MEASURED);
        }
        if unit.starts_with("scoop") || unit.starts_with("messl") {
            return match feed.scoop {
                Some(grams) => Estimate::lognormal(number * grams * each, 2.0 * MEASURED),
                None => spoons(number, each),
            };
        }
        if ["tsp", "teaspoon", "spoon", "tl"].iter().any(|w| unit.starts_with(w)) {
            return spoons(number, each);
        }
        if unit.starts_with('g') {
            return Estimate::lognormal(number * each, MEASURED);
        }
    }
    let part = [
        ("quarter", 0.25),
        ("viertel", 0.25),
        ("half", 0.5),
        ("halb", 0.5),
        ("double", 2.0),
        ("doppelt", 2.0),
        ("full", 1.0),
        ("voll", 1.0),
    ]
    .into_iter()
    .find(|(word, _)| text.contains(word));
    match (usual, part) {
        (Some(usual), Some((_, part))) => Estimate::lognormal(usual * part, BY_WORDS),
        (Some(usual), None) => Estimate::lognormal(usual, 2.0 * BY_WORDS),
        (None, part) => {
            let part = part.map_or(1.0, |p| p.1);
            Estimate::lognormal(NOTHING_SAID.0 * part, NOTHING_SAID.1)
        }
    }
}

/// Teaspoons by volume: 5.5 g (4.1 to 6.9), so about ±25 %.
fn spoons(number: f64, each: f64) -> Estimate {
    culture::feed::Spoon::level_teaspoon().grams.map(|g| number * g * each)
}

fn number_first(text: &str) -> Option<(f64, &str)> {
    let end = text.find(|c: char| !(c.is_ascii_digit() || c == '.')).unwrap_or(text.len());
    let number: f64 = text[..end].parse().ok()?;
    Some((number, text[end..].trim()))
}

#[cfg(test)]
mod tests {
    use culture::feed::Label;

    use super::*;

    fn shelf() -> Kept {
        let feed = FeedKept {
            number: 1,
            name: "Orchid feed".to_owned(),
            label: Label::npk(13.0, 3.0, 15.0).unwrap(),
            forms: None,
            urea: None,
            sulphate: false,
            density: Some(1.2),
            scoop: Some(2.0),
            usual: Some(0.5),
            at: None,
            price: None,
        };
        Kept { feeds: vec![feed], ..Kept::default() }
    }

    #[test]
    fn a_rate_in_words_becomes_nitrogen() {
        let kept = shelf();
        // 13 % of nitrogen: 130 mg in each gram. 1e-9 covers rounding.
        let cases = [
            ("0.5 g/L", 65.0),
            ("1 ml to the litre", 156.0),
            ("100 mg/L N", 100.0),
            ("1 scoop per litre", 260.0),
            ("half strength", 32.5),
            ("a capful", 65.0),
            ("1 tsp", 715.0),
        ];
        for (rate, expected) in cases {
            let found = nitrogen(&kept.feeds[0], rate);
            assert!((found.value - expected).abs() < 1e-9, "{rate}: {found:?}");
            assert!(found.lower < found.value && found.value < found.upper, "{rate}: {found:?}");
        }
        // What was weighed is surer than what was said.
        let width = |rate: &str| {
            let e = nitrogen(&kept.feeds[0], rate);
            (e.upper / e.lower).ln()
        };
        assert!(width("0.5 g/L") < width("1 tsp") && width("1 tsp") < width("half strength"));
        assert!(width("half strength") < width("a capful"));
    }

    #[test]
    fn a_feed_that_is_not_kept_is_unknown_and_none_is_plain() {
        let kept = shelf();
        assert_eq!(fed_words("", "", &kept), Fed::Plain);
        assert_eq!(fed_words("tomato feed", "half strength", &kept), Fed::Unknown);
        let Fed::Known { feed, nitrogen } = fed_words("orchid feed 1 g/L", "", &kept) else {
            panic!("the rate beside the name is read")
        };
        assert_eq!((feed, nitrogen.value), (0, 130.0));
    }
}
