//! What was acknowledged survives a killed process and a full disk.
//!
//! The test program starts itself again as the process that is killed, or whose files may not
//! grow.

use std::{
    io::{BufRead as _, BufReader, Write as _},
    path::Path,
    process::{Child, Command, Stdio},
    time::{Duration, Instant},
};

use journal::{Draft, Journal, Known, Operation, SubjectKind, Uid};
use serde_json::json;

use crate::house::{agrees, day, draft, map};

const RECORD: &str = "UMBEL_TEST_RECORD";

pub fn long() -> bool {
    std::env::var_os("UMBEL_LONG").is_some()
}

/// A plant with its clone and three entries: all of it or nothing must be there.
fn whole_plant() -> Operation {
    let mut d: Draft = draft("add", "a plant");
    let clone = d.create(SubjectKind::Clone, None);
    let plant = d.create(SubjectKind::Plant, None);
    d.claim(clone, "name", json!({"text": "Begonia bowerae"}));
    d.claim(plant, "clone", json!(clone.to_string()));
    for kind in ["watered", "opened", "note"] {
        let note = (kind == "note").then(|| "a note of some length, to fill pages ".repeat(8));
        d.entry(plant, kind, day("2025-11-20"), Known::Seen, map(json!({})), note);
    }
    d.finish()
}

/// Not a test by itself: what the started process does.
#[test]
fn child_that_writes_until_it_ends() {
    let Some(path) = std::env::var_os(RECORD) else { return };
    let (journal, _) = match Journal::open(Path::new(&path)) {
        Ok(opened) => opened,
        Err(e) => {
            println!("\nfailed {e}");
            return;
        }
    };
    let mut out = std::io::stdout();
    let start = Instant::now();
    while start.elapsed() < Duration::from_secs(20) {
        let operation = whole_plant();
        match journal.write(&operation) {
            Ok(_) => writeln!(out, "\ndone {}", operation.id).unwrap(),
            Err(e) => {
                println!("\nfailed {e}");
                let readable = journal.read(|r| r.totals()).is_ok();
                println!("\nreadable {readable}");
                return;
            }
        }
        out.flush().unwrap();
    }
}

const CHILD: [&str; 4] =
    ["kill::child_that_writes_until_it_ends", "--exact", "--nocapture", "--test-threads=1"];

fn lines(child: &mut Child) -> Vec<String> {
    let out = child.stdout.take().unwrap();
    BufReader::new(out).lines().map_while(Result::ok).collect()
}

fn acknowledged(lines: &[String]) -> Vec<Uid> {
    lines.iter().filter_map(|l| l.strip_prefix("done ")?.parse().ok()).collect()
}

/// Nothing lost, nothing partial, the file sound.
fn check(path: &Path, acknowledged: &[Uid]) -> usize {
    let (journal, _) = Journal::open(path).unwrap();
    let health = journal.doctor().unwrap();
    assert!(health.sound(), "{health:?}");
    let (operations, plants) = journal
        .read(|r| {
            for id in acknowledged {
                assert!(r.operation(*id)?.is_some_and(|o| o.live), "{id} was lost");
            }
            let list = r.plants(&Default::default(), Default::default(), 0, usize::MAX >> 1)?;
            assert!(list.rows.iter().all(|p| p.entries == 3 && p.name == "Begonia bowerae"));
            Ok((r.operations(usize::MAX)?.len(), list.rows.len()))
        })
        .unwrap();
    assert_eq!(operations, plants, "an operation is there in part");
    operations
}

#[test]
fn nothing_acknowledged_is_lost_when_the_process_is_killed() {
    let folder = tempfile::tempdir().unwrap();
    let rounds = if long() { 1_000 } else { 100 };
    let start = Instant::now();
    let mut state = 0x9E37_79B9_u64;
    let (mut all, mut written, mut done) = (Vec::new(), 0, 0);
    let mut path = folder.path().join("0.umbel");
    for round in 0..rounds {
        // A new record now and then, so that its making is cut short as well.
        if round % 10 == 0 {
            all.clear();
            path = folder.path().join(format!("{round}.umbel"));
        }
        let mut child = Command::new(std::env::current_exe().unwrap())
            .args(CHILD)
            .env(RECORD, &path)
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
        std::thread::sleep(Duration::from_micros(3_000 + (state >> 40) % 100_000));
        child.kill().unwrap();
        let ended = child.wait().unwrap();
        assert!(ended.code().is_none(), "it ended by itself: {ended}");
        let said = lines(&mut child);
        assert!(said.iter().all(|l| !l.starts_with("failed")), "{said:?}");
        let new = acknowledged(&said);
        written += new.len();
        all.extend(new);
        if path.exists() {
            check(&path, &all);
        }
        done += 1;
        // The quick run is cut short on a busy machine; how far it came is said.
        if !long() && start.elapsed() > Duration::from_secs(30) {
            break;
        }
    }
    println!("{done} kills, {written} acknowledged operations, none lost");
    assert!(done >= 20 && written > done, "{done} kills, {written} operations: too few to tell");
}

#[cfg(unix)]
#[test]
fn a_full_disk_gives_a_clear_error_and_the_record_stays_usable() {
    let folder = tempfile::tempdir().unwrap();
    let blank = folder.path().join("blank.umbel");
    drop(Journal::open(&blank).unwrap());
    let size = std::fs::metadata(&blank).unwrap().len() / 512;
    let limits: u64 = if long() { 200 } else { 12 };
    let mut failures = 0;
    for i in 0..limits {
        let path = folder.path().join(format!("{i}.umbel"));
        std::fs::copy(&blank, &path).unwrap();
        // No file may grow past this; the signal that usually comes with it is ignored, so that
        // writing fails as it does on a full disk. One page more each time.
        let blocks = if long() { 8 * (i + 1) } else { size / 4 + 97 * i };
        let mut child = Command::new("sh")
            .args(["-c", "trap '' XFSZ; ulimit -f \"$0\"; exec \"$@\"", &blocks.to_string()])
            .arg(std::env::current_exe().unwrap())
            .args(CHILD)
            .env(RECORD, &path)
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let said = lines(&mut child);
        child.wait().unwrap();
        let failed: Vec<_> = said.iter().filter(|l| l.starts_with("failed")).collect();
        assert_eq!(failed.len(), 1, "limit {blocks}: {said:?}");
        assert!(failed[0].contains("Nothing was changed"), "{failed:?}");
        if said.iter().any(|l| l.starts_with("readable")) {
            assert!(said.iter().any(|l| l == "readable true"), "{said:?}");
        }
        let ids = acknowledged(&said);
        failures += 1;
        check(&path, &ids);
        // With space again, it goes on.
        let (journal, _) = Journal::open(&path).unwrap();
        journal.write(&whole_plant()).unwrap();
        agrees(&journal);
    }
    assert_eq!(failures, limits);
}
