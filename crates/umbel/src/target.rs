//! What something is about, as typed: plant numbers, ranges, codes, places, crosses and so on.

use answers::{Hand, acts::Target, cross_page};
use journal::{Code, Reader, SubjectKind};

use crate::problem::{Problem, Result};

/// How targets are written, for help texts.
pub const HOW: &str = "\
Plants are named by the number on the label (12), a range (12-18), the six-character code \
(K7QD3B), or a seedling's cross and number (seedling:19-7). Parts of a plant: 12:flower for a \
new one, 12:flower:3 for the third. Anything else by its kind and number: place:3, cross:4, \
batch:2, keeper:5, clone:7, pollination:6, pollen-lot:1.";

/// The most plants that one range may hold; more is a slip of the finger.
const LONGEST_RANGE: i64 = 10_000;

/// Reads one word as the targets it names.
pub fn read(reader: &Reader<'_>, hand: &Hand, typed: &str) -> Result<Vec<Target>> {
    let text = typed.trim().trim_start_matches('#');
    if let Ok(number) = text.parse::<i64>() {
        return Ok(vec![Target::Plant(number)]);
    }
    if let Some(range) = range(text)? {
        return existing(reader, range);
    }
    if let Some((head, rest)) = text.split_once(':') {
        if let Ok(plant) = head.parse::<i64>() {
            return part(plant, rest, typed).map(|t| vec![t]);
        }
        if head == "seedling" {
            return seedling(reader, hand, rest).map(|n| vec![Target::Plant(n)]);
        }
        let kind = SubjectKind::of_word(&head.replace('-', "_"));
        if let (Some(kind), Ok(number)) = (kind, rest.parse::<i64>()) {
            return Ok(vec![match kind {
                SubjectKind::Plant => Target::Plant(number),
                kind => Target::Numbered(kind, number),
            }]);
        }
        return Err(unreadable(typed));
    }
    match text.parse::<Code>() {
        Ok(code) => match reader.plant_by_code(code)? {
            Some(plant) => Ok(vec![Target::Plant(plant.number)]),
            None => Err(Problem::undone(
                format!("there is no plant with the code {code}"),
                "read the code again from the label, or use the plant's number",
            )),
        },
        Err(why) if text.chars().count() == 6 => {
            Err(Problem::input(why.to_string(), "or use the plant's number"))
        }
        Err(_) => Err(unreadable(typed)),
    }
}

/// Reads many words.
pub fn read_all(reader: &Reader<'_>, hand: &Hand, typed: &[String]) -> Result<Vec<Target>> {
    let mut out: Vec<Target> = Vec::new();
    for word in typed.iter().flat_map(|t| t.split(',')).filter(|w| !w.trim().is_empty()) {
        for target in read(reader, hand, word)? {
            if !out.contains(&target) {
                out.push(target);
            }
        }
    }
    Ok(out)
}

/// Reads many words as plant numbers.
pub fn plants(reader: &Reader<'_>, hand: &Hand, typed: &[String]) -> Result<Vec<i64>> {
    read_all(reader, hand, typed)?
        .into_iter()
        .map(|t| match t {
            Target::Plant(n) => Ok(n),
            _ => Err(Problem::input(
                "only plants can be meant here",
                "write plant numbers, ranges or codes",
            )),
        })
        .collect()
}

/// Reads one word as one plant that is in the record.
pub fn plant(reader: &Reader<'_>, hand: &Hand, typed: &str) -> Result<i64> {
    let numbers = plants(reader, hand, &[typed.to_owned()])?;
    let [number] = numbers.as_slice() else {
        return Err(Problem::input(
            format!("“{typed}” means {} plants; one is wanted here", numbers.len()),
            "write one plant number or code",
        ));
    };
    match reader.plant(*number)? {
        Some(_) => Ok(*number),
        None => Err(no_plant(*number)),
    }
}

/// There is no plant of this number.
pub fn no_plant(number: i64) -> Problem {
    Problem::undone(
        format!("there is no plant {number}"),
        "write its number as it stands on the label; `umbel list` shows which there are",
    )
}

/// Reads one word as anything with a number.
pub fn one(reader: &Reader<'_>, hand: &Hand, typed: &str) -> Result<(SubjectKind, i64)> {
    match read(reader, hand, typed)?.as_slice() {
        [Target::Plant(n)] => Ok((SubjectKind::Plant, *n)),
        [Target::Numbered(kind, n)] => Ok((*kind, *n)),
        _ => Err(Problem::input(
            format!("“{typed}” is not one plant, cross, place or keeper"),
            "write a plant number or code, cross:4, place:3 or keeper:5",
        )),
    }
}

fn unreadable(typed: &str) -> Problem {
    Problem::input(
        format!("“{typed}” names no plant or other thing"),
        "write a plant number (12), a range (12-18), a code, place:3, cross:4 or batch:2",
    )
}

fn range(text: &str) -> Result<Option<(i64, i64)>> {
    let Some((a, b)) = text.split_once(['-', '–']) else { return Ok(None) };
    let (Ok(a), Ok(b)) = (a.trim().parse::<i64>(), b.trim().parse::<i64>()) else {
        return Ok(None);
    };
    if a > b {
        return Err(Problem::input(
            format!("the range {text} runs backwards"),
            format!("write {b}-{a}, or seedling:{a}-{b} for seedling {b} of cross {a}"),
        ));
    }
    if b - a >= LONGEST_RANGE {
        return Err(Problem::input(
            format!("the range {text} has more than {LONGEST_RANGE} numbers"),
            "write a shorter range",
        ));
    }
    Ok(Some((a, b)))
}

/// The plants of a range that are there: numbers are never reused, so a range has holes.
fn existing(reader: &Reader<'_>, (from, to): (i64, i64)) -> Result<Vec<Target>> {
    let mut out = Vec::new();
    for number in from..=to {
        if reader.plant(number)?.is_some() {
            out.push(Target::Plant(number));
        }
    }
    if out.is_empty() {
        return Err(Problem::undone(
            format!("there is no plant from {from} to {to}"),
            "`umbel list` shows which there are",
        ));
    }
    Ok(out)
}

const PARTS: [&str; 8] = ["stem", "peduncle", "umbel", "flower", "pod", "leaf", "tip", "root"];

fn part(plant: i64, rest: &str, typed: &str) -> Result<Target> {
    let (what, number) = match rest.split_once(':') {
        Some((what, n)) => (what, Some(n.parse::<i64>().map_err(|_| unreadable(typed))?)),
        None => (rest, None),
    };
    if !PARTS.contains(&what) {
        return Err(Problem::input(
            format!("“{what}” is not a part of a plant"),
            format!("write one of {}", PARTS.join(", ")),
        ));
    }
    Ok(Target::Part(plant, number, what.to_owned()))
}

fn seedling(reader: &Reader<'_>, hand: &Hand, rest: &str) -> Result<i64> {
    let numbers = rest.split_once('-').and_then(|(c, n)| Some((c.parse().ok()?, n.parse().ok()?)));
    let Some((cross, number)): Option<(i64, i64)> = numbers else {
        return Err(Problem::input(
            format!("“seedling:{rest}” is not a seedling"),
            "write its cross and number, such as seedling:19-7",
        ));
    };
    let page = cross_page(reader, cross, hand)?;
    let found = page.seedlings.iter().find(|s| s.0 == number).and_then(|s| s.2);
    found.ok_or_else(|| {
        Problem::undone(
            format!("cross {cross} has no seedling {number} that stands here"),
            format!("`umbel crosses {cross}` lists its seedlings"),
        )
    })
}
