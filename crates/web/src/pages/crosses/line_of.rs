//! One cross as a thinning line.

use answers::{Hand, crossing::Path, said_days};
use drawing::{ThinStage, thinning_lines};
use maud::{Markup, PreEscaped, html};

use crate::layout::thousands;

struct Set {
    number: String,
    interval: String,
    when: String,
    share: String,
}

fn shown(n: u64) -> String {
    thousands(i64::try_from(n).unwrap_or(i64::MAX))
}

/// Stages that are counted in another measure than flowers and pods: the line begins anew.
const ANEW: [usize; 3] = [3, 5, 8];

/// The line of a cross, with what is said beside it.
pub(super) fn line(path: &Path, hand: &Hand) -> Markup {
    let t = hand.texts();
    let percent = |x: f64| format!("{:.0}", (100.0 * x).clamp(1.0, 99.0));
    let mut set = Vec::new();
    let mut places = Vec::new();
    let mut measure = 0;
    for (i, s) in path.stages.iter().enumerate() {
        if let Some(at) = ANEW.iter().rposition(|a| *a <= i) {
            // Seedlings in pots go on from those pricked out where these were counted.
            let pricked = at == 2 && path.stages[7].count.is_some();
            measure = if pricked { 2 } else { at + 1 };
        }
        let Some(count) = s.count else { continue };
        set.push(Set {
            number: shown(count),
            interval: String::new(),
            when: s.days.map(|d| said_days(d, hand)).unwrap_or_default(),
            share: s.share.map_or(String::new(), |(p, low, high)| {
                format!("{}% ({}–{})", percent(p), percent(low), percent(high))
            }),
        });
        places.push((count as f64, None, measure, s.what.as_str()));
    }
    let mut begun = false;
    for e in &path.expected {
        let (middle, low, high) = e.count;
        measure += usize::from(e.anew);
        begun = true;
        set.push(Set {
            number: shown(middle),
            interval: format!("({}–{})", shown(low), shown(high)),
            when: String::new(),
            share: String::new(),
        });
        places.push((middle as f64, Some((low as f64, high as f64)), measure, e.what.as_str()));
    }
    let stages: Vec<ThinStage<'_>> = set
        .iter()
        .zip(&places)
        .enumerate()
        .map(|(i, (words, (count, expected, measure, what)))| ThinStage {
            count: *count,
            expected: *expected,
            anew: i > 0 && places[i - 1].2 != *measure,
            number: &words.number,
            interval: &words.interval,
            what,
            when: &words.when,
            share: &words.share,
        })
        .collect();
    let aria: Vec<&str> =
        path.stages.iter().filter(|s| s.count.is_some()).map(|s| s.text.as_str()).collect();
    html! {
        section.sect {
            h2 { (t.t("From flower to seedling")) }
            @if stages.is_empty() { p.open { (t.t("Nothing was counted yet.")) } }
            @else {
                p class="note measure" {
                    (t.t("The line is as thick as what is left: of the flowers, then of the seeds, then of those sown. Ink was counted."))
                    @if begun { " " (t.t("The coloured part is expected: solid in nine cases of ten, the pale edge in one.")) }
                }
                div.gap { (PreEscaped(thinning_lines(&stages, &aria.join("; "), t.t("kept")))) }
                details class="note" { summary { (t.t("As a list")) }
                    ul { @for s in path.stages.iter().filter(|s| s.count.is_some()) { li { (s.text) } } }
                }
            }
            @for l in &path.lines { p.note { (l) } }
        }
    }
}
