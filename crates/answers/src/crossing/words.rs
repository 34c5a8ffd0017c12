//! What is said of a pair.

use texts::Texts;

use super::chance::{PairChance, Share};

/// A share in whole percent, or a tenth below 10 %; never 0 or 100.
pub(super) fn percent(share: f64, t: Texts) -> String {
    let p = 100.0 * share;
    let digits = usize::from(p < 9.95);
    let (least, most) = if digits == 1 { (0.1, 9.9) } else { (10.0, 99.0) };
    crate::said::number(p.clamp(least, most), digits, t.lang())
}

/// A share with its interval: “18 % (9–29 %)”.
pub(super) fn share(s: &Share, t: Texts) -> String {
    t.f(
        "{mean} % ({lower}–{upper} %)",
        &[
            ("mean", &percent(s.mean, t)),
            ("lower", &percent(s.lower, t)),
            ("upper", &percent(s.upper, t)),
        ],
    )
}

/// A share as a fraction where it is one of few parts, else in percent.
pub(super) fn fraction(share: f64) -> String {
    const NAMED: [(f64, &str); 9] = [
        (1.0, "1"),
        (0.75, "¾"),
        (0.5, "½"),
        (0.375, "⅜"),
        (0.25, "¼"),
        (0.125, "⅛"),
        (0.625, "⅝"),
        (0.875, "⅞"),
        (1.0 / 3.0, "⅓"),
    ];
    match NAMED.iter().find(|(x, _)| (x - share).abs() < 1e-6) {
        Some((_, words)) => (*words).to_owned(),
        None => format!("{:.0} %", 100.0 * share),
    }
}

/// What was not known and why a term is blank.
fn blank_words(key: &str, t: Texts) -> Option<String> {
    let words = match key {
        "range" => t.t(
            "The checklist has no areas for one of the two, so a shared range says nothing here.",
        ),
        "ploidy" => t.t("How many sets of chromosomes they have was not said."),
        "same_section" => t.t("Their section was not said."),
        "same_species" => t.t("The species behind one of the two are not recorded."),
        _ => return None,
    };
    Some(words.to_owned())
}

/// Everything that is said of a pair in one direction, a line each.
pub(super) fn chance(c: &PairChance, blank: &[&'static str], t: Texts) -> Vec<String> {
    let mut out = Vec::new();
    out.push(if c.tried.flowers == 0 {
        t.t("Not tried here in this direction.").to_owned()
    } else {
        t.f(
            "Of one flower {k} took.|Of {n} flowers {k} took.",
            &[("n", &c.tried.flowers), ("k", &c.tried.took)],
        )
    });
    if c.tried.untold > 0 {
        out.push(t.f(
            "Of one pollination nobody told what came of it; it does not count.|Of {n} pollinations nobody told what came of them; they do not count.",
            &[("n", &c.tried.untold)],
        ));
    }
    if let Some(limit) = c.limit {
        out.push(t.f(
            "{k} of {n} so far: up to {limit} % would still fit (one-sided, 95 %, with no belief beforehand).",
            &[
                ("k", &c.tried.took),
                ("n", &c.tried.flowers),
                ("limit", &format!("{:.0}", 100.0 * limit)),
            ],
        ));
    }
    out.push(t.f("A flower makes a pod: {share}.", &[("share", &share(&c.per_flower, t))]));
    out.push(t.f(
        "At least one pod of one flower: {p} %.|At least one pod of {n} flowers: {p} %.",
        &[("n", &c.flowers), ("p", &percent(c.at_least_one, t))],
    ));
    out.push(t.f("Of its seeds full: {share}.", &[("share", &share(&c.full, t))]));
    out.push(t.f(
        "At least one flowering seedling: {p} %.|At least {n} flowering seedlings: {p} %.",
        &[("n", &c.wanted), ("p", &percent(c.enough, t))],
    ));
    out.push(match c.flowers_needed {
        Some(n) => t.f(
            "For a chance of nine in ten treat one flower.|For a chance of nine in ten treat {n} flowers.",
            &[("n", &n)],
        ),
        None => t.t("No number of flowers up to 2000 gives a chance of nine in ten.").to_owned(),
    });
    if c.information < 0.2 {
        out.push(
            t.t("Mostly what was believed beforehand; your records say little of this pair yet.")
                .to_owned(),
        );
    }
    out.extend(blank.iter().filter_map(|key| blank_words(key, t)));
    out.push(t.t("What was found in other genera is a belief here and no fact about a pair that was not tried.").to_owned());
    out
}
