//! Groups of modes of action, as typed from labels: what was used on each population, and where the
//! same group came twice.

use std::collections::BTreeSet;

use serde::Serialize;

use super::{
    house::{House, Sign},
    trouble::Followed,
    when::warmth,
    words::{capital, pest_words},
};
use crate::{Result, said::day_words};

/// What a label says of the mode of action.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize)]
pub struct Groups {
    /// Main groups of each component: `4` for 4A, `UN`, `M`, `B`.
    pub components: Vec<Vec<String>>,
    /// Whether one acts physically: an oil or soap, not rotated by group.
    pub physical: bool,
    /// What could not be read.
    pub unread: Vec<String>,
}

impl Groups {
    /// Main groups of all components that are rotated.
    #[must_use]
    pub fn mains(&self) -> BTreeSet<&str> {
        self.components.iter().flatten().map(String::as_str).collect()
    }
}

/// Reads groups as typed: “IRAC 4A”, “FRAC 11 + 3”, “UNM”, “Gruppe 28”. IRAC and FRAC number their
/// main groups and put letters behind for subgroups; UNM (IRAC) and NC (FRAC) act physically or are
/// not classified.
#[must_use]
pub fn groups(typed: &str) -> Groups {
    let mut out = Groups::default();
    let text = typed.to_uppercase().replace(" AND ", "+").replace(" UND ", "+");
    for component in text.split(['+', '/', ',', ';', '&']) {
        let mut mains = Vec::new();
        for token in component.split(|c: char| !c.is_alphanumeric()).filter(|w| !w.is_empty()) {
            if ["IRAC", "FRAC", "HRAC", "GROUP", "GRUPPE", "MOA", "CODE"].contains(&token) {
                continue;
            }
            if ["UNM", "NC"].contains(&token) {
                out.physical = true;
                continue;
            }
            match main_group(token) {
                Some(main) => mains.push(main),
                None => out.unread.push(token.to_owned()),
            }
        }
        if !mains.is_empty() {
            out.components.push(mains);
        }
    }
    out
}

/// The main group of a token: digits with at most a letter behind, or a code of letters.
fn main_group(token: &str) -> Option<String> {
    let digits: String = token.chars().take_while(char::is_ascii_digit).collect();
    let rest = &token[digits.len()..];
    if !digits.is_empty() {
        return (digits.len() <= 2 && rest.chars().count() <= 1).then(|| {
            let number = digits.trim_start_matches('0');
            number.to_owned()
        });
    }
    let letters: String = token.chars().take_while(char::is_ascii_alphabetic).collect();
    let number = &token[letters.len()..];
    let coded = ["UN", "UNB", "UNE", "UNF", "UNP", "UNV", "M", "BM", "P", "U", "O", "Z"];
    let known = coded.contains(&letters.as_str()) || letters.len() == 1;
    (known && number.len() <= 2 && number.chars().all(|c| c.is_ascii_digit())).then(|| {
        // Multi-site and biological codes count by their own number.
        format!("{letters}{}", number.trim_start_matches('0'))
    })
}

/// What was used on one population, and what to watch.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Rotation {
    /// The pest and the place, as a heading.
    pub heading: String,
    /// Each treatment: date, product and group, in words.
    pub history: Vec<String>,
    /// Warnings and reminders, in words.
    pub watch: Vec<String>,
}

/// The history of one trouble's population: all treatments against this pest that reached its
/// place or plants, whichever trouble they belonged to.
pub(crate) fn of(f: &Followed<'_>, house: &House<'_, '_>) -> Result<Option<Rotation>> {
    let place = f.trouble.place.as_ref().map(|p| p.0);
    let used: Vec<&Sign> = house
        .treated
        .iter()
        .filter(|s| s.meant_for(&f.key))
        .filter(|s| {
            f.trouble.on.iter().any(|n| house.reaches(s, n.unit))
                || (place.is_some() && house.place_at(s.unit, s.to) == place)
        })
        .collect();
    if used.is_empty() {
        return Ok(None);
    }
    let t = house.t();
    let mut watch: Vec<String> = Vec::new();
    let windows = windows(f, house, &used)?;
    for pair in windows.windows(2) {
        for (a, b) in consecutive(&pair[0], &pair[1]) {
            watch.push(t.f(
                "Group {group} came in two generations one after the other, on {a} and {b}. Take another group number next, if a label allows one.",
                &[("group", &a.0), ("a", &day_words(a.1, house.hand)), ("b", &day_words(b, house.hand))],
            ));
        }
    }
    for s in &used {
        let read = groups(s.words("label_group").unwrap_or(""));
        if let Some(shared) = shared_in_mix(&read) {
            watch.push(t.f(
                "The mix of {day} holds group {group} twice: it counts as one group.",
                &[("day", &day_words(s.to, house.hand)), ("group", &shared)],
            ));
        }
        for word in &read.unread {
            watch.push(t.f(
                "“{word}” on {day} is not a group that can be read; write it as on the label, such as IRAC 4A.",
                &[("word", word), ("day", &day_words(s.to, house.hand))],
            ));
        }
    }
    if let Some(last) = windows.last() {
        let mains: BTreeSet<&str> = last.iter().map(|u| u.0.as_str()).collect();
        if !mains.is_empty() {
            let list = mains.into_iter().collect::<Vec<_>>().join(", ");
            watch.push(t.f(
                "Used on the present generation: group {list}. The next generation should meet another number.",
                &[("list", &list)],
            ));
        }
    }
    if used.iter().any(|s| physical(s)) {
        watch.push(t.t("Oils and soaps are not rotated by group; leaf damage is their limit. Try one leaf and wait 7 days, above all with hairy or waxy leaves and under warm lamps (common practice).").to_owned());
    }
    let unknown = used.iter().filter(|s| s.words("label_group").is_none() && !physical(s)).count();
    if unknown > 0 {
        watch.push(t.f(
            "Of one treatment the group is not written, so it cannot be rotated.|Of {n} treatments the group is not written, so they cannot be rotated.",
            &[("n", &unknown)],
        ));
    }
    watch.dedup();
    let heading =
        format!("{}, {}", capital(&pest_words(&f.trouble.typed, t)), f.trouble.place_words(house));
    let history = used.iter().rev().take(12).map(|s| line(s, house)).collect();
    Ok(Some(Rotation { heading, history, watch }))
}

fn line(s: &Sign, house: &House<'_, '_>) -> String {
    let t = house.t();
    let product =
        super::told::product_words(s.words("product").filter(|_| !s.flag("unknown_product")), t);
    let group = s.words("label_group").map_or_else(
        || t.t("group not written").to_owned(),
        |g| t.f("group as on the label: {group}", &[("group", &g)]),
    );
    let says = s.words("label_says").map(|w| t.f("; the label says “{words}”", &[("words", &w)]));
    format!("{}: {product}, {group}{}", day_words(s.to, house.hand), says.unwrap_or_default())
}

fn physical(s: &Sign) -> bool {
    let product = s.words("product").unwrap_or("").to_lowercase();
    groups(s.words("label_group").unwrap_or("")).physical
        || (s.words("label_group").is_none()
            && ["soap", "seife", "oil", "öl"].iter().any(|w| product.contains(w)))
}

/// A main group that two components of a mix share.
fn shared_in_mix(read: &Groups) -> Option<String> {
    read.components.iter().enumerate().find_map(|(i, a)| {
        read.components[i + 1..].iter().find_map(|b| a.iter().find(|g| b.contains(g)).cloned())
    })
}

/// Groups used within one generation each, with their last day.
fn windows(
    f: &Followed<'_>,
    house: &House<'_, '_>,
    used: &[&Sign],
) -> Result<Vec<Vec<(String, i64)>>> {
    let place = f.trouble.place.as_ref().map(|p| p.0);
    let pest = f.trouble.species();
    let mut out: Vec<Vec<(String, i64)>> = Vec::new();
    let mut ends = i64::MIN;
    for s in used {
        if s.to > ends {
            out.push(Vec::new());
            // Four weeks where nothing is known of its heat (common practice).
            ends = warmth(house, place, s.to.min(house.today))?
                .generation(pest, s.to)?
                .map_or(s.to + 28, |g| g.usual);
        }
        if let Some(window) = out.last_mut() {
            let read = groups(s.words("label_group").unwrap_or(""));
            window.extend(read.mains().into_iter().map(|g| (g.to_owned(), s.to)));
        }
    }
    Ok(out)
}

/// Groups that two windows share: the last use in the first, the first in the second.
fn consecutive<'w>(
    first: &'w [(String, i64)],
    second: &'w [(String, i64)],
) -> Vec<((&'w str, i64), i64)> {
    let mut out: Vec<((&str, i64), i64)> = Vec::new();
    for (group, day) in first.iter().rev() {
        if out.iter().any(|o| o.0.0 == group) {
            continue;
        }
        if let Some((_, again)) = second.iter().find(|(g, _)| g == group) {
            out.push(((group, *day), *again));
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn groups_are_read_as_labels_write_them() {
        for (typed, mains, physical) in [
            ("IRAC 4A", vec!["4"], false),
            ("4a", vec!["4"], false),
            ("Gruppe 28", vec!["28"], false),
            ("FRAC 11 + 3", vec!["11", "3"], false),
            ("IRAC 4A + 4C", vec!["4"], false),
            ("M02", vec!["M2"], false),
            ("HRAC B", vec!["B"], false),
            ("UNM", vec![], true),
            ("UN", vec!["UN"], false),
            ("NC", vec![], true),
        ] {
            let read = groups(typed);
            let want: BTreeSet<&str> = mains.into_iter().collect();
            assert_eq!((read.mains(), read.physical), (want, physical), "{typed}");
            assert!(read.unread.is_empty(), "{typed}: {:?}", read.unread);
        }
        assert_eq!(groups("blue bottle").unread, ["BLUE", "BOTTLE"]);
        assert_eq!(shared_in_mix(&groups("4A + 4C")), Some("4".to_owned()));
        assert_eq!(shared_in_mix(&groups("4A + 3A")), None);
    }

    #[test]
    fn only_the_same_main_group_in_the_next_generation_is_named() {
        let of = |g: &str, day: i64| (g.to_owned(), day);
        let (a, b) = ([of("4", 1), of("4", 8), of("3", 8)], [of("28", 40), of("4", 41)]);
        assert_eq!(consecutive(&a, &b), [(("4", 8), 41)]);
        assert!(consecutive(&a, &[of("28", 40)]).is_empty());
    }
}
