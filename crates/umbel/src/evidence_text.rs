//! The evidence line as text: a time axis with one mark for each record.

use answers::{Evidence, Mark};

/// How many columns the axis has.
const WIDTH: usize = 48;

/// What the marks mean, for those who have not seen one.
pub const LEGEND: &str = "│ seen on one day  ┆ remembered or told  ○ between two looks  › still going  · borrowed  ? missing";

/// Draws the line, or nothing where there is no record.
pub fn line(evidence: &Evidence, day: impl Fn(i64) -> String) -> Option<String> {
    let missing: usize = evidence
        .marks
        .iter()
        .map(|m| if let Mark::Missing { count } = m { *count } else { 0 })
        .sum();
    let days: Vec<i64> = evidence.marks.iter().filter_map(last_day).collect();
    let (Some(&first), Some(&last)) = (days.iter().min(), days.iter().max()) else {
        return (missing > 0).then(|| format!("├{}┤ {}", "─".repeat(WIDTH), "?".repeat(missing)));
    };
    let mut axis = vec!['─'; WIDTH];
    for mark in &evidence.marks {
        if let (Some(at), Some(sign)) = (last_day(mark), sign(mark)) {
            let column = column(at, first, last);
            // A solid tick is not hidden by a weaker one at the same column.
            if weight(sign) >= weight(axis[column]) {
                axis[column] = sign;
            }
        }
    }
    let axis: String = axis.into_iter().collect();
    let mut out = format!("{} ├{axis}┤ {}", day(first), day(last));
    if missing > 0 {
        out.push(' ');
        out.push_str(&"?".repeat(missing));
    }
    Some(out)
}

/// Where a day lies on the axis.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, clippy::cast_precision_loss)]
fn column(day: i64, first: i64, last: i64) -> usize {
    if last == first {
        return WIDTH / 2;
    }
    let share = (day - first) as f64 / (last - first) as f64;
    ((share * (WIDTH - 1) as f64).round() as usize).min(WIDTH - 1)
}

fn last_day(mark: &Mark) -> Option<i64> {
    match mark {
        Mark::At { day, .. } | Mark::Borrowed { day } => Some(*day),
        Mark::Between { to, .. } | Mark::Open { to, .. } => Some(*to),
        Mark::Missing { .. } => None,
    }
}

fn sign(mark: &Mark) -> Option<char> {
    match mark {
        Mark::At { known, .. } => Some(match known {
            journal::Known::Seen | journal::Known::Photo => '│',
            journal::Known::Remembered | journal::Known::Told => '┆',
        }),
        Mark::Between { .. } => Some('○'),
        Mark::Open { .. } => Some('›'),
        Mark::Borrowed { .. } => Some('·'),
        Mark::Missing { .. } => None,
    }
}

fn weight(sign: char) -> u8 {
    match sign {
        '─' => 0,
        '·' => 1,
        '›' => 2,
        '○' => 3,
        '┆' => 4,
        _ => 5,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use journal::Known;

    #[test]
    fn every_kind_of_mark_has_its_own_sign_in_its_own_place() {
        let known = Known::Seen;
        let evidence = Evidence {
            marks: vec![
                Mark::At { day: 0, known },
                Mark::Between { from: 10, to: 47, known },
                Mark::Open { from: 20, to: 94, known },
                Mark::Missing { count: 2 },
            ],
            ..Evidence::default()
        };
        let text = line(&evidence, |d| d.to_string()).unwrap();
        assert!(text.starts_with("0 ├│"), "{text}");
        assert!(text.ends_with("›┤ 94 ??"), "{text}");
        assert_eq!(text.chars().filter(|c| *c == '○').count(), 1, "{text}");
    }

    #[test]
    fn a_borrowed_record_never_hides_one_of_our_own() {
        let marks = vec![Mark::At { day: 5, known: Known::Seen }, Mark::Borrowed { day: 5 }];
        let text = line(&Evidence { marks, ..Evidence::default() }, |d| d.to_string()).unwrap();
        assert!(text.contains('│') && !text.contains('·'), "{text}");
        assert_eq!(line(&Evidence::default(), |d| d.to_string()), None);
    }
}
