//! A damaged file gives a clear message or can be read; it is never a panic, and never touched.

use std::fs;

use journal::{Error, Journal};

use crate::{
    house::{full, open},
    kill::long,
};

/// Everything a program asks of a record.
fn read_all(path: &std::path::Path) -> Result<(), Error> {
    let (journal, _) = Journal::open(path)?;
    journal.read(|r| {
        r.totals()?;
        let list = r.plants(&Default::default(), Default::default(), 0, 100)?;
        for plant in list.rows {
            r.journal_of_plant(plant.id, 100)?;
            r.clone_by_id(plant.clone)?;
            r.history(plant.id, 100)?;
            r.statements(plant.clone)?;
            r.questions(plant.clone)?;
            r.photos_of_plant(plant.id)?;
        }
        for words in ["begonia", "bowerea", "sill"] {
            r.search(words)?;
        }
        r.keepers()?;
        r.places()?;
        r.crosses()?;
        r.left_over()?;
        r.views()?;
        r.operations(1_000)?;
        Ok(())
    })?;
    let health = journal.doctor()?;
    // The copy has no folder of photos; they are not what is damaged here.
    if health.integrity == ["ok"] && health.foreign_keys == 0 && health.projection_agrees {
        return Ok(());
    }
    Err(Error::Damaged { path: path.to_path_buf(), why: health.integrity.join("; ") })
}

#[test]
fn a_damaged_file_gives_a_clear_message_and_is_not_touched() {
    let (folder, journal) = open();
    full(&journal);
    let whole = folder.path().join("whole.umbel");
    Journal::restore(journal.path(), &whole).unwrap();
    let good = fs::read(&whole).unwrap();
    read_all(&whole).unwrap();
    // Opening makes it a file with a log; the rest is compared with that.
    let good = fs::read(&whole).unwrap_or(good);
    let cases = if long() { 500 } else { 60 };
    let mut state = 42u64;
    let mut dice = |n: usize| {
        state =
            state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        usize::try_from(state >> 33).unwrap() % n
    };
    let (mut told, mut sound) = (0, 0);
    for case in 0..cases {
        let mut bytes = good.clone();
        match case % 4 {
            0 => bytes.truncate(dice(good.len())),
            1 => bytes[dice(100)] ^= 1 << dice(8),
            2 => (0..20).for_each(|_| bytes[dice(good.len())] = u8::try_from(dice(256)).unwrap()),
            _ => {
                let at = dice(good.len() - 4096);
                bytes[at..at + 4096].fill(0xA5);
            }
        }
        if bytes.is_empty() {
            continue;
        }
        let path = folder.path().join("damaged.umbel");
        for end in ["-wal", "-shm"] {
            let _ = fs::remove_file(folder.path().join(format!("damaged.umbel{end}")));
        }
        fs::write(&path, &bytes).unwrap();
        match read_all(&path) {
            Ok(()) => sound += 1,
            Err(e) => {
                told += 1;
                let clear = matches!(
                    e,
                    Error::Damaged { .. } | Error::NotARecord { .. } | Error::Newer { .. }
                );
                assert!(clear, "case {case}: {e:?}");
                assert!(e.to_string().contains("damaged.umbel"), "case {case}: {e}");
            }
        }
        assert!(fs::read(&path).unwrap() == bytes, "case {case}: the original was touched");
        let zip = folder.path().join("of-damaged.zip");
        let _ = fs::remove_file(&zip);
        let target = folder.path().join("restored.umbel");
        if Journal::restore(&path, &target).is_ok() {
            fs::remove_file(&target).unwrap();
        }
    }
    println!("{told} damages told, {sound} without effect");
    // Bytes of pages and of the head that hold nothing can be damaged without effect.
    assert!(told > cases / 2, "{told} of {cases} were told");
}
