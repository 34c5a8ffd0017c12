//! How fast the record is with 100,000 plants and 1,000,000 entries.
//!
//! The record is invented by a generator with a fixed seed, written through the same operations
//! as any other, and kept under the target folder, so that it is made once.

#![allow(clippy::unwrap_used, clippy::expect_used, missing_docs)]

mod invented;

use std::{
    hint::black_box,
    path::{Path, PathBuf},
    time::{Duration, Instant},
};

use criterion::{Criterion, criterion_group};
use invented::{entry_for, invent, operation_of};
use journal::{Journal, PlantFilter, PlantSort, Reader, Result};

const CHILD: &str = "UMBEL_BENCH_READS";

fn file() -> PathBuf {
    let exe = std::env::current_exe().unwrap();
    // …/release/deps/record-… → …/invented-record
    let folder = exe.ancestors().nth(3).unwrap().join("invented-record");
    let file = folder.join("collection.umbel");
    if !folder.join("done").exists() {
        let _ = std::fs::remove_dir_all(&folder);
        std::fs::create_dir_all(&folder).unwrap();
        let start = Instant::now();
        invent(&file, 100_000);
        println!("made {} in {:.0} s", file.display(), start.elapsed().as_secs_f64());
        std::fs::write(folder.join("done"), "").unwrap();
    }
    println!("file {} MB", std::fs::metadata(&file).unwrap().len() / 1_000_000);
    file
}

/// What a plant page asks the record.
fn plant_page(r: &Reader<'_>, number: i64) -> Result<usize> {
    let plant = r.plant(number)?.unwrap();
    let entries = r.journal_of_plant(plant.id, 200)?;
    let clone = r.clone_by_id(plant.clone)?.unwrap();
    let pieces = r.pieces(clone.id)?;
    let names = r.claims(clone.id, "name")?;
    let parents = r.claims(clone.id, "parents")?;
    let said = r.statements(plant.id)?.len() + r.statements(clone.id)?.len();
    let asked = r.questions(plant.id)?.len() + r.parts(plant.id)?.len();
    let family = r.ancestry(&[clone.uid])?.len() + r.children(clone.id)?.len();
    let flowers = r.entries_of_kinds(plant.id, &["opened", "ended"])?;
    let photos = r.photos_of_plant(plant.id)?;
    Ok(entries.len()
        + pieces.len()
        + names.len()
        + parents.len()
        + said
        + asked
        + family
        + flowers.len()
        + photos.len())
}

const SEARCHES: [(&str, &str); 6] = [
    ("common word (genus)", "begonia"),
    ("rare epithet", "xatibeca"),
    ("misspelt genus", "begnoia"),
    ("misspelt epithet", "xatibeac"),
    ("two words", "begonia sill"),
    ("a number", "71234"),
];

fn reads(c: &mut Criterion) {
    let path = file();
    let (journal, _) = Journal::open(&path).unwrap();
    let mut g = c.benchmark_group("search");
    for (what, words) in SEARCHES {
        let hits = journal.read(|r| r.search(words)).unwrap();
        println!("{what} “{words}”: {} hits, read as {:?}", hits.total, hits.read_as);
        g.bench_function(what, |b| {
            b.iter(|| journal.read(|r| r.search(black_box(words))).unwrap())
        });
    }
    g.finish();
    lists(c, &journal);
    let mut n = 0i64;
    c.bench_function("plant page", |b| {
        b.iter(|| {
            n = (n + 7_919) % 100_000;
            journal.read(|r| plant_page(r, n + 1)).unwrap()
        });
    });
    c.bench_function("totals", |b| b.iter(|| journal.read(|r| r.totals()).unwrap()));
    c.bench_function("genera", |b| b.iter(|| journal.read(|r| r.genera(None)).unwrap()));
    drop(journal);
    c.bench_function("open to first read", |b| {
        b.iter(|| {
            let (journal, _) = Journal::open(&path).unwrap();
            journal.read(|r| r.plants(&PlantFilter::default(), PlantSort::Name, 0, 50)).unwrap()
        });
    });
}

fn lists(c: &mut Criterion, journal: &Journal) {
    let genus = PlantFilter { genus: Some("Begonia".to_owned()), ..PlantFilter::default() };
    let alive = PlantFilter { state: Some("alive".to_owned()), ..PlantFilter::default() };
    let words = PlantFilter { words: Some("begonia".to_owned()), ..PlantFilter::default() };
    let both = PlantFilter { words: Some("sill".to_owned()), ..genus.clone() };
    let sorts = [
        PlantSort::Name,
        PlantSort::Number,
        PlantSort::Came,
        PlantSort::Last,
        PlantSort::Place,
        PlantSort::Keeper,
    ];
    let mut g = c.benchmark_group("list");
    for (what, filter) in [
        ("all", PlantFilter::default()),
        ("genus", genus),
        ("alive", alive),
        ("words", words),
        ("genus and words", both),
    ] {
        for sort in sorts {
            for offset in [0, 20_000] {
                g.bench_function(format!("{what} by {} from {offset}", sort.as_str()), |b| {
                    b.iter(|| journal.read(|r| r.plants(&filter, sort, offset, 50)).unwrap());
                });
            }
        }
    }
    g.finish();
}

fn writes(c: &mut Criterion) {
    let path = file();
    let folder = path.parent().unwrap().join("copy");
    let _ = std::fs::remove_dir_all(&folder);
    std::fs::create_dir_all(&folder).unwrap();
    let copy = folder.join("collection.umbel");
    std::fs::copy(&path, &copy).unwrap();
    let (journal, _) = Journal::open(&copy).unwrap();
    let mut n = 0;
    c.bench_function("durable entry", |b| {
        b.iter_custom(|times| {
            let mut spent = Duration::ZERO;
            for _ in 0..times {
                n += 1;
                let operation = entry_for(&journal, n);
                let start = Instant::now();
                journal.write(&operation).unwrap();
                spent += start.elapsed();
            }
            spent
        });
    });
    let operation = operation_of(&journal, 10_000);
    let start = Instant::now();
    journal.write(&operation).unwrap();
    println!(
        "10,000 plants in one operation of {} changes: {:.2} s",
        operation.changes.len(),
        start.elapsed().as_secs_f64()
    );
    let start = Instant::now();
    journal.undo(operation.id, false, "Ines", "bench", invented::now()).unwrap();
    println!("undone in {:.2} s", start.elapsed().as_secs_f64());
    drop(journal);
    std::fs::remove_dir_all(&folder).unwrap();
}

/// The reads of the process whose memory is measured.
fn hundred_reads(path: &Path) {
    let (journal, _) = Journal::open(path).unwrap();
    for i in 0..100i64 {
        match i % 4 {
            0 => {
                let words = SEARCHES[usize::try_from(i / 4).unwrap() % SEARCHES.len()].1;
                journal.read(|r| r.search(words)).unwrap();
            }
            1 => {
                let offset = usize::try_from(i * 900).unwrap();
                let sort = if i % 8 == 1 { PlantSort::Name } else { PlantSort::Place };
                journal.read(|r| r.plants(&PlantFilter::default(), sort, offset, 50)).unwrap();
            }
            _ => {
                journal.read(|r| plant_page(r, i * 997 + 1)).unwrap();
            }
        }
    }
    let status = std::fs::read_to_string("/proc/self/status").unwrap();
    let peak = status.lines().find(|l| l.starts_with("VmHWM")).unwrap();
    println!("peak memory of 100 mixed reads: {peak}");
}

fn memory() {
    let path = file();
    let status = std::process::Command::new(std::env::current_exe().unwrap())
        .env(CHILD, &path)
        .status()
        .unwrap();
    assert!(status.success());
}

criterion_group! {
    name = record;
    config = Criterion::default().sample_size(10).warm_up_time(Duration::from_millis(200))
        .measurement_time(Duration::from_millis(600)).without_plots();
    targets = reads, writes
}

fn main() {
    if let Some(path) = std::env::var_os(CHILD) {
        return hundred_reads(Path::new(&path));
    }
    if std::env::var_os("UMBEL_LONG").is_some() {
        let (journal, _) = Journal::open(file()).unwrap();
        let start = Instant::now();
        journal.rebuild().unwrap();
        println!("derived again in {:.1} s", start.elapsed().as_secs_f64());
    }
    memory();
    record();
}
