//! A small record to test with.

use dates::Edtf;
use jiff::Timestamp;
use journal::{Draft, Journal, Known, Operation, SubjectKind, Uid};
use serde_json::{Map, Value, json};

pub fn now() -> Timestamp {
    "2025-11-21T18:00:00Z".parse().unwrap()
}

pub fn draft(act: &str, about: &str) -> Draft {
    Draft::new(act, about, "Ines", "bench", now())
}

pub fn day(text: &str) -> Edtf {
    Edtf::parse(text).unwrap()
}

pub fn map(value: Value) -> Map<String, Value> {
    match value {
        Value::Object(m) => m,
        _ => panic!("not an object"),
    }
}

pub fn open() -> (tempfile::TempDir, Journal) {
    let folder = tempfile::tempdir().unwrap();
    let (journal, _) = Journal::open(folder.path().join("collection.umbel")).unwrap();
    (folder, journal)
}

pub struct Plant {
    pub plant: Uid,
    pub clone: Uid,
    pub operation: Operation,
}

/// A plant that came from a keeper and stands somewhere.
pub fn plant(journal: &Journal, name: &str, keeper: Uid, place: Uid) -> Plant {
    let mut d = draft("add", name);
    let clone = d.create(SubjectKind::Clone, None);
    let plant = d.create(SubjectKind::Plant, None);
    d.claim(plant, "clone", json!(clone.to_string()));
    d.claim(clone, "name", json!({"text": name, "normal": name, "genus": name.split(' ').next()}));
    d.entry(
        plant,
        "arrived",
        day("2023-05"),
        Known::Remembered,
        map(json!({"from": keeper.to_string(), "received_as": "cutting"})),
        None,
    );
    d.entry(
        plant,
        "placed",
        day("2023-05"),
        Known::Seen,
        map(json!({"place": place.to_string()})),
        Some("north corner".to_owned()),
    );
    let operation = d.finish();
    journal.write(&operation).unwrap();
    Plant { plant, clone, operation }
}

pub fn keeper(journal: &Journal, name: &str) -> Uid {
    let mut d = draft("add", name);
    let uid = d.create(SubjectKind::Keeper, None);
    d.claim(uid, "name", json!(name));
    journal.write(&d.finish()).unwrap();
    uid
}

pub fn place(journal: &Journal, name: &str) -> Uid {
    let mut d = draft("add", name);
    let uid = d.create(SubjectKind::Place, None);
    d.claim(uid, "name", json!(name));
    journal.write(&d.finish()).unwrap();
    uid
}

/// Writes one operation with what `fill` puts into it.
pub fn act(journal: &Journal, what: &str, fill: impl FnOnce(&mut Draft)) -> Operation {
    let mut d = draft(what, "test");
    fill(&mut d);
    let operation = d.finish();
    journal.write(&operation).unwrap();
    operation
}

/// The projection is what the operations say.
pub fn agrees(journal: &Journal) {
    let before = journal.projection_text().unwrap();
    journal.rebuild().unwrap();
    let after = journal.projection_text().unwrap();
    if before != after {
        let differs: Vec<_> = before.lines().zip(after.lines()).filter(|(a, b)| a != b).collect();
        panic!("derived again it differs: {differs:#?}");
    }
}

/// The smallest photo that is taken in: the first bytes of a PNG and something of its own.
pub fn photo(own: &str) -> Vec<u8> {
    let mut bytes = vec![0x89, b'P', b'N', b'G', 0x0D, 0x0A, 0x1A, 0x0A];
    bytes.extend_from_slice(own.as_bytes());
    bytes
}

/// Every file of a folder and the folders in it, by name, with its content.
pub fn files_of(folder: &std::path::Path) -> std::collections::BTreeMap<String, Vec<u8>> {
    let mut out = std::collections::BTreeMap::new();
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_str().unwrap().to_owned();
        if path.is_dir() {
            for (inner, bytes) in files_of(&path) {
                out.insert(format!("{name}/{inner}"), bytes);
            }
        } else {
            out.insert(name, std::fs::read(&path).unwrap());
        }
    }
    out
}

/// A record with something of everything: withdrawn, replaced, undone, redone, left over, said,
/// asked, photographed, and texts that spreadsheets and parsers like to misread.
pub fn full(journal: &Journal) -> Plant {
    let texts = [
        "=1+1",
        "+49 30 1234",
        "-3",
        "@SUM(A1)",
        "\tindented",
        "\rreturned",
        "'quoted",
        "''twice",
        "'=quoted formula",
        "a,b;c\"d\"",
        "two\nlines",
        "two\r\nlines",
        "×‘’“”",
        "=cmd|' /C calc'!A0",
        "<script>alert(1)</script>",
        "DROP TABLE plant;--",
        "日本",
        "e\u{301}",
    ];
    let tansy = keeper(journal, "=Tansy Wray");
    let sill = place(journal, "+kitchen sill");
    let p = plant(journal, "Begonia bowerae", tansy, sill);
    let other = plant(journal, "Begonia manicata", tansy, sill);
    let mut uids = Vec::new();
    act(journal, "log", |d| {
        for text in texts {
            uids.push(d.entry(
                p.plant,
                "note",
                day("2024-05~"),
                Known::Told,
                Map::new(),
                Some(text.to_owned()),
            ));
            d.claim(p.plant, "tag", json!(text));
        }
        d.claim(p.clone, "name", json!({"text": "-Begonia", "doubt": "=2"}));
        let odd = [0.1 + 0.2, 1.0 / 3.0, 99.999_999_999_999_99, 5e-324];
        for score in odd {
            d.entry(
                p.plant,
                "scored",
                day("2024"),
                Known::Seen,
                map(json!({"trait": "vigour", "score": score})),
                None,
            );
        }
        d.entry(
            p.plant,
            "potted",
            day("2024-06-01/2024-06-09"),
            Known::Seen,
            map(json!({"pot": "3.5\"", "mix": {"bark": 4.25, "=x": 1}})),
            None,
        );
    });
    act(journal, "withdraw", |d| {
        d.push(journal::Change::Withdraw { target: uids[0], why: Some("-wrong plant".to_owned()) });
    });
    act(journal, "replace", |d| {
        d.push(journal::Change::Entry(journal::NewEntry {
            uid: Uid::new(),
            subject: other.plant,
            kind: "note".to_owned(),
            happened: day("2024-05-02"),
            known: Known::Photo,
            detail: Map::new(),
            note: Some("belongs here".to_owned()),
            replaces: Some(uids[1]),
        }));
    });
    let undone = act(journal, "tag", |d| {
        d.claim(other.plant, "tag", json!("undone"));
    });
    journal.undo(undone.id, false, "Ines", "bench", now()).unwrap();
    let redone = act(journal, "tag", |d| {
        d.claim(other.plant, "tag", json!("redone"));
    });
    let by = journal.undo(redone.id, false, "Ines", "bench", now()).unwrap().by;
    journal.undo(by, false, "Ines", "bench", now()).unwrap();
    let question = Uid::new();
    act(journal, "ask", |d| {
        d.push(journal::Change::Question {
            uid: question,
            subject: p.clone,
            text: "@who made it?".to_owned(),
            keeper: Some(tansy),
        });
        d.push(journal::Change::LeftOver(journal::LeftOver {
            uid: Uid::new(),
            origin: "=list.csv, row 3".to_owned(),
            cells: texts.iter().map(|t| (*t).to_owned()).collect(),
            why: "no name".to_owned(),
        }));
        d.push(journal::Change::BroughtIn {
            fingerprint: "-abc".to_owned(),
            subject: p.plant,
            origin: "list.csv, row 2".to_owned(),
        });
    });
    act(journal, "answer", |d| {
        d.push(journal::Change::Statement(journal::NewStatement {
            uid: Uid::new(),
            subject: p.clone,
            text: "=\"made in 1998\"".to_owned(),
            keeper: Some(tansy),
            said_by: Some("+her sister".to_owned()),
            medium: Some("letter".to_owned()),
            address: Some("=HYPERLINK(\"x\")".to_owned()),
            spot: Some("-12".to_owned()),
            said_on: Some(day("2001-02?")),
            trust: Some("probable".to_owned()),
            answers: Some(question),
        }));
    });
    let file = journal.keep_photo(&photo("a leaf")).unwrap();
    act(journal, "photo", |d| {
        let photo = d.create(SubjectKind::Photo, None);
        d.claim(photo, "content", json!({"hash": file.hash, "ending": file.ending}));
        d.claim(photo, "credit", json!("@Ines"));
        d.entry(
            p.plant,
            "photo",
            day("2025-01-02"),
            Known::Seen,
            map(json!({"photo": photo.to_string()})),
            None,
        );
        let part = d.create(SubjectKind::Part, Some(p.plant));
        d.claim(part, "what", json!("umbel"));
        d.entry(part, "opened", day("2025-03-01"), Known::Seen, Map::new(), None);
        let cross = d.create(SubjectKind::Cross, None);
        d.claim(cross, "parents", json!({"seed": {"clone": p.clone.to_string()}, "pollen": {"one_of": [other.clone.to_string()]}}));
        let pollination = d.create(SubjectKind::Pollination, Some(p.plant));
        d.claim(pollination, "cross", json!(cross.to_string()));
        let view = d.create(SubjectKind::View, None);
        d.claim(view, "query", json!("=genus"));
    });
    crate::series::hang_logger(journal);
    journal.set_setting("house", "UMBEL.LOCAL").unwrap();
    journal.set_setting("who", "=Ines").unwrap();
    p
}
