//! The light of a place in sentences.

use texts::Texts;

use super::{
    described::{Described, LampSaid, Side, WindowSaid},
    wants::Enough,
};

/// A month by its number \[1 to 12\].
pub(crate) fn month(number: usize, t: Texts) -> &'static str {
    match number {
        1 => t.t("January"),
        2 => t.t("February"),
        3 => t.t("March"),
        4 => t.t("April"),
        5 => t.t("May"),
        6 => t.t("June"),
        7 => t.t("July"),
        8 => t.t("August"),
        9 => t.t("September"),
        10 => t.t("October"),
        11 => t.t("November"),
        _ => t.t("December"),
    }
}

/// A share of the place, to stand after “on”.
pub(crate) fn share(share: f64, t: Texts) -> String {
    let words = [
        (0.25, t.t("a quarter of it")),
        (1.0 / 3.0, t.t("a third of it")),
        (0.5, t.t("half of it")),
        (2.0 / 3.0, t.t("two thirds of it")),
        (0.75, t.t("three quarters of it")),
    ];
    if share >= 0.97 {
        return t.t("all of it").to_owned();
    }
    if share >= 0.87 {
        return t.t("nearly all of it").to_owned();
    }
    if share < 0.2 {
        return t.t("a small part of it").to_owned();
    }
    let near = words.iter().min_by(|a, b| (a.0 - share).abs().total_cmp(&(b.0 - share).abs()));
    let Some((fraction, name)) = near else { return String::new() };
    if share < fraction - 0.015 {
        t.f("nearly {share}", &[("share", name)])
    } else if share > fraction + 0.015 {
        t.f("more than {share}", &[("share", name)])
    } else {
        (*name).to_owned()
    }
}

/// Months that belong together around the year, in words: all, one, or from one to another. Empty
/// where they do not follow each other.
pub(crate) fn months(which: &[bool; 12], t: Texts) -> String {
    let count = which.iter().filter(|w| **w).count();
    let first = (0..12).find(|k| which[*k] && !which[(k + 11) % 12]);
    match (count, first) {
        (12, _) => t.t("all year").to_owned(),
        (0, _) | (_, None) => String::new(),
        (1, Some(k)) => t.f("in {month}", &[("month", &month(k + 1, t))]),
        (n, Some(k)) if (0..n).all(|i| which[(k + i) % 12]) => t.f(
            "from {from} to {to}",
            &[("from", &month(k + 1, t)), ("to", &month((k + n - 1) % 12 + 1, t))],
        ),
        (n, _) => t.f("in one month|in {n} months", &[("n", &n)]),
    }
}

/// What the first sentence is built from.
pub(crate) struct Lede<'a> {
    /// For each class from flowering down, the share of the place that has it, each month.
    pub shares: [(Enough, [f64; 12]); 4],
    /// Share of the daily light that the window gives, each month; none without a window.
    pub window: Option<[f64; 12]>,
    /// Whether there are lamps.
    pub lamps: bool,
    /// What the mean of the place is enough for in its darkest month, and which that is.
    pub darkest: (usize, Enough),
    pub texts: &'a Texts,
}

/// The first sentence about the light of a place.
pub(crate) fn lede(l: &Lede<'_>) -> String {
    let t = *l.texts;
    let most = |s: &[f64; 12]| s.iter().copied().fold(0.0, f64::max);
    let found = l.shares.iter().find(|(_, s)| most(s) >= 0.15);
    let Some((enough, shares)) = found else {
        return t.t("Too dark for any plant to live here.").to_owned();
    };
    let good: [bool; 12] = shares.map(|s| s >= (0.6 * most(shares)).max(0.1));
    let mut sizes: Vec<f64> = (0..12).filter(|k| good[*k]).map(|k| shares[k]).collect();
    sizes.sort_by(f64::total_cmp);
    let typical = share(sizes.get(sizes.len() / 2).copied().unwrap_or(0.0), t);
    let values: &[(&str, &dyn std::fmt::Display)] = &[("share", &typical)];
    let mut out = match enough {
        Enough::Flower => t.f("Light enough to flower on {share}", values),
        Enough::Grow => t.f("Light enough to grow on {share}", values),
        Enough::Hold => t.f("Light to hold plants on {share}, not to grow", values),
        _ => t.f("Light only to survive on {share}", values),
    };
    let when = months(&good, t);
    if !when.is_empty() {
        out.push_str(", ");
        out.push_str(&when);
    }
    match (l.lamps, &l.window) {
        (true, None) => out.push_str(t.t(", from the lamps alone")),
        (true, Some(window)) => {
            let mean = window.iter().sum::<f64>() / 12.0;
            if mean < 0.5 {
                out.push_str(t.t(", because of the lamps"));
            }
            let matters = window.map(|w| w >= 0.2);
            out.push_str("; ");
            out.push_str(&match matters.iter().filter(|m| **m).count() {
                0 => t.t("the window adds little").to_owned(),
                12 => t.t("the window matters all year").to_owned(),
                _ => t.f("the window matters only {when}", &[("when", &months(&matters, t))]),
            });
        }
        (false, _) => {
            let (darkest, class) = l.darkest;
            if !good[darkest - 1] {
                let values: &[(&str, &dyn std::fmt::Display)] =
                    &[("month", &month(darkest, t)), ("enough", &class.words(t))];
                out.push_str(&t.f("; in {month} it is {enough}", values));
            }
        }
    }
    out.push('.');
    out
}

/// Size, lamps and window of a place in one line.
pub(crate) fn over(d: &Described, t: Texts) -> String {
    let size =
        t.f("{width} × {depth} cm", &[("width", &plain(d.width)), ("depth", &plain(d.depth))]);
    let mut parts = vec![size];
    let mut makes: Vec<(&LampSaid, usize)> = Vec::new();
    for lamp in &d.lamps {
        match makes.iter_mut().find(|(l, _)| l.watts == lamp.watts && l.ppf == lamp.ppf) {
            Some(make) => make.1 += 1,
            None => makes.push((lamp, 1)),
        }
    }
    for (lamp, n) in makes {
        parts.push(match (lamp.watts, lamp.ppf) {
            (Some(watts), _) => t.f(
                "one lamp of {watts} W at the plug|{n} lamps of {watts} W at the plug",
                &[("n", &n), ("watts", &plain(watts))],
            ),
            (None, Some(_)) => t.f("one lamp by its label|{n} lamps by their label", &[("n", &n)]),
            (None, None) => {
                t.f("one lamp of unknown watts|{n} lamps of unknown watts", &[("n", &n)])
            }
        });
    }
    if let Some(window) = &d.window {
        parts.push(window_words(window, t));
    }
    parts.join(", ")
}

/// A direction of the compass, to stand before “window”.
pub(crate) fn direction(word: &str, t: Texts) -> &'static str {
    match word {
        "north" => t.t("north window"),
        "north_east" => t.t("north-east window"),
        "east" => t.t("east window"),
        "south_east" => t.t("south-east window"),
        "south" => t.t("south window"),
        "south_west" => t.t("south-west window"),
        "west" => t.t("west window"),
        "north_west" => t.t("north-west window"),
        _ => t.t("a window, where it looks is not known"),
    }
}

fn window_words(w: &WindowSaid, t: Texts) -> String {
    let side = match w.side {
        Side::Back => t.t("behind it"),
        Side::Left => t.t("at the left end"),
        Side::Right => t.t("at the right end"),
        Side::Front => t.t("in front of it"),
    };
    format!("{} {side}", direction(w.direction.as_deref().unwrap_or(""), t))
}

/// What stands at the left end of a place, over its middle and at its right end.
pub(crate) fn ends(d: &Described, t: Texts) -> [String; 3] {
    let side = d.window.as_ref().map(|w| w.side);
    let window = d.window.as_ref().and_then(|w| w.direction.as_deref());
    let window = direction(window.unwrap_or(""), t);
    let end = |at: Side, plain: &str| {
        if side == Some(at) { window.to_owned() } else { plain.to_owned() }
    };
    let mut middle = Vec::new();
    match side {
        Some(Side::Back) => middle.push(t.f("{window} behind", &[("window", &window)])),
        Some(Side::Front) => middle.push(t.f("{window} in front", &[("window", &window)])),
        _ => {}
    }
    if let Some(lowest) = d.lamps.iter().map(|l| l.height).min_by(f64::total_cmp) {
        let hours = d.lamps.iter().map(|l| l.hours).fold(0.0, f64::max);
        middle.push(t.f(
            "one lamp, {height} cm above the leaves, {hours} h|{n} lamps, from {height} cm above the leaves, {hours} h",
            &[("n", &d.lamps.len()), ("height", &plain(lowest)), ("hours", &plain(hours))],
        ));
    }
    [end(Side::Left, t.t("left")), middle.join("; "), end(Side::Right, t.t("right"))]
}

/// A length or another number without needless digits.
pub(crate) fn plain(x: f64) -> String {
    let rounded = (x * 10.0).round() / 10.0;
    format!("{rounded}")
}

#[cfg(test)]
mod tests {
    use super::*;
    use texts::Lang;

    #[test]
    fn shares_and_months_are_said_as_people_say_them() {
        let t = Texts::new(Lang::En);
        for (value, words) in [
            (0.99, "all of it"),
            (0.9, "nearly all of it"),
            (0.73, "nearly three quarters of it"),
            (0.78, "more than three quarters of it"),
            (0.5, "half of it"),
            (0.1, "a small part of it"),
        ] {
            assert_eq!(share(value, t), words);
        }
        let in_months = |list: &[usize]| {
            let which = std::array::from_fn(|k| list.contains(&(k + 1)));
            months(&which, t)
        };
        assert_eq!(in_months(&[4, 5, 6, 7, 8]), "from April to August");
        assert_eq!(in_months(&[11, 12, 1, 2]), "from November to February");
        assert_eq!(in_months(&[6]), "in June");
        assert_eq!(in_months(&[1, 6]), "in 2 months");
        assert_eq!(in_months(&(1..=12).collect::<Vec<_>>()), "all year");
    }
}
