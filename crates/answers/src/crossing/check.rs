//! What cannot be: refused before it is written, with the reason and the next step.

use journal::{EntryRow, Reader, SubjectKind, Uid};
use serde_json::{Map, Value};

use super::groups::Group;
use crate::{AskError, Result};

fn count(detail: &Map<String, Value>, key: &str) -> Option<u64> {
    detail.get(key).and_then(Value::as_u64)
}

fn refuse(field: &str, value: impl ToString, problem: String) -> AskError {
    AskError::field(field, &value.to_string(), problem)
}

/// The first possible day of a date.
fn earliest(e: &EntryRow) -> Option<i64> {
    e.day_from.or(e.day_to)
}

fn latest(happened: &dates::Edtf) -> Option<i64> {
    happened.latest().map(|d| i64::from(dates::to_days(d)))
}

/// Refuses an entry that cannot be beside what is written already. What is only odd is asked about
/// elsewhere.
///
/// # Errors
/// What cannot be, or the record cannot be read.
pub(crate) fn entry(
    reader: &Reader<'_>,
    subject: Uid,
    kind: &str,
    happened: &dates::Edtf,
    detail: &Map<String, Value>,
) -> Result<()> {
    let Some(row) = reader.subject(subject)? else { return Ok(()) };
    let about = || -> Result<Vec<EntryRow>> {
        let all = reader.entries_about(row.id, 1_000)?;
        Ok(all.into_iter().filter(|e| e.live).collect())
    };
    match kind {
        // Of a part alone: on a plant many flowers open and end.
        "ended" if row.kind == SubjectKind::Part => {
            let opened = about()?.into_iter().filter(|e| e.kind == "opened");
            let first =
                opened.filter_map(|e| Some((earliest(&e)?, e.happened))).min_by_key(|o| o.0);
            if let (Some((first, when)), Some(end)) = (first, latest(happened))
                && end < first
            {
                return Err(refuse(
                    "ended",
                    happened,
                    format!("lies before the opening ({when}); correct one of the two dates"),
                ));
            }
        }
        "pollinated" if row.kind == SubjectKind::Part => flower_is_open(&about()?, happened)?,
        "germinated" | "pricked_out" if row.kind == SubjectKind::Batch => {
            tray(&about()?, kind, detail)?;
        }
        "sown" => seeds_there(reader, &row, detail)?,
        "pod_seen" | "pod_ripe" | "pod_lost" => {
            let treated = about()?;
            let flowers: u64 = treated
                .iter()
                .filter(|e| e.kind == "pollinated")
                .filter_map(|e| count(&e.detail, "flowers"))
                .sum();
            if let Some(n) = count(detail, "count").filter(|n| flowers > 0 && *n > flowers)
                && row.kind == SubjectKind::Pollination
            {
                return Err(refuse(
                    "pods",
                    n,
                    format!(
                        "are more than the {flowers} flowers that were treated; correct one of the two"
                    ),
                ));
            }
        }
        _ => {}
    }
    Ok(())
}

/// Whether a flower with a record of its own can have been open.
fn flower_is_open(about: &[EntryRow], happened: &dates::Edtf) -> Result<()> {
    let (Some(from), Some(to)) =
        (happened.earliest().map(|d| i64::from(dates::to_days(d))), latest(happened))
    else {
        return Ok(());
    };
    let end = about.iter().filter(|e| e.kind == "ended").filter_map(|e| e.day_to).max();
    if let Some(end) = end
        && from > end
    {
        return Err(refuse(
            "pollinated",
            happened,
            "lies after the flower had ended; correct the date, or choose the flower that was open"
                .to_owned(),
        ));
    }
    let opened = about.iter().filter(|e| e.kind == "opened").filter_map(earliest).min();
    if let Some(opened) = opened
        && to < opened - 1
    {
        return Err(refuse(
            "pollinated",
            happened,
            "lies more than a day before the flower opened; correct one of the two dates"
                .to_owned(),
        ));
    }
    Ok(())
}

/// Seedlings of a tray: no more than seeds, no more pricked out than came up.
fn tray(about: &[EntryRow], kind: &str, detail: &Map<String, Value>) -> Result<()> {
    let sum = |kind: &str, key: &str| -> Option<u64> {
        let of = about.iter().filter(|e| e.kind == kind).filter_map(|e| count(&e.detail, key));
        of.reduce(|a, b| a + b)
    };
    if kind == "germinated" {
        let (Some(up), Some(sown)) = (count(detail, "so_far"), sum("sown", "count")) else {
            return Ok(());
        };
        if up > sown {
            return Err(refuse(
                "germinated",
                up,
                format!(
                    "are more than the {sown} seeds sown; write how many are up in all, or correct the sowing"
                ),
            ));
        }
        return Ok(());
    }
    let up = about
        .iter()
        .filter(|e| e.kind == "germinated")
        .filter_map(|e| count(&e.detail, "so_far"))
        .max();
    let out = sum("pricked_out", "count").unwrap_or(0) + count(detail, "count").unwrap_or(0);
    match (up, sum("sown", "count")) {
        (Some(up), _) if out > up => Err(refuse(
            "pricked out",
            out,
            format!(
                "in all are more than the {up} that germinated; write the last count of the tray first"
            ),
        )),
        (None, Some(sown)) if out > sown => Err(refuse(
            "pricked out",
            out,
            format!("in all are more than the {sown} seeds sown; correct one of the two"),
        )),
        _ => Ok(()),
    }
}

/// Seeds sown: no more than were counted, where all pods of the cross were counted.
fn seeds_there(
    reader: &Reader<'_>,
    row: &journal::SubjectRow,
    detail: &Map<String, Value>,
) -> Result<()> {
    let cross = match row.kind {
        SubjectKind::Cross => Some(row.id),
        SubjectKind::Batch => row.of,
        _ => None,
    };
    let Some(new) = count(detail, "count") else { return Ok(()) };
    let Some(cross) = cross else { return Ok(()) };
    sowing(reader, cross, new)
}

/// Whether a cross has so many seeds left.
///
/// # Errors
/// When more would be sown than were counted, or the record cannot be read.
pub(crate) fn sowing(reader: &Reader<'_>, cross: i64, new: u64) -> Result<()> {
    let Some(row) = reader.cross_by_id(cross)? else { return Ok(()) };
    let uid = row.uid.to_string();
    let (mut counted, mut guessed, mut pods) = (0, false, 0);
    for s in reader.subjects_of_kind(SubjectKind::Pollination)? {
        if reader.claimed_words(s.id, "cross")? != uid {
            continue;
        }
        let about = reader.entries_about(s.id, 1_000)?;
        let mut own = 0;
        for e in about.iter().filter(|e| e.live && e.kind == "seeds_counted") {
            own += count(&e.detail, "full").unwrap_or(0) + count(&e.detail, "empty").unwrap_or(0);
            guessed |= e.detail.get("guess").and_then(Value::as_bool).unwrap_or(false);
        }
        let ripe = about.iter().any(|e| e.live && e.kind == "pod_ripe");
        // A ripe pod that was not counted may hold any number.
        guessed |= ripe && own == 0;
        counted += own;
        pods += u64::from(own > 0);
    }
    if pods == 0 || guessed {
        return Ok(());
    }
    let mut sown = 0;
    for s in reader.subjects_of(cross, SubjectKind::Batch)? {
        let about = reader.entries_about(s.id, 1_000)?;
        let all = about.iter().filter(|e| e.live && e.kind == "sown");
        sown += all.filter_map(|e| count(&e.detail, "count")).sum::<u64>();
    }
    if sown + new > counted {
        return Err(refuse(
            "sown",
            new,
            format!(
                "are more than are left: {counted} seeds were counted and {sown} sown; count the \
                 seed again, or mark the count as a guess"
            ),
        ));
    }
    Ok(())
}

/// Pollen older than any of its group keeps: ten half-lives leave a thousandth.
///
/// # Errors
/// When it is older than that or its age is below 0.
pub(crate) fn pollen_age(group: Group, days: f64) -> Result<()> {
    let most = 10.0 * group.facts().pollen[2];
    if !(0.0..=most).contains(&days) {
        return Err(refuse(
            "age of the pollen",
            format!("{days} d"),
            format!(
                "is not possible here: pollen of this group is dead after some {most:.0} days even \
                 in a freezer; write the age in days, or name the lot"
            ),
        ));
    }
    Ok(())
}

/// A seedling cannot be older than the pollination that it came from.
///
/// # Errors
/// When it would be, or the record cannot be read.
pub(crate) fn seedling_age(
    reader: &Reader<'_>,
    cross: &journal::CrossRow,
    when: &dates::Edtf,
) -> Result<()> {
    let uid = cross.uid.to_string();
    let mut first: Option<(i64, dates::Edtf)> = None;
    for e in reader.all_of_kind("pollinated")? {
        if e.detail.get("cross").and_then(Value::as_str) != Some(uid.as_str()) {
            continue;
        }
        if let Some(day) = earliest(&e)
            && first.as_ref().is_none_or(|f| day < f.0)
        {
            first = Some((day, e.happened));
        }
    }
    if let (Some((day, made)), Some(to)) = (first, latest(when))
        && to < day
    {
        return Err(refuse(
            "date",
            when,
            format!(
                "would make the seedling older than its cross ({made}); correct one of the two"
            ),
        ));
    }
    Ok(())
}
